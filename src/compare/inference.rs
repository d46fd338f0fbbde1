//! What the charge air says of the measurements: skins on their way, readings that cannot be true, a sensor that disagrees.

use super::Evidence;
use super::quantities::Quantities;
use crate::caution::CautionId;
use crate::correct::Reading;
use crate::heat::compressor::{self, Bounds};
use crate::infer::{LEAST_SHARE, SETTLED, Settling, TankState};
use crate::model::{Builder, Slot};
use crate::quantity::QuantityId;
use crate::session::{Role, Session, Tank};
use crate::units::temperature::ZERO_CELSIUS;

/// Standard atmosphere, Pa, where the barometer is not stated.
const ATMOSPHERE: f64 = 101_325.0;

/// The sensor and the outlet may differ by this before it is spoken of, K (judgement).
const SENSOR_LIMIT: f64 = 2.0;

/// Where the wall is not stated, a hold shorter than this does not settle a tank, s: 3 mm of moulded plastic and 2 mm of
/// aluminium both take about three minutes for 95 % of their way under common films (COMPUTED).
const SHORT_HOLD: f64 = 180.0;

/// The charge air of both tanks.
const CHARGE: [(Tank, QuantityId); 2] = [
    (Tank::Inlet, QuantityId::InletCharge),
    (Tank::Outlet, QuantityId::OutletCharge),
];

/// The intake-air sensor against the outlet, of one run.
#[derive(Debug, Clone, Copy)]
pub(super) struct Disagreement {
    /// Sensor less outlet, K.
    pub(super) slot: Slot,
    /// Whether the outlet is the charge air; else it is the skin, than which the air cannot be colder.
    of_air: bool,
}

/// Lays out the sensor against the outlet for every run that has both.
pub(super) fn disagreements(
    session: &Session,
    quantities: &Quantities,
    model: &mut Builder,
) -> Vec<Option<Disagreement>> {
    let of_run = |run: usize| {
        let slots = quantities.of_run(run)?;
        let sensor = *slots.get(&QuantityId::IntakeAir)?;
        let air = slots.get(&QuantityId::OutletCharge);
        let outlet = *air.or(slots.get(&QuantityId::OutletSurface))?;
        Some(Disagreement {
            slot: model.difference(sensor, outlet),
            of_air: air.is_some(),
        })
    };
    (0..session.runs.len()).map(of_run).collect()
}

/// The cautions about one run.
pub(super) fn of_run(evidence: &Evidence<'_>, run: usize, add: &mut impl FnMut(CautionId, String)) {
    let Some(tanks) = evidence.inferred.tanks.get(run) else {
        return;
    };
    for tank in Tank::BOTH {
        settling(evidence, tank, tanks.get(tank), add);
    }
    let value = |id| {
        let slot = *evidence.quantities.of_run(run)?.get(&id)?;
        evidence.central.get(slot)
    };
    if let Some(drop) = value(QuantityId::ChargeDrop).filter(|&drop| drop < 0.0) {
        let message = format!(
            "the charge air comes out {:.1} K hotter than it goes in",
            -drop
        );
        add(CautionId::OutletHotter, message);
    }
    let air = evidence.session.runs[run].conditions.air_at_face().value;
    for (tank, id) in CHARGE {
        if let Some(charge) = value(id).filter(|&charge| charge < air) {
            let message = format!(
                "the charge air in the {} tank, {}, is below the cooling air's {}",
                tank.word(),
                celsius(charge),
                celsius(air)
            );
            add(CautionId::BeyondAmbient, message);
        }
    }
    compressed(evidence, run, &value, add);
    sensor(evidence, run, add);
}

/// The charge air of a run against what a compressor can have made of it.
fn compressed(
    evidence: &Evidence<'_>,
    run: usize,
    value: &dyn Fn(QuantityId) -> Option<f64>,
    add: &mut impl FnMut(CautionId, String),
) {
    let Some(bounds) = bounds(evidence, run) else {
        return;
    };
    if let Some(charge) = value(QuantityId::InletCharge).filter(|&charge| charge < bounds.coldest) {
        let message = format!(
            "the charge air at the inlet, {}, is below the {} that loss-free compression less {} K in the pipe leaves: \
             usually the skin had not settled; else emissivity, wall or films are not as stated",
            celsius(charge),
            celsius(bounds.coldest),
            compressor::PIPE_LOSS
        );
        add(CautionId::ColderThanCompressed, message);
    }
    for (tank, id) in CHARGE {
        // A skin that is too hot by itself is spoken of at its reading.
        let sound = value(tank.skin()).is_none_or(|skin| skin <= bounds.hottest);
        if let Some(charge) = value(id).filter(|&charge| sound && charge > bounds.hottest) {
            let message = format!(
                "the charge air in the {} tank, {}, is above the {} that a compressor of {} efficiency makes of this pressure: \
                 look at wall, films and emissivity, or at the probe",
                tank.word(),
                celsius(charge),
                celsius(bounds.hottest),
                compressor::WORST_EFFICIENCY
            );
            add(CautionId::HotterThanCharge, message);
        }
    }
}

fn celsius(kelvin: f64) -> String {
    format!("{:.1} °C", kelvin - ZERO_CELSIUS)
}

/// Whether a tank's skin had settled.
fn settling(
    evidence: &Evidence<'_>,
    tank: Tank,
    state: &TankState,
    add: &mut impl FnMut(CautionId, String),
) {
    let word = tank.word();
    match &state.settling {
        Settling::NoSkin => {}
        Settling::HoldUnknown => add(
            CautionId::HoldUnknown,
            format!(
                "when in the hold the {word} tank was read is not stated: its skin is taken as settled"
            ),
        ),
        Settling::NotKnown {
            time,
            missing,
            share,
        } => {
            let message = format!(
                "whether the {word} tank's skin had settled after {time:.0} s is not known; there is missing: {}",
                missing.join("; ")
            );
            if *share < LEAST_SHARE {
                let consequence = if state.steady.is_none() {
                    "no verdict rests on this skin"
                } else {
                    "the charge air is told of by the later readings alone"
                };
                let message = format!(
                    "{message}. A usual wall would hardly have gone {:.0} % of its way by then: {consequence}",
                    100.0 * share
                );
                add(CautionId::UnsteadySkin, message);
            } else if *time < SHORT_HOLD {
                add(
                    CautionId::UnsteadySkin,
                    format!("{message}; common tank walls take about three minutes"),
                );
            } else if state.wall.is_some() {
                add(CautionId::HoldUnknown, message);
            }
        }
        Settling::Share {
            share,
            time,
            enough,
            start_stated,
        } if *share < SETTLED => {
            let enough = enough.map_or_else(String::new, |enough| {
                format!(
                    "; a hold of {enough:.0} s would reach {:.0} %",
                    100.0 * SETTLED
                )
            });
            let message = format!(
                "the {word} tank's skin had gone {:.0} % of its way after {time:.0} s{enough}. {}",
                100.0 * share,
                consequence(evidence, state, *share, *start_stated)
            );
            add(CautionId::UnsteadySkin, message);
        }
        Settling::Share { .. } => {}
        Settling::Fitted(series) if series.too_short => {
            let message = format!(
                "the {} readings of the {word} tank bend too little to tell where its skin is going",
                series.points.len()
            );
            add(CautionId::UnsteadySkin, message);
        }
        Settling::Fitted(_) => {}
    }
}

/// What is made of a skin that had not settled.
fn consequence(
    evidence: &Evidence<'_>,
    state: &TankState,
    share: f64,
    start_stated: bool,
) -> String {
    if share < LEAST_SHARE && state.steady.is_none() {
        let bound = state.bound.and_then(|slot| evidence.central.get(slot));
        return bound.map_or_else(
            || "Only a bound is known of where it was going".to_owned(),
            |bound| {
                format!(
                    "That is too little to correct: all that is known of the charge air is that it is above {}",
                    celsius(bound)
                )
            },
        );
    }
    if start_stated {
        "The charge air is worked out from where it was going".to_owned()
    } else {
        "It is not corrected, because `start-skin` is not stated; the interval holds what may be missing"
            .to_owned()
    }
}

/// The intake-air sensor against the outlet.
fn sensor(evidence: &Evidence<'_>, run: usize, add: &mut impl FnMut(CautionId, String)) {
    let Some(found) = evidence.disagreements.get(run).copied().flatten() else {
        return;
    };
    let (Some(apart), Some(interval)) = (
        evidence.central.get(found.slot),
        evidence.intervals.of_slot(found.slot),
    ) else {
        return;
    };
    let Some((low, high)) = interval.ends else {
        return;
    };
    let (hotter, colder) = (
        low > 0.0 && apart > SENSOR_LIMIT,
        high < 0.0 && apart < -SENSOR_LIMIT,
    );
    let message = match (hotter, colder, found.of_air) {
        (true, _, true) => format!(
            "the sensor reads {apart:.1} K above the outlet's charge air: usually engine heat soaks into it, it lags, or it sits \
             where exhaust gas is fed back or behind something warm; else the outlet is read too cold"
        ),
        (_, true, true) => format!(
            "the sensor reads {:.1} K below the outlet's charge air: usually it lags behind a short hold; else the outlet is read \
             too hot",
            -apart
        ),
        (_, true, false) => format!(
            "the sensor reads {:.1} K below the outlet tank's skin, and the air inside cannot be colder than that: usually it \
             lags behind a short hold; else the skin is read too hot",
            -apart
        ),
        _ => return,
    };
    add(CautionId::SensorDisagrees, message);
}

/// The cautions about one reading.
pub(super) fn of_reading(
    evidence: &Evidence<'_>,
    reading: &Reading,
    add: &mut impl FnMut(CautionId, String),
) {
    if reading.role != Role::Tank {
        return;
    }
    let (Some(bounds), Some(skin)) = (
        bounds(evidence, reading.run),
        reading.skin.and_then(|slot| evidence.central.get(slot)),
    ) else {
        return;
    };
    if skin > bounds.hottest {
        let possible = possible_emissivity(evidence, reading).unwrap_or_default();
        let message = format!(
            "the skin, {}, is above the {} that a compressor of {} efficiency makes of this pressure{possible}",
            celsius(skin),
            celsius(bounds.hottest),
            compressor::WORST_EFFICIENCY
        );
        add(CautionId::HotterThanCharge, message);
    }
}

/// What the compressor can have made in a run, from the ratio of the absolute inlet pressure to the barometer's; `None`
/// where that is not known, or where there is no boost.
fn bounds(evidence: &Evidence<'_>, run: usize) -> Option<Bounds> {
    let slot = *evidence
        .quantities
        .of_run(run)?
        .get(&QuantityId::InletPressure)?;
    let conditions = &evidence.session.runs[run].conditions;
    let barometer = conditions.barometer.as_ref();
    let ratio = evidence.central.get(slot)? / barometer.map_or(ATMOSPHERE, |stated| stated.value);
    (ratio > 1.0).then(|| compressor::bounds(conditions.ambient.value, ratio))
}

/// The emissivities with which a tank's reading is possible at all, in words that go on a sentence: its skin no hotter than
/// the compressor makes the air and, at an inlet behind whose wall the charge air is known, no colder.
pub(super) fn possible_emissivity(evidence: &Evidence<'_>, reading: &Reading) -> Option<String> {
    let bounds = bounds(evidence, reading.run)?;
    let tank = reading.tank.filter(|_| reading.role == Role::Tank)?;
    let detector = evidence.model.detector(reading.detector)?;
    let mirrored = detector.signal(evidence.central.get(reading.reflected?)?);
    let own = evidence.central.get(reading.leaving)? - mirrored;
    let of_skin = |kelvin: f64| {
        let whole = detector.signal(kelvin) - mirrored;
        (own > 0.0 && whole > 0.0).then(|| own / whole)
    };
    let least = of_skin(bounds.hottest)?;
    if least >= 1.0 {
        return Some(
            "; no emissivity makes that possible: look at the pressure, the instrument and what the skin mirrors".to_owned(),
        );
    }
    let most = coldest_skin(evidence, reading.run, tank, bounds.coldest)
        .and_then(of_skin)
        .filter(|&share| share < 1.0);
    Some(match most {
        Some(most) => format!("; possible only for an emissivity between {least:.2} and {most:.2}"),
        None => format!("; possible only for an emissivity of at least {least:.2}"),
    })
}

/// The inlet's skin at the coldest air that compression leaves: with the ratio to the air of the skin as it was read, so
/// that one which was still on its way may be colder.
fn coldest_skin(evidence: &Evidence<'_>, run: usize, tank: Tank, coldest: f64) -> Option<f64> {
    let state = evidence
        .inferred
        .tanks
        .get(run)?
        .get(Some(tank).filter(|tank| *tank == Tank::Inlet)?);
    let ambient = evidence.session.runs[run].conditions.ambient.value;
    let skin = evidence.central.get(state.skin?)? - ambient;
    let charge = evidence.central.get(state.wall?)? - ambient;
    (skin > 0.0 && charge > 0.0).then(|| ambient + skin / charge * (coldest - ambient))
}
