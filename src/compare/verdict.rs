//! What the measurements allow to be said of a difference.

use super::performance::{Air, Basis};
use super::{Evidence, SKIN_QUANTITIES, cautions};
use crate::correct::Reading;
use crate::outcome::{Q, Verdict};
use crate::quantity::{QuantityId, Unit};
use crate::session::{Role, Tank};

/// A skin whose 95 % interval reaches further than this to either side says too little, K.
pub(super) const NOT_MEASURABLE: f64 = 10.0;

/// The verdict on a candidate's difference to the baseline, at 95 % and taken alone.
pub(super) fn of(
    evidence: &Evidence<'_>,
    candidate: usize,
    quantity: QuantityId,
    difference: &Q,
) -> Verdict {
    if !compares(evidence, candidate, quantity) {
        return Verdict::NotComparable;
    }
    if !scatter_is_known(evidence, quantity) {
        return Verdict::NeedsRepeats;
    }
    let (Some(low), Some(high)) = (difference.low, difference.high) else {
        return Verdict::NotComparable;
    };
    let scale = |base: f64| quantity.unit().of_difference().from_base(base);
    by_interval((low, high), matters(evidence, quantity).map(scale))
}

/// Whether a verdict may be given at all, whatever the difference.
pub(super) fn rests_on_enough(
    evidence: &Evidence<'_>,
    candidate: usize,
    quantity: QuantityId,
) -> bool {
    compares(evidence, candidate, quantity) && scatter_is_known(evidence, quantity)
}

/// Whether what a quantity is worked out from says enough, can be true, and is alike on both coolers where it has to be.
fn compares(evidence: &Evidence<'_>, candidate: usize, quantity: QuantityId) -> bool {
    let baseline = evidence.session.baseline;
    if evidence.skins_differ(candidate) && SKIN_QUANTITIES.contains(&quantity) {
        return false;
    }
    let too_little = |&cooler: &usize| {
        tanks(evidence, quantity)
            .into_iter()
            .any(|tank| says_too_little(evidence, cooler, tank))
    };
    let impossible = |&cooler: &usize| cannot_be(evidence, cooler, quantity);
    let both = [baseline, candidate];
    !both.iter().any(too_little) && !both.iter().any(impossible)
}

/// What a difference's interval alone allows to be said.
pub(super) fn by_interval((low, high): (f64, f64), matters: Option<f64>) -> Verdict {
    if matters.is_some_and(|matters| low > -matters && high < matters) {
        return Verdict::Equal;
    }
    match (low > 0.0, high < 0.0) {
        (true, _) => Verdict::Higher,
        (_, true) => Verdict::Lower,
        _ => Verdict::NotDistinguishable,
    }
}

/// How far an interval is from losing a verdict that rests on it; negative where it has lost it.
pub(super) fn margin(verdict: Verdict, (low, high): (f64, f64), matters: Option<f64>) -> f64 {
    let outside = outside((low, high), matters);
    match verdict {
        Verdict::Higher => low.min(outside),
        Verdict::Lower => (-high).min(outside),
        Verdict::NotDistinguishable => high.min(-low).min(outside),
        Verdict::Equal => -outside,
        Verdict::NeedsRepeats | Verdict::NotComparable => 0.0,
    }
}

/// How far an interval is from lying wholly inside what matters, where it is `equal`, whatever side of 0 it is on.
fn outside((low, high): (f64, f64), matters: Option<f64>) -> f64 {
    matters.map_or(f64::INFINITY, |matters| {
        (high - matters).max(-matters - low)
    })
}

/// What a verdict becomes whose margin has just been lost, where the interval still carries it in name: what it is nearest to.
pub(super) fn beyond(verdict: Verdict, (low, high): (f64, f64), matters: Option<f64>) -> Verdict {
    let outside = outside((low, high), matters);
    match verdict {
        Verdict::Higher if outside < low => Verdict::Equal,
        Verdict::Lower if outside < -high => Verdict::Equal,
        Verdict::Higher | Verdict::Lower => Verdict::NotDistinguishable,
        Verdict::NotDistinguishable if outside < high.min(-low) => Verdict::Equal,
        Verdict::NotDistinguishable if high < -low => Verdict::Lower,
        Verdict::NotDistinguishable => Verdict::Higher,
        Verdict::Equal => by_interval((low, high), None),
        other => other,
    }
}

/// The difference that matters to the customer, in the base unit, for quantities of the primary's kind.
pub(super) fn matters(evidence: &Evidence<'_>, quantity: QuantityId) -> Option<f64> {
    let primary = super::primary(evidence.session, evidence.quantities);
    let alike = quantity.unit().of_difference() == primary.unit().of_difference();
    Some(evidence.session.matters.as_ref().filter(|_| alike)?.value)
}

/// Whether a cooler's readings cannot be true of a charge-air cooler, so that no verdict may rest on what follows from them:
/// an outlet hotter than its inlet, a skin or charge air colder than the cooling air, a pressure that rises on its way through.
/// Which of two readings is wrong is not known, so neither counts.
fn cannot_be(evidence: &Evidence<'_>, cooler: usize, quantity: QuantityId) -> bool {
    use QuantityId as Id;
    let central = |id| evidence.central(cooler, id);
    let negative = |id| central(id).is_some_and(|value| value < 0.0);
    // An effectiveness above 1 is an outlet below the cooling air.
    let no_share = |id| negative(id) || central(id).is_some_and(|value| value > 1.0);
    let skins = || negative(Id::SurfaceDrop) || no_share(Id::SurfaceEffectiveness);
    let air = || negative(Id::ChargeDrop) || no_share(Id::ChargeEffectiveness);
    let pressures = || negative(Id::PressureDrop);
    match quantity {
        Id::InletSurface
        | Id::OutletSurface
        | Id::SurfaceDrop
        | Id::SurfaceEffectiveness
        | Id::OutletSurfaceNormalised => skins(),
        Id::InletCharge
        | Id::OutletCharge
        | Id::ChargeDrop
        | Id::ChargeEffectiveness
        | Id::HeatRejected
        | Id::Ntu
        | Id::Ua => air(),
        Id::Effectiveness | Id::OutletNormalised => no_share(Id::Effectiveness),
        Id::DensityGain => no_share(Id::Effectiveness) || pressures(),
        Id::InletPressure | Id::OutletPressure | Id::PressureDrop | Id::PressureLoss => pressures(),
        Id::InletDensity | Id::OutletDensity | Id::DensityRatio | Id::LossCoefficient => {
            air() || pressures()
        }
        Id::IntakeAir => false,
    }
}

/// The tanks whose skins a quantity is worked out from: of what is told of the air, those that no probe reads.
fn tanks(evidence: &Evidence<'_>, quantity: QuantityId) -> Vec<Tank> {
    let by_skin = |tank: &Tank| match (quantity, evidence.quantities.basis) {
        (
            QuantityId::Effectiveness | QuantityId::OutletNormalised | QuantityId::DensityGain,
            Some(Basis::Air(air)),
        ) => *air.get(*tank) == Air::Wall,
        (
            QuantityId::Effectiveness | QuantityId::OutletNormalised | QuantityId::DensityGain,
            Some(Basis::Skins),
        ) => true,
        (QuantityId::InletSurface | QuantityId::OutletSurface, _) => true,
        (_, _) if quantity.of_skins() => true,
        _ => evidence.inferred.tanks.iter().any(|tanks| {
            let state = tanks.get(*tank);
            state.probe.is_none() && state.charge().is_some()
        }),
    };
    let all: &[Tank] = match quantity {
        QuantityId::InletSurface | QuantityId::InletCharge | QuantityId::InletDensity => {
            &[Tank::Inlet]
        }
        QuantityId::OutletSurface | QuantityId::OutletCharge | QuantityId::OutletDensity => {
            &[Tank::Outlet]
        }
        _ if quantity.of_skins() || quantity.of_air() => &Tank::BOTH,
        _ => &[],
    };
    all.iter().copied().filter(by_skin).collect()
}

/// The quantities of one run that a quantity is worked out from and that repeated holds scatter.
pub(crate) const fn parts(quantity: QuantityId) -> &'static [QuantityId] {
    use QuantityId as Id;
    match quantity {
        Id::InletSurface => &[Id::InletSurface],
        Id::OutletSurface => &[Id::OutletSurface],
        Id::SurfaceDrop | Id::SurfaceEffectiveness | Id::OutletSurfaceNormalised => {
            &[Id::InletSurface, Id::OutletSurface]
        }
        Id::InletPressure => &[Id::InletPressure],
        Id::OutletPressure => &[Id::OutletPressure],
        Id::PressureDrop | Id::PressureLoss | Id::LossCoefficient => {
            &[Id::InletPressure, Id::OutletPressure]
        }
        Id::InletCharge => &[Id::InletCharge],
        Id::OutletCharge => &[Id::OutletCharge],
        Id::ChargeDrop | Id::ChargeEffectiveness | Id::HeatRejected | Id::Ntu | Id::Ua => {
            &[Id::InletCharge, Id::OutletCharge]
        }
        Id::Effectiveness | Id::OutletNormalised => &[
            Id::InletCharge,
            Id::OutletCharge,
            Id::InletSurface,
            Id::OutletSurface,
        ],
        Id::InletDensity => &[Id::InletCharge, Id::InletPressure],
        Id::OutletDensity => &[Id::OutletCharge, Id::IntakeAir, Id::OutletPressure],
        Id::DensityRatio | Id::DensityGain => &[
            Id::InletCharge,
            Id::OutletCharge,
            Id::InletPressure,
            Id::OutletPressure,
        ],
        Id::IntakeAir => &[],
    }
}

/// Whether the scatter between holds is known: from repeated runs, or as stated. What is stated goes into a part only
/// where the part itself was not repeated, so a quantity of a repeated part that has no scatter of its own lacks it.
pub(super) fn scatter_is_known(evidence: &Evidence<'_>, quantity: QuantityId) -> bool {
    let stated = &evidence.session.repeatability;
    let parts = parts(quantity);
    let of_pressure = |part: &QuantityId| part.unit() == Unit::Kilopascal;
    let stated = parts.iter().all(|part| {
        if of_pressure(part) {
            stated.pressure.is_some()
        } else {
            stated.temperature.is_some()
        }
    });
    // The sensor, which stands in for the outlet's charge air, has no stated scatter of its own.
    let by_sensor = matches!(
        quantity,
        QuantityId::OutletDensity | QuantityId::DensityRatio
    ) && evidence
        .central(evidence.session.baseline, QuantityId::OutletCharge)
        .is_none();
    evidence.intervals.scatter_is_known(quantity)
        || (stated
            && !by_sensor
            && !parts.is_empty()
            && !parts
                .iter()
                .any(|&part| evidence.intervals.scatter_is_known(part)))
}

/// How far the interval of a cooler's skin reaches, K, without the scatter between holds, which tape would not mend; `None`
/// where that is no further than [`NOT_MEASURABLE`], infinite where it has no end.
pub(super) fn unmeasurable(evidence: &Evidence<'_>, cooler: usize, tank: Tank) -> Option<f64> {
    let slot = *evidence.quantities.of_cooler(cooler)?.get(&tank.skin())?;
    let interval = evidence.intervals.of_slot(slot)?;
    let reach = interval.reach().unwrap_or(f64::INFINITY);
    (reach > NOT_MEASURABLE).then_some(reach)
}

/// Whether a reading's skin is known no better than [`NOT_MEASURABLE`], or not at all in some draws of the tail.
pub(super) fn loose(evidence: &Evidence<'_>, reading: &Reading) -> bool {
    let interval = reading
        .skin
        .and_then(|skin| evidence.intervals.of_slot(skin));
    interval.is_some_and(|interval| interval.reach().unwrap_or(f64::INFINITY) > NOT_MEASURABLE)
}

/// Whether no verdict may rest on a tank's skin: it or one of its readings is not measurable or but a bound, or it had not
/// gone far enough to say where it was going.
fn says_too_little(evidence: &Evidence<'_>, cooler: usize, tank: Tank) -> bool {
    let bound = |reading: &&Reading| reading.clipped > cautions::CLIPPED;
    let mut readings = evidence.readings.iter().filter(|reading| {
        reading.cooler == cooler && reading.role == Role::Tank && reading.tank == Some(tank)
    });
    readings.any(|reading| bound(&reading) || loose(evidence, reading))
        || unmeasurable(evidence, cooler, tank).is_some()
        || on_its_way(evidence, cooler, tank)
}

/// Whether of a tank's skin only a bound is known, in any of the cooler's runs.
fn on_its_way(evidence: &Evidence<'_>, cooler: usize, tank: Tank) -> bool {
    let runs = evidence.session.runs.iter().zip(&evidence.inferred.tanks);
    let mut states = runs
        .filter(|(run, _)| run.cooler == cooler)
        .map(|(_, tanks)| tanks.get(tank));
    states.any(|state| state.skin.is_some() && state.steady.is_none())
}
