//! The quantities of each run and cooler, as steps of the model.

use std::collections::BTreeMap;

use crate::correct::Reading;
use crate::model::{Builder, Slot};
use crate::quantity::QuantityId;
use crate::session::{Declared, InstrumentKind, Role, Run, Session, Tank};
use crate::units::Law;

/// Standard atmosphere, Pa (ISO 2533), taken where the barometer is not stated.
const STANDARD_ATMOSPHERE: f64 = 101_325.0;

/// Limits of the assumed barometric pressure, Pa.
const BAROMETER_LIMITS: f64 = 3_000.0;

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
                slots.insert(QuantityId::IntakeAir, model.declared(sensor));
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
        let skins: Vec<Slot> = readings
            .iter()
            .filter(|reading| {
                reading.run == run && reading.role == Role::Tank && reading.tank == Some(tank)
            })
            .filter_map(|reading| reading.skin)
            .collect();
        if !skins.is_empty() {
            let quantity = match tank {
                Tank::Inlet => QuantityId::InletSurface,
                Tank::Outlet => QuantityId::OutletSurface,
            };
            slots.insert(quantity, model.mean(&skins));
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
    let air = cooling_air(&session.runs[run], model);
    let available = model.difference(inlet, air);
    slots.insert(
        QuantityId::SurfaceEffectiveness,
        model.quotient(drop, available),
    );
}

/// Air at the cooler's face: as stated, else the ambient (the very same input).
fn cooling_air(run: &Run, model: &mut Builder) -> Slot {
    model.declared(
        run.conditions
            .cooling_air
            .as_ref()
            .unwrap_or(&run.conditions.ambient),
    )
}

/// Absolute pressures at the taps, the drop between them and its share of the inlet's.
fn pressures(session: &Session, run: &Run, model: &mut Builder, slots: &mut Slots) {
    let inlet = run
        .pressure
        .inlet
        .as_ref()
        .map(|note| absolute(session, run, "inlet-pressure", note, model));
    let noted = run
        .pressure
        .outlet
        .as_ref()
        .map(|note| absolute(session, run, "outlet-pressure", note, model));
    let differential = run
        .differential_pressure
        .as_ref()
        .map(|note| model.declared(note));
    let outlet = noted.or_else(|| Some(model.difference(inlet?, differential?)));
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

/// A noted pressure as absolute: gauge notes have the barometer added.
fn absolute(session: &Session, run: &Run, key: &str, note: &Declared, model: &mut Builder) -> Slot {
    let noted = model.declared(note);
    if reads_absolute(session, key) {
        return noted;
    }
    let barometer = match &run.conditions.barometer {
        Some(stated) => model.declared(stated),
        None => {
            let law = Law::Rectangular {
                low: STANDARD_ATMOSPHERE - BAROMETER_LIMITS,
                high: STANDARD_ATMOSPHERE + BAROMETER_LIMITS,
            };
            model.input("conditions.barometer (assumed)", STANDARD_ATMOSPHERE, law)
        }
    };
    model.sum(noted, barometer)
}

/// Whether the gauge that reads a note reads absolute pressures.
pub(super) fn reads_absolute(session: &Session, key: &str) -> bool {
    session
        .instruments
        .iter()
        .any(|instrument| match &instrument.kind {
            InstrumentKind::Gauge(gauge) => {
                gauge.absolute && gauge.measures.iter().any(|measured| measured == key)
            }
            InstrumentKind::Thermal(_) => false,
        })
}

/// Whether a run's absolute pressures rest on an assumed barometer.
pub(super) fn assumes_barometer(session: &Session, run: &Run) -> bool {
    let gauge = |note: &Option<Declared>, key| note.is_some() && !reads_absolute(session, key);
    run.conditions.barometer.is_none()
        && (gauge(&run.pressure.inlet, "inlet-pressure")
            || gauge(&run.pressure.outlet, "outlet-pressure"))
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
            airs.push(cooling_air(&session.runs[run], model));
        }
    }
    if inlets.is_empty() {
        return;
    }
    let (inlet, air) = (model.mean(&inlets), model.mean(&airs));
    let central = model.central();
    let (Some(inlet), Some(air)) = (central.get(inlet), central.get(air)) else {
        return;
    };
    let (inlet, available) = (model.constant(inlet), model.constant(inlet - air));
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
