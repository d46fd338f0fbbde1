//! What each reading's skin mirrors.

use super::Reading;
use super::reading::Source;
use crate::model::{Builder, Slot};
use crate::session::{Role, Run, Session};
use crate::units::Law;

/// Where the reflected temperature is not stated it is assumed to lie from this much below the ambient …, K.
const ASSUMED_BELOW: f64 = 5.0;

/// … to this much above it, K: a workshop with warm machines about has more above than below.
const ASSUMED_ABOVE: f64 = 15.0;

/// Gives every reading its reflected temperature: its region's own, else the run's (or the session's), else that of the
/// reflectors in the same snapshot, else one assumed about the ambient. What is stated is never overruled.
pub(super) fn assign(session: &Session, readings: &mut [Reading], model: &mut Builder) {
    let reflectors: Vec<(usize, Source, Slot)> = readings
        .iter()
        .filter(|reading| reading.role == Role::Reflector)
        .map(|reading| {
            (
                reading.run,
                reading.source,
                model.temperature(reading.detector, reading.leaving),
            )
        })
        .collect();
    for reading in readings
        .iter_mut()
        .filter(|reading| reading.role != Role::Reflector)
    {
        let beside: Vec<Slot> = reflectors
            .iter()
            .filter(|(run, source, _)| {
                *run == reading.run && same_snapshot(*source, reading.source)
            })
            .map(|&(_, _, slot)| slot)
            .collect();
        let run = &session.runs[reading.run];
        let stated = reading
            .own_reflected
            .as_ref()
            .or(run.conditions.reflected.as_ref());
        reading.reflected = Some(match (stated, beside.as_slice()) {
            (Some(stated), _) => model.declared(stated),
            (None, []) => {
                reading.reflected_assumed = true;
                assumed(run, model)
            }
            (None, beside) => model.mean(beside),
        });
    }
}

fn same_snapshot(a: Source, b: Source) -> bool {
    match (a, b) {
        (Source::Region { snapshot: a, .. }, Source::Region { snapshot: b, .. }) => a == b,
        _ => false,
    }
}

/// Ambient plus an excess that is an input of its own, the same for the whole session: it is one workshop.
fn assumed(run: &Run, model: &mut Builder) -> Slot {
    let law = Law::Rectangular {
        low: -ASSUMED_BELOW,
        high: ASSUMED_ABOVE,
    };
    let excess = model.input(
        "conditions.reflected above ambient (assumed)",
        0.5 * (ASSUMED_ABOVE - ASSUMED_BELOW),
        law,
    );
    let ambient = model.declared(&run.conditions.ambient);
    model.sum(ambient, excess)
}
