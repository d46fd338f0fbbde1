//! What the pictures show, pixel by pixel: `--scale`, and the corrected rows side by side.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::collections::HashMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Output};

type Rgb = [u8; 3];

const PAPER: Rgb = [252, 252, 250];

/// Both tanks of `painted` have an emissivity of 0.7, those of `bare` 0.3; the camera was set to 0.95.
const SESSION: &str = r#"
conditions = { ambient = "20.5 °C ± 0.5", reflected = "21 °C ± 1" }
instrument.camera = { emissivity = 0.95, reflected = "20 °C", accuracy = "1 °C", pixels = { unit = "°C" } }
surface.painted = { emissivity = "0.70 ± 0.02" }
surface.bare = { emissivity = "0.30 ± 0.02" }
cooler.painted = { inlet = "painted", outlet = "painted" }
cooler.bare = { inlet = "bare", outlet = "bare" }
view.front.regions = [
  { tank = "inlet", rectangle = [10, 10, 10, 30] },
  { tank = "outlet", rectangle = [60, 10, 10, 30] },
]
run = [
  { cooler = "painted", snapshot = [{ file = "painted.csv", view = "front" }] },
  { cooler = "bare", snapshot = [{ file = "bare.csv", view = "front" }] },
]
"#;

/// 80 × 50 pixels: tanks striped between two temperatures before a wall of 22 °C.
fn picture(inlet: [f64; 2], outlet: [f64; 2]) -> String {
    let mut text = String::new();
    for row in 0..50 {
        let cells = (0..80).map(|column| match column {
            10..20 => inlet[row % 2],
            60..70 => outlet[row % 2],
            _ => 22.0,
        });
        let cells: Vec<String> = cells.map(|celsius| format!("{celsius:.1}")).collect();
        writeln!(text, "{}", cells.join(",")).unwrap();
    }
    text
}

fn endtank(folder: &Path, command: &str, options: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_endtank"))
        .args([command, "session.toml", "--out", "results"])
        .args(options)
        .current_dir(folder)
        .output()
        .unwrap()
}

/// The session's folder after a command that must work.
fn done(command: &str, options: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    file("session.toml", SESSION);
    file("painted.csv", &picture([60.0, 64.0], [40.0, 42.0]));
    file("bare.csv", &picture([33.0, 35.0], [26.0, 27.0]));
    let output = endtank(folder.path(), command, options);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    folder
}

/// How many pixels of a drawing have each colour.
fn colours(folder: &Path, name: &str) -> HashMap<Rgb, usize> {
    let image = image::open(folder.join("results").join(name)).unwrap();
    let mut counts = HashMap::new();
    for pixel in image.to_rgb8().pixels() {
        *counts.entry(pixel.0).or_insert(0) += 1;
    }
    counts
}

/// The colour of a temperature, °C, on a scale: the map as published, cut into 512 colours.
fn colour(celsius: f64, [low, high]: [f64; 2]) -> Rgb {
    let share = ((celsius - low) / (high - low)).clamp(0.0, 1.0);
    let share = (share as f32 as f64 * 511.0).round() / 511.0;
    let colour = colorous::CIVIDIS.eval_continuous(share);
    [colour.r, colour.g, colour.b]
}

/// The commonest colour that is not the paper's: that of the wall.
fn wall(folder: &Path, name: &str) -> Rgb {
    let counts = colours(folder, name);
    let drawn = counts.into_iter().filter(|(rgb, _)| *rgb != PAPER);
    drawn.max_by_key(|&(_, count)| count).unwrap().0
}

fn skin(folder: &Path, cooler: &str, region: &str) -> f64 {
    let text = std::fs::read_to_string(folder.join("results/results.json")).unwrap();
    let results: serde_json::Value = serde_json::from_str(&text).unwrap();
    let readings = results["readings"].as_array().unwrap();
    let reading = readings
        .iter()
        .find(|reading| reading["cooler"] == cooler && reading["region"] == region)
        .unwrap();
    reading["surface_temperature"]["value"].as_f64().unwrap()
}

#[test]
fn a_stated_scale_is_that_of_every_picture() {
    for (command, names) in [
        (
            "compare",
            &[
                "annotated/painted.png",
                "annotated/bare.png",
                "side-by-side.png",
            ][..],
        ),
        ("annotate", &["annotated/painted.png", "annotated/bare.png"]),
    ] {
        let folder = done(command, &["--scale", "-10,90"]);
        for name in names {
            let wanted = colour(22.0, [-10.0, 90.0]);
            assert_eq!(wall(folder.path(), name), wanted, "{command} {name}");
        }
    }
    // Beyond the scale: the colour of its end.
    let folder = done("annotate", &["--scale", "25,50"]);
    let painted = colours(folder.path(), "annotated/painted.png");
    assert_eq!(
        wall(folder.path(), "annotated/bare.png"),
        colour(25.0, [25.0, 50.0])
    );
    // The inlet tank of 10 × 50 pixels, eight times enlarged, but for outline and label.
    assert!(painted[&colour(50.0, [25.0, 50.0])] > 10 * 50 * 64 * 3 / 4);
}

#[test]
fn without_one_each_annotated_picture_has_its_own() {
    let folder = done("annotate", &[]);
    let [painted, bare] =
        ["annotated/painted.png", "annotated/bare.png"].map(|name| wall(folder.path(), name));
    assert_ne!(
        painted, bare,
        "painted goes to 64 °C as shown, bare to 35 °C"
    );
}

#[test]
fn the_second_row_is_flat_below_an_emissivity_of_0_6_and_moved_above() {
    let scale = [10.0, 110.0];
    let folder = done("compare", &["--scale", "10,110"]);
    let counts = colours(folder.path(), "side-by-side.png");
    let count = |celsius: f64| counts.get(&colour(celsius, scale)).copied().unwrap_or(0);
    // A region of 10 × 30 pixels, four times enlarged, inside its outline of at most four pixels' width.
    let region = (40 - 8) * (120 - 8);

    let flat = skin(folder.path(), "bare", "inlet");
    assert!(
        flat > 50.0,
        "{flat}: a good way above the 34 °C that were shown"
    );
    assert!(count(flat) >= region, "{} of {region}", count(flat));

    let moved = skin(folder.path(), "painted", "inlet") - 62.0;
    assert!(moved > 8.0, "{moved}");
    for stripe in [60.0, 64.0] {
        let found = count(stripe + moved);
        // Half of the region, and no whole one: the stripes stay apart.
        assert!(found >= region / 2 - 4 * 40, "{stripe}: {found}");
        assert!(found < region, "{stripe}: {found}");
        // As seen: the stripe of the whole tank in the upper row, and in the lower one what is outside the region.
        let seen = count(stripe);
        assert!(seen > 40 * 100 - 4 * 40, "{stripe} as it was seen: {seen}");
    }
}

#[test]
fn the_scale_that_is_chosen_holds_corrected_temperatures() {
    let folder = done("compare", &[]);
    let hottest = skin(folder.path(), "painted", "inlet") + 2.0;
    let counts = colours(folder.path(), "side-by-side.png");
    // Were the scale that of the shown temperatures, 20 to 65 °C, the moved tank would be of one colour, its hot end.
    assert!(hottest > 70.0);
    let end = counts.get(&colour(1.0, [0.0, 1.0])).copied().unwrap_or(0);
    assert!(end < 500, "{end}");
}

#[test]
fn a_scale_that_is_none_is_refused_before_anything_is_read() {
    let folder = tempfile::tempdir().unwrap();
    for (command, scale, says) in [
        ("compare", "70,20", "below the second"),
        ("annotate", "20", "two temperatures"),
        ("annotate", "20,warm", "`warm` is no number"),
        ("compare", "20,inf", "`inf` is no number"),
    ] {
        let output = endtank(folder.path(), command, &["--scale", scale]);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains("--scale") && said.contains(says), "{said}");
    }
}
