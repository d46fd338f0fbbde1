//! Whole sessions with logs, through the program and the library.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use approx::assert_relative_eq;
use endtank::session;
use proptest::prelude::*;
use serde_json::Value;
use workshop::{json, program, run, text};

/// The log of a pull and a hold at 2400 rpm after it: 100 rows a second, gauge pressures; `loss` times the usual drop.
fn log(loss: f64) -> String {
    let mut log =
        "# made up\nTime (s),RPM,MAP (kPa),Tap 2 (kPa),T1 (degC),T2 (degC),MAF (g/s)\n".to_owned();
    let mut state = 2_u64;
    let mut noise = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / 9_007_199_254_740_992.0 - 0.5
    };
    for row in 0..2500 {
        let time = f64::from(row) / 100.0;
        let speed = if time < 15.0 {
            1500.0 + 100.0 * time
        } else {
            2400.0
        };
        let flow = 0.05 * speed;
        let inlet = 0.06 * speed;
        // The density depends on the drop a little.
        let mut drop = 0.0;
        for _ in 0..9 {
            let hot = (inlet + 101.325) / (0.28705 * 393.15);
            let cold = (inlet + 101.325 - drop) / (0.28705 * 318.15);
            drop = 0.3 + loss * 2e-4 * flow * flow / (0.5 * (hot + cold));
        }
        writeln!(
            log,
            "{time:.2},{:.0},{:.3},{:.3},{:.2},{:.2},{:.2}",
            speed + 4.0 * noise(),
            inlet + 0.4 * noise(),
            inlet - drop + 0.2 * noise(),
            120.0 + noise(),
            45.0 + noise(),
            flow + noise()
        )
        .unwrap();
    }
    log
}

const HEAD: &str = "[conditions]\nambient = \"18 °C ± 0.5\"\nbarometer = \"1013.25 hPa ± 1\"\n\
    [surface.cast]\nemissivity = \"0.9 ± 0.02\"\n\
    [cooler.original]\ninlet = \"cast\"\noutlet = \"cast\"\n";

const WELDED: &str = "[cooler.welded]\ninlet = \"cast\"\noutlet = \"cast\"\n";

const COLUMNS: &str = "time = \"Time (s)\", engine-speed = \"RPM\", inlet-pressure = \"MAP\", outlet-pressure = \"Tap 2\", \
    inlet-air = \"T1\", outlet-air = \"T2\", air-flow = \"MAF\"";

fn one(cooler: &str, name: &str, file: &str, window: &str, more: &str) -> String {
    format!(
        "[[run]]\ncooler = \"{cooler}\"\nname = \"{name}\"\nlog = {{ file = \"{file}\", window = \"{window}\", {COLUMNS} }}\n{more}"
    )
}

/// A session with both coolers' logs in a folder.
fn folder(session: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), log(1.0)).unwrap();
    std::fs::write(folder.path().join("b.csv"), log(0.7)).unwrap();
    let path = folder.path().join("session.toml");
    std::fs::write(&path, session).unwrap();
    (folder, path)
}

fn compared(session: &str) -> (tempfile::TempDir, Value) {
    let (folder, path) = folder(session);
    let done = run("compare", &path, &["--draws", "20000"]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let results = json(&folder.path().join("session-results/results.json"));
    (folder, results)
}

fn quantity<'r>(results: &'r Value, cooler: usize, id: &str) -> &'r Value {
    &results["coolers"][cooler]["quantities"][id]
}

fn figure(q: &Value, key: &str) -> f64 {
    q[key].as_f64().unwrap_or_else(|| panic!("{key} of {q}"))
}

fn cautions(results: &Value, id: &str) -> Vec<String> {
    let all = results["cautions"].as_array().unwrap().iter();
    all.filter(|caution| caution["id"] == id)
        .map(|caution| caution["message"].as_str().unwrap().to_owned())
        .collect()
}

const HELD: &str = "16 to 25 s";

#[test]
fn logged_values_go_all_the_way() {
    let session = HEAD.to_owned()
        + WELDED
        + &one("original", "a", "a.csv", HELD, "")
        + &one("welded", "b", "b.csv", HELD, "");
    let (folder, results) = compared(&session);
    // 0.06 × 2400 + 101.325 kPa.
    let inlet = quantity(&results, 0, "inlet_pressure");
    assert_relative_eq!(figure(inlet, "value"), 245.325, epsilon = 0.02);
    assert_relative_eq!(
        figure(quantity(&results, 0, "inlet_charge"), "value"),
        120.0,
        epsilon = 0.05
    );
    // The mean of 900 independent values, even within ± 0.2 kPa, less that within ± 0.1.
    let drop = quantity(&results, 0, "pressure_drop");
    let expected = ((0.4_f64.powi(2) + 0.2_f64.powi(2)) / 12.0 / 900.0).sqrt();
    assert_relative_eq!(
        figure(drop, "standard_uncertainty"),
        expected,
        max_relative = 0.3
    );
    // Less the offset of 0.3 kPa the one loses 0.7 times what the other does.
    let lost = |cooler| figure(quantity(&results, cooler, "pressure_drop"), "value") - 0.3;
    assert_relative_eq!(lost(1) / lost(0), 0.7, max_relative = 0.02);
    assert!(quantity(&results, 0, "loss_coefficient")["value"].is_number());
    assert!(quantity(&results, 1, "heat_rejected")["value"].is_number());
    let inputs: Vec<&Value> = results["inputs"].as_array().unwrap().iter().collect();
    let digest =
        |name: &str| inputs.iter().find(|input| input["file"] == name).unwrap()["sha256"].clone();
    use sha2::Digest as _;
    let bytes = std::fs::read(folder.path().join("a.csv")).unwrap();
    let known: String = sha2::Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    assert_eq!(digest("a.csv"), known);
    let assumed = cautions(&results, "accuracy-assumed");
    assert!(
        assumed
            .iter()
            .any(|said| said.contains("`inlet-pressure`, `outlet-pressure`, `inlet-air`")),
        "{assumed:?}"
    );
    assert!(cautions(&results, "unequal-conditions").is_empty());
    pulls_are_reported(folder.path(), &results);
}

fn pulls_are_reported(folder: &Path, results: &Value) {
    let pulls = results["pulls"].as_array().unwrap();
    assert_eq!(pulls.len(), 2);
    for (pull, loss) in pulls.iter().zip([1.0, 0.7]) {
        assert_eq!(pull["steps"].as_array().unwrap().len(), 15);
        let fit = &pull["fit"];
        let k = &fit["loss_coefficient"];
        // Made with kPa and g/s: 2e-4 kPa (kg/m³)/(g/s)² is 2e5 Pa (kg/m³)/(kg/s)².
        for (q, made) in [(k, loss * 2e5), (&fit["offset"], 0.3)] {
            let off = (figure(q, "value") - made).abs();
            assert!(off < 3.0 * figure(q, "standard_uncertainty"), "{fit}");
        }
        assert!(
            figure(k, "high") - figure(k, "low") < 0.1 * loss * 2e5,
            "{fit}"
        );
        // Student's t of 13 degrees of freedom.
        let half = 0.5 * (figure(k, "high") - figure(k, "low"));
        assert_relative_eq!(
            half / figure(k, "standard_uncertainty"),
            2.160,
            max_relative = 1e-3
        );
    }
    let report = std::fs::read_to_string(folder.join("session-results/report.html")).unwrap();
    assert!(
        report.contains("<h2>Pulls</h2>")
            && report.contains("means of <code>a.csv</code> over 900 of its 2500 rows")
    );
}

/// The accuracy of an instrument comes on top of the doubt of the mean, shared by what it measures.
#[test]
fn sensors_have_their_instruments_accuracy() {
    let gauge = "[instrument.logger]\nmeasures = [\"inlet-pressure\", \"outlet-pressure\"]\naccuracy = \"2 kPa\"\n";
    let session = gauge.to_owned() + HEAD + &one("original", "a", "a.csv", HELD, "");
    let (_folder, results) = compared(&session);
    let inlet = quantity(&results, 0, "inlet_pressure");
    // Even within 2 kPa, and the barometer's 0.1 kPa.
    let expected = ((2.0_f64.powi(2) + 0.1_f64.powi(2)) / 3.0).sqrt();
    assert_relative_eq!(
        figure(inlet, "standard_uncertainty"),
        expected,
        max_relative = 0.03
    );
    assert!(
        figure(
            quantity(&results, 0, "pressure_drop"),
            "standard_uncertainty"
        ) < 0.05
    );
    let assumed = cautions(&results, "accuracy-assumed");
    assert!(
        !assumed.iter().any(|said| said.contains("pressure")),
        "{assumed:?}"
    );
}

#[test]
fn absolute_columns_take_no_barometer() {
    let session = HEAD.to_owned() + &one("original", "a", "a.csv", HELD, "");
    let absolute = session.replace(
        "inlet-pressure = \"MAP\"",
        "inlet-pressure = { column = \"MAP\", unit = \"bar\", reference = \"absolute\" }",
    );
    // Such a pressure is no sensible one: 144 bar.
    let (_folder, path) = folder(&absolute);
    let refused = session::read(&path).unwrap_err().to_string();
    assert!(
        refused.contains("must be between -1.2 bar and 20 bar"),
        "{refused}"
    );
    let absolute = absolute.replace("\"bar\"", "\"kPa\"");
    let (_folder, results) = compared(&absolute);
    let inlet = quantity(&results, 0, "inlet_pressure");
    assert_relative_eq!(figure(inlet, "value"), 144.0, epsilon = 0.02);
}

/// What is written by hand is taken as if there were no log, and the report says so.
#[test]
fn handwritten_values_win() {
    let by_hand = "engine-speed = \"2400 rpm\"\ninlet-pressure = \"150 kPa ± 1\"\noutlet-pressure = \"141 kPa ± 1\"\n\
        inlet-air = \"121 °C ± 1\"\noutlet-air = \"44 °C ± 1\"\nair-flow = \"119 g/s ± 2\"\n";
    let with = HEAD.to_owned() + &one("original", "a", "a.csv", HELD, by_hand);
    let without = HEAD.to_owned() + "[[run]]\ncooler = \"original\"\nname = \"a\"\n" + by_hand;
    let (kept, with) = compared(&with);
    let (_folder, without) = compared(&without);
    assert_eq!(with["coolers"], without["coolers"]);
    assert_ne!(with["pulls"], without["pulls"]);
    let report = std::fs::read_to_string(kept.path().join("session-results/report.html")).unwrap();
    assert!(
        report.contains("In a the inlet pressure written by hand, 150 kPa ± 1, is taken; <code>a.csv</code> says 14"),
        "{report}"
    );
}

#[test]
fn coolers_at_other_speeds_are_not_like_for_like() {
    let session = HEAD.to_owned()
        + WELDED
        + &one("original", "a", "a.csv", "2350 to 2450 rpm", "")
        + &one("welded", "b", "b.csv", "2600 to 2700 rpm", "");
    let (_folder, results) = compared(&session);
    let unequal = cautions(&results, "unequal-conditions");
    assert!(
        unequal.iter().any(|said| said.contains("engine speed")),
        "{unequal:?}"
    );
}

#[test]
fn the_ambient_may_come_from_the_log_alone() {
    let bare = HEAD.replace("ambient = \"18 °C ± 0.5\"\n", "");
    let columns = |session: &str| {
        session.replace(
            "air-flow = \"MAF\"",
            "ambient = { column = \"T2\", accuracy = \"1 °C\" }",
        )
    };
    let session = bare + &columns(&one("original", "a", "a.csv", HELD, ""));
    let (_folder, path) = folder(&session);
    let read = session::read(&path).unwrap_or_else(|problems| panic!("{problems}"));
    assert_relative_eq!(
        read.runs[0].conditions.ambient.value,
        318.15,
        epsilon = 0.05
    );
    let checked = run("check", &path, &[]);
    assert!(checked.status.success(), "{}", text(&checked.stderr));
    // Without files nothing gives it.
    let problems = session::from_text(Path::new("session.toml"), &session).unwrap_err();
    assert!(
        problems.to_string().contains("has no `ambient`"),
        "{problems}"
    );
}

#[test]
fn everything_that_is_wrong_is_said_at_once_and_nothing_is_written() {
    let broken = one("original", "a", "a.csv", "5000 to 6000 rpm", "")
        + &one("original", "b", "b.csv", "2350 to 2450", "")
        + &one("welded", "c", "../c.csv", "peak-boost", "")
        + &one("welded", "d", "a.csv", HELD, "").replace("\"MAP\"", "\"MOP\"")
        + &one("welded", "e", "a.csv", HELD, "").replace(
            "\"T1\"",
            "{ column = \"T1\", unit = \"kPa\", reference = \"absolute\", accuracy = \"1 °C\" }",
        )
        + &one("welded", "f", "a.csv", "2350 to 2450 rpm", "")
            .replace("engine-speed = \"RPM\", ", "")
        + &one("welded", "g", "a.csv", HELD, "")
            .replace("time =", "tiem =")
            .replace(HELD, "2350 to 2450 rpm");
    let (folder, path) = folder(&(HEAD.to_owned() + WELDED + &broken));
    let done = program().arg("compare").arg(&path).output().unwrap();
    assert_eq!(done.status.code(), Some(1));
    let said = text(&done.stderr);
    for part in [
        "a.csv: no row of the log lies in the window",
        "the log's engine speed goes from 1",
        "`window`: `2350 to 2450` is no window",
        "leads out of the session's folder",
        "a.csv: the log has no column `MOP`",
        "did you mean `MAP`?",
        "`kPa` is the unit of a pressure",
        "is no pressure at a tap",
        "belongs to the instrument that measures it",
        "the window goes by `engine-speed`, which has no column",
        "unknown key `tiem` in `run.g.log`",
        "9 problems",
    ] {
        assert!(said.contains(part), "{part}\n{said}");
    }
    assert!(!folder.path().join("session-results").exists());
}

/// The numbers of a log, as another logger writes them.
fn rewritten(delimiter: char, comma: bool, order: &[usize], crlf: bool) -> String {
    let log = log(1.0);
    let lines = log.lines().skip(1).step_by(5);
    let end = if crlf { "\r\n" } else { "\n" };
    let mut text = String::new();
    for line in lines {
        let cells: Vec<String> = line
            .split(',')
            .map(|cell| {
                if comma {
                    cell.replace('.', ",")
                } else {
                    cell.to_owned()
                }
            })
            .collect();
        let cells: Vec<&str> = order.iter().map(|&at| cells[at].as_str()).collect();
        text += &cells.join(&delimiter.to_string());
        text += end;
    }
    text
}

fn readings(text: &str) -> endtank::log::Reading {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), text).unwrap();
    let path = folder.path().join("session.toml");
    std::fs::write(
        &path,
        HEAD.to_owned() + &one("original", "a", "a.csv", HELD, ""),
    )
    .unwrap();
    let session = session::read(&path).unwrap_or_else(|problems| panic!("{problems}"));
    let mut reading = session.runs[0]
        .log
        .as_ref()
        .unwrap()
        .reading
        .clone()
        .unwrap();
    reading.sha256.clear();
    reading
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Delimiter, decimal mark, line end and the order of the columns change nothing.
    #[test]
    fn how_a_logger_writes_does_not_matter(
        delimiter in prop::sample::select(vec![',', ';', '\t', '|']),
        comma: bool,
        crlf: bool,
        order in Just((0..7).collect::<Vec<usize>>()).prop_shuffle(),
    ) {
        let plain = readings(&rewritten(',', false, &[0, 1, 2, 3, 4, 5, 6], false));
        let other = readings(&rewritten(delimiter, comma && delimiter != ',', &order, crlf));
        prop_assert_eq!(plain, other);
    }
}

/// The surroundings' sensor is one for all runs, so its error cancels between them as that of a value written by hand does.
#[test]
fn a_logged_ambients_accuracy_is_one_error() {
    let session = |conditions: &str, log: &str| {
        let mut session = format!(
            "[conditions]\nreflected = \"19 °C ± 0.1\"\n{conditions}[instrument.pistol]\nemissivity = 0.95\n\
             reflected = \"19 °C\"\naccuracy = \"0.1 °C\"\ndrift = \"0.01 K\"\ndistance-ratio = \"12:1\"\n\
             [repeatability]\ntemperature = \"0.05 K\"\n[surface.moulded]\nemissivity = \"0.95 ± 0.001\"\n\
             shared = true\n"
        );
        for (cooler, outlet) in [("a", 40.0), ("b", 39.5)] {
            session += &format!("[cooler.{cooler}]\ninlet = \"moulded\"\noutlet = \"moulded\"\n");
            session += &format!(
                "[[run]]\ncooler = \"{cooler}\"\n{log}pistol = [{{ tank = \"inlet\", reading = \"70.0 °C ± 0.01\" }}, \
                 {{ tank = \"outlet\", reading = \"{outlet:.1} °C ± 0.01\" }}]\n"
            );
        }
        let folder = tempfile::tempdir().unwrap();
        let rows: String = (0..500)
            .map(|row| format!("{row},{}.00\n", 17 + row % 3))
            .collect();
        std::fs::write(folder.path().join("l.csv"), format!("t,amb\n{rows}")).unwrap();
        let path = folder.path().join("session.toml");
        std::fs::write(&path, session).unwrap();
        workshop::results(&path)
    };
    let hand = session("ambient = \"18.00 °C ± 2\"\n", "");
    let log = session(
        "",
        "log = { file = \"l.csv\", window = \"0 to 500 s\", time = { column = \"t\", unit = \"s\" }, \
         ambient = { column = \"amb\", unit = \"°C\", accuracy = \"2 °C\" } }\n",
    );
    let standard = |results: &Value, id: &str, part: &str| {
        let rows = results["comparison"].as_array().unwrap();
        let row = rows.iter().find(|row| row["quantity"] == id).unwrap();
        figure(&row[part], "standard_uncertainty")
    };
    for id in ["outlet_surface_normalised", "surface_effectiveness"] {
        for part in ["difference", "baseline_value"] {
            let (by_hand, logged) = (standard(&hand, id, part), standard(&log, id, part));
            assert_relative_eq!(by_hand, logged, max_relative = 0.03);
        }
    }
    let of_sensor = log["budget"].to_string();
    assert!(
        of_sensor.contains("instrument.amb (log).accuracy"),
        "{of_sensor}"
    );
}
