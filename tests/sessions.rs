//! The program against an independent evaluation of the same sessions, written by tests/reference/sessions.py.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::collections::BTreeMap;

use serde_json::Value;

/// °C and K: both sides integrate the same law, so only their roundings differ.
const CLOSE: f64 = 1e-5;

struct Held {
    place: String,
    wrong: Vec<String>,
}

impl Held {
    fn near(&mut self, key: &str, got: Option<f64>, wanted: Option<f64>, tolerance: f64) {
        let same = match (got, wanted) {
            (Some(got), Some(wanted)) => (got - wanted).abs() <= tolerance,
            (None, None) => true,
            _ => false,
        };
        if !same {
            let place = &self.place;
            self.wrong
                .push(format!("{place}: {key} is {got:?}, not {wanted:?}"));
        }
    }

    fn equal(&mut self, key: &str, got: &Value, wanted: &Value) {
        if got[key] != wanted[key] {
            let line = format!("{}: {key} is {}, not {}", self.place, got[key], wanted[key]);
            self.wrong.push(line);
        }
    }
}

/// Checks the program's results on one session; how many readings it has.
fn agrees(name: &str) -> usize {
    let from = workshop::repository("tests/data/sessions").join(name);
    let folder = tempfile::tempdir().unwrap();
    workshop::copy(&from, folder.path());
    let got = workshop::results(&folder.path().join("session.toml"));
    let wanted = workshop::json(&from.join("expected.json"));
    let mut held = Held {
        place: name.to_owned(),
        wrong: Vec::new(),
    };
    held.equal("baseline", &got, &wanted);
    let (ours, theirs) = (array(&got, "readings"), array(&wanted, "readings"));
    assert_eq!(ours.len(), theirs.len(), "{name}: number of readings");
    for (got, wanted) in ours.iter().zip(theirs) {
        held.place = format!("{name}, {}, {}", wanted["run"], wanted["region"]);
        reading(&mut held, got, wanted);
    }
    coolers(&mut held, name, &got, &wanted);
    differences(&mut held, name, &got, &wanted);
    assert!(held.wrong.is_empty(), "{}", held.wrong.join("\n"));
    ours.len()
}

fn reading(held: &mut Held, got: &Value, wanted: &Value) {
    for key in ["cooler", "run", "source", "region", "role"] {
        held.equal(key, got, wanted);
    }
    for key in ["pixels", "invalid_pixels"] {
        held.equal(key, got, wanted);
    }
    for (key, wanted) in wanted["shown"].as_object().unwrap() {
        held.near(key, got["shown"][key].as_f64(), wanted.as_f64(), 1e-8);
    }
    held.near(
        "apparent",
        got["apparent"].as_f64(),
        wanted["apparent"].as_f64(),
        CLOSE,
    );
    for (key, tolerance) in [
        ("emissivity", 1e-7),
        ("reflected", CLOSE),
        ("surface_temperature", CLOSE),
    ] {
        let got = got[key]["value"].as_f64();
        held.near(key, got, wanted[key].as_f64(), tolerance);
    }
}

fn coolers(held: &mut Held, name: &str, got: &Value, wanted: &Value) {
    let ours = array(got, "coolers");
    let theirs = wanted["coolers"].as_object().unwrap();
    assert_eq!(ours.len(), theirs.len(), "{name}: number of coolers");
    for cooler in ours {
        let key = cooler["cooler"].as_str().unwrap();
        held.place = format!("{name}, {key}");
        let ours: BTreeMap<String, f64> = cooler["quantities"]
            .as_object()
            .unwrap()
            .iter()
            .map(|(id, q)| (id.clone(), q["value"].as_f64().unwrap()))
            .collect();
        same_quantities(held, &ours, &theirs[key]);
    }
}

fn differences(held: &mut Held, name: &str, got: &Value, wanted: &Value) {
    let mut ours: BTreeMap<String, BTreeMap<String, f64>> = BTreeMap::new();
    for row in array(got, "comparison") {
        ours.entry(row["candidate"].as_str().unwrap().to_owned())
            .or_default()
            .insert(
                row["quantity"].as_str().unwrap().to_owned(),
                row["difference"]["value"].as_f64().unwrap(),
            );
    }
    let theirs = wanted["differences"].as_object().unwrap();
    assert_eq!(
        ours.keys().collect::<Vec<_>>(),
        theirs.keys().collect::<Vec<_>>(),
        "{name}: candidates"
    );
    for (candidate, ours) in &ours {
        held.place = format!("{name}, difference of {candidate}");
        same_quantities(held, ours, &theirs[candidate]);
    }
}

fn same_quantities(held: &mut Held, ours: &BTreeMap<String, f64>, theirs: &Value) {
    let theirs = theirs.as_object().unwrap();
    for id in ours.keys().chain(theirs.keys()) {
        let wanted = theirs.get(id).and_then(Value::as_f64);
        let tolerance = match id.as_str() {
            pressure if pressure.contains("pressure") => 1e-6 * wanted.unwrap_or(1.0).abs(),
            "surface_effectiveness" | "effectiveness" | "outlet_density" => 1e-6,
            _ => CLOSE,
        };
        held.near(id, ours.get(id).copied(), wanted, tolerance);
    }
}

fn array<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().unwrap()
}

#[test]
fn every_shape_and_unreadable_pixels() {
    assert!(agrees("shapes") >= 30);
}

#[test]
fn every_kind_of_picture() {
    assert_eq!(agrees("formats"), 18);
}

#[test]
fn every_unit() {
    assert_eq!(agrees("units"), 21);
}

#[test]
fn settings_bands_and_the_air_between() {
    assert_eq!(agrees("settings"), 32);
}

#[test]
fn what_the_tanks_mirror() {
    assert_eq!(agrees("reflected"), 14);
}

#[test]
fn emissivity_from_a_patch_and_from_a_probe() {
    assert_eq!(agrees("patches"), 9);
}

#[test]
fn pistol_readings_of_one_cooler() {
    assert_eq!(agrees("pistol"), 6);
}

#[test]
fn three_coolers_with_the_baseline_last() {
    assert_eq!(agrees("three"), 12);
}

#[test]
fn raw_signal() {
    assert_eq!(agrees("raw"), 2);
}
