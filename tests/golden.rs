//! The sample's results against those kept in tests/golden, and against themselves on other numbers of threads.
//!
//! `ENDTANK_REGENERATE=1 cargo test --test golden` writes them anew and fails, so that the change is looked at.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use serde_json::Value;
use workshop::{contents, run, sample, text};

/// Figures are worked out anew on each kind of processor: the last digits may differ.
const CLOSE: f64 = 1e-7;

/// Takes out what changes with every version and with every byte of the sample.
fn filtered(mut results: Value) -> Value {
    results["endtank"] = Value::from("(version)");
    for input in results["inputs"].as_array_mut().unwrap() {
        assert_eq!(input["sha256"].as_str().unwrap().len(), 64);
        input["sha256"] = Value::from("(digest)");
    }
    results
}

/// The first place where two results differ.
fn differs(place: &str, got: &Value, wanted: &Value) -> Option<String> {
    match (got, wanted) {
        (Value::Object(a), Value::Object(b)) => {
            if a.keys().ne(b.keys()) {
                return Some(format!("{place}: other keys"));
            }
            a.iter()
                .find_map(|(key, a)| differs(&format!("{place}.{key}"), a, &b[key]))
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => a
            .iter()
            .zip(b)
            .enumerate()
            .find_map(|(at, (a, b))| differs(&format!("{place}[{at}]"), a, b)),
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            let same = (a - b).abs() <= CLOSE * b.abs().max(1.0);
            (!same).then(|| format!("{place}: {a} instead of {b}"))
        }
        _ => (got != wanted).then(|| format!("{place}: {got} instead of {wanted}")),
    }
}

/// A table as JSON, with numbers as numbers.
fn table(bytes: &[u8]) -> Value {
    let cell = |cell: &str| {
        cell.parse::<f64>()
            .map_or_else(|_| Value::from(cell), Value::from)
    };
    let rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(bytes)
        .records()
        .map(|row| row.unwrap().iter().map(cell).collect())
        .collect();
    Value::Array(rows)
}

#[test]
fn the_sample_s_results_are_those_kept() {
    let (folder, session) = sample();
    let output = run("compare", &session, &[]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    let ours = folder.path().join("session-results");
    let kept = workshop::repository("tests/golden/tow-truck");
    let results = filtered(workshop::json(&ours.join("results.json")));
    if std::env::var_os("ENDTANK_REGENERATE").is_some_and(|value| value == "1") {
        std::fs::create_dir_all(&kept).unwrap();
        let written = serde_json::to_string_pretty(&results).unwrap() + "\n";
        std::fs::write(kept.join("results.json"), written).unwrap();
        for name in ["readings.csv", "comparison.csv"] {
            std::fs::copy(ours.join(name), kept.join(name)).unwrap();
        }
        panic!("written anew: look at the change, then run without ENDTANK_REGENERATE");
    }
    let wanted = workshop::json(&kept.join("results.json"));
    assert_eq!(differs("results.json: ", &results, &wanted), None);
    for name in ["readings.csv", "comparison.csv"] {
        let read = |folder: &std::path::Path| table(&std::fs::read(folder.join(name)).unwrap());
        assert_eq!(differs(name, &read(&ours), &read(&kept)), None);
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let (folder, session) = sample();
    let mut seen = Vec::new();
    for jobs in ["1", "2", "5"] {
        let place = folder.path().join(format!("with-{jobs}"));
        let arguments = ["--jobs", jobs, "--out", place.to_str().unwrap()];
        let output = run("compare", &session, &arguments);
        assert!(output.status.success(), "{}", text(&output.stderr));
        let files: Vec<_> = contents(&place)
            .into_iter()
            .map(|(path, bytes)| (path.strip_prefix(&place).unwrap().to_owned(), bytes))
            .collect();
        // Pictures as taken, and the other files.
        assert_eq!(files.len(), 9 + 6);
        seen.push(files);
    }
    assert!(seen.windows(2).all(|pair| pair[0] == pair[1]));
}
