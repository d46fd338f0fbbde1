//! What the measurements allow to be said of a difference.

use super::{Evidence, SKIN_QUANTITIES, cautions};
use crate::outcome::{Q, Verdict};
use crate::quantity::QuantityId;
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
    let baseline = evidence.session.baseline;
    if evidence.skins_differ(candidate) && SKIN_QUANTITIES.contains(&quantity) {
        return Verdict::NotComparable;
    }
    if rests_on_skins(quantity)
        && [baseline, candidate]
            .iter()
            .any(|&cooler| unmeasurable(evidence, cooler))
    {
        return Verdict::NotComparable;
    }
    if !scatter_is_known(evidence, quantity) {
        return Verdict::NeedsRepeats;
    }
    let (Some(low), Some(high)) = (difference.low, difference.high) else {
        return Verdict::NotComparable;
    };
    let matters = evidence.session.matters.as_ref().filter(|_| {
        let primary = super::primary(evidence.session);
        quantity.unit().of_difference() == primary.unit().of_difference()
    });
    if let Some(matters) = matters {
        let matters = quantity.unit().of_difference().from_base(matters.value);
        if low > -matters && high < matters {
            return Verdict::Equal;
        }
    }
    match (low > 0.0, high < 0.0) {
        (true, _) => Verdict::Higher,
        (_, true) => Verdict::Lower,
        _ => Verdict::NotDistinguishable,
    }
}

/// Whether a quantity is worked out from skin temperatures.
const fn rests_on_skins(quantity: QuantityId) -> bool {
    matches!(
        quantity,
        QuantityId::InletSurface
            | QuantityId::OutletSurface
            | QuantityId::SurfaceDrop
            | QuantityId::SurfaceEffectiveness
            | QuantityId::OutletSurfaceNormalised
    )
}

/// Whether a quantity is worked out from tap pressures alone.
const fn rests_on_pressures(quantity: QuantityId) -> bool {
    matches!(
        quantity,
        QuantityId::InletPressure
            | QuantityId::OutletPressure
            | QuantityId::PressureDrop
            | QuantityId::PressureLoss
    )
}

/// Whether the scatter between holds is known: from repeated runs, or as stated.
pub(super) fn scatter_is_known(evidence: &Evidence<'_>, quantity: QuantityId) -> bool {
    let stated = &evidence.session.repeatability;
    evidence.intervals.scatter_is_known(quantity)
        || (rests_on_skins(quantity) && stated.temperature.is_some())
        || (rests_on_pressures(quantity) && stated.pressure.is_some())
}

/// The tanks of a cooler whose skin says too little, with how far the interval reaches, K; infinite where it has no end.
pub(super) fn unmeasurable_tanks(evidence: &Evidence<'_>, cooler: usize) -> Vec<(Tank, f64)> {
    let tanks = [
        (Tank::Inlet, QuantityId::InletSurface),
        (Tank::Outlet, QuantityId::OutletSurface),
    ];
    tanks
        .into_iter()
        .filter_map(|(tank, quantity)| {
            let interval = evidence.intervals.of_cooler(cooler, quantity)?;
            let reach = interval
                .ends
                .map_or(f64::INFINITY, |(low, high)| 0.5 * (high - low));
            (reach > NOT_MEASURABLE).then_some((tank, reach))
        })
        .collect()
}

fn unmeasurable(evidence: &Evidence<'_>, cooler: usize) -> bool {
    let clipped = evidence.readings.iter().any(|reading| {
        reading.cooler == cooler
            && reading.role == Role::Tank
            && reading.clipped > cautions::CLIPPED
    });
    clipped || !unmeasurable_tanks(evidence, cooler).is_empty()
}
