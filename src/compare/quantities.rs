//! The quantities of each run and cooler, as steps of the model.

use std::collections::BTreeMap;

use super::notes;
use crate::correct::Reading;
use crate::model::{Builder, Domain, Slot};
use crate::quantity::QuantityId;
use crate::session::{Declared, Role, Run, Session, Tank};
use crate::units::Law;

/// Slots of quantities.
pub(super) type Slots = BTreeMap<QuantityId, Slot>;

/// Quantities of every run and every cooler.
#[derive(Debug)]
pub(super) struct Quantities {
    runs: Vec<Slots>,
    coolers: Vec<Slots>,
}

impl Quantities {
    /// Adds all quantities to the model.
    pub(super) fn lay_out(session: &Session, readings: &[Reading], model: &mut Builder) -> Self {
        let mut runs: Vec<Slots> = Vec::new();
        for (index, run) in session.runs.iter().enumerate() {
            let mut slots = Slots::new();
            skins(session, readings, index, model, &mut slots);
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
        let coolers = (0..session.coolers.len())
            .map(|cooler| cooler_means(session, &runs, cooler, model))
            .collect();
        Self { runs, coolers }
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
    readings: &[Reading],
    run: usize,
    model: &mut Builder,
    slots: &mut Slots,
) {
    for tank in Tank::BOTH {
        let skins: Vec<Slot> = of_tank(readings, run, tank)
            .filter_map(|reading| reading.skin)
            .collect();
        if !skins.is_empty() {
            let mean = model.mean(&skins);
            let stated = session.repeatability.temperature.as_ref();
            let read = |run| of_tank(readings, run, tank).next().is_some();
            let scatter = stated.filter(|_| !repeated(session, read));
            let name = format!("{}, {} skin", session.runs[run].name, tank.word());
            slots.insert(tank.skin(), with_scatter(mean, scatter, &name, model));
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

/// A run's readings of a tank.
fn of_tank(readings: &[Reading], run: usize, tank: Tank) -> impl Iterator<Item = &Reading> {
    readings.iter().filter(move |reading| {
        reading.run == run && reading.role == Role::Tank && reading.tank == Some(tank)
    })
}

/// Whether any cooler has something in more than one run, so that its scatter between holds shows by itself.
fn repeated(session: &Session, has: impl Fn(usize) -> bool) -> bool {
    let runs_with = |cooler: usize| {
        let runs = session.runs.iter().enumerate();
        runs.filter(|(index, run)| run.cooler == cooler && has(*index))
            .count()
    };
    (0..session.coolers.len()).any(|cooler| runs_with(cooler) > 1)
}

/// A figure of one run with the stated scatter between holds: an independent normal of its own.
fn with_scatter(slot: Slot, stated: Option<&Declared>, name: &str, model: &mut Builder) -> Slot {
    let Some(stated) = stated else { return slot };
    let place = format!("{} ({name})", stated.place);
    let scatter = model.input_of(
        stated.dimension,
        &place,
        0.0,
        Law::Normal {
            standard: stated.value,
        },
        Domain::Any,
    );
    model.sum(slot, scatter)
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
    if inlets.is_empty() {
        return;
    }
    let (inlet, air) = (model.mean(&inlets), model.mean(&airs));
    let (inlet, air) = (model.frozen(inlet), model.frozen(air));
    let available = model.difference(inlet, air);
    for slots in runs {
        if let Some(&effectiveness) = slots.get(&QuantityId::SurfaceEffectiveness) {
            let drop = model.product(effectiveness, available);
            slots.insert(
                QuantityId::OutletSurfaceNormalised,
                model.difference(inlet, drop),
            );
        }
    }
}

/// A cooler's quantities: the mean over its runs that have each.
fn cooler_means(session: &Session, runs: &[Slots], cooler: usize, model: &mut Builder) -> Slots {
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
        .map(|(quantity, slots)| (quantity, model.mean(&slots)))
        .collect()
}
