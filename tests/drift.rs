//! Drift between holds, against least squares worked out here with all unknowns at once.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use serde_json::Value;
use workshop::run;

/// Cooler, minutes past 14:00, what the intake-air sensor read, °C.
const HOLDS: [(usize, u32, f64); 7] = [
    (0, 0, 40.02),
    (0, 7, 40.31),
    (1, 20, 36.86),
    (1, 26, 37.12),
    (1, 33, 37.41),
    (0, 45, 42.13),
    (0, 51, 42.42),
];

fn session(holds: &[(usize, u32, f64)], timed: bool) -> String {
    let mut session = "[conditions]\nambient = \"18 °C ± 0.5\"\n[surface.moulded]\nemissivity = \"0.95 ± 0.02\"\n\
        [cooler.original]\ninlet = \"moulded\"\noutlet = \"moulded\"\n\
        [cooler.replacement]\ninlet = \"moulded\"\noutlet = \"moulded\"\n"
        .to_owned();
    session.insert_str(0, "baseline = \"original\"\nprimary = \"intake_air\"\n");
    for &(cooler, minutes, reading) in holds {
        let name = ["original", "replacement"][cooler];
        let time = if timed {
            format!("time = \"14:{minutes:02}\"\n")
        } else {
            String::new()
        };
        session += &format!(
            "[[run]]\nname = \"at {minutes}\"\ncooler = \"{name}\"\n{time}intake-air = \"{reading} °C ± 0.000001\"\n"
        );
    }
    session
}

fn results(session: &str) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("session.toml");
    std::fs::write(&file, session).unwrap();
    workshop::results(&file)
}

fn difference(results: &Value) -> [f64; 4] {
    let q = &results["comparison"][0]["difference"];
    ["value", "low", "high", "standard_uncertainty"].map(|key| q[key].as_f64().unwrap())
}

/// Solves the normal equations of level of the original, replacement less original, drift a minute; also the inverse's
/// entry for the difference, the residual variance and the t quantile belong to the answer.
fn least_squares(holds: &[(usize, u32, f64)]) -> (f64, f64) {
    let rows: Vec<[f64; 3]> = holds
        .iter()
        .map(|&(cooler, minutes, _)| [1.0, cooler as f64, f64::from(minutes)])
        .collect();
    let mut system = [[0.0; 7]; 3];
    for (row, hold) in rows.iter().zip(holds) {
        for i in 0..3 {
            for j in 0..3 {
                system[i][j] += row[i] * row[j];
            }
            system[i][3] += row[i] * hold.2;
        }
    }
    for (i, row) in system.iter_mut().enumerate() {
        row[4 + i] = 1.0;
    }
    // Gauss and Jordan, without pivots: the matrix is positive definite.
    for pivot in 0..3 {
        let scale = system[pivot][pivot];
        system[pivot].iter_mut().for_each(|x| *x /= scale);
        for other in (0..3).filter(|&other| other != pivot) {
            let (factor, from) = (system[other][pivot], system[pivot]);
            system[other]
                .iter_mut()
                .zip(from)
                .for_each(|(x, y)| *x -= factor * y);
        }
    }
    let solved = [system[0][3], system[1][3], system[2][3]];
    let squares: f64 = rows
        .iter()
        .zip(holds)
        .map(|(row, hold)| {
            let fitted: f64 = row.iter().zip(solved).map(|(x, b)| x * b).sum();
            (hold.2 - fitted).powi(2)
        })
        .sum();
    let variance = squares / (holds.len() - 3) as f64;
    (solved[1], (variance * system[1][5]).sqrt())
}

#[test]
fn a_drift_is_taken_out_as_least_squares_does() {
    let [value, low, high, standard] = difference(&results(&session(&HOLDS, true)));
    let (expected, deviation) = least_squares(&HOLDS);
    assert!((value - expected).abs() < 1e-6, "{value} {expected}");
    assert!(
        (standard - deviation).abs() < 1e-3 * deviation,
        "{standard} {deviation}"
    );
    // Student's t with 7 − 3 degrees of freedom (GUM, table G.2): 2.78.
    for end in [high - value, value - low] {
        assert!(
            (end - 2.776 * deviation).abs() < 0.03 * 2.776 * deviation,
            "{end} {deviation}"
        );
    }
}

#[test]
fn it_is_said_and_the_order_in_the_file_plays_no_part() {
    let mut shuffled = HOLDS;
    shuffled.rotate_left(3);
    shuffled.swap(0, 4);
    let (a, b) = (
        results(&session(&HOLDS, true)),
        results(&session(&shuffled, true)),
    );
    for (a, b) in difference(&a).into_iter().zip(difference(&b)) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("session.toml");
    std::fs::write(&file, session(&HOLDS, true)).unwrap();
    run("compare", &file, &[]);
    let report =
        std::fs::read_to_string(folder.path().join("session-results/report.html")).unwrap();
    assert!(report.contains("an hour"), "no word of the drift");
}

#[test]
fn without_times_nothing_is_taken_out() {
    let [value, ..] = difference(&results(&session(&HOLDS, false)));
    let mean = |cooler| {
        let own = HOLDS.iter().filter(|hold| hold.0 == cooler);
        own.clone().map(|hold| hold.2).sum::<f64>() / own.count() as f64
    };
    assert!((value - (mean(1) - mean(0))).abs() < 1e-9);
}
