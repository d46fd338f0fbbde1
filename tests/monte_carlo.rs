//! The Monte Carlo against an independent one with numpy, 400 000 draws (tests/reference/monte_carlo.py): ends of
//! intervals within 3 % of the interval's width, the same verdicts.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use approx::assert_abs_diff_eq;
use endtank::outcome::{Outcome, Q};
use endtank::quantity::QuantityId;
use endtank::uncertainty::Settings;
use serde_json::Value;

fn evaluate(name: &str) -> (Outcome, Value) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/uncertainty")
        .join(name);
    let session = endtank::session::read(&folder.join("session.toml")).unwrap();
    let settings = Settings {
        draws: 400_000,
        seed: 5,
        what_ifs: false,
    };
    let outcome = endtank::pipeline::evaluate(&session, settings, &|| {}).unwrap();
    let expected = std::fs::read_to_string(folder.join("expected.json")).unwrap();
    (outcome, serde_json::from_str(&expected).unwrap())
}

fn agree(what: &str, found: &Q, expected: &Value) {
    let number = |key: &str| expected[key].as_f64().unwrap();
    let width = number("high") - number("low");
    // Both sides have drawn: half a per cent of the width each is chance, 3 % is the promise.
    for (end, found) in [("low", found.low.unwrap()), ("high", found.high.unwrap())] {
        let apart = (found - number(end)).abs() / width;
        assert!(
            apart < 0.03,
            "{what}: {end} {found} here, {} by numpy: {:.1} % of the width",
            number(end),
            100.0 * apart
        );
    }
    assert_abs_diff_eq!(
        found.value,
        number("value"),
        epsilon = 1e-4 * width.max(1.0)
    );
    let standard = found.standard_uncertainty.unwrap();
    assert_abs_diff_eq!(standard, number("u"), epsilon = 0.02 * number("u"));
}

fn compare(name: &str) {
    let (outcome, expected) = evaluate(name);
    let readings: Vec<_> = outcome
        .results
        .readings
        .iter()
        .filter(|reading| reading.role == "tank")
        .collect();
    let mut wanted: Vec<&Value> = expected["readings"].as_array().unwrap().iter().collect();
    assert_eq!(readings.len(), wanted.len());
    for reading in readings {
        // By run, tank and surface; each once.
        let index = wanted
            .iter()
            .position(|entry| {
                entry["run"] == reading.run.as_str()
                    && entry["tank"] == reading.tank.as_deref().unwrap()
                    && entry["surface"] == reading.surface.as_deref().unwrap()
            })
            .unwrap();
        let entry = wanted.remove(index);
        let what = format!("{name}: {} {}", reading.run, reading.region);
        agree(
            &what,
            reading.surface_temperature.as_ref().unwrap(),
            &entry["skin"],
        );
        if entry.get("emissivity").is_some() {
            agree(
                &what,
                reading.emissivity.as_ref().unwrap(),
                &entry["emissivity"],
            );
        }
    }
    for cooler in &outcome.results.coolers {
        let wanted = expected["coolers"][&cooler.cooler].as_object().unwrap();
        assert_eq!(cooler.quantities.len(), wanted.len());
        for (id, entry) in wanted {
            let found = &cooler.quantities[&QuantityId::from_id(id).unwrap()];
            agree(&format!("{name}: {id} of {}", cooler.cooler), found, entry);
        }
    }
    let wanted = expected["differences"].as_object().unwrap();
    assert_eq!(outcome.results.comparison.len(), wanted.len());
    for row in &outcome.results.comparison {
        let entry = &wanted[row.quantity.id()];
        agree(
            &format!("{name}: difference of {}", row.quantity.id()),
            &row.difference,
            entry,
        );
        let verdict = endtank::report::verdict_words(row.verdict.unwrap());
        assert_eq!(
            verdict,
            entry["verdict"].as_str().unwrap(),
            "{}",
            row.quantity.id()
        );
    }
}

#[test]
fn stated_emissivities_repeated_runs_and_a_gauge() {
    compare("stated");
}

#[test]
fn patch_foil_and_stated_scatter() {
    compare("patched");
}

/// A patch-and-reflector scene of known truth: emissivity 0.27, 66 and 33 °C.
#[test]
fn patch_and_foil_bring_the_truth_back() {
    let (outcome, _) = evaluate("patched");
    for (reading, truth) in outcome
        .results
        .readings
        .iter()
        .filter(|r| r.role == "tank")
        .zip([66.0, 33.0, 61.5, 28.5])
    {
        assert_abs_diff_eq!(reading.emissivity.unwrap().value, 0.27, epsilon = 0.001);
        // The pictures hold hundredths of a degree, which an emissivity of 0.27 magnifies.
        assert_abs_diff_eq!(
            reading.surface_temperature.unwrap().value,
            truth,
            epsilon = 0.03
        );
    }
}

#[test]
fn threads_do_not_change_a_digit() {
    let results = [1, 2, 5].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| evaluate("stated").0.results)
    });
    assert_eq!(results[0], results[1]);
    assert_eq!(results[0], results[2]);
}
