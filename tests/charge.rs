//! The charge air from end to end: all quantities against an independent evaluation (tests/reference/charge_air.py), and
//! what is said where the charge air cannot be known or cannot be true.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::collections::BTreeMap;
use std::path::Path;

use endtank::caution::{Caution, CautionId};
use endtank::outcome::{Outcome, Verdict};
use endtank::quantity::QuantityId;
use endtank::uncertainty::Settings;

const SETTINGS: Settings = Settings {
    draws: 4000,
    seed: 3,
    what_ifs: false,
};

fn evaluate(text: &str) -> Outcome {
    let session = endtank::session::from_text(Path::new("session.toml"), text)
        .unwrap_or_else(|problems| panic!("{problems}"));
    endtank::pipeline::evaluate(&session, SETTINGS, &|| {})
        .unwrap_or_else(|problems| panic!("{problems}"))
}

/// Every quantity of every cooler, with nothing on either side alone; how far the furthest is off, as a share.
fn agrees(name: &str) -> f64 {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/charge")
        .join(name);
    let outcome = evaluate(&std::fs::read_to_string(folder.join("session.toml")).unwrap());
    let expected = std::fs::read_to_string(folder.join("expected.json")).unwrap();
    let expected: BTreeMap<String, BTreeMap<String, f64>> =
        serde_json::from_str(&expected).unwrap();
    assert_eq!(outcome.results.coolers.len(), expected.len());
    let mut furthest: f64 = 0.0;
    for cooler in &outcome.results.coolers {
        let wanted = &expected[&cooler.cooler];
        let ours: Vec<&str> = cooler.quantities.keys().map(|id| id.id()).collect();
        let mut theirs: Vec<&str> = wanted.keys().map(String::as_str).collect();
        theirs.sort_by_key(|id| QuantityId::from_id(id));
        assert_eq!(ours, theirs, "{}", cooler.cooler);
        for (id, q) in &cooler.quantities {
            let wanted = wanted[id.id()];
            let off = (q.value - wanted).abs() / wanted.abs().max(1e-3);
            assert!(
                off < 0.004,
                "{} {}: {} not {wanted}",
                cooler.cooler,
                id.id(),
                q.value
            );
            furthest = furthest.max(off);
        }
    }
    furthest
}

#[test]
fn walls_films_flows_and_a_series() {
    assert!(agrees("air") < 5e-4);
}

#[test]
fn probes_calibration_and_short_holds() {
    assert!(agrees("probes") < 5e-4);
}

/// Two coolers of one wall; each run's own lines are filled in.
fn session(conditions: &str, surface: &str, runs: &str) -> String {
    format!(
        r#"
[conditions]
ambient = "18 °C ± 0.5"
reflected = "19 °C ± 1"
barometer = "1010 hPa ± 2"
{conditions}

[instrument.pistol]
emissivity = 1
accuracy = "0.5 °C"
drift = "0.1 K"

[surface.skin]
emissivity = "0.94 ± 0.01"
{surface}

[cooler.a]
inlet = "skin"
outlet = "skin"
inner-film = "80 W/(m2 K)"

[cooler.b]
inlet = "skin"
outlet = "skin"
inner-film = "80 W/(m2 K)"
{runs}
"#
    )
}

const FILM: &str = "outer-film = \"25 W/(m2 K)\"";
const PLASTIC: &str = "wall = \"3 mm\"\nconductivity = \"0.30 W/(m K)\"\ndensity = \"1370 kg/m3\"\nspecific-heat = \"1500 J/(kg K)\"";

fn run(cooler: &str, keys: &str, inlet: f64, outlet: f64) -> String {
    format!(
        "\n[[run]]\ncooler = \"{cooler}\"\n{keys}\n[[run.pistol]]\ntank = \"inlet\"\nreading = \"{inlet:.2} °C\"\n\
         [[run.pistol]]\ntank = \"outlet\"\nreading = \"{outlet:.2} °C\"\n"
    )
}

/// Two runs of each cooler with the same keys.
fn four(keys: &str) -> String {
    [
        ("a", 62.0, 33.0),
        ("a", 62.4, 33.3),
        ("b", 62.0, 30.0),
        ("b", 62.3, 30.2),
    ]
    .map(|(cooler, inlet, outlet)| run(cooler, keys, inlet, outlet))
    .concat()
}

fn cautions(outcome: &Outcome, id: CautionId) -> Vec<&Caution> {
    outcome
        .results
        .cautions
        .iter()
        .filter(|caution| caution.id == id)
        .collect()
}

fn verdict(outcome: &Outcome, id: QuantityId) -> Option<Verdict> {
    let mut rows = outcome.results.comparison.iter();
    rows.find(|row| row.quantity == id)?.verdict
}

const START: &str = "start-skin = { inlet = \"30 °C ± 1\", outlet = \"24 °C ± 1\" }";

#[test]
fn a_single_early_picture_of_plastic_is_never_passed_off_as_steady() {
    // At 40 s 39 % of the way, at 60 s 55 %.
    let early = evaluate(&session(
        FILM,
        PLASTIC,
        &four(&format!("hold = \"40 s ± 1\"\n{START}")),
    ));
    let said = cautions(&early, CautionId::UnsteadySkin);
    assert_eq!(said.len(), 8, "{said:#?}");
    assert!(
        said[0].message.contains("39 % of its way") && said[0].message.contains("is above"),
        "{said:#?}"
    );
    let mut readings = early.results.readings.iter();
    assert!(readings.all(|reading| reading.charge_air.is_none()));
    assert_eq!(early.results.primary, QuantityId::OutletSurfaceNormalised);
    for id in [
        QuantityId::OutletSurface,
        QuantityId::OutletSurfaceNormalised,
    ] {
        assert_eq!(verdict(&early, id), Some(Verdict::NotComparable));
    }
    assert_eq!(verdict(&early, QuantityId::OutletCharge), None);

    let later = evaluate(&session(
        FILM,
        PLASTIC,
        &four(&format!("hold = \"60 s ± 1\"\n{START}")),
    ));
    let said = cautions(&later, CautionId::UnsteadySkin);
    assert_eq!(said.len(), 8);
    assert!(
        said[0].message.contains("55 % of its way") && said[0].message.contains("198 s"),
        "{said:#?}"
    );
    assert_eq!(later.results.primary, QuantityId::OutletNormalised);
    // Carried to where it was going: 30 + (62.2 − 30)/0.55, against the skin as read.
    let settled = evaluate(&session(FILM, PLASTIC, &four("hold = \"1200 s ± 1\"")));
    assert!(cautions(&settled, CautionId::UnsteadySkin).is_empty());
    let charge =
        |outcome: &Outcome| outcome.results.coolers[0].quantities[&QuantityId::InletCharge];
    assert!(charge(&later).value > charge(&settled).value + 30.0);
    assert!(later.results.coolers[0].quantities[&QuantityId::InletSurface].value < 66.0);

    // Without the skin before the load nothing is corrected, but the interval reaches to where it may have been going.
    let unstated = evaluate(&session(FILM, PLASTIC, &four("hold = \"60 s ± 1\"")));
    assert!((charge(&unstated).value - charge(&settled).value).abs() < 1e-3);
    assert!(charge(&unstated).high.unwrap() > charge(&settled).high.unwrap() + 30.0);
    let said = cautions(&unstated, CautionId::UnsteadySkin);
    assert!(
        said[0].message.contains("`start-skin` is not stated"),
        "{said:#?}"
    );
}

#[test]
fn without_a_wall_a_short_hold_is_spoken_of() {
    let outcome = evaluate(&session("", "", &four("hold = \"60 s\"")));
    let said = cautions(&outcome, CautionId::UnsteadySkin);
    assert_eq!(said.len(), 8);
    assert!(said[0].message.contains("`wall`"), "{said:#?}");
    assert!(told(&outcome, "missing: `wall`"), "{:#?}", outcome.grounds);
    assert!(outcome.grounds[0].contains("skins"));
}

#[test]
fn without_a_hold_charge_air_is_inferred_and_said_so() {
    let outcome = evaluate(&session(FILM, PLASTIC, &four("")));
    assert_eq!(cautions(&outcome, CautionId::HoldUnknown).len(), 8);
    // By hand from the skin: q = 25 (T_s − 291.15) + 0.94 σ (T_s⁴ − 292.15⁴), 0.0225 m² K/W of wall and film.
    let behind = |celsius: f64| {
        let skin = celsius + 273.15;
        let radiation = 0.94 * 5.670_374_419e-8 * (skin.powi(4) - 292.15_f64.powi(4));
        celsius + 0.0225 * (25.0 * (skin - 291.15) + radiation)
    };
    for reading in &outcome.results.readings {
        let wanted = behind(reading.surface_temperature.unwrap().value);
        assert!(
            (reading.charge_air.unwrap().value - wanted).abs() < 1e-6,
            "{reading:?}"
        );
    }
    let of = |id| outcome.results.coolers[0].quantities[&id].value;
    assert!((of(QuantityId::InletCharge) - behind(of(QuantityId::InletSurface))).abs() < 1e-3);
    assert_eq!(
        verdict(&outcome, QuantityId::OutletNormalised),
        Some(Verdict::Lower)
    );
}

#[test]
fn thermodynamics_bounds_the_readings() {
    // Pressure ratio 2.45: at most 221 °C from 33 °C at η 0.55, at least 93.1 − 10 °C.
    let keys = |more: &str| {
        format!("inlet-pressure = \"146.5 kPa\"\noutlet-pressure = \"140 kPa\"\n{more}")
    };
    let hot =
        [("a", 260.0), ("b", 90.0)].map(|(cooler, inlet)| run(cooler, &keys(""), inlet, 40.0));
    let hot = evaluate(&session(FILM, PLASTIC, &hot.concat()));
    let said = cautions(&hot, CautionId::HotterThanCharge);
    assert_eq!(said.len(), 1);
    assert!(said[0].message.contains("0.55 efficiency"));
    let cold =
        [("a", 45.0), ("b", 120.0)].map(|(cooler, inlet)| run(cooler, &keys(""), inlet, 30.0));
    let cold = evaluate(&session(FILM, PLASTIC, &cold.concat()));
    let said = cautions(&cold, CautionId::ColderThanCompressed);
    assert_eq!(said.len(), 1, "{said:#?}");
    let metal = PLASTIC.replace("0.30 W", "150 W");
    let metal = session(
        FILM,
        &metal,
        &[
            run("a", &keys(""), 34.0, 26.0),
            run("b", &keys(""), 34.0, 26.0),
        ]
        .concat(),
    );
    let metal = evaluate(&metal.replace("0.94 ± 0.01", "0.20 ± 0.02"));
    let said = cautions(&metal, CautionId::LowEmissivity);
    assert!(
        said[0]
            .message
            .contains("possible only for an emissivity between 0.0"),
        "{said:#?}"
    );
    assert!(said[1].message.contains("of at least"), "{said:#?}");
}

#[test]
fn what_cannot_be_is_said_and_earns_no_verdict() {
    let probes = |inlet: &str, outlet: &str| {
        format!("inlet-air = \"{inlet} °C ± 1\"\noutlet-air = \"{outlet} °C ± 1\"")
    };
    let swapped: String = [
        ("a", "40", "110"),
        ("a", "40", "111"),
        ("b", "110", "40"),
        ("b", "111", "41"),
    ]
    .map(|(cooler, inlet, outlet)| run(cooler, &probes(inlet, outlet), 62.0, 33.0))
    .concat();
    let swapped = evaluate(&session("", "", &swapped));
    assert_eq!(cautions(&swapped, CautionId::OutletHotter).len(), 2);
    for id in [
        QuantityId::ChargeDrop,
        QuantityId::Effectiveness,
        QuantityId::OutletNormalised,
        QuantityId::Ntu,
    ] {
        assert!(
            matches!(verdict(&swapped, id), None | Some(Verdict::NotComparable)),
            "{id:?}"
        );
    }
    let below: String = [("a", "110", "12"), ("b", "110", "40")]
        .map(|(cooler, inlet, outlet)| run(cooler, &probes(inlet, outlet), 62.0, 33.0))
        .concat();
    let below = evaluate(&session("", "", &below));
    let said = cautions(&below, CautionId::BeyondAmbient);
    assert!(
        said.iter()
            .any(|caution| caution.message.contains("charge air")),
        "{said:#?}"
    );
    let sensor =
        |celsius: &str| format!("outlet-air = \"40 °C ± 1\"\nintake-air = \"{celsius} °C ± 1\"");
    let sensor: String = [("a", "58"), ("b", "41")]
        .map(|(cooler, celsius)| run(cooler, &sensor(celsius), 62.0, 33.0))
        .concat();
    let sensor = evaluate(&session("", "", &sensor));
    let said = cautions(&sensor, CautionId::SensorDisagrees);
    assert_eq!(said.len(), 1, "{said:#?}");
    assert!(said[0].message.contains("18.0 K above"));
}

#[test]
fn a_series_that_does_not_bend_is_only_a_bound() {
    let readings: String = [(30, 40.0), (45, 46.0), (60, 52.0), (75, 58.0)]
        .map(|(at, inlet)| {
            format!(
                "[[run.pistol]]\ntank = \"inlet\"\nreading = \"{inlet:.1} °C\"\nat = \"{at} s\"\n"
            )
        })
        .concat();
    let one = format!("\n[[run]]\ncooler = \"a\"\n{readings}\n[[run]]\ncooler = \"b\"\n{readings}");
    let outcome = evaluate(&session(FILM, PLASTIC, &one));
    let said = cautions(&outcome, CautionId::UnsteadySkin);
    assert_eq!(said.len(), 2);
    assert!(said[0].message.contains("bend too little"));
    assert!(
        !outcome.results.coolers[0]
            .quantities
            .contains_key(&QuantityId::InletCharge)
    );
    assert!(outcome.results.settling[0].steady.is_none());
}

/// Of two readings that contradict each other nobody knows which is wrong, so nothing that follows from either counts.
#[test]
fn what_cannot_be_true_takes_all_that_follows_from_it_along() {
    let run = |cooler: &str, air: [f64; 2], taps: [f64; 2]| {
        let keys = format!(
            "inlet-air = \"{} °C ± 1\"\noutlet-air = \"{} °C ± 1\"\nair-flow = \"120 g/s\"\ninlet-pressure = \"{} kPa\"\n\
             outlet-pressure = \"{} kPa\"",
            air[0], air[1], taps[0], taps[1]
        );
        run(cooler, &keys, 62.0, 33.0)
    };
    let barred = |air: [f64; 2], taps: [f64; 2]| {
        let sound = ([110.0, 40.0], [148.0, 139.0]);
        let runs = [
            run("a", air, taps),
            run("a", air, taps),
            run("b", sound.0, sound.1),
            run("b", sound.0, sound.1),
        ];
        let outcome = evaluate(&session("", "", &runs.concat()));
        let rows = outcome.results.comparison.iter();
        rows.filter(|row| row.verdict == Some(Verdict::NotComparable))
            .map(|row| row.quantity.id())
            .collect::<Vec<_>>()
            .join(" ")
    };
    assert_eq!(barred([110.0, 40.0], [148.0, 139.0]), "");
    assert_eq!(
        barred([40.0, 110.0], [148.0, 139.0]),
        "inlet_charge outlet_charge charge_drop charge_effectiveness effectiveness outlet_normalised inlet_density outlet_density \
         density_ratio density_gain loss_coefficient heat_rejected"
    );
    assert_eq!(
        barred([110.0, 40.0], [139.0, 148.0]),
        "inlet_pressure outlet_pressure pressure_drop pressure_loss inlet_density outlet_density density_ratio density_gain \
         loss_coefficient"
    );
}

/// Pictures taken one after the other in a hold that had long settled say what one of them says, however little they bend.
#[test]
fn quick_repeats_in_a_settled_hold_are_averaged() {
    let readings = |tank: &str, all: &[(u32, f64)]| {
        let one = |&(at, skin): &(u32, f64)| {
            format!(
                "[[run.pistol]]\ntank = \"{tank}\"\nreading = \"{skin:.1} °C\"\nat = \"{at} s\"\n"
            )
        };
        all.iter().map(one).collect::<String>()
    };
    let runs = |inlet: &[(u32, f64)], outlet: &[(u32, f64)]| {
        ["a", "a", "b", "b"]
            .map(|cooler| {
                let both = readings("inlet", inlet) + &readings("outlet", outlet);
                format!("\n[[run]]\ncooler = \"{cooler}\"\n{both}")
            })
            .concat()
    };
    let three = |middle: f64| {
        [
            (900, middle + 0.5),
            (904, middle - 0.4),
            (908, middle - 0.1),
        ]
    };
    let thrice = runs(&three(70.0), &three(40.0));
    let once = runs(&[(900, 70.0)], &[(900, 40.0)]);
    let of = |keys: &str, runs: &str| evaluate(&session(keys, PLASTIC, runs));
    let charge =
        |outcome: &Outcome| outcome.results.coolers[0].quantities[&QuantityId::OutletCharge].value;
    let (thrice, once) = (of(FILM, &thrice), of(FILM, &once));
    assert!(
        (charge(&thrice) - charge(&once)).abs() < 0.02,
        "{} {}",
        charge(&thrice),
        charge(&once)
    );
    assert!(cautions(&thrice, CautionId::UnsteadySkin).is_empty());
    assert!(thrice.results.settling.is_empty());
    // Nor do they bar a comparison of skins alone.
    let bare = evaluate(&session("", "", &runs(&three(70.0), &three(40.0))));
    for row in &bare.results.comparison {
        assert_ne!(
            row.verdict,
            Some(Verdict::NotComparable),
            "{:?}",
            row.quantity
        );
    }
}

/// Nothing is stated of the wall, but after ten seconds not even a quick one has come half its way.
#[test]
fn a_skin_read_far_too_early_earns_no_verdict_whatever_is_left_unsaid() {
    let verdicts = |hold: &str| {
        let outcome = evaluate(&session("", "", &four(&format!("hold = \"{hold}\""))));
        let rows = &outcome.results.comparison;
        let barred = rows
            .iter()
            .filter(|row| row.verdict == Some(Verdict::NotComparable));
        (
            barred.count(),
            rows.len(),
            cautions(&outcome, CautionId::UnsteadySkin).len(),
        )
    };
    let (barred, all, cautioned) = verdicts("10 s");
    assert_eq!((barred, cautioned), (all, 8));
    assert_eq!(verdicts("60 s"), (0, all, 8));
    assert_eq!(verdicts("240 s"), (0, all, 0));
}

/// Of an early and a late reading of one hold only the early one is a bound.
#[test]
fn a_late_reading_stands_beside_one_taken_too_early() {
    let readings = |all: &[(u32, f64)]| {
        let one = |&(at, skin): &(u32, f64)| {
            ["inlet", "outlet"]
                .map(|tank| {
                    let skin = if tank == "inlet" { skin } else { 0.5 * skin };
                    format!("[[run.pistol]]\ntank = \"{tank}\"\nreading = \"{skin:.1} °C\"\nat = \"{at} s\"\n")
                })
                .concat()
        };
        all.iter().map(one).collect::<String>()
    };
    let barred = |all: &[(u32, f64)]| {
        let runs = ["a", "a", "b", "b"]
            .map(|cooler| format!("\n[[run]]\ncooler = \"{cooler}\"\n{}", readings(all)))
            .concat();
        let outcome = evaluate(&session("", "", &runs));
        let rows = outcome.results.comparison.iter();
        rows.filter(|row| row.verdict == Some(Verdict::NotComparable))
            .count()
    };
    assert!(barred(&[(5, 50.0)]) > 0);
    assert_eq!(barred(&[(5, 50.0), (600, 70.0)]), 0);
}

/// With one degree of freedom Student's t has no variance; the standard uncertainty is nevertheless one that more draws confirm.
#[test]
fn the_standard_uncertainty_of_a_short_series_does_not_hang_on_the_draws() {
    let readings: String = [(60, 50.0), (120, 61.2), (180, 65.1), (240, 67.9)]
        .map(|(at, skin)| {
            format!(
                "[[run.pistol]]\ntank = \"inlet\"\nreading = \"{skin:.1} °C\"\nat = \"{at} s\"\n"
            )
        })
        .concat();
    let runs = ["a", "b"].map(|cooler| format!("\n[[run]]\ncooler = \"{cooler}\"\n{readings}"));
    let text = session("", "", &runs.concat());
    let of = |draws| {
        let session = endtank::session::from_text(Path::new("session.toml"), &text)
            .unwrap_or_else(|problems| panic!("{problems}"));
        let settings = Settings { draws, ..SETTINGS };
        let outcome = endtank::pipeline::evaluate(&session, settings, &|| {}).unwrap();
        outcome.results.settling[0].steady.unwrap()
    };
    let (few, many) = (of(20_000), of(100_000));
    let [few_u, many_u] = [few, many].map(|q| q.standard_uncertainty.unwrap());
    assert!(many.reach().unwrap() > 1.0, "{many:?}");
    assert!((few_u / many_u - 1.0).abs() < 0.1, "{few:?} {many:?}");
}

/// Air of probes at 110 and 40 °C, 148 and 139 kPa above 1010 hPa, 120 g/s: ½ ρ v² with ρ = p/(R T).
#[test]
fn pipes_of_different_width_are_told_of_where_the_pressure_is_tapped() {
    let keys = "inlet-air = \"110 °C ± 1\"\noutlet-air = \"40 °C ± 1\"\nair-flow = \"120 g/s\"\n\
                inlet-pressure = \"148 kPa\"\noutlet-pressure = \"139 kPa\"";
    let runs = ["a", "b"]
        .map(|cooler| run(cooler, keys, 62.0, 33.0))
        .concat();
    let text = session("", "", &runs).replace(
        "[cooler.a]",
        "[cooler.a]\ninlet-pipe = \"2 in\"\noutlet-pipe = \"2.5 in\"",
    );
    let grounds = evaluate(&text).grounds;
    let mut grounds = grounds.iter();
    let said = grounds
        .find(|said| said.contains("static pressure"))
        .unwrap();
    let area = |inch: f64| 0.25 * std::f64::consts::PI * (inch * 0.0254_f64).powi(2);
    let density = |gauge: f64, celsius: f64| (gauge + 101_000.0) / (287.05 * (celsius + 273.15));
    let dynamic = |density: f64, inch: f64| {
        let speed = 0.12 / (density * area(inch));
        1e-3 * 0.5 * density * speed * speed
    };
    let before = dynamic(density(148e3, 110.0), 2.0);
    let behind = dynamic(density(139e3, 40.0), 2.5);
    assert!(
        said.contains(&format!(
            "{before:.2} kPa at the inlet (2 in) and {behind:.2} kPa at the outlet (2.5 in)"
        )),
        "{said}"
    );
    assert!(
        said.contains(&format!("{:.2} kPa more", before - behind)),
        "{said}"
    );
}

#[test]
fn a_skin_alone_is_not_passed_off_as_settled_either() {
    // Nothing is known of the wall: the skins compare as they are, and that nobody said when they were read is told.
    let outcome = evaluate(&session("", "", &four("")));
    assert_eq!(cautions(&outcome, CautionId::HoldUnknown).len(), 8);
    let settled = evaluate(&session("", "", &four("hold = \"300 s\"")));
    for id in [CautionId::HoldUnknown, CautionId::UnsteadySkin] {
        assert!(cautions(&settled, id).is_empty());
    }
    // Charge air without the wall's density: a short hold is unsteady, a long one is not known to be.
    let no_density = PLASTIC.replace("density = \"1370 kg/m3\"\n", "");
    let of = |hold: &str| evaluate(&session(FILM, &no_density, &four(hold)));
    let short = of("hold = \"60 s\"");
    let said = cautions(&short, CautionId::UnsteadySkin);
    assert_eq!(said.len(), 8);
    assert!(said[0].message.contains("`density`"), "{said:#?}");
    let long = of("hold = \"240 s\"");
    assert!(cautions(&long, CautionId::UnsteadySkin).is_empty());
    assert_eq!(cautions(&long, CautionId::HoldUnknown).len(), 8);
}

#[test]
fn air_that_no_compressor_makes_is_told_of_where_the_skin_is_possible() {
    // The same bounds as above: at most 221 °C. The skin of 150 °C is possible, the air behind it is not.
    let keys = "inlet-pressure = \"146.5 kPa\"\noutlet-pressure = \"140 kPa\"";
    let runs = ["a", "b"]
        .map(|cooler| run(cooler, keys, 150.0, 40.0))
        .concat();
    let said = evaluate(&session(FILM, PLASTIC, &runs));
    let said = cautions(&said, CautionId::HotterThanCharge);
    assert_eq!(said.len(), 2, "{said:#?}");
    assert!(
        said[0].message.contains("charge air in the inlet tank"),
        "{said:#?}"
    );
    // A reading that is too hot even for a skin that mirrors nothing is possible with no emissivity.
    let runs = ["a", "b"]
        .map(|cooler| run(cooler, keys, 260.0, 40.0))
        .concat();
    let hot = evaluate(&session("", "", &runs));
    let said = cautions(&hot, CautionId::HotterThanCharge);
    assert_eq!(said.len(), 2, "{said:#?}");
    assert!(
        said[0]
            .message
            .contains("no emissivity makes that possible"),
        "{said:#?}"
    );
}

/// Whether the grounds say so.
fn told(outcome: &Outcome, words: &str) -> bool {
    outcome.grounds.iter().any(|line| line.contains(words))
}

#[test]
fn what_holds_the_evidence_back_is_told() {
    let probes = "inlet-air = \"110 °C ± 1\"\noutlet-air = \"45 °C ± 1\"";
    let third = "\n[cooler.c]\nlabel = \"Third\"\ninlet = \"skin\"\noutlet = \"skin\"\n";
    let runs = [
        run("a", probes, 62.0, 33.0),
        run("a", "name = \"later\"", 63.0, 33.5),
        run("b", probes, 62.0, 31.0),
        run("c", "", 62.0, 30.0),
    ]
    .concat();
    let three = evaluate(&session("", "", &format!("{third}{runs}")));
    let two = evaluate(&session("", "", &runs.replace("\"c\"", "\"b\"")));
    let one = "\n[[run]]\ncooler = \"a\"\n[[run.pistol]]\ntank = \"inlet\"\nreading = \"62 °C\"\n";
    let one = evaluate(&session("", "", &[one, &run("b", "", 62.0, 30.0)].concat()));
    for (outcome, words, wanted) in [
        (
            &three,
            "better evidence for a and b, but not for Third",
            true,
        ),
        (
            &three,
            "In later the charge air at the inlet of a follows from the skin",
            true,
        ),
        (&three, "Without charge air there are no densities", false),
        (
            &two,
            "rests on the charge air by probes in the air stream",
            true,
        ),
        (&two, "better evidence", false),
        (
            &one,
            "of a there is missing: a reading of its outlet tank",
            true,
        ),
    ] {
        assert_eq!(
            told(outcome, words),
            wanted,
            "{words}: {:#?}",
            outcome.grounds
        );
    }
}

#[test]
fn skins_that_nobody_read_are_not_said_to_differ() {
    let probes = "inlet-air = \"110 °C ± 1\"\noutlet-air = \"45 °C ± 1\"";
    let air: String = ["a", "b"]
        .map(|cooler| format!("\n[[run]]\ncooler = \"{cooler}\"\n{probes}\n"))
        .concat();
    let other = |runs: &str| {
        let text = session(
            "",
            "",
            &format!("\n[surface.other]\nemissivity = 0.9\n{runs}"),
        );
        evaluate(&text.replacen("inlet = \"skin\"", "inlet = \"other\"", 1))
    };
    assert!(cautions(&other(&air), CautionId::SkinsDiffer).is_empty());
    let read = ["a", "b"]
        .map(|cooler| run(cooler, probes, 62.0, 33.0))
        .concat();
    assert_eq!(cautions(&other(&read), CautionId::SkinsDiffer).len(), 1);
}
