//! Patches and probes from which no emissivity can honestly be solved, though a number comes out.

use super::Reading;
use super::emissivity::snapshot;
use super::explain::name;
use super::instrument_error::instrument_limit;
use crate::diagnostics::Problem;
use crate::model::Values;
use crate::session::{Contact, Emissivity, Role, Session};
use crate::units::temperature::ZERO_CELSIUS;

/// A patch must be warmer than what it mirrors by so many times what the instrument may err by: below that most of the
/// difference that the emissivity is the ratio of may be the instrument's (a judgement of this project).
const TIMES: f64 = 3.0;

/// Two readings that differ by less than this, K, are not two surfaces but the same pixels: noise alone would part them.
const SAME: f64 = 1e-6;

/// Every patch and contact reading that emissivities are solved from and that says too little.
pub(super) fn problems(session: &Session, readings: &[Reading], central: &Values) -> Vec<Problem> {
    let patches = readings
        .iter()
        .filter(|reading| reading.role == Role::Patch)
        .filter_map(|patch| poor_patch(session, readings, patch, central));
    patches
        .chain(poor_contacts(session, readings, central))
        .collect()
}

fn poor_patch(
    session: &Session,
    readings: &[Reading],
    patch: &Reading,
    central: &Values,
) -> Option<Problem> {
    let tank = readings.iter().find(|tank| {
        tank.role == Role::Tank
            && (tank.run, tank.tank, snapshot(tank)) == (patch.run, patch.tank, snapshot(patch))
            && solved(session, tank, |way| matches!(way, Emissivity::FromPatch(_)))
    })?;
    if (patch.apparent - tank.apparent).abs() < SAME {
        return Some(Problem::at(
            patch.span.clone(),
            format!(
                "{} and the tank beside it read the same to the last digit, {:.1} °C apparent",
                name(session, patch),
                patch.apparent - ZERO_CELSIUS
            ),
            "check that the patch's region lies on the patch and the tank's beside it; where the tank really looks like its \
             patch, state the patch's emissivity for it",
        ));
    }
    let warmer = central.get(patch.skin?)? - central.get(patch.reflected?)?;
    let least = TIMES * instrument_limit(session, patch)?;
    (warmer < least && !patch.error_measured).then(|| {
        Problem::at(
            patch.span.clone(),
            format!(
                "{} is only {warmer:.1} K warmer than what it mirrors, and the instrument may err by {:.1} K: no emissivity \
                 can be told from that",
                name(session, patch),
                least / TIMES
            ),
            format!(
                "read the patch under load, at least {least:.0} K above what it mirrors; check the patch's emissivity and \
                 the reflected temperature"
            ),
        )
    })
}

/// Contact readings that are hardly warmer than what the skin beside them mirrors.
fn poor_contacts(session: &Session, readings: &[Reading], central: &Values) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (index, run) in session.runs.iter().enumerate() {
        for contact in &run.contacts {
            let beside = readings.iter().find(|reading| {
                reading.run == index
                    && reading.tank == Some(contact.tank)
                    && contact
                        .surface
                        .is_none_or(|surface| reading.surface == Some(surface))
                    && solved(session, reading, |way| {
                        matches!(way, Emissivity::FromContact(_))
                    })
            });
            let poor = beside.and_then(|skin| poor_contact(session, skin, contact, central));
            problems.extend(poor);
        }
    }
    problems
}

fn poor_contact(
    session: &Session,
    skin: &Reading,
    contact: &Contact,
    central: &Values,
) -> Option<Problem> {
    let warmer = contact.temperature.value - central.get(skin.reflected?)?;
    let least = TIMES * instrument_limit(session, skin)?;
    (warmer < least && !skin.error_measured).then(|| {
        Problem::at(
            contact.span.clone(),
            format!(
                "the {} tank's probe reads only {warmer:.1} K above what the skin mirrors, and the instrument may err by \
                 {:.1} K: no emissivity can be told from that",
                contact.tank.word(),
                least / TIMES
            ),
            format!(
                "read the tank under load, at least {least:.0} K above what it mirrors; check the reflected temperature"
            ),
        )
    })
}

/// Whether the emissivity of a reading's surface is solved in a way.
fn solved(session: &Session, reading: &Reading, way: impl Fn(&Emissivity) -> bool) -> bool {
    let surface = reading
        .surface
        .and_then(|surface| session.surfaces.get(surface));
    surface.is_some_and(|surface| way(&surface.emissivity))
}
