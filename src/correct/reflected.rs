//! What each reading's skin mirrors.

use super::Reading;
use super::reading::Source;
use crate::model::{Builder, Domain, Slot};
use crate::session::{Declared, Role, Run, Session};
use crate::units::{Dimension, Law};

/// Where the reflected temperature is not stated it is assumed to lie from this much below the ambient …, K.
const ASSUMED_BELOW: f64 = 5.0;

/// … to this much above it, K: a workshop with warm machines about has more above than below.
const ASSUMED_ABOVE: f64 = 15.0;

/// Gives every reading its reflected temperature: what a reflector of the same snapshot shows, because it was there in that
/// very picture; else its own, else the run's (or the session's), else assumed about the ambient.
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
        if !beside.is_empty() {
            reading.reflected = Some(model.mean(&beside));
            continue;
        }
        let run = &session.runs[reading.run];
        let stated = stated(run, reading.own_reflected.as_ref(), model);
        reading.reflected_assumed = stated.is_none();
        reading.reflected = Some(stated.unwrap_or_else(|| assumed(run, model)));
    }
}

/// The reflected temperature that the session states for a reading: its own, else its run's.
pub(super) fn stated(run: &Run, own: Option<&Declared>, model: &mut Builder) -> Option<Slot> {
    own.or(run.conditions.reflected.as_ref())
        .map(|stated| model.declared(stated))
}

fn same_snapshot(a: Source, b: Source) -> bool {
    match (a, b) {
        (Source::Region { snapshot: a, .. }, Source::Region { snapshot: b, .. }) => a == b,
        _ => false,
    }
}

/// Ambient plus an excess that is an input of its own, the same for the whole session: it is one workshop.
pub(super) fn assumed(run: &Run, model: &mut Builder) -> Slot {
    let law = Law::Rectangular {
        low: -ASSUMED_BELOW,
        high: ASSUMED_ABOVE,
    };
    let excess = model.input_of(
        Dimension::TemperatureDifference,
        "conditions.reflected above ambient (assumed)",
        0.5 * (ASSUMED_ABOVE - ASSUMED_BELOW),
        law,
        Domain::Any,
    );
    let ambient = model.declared(&run.conditions.ambient);
    model.sum(ambient, excess)
}
