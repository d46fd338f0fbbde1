//! What can be done for narrower intervals, and the session that does it.

use super::TAPE;
use super::altered::{Altered, Place, places, within};
use crate::correct::Detectors;
use crate::outcome::{Outcome, Reading};
use crate::session::{Accuracy, Gauge, Instrument, InstrumentKind, PerTank, Role, Session, Tank};
use crate::surface;
use crate::units::temperature::ZERO_CELSIUS;

/// A way to narrow the intervals of a session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Improvement {
    /// Matt tape where the tanks mirror.
    Tape,
    /// Crumpled foil beside the tanks.
    Foil,
    /// Something of known temperature in every picture.
    Reference,
    /// Probes in the air before and behind the cooler.
    Probes,
    /// Twice as many runs of each cooler.
    MoreRuns,
    /// A hold that lets the skins settle.
    LongerHold,
}

/// Below this emissivity a tank is worth taping.
const MIRRORS: f64 = 0.9;

/// What the temperature of a reference is known to, K (judgement: a thermometer for liquids or a calibrated block).
const REFERENCE_LIMIT: f64 = 0.3;

/// What an air probe may err by, K: class 1 of a type K thermocouple (IEC 60584-1, from memory).
const PROBE_LIMIT: f64 = 1.5;

/// Half of the last digit that a probe's display shows, K.
const HALF_DIGIT: f64 = 0.05;

/// A hold that settles any usual tank, s: docs/physics.md, Settling.
const LONG_HOLD: f64 = 900.0;

impl Improvement {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Tape,
        Self::Foil,
        Self::Reference,
        Self::Probes,
        Self::MoreRuns,
        Self::LongerHold,
    ];

    /// What to do, in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Tape => "matt tape on the tanks that mirror, read on the tape",
            Self::Foil => "crumpled foil beside the tanks in every picture",
            Self::Reference => "a taped body of known temperature (± 0.3 K) in every picture",
            Self::Probes => "air probes (± 1.5 K) before and behind the cooler",
            Self::MoreRuns => "twice as many holds of each cooler",
            Self::LongerHold => "holds of 15 minutes, in which the skins settle",
        }
    }
}

/// The scene as it would have been read with an improvement; `None` where there is nothing to do, or no telling.
///
/// `outcome` is that of the session and pictures as they are.
pub(crate) fn improved(
    improvement: Improvement,
    scene: Altered,
    outcome: &Outcome,
    detectors: &Detectors,
) -> Option<Altered> {
    let places = places(&scene.session, &scene.pictures);
    let readings: Vec<(Place, &Reading)> =
        places.into_iter().zip(&outcome.results.readings).collect();
    let tanks: Vec<(Place, &Reading)> = readings
        .iter()
        .filter(|(_, reading)| reading.role == Role::Tank.word())
        .copied()
        .collect();
    match improvement {
        Improvement::Tape => {
            let bare = |reading: &Reading| {
                let emissivity = reading.emissivity.as_ref();
                emissivity.is_some_and(|emissivity| emissivity.value < MIRRORS)
            };
            let bare: Vec<_> = tanks.into_iter().filter(|(_, one)| bare(one)).collect();
            let tape = surface::preset(TAPE)?;
            (!bare.is_empty()).then_some(())?;
            scene.with_finish(tape, &bare, detectors)
        }
        Improvement::Foil => {
            let before = scene.foils();
            let with = scene.with_foil(&tanks, detectors)?;
            (with.foils() > before).then_some(with)
        }
        Improvement::Reference => {
            scene.with_references(&tanks, surface::preset(TAPE)?, REFERENCE_LIMIT, detectors)
        }
        Improvement::Probes => with_probes(scene, outcome),
        Improvement::MoreRuns => scene.repeated(),
        Improvement::LongerHold => with_long_holds(scene, &tanks, outcome, detectors),
    }
}

/// A temperature of a cooler, K, by the best that is known of its air there.
fn air(outcome: &Outcome, cooler: &str, tank: Tank) -> Option<f64> {
    use crate::quantity::QuantityId as Id;
    let results = &outcome.results;
    let cooler = results.coolers.iter().find(|one| one.cooler == cooler)?;
    let (charge, skin) = match tank {
        Tank::Inlet => (Id::InletCharge, Id::InletSurface),
        Tank::Outlet => (Id::OutletCharge, Id::OutletSurface),
    };
    let known = |id| cooler.quantities.get(&id);
    Some(known(charge).or_else(|| known(skin))?.value + ZERO_CELSIUS)
}

/// The same two probes for all coolers, in every run that has none.
fn with_probes(mut scene: Altered, outcome: &Outcome) -> Option<Altered> {
    let mut added = PerTank {
        inlet: false,
        outlet: false,
    };
    for index in 0..scene.session.runs.len() {
        let cooler = scene.session.coolers[scene.session.runs[index].cooler]
            .key
            .clone();
        for tank in Tank::BOTH {
            let run = &mut scene.session.runs[index];
            if run.air.get(tank).is_some() {
                continue;
            }
            let Some(kelvin) = air(outcome, &cooler, tank) else {
                continue;
            };
            *run.air.get_mut(tank) = Some(within(
                format!("run.{}.{}-air", run.name, tank.word()),
                kelvin,
                HALF_DIGIT,
                &run.span.clone(),
            ));
            *added.get_mut(tank) = true;
        }
    }
    for tank in Tank::BOTH {
        if *added.get(tank) {
            scene.session.instruments.push(probe(tank));
        }
    }
    (added.inlet || added.outlet).then_some(scene)
}

fn probe(tank: Tank) -> Instrument {
    Instrument {
        name: format!("{} probe (advised)", tank.word()),
        kind: InstrumentKind::Gauge(Gauge {
            measures: vec![format!("{}-air", tank.word())],
            accuracy: Some(Accuracy {
                absolute: PROBE_LIMIT,
                relative: 0.0,
            }),
            absolute: true,
        }),
        span: 0..0,
    }
}

/// Every run held so long that its skins have settled, and read there; `None` where nothing is amiss with the holds.
fn with_long_holds(
    scene: Altered,
    tanks: &[(Place, &Reading)],
    outcome: &Outcome,
    detectors: &Detectors,
) -> Option<Altered> {
    use crate::caution::CautionId;
    let amiss = outcome
        .results
        .cautions
        .iter()
        .any(|caution| matches!(caution.id, CautionId::UnsteadySkin | CautionId::HoldUnknown));
    let series = outcome.results.settling.is_empty();
    (amiss && series).then_some(())?;
    let settled = |reading: &Reading| {
        let tank = Tank::BOTH
            .into_iter()
            .find(|tank| reading.tank.as_deref() == Some(tank.word()))?;
        let results = &outcome.results;
        let mut coolers = results.coolers.iter();
        let cooler = coolers.find(|cooler| cooler.cooler == reading.cooler)?;
        Some(cooler.quantities.get(&tank.skin())?.value + ZERO_CELSIUS)
    };
    let skins: Option<Vec<(Place, &Reading, f64)>> = tanks
        .iter()
        .map(|&(place, reading)| Some((place, reading, settled(reading)?)))
        .collect();
    scene.settled(&skins?, LONG_HOLD, detectors)
}

/// The sessions that differ from one in one improvement each, where there is something to do.
pub(crate) fn all(
    session: &Session,
    pictures: &[crate::measure::PictureMeasurement],
    outcome: &Outcome,
    detectors: &Detectors,
) -> Vec<(Improvement, Altered)> {
    Improvement::ALL
        .into_iter()
        .filter_map(|improvement| {
            let scene = Altered {
                session: session.clone(),
                pictures: pictures.to_vec(),
            };
            Some((
                improvement,
                improved(improvement, scene, outcome, detectors)?,
            ))
        })
        .collect()
}
