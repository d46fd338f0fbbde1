//! The budget of doubt: shares against squared correlations worked out by numpy, and what the advice promises against the
//! session that follows it.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::collections::BTreeMap;
use std::path::Path;

use approx::assert_abs_diff_eq;
use endtank::outcome::{BudgetAdvice, Outcome, Q};
use endtank::quantity::QuantityId;
use endtank::radiometry::{Band, Detector};
use endtank::session::{self, Emissivity, InstrumentKind, Session};
use endtank::uncertainty::Settings;
use endtank::units::Law;
use serde_json::Value;

const SETTINGS: Settings = Settings {
    draws: 100_000,
    seed: 5,
    what_ifs: true,
};

fn data(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

fn evaluate(session: &Session, settings: Settings) -> Outcome {
    endtank::pipeline::evaluate(session, settings, &|| {}).unwrap()
}

/// Shares of a session against those in a file, drawn again with numpy (400 000 draws): the share of every input within 0.02,
/// and none that only one of the two knows of. Returns how many figures there are.
fn shares_agree(outcome: &Outcome, expected: &Path) -> usize {
    let text = std::fs::read_to_string(expected).unwrap();
    let wanted: Vec<Value> = serde_json::from_str(&text).unwrap();
    for wanted in &wanted {
        let text = |key: &str| wanted[key].as_str().map(str::to_owned);
        let found = outcome
            .results
            .budget
            .iter()
            .find(|entry| {
                (entry.cooler.clone(), entry.candidate.clone())
                    == (text("cooler"), text("candidate"))
                    && Some(entry.quantity.id()) == wanted["quantity"].as_str()
            })
            .unwrap();
        let mut shares: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
        for share in &found.shares {
            shares.entry(&share.input).or_default().0 = share.share;
        }
        for (input, share) in wanted["shares"].as_object().unwrap() {
            shares.entry(input).or_default().1 = share.as_f64().unwrap();
        }
        assert!(shares.len() > 2);
        for (input, (here, numpy)) in shares {
            let what = format!("{wanted} {input}: {here} here, {numpy} by numpy");
            assert!((here - numpy).abs() < 0.02, "{what}");
        }
    }
    wanted.len()
}

/// Every figure of a session of stated emissivities (tests/reference/monte_carlo.py).
#[test]
fn shares_agree_with_squared_correlations_by_numpy() {
    let folder = data("tests/data/uncertainty/stated");
    let session = session::read(&folder.join("session.toml")).unwrap();
    let outcome = evaluate(&session, SETTINGS);
    let figures = shares_agree(&outcome, &folder.join("budget.json"));
    assert_eq!(outcome.results.budget.len(), figures);
}

/// Skins, what follows from them alone, pressures and the engine's sensor of the sample, of both coolers and their
/// difference (tests/reference/sample_budget.py, which reads the pictures itself, the coloured one too).
#[test]
fn shares_of_the_sample_agree_with_squared_correlations_by_numpy() {
    let session = session::read(&data("sample-images/tow-truck/session.toml")).unwrap();
    let outcome = evaluate(&session, SETTINGS);
    let expected = data("tests/data/uncertainty/sample/budget.json");
    assert_eq!(shares_agree(&outcome, &expected), 30);
}

/// A pistol that drifts has the largest share: without it the interval is that of the session that states an instrument
/// without drift.
#[test]
fn without_the_drift_it_is_the_session_without_drift() {
    let text = BARE
        .replace("drift = \"0.1 K\"", "drift = \"4 K\"")
        .replace("0.5 ± 0.1", "0.5 ± 0.005");
    let session = session::from_text(Path::new("drifting.toml"), &text).unwrap();
    let outcome = evaluate(&session, SETTINGS);
    let (quantity, advice) = advised(&outcome);
    assert_eq!(advice.inputs.len(), 4, "{advice:?}");
    assert!(
        advice.inputs.iter().all(|input| input.ends_with(" drift")),
        "{advice:?}"
    );
    let mut steady = session;
    for instrument in &mut steady.instruments {
        if let InstrumentKind::Thermal(thermal) = &mut instrument.kind {
            thermal.drift = Some(0.0);
        }
    }
    same_ends(&rerun(&steady, quantity), &advice.known_exactly);
}

/// Following the advice reads the same scene in a better way: the difference stays, its interval narrows. The sample has a
/// run with several pictures, each with a reference of its own temperature.
#[test]
fn the_advised_session_reads_the_same_scene() {
    let session = session::read(&data("sample-images/tow-truck/session.toml")).unwrap();
    let outcome = evaluate(&session, SETTINGS);
    let (quantity, advice) = advised(&outcome);
    let now = rerun(&session, quantity);
    let then = advice.with_action.unwrap();
    assert_abs_diff_eq!(then.value, now.value, epsilon = 1e-3);
    assert!(reach(&then) < reach(&now));
}

/// The answer's row.
fn advised(outcome: &Outcome) -> (QuantityId, &BudgetAdvice) {
    let mut advised = outcome
        .results
        .budget
        .iter()
        .filter_map(|entry| Some((entry.quantity, entry.advice.as_ref()?)));
    let found = advised.next().unwrap();
    assert!(advised.next().is_none(), "only the answer is advised on");
    assert_eq!(found.0, outcome.results.primary);
    found
}

fn rerun(session: &Session, quantity: QuantityId) -> Q {
    let outcome = evaluate(
        session,
        Settings {
            what_ifs: false,
            ..SETTINGS
        },
    );
    let mut rows = outcome.results.comparison.iter();
    rows.find(|row| row.quantity == quantity)
        .unwrap()
        .difference
}

fn same_ends(a: &Q, b: &Q) {
    assert_abs_diff_eq!(a.low.unwrap(), b.low.unwrap(), epsilon = 1e-9);
    assert_abs_diff_eq!(a.high.unwrap(), b.high.unwrap(), epsilon = 1e-9);
}

fn reach(q: &Q) -> f64 {
    0.5 * (q.high.unwrap() - q.low.unwrap())
}

/// Two coolers with bare tanks, one hold each.
const BARE: &str = r#"
[conditions]
ambient = "20 °C ± 0.5"
reflected = "20 °C ± 1"
[repeatability]
temperature = "0.1 K"
[instrument.pistol]
emissivity = 1
accuracy = "0.5 °C"
drift = "0.1 K"
distance-ratio = 12
[surface.cast]
emissivity = "0.5 ± 0.1"
[surface.welded]
emissivity = "0.5 ± 0.1"
[surface.tape]
like = "tape-electrical"
[cooler.a]
inlet = "cast"
outlet = "cast"
[cooler.b]
inlet = "welded"
outlet = "welded"
[[run]]
cooler = "a"
[[run.pistol]]
tank = "inlet"
reading = "50 °C ± 0.05"
[[run.pistol]]
tank = "outlet"
reading = "35 °C ± 0.05"
[[run]]
cooler = "b"
[[run.pistol]]
tank = "inlet"
reading = "50 °C ± 0.05"
[[run.pistol]]
tank = "outlet"
reading = "31 °C ± 0.05"
"#;

/// The answer hangs on a bare tank's emissivity: known exactly it is that of the session that states it exactly.
#[test]
fn with_the_emissivity_known_it_is_the_session_that_states_it() {
    let session = session::from_text(Path::new("bare.toml"), BARE).unwrap();
    let outcome = evaluate(&session, SETTINGS);
    let (quantity, advice) = advised(&outcome);
    let [input] = advice.inputs.as_slice() else {
        panic!("{advice:?}");
    };
    assert!(input.starts_with("surface."), "{input}");
    let mut exact = session;
    let mut changed = 0;
    exact.amend(&mut |declared| {
        // A surface's input carries the cooler behind its place.
        if input.starts_with(&declared.place) {
            declared.law = Law::Exact;
            changed += 1;
        }
    });
    assert_eq!(changed, 1);
    same_ends(&rerun(&exact, quantity), &advice.known_exactly);
}

/// The advice is tape, and it promises what the session with tape on the same skins gives.
#[test]
fn tape_is_advised_and_gives_what_is_promised() {
    let session = session::from_text(Path::new("bare.toml"), BARE).unwrap();
    let outcome = evaluate(&session, SETTINGS);
    let (quantity, advice) = advised(&outcome);
    let action = advice.action.as_deref().unwrap();
    assert!(action.contains("tape"), "{action}");
    let promised = reach(&advice.with_action.unwrap());
    let now = reach(&rerun(&session, quantity));
    assert!(promised < 0.9 * now, "{now} to {promised}");
    // The same skins on tape: what the pistol would show of them there.
    let readings = &outcome.results.readings;
    let skins = readings
        .iter()
        .map(|reading| reading.surface_temperature.unwrap().value);
    let mut taped = session;
    let mut surfaces = taped.surfaces.iter();
    let tape = surfaces.position(|surface| surface.name == "tape").unwrap();
    let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
    let Emissivity::Stated(emissivity) = taped.surfaces[tape].emissivity.clone() else {
        panic!("a preset states its emissivity");
    };
    let pistols = taped.runs.iter_mut().flat_map(|run| &mut run.pistols);
    for (pistol, skin) in pistols.zip(skins) {
        let signal = emissivity.value * detector.signal(skin + 273.15)
            + (1.0 - emissivity.value) * detector.signal(293.15);
        let shown = detector.temperature(signal);
        pistol.reading.law = pistol.reading.law.moved(shown - pistol.reading.value);
        pistol.reading.value = shown;
        pistol.surface = Some(tape);
    }
    // 20 000 draws there, 100 000 here.
    assert_abs_diff_eq!(
        reach(&rerun(&taped, quantity)),
        promised,
        epsilon = 0.03 * promised
    );
}
