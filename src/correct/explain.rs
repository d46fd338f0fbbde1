//! Why a reading has no solution, in the technician's terms.

use super::Reading;
use super::emissivity::Emissivities;
use super::poor_evidence;
use super::reading::Source;
use crate::diagnostics::Problem;
use crate::model::{Builder, Values};
use crate::session::{Emissivity, Session};
use crate::units::temperature::ZERO_CELSIUS;

/// Everything that has no solution at the central values.
pub(super) fn unsolved(
    session: &Session,
    readings: &[Reading],
    emissivities: &Emissivities,
    model: &Builder,
) -> Vec<Problem> {
    let central = model.central();
    let mut problems: Vec<Problem> = emissivities
        .solved()
        .filter_map(|(surface, cooler, slot)| {
            impossible_emissivity(session, surface, cooler, central.get(slot))
        })
        .collect();
    if problems.is_empty() {
        problems = poor_evidence::problems(session, readings, &central);
    }
    // Skins that rest on an impossible emissivity say nothing more.
    if problems.is_empty() {
        problems.extend(
            readings
                .iter()
                .filter_map(|reading| no_skin(session, reading, &central)),
        );
    }
    problems
}

fn impossible_emissivity(
    session: &Session,
    surface: usize,
    cooler: usize,
    found: Option<f64>,
) -> Option<Problem> {
    let entry = &session.surfaces[surface];
    let (span, from) = match &entry.emissivity {
        Emissivity::Stated(_) => return None,
        Emissivity::FromPatch(span) => (span, "patch"),
        Emissivity::FromContact(span) => (span, "contact probe"),
    };
    let found = match found {
        Some(found) if found > 0.0 && found <= 1.0 => return None,
        Some(found) => format!("comes out as {found:.2}, and it must be above 0 and at most 1"),
        None => format!("has no solution: the {from} is no warmer than what it mirrors"),
    };
    Some(Problem::at(
        span.clone(),
        format!(
            "the emissivity of `{}` on {} from its {from} {found}",
            entry.name, session.coolers[cooler].label
        ),
        format!(
            "check that the {from} and the tank's region beside it are on the same part of the tank and not swapped, that \
             the reflected temperature is right, and that the tank was well warmer than what it mirrors"
        ),
    ))
}

fn no_skin(session: &Session, reading: &Reading, central: &Values) -> Option<Problem> {
    if central.get(reading.skin?).is_some() {
        return None;
    }
    let apparent = reading.apparent - ZERO_CELSIUS;
    let emissivity = central.get(reading.emissivity?);
    let reflected = central.get(reading.reflected?);
    let (Some(emissivity), Some(reflected)) = (emissivity, reflected) else {
        return Some(Problem::at(
            reading.span.clone(),
            format!(
                "{} cannot be corrected: what it mirrors has no temperature",
                name(session, reading)
            ),
            "check the reflector region and the transmittance",
        ));
    };
    Some(Problem::at(
        reading.span.clone(),
        format!(
            "{} reads colder than what it mirrors: {apparent:.1} °C apparent, of which an emissivity of {emissivity:.2} \
             and a reflected temperature of {:.1} °C leave nothing for the skin",
            name(session, reading),
            reflected - ZERO_CELSIUS,
        ),
        if apparent < COLDEST_SHOP {
            "no workshop is that cold: check `pixels`, its unit, step and zero"
        } else {
            "check the emissivity, the reflected temperature and the region; bare metal needs matt tape or paint where it is read"
        },
    ))
}

/// Apparent temperatures below this are no skin's but a misread scale, °C.
const COLDEST_SHOP: f64 = -60.0;

/// What a reading is called in messages.
pub(super) fn name(session: &Session, reading: &Reading) -> String {
    let run = &session.runs[reading.run];
    match reading.source {
        Source::Region { snapshot, region } => {
            let snapshot = &run.snapshots[snapshot];
            format!(
                "region `{}` of {} ({})",
                snapshot.regions[region].name, snapshot.file, run.name
            )
        }
        Source::Pistol(index) => format!(
            "the pistol reading of the {} tank ({})",
            run.pistols[index].tank.word(),
            run.name
        ),
    }
}
