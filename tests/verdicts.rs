//! Verdicts never outrun the measurements: what must not earn one.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use endtank::caution::CautionId;
use endtank::outcome::{Outcome, Verdict};
use endtank::quantity::QuantityId;
use endtank::uncertainty::Settings;

const HEAD: &str = r#"
[conditions]
ambient = "18 °C ± 0.5"
reflected = "20 °C ± 1"
barometer = "1010 hPa ± 2"
[instrument.pistol]
emissivity = 1
accuracy = "1 °C"
drift = "0.2 K"
[surface.plastic]
emissivity = "0.95 ± 0.01"
[cooler.a]
inlet = "plastic"
outlet = "plastic"
[cooler.b]
inlet = "plastic"
outlet = "plastic"
"#;

/// A run with skins in °C and tap pressures in psi.
fn run(cooler: &str, skins: [Option<f64>; 2], taps: [f64; 2]) -> String {
    let mut text = format!(
        "[[run]]\ncooler = \"{cooler}\"\ninlet-pressure = \"{} psi ± 0.05\"\noutlet-pressure = \"{} psi ± 0.05\"\n",
        taps[0], taps[1]
    );
    for (tank, skin) in ["inlet", "outlet"].into_iter().zip(skins) {
        if let Some(skin) = skin {
            text.push_str(&format!(
                "[[run.pistol]]\ntank = \"{tank}\"\nreading = \"{skin} °C ± 0.1\"\n"
            ));
        }
    }
    text
}

fn evaluate(text: &str) -> Outcome {
    let session = endtank::session::from_text(Path::new("session.toml"), text)
        .unwrap_or_else(|error| panic!("{error}"));
    let settings = Settings {
        draws: 20_000,
        seed: 3,
        what_ifs: false,
    };
    endtank::pipeline::evaluate(&session, settings, &|| {})
        .unwrap_or_else(|error| panic!("{error}"))
}

fn verdict(outcome: &Outcome, id: QuantityId) -> Verdict {
    outcome
        .results
        .comparison
        .iter()
        .find(|row| row.quantity == id)
        .unwrap()
        .verdict
        .unwrap()
}

const TAPS: [f64; 2] = [22.9, 21.9];

/// Two holds of skins that cannot be true against two that can: only the taps earn a verdict.
fn only_taps_are_judged(impossible: [Option<f64>; 2]) -> Outcome {
    let sound = [Some(64.0), Some(27.0)];
    let text = [
        HEAD.to_owned(),
        run("a", impossible, TAPS),
        run("a", impossible, TAPS),
        run("b", sound, TAPS),
        run("b", sound, TAPS),
    ];
    let outcome = evaluate(&text.concat());
    for row in &outcome.results.comparison {
        let of_taps = row.quantity.id().contains("pressure");
        assert_eq!(
            row.verdict == Some(Verdict::NotComparable),
            !of_taps,
            "{}",
            row.quantity.id()
        );
    }
    outcome
}

#[test]
fn an_outlet_hotter_than_the_inlet_earns_none() {
    let outcome = only_taps_are_judged([Some(31.0), Some(53.0)]);
    assert!(
        outcome
            .results
            .cautions
            .iter()
            .any(|caution| caution.id == CautionId::OutletHotter)
    );
}

#[test]
fn an_outlet_below_the_cooling_air_earns_none() {
    only_taps_are_judged([Some(53.0), Some(12.0)]);
}

#[test]
fn a_pressure_that_rises_on_its_way_earns_none() {
    let skins = [Some(53.0), Some(31.0)];
    let swapped = [21.9, 22.9];
    let text = [
        HEAD.to_owned(),
        run("a", skins, swapped),
        run("a", skins, swapped),
        run("b", skins, TAPS),
        run("b", skins, TAPS),
    ];
    let outcome = evaluate(&text.concat());
    assert_eq!(
        verdict(&outcome, QuantityId::PressureDrop),
        Verdict::NotComparable
    );
    assert_eq!(
        verdict(&outcome, QuantityId::PressureLoss),
        Verdict::NotComparable
    );
    assert!(
        outcome
            .results
            .cautions
            .iter()
            .any(|caution| caution.id == CautionId::PressureGain)
    );
}

/// Wide scatter between two holds is no bare metal: it ends as not distinguishable, without the advice to put tape on.
#[test]
fn scatter_is_not_taken_for_an_unmeasurable_skin() {
    let text = [
        HEAD.to_owned(),
        run("a", [Some(40.0), Some(30.0)], TAPS),
        run("b", [Some(40.0), Some(24.0)], TAPS),
        run("b", [Some(50.0), Some(24.2)], TAPS),
    ];
    let outcome = evaluate(&text.concat());
    assert!(
        !outcome
            .results
            .cautions
            .iter()
            .any(|caution| caution.id == CautionId::NotMeasurable)
    );
    assert_eq!(
        verdict(&outcome, QuantityId::InletSurface),
        Verdict::NotDistinguishable
    );
    assert_eq!(verdict(&outcome, QuantityId::OutletSurface), Verdict::Lower);
}

/// The inlet was repeated, both tanks together were not: the drop has no scatter of its own, and what is stated went into
/// the outlet alone.
#[test]
fn a_stated_scatter_does_not_stand_in_for_half_a_quantity() {
    let text = [
        "[repeatability]\ntemperature = \"0.8 K\"\n".to_owned(),
        HEAD.to_owned(),
        run("a", [Some(53.0), Some(31.0)], TAPS),
        run("a", [Some(60.0), None], TAPS),
        run("b", [Some(64.0), Some(27.0)], TAPS),
    ];
    let outcome = evaluate(&text.concat());
    assert_eq!(
        verdict(&outcome, QuantityId::SurfaceDrop),
        Verdict::NeedsRepeats
    );
    assert_eq!(verdict(&outcome, QuantityId::OutletSurface), Verdict::Lower);
}

/// Figures of the air that are made from skins alone rest on both skins.
#[test]
fn an_effectiveness_from_skins_that_cannot_be_measured_earns_none() {
    let head = HEAD.replace("\"0.95 ± 0.01\"", "\"0.10 ± 0.07\"");
    let skins = |outlet| [Some(45.0), Some(outlet)];
    let runs = [
        run("a", skins(30.0), TAPS),
        run("a", skins(30.1), TAPS),
        run("b", skins(26.0), TAPS),
        run("b", skins(26.1), TAPS),
    ];
    let outcome = evaluate(&format!("{head}{}", runs.concat()));
    for id in [
        QuantityId::SurfaceEffectiveness,
        QuantityId::Effectiveness,
        QuantityId::OutletNormalised,
    ] {
        assert_eq!(verdict(&outcome, id), Verdict::NotComparable, "{}", id.id());
    }
}

#[test]
fn single_runs_need_repeats_unless_their_scatter_is_stated() {
    let runs = [
        run("a", [Some(53.0), Some(31.0)], TAPS),
        run("b", [Some(54.0), Some(25.0)], [23.4, 22.7]),
    ]
    .concat();
    let bare = evaluate(&format!("{HEAD}{runs}"));
    for row in &bare.results.comparison {
        assert_eq!(
            row.verdict,
            Some(Verdict::NeedsRepeats),
            "{}",
            row.quantity.id()
        );
    }
    let stated = evaluate(&format!(
        "[repeatability]\ntemperature = \"0.5 K\"\npressure = \"0.3 kPa\"\n{HEAD}{runs}"
    ));
    assert_eq!(
        verdict(&stated, QuantityId::OutletSurfaceNormalised),
        Verdict::Lower
    );
    assert_eq!(verdict(&stated, QuantityId::InletPressure), Verdict::Higher);
}

/// A contact probe beside readings of two bands: each band's signal is compared with its own.
#[test]
fn instruments_of_different_bands_share_one_contact() {
    let text = r#"
[conditions]
ambient = "18 °C"
reflected = "20 °C"
[instrument.long]
emissivity = 1
[instrument.short]
emissivity = 1
band = "3 to 5 µm"
[surface.bare]
emissivity = "from contact"
[cooler.a]
inlet = "bare"
outlet = "bare"
[[run]]
cooler = "a"
[[run.contact]]
tank = "inlet"
temperature = "70 °C ± 1"
[[run.pistol]]
tank = "inlet"
instrument = "long"
reading = "50 °C"
[[run.pistol]]
tank = "inlet"
instrument = "short"
reading = "53 °C"
"#;
    let outcome = evaluate(text);
    let emissivity = outcome.results.readings[0].emissivity.unwrap().value;
    assert!((0.3..0.8).contains(&emissivity), "{emissivity}");
}

#[test]
fn the_same_picture_in_two_runs_is_no_repeat() {
    let folder = tempfile::tempdir().unwrap();
    let picture = "53.1,53.2,53.0,53.1\n53.0,53.1,53.2,53.1\n53.1,53.0,53.1,53.2\n";
    std::fs::write(folder.path().join("one.csv"), picture).unwrap();
    let snapshot = "[[run.snapshot]]\nfile = \"one.csv\"\nregions = [{ tank = \"inlet\", rectangle = [0, 0, 4, 3] }]\n";
    let instrument = "[instrument.camera]\nemissivity = 1\npixels = { unit = \"°C\" }\n";
    let head = HEAD.replace(
        "[instrument.pistol]\nemissivity = 1\naccuracy = \"1 °C\"\ndrift = \"0.2 K\"\n",
        instrument,
    );
    let runs = ["a", "a", "b"].map(|cooler| format!("[[run]]\ncooler = \"{cooler}\"\n{snapshot}"));
    let path = folder.path().join("session.toml");
    std::fs::write(&path, format!("{head}{}", runs.concat())).unwrap();
    let session = endtank::session::read(&path).unwrap_or_else(|error| panic!("{error}"));
    let outcome = endtank::pipeline::evaluate(
        &session,
        Settings {
            draws: 2_000,
            seed: 1,
            what_ifs: false,
        },
        &|| {},
    )
    .unwrap();
    let repeated = outcome
        .results
        .cautions
        .iter()
        .filter(|caution| caution.message.contains("the very picture"));
    assert_eq!(repeated.count(), 2);
}

#[test]
fn a_primary_that_cannot_be_worked_out_is_refused() {
    let runs = run("a", [Some(53.0), Some(31.0)], TAPS) + &run("b", [Some(54.0), Some(25.0)], TAPS);
    let text = format!("primary = \"heat_rejected\"\n{HEAD}{runs}");
    let session = endtank::session::from_text(Path::new("session.toml"), &text)
        .unwrap_or_else(|error| panic!("{error}"));
    let error = endtank::pipeline::evaluate(
        &session,
        Settings {
            draws: 2_000,
            seed: 1,
            what_ifs: false,
        },
        &|| {},
    )
    .unwrap_err();
    assert!(
        error.to_string().contains("outlet_surface_normalised"),
        "{error}"
    );
}

/// An emissivity from a contact probe of which nothing is stated, of which limits are, and of which an instrument is.
#[test]
fn a_contact_probe_is_no_sharper_than_what_is_known_of_it() {
    let evaluated = |instrument: &str, temperature: &str| {
        evaluate(&format!(
            "[conditions]\nambient = \"18 °C ± 0.1\"\nreflected = \"20 °C ± 0.1\"\n\
             [instrument.pistol]\nemissivity = 1\naccuracy = \"0.1 °C\"\ndrift = \"0.01 K\"\n{instrument}\
             [surface.bare]\nemissivity = \"from contact\"\n[cooler.a]\ninlet = \"bare\"\noutlet = \"bare\"\n\
             [[run]]\ncooler = \"a\"\n[[run.contact]]\ntank = \"inlet\"\ntemperature = \"{temperature}\"\n\
             [[run.pistol]]\ntank = \"inlet\"\nreading = \"50.00 °C\"\n"
        ))
    };
    // In its own run the tank reads what the probe read, so its interval is the probe's: 95 % of an even law.
    let half = |outcome: &Outcome| {
        let q = outcome.results.coolers[0].quantities[&QuantityId::InletSurface];
        0.5 * (q.high.unwrap() - q.low.unwrap())
    };
    let assumed = |outcome: &Outcome| {
        let mut cautions = outcome.results.cautions.iter();
        cautions.any(|caution| {
            caution.id == CautionId::AccuracyAssumed && caution.message.contains("2.5 K")
        })
    };
    let probe = "[instrument.probe]\nmeasures = [\"contact\"]\naccuracy = \"1 °C\"\n";
    for (instrument, temperature, wanted, told) in [
        ("", "70.0 °C", 2.5, true),
        ("", "70.0 °C ± 1", 1.0, false),
        (probe, "70.0 °C", 1.0, false),
    ] {
        let outcome = evaluated(instrument, temperature);
        let half = half(&outcome);
        assert!(
            (half / (0.95 * wanted) - 1.0).abs() < 0.05,
            "{temperature}: {half}"
        );
        assert_eq!(assumed(&outcome), told, "{temperature}");
    }
}
