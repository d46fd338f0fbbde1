//! Palette pictures through the program: single readings, sessions with a file of limits, and what is refused.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod palette_scenes;

use std::path::Path;
use std::process::{Command, Output};

use palette_scenes::*;

fn endtank(arguments: &[&str], folder: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_endtank"));
    command
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

/// A folder with two pictures; the share of the bar that the mean of rectangle 42, 64, 50, 100 is in each.
fn folder() -> (tempfile::TempDir, [f64; 2]) {
    let folder = tempfile::tempdir().unwrap();
    let layout = Layout {
        paper: image::Rgb([112, 112, 118]),
        ..Layout::plain(true, 200)
    };
    let shares = [("one.jpg", 3), ("two.jpg", 8)].map(|(name, seed)| {
        let scene = draw(&map("cividis"), &layout, seed);
        std::fs::write(
            folder.path().join(name),
            encode(&scene.picture, Store::Jpeg(85)),
        )
        .unwrap();
        let rows = 64..164_u32;
        let all = rows.flat_map(|y| (42..92_u32).map(move |x| (y * layout.size[0] + x) as usize));
        all.map(|at| scene.truth[at]).sum::<f64>() / 5000.0
    });
    (folder, shares)
}

const READ: [&str; 15] = [
    "read",
    "one.jpg",
    "--colour-bar",
    "find",
    "--low",
    "20.0 °C",
    "--high",
    "70.0 °C",
    "--rectangle",
    "42,64,50,100",
    "--emissivity",
    "0.95",
    "--set-emissivity",
    "1",
    "--json",
];

#[test]
fn a_photo_is_read_alone() {
    let (folder, shares) = folder();
    let done = endtank(&READ, folder.path());
    let error = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(0), "{error}");
    let results: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
    let reading = &results["readings"][0];
    let shown = reading["shown"]["mean"].as_f64().unwrap();
    assert!((shown - (20.0 + 50.0 * shares[0])).abs() < 0.25, "{shown}");
    let text = String::from_utf8_lossy(&done.stdout);
    assert!(
        text.contains("the colour bar was found at [340, 20, 16, 200]"),
        "{text}"
    );
}

#[test]
fn what_is_missing_or_wrong_is_told_of_the_options() {
    let (folder, _) = folder();
    let without: Vec<&str> = READ
        .iter()
        .copied()
        .filter(|one| !["--high", "70.0 °C"].contains(one))
        .collect();
    assert_eq!(endtank(&without, folder.path()).status.code(), Some(2));
    let mut plain = READ.to_vec();
    plain.drain(2..8);
    let done = endtank(&plain, folder.path());
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(1));
    assert!(
        said.contains("JPEG") && said.contains("--colour-bar find"),
        "{said}"
    );
    let mut boxed = READ.to_vec();
    boxed[3] = "326,20,10,200";
    let done = endtank(&boxed, folder.path());
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(
        done.status.code(),
        Some(1),
        "a box that is not the bar: {said}"
    );
}

/// The share of the bar at a pixel of the first picture.
fn share_at(x: u32, y: u32) -> f64 {
    let layout = Layout {
        paper: image::Rgb([112, 112, 118]),
        ..Layout::plain(true, 200)
    };
    let scene = draw(&map("cividis"), &layout, 3);
    scene.truth[(y * layout.size[0] + x) as usize]
}

#[test]
fn printed_numbers_check_the_scale_of_a_single_reading() {
    let (folder, _) = folder();
    let with = |numbers: &[String]| {
        let options = numbers.iter().flat_map(|one| ["--printed", one.as_str()]);
        let all: Vec<&str> = READ.iter().copied().chain(options).collect();
        let done = endtank(&all, folder.path());
        let said = String::from_utf8_lossy(&done.stderr).into_owned();
        (done.status.code(), said)
    };
    let right = |x, y| format!("{x},{y},{:.1} °C", 20.0 + 50.0 * share_at(x, y));
    let sound = [right(60, 100), right(240, 120)];
    let (code, said) = with(&sound);
    assert_eq!(code, Some(0), "{said}");
    let wrong = [sound[0].clone(), "240,120,-7.0 °C".to_owned()];
    let (code, said) = with(&wrong);
    assert_eq!(code, Some(1), "{said}");
    assert!(
        said.contains("contradicts") && said.contains("-7.0 °C") && said.contains("--low"),
        "{said}"
    );
    let (code, said) = with(&["240,120,53.2".to_owned()]);
    assert_eq!(code, Some(1), "{said}");
    assert!(
        said.contains("--printed") && !said.contains("reading ="),
        "{said}"
    );
    for odd in ["240,120", "240,x,53.2 °C", "240,NaN,53.2 °C"] {
        assert_eq!(with(&[odd.to_owned()]).0, Some(2), "{odd}");
    }
    let mut plain = READ.to_vec();
    plain.drain(2..8);
    plain.extend(["--printed", "60,100,30 °C"]);
    let done = endtank(&plain, folder.path());
    assert_eq!(done.status.code(), Some(2), "a number without a bar");
}

const SESSION: &str = r#"
limits = "limits.csv"
[conditions]
ambient = "20 °C ± 1"
reflected = "20 °C ± 2"
[instrument.camera]
emissivity = 1
accuracy = "2 °C or 2 %"
colour-bar = [340, 20, 16, 200]
[surface.black]
emissivity = "0.95 ± 0.01"
[cooler.a]
inlet = "black"
outlet = "black"
[cooler.b]
inlet = "black"
outlet = "black"
[view.front]
regions = [{ tank = "inlet", rectangle = [42, 64, 50, 100] }, { tank = "outlet", rectangle = [219, 64, 50, 100] }]
[[run]]
cooler = "a"
[[run.snapshot]]
file = "one.jpg"
view = "front"
[[run]]
cooler = "b"
[[run.snapshot]]
file = "two.jpg"
view = "front"
"#;

fn compare(folder: &Path, session: &str, limits: &str) -> Output {
    std::fs::write(folder.join("session.toml"), session).unwrap();
    std::fs::write(folder.join("limits.csv"), limits).unwrap();
    endtank(&["compare", "session.toml"], folder)
}

#[test]
fn a_session_takes_its_limits_from_a_file() {
    let (folder, shares) = folder();
    let limits = "file,low,high\none.jpg,20.0 °C,70.0 °C\ntwo.jpg,20.0 °C,70.0 °C\n";
    let done = compare(folder.path(), SESSION, limits);
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(0), "{said}");
    let results = std::fs::read(folder.path().join("session-results/results.json")).unwrap();
    let results: serde_json::Value = serde_json::from_slice(&results).unwrap();
    for (reading, share) in [(0, shares[0]), (2, shares[1])] {
        let shown = results["readings"][reading]["shown"]["mean"]
            .as_f64()
            .unwrap();
        assert!((shown - (20.0 + 50.0 * share)).abs() < 0.25, "{shown}");
    }
    let inputs = results["inputs"].to_string();
    assert!(inputs.contains("limits.csv"), "{inputs}");
    // Limits known to half a kelvin make a wider interval than those known to a twentieth.
    let width = |results: &serde_json::Value| {
        let skin = &results["readings"][0]["surface_temperature"];
        skin["high"].as_f64().unwrap() - skin["low"].as_f64().unwrap()
    };
    let coarse = limits
        .replace("20.0 °C", "20 °C ± 3")
        .replace("70.0 °C", "70 °C ± 3");
    std::fs::remove_dir_all(folder.path().join("session-results")).unwrap();
    assert_eq!(
        compare(folder.path(), SESSION, &coarse).status.code(),
        Some(0)
    );
    let wide = std::fs::read(folder.path().join("session-results/results.json")).unwrap();
    let wide: serde_json::Value = serde_json::from_slice(&wide).unwrap();
    assert!(width(&wide) > width(&results) + 1.0);
}

#[test]
fn what_a_scale_lacks_is_told_with_its_line() {
    let (folder, _) = folder();
    let one = "file,low,high\none.jpg,20.0 °C,70.0 °C\n";
    let done = compare(folder.path(), SESSION, one);
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(1));
    assert!(
        said.contains("two.jpg") && said.contains("low = ") && said.contains("limits"),
        "{said}"
    );
    let half = SESSION.replace(
        "file = \"one.jpg\"",
        "file = \"one.jpg\"\nlow = \"20.0 °C\"",
    );
    let said = compare(folder.path(), &half, "file,low,high\n");
    let said = String::from_utf8_lossy(&said.stderr).into_owned();
    assert!(said.contains("no `high`"), "{said}");
    let bare = SESSION.replace("colour-bar = [340, 20, 16, 200]\n", "");
    let said = compare(folder.path(), &bare, one);
    let said = String::from_utf8_lossy(&said.stderr).into_owned();
    assert!(said.contains("no colour bar that they belong to"), "{said}");
}
