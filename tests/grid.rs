//! Pictures with pixel coordinates, through the real program.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::path::Path;
use std::process::Output;

use workshop::{contents, program, repository, text};

const COUNTS: [&str; 4] = ["--pixels-step", "0.01 K", "--pixels-zero", "0 K"];

fn grid(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = program();
    command
        .args(["read", "--grid"])
        .args(arguments)
        .current_dir(folder);
    command.output().unwrap()
}

/// A folder with the sample's first picture and a small matrix of °C.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let sample = repository("sample-images/tow-truck/original-1.tiff");
    std::fs::copy(sample, folder.path().join("original-1.tiff")).unwrap();
    std::fs::write(folder.path().join("small.csv"), "20.5,21.0\n30.5,40.0\n").unwrap();
    folder
}

fn size(path: &Path) -> (u32, u32) {
    let bytes = std::fs::read(path).unwrap();
    let reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .unwrap();
    (reader.info().width, reader.info().height)
}

#[test]
fn grid_writes_a_drawing_of_each_picture_and_nothing_else() {
    let folder = folder();
    let before = contents(folder.path());
    let done = grid(folder.path(), &["small.csv", "--pixels-unit", "°C"]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    assert_eq!(text(&done.stdout), "small-grid.png\n");
    let out = ["original-1.tiff", "--out", "drawn/here"];
    let done = grid(folder.path(), &[&out[..], &COUNTS].concat());
    assert!(done.status.success(), "{}", text(&done.stderr));
    // 240 × 180 pixels are drawn threefold.
    let (width, height) = size(&folder.path().join("drawn/here/original-1-grid.png"));
    assert!((720..1000).contains(&width) && (540..900).contains(&height));
    let mut after = contents(folder.path());
    after.retain(|path, bytes| path.is_file() && before.get(path) != Some(bytes));
    assert_eq!(after.len(), 2, "{:?}", after.keys());
}

/// Of a picture in colours, with a bar or without, the colours themselves are drawn.
#[test]
fn grid_draws_colours_as_they_are() {
    let folder = folder();
    let sample = repository("sample-images/tow-truck/replacement-3.jpg");
    std::fs::copy(sample, folder.path().join("photo.jpg")).unwrap();
    let bar = [
        "--colour-bar",
        "256,24,16,132",
        "--low",
        "16.7 °C",
        "--high",
        "67.7 °C",
    ];
    for (out, scale) in [("plain", &[][..]), ("bar", &bar)] {
        let done = grid(
            folder.path(),
            &[&["photo.jpg", "--out", out][..], scale].concat(),
        );
        assert!(done.status.success(), "{}", text(&done.stderr));
        let path = folder.path().join(out).join("photo-grid.png");
        let drawn = image::open(path).unwrap().into_rgb8();
        let photo = image::open(folder.path().join("photo.jpg"))
            .unwrap()
            .into_rgb8();
        // Drawn threefold: wherever the picture stands, a row of the bar appears with each pixel three times.
        let row: Vec<_> = (262..271).map(|x| *photo.get_pixel(x, 61)).collect();
        let wanted: Vec<_> = row.iter().flat_map(|colour| [*colour; 3]).collect();
        let found = (0..drawn.height()).any(|y| {
            let line: Vec<_> = (0..drawn.width()).map(|x| *drawn.get_pixel(x, y)).collect();
            line.windows(wanted.len()).any(|part| part == wanted)
        });
        assert!(found, "{out}");
    }
}

#[test]
fn grid_never_replaces_a_file() {
    let folder = folder();
    std::fs::write(folder.path().join("small-grid.png"), "mine").unwrap();
    let before = contents(folder.path());
    let pictures = ["original-1.tiff", "small.csv"];
    let refused = grid(folder.path(), &[&pictures[..], &COUNTS].concat());
    assert_eq!(refused.status.code(), Some(1));
    let said = text(&refused.stderr);
    assert!(said.contains("small-grid.png exists already"), "{said}");
    assert!(said.contains("--out"), "{said}");
    assert!(before == contents(folder.path()));
}

#[test]
fn grid_lists_all_problems_and_writes_nothing() {
    let folder = folder();
    std::fs::write(folder.path().join("small.txt"), "20.5,21.0\n").unwrap();
    let before = contents(folder.path());
    let pictures = ["original-1.tiff", "none.tiff", "small.csv", "small.txt"];
    let refused = grid(folder.path(), &pictures);
    assert_eq!(refused.status.code(), Some(1));
    assert!(refused.stdout.is_empty());
    let said = text(&refused.stderr);
    for part in [
        "original-1.tiff: the picture holds whole numbers",
        "--pixels-step \"0.01 K\" --pixels-zero \"0 K\"",
        "none.tiff cannot be read",
        "small.csv and small.txt would both be written as small-grid.png",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(before == contents(folder.path()));
}

#[test]
fn grid_refuses_a_wrong_command_line() {
    let folder = folder();
    for (status, arguments) in [
        (2, &[][..]),
        (2, &["small.csv", "--pixels-zero", "0 K"]),
        (
            2,
            &["small.csv", "--pixels-unit", "K", "--pixels-step", "1 K"],
        ),
        (2, &["small.csv", "--rectangle", "0,0,1,1"]),
        (2, &["small.csv", "--csv"]),
        (2, &["--pistol", "50 °C"]),
        // What an option says is judged as in a session.
        (1, &["small.csv", "--pixels-unit", "bar"]),
        (1, &["small.csv", "--pixels-step", "0 K"]),
        (1, &["small.csv", "--pixels-step", "0.01"]),
    ] {
        let refused = grid(folder.path(), arguments);
        assert_eq!(refused.status.code(), Some(status), "{arguments:?}");
        assert!(refused.stdout.is_empty() && !refused.stderr.is_empty());
    }
    assert_eq!(contents(folder.path()).len(), 2);
}
