//! What can be done for narrower intervals, and the session that does it.

use super::TAPE;
use super::altered::{Altered, Place, places, within};
use crate::correct::{Detectors, correct};
use crate::infer::{Inferred, TankState, infer};
use crate::model::{Slot, Values};
use crate::outcome::{Outcome, Reading};
use crate::session::{PerTank, Role, Sensor, Session, Tank};
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

    /// What to do in a session, in words.
    #[must_use]
    pub fn words(self, session: &Session) -> &'static str {
        match self {
            Self::Foil => foil(session),
            Self::Tape => "matt tape on the tanks that mirror, read on the tape",
            Self::Reference => "a taped body of known temperature (± 0.3 K) in every picture",
            Self::Probes => "air probes (± 1.5 K) before and behind the cooler",
            Self::MoreRuns => "twice as many holds of each cooler",
            Self::LongerHold => "holds of 15 minutes, in which the skins settle",
        }
    }
}

/// How crumpled foil is read: beside the tanks in a picture, or with the pistol.
fn foil(session: &Session) -> &'static str {
    let pictures = session.runs.iter().any(|run| !run.snapshots.is_empty());
    let pistols = session.runs.iter().any(|run| !run.pistols.is_empty());
    match (pictures, pistols) {
        (false, true) => "crumpled foil read with the pistol at each tank",
        (true, true) => {
            "crumpled foil beside the tanks in every picture, and read with the pistol at each tank"
        }
        _ => "crumpled foil beside the tanks in every picture",
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
        Improvement::Probes => with_probes(scene, outcome, detectors),
        Improvement::MoreRuns => scene.repeated(),
        Improvement::LongerHold => with_long_holds(scene, &tanks, outcome, detectors),
    }
}

/// What is inferred of a scene's tanks, at central values.
struct Inference {
    tanks: Vec<PerTank<TankState>>,
    central: Values,
}

impl Inference {
    /// `None` where a reading has no solution.
    fn of(scene: &Altered, detectors: &Detectors) -> Option<Self> {
        let mut corrected = correct(&scene.session, &scene.pictures, detectors).ok()?;
        let Inferred { tanks, .. } = infer(&scene.session, &scene.pictures, &mut corrected);
        Some(Self {
            tanks,
            central: corrected.model.central(),
        })
    }

    /// A temperature of a run's tank, K.
    fn kelvin(&self, run: usize, tank: Tank, of: fn(&TankState) -> Option<Slot>) -> Option<f64> {
        self.central.get(of(self.tanks.get(run)?.get(tank))?)
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

/// The same two probes for all coolers, in every run that has none: they read what is known best of the run's air, so that
/// what changed from run to run shows in them too.
fn with_probes(mut scene: Altered, outcome: &Outcome, detectors: &Detectors) -> Option<Altered> {
    let inference = Inference::of(&scene, detectors)?;
    let mut added = false;
    for index in 0..scene.session.runs.len() {
        let cooler = scene.session.coolers[scene.session.runs[index].cooler]
            .key
            .clone();
        for tank in Tank::BOTH {
            let run = &mut scene.session.runs[index];
            if run.air.get(tank).is_some() {
                continue;
            }
            let known = |state: &TankState| state.charge().or(state.steady).or(state.skin);
            let of_run = inference.kelvin(index, tank, known);
            let Some(kelvin) = of_run.or_else(|| air(outcome, &cooler, tank)) else {
                continue;
            };
            let mut note = within(
                format!("run.{}.{}-air", run.name, tank.word()),
                kelvin,
                HALF_DIGIT,
                &run.span.clone(),
            );
            // An error of its own: the session's probes, if it has any, are others.
            note.sensor = Some(Sensor {
                place: format!("instrument.{} probe (advised).accuracy", tank.word()),
                limit: PROBE_LIMIT,
            });
            *run.air.get_mut(tank) = Some(note);
            added = true;
        }
    }
    added.then_some(scene)
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
    let inference = Inference::of(&scene, detectors)?;
    // Where the skin was going, not where it was read on its way.
    let settled = |place: Place, reading: &Reading| {
        let tank = Tank::BOTH
            .into_iter()
            .find(|tank| reading.tank.as_deref() == Some(tank.word()))?;
        let known = |of| inference.kelvin(place.run, tank, of);
        // Of one that was read too early only that is known.
        known(|state| state.steady).or_else(|| known(|state| state.skin))
    };
    let skins: Option<Vec<(Place, &Reading, f64)>> = tanks
        .iter()
        .map(|&(place, reading)| Some((place, reading, settled(place, reading)?)))
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
