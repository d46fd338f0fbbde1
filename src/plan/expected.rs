//! From what is expected of a run to what its instrument would read.

use crate::correct::{Detectors, stored_signal};
use crate::diagnostics::Problem;
use crate::locate::shape::Shape;
use crate::measure::{Measurement, PictureMeasurement, Shown};
use crate::radiometry::Detector;
use crate::radiometry::equation::arriving;
use crate::session::{
    BarLaw, Declared, Emissivity, Expected, Pistol, Region, Role, Run, Session, Snapshot, Tank, Use,
};
use crate::units::temperature::ZERO_CELSIUS;
use crate::units::{Dimension, Law};
use std::sync::Arc;

/// What stands for the file of a picture that is not taken yet.
const NO_FILE: &str = "expected";

/// Middle of the assumed reflected temperature above the ambient, K (docs/limits.md).
const REFLECTED_ABOVE: f64 = 5.0;

/// Half of the last digit that a pistol shows, K: a tenth of a degree (common practice, no source).
const HALF_DIGIT: f64 = 0.05;

/// Pixels of a region that stands for one not drawn yet.
const SIDE: f64 = 10.0;

/// Fills in what the runs that only state what is expected would read; whatever was measured in them is left out.
///
/// `pictures` are the measurements of the other runs. A pistol's reading becomes a pistol reading, a camera's a picture
/// with a region for each tank.
///
/// # Errors
/// Every surface that has no stated emissivity, so that what it would show is not known.
pub(super) fn fill(
    session: &mut Session,
    pictures: &mut Vec<PictureMeasurement>,
    detectors: &Detectors,
) -> Result<(), Vec<Problem>> {
    let mut problems = Vec::new();
    for index in 0..session.runs.len() {
        let Some(expected) = session.runs[index].expected.clone() else {
            continue;
        };
        let readings: Vec<Expects> = Tank::BOTH
            .into_iter()
            .filter_map(|tank| {
                let skin = expected.skin.get(tank).as_ref()?.value;
                match Expects::of(session, index, &expected, (tank, skin), detectors) {
                    Ok(reading) => Some(reading),
                    Err(problem) => {
                        problems.push(problem);
                        None
                    }
                }
            })
            .collect();
        let instrument = session.instruments.get(expected.instrument);
        let thermal = instrument.and_then(|instrument| instrument.thermal());
        let pistol = thermal.is_some_and(|thermal| thermal.distance_ratio.is_some());
        let run = &mut session.runs[index];
        run.snapshots.clear();
        run.pistols.clear();
        if pistol {
            let name = run.name.clone();
            let numbered = readings.into_iter().enumerate();
            run.pistols = numbered
                .map(|(number, reading)| reading.pistol(&name, number + 1, &expected))
                .collect();
        } else if let Some(detector) = readings.first().map(|reading| reading.detector.clone()) {
            run.snapshots.push(snapshot(&readings, &expected));
            pictures.push(picture(index, &readings, detector));
        }
    }
    pictures.sort_by_key(|picture| (picture.run, picture.snapshot));
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

/// One tank as its instrument is expected to read it.
struct Expects {
    tank: Tank,
    detector: Arc<Detector>,
    /// The stored signal.
    signal: f64,
}

impl Expects {
    fn of(
        session: &Session,
        run: usize,
        expected: &Expected,
        (tank, skin): (Tank, f64),
        detectors: &Detectors,
    ) -> Result<Self, Problem> {
        let run = &session.runs[run];
        let surface = expected
            .surface
            .unwrap_or_else(|| session.coolers[run.cooler].surface(tank));
        let surface = &session.surfaces[surface];
        let Emissivity::Stated(emissivity) = &surface.emissivity else {
            return Err(Problem::at(
                surface.span.clone(),
                format!(
                    "what `{}` would show is not known: its emissivity is to be solved from readings",
                    surface.name
                ),
                "for the plan state the emissivity that you expect, for instance emissivity = \"0.2 ± 0.1\"",
            ));
        };
        let instrument = session.instruments.get(expected.instrument);
        let thermal = instrument.and_then(|instrument| instrument.thermal());
        let detector = detectors.bands.get(expected.instrument).cloned().flatten();
        let (Some(thermal), Some(detector)) = (thermal, detector) else {
            return Err(Problem::at(
                expected.span.clone(),
                "its instrument is not a thermal one",
                "name a camera or pistol: instrument = \"…\" inside `expect`",
            ));
        };
        let arrives = arriving(
            detector.signal(skin),
            detector.signal(mirrored(run)),
            emissivity.value,
            detector.signal(run.conditions.ambient.value),
            run.conditions
                .transmittance
                .as_ref()
                .map_or(1.0, |stated| stated.value),
        );
        Ok(Self {
            tank,
            signal: stored_signal(thermal, run, arrives, &detector),
            detector,
        })
    }

    /// The temperature that would be shown, K.
    fn shown(&self) -> f64 {
        self.detector.temperature(self.signal)
    }

    fn pistol(&self, run: &str, number: usize, expected: &Expected) -> Pistol {
        let shown = self.shown();
        Pistol {
            tank: self.tank,
            reading: Declared::unwritten(
                format!("run.{run}.pistol {number}.reading"),
                Dimension::Temperature,
                shown,
                Law::Rectangular {
                    low: shown - HALF_DIGIT,
                    high: shown + HALF_DIGIT,
                },
                expected.span.clone(),
            ),
            distance: None,
            target: None,
            surface: expected.surface,
            reflected: None,
            instrument: expected.instrument,
            at: None,
            span: expected.span.clone(),
        }
    }

    fn region(&self, expected: &Expected) -> Region {
        Region {
            name: self.tank.word().to_owned(),
            role: Role::Tank,
            tank: Some(self.tank),
            shape: Shape::Rectangle([0.0, 0.0, SIDE, SIDE]),
            exclude: Vec::new(),
            surface: expected.surface,
            reflected: None,
            temperature: None,
            statistic: Use::Mean,
            span: expected.span.clone(),
        }
    }
}

/// What the tanks mirror, K: as stated, else the middle of what is assumed.
fn mirrored(run: &Run) -> f64 {
    let stated = run.conditions.reflected.as_ref();
    stated.map_or(run.conditions.ambient.value + REFLECTED_ABOVE, |stated| {
        stated.value
    })
}

fn snapshot(readings: &[Expects], expected: &Expected) -> Snapshot {
    Snapshot {
        file: NO_FILE.to_owned(),
        path: NO_FILE.into(),
        regions: readings
            .iter()
            .map(|reading| reading.region(expected))
            .collect(),
        instrument: expected.instrument,
        pixels: None,
        at: None,
        angle: None,
        low: None,
        high: None,
        printed: Vec::new(),
        colour_bar: None,
        low_end: None,
        bar_law: BarLaw::default(),
        page: None,
        span: expected.span.clone(),
    }
}

fn picture(run: usize, readings: &[Expects], detector: Arc<Detector>) -> PictureMeasurement {
    let region = |reading: &Expects| Measurement {
        pixels: (SIDE * SIDE) as usize,
        invalid_pixels: 0,
        shown: Shown::of_one(reading.shown() - ZERO_CELSIUS),
        signal: reading.signal,
        small: false,
        cut: false,
        edge_shift: None,
        clipped: 0,
        palette: None,
    };
    PictureMeasurement {
        run,
        snapshot: 0,
        // No file, and so no two of the same.
        sha256: format!("expected {run}"),
        detector,
        raw: false,
        assumed: None,
        bar_found: None,
        captured: None,
        pages: 1,
        regions: readings.iter().map(region).collect(),
    }
}
