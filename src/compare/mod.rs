//! Stage 6: quantities of each run and cooler, candidates against the baseline, and whether it was like for like.

mod budget;
mod cautions;
mod drift;
mod fairness;
mod flip;
mod foresee;
mod grounds;
mod inference;
mod intervals;
mod outcome;
mod performance;
mod pressures;
mod pulls;
mod quantities;
mod verdict;

pub use foresee::{Chance, Chances, drawn_scatter, shown_scatter};
pub(crate) use verdict::parts;

use crate::correct::Corrected;
use crate::infer::Inferred;
use crate::measure::PictureMeasurement;
use crate::model::{Model, Slot, Values};
use crate::outcome::{InputFile, Outcome};
use crate::quantity::QuantityId;
use crate::session::{Session, Tank};
use crate::uncertainty::Settings;
use inference::Disagreement;
use intervals::Intervals;
use performance::Basis;
use quantities::Quantities;

/// Quantities that do not compare where the coolers' tanks differ in surface or wall: with the same air inside, the skin
/// of an aluminium tank sits closer to it than that of a plastic one.
const SKIN_QUANTITIES: [QuantityId; 3] = [
    QuantityId::InletSurface,
    QuantityId::OutletSurface,
    QuantityId::SurfaceDrop,
];

/// All that is known of a session once its readings are corrected.
struct Evidence<'a> {
    session: &'a Session,
    pictures: &'a [PictureMeasurement],
    readings: &'a [crate::correct::Reading],
    /// What was inferred of the charge air.
    inferred: &'a Inferred,
    /// For each run the intake-air sensor against the outlet.
    disagreements: &'a [Option<Disagreement>],
    quantities: &'a Quantities,
    model: &'a Model,
    central: &'a Values,
    intervals: &'a Intervals,
    settings: Settings,
}

impl Evidence<'_> {
    /// The central value of a cooler's quantity, in the engine's base unit.
    fn central(&self, cooler: usize, quantity: QuantityId) -> Option<f64> {
        self.central
            .get(*self.quantities.of_cooler(cooler)?.get(&quantity)?)
    }

    /// The coolers that are compared with the baseline.
    fn candidates(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.session.coolers.len()).filter(|&cooler| cooler != self.session.baseline)
    }

    /// Whether a candidate's tanks differ from the baseline's in surface or wall.
    fn skins_differ(&self, candidate: usize) -> bool {
        let [a, b] = [candidate, self.session.baseline].map(|cooler| &self.session.coolers[cooler]);
        Tank::BOTH.into_iter().any(|tank| {
            let [a, b] = [a, b].map(|cooler| cooler.surface(tank));
            a != b && !self.session.surfaces[a].is_like(&self.session.surfaces[b])
        })
    }
}

/// The quantities of a session in its finished model.
struct Laid {
    model: Model,
    readings: Vec<crate::correct::Reading>,
    quantities: Quantities,
    disagreements: Vec<Option<Disagreement>>,
    central: Values,
}

impl Laid {
    fn out(
        session: &Session,
        pictures: &[PictureMeasurement],
        corrected: Corrected,
        inferred: &Inferred,
    ) -> Self {
        let Corrected {
            mut model,
            readings,
            ..
        } = corrected;
        let quantities = Quantities::lay_out(session, pictures, inferred, &mut model);
        let disagreements = inference::disagreements(session, &quantities, &mut model);
        let model = model.build();
        let central = model.central();
        Self {
            model,
            readings,
            quantities,
            disagreements,
            central,
        }
    }
}

/// Compares the coolers of a session.
///
/// `pictures` are the measurements that `corrected` was made from, `inputs` the files that were read.
#[must_use]
pub fn compare(
    session: &Session,
    pictures: &[PictureMeasurement],
    corrected: Corrected,
    inferred: &Inferred,
    inputs: Vec<InputFile>,
    settings: Settings,
) -> Outcome {
    with_evidence(
        session,
        pictures,
        corrected,
        inferred,
        settings,
        |evidence| outcome::assemble(evidence, inputs),
    )
}

/// The outcome that a session would have if it read as expected, and the chances of its verdicts.
///
/// The session's scatter is that of the plan ([`crate::session::Scatter::Planned`]).
#[must_use]
pub fn foresee(
    session: &Session,
    pictures: &[PictureMeasurement],
    corrected: Corrected,
    inferred: &Inferred,
    settings: Settings,
) -> (Outcome, Chances) {
    with_evidence(
        session,
        pictures,
        corrected,
        inferred,
        settings,
        |evidence| {
            (
                outcome::assemble(evidence, Vec::new()),
                foresee::chances(evidence),
            )
        },
    )
}

/// Lays out the quantities of a session, works out how sure they are, and hands all of it on.
fn with_evidence<T>(
    session: &Session,
    pictures: &[PictureMeasurement],
    corrected: Corrected,
    inferred: &Inferred,
    settings: Settings,
    conclude: impl FnOnce(&Evidence<'_>) -> T,
) -> T {
    let Laid {
        model,
        readings,
        quantities,
        disagreements,
        central,
    } = Laid::out(session, pictures, corrected, inferred);
    let further: Vec<Slot> = inferred
        .charge
        .iter()
        .flatten()
        .copied()
        .chain(disagreements.iter().flatten().map(|found| found.slot))
        .chain(inferred.steady_slots())
        .collect();
    let intervals = Intervals::work_out(
        session,
        &readings,
        &quantities,
        &further,
        &model,
        &central,
        settings,
    );
    let evidence = Evidence {
        session,
        pictures,
        readings: &readings,
        inferred,
        disagreements: &disagreements,
        quantities: &quantities,
        model: &model,
        central: &central,
        intervals: &intervals,
        settings,
    };
    conclude(&evidence)
}

/// The quantity that answers the customer: as the session says, else the outlet like for like, of the charge air once
/// that is known for all coolers.
fn primary(session: &Session, quantities: &Quantities) -> QuantityId {
    primary_of(session, quantities.basis)
}

/// The same, from what the effectiveness rests on.
fn primary_of(session: &Session, basis: Option<Basis>) -> QuantityId {
    let known = match basis {
        Some(Basis::Air(_)) => QuantityId::OutletNormalised,
        Some(Basis::Skins) | None => QuantityId::OutletSurfaceNormalised,
    };
    session.primary.unwrap_or(known)
}
