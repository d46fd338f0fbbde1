//! The quantities of each run and cooler, as steps of the model.

use std::collections::BTreeMap;

use super::drift::{self, Trend};
use super::performance::{self, Basis};
use crate::correct::notes;
use crate::infer::Inferred;
use crate::infer::scatter::{repeated, with_scatter};
use crate::measure::PictureMeasurement;
use crate::model::{Builder, Slot};
use crate::quantity::QuantityId;
use crate::session::{Run, Session, Tank};

/// Slots of quantities.
pub(super) type Slots = BTreeMap<QuantityId, Slot>;

/// Quantities of every run and every cooler.
#[derive(Debug)]
pub(super) struct Quantities {
    runs: Vec<Slots>,
    coolers: Vec<Slots>,
    /// Drifts that are taken out, by quantity.
    pub(super) trends: BTreeMap<QuantityId, Trend>,
    /// What the effectiveness rests on; `None` where there is none.
    pub(super) basis: Option<Basis>,
}

impl Quantities {
    /// Adds all quantities to the model.
    pub(super) fn lay_out(
        session: &Session,
        pictures: &[PictureMeasurement],
        inferred: &Inferred,
        model: &mut Builder,
    ) -> Self {
        let mut runs: Vec<Slots> = Vec::new();
        for (index, run) in session.runs.iter().enumerate() {
            let mut slots = Slots::new();
            skins(session, inferred, index, model, &mut slots);
            pressures(session, run, model, &mut slots);
            if let Some(sensor) = &run.intake_air {
                slots.insert(
                    QuantityId::IntakeAir,
                    notes::temperature(session, "intake-air", sensor, model),
                );
            }
            runs.push(slots);
        }
        normalise(session, &mut runs, model);
        let basis = performance::lay_out(session, inferred, &mut runs, model);
        let primary = super::primary_of(session, basis);
        let trends = drift::times(session, pictures)
            .map(|times| trends(session, &runs, &times, model))
            .filter(|trends| trends.get(&primary).is_some_and(Trend::is_more_than_chance))
            .unwrap_or_default();
        let coolers = (0..session.coolers.len())
            .map(|cooler| cooler_means(session, &runs, &trends, cooler, model))
            .collect();
        Self {
            runs,
            coolers,
            trends,
            basis,
        }
    }

    pub(super) fn of_run(&self, run: usize) -> Option<&Slots> {
        self.runs.get(run)
    }

    pub(super) fn of_cooler(&self, cooler: usize) -> Option<&Slots> {
        self.coolers.get(cooler)
    }
}

/// Skin temperatures of a run's tanks, each the mean over its regions and pistol readings, and what follows from both.
fn skins(
    session: &Session,
    inferred: &Inferred,
    run: usize,
    model: &mut Builder,
    slots: &mut Slots,
) {
    for tank in Tank::BOTH {
        let skin = inferred
            .tanks
            .get(run)
            .and_then(|tanks| tanks.get(tank).skin);
        if let Some(skin) = skin {
            slots.insert(tank.skin(), skin);
        }
    }
    let both = (
        slots.get(&QuantityId::InletSurface),
        slots.get(&QuantityId::OutletSurface),
    );
    let (Some(&inlet), Some(&outlet)) = both else {
        return;
    };
    let drop = model.difference(inlet, outlet);
    slots.insert(QuantityId::SurfaceDrop, drop);
    // E = (T_in − T_out) / (T_in − T_cooling air)
    let air = model.declared(session.runs[run].conditions.air_at_face());
    let available = model.difference(inlet, air);
    slots.insert(
        QuantityId::SurfaceEffectiveness,
        model.quotient(drop, available),
    );
}

/// Absolute pressures at the taps, the drop between them and its share of the inlet's.
fn pressures(session: &Session, run: &Run, model: &mut Builder, slots: &mut Slots) {
    let scatter = |has: &dyn Fn(&Run) -> bool| {
        let stated = session.repeatability.pressure.as_ref();
        stated.filter(|_| !repeated(session, |index| has(&session.runs[index])))
    };
    let mut tap = |tank: Tank, key: &str| {
        let note = run.pressure.get(tank).as_ref()?;
        let slot = notes::absolute(session, run, key, note, model);
        let stated = scatter(&|run| run.pressure.get(tank).is_some());
        Some(with_scatter(
            slot,
            stated,
            &format!("{}, {} pressure", run.name, tank.word()),
            model,
        ))
    };
    let (inlet, noted) = (
        tap(Tank::Inlet, "inlet-pressure"),
        tap(Tank::Outlet, "outlet-pressure"),
    );
    let differential = run.differential_pressure.as_ref().map(|note| {
        let slot = notes::pressure(session, "differential-pressure", note, model);
        let stated = scatter(&|run| run.differential_pressure.is_some());
        with_scatter(
            slot,
            stated,
            &format!("{}, differential pressure", run.name),
            model,
        )
    });
    let outlet = noted.or_else(|| Some(model.difference(inlet?, differential?)));
    let inlet = inlet.or_else(|| Some(model.sum(outlet?, differential?)));
    // One instrument across both taps is better than the difference of two readings.
    let drop = differential.or_else(|| Some(model.difference(inlet?, outlet?)));
    let loss = drop
        .zip(inlet)
        .map(|(drop, inlet)| model.quotient(drop, inlet));
    let found = [
        (QuantityId::InletPressure, inlet),
        (QuantityId::OutletPressure, outlet),
        (QuantityId::PressureDrop, drop),
        (QuantityId::PressureLoss, loss),
    ];
    slots.extend(
        found
            .into_iter()
            .filter_map(|(quantity, slot)| Some((quantity, slot?))),
    );
}

/// The outlet that each run would have had at the baseline's inlet and cooling air:
/// T_ref,in − E (T_ref,in − T_ref,air), with the references fixed at their central values.
fn normalise(session: &Session, runs: &mut [Slots], model: &mut Builder) {
    let baseline: Vec<usize> = (0..runs.len())
        .filter(|&run| session.runs[run].cooler == session.baseline)
        .collect();
    let (mut inlets, mut airs) = (Vec::new(), Vec::new());
    for run in baseline {
        if let (Some(&inlet), true) = (
            runs[run].get(&QuantityId::InletSurface),
            runs[run].contains_key(&QuantityId::SurfaceEffectiveness),
        ) {
            inlets.push(inlet);
            airs.push(model.declared(session.runs[run].conditions.air_at_face()));
        }
    }
    let outlet = QuantityId::OutletSurfaceNormalised;
    normalised(
        &inlets,
        &airs,
        (QuantityId::SurfaceEffectiveness, outlet),
        runs,
        model,
    );
}

/// Gives every run with an effectiveness the outlet it would have had at the mean of the baseline's inlets and cooling
/// airs, which are fixed at their central values: T_ref,in − E (T_ref,in − T_ref,air).
pub(super) fn normalised(
    inlets: &[Slot],
    airs: &[Slot],
    (effectiveness, outlet): (QuantityId, QuantityId),
    runs: &mut [Slots],
    model: &mut Builder,
) {
    if inlets.is_empty() {
        return;
    }
    let (inlet, air) = (model.mean(inlets), model.mean(airs));
    let (inlet, air) = (model.frozen(inlet), model.frozen(air));
    let available = model.difference(inlet, air);
    for slots in runs {
        if let Some(&effectiveness) = slots.get(&effectiveness) {
            let drop = model.product(effectiveness, available);
            slots.insert(outlet, model.difference(inlet, drop));
        }
    }
}

/// The drifts that can be told from the coolers, by quantity.
fn trends(
    session: &Session,
    runs: &[Slots],
    times: &[f64],
    model: &Builder,
) -> BTreeMap<QuantityId, Trend> {
    let central = model.central();
    let trend = |id: &QuantityId| {
        let known: Vec<_> = session
            .runs
            .iter()
            .zip(runs)
            .zip(times)
            .enumerate()
            .filter_map(|(index, ((run, slots), &time))| {
                Some((index, run.cooler, time, central.get(*slots.get(id)?)?))
            })
            .collect();
        Trend::of(&known)
    };
    QuantityId::ALL
        .iter()
        .filter_map(|id| Some((*id, trend(id)?)))
        .collect()
}

/// A cooler's quantities: the mean over its runs that have each.
fn cooler_means(
    session: &Session,
    runs: &[Slots],
    trends: &BTreeMap<QuantityId, Trend>,
    cooler: usize,
    model: &mut Builder,
) -> Slots {
    let mut found: BTreeMap<QuantityId, Vec<Slot>> = BTreeMap::new();
    for (_, slots) in session
        .runs
        .iter()
        .zip(runs)
        .filter(|(run, _)| run.cooler == cooler)
    {
        for (&quantity, &slot) in slots {
            found.entry(quantity).or_default().push(slot);
        }
    }
    found
        .into_iter()
        .map(|(quantity, slots)| {
            // Its own gain against itself is nothing, to the last digit.
            let itself = quantity == QuantityId::DensityGain && cooler == session.baseline;
            let mean = if itself {
                model.constant(0.0)
            } else {
                let value = |run: usize| runs.get(run)?.get(&quantity).copied();
                trends
                    .get(&quantity)
                    .and_then(|trend| trend.level(cooler, value, model))
                    .unwrap_or_else(|| model.mean(&slots))
            };
            (quantity, mean)
        })
        .collect()
}
