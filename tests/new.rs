//! A first session from a folder of pictures, through the real program.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::path::Path;
use std::process::Output;

use endtank::locate::shape::Shape;
use endtank::session::{self, Session, Tank};
use workshop::{contents, program, repository, results, run, text};

const PICTURES: [&str; 6] = [
    "original-1.tiff",
    "original-2.png",
    "original-3.csv",
    "replacement-1.tiff",
    "replacement-2.png",
    "replacement-3.jpg",
];

fn new(folder: &Path) -> Output {
    program().arg("new").arg(folder).output().unwrap()
}

/// The pictures of the sample, and nothing else, in a folder of a name.
fn pictures(name: &str) -> (tempfile::TempDir, std::path::PathBuf) {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join(name);
    std::fs::create_dir(&folder).unwrap();
    for picture in PICTURES {
        let sample = repository("sample-images/tow-truck").join(picture);
        std::fs::copy(sample, folder.join(picture)).unwrap();
    }
    (home, folder)
}

/// Every blank filled and every remark followed, by substitution of text alone.
fn filled(first: &str) -> String {
    let replaced = |text: String, from: &str, to: &str, times: usize| {
        assert_eq!(text.matches(from).count(), times, "{from}\n{text}");
        text.replace(from, to)
    };
    let mut text = first.to_owned();
    text = replaced(text, "ambient = \"?\"", "ambient = \"18.0 °C ± 0.5\"", 1);
    text = replaced(text, "emissivity = \"?\"", "emissivity = 0.95", 1);
    for (surface, like) in [
        ("original", "plastic-black"),
        ("replacement", "aluminium-sheet"),
    ] {
        let blank = format!("[surface.{surface}-tanks]\nlike = \"?\"");
        text = replaced(text, &blank, &blank.replace('?', like), 1);
    }
    // The first is the camera's, of its TIFF files; the others are those of the PNG files.
    let counts = |step: &str| format!("pixels = {{ step = \"{step}\", zero = \"0 K\" }}");
    text = text.replacen("pixels = \"?\"", &counts("0.01 K"), 1);
    text = replaced(text, "pixels = \"?\"", &counts("0.02 K"), 2);
    text = replaced(text, "low = \"?\"", "low = \"16.7 °C ± 0.05\"", 1);
    text = replaced(text, "high = \"?\"", "high = \"67.7 °C ± 0.05\"", 1);
    for line in [
        "[surface.tape]",
        "emissivity = \"0.95 ± 0.02\"",
        "shared = true",
    ] {
        text = replaced(text, &format!("\n# {line}\n"), &format!("\n{line}\n"), 1);
    }
    // Of the bare tanks tape is what is proposed.
    let (before, after) = text.split_once("[view.replacement-1]").unwrap();
    let (views, runs) = after.split_once("# The runs:").unwrap();
    let views = views.replace("rectangle = [", "surface = \"tape\", rectangle = [");
    let views = views.replace("name = \"foil\", surface = \"tape\", ", "name = \"foil\", ");
    format!("{before}[view.replacement-1]{views}# The runs:{runs}")
}

fn read(path: &Path) -> Session {
    session::read(path).unwrap_or_else(|problems| panic!("{problems}"))
}

/// The share of a rectangle that lies in one of some boxes that do not overlap.
fn share_inside([x, y, width, height]: [f64; 4], boxes: &[[f64; 4]]) -> f64 {
    let inside = |[left, top, wide, high]: &[f64; 4]| {
        let across = (x + width).min(left + wide) - x.max(*left);
        let down = (y + height).min(top + high) - y.max(*top);
        across.max(0.0) * down.max(0.0)
    };
    boxes.iter().map(inside).sum::<f64>() / (width * height)
}

/// What can be read of a tank, as the sample's scene is drawn: the moulded tank itself, or the tape on a bare one.
fn readable(cooler: &str, tank: Tank) -> Vec<[f64; 4]> {
    match (cooler, tank) {
        ("original", Tank::Inlet) => vec![[36.0, 30.0, 26.0, 118.0]],
        ("original", Tank::Outlet) => vec![[178.0, 30.0, 26.0, 118.0]],
        (_, Tank::Inlet) => vec![[40.0, 52.0, 18.0, 24.0], [40.0, 102.0, 18.0, 24.0]],
        (_, Tank::Outlet) => vec![[182.0, 52.0, 18.0, 24.0], [182.0, 102.0, 18.0, 24.0]],
    }
}

#[test]
fn tanks_are_proposed_and_the_session_is_sound_once_its_blanks_are_filled() {
    let (_home, folder) = pictures("tow-truck");
    let before = contents(&folder);
    let done = new(&folder);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let after = contents(&folder);
    assert!(
        before
            .iter()
            .all(|(path, bytes)| after.get(path) == Some(bytes))
    );
    assert_eq!(after.len(), 2 * PICTURES.len() + 1);
    for picture in PICTURES {
        let stem = picture.split('.').next().unwrap();
        let drawing = image::open(folder.join(format!("{stem}-grid.png"))).unwrap();
        assert!(drawing.width() > 720, "{stem}");
    }
    let path = folder.join("session.toml");
    let first = std::fs::read_to_string(&path).unwrap();

    // Every blank is told at once, each with its line, and nothing else.
    let refused = run("check", &path, &[]);
    assert_eq!(refused.status.code(), Some(1));
    let said = text(&refused.stderr);
    let blanks = first
        .lines()
        .filter(|line| !line.starts_with('#') && line.contains("= \"?\""));
    let blanks = blanks.count();
    assert_eq!(
        said.matches("error: still to fill in: `").count(),
        blanks,
        "{said}"
    );
    assert_eq!(said.matches("error: ").count(), blanks, "{said}");
    assert!(said.contains(&format!("{blanks} problems")), "{said}");

    std::fs::write(&path, filled(&first)).unwrap();
    let sound = run("check", &path, &[]);
    assert!(sound.status.success(), "{}", text(&sound.stderr));

    let session = read(&path);
    assert_eq!(session.runs.len(), PICTURES.len());
    let mut right = 0;
    for run in &session.runs {
        let cooler = session.coolers[run.cooler].key.as_str();
        let snapshot = &run.snapshots[0];
        assert!(snapshot.file.starts_with(cooler), "{}", snapshot.file);
        let lies_right = |tank: Tank| {
            let of_tank = || {
                snapshot
                    .regions
                    .iter()
                    .filter(|region| region.tank == Some(tank))
            };
            of_tank().count() > 0
                && of_tank().all(|region| match region.shape {
                    Shape::Rectangle(rectangle) => {
                        share_inside(rectangle, &readable(cooler, tank)) > 0.9
                    }
                    _ => false,
                })
        };
        let both = Tank::BOTH.into_iter().all(lies_right);
        println!(
            "{}: {both}, {:?}",
            snapshot.file,
            snapshot
                .regions
                .iter()
                .map(|r| &r.shape)
                .collect::<Vec<_>>()
        );
        right += usize::from(both);
    }
    assert!(right >= 5, "{right} of {}", PICTURES.len());

    // It is a session as any other: the skins are those that the sample was drawn with, within the limits.
    let results = results(&path);
    let skins = results["coolers"].as_array().unwrap();
    assert_eq!(skins.len(), 2);
}

#[test]
fn colour_bars_are_found_and_names_order_the_runs() {
    let (_home, folder) = pictures("tow-truck");
    assert!(new(&folder).status.success());
    let first = std::fs::read_to_string(folder.join("session.toml")).unwrap();
    let bar = first
        .lines()
        .find(|line| line.starts_with("colour-bar = ["))
        .unwrap();
    let numbers = bar.split(['[', ']']).nth(1).unwrap();
    let numbers: Vec<f64> = numbers
        .split(", ")
        .map(|number| number.parse().unwrap())
        .collect();
    for (found, drawn) in numbers.iter().zip([256.0, 24.0, 16.0, 132.0]) {
        assert!((found - drawn).abs() <= 2.0, "{bar}");
    }
    // The manual shows what is written.
    let manual = std::fs::read_to_string(repository("docs/new.md")).unwrap();
    let examples: Vec<&str> = manual.split("```toml\n").skip(1).collect();
    assert_eq!(examples.len(), 2);
    for example in examples {
        let example = example.split("```").next().unwrap();
        assert!(first.contains(example), "{example}\n{first}");
    }
    let order: Vec<&str> = first
        .lines()
        .filter(|line| line.starts_with("file = "))
        .collect();
    let wanted: Vec<String> = PICTURES
        .iter()
        .map(|name| format!("file = \"{name}\""))
        .collect();
    assert_eq!(order, wanted);
}

/// A PNG with the moment it was taken in a block of Exif notes (eXIf, PNG 3rd edition; DateTimeOriginal, Exif 2.32).
fn taken_at(png: &[u8], moment: &str) -> Vec<u8> {
    // Big-endian: a directory that points to that of the notes, which points to a text of 20 bytes.
    let mut chunk = b"eXIfMM\0*\0\0\0\x08".to_vec();
    chunk.extend(b"\0\x01\x87\x69\0\x04\0\0\0\x01\0\0\0\x1A\0\0\0\0");
    chunk.extend(b"\0\x01\x90\x03\0\x02\0\0\0\x14\0\0\0\x2C\0\0\0\0");
    chunk.extend(moment.as_bytes());
    chunk.push(0);
    let mut sum = flate2::Crc::new();
    sum.update(&chunk);
    let length = u32::try_from(chunk.len() - 4).unwrap();
    // The signature and the header are 33 bytes.
    let (head, rest) = png.split_at(33);
    [
        head,
        &length.to_be_bytes()[..],
        &chunk,
        &sum.sum().to_be_bytes(),
        rest,
    ]
    .concat()
}

#[test]
fn times_order_the_runs_where_every_picture_has_one() {
    let folder = tempfile::tempdir().unwrap();
    let take = |name: &str, moment: &str| {
        let bytes = std::fs::read(repository("sample-images/tow-truck").join(name)).unwrap();
        std::fs::write(folder.path().join(name), taken_at(&bytes, moment)).unwrap();
    };
    take("original-2.png", "2024:05:01 14:00:00");
    take("replacement-2.png", "2024:05:01 13:59:59");
    let done = new(folder.path());
    assert!(done.status.success(), "{}", text(&done.stderr));
    let first = std::fs::read_to_string(folder.path().join("session.toml")).unwrap();
    let order: Vec<&str> = first
        .lines()
        .filter(|line| line.starts_with("file = "))
        .collect();
    assert_eq!(
        order,
        ["file = \"replacement-2.png\"", "file = \"original-2.png\""]
    );
    assert!(first.contains("# taken 2024-05-01 13:59:59\n"), "{first}");
    assert!(
        first.contains("in the order in which the pictures were taken"),
        "{first}"
    );
    assert!(first.contains("baseline = \"replacement\""), "{first}");
}

/// A text matrix with two warm tanks.
fn matrix() -> String {
    let row = |y: usize| {
        let cell = |x: usize| match (x, y) {
            (10..20, 10..50) => 62.0,
            (60..70, 10..50) => 34.0,
            _ => 22.0,
        };
        let cells: Vec<String> = (0..80)
            .map(|x| format!("{:.1}", cell(x) + 0.1 * ((x + y) % 3) as f64))
            .collect();
        cells.join(",") + "\n"
    };
    (0..60).map(row).collect()
}

#[test]
fn a_session_that_exists_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), matrix()).unwrap();
    std::fs::write(folder.path().join("session.toml"), "mine").unwrap();
    let before = contents(folder.path());
    let refused = new(folder.path());
    assert_eq!(refused.status.code(), Some(1));
    let said = text(&refused.stderr);
    assert!(
        said.contains("session.toml exists already and was left as it is"),
        "{said}"
    );
    assert!(before == contents(folder.path()));
}

#[test]
fn a_drawing_that_exists_is_left_alone_and_is_no_picture() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), matrix()).unwrap();
    std::fs::write(folder.path().join("a-grid.png"), "mine").unwrap();
    let done = new(folder.path());
    assert!(done.status.success(), "{}", text(&done.stderr));
    assert!(text(&done.stdout).contains("a-grid.png exists already and was left as it is"));
    assert_eq!(
        std::fs::read(folder.path().join("a-grid.png")).unwrap(),
        b"mine"
    );
    // Once more: the drawings of the first time are no pictures.
    std::fs::write(folder.path().join("b.csv"), matrix()).unwrap();
    std::fs::remove_file(folder.path().join("session.toml")).unwrap();
    assert!(new(folder.path()).status.success());
    std::fs::remove_file(folder.path().join("session.toml")).unwrap();
    let again = new(folder.path());
    assert!(
        text(&again.stdout).contains("has 2 pictures"),
        "{}",
        text(&again.stdout)
    );
}

#[test]
fn a_folder_without_pictures_is_told_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("notes.md"), "# Notes\nhold 1 was fine\n").unwrap();
    let before = contents(folder.path());
    let refused = new(folder.path());
    assert_eq!(refused.status.code(), Some(1));
    let said = text(&refused.stderr);
    assert!(said.contains("holds no picture that can be read"), "{said}");
    assert!(said.contains("notes.md was left out: "), "{said}");
    assert!(before == contents(folder.path()));
    let nowhere = new(&folder.path().join("none"));
    assert_eq!(nowhere.status.code(), Some(1));
    assert!(text(&nowhere.stderr).contains("cannot be read as a folder"));
}

/// Whatever a file holds, it is at worst left out, with a remark in the terminal and in the session.
#[test]
fn hostile_files_are_remarks() {
    let folder = tempfile::tempdir().unwrap();
    for picture in PICTURES {
        let bytes = std::fs::read(repository("sample-images/tow-truck").join(picture)).unwrap();
        for length in [3, 9, 60, bytes.len() / 3, bytes.len() - 20] {
            std::fs::write(
                folder.path().join(format!("{length} of {picture}")),
                &bytes[..length],
            )
            .unwrap();
        }
        // Each byte of the beginning, where sizes and offsets stand, set to its greatest.
        for at in (4..64).step_by(6) {
            let mut bent = bytes.clone();
            bent[at] = 0xFF;
            std::fs::write(folder.path().join(format!("bent {at} {picture}")), bent).unwrap();
        }
    }
    std::fs::write(folder.path().join("good.csv"), matrix()).unwrap();
    std::fs::write(folder.path().join("empty.tiff"), "").unwrap();
    std::fs::write(folder.path().join("tiny.csv"), "1.5,2.5\n3.5,4.5\n").unwrap();
    let done = new(folder.path());
    assert!(done.status.success(), "{}", text(&done.stderr));
    let said = text(&done.stdout);
    let first = std::fs::read_to_string(folder.path().join("session.toml")).unwrap();
    assert!(first.contains("file = \"good.csv\""), "{first}");
    for remark in [
        "empty.tiff was left out: the file is empty",
        "tiny.csv was left out: 2 × 2 numbers are too few",
    ] {
        assert!(said.contains(remark), "{said}");
        assert!(first.contains(remark), "{first}");
    }
    // It is TOML with blanks, and nothing else is wrong with it.
    let problems = session::read(&folder.path().join("session.toml")).unwrap_err();
    for problem in &problems.list {
        assert!(problem.what.starts_with("still to fill in: "), "{problems}");
    }
    let left_out = said.matches("was left out: ").count();
    assert!(left_out > 20, "{left_out}");
}

#[test]
fn names_with_spaces_and_quotes_survive() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("Tow truck \"2\" 'ü' # x");
    std::fs::create_dir(&folder).unwrap();
    let names = ["it's \"old\" - 1.csv", "new # = [x] 2.csv"];
    for name in names {
        std::fs::write(folder.join(name), matrix()).unwrap();
    }
    let done = new(&folder);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let path = folder.join("session.toml");
    let mut first = std::fs::read_to_string(&path).unwrap();
    for (blank, value) in [
        ("ambient = \"?\"", "ambient = \"18 °C\""),
        ("emissivity = \"?\"", "emissivity = 0.95"),
        ("like = \"?\"", "like = \"plastic-black\""),
    ] {
        assert!(first.contains(blank));
        first = first.replace(blank, value);
    }
    std::fs::write(&path, first).unwrap();
    let session = read(&path);
    assert_eq!(session.title.as_deref(), Some("Tow truck \"2\" 'ü' # x"));
    let mut files: Vec<&str> = session
        .runs
        .iter()
        .map(|run| run.snapshots[0].file.as_str())
        .collect();
    files.sort_unstable();
    assert_eq!(files, names);
    assert_eq!(session.coolers.len(), 2);
    let sound = run("check", &path, &[]);
    assert!(sound.status.success(), "{}", text(&sound.stderr));
}

#[cfg(unix)]
#[test]
fn names_that_no_session_can_hold_are_remarks() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("good.csv"), matrix()).unwrap();
    for name in ["back\\slash.csv", "two\nlines = 1.csv"] {
        std::fs::write(folder.path().join(name), matrix()).unwrap();
    }
    std::os::unix::fs::symlink("good.csv", folder.path().join("link.csv")).unwrap();
    let done = new(folder.path());
    assert!(done.status.success(), "{}", text(&done.stderr));
    let first = std::fs::read_to_string(folder.path().join("session.toml")).unwrap();
    assert_eq!(first.matches("\nfile = ").count(), 1, "{first}");
    assert_eq!(first.matches("was left out: ").count(), 3, "{first}");
}
