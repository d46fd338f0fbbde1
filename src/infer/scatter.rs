//! The stated scatter between holds, where no cooler's runs show it by themselves.

use crate::correct::Reading;
use crate::model::{Builder, Domain, Slot};
use crate::session::{Declared, Role, Scatter, Session, Tank};
use crate::units::Law;

/// A run's readings of a tank.
pub(crate) fn of_tank(
    readings: &[Reading],
    run: usize,
    tank: Tank,
) -> impl Iterator<Item = &Reading> {
    readings.iter().filter(move |reading| {
        reading.run == run && reading.role == Role::Tank && reading.tank == Some(tank)
    })
}

/// Whether any cooler has something in more than one run, so that its scatter between holds shows by itself. What is not
/// measured yet shows nothing.
pub(crate) fn repeated(session: &Session, has: impl Fn(usize) -> bool) -> bool {
    if session.scatter == Scatter::Drawn {
        return false;
    }
    let runs_with = |cooler: usize| {
        let runs = session.runs.iter().enumerate();
        runs.filter(|(index, run)| run.cooler == cooler && has(*index))
            .count()
    };
    (0..session.coolers.len()).any(|cooler| runs_with(cooler) > 1)
}

/// A figure of one run with the stated scatter between holds: an independent normal of its own.
pub(crate) fn with_scatter(
    slot: Slot,
    stated: Option<&Declared>,
    name: &str,
    model: &mut Builder,
) -> Slot {
    let Some(stated) = stated else { return slot };
    let place = format!("{} ({name})", stated.place);
    let law = Law::Normal {
        standard: stated.value,
    };
    let scatter = model.input_of(stated.dimension, &place, 0.0, law, Domain::Any);
    model.sum(slot, scatter)
}

/// A run's temperature of a tank with the stated scatter, where no cooler has it from two runs.
pub(super) fn temperature(
    session: &Session,
    run: usize,
    slot: Slot,
    what: &str,
    has: &dyn Fn(usize) -> bool,
    model: &mut Builder,
) -> Slot {
    let stated = session.repeatability.temperature.as_ref();
    let stated = stated.filter(|_| !repeated(session, has));
    let name = format!("{}, {what}", session.runs[run].name);
    with_scatter(slot, stated, &name, model)
}
