//! What must not matter does not, and what must, does: whole sessions through the library.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use endtank::pipeline;
use endtank::radiometry::{Band, Detector};
use endtank::session;
use endtank::uncertainty::Settings;
use proptest::prelude::*;
use serde_json::Value;

/// Evaluates a session whose files are in a folder.
fn evaluate(folder: &Path, text: &str) -> Value {
    let path = folder.join("session.toml");
    std::fs::write(&path, text).unwrap();
    let session = session::read(&path).unwrap_or_else(|problems| panic!("{problems:?}"));
    let outcome = pipeline::evaluate(
        &session,
        Settings {
            draws: 2_000,
            seed: 1,
            what_ifs: false,
        },
        &|| {},
    );
    serde_json::to_value(outcome.unwrap().results).unwrap()
}

fn evaluate_alone(text: &str) -> Value {
    evaluate(tempfile::tempdir().unwrap().path(), text)
}

/// The skins of all readings in order, °C.
fn skins(results: &Value) -> Vec<f64> {
    let readings = results["readings"].as_array().unwrap().iter();
    readings
        .map(|reading| reading["surface_temperature"]["value"].as_f64().unwrap())
        .collect()
}

/// Every figure of every cooler and difference, with its name.
fn figures(results: &Value) -> Vec<(String, f64)> {
    let mut found = Vec::new();
    for cooler in results["coolers"].as_array().unwrap() {
        for (id, q) in cooler["quantities"].as_object().unwrap() {
            found.push((
                format!("{} {id}", cooler["cooler"]),
                q["value"].as_f64().unwrap(),
            ));
        }
    }
    for row in results["comparison"].as_array().unwrap() {
        let name = format!("difference {} {}", row["candidate"], row["quantity"]);
        found.push((name, row["difference"]["value"].as_f64().unwrap()));
    }
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

fn same(a: &[(String, f64)], b: &[(String, f64)], tolerance: f64) -> Result<(), TestCaseError> {
    prop_assert_eq!(a.len(), b.len());
    for ((name, a), (other, b)) in a.iter().zip(b) {
        prop_assert_eq!(name, other);
        prop_assert!((a - b).abs() <= tolerance, "{}: {} and {}", name, a, b);
    }
    Ok(())
}

/// One run: hot and cold reading °C, inlet pressure and loss kPa.
type Hold = (f64, f64, f64, f64);

fn hold() -> impl Strategy<Value = Hold> {
    (50.0..120.0, 25.0..45.0, 90.0..180.0, 1.0..15.0)
}

/// How values are written.
struct Units {
    temperature: fn(f64) -> String,
    pressure: fn(f64) -> String,
    length: fn(f64) -> String,
}

const METRIC: Units = Units {
    temperature: |celsius| format!("{celsius:.9} °C"),
    pressure: |kpa| format!("{kpa:.9} kPa"),
    length: |mm| format!("{mm:.9} mm"),
};

const CUSTOMARY: Units = Units {
    temperature: |celsius| format!("{:.9} °F", celsius * 1.8 + 32.0),
    pressure: |kpa| format!("{:.12} psi", kpa / 6.894_757_293_168_361),
    length: |mm| format!("{:.12} in", mm / 25.4),
};

/// A session of pistol readings; `runs` gives cooler and hold.
fn pistols(units: &Units, runs: &[(&str, usize, Hold)]) -> String {
    let (t, p, l) = (units.temperature, units.pressure, units.length);
    let mut text = format!(
        r#"baseline = "a"
[conditions]
ambient = "{}"
reflected = "{}"
barometer = "{}"
[instrument.gun]
emissivity = 0.95
reflected = "{}"
[surface.moulded]
emissivity = 0.9
wall = "{}"
[cooler.a]
inlet = "moulded"
outlet = "moulded"
[cooler.b]
inlet = "moulded"
outlet = "moulded"
"#,
        t(18.0),
        t(21.0),
        p(100.8),
        t(20.0),
        l(3.0)
    );
    for (cooler, number, (hot, cold, inlet, loss)) in runs {
        text += &format!(
            r#"[[run]]
cooler = "{cooler}"
name = "{number}"
inlet-pressure = "{}"
outlet-pressure = "{}"
pistol = [{{ tank = "inlet", reading = "{}" }}, {{ tank = "outlet", reading = "{}" }}]
"#,
            p(*inlet),
            p(inlet - loss),
            t(*hot),
            t(*cold)
        );
    }
    text
}

/// A camera's picture of one run, °C, and the session that reads its left and right ends.
fn pictured(folder: &Path, setting: &str, rows: &[Vec<f64>]) -> Value {
    let lines = rows.iter().map(|row| {
        let cells: Vec<String> = row.iter().map(|n| format!("{n:.9}")).collect();
        cells.join(",") + "\n"
    });
    std::fs::write(folder.join("one.csv"), lines.collect::<String>()).unwrap();
    let text = format!(
        r#"
[conditions]
ambient = "18 °C"
reflected = "24 °C"
[instrument.camera]
{setting}
pixels = {{ unit = "°C" }}
[surface.half]
emissivity = 0.6
[cooler.a]
inlet = "half"
outlet = "half"
[[run]]
cooler = "a"
[[run.snapshot]]
file = "one.csv"
regions = [
  {{ tank = "inlet", rectangle = [0, 0, 3, 4] }},
  {{ tank = "outlet", rectangle = [7, 0, 3, 4] }},
]
"#
    );
    evaluate(folder, &text)
}

/// Four rows of ten apparent temperatures, °C.
fn picture() -> impl Strategy<Value = Vec<Vec<f64>>> {
    proptest::collection::vec(proptest::collection::vec(40.0..160.0, 10), 4)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_order_of_runs_does_not_matter(
        holds in proptest::collection::vec(hold(), 5),
        order in Just((0..5).collect::<Vec<usize>>()).prop_shuffle(),
    ) {
        let coolers = ["a", "a", "b", "b", "b"];
        let run = |at: &usize| (coolers[*at], *at, holds[*at]);
        let straight: Vec<_> = (0..5).map(|at| run(&at)).collect();
        let shuffled: Vec<_> = order.iter().map(run).collect();
        let a = figures(&evaluate_alone(&pistols(&METRIC, &straight)));
        let b = figures(&evaluate_alone(&pistols(&METRIC, &shuffled)));
        prop_assert!(a.len() > 20);
        same(&a, &b, 1e-9)?;
    }

    #[test]
    fn the_units_do_not_matter(a in hold(), b in hold()) {
        let runs = [("a", 1, a), ("b", 2, b)];
        let metric = figures(&evaluate_alone(&pistols(&METRIC, &runs)));
        let customary = figures(&evaluate_alone(&pistols(&CUSTOMARY, &runs)));
        same(&metric, &customary, 1e-6)?;
    }

    #[test]
    fn the_stored_setting_does_not_matter(apparent in picture()) {
        let folder = tempfile::tempdir().unwrap();
        let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
        let plain = skins(&pictured(folder.path(), "emissivity = 1", &apparent));
        for (emissivity, mirrored) in [(0.95, 20.0), (0.3, 20.0), (0.3, 31.0)] {
            // What a camera with this setting stores of the same radiation.
            let store = |celsius: f64| {
                let mirrored = detector.signal(mirrored + 273.15);
                let signal = detector.signal(celsius + 273.15);
                detector.temperature((signal - (1.0 - emissivity) * mirrored) / emissivity) - 273.15
            };
            let stored: Vec<Vec<f64>> = apparent
                .iter()
                .map(|row| row.iter().map(|&celsius| store(celsius)).collect())
                .collect();
            let setting = format!("emissivity = {emissivity}\nreflected = \"{mirrored} °C\"");
            let other = skins(&pictured(folder.path(), &setting, &stored));
            prop_assert_eq!(plain.len(), 2);
            for (plain, other) in plain.iter().zip(&other) {
                prop_assert!((plain - other).abs() < 1e-4, "{} at {}: {}", plain, emissivity, other);
            }
        }
    }

    #[test]
    fn pixels_outside_the_regions_do_not_matter(
        apparent in picture(),
        marks in proptest::collection::vec(prop_oneof![
            Just(f64::NAN), Just(f64::INFINITY), Just(-300.0), Just(900.0)
        ], 16),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let before = pictured(folder.path(), "emissivity = 0.95", &apparent);
        let mut marked = apparent;
        for (at, mark) in marks.into_iter().enumerate() {
            marked[at / 4][3 + at % 4] = mark;
        }
        let after = pictured(folder.path(), "emissivity = 0.95", &marked);
        prop_assert_eq!(&before["readings"], &after["readings"]);
        prop_assert_eq!(&before["coolers"], &after["coolers"]);
    }

    #[test]
    fn more_radiation_is_a_warmer_skin(apparent in picture(), row in 0_usize..4, column in 0_usize..3, more in 0.05..40.0) {
        let folder = tempfile::tempdir().unwrap();
        let before = skins(&pictured(folder.path(), "emissivity = 0.95", &apparent));
        let mut warmer = apparent;
        warmer[row][column] += more;
        let after = skins(&pictured(folder.path(), "emissivity = 0.95", &warmer));
        prop_assert!(after[0] > before[0], "{} and {}", before[0], after[0]);
        prop_assert_eq!(after[1], before[1]);
    }
}
