//! A made-up outcome for tests: two coolers, awkward words, absent values. The figures are invented.

use std::collections::BTreeMap;
use std::path::Path;

use crate::caution::{Caution, CautionId};
use crate::correct::EmissivityOrigin;
use crate::measure::Shown;
use crate::outcome::{
    Budget, BudgetAdvice, Comparison, CoolerResult, InputFile, Outcome, Picture, Q, Reading,
    Results, RunConditions, SCATTER, Share, Verdict,
};
use crate::quantity::{QuantityId, Unit};

/// Fails unless the file in the repository is `generated`. With `ENDTANK_REGENERATE=1` it is written first, and the
/// test still fails that once, so that regenerating never passes for testing.
pub fn committed(name: &str, generated: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    let found = std::fs::read_to_string(&path).unwrap_or_default();
    if std::env::var_os("ENDTANK_REGENERATE").is_some() && found != generated {
        std::fs::write(&path, generated).unwrap();
        panic!("{name} has been regenerated: look at the change, then test again");
    }
    assert!(
        found == generated,
        "{name} differs from what the code generates; set ENDTANK_REGENERATE=1 to write it anew"
    );
}

fn q(value: f64, unit: Unit, doubt: Option<f64>) -> Q {
    Q {
        value,
        unit,
        low: doubt.map(|u| value - 1.96 * u),
        high: doubt.map(|u| value + 1.96 * u),
        standard_uncertainty: doubt,
    }
}

fn reading(cooler: &str, source: &str, tank: &str, shown: f64, surface: Q) -> Reading {
    let pistol = source == "pistol";
    Reading {
        cooler: cooler.to_owned(),
        run: "hold 1".to_owned(),
        source: source.to_owned(),
        region: tank.to_owned(),
        role: "tank".to_owned(),
        tank: Some(tank.to_owned()),
        surface: Some("=moulded <b>&\"".to_owned()),
        emissivity: Some(q(0.94, Unit::One, None)),
        emissivity_origin: Some(EmissivityOrigin::Stated {
            written: "0.94 ± 0.02".to_owned(),
        }),
        reflected: Some(q(19.0, Unit::Celsius, None)),
        pixels: (!pistol).then_some(4500),
        invalid_pixels: (!pistol).then_some(0),
        shown: Shown {
            mean: shown,
            min: shown - 2.0,
            max: shown + 2.5,
            median: shown + 0.1,
            std: 0.7,
            p05: shown - 1.1,
            p95: shown + 1.2,
        },
        apparent: shown - 0.05,
        surface_temperature: Some(surface),
        charge_air: None,
        cautions: vec![],
    }
}

fn readings(doubt: Option<f64>) -> Vec<Reading> {
    let skin = |value| q(value, Unit::Celsius, doubt);
    let mut foil = reading("original", "original-1.tiff", "foil", 19.3, skin(0.0));
    foil.role = "reflector".to_owned();
    foil.tank = None;
    foil.surface = None;
    foil.emissivity = None;
    foil.emissivity_origin = None;
    foil.reflected = None;
    foil.surface_temperature = None;
    let mut bare = reading("welded", "pistol", "outlet", 29.4, skin(30.7));
    bare.cautions = vec![CautionId::LowEmissivity, CautionId::FewRuns];
    bare.emissivity_origin = Some(EmissivityOrigin::Preset {
        name: "aluminium-cast".to_owned(),
        written: "0.94 ± 0.02".to_owned(),
        sources: vec!["A. Writer, Radiation & <walls> (1984); read".to_owned()],
    });
    vec![
        reading(
            "original",
            "original-1.tiff",
            "inlet",
            71.333_333_333_333_33,
            skin(71.9),
        ),
        reading("original", "original-1.tiff", "outlet", 36.8, skin(37.1)),
        foil,
        reading("welded", "-welded-ü.png", "inlet", 70.2, skin(70.85)),
        bare,
    ]
}

type Row = (QuantityId, f64, f64, f64, Verdict);

/// Quantity, baseline, candidate, standard uncertainty, verdict.
const ROWS: [Row; 7] = [
    (
        QuantityId::InletSurface,
        71.9,
        70.85,
        1.1,
        Verdict::NotComparable,
    ),
    (
        QuantityId::OutletSurface,
        37.1,
        30.7,
        0.9,
        Verdict::NotComparable,
    ),
    (
        QuantityId::SurfaceEffectiveness,
        0.6456,
        0.7597,
        0.021,
        Verdict::Higher,
    ),
    (
        QuantityId::OutletSurfaceNormalised,
        37.1,
        31.0,
        0.95,
        Verdict::Lower,
    ),
    (
        QuantityId::InletPressure,
        248.0,
        247.2,
        1.3,
        Verdict::NotDistinguishable,
    ),
    (
        QuantityId::PressureDrop,
        9.004,
        6.5,
        0.21,
        Verdict::NeedsRepeats,
    ),
    (
        QuantityId::LossCoefficient,
        1_254_321.0,
        912_000.0,
        31_000.0,
        Verdict::Equal,
    ),
];

fn cooler(key: &str, label: &str, intervals: bool, pick: fn(&Row) -> f64) -> CoolerResult {
    let quantities: BTreeMap<_, _> = ROWS
        .iter()
        .map(|row| {
            (
                row.0,
                q(pick(row), row.0.unit(), intervals.then_some(row.3)),
            )
        })
        .collect();
    CoolerResult {
        cooler: key.to_owned(),
        label: label.to_owned(),
        runs: 1,
        quantities,
        cautions: vec![CautionId::FewRuns],
    }
}

fn comparison(intervals: bool) -> Vec<Comparison> {
    ROWS.iter()
        .map(|&(quantity, baseline, candidate, u, verdict)| {
            let doubt = intervals.then_some(u);
            let unit = quantity.unit();
            let difference = q(
                candidate - baseline,
                unit.of_difference(),
                doubt.map(|u| 1.4 * u),
            );
            Comparison {
                quantity,
                candidate: "welded".to_owned(),
                baseline_value: q(baseline, unit, doubt),
                candidate_value: q(candidate, unit, doubt),
                difference,
                verdict: intervals.then_some(verdict),
                flip: None,
            }
        })
        .collect()
}

fn cautions() -> Vec<Caution> {
    let mut list = vec![
        Caution::new(
            CautionId::LowEmissivity,
            "welded, hold 1, pistol, outlet",
            "The emissivity of \"bare <alloy>\" is 0.2 ± 0.05: four fifths of what the instrument sees is the workshop.",
        ),
        Caution::new(
            CautionId::UnequalConditions,
            "welded against original",
            "The ambient differs by 4.2 K & the engine speed by 3 %.",
        ),
    ];
    for place in [
        "ambient",
        "reflected",
        "inlet-pressure",
        "outlet-pressure",
        "barometer",
    ] {
        list.push(Caution::new(
            CautionId::LimitsAssumed,
            format!("conditions.{place}"),
            format!("`{place}` was written without limits."),
        ));
    }
    for cooler in ["original", "welded"] {
        list.push(Caution::new(
            CautionId::FewRuns,
            cooler,
            "There is one run.",
        ));
    }
    list
}

fn conditions() -> Vec<RunConditions> {
    let note = |label: &str, value: &str| (label.to_owned(), value.to_owned());
    vec![
        RunConditions {
            cooler: "original".to_owned(),
            run: "hold 1".to_owned(),
            cooling_air: Some(18.0),
            notes: vec![
                note("Ambient", "18 °C ± 0.5"),
                note("Engine speed", "2400 rpm"),
                note("Hold", "60 s"),
            ],
        },
        RunConditions {
            cooler: "welded".to_owned(),
            run: "hold 1".to_owned(),
            cooling_air: Some(18.0),
            notes: vec![
                note("Ambient", "22.2 °C"),
                note("Change", "<larger> intake & \"more\""),
            ],
        },
    ]
}

fn picture(file: &str, run: usize, annotated: &str) -> Picture {
    Picture {
        file: file.to_owned(),
        run,
        snapshot: 0,
        annotated: annotated.to_owned(),
        sha256: "ab".repeat(32),
        readings: vec![0, 1],
    }
}

/// The outcome, with or without intervals and verdicts.
pub fn outcome(intervals: bool) -> Outcome {
    let input = |file: &str| InputFile {
        file: file.to_owned(),
        sha256: "0123456789abcdef".repeat(4),
    };
    Outcome {
        results: Results {
            schema: 1,
            endtank: "0.0.0".to_owned(),
            title: Some("Charge-air coolers <A> & \"B\" = über, 3 bar".to_owned()),
            baseline: "original".to_owned(),
            primary: QuantityId::OutletSurfaceNormalised,
            inputs: vec![
                input("session.toml"),
                input("original-1.tiff"),
                input("-welded-ü.png"),
            ],
            seed: 1,
            draws: if intervals { 100_000 } else { 0 },
            readings: readings(intervals.then_some(1.2)),
            coolers: vec![
                cooler("original", "Original, moulded tanks", intervals, |row| {
                    row.1
                }),
                cooler("welded", "Welded replacement", intervals, |row| row.2),
            ],
            comparison: comparison(intervals),
            budget: budget(intervals),
            cautions: cautions(),
            settling: Vec::new(),
            pulls: Vec::new(),
        },
        grounds: Vec::new(),
        conditions: conditions(),
        pictures: vec![
            picture("original-1.tiff", 0, "original-1.png"),
            picture("-welded-ü.png", 1, "-welded-ü.png"),
        ],
        between_runs: std::collections::BTreeMap::new(),
    }
}

/// Where the doubt of the candidate's outlet comes from.
fn budget(intervals: bool) -> Vec<Budget> {
    let share = |(input, share): (&str, f64)| Share {
        input: input.to_owned(),
        share,
    };
    let entry = |quantity, shares: &[(&str, f64)], advice| Budget {
        cooler: None,
        candidate: Some("welded".to_owned()),
        quantity,
        shares: shares.iter().copied().map(share).collect(),
        advice,
    };
    let advice = BudgetAdvice {
        inputs: vec!["surface.bare <i>.emissivity (welded)".to_owned()],
        share: 0.71,
        known_exactly: q(-6.1, Unit::Kelvin, Some(0.8)),
        action: Some("matt tape on the tanks that mirror, read on the tape".to_owned()),
        with_action: Some(q(-6.1, Unit::Kelvin, Some(0.9))),
    };
    let primary = [
        ("surface.bare <i>.emissivity (welded)", 0.71),
        (SCATTER, 0.12),
        ("instrument.camera.accuracy at 20 °C", 0.05),
        ("instrument.camera.accuracy at 120 °C", 0.04),
        ("conditions.ambient", 0.01),
    ];
    let budget = vec![
        entry(QuantityId::OutletSurfaceNormalised, &primary, Some(advice)),
        entry(
            QuantityId::PressureDrop,
            &[
                ("run.hold 1.inlet-pressure", 0.5),
                ("run.hold 2.inlet-pressure", 0.5),
            ],
            None,
        ),
    ];
    if intervals { budget } else { Vec::new() }
}

/// One cooler, nothing to compare, no cautions, no title.
pub fn alone() -> Outcome {
    let mut outcome = outcome(false);
    let results = &mut outcome.results;
    results.title = None;
    results.coolers.truncate(1);
    results
        .readings
        .retain(|reading| reading.cooler == "original");
    results.comparison.clear();
    results.budget.clear();
    results.cautions.clear();
    outcome.conditions.truncate(1);
    outcome.pictures.truncate(1);
    outcome
}

/// A PNG of one pixel size per name, as the pictures of a results folder.
pub fn pictures() -> Vec<(String, Vec<u8>)> {
    [
        "side-by-side.png",
        "annotated/original-1.png",
        "annotated/-welded-ü.png",
    ]
    .into_iter()
    .map(|name| {
        let picture =
            image::RgbImage::from_fn(320, 240, |x, y| image::Rgb([(x / 2) as u8, y as u8, 90]));
        let mut bytes = std::io::Cursor::new(Vec::new());
        picture
            .write_to(&mut bytes, image::ImageFormat::Png)
            .unwrap();
        (name.to_owned(), bytes.into_inner())
    })
    .collect()
}
