//! What makes single readings less trustworthy: the cautions of readings and instrument, in the words of the options.

use super::draft::{AMBIENT, Draft};
use crate::caution::{Caution, CautionId};
use crate::outcome::Outcome;
use crate::session::{InstrumentKind, Session};

/// The cautions of an outcome that concern its readings, and what was assumed of the options.
///
/// What is said of coolers, tanks and runs is of the placeholders that the readings hang on, and left out.
pub(super) fn of(session: &Session, outcome: &Outcome, draft: &Draft) -> Vec<Caution> {
    let mut found = Vec::new();
    for caution in &outcome.results.cautions {
        let place = match caution.place.strip_prefix("read, ") {
            Some("pistol, inlet") => "pistol",
            Some(place) => place,
            None if caution.place.starts_with("instrument.") => "instrument",
            None => continue,
        };
        let mut caution = Caution {
            place: place.to_owned(),
            ..caution.clone()
        };
        if let Some(advice) = advice(&caution) {
            caution.advice = advice.to_owned();
        }
        found.push(caution);
    }
    if let Some(caution) = ambient_assumed(session, draft) {
        found.push(caution);
    }
    found.extend(limits_assumed(session, draft));
    found
}

/// Advice that names options instead of a session's keys.
fn advice(caution: &Caution) -> Option<&'static str> {
    match caution.id {
        CautionId::FirstPage => Some("Give --page N."),
        CautionId::SettingAssumed if caution.advice.contains("colour-bar") => {
            Some("Check that the box is the bar; give --colour-bar X,Y,W,H where it is not.")
        }
        CautionId::SettingAssumed if caution.advice.contains("`pixels`") => {
            Some("Give --pixels-unit, for instance --pixels-unit °C.")
        }
        CautionId::SettingAssumed => Some("Read the setting off the instrument: --set-reflected."),
        CautionId::ReflectedAssumed => {
            Some("Read crumpled foil beside the surface at emissivity 1 and give --reflected.")
        }
        CautionId::AccuracyAssumed => {
            Some("Give --accuracy, copied from the instrument's data sheet.")
        }
        _ => None,
    }
}

/// The ambient stands in for what is not stated and is what the air path radiates; else it does not matter.
fn ambient_assumed(session: &Session, draft: &Draft) -> Option<Caution> {
    if draft.ambient_stated {
        return None;
    }
    let conditions = &session.runs.first()?.conditions;
    let setting = session.instruments.iter().any(|one| match &one.kind {
        InstrumentKind::Thermal(thermal) => {
            thermal.reflected.is_none() && thermal.emissivity.is_some_and(|setting| setting < 1.0)
        }
        InstrumentKind::Gauge(_) => false,
    });
    let air = conditions.transmittance.as_ref();
    let matters =
        setting || conditions.reflected.is_none() || air.is_some_and(|air| air.value < 1.0);
    let message = format!("ambient not stated; {AMBIENT} taken");
    matters.then(|| {
        let mut caution = Caution::new(CautionId::SettingAssumed, "surroundings", message);
        caution.advice = "Give --ambient: the temperature of the air in the shop.".to_owned();
        caution
    })
}

/// The options that were written without limits.
fn limits_assumed(session: &Session, draft: &Draft) -> Option<Caution> {
    let mut assumed: Vec<String> = Vec::new();
    for declared in session.declared() {
        let origin = draft.origin(&declared.span);
        if let Some(origin) = origin.filter(|_| declared.limits_assumed) {
            assumed.push(format!("{} {}", origin.option, declared.written));
        }
    }
    (!assumed.is_empty()).then(|| {
        let message = format!(
            "written without limits, half a unit of the last digit taken: {}",
            assumed.join(", ")
        );
        Caution::new(CautionId::LimitsAssumed, "options", message)
    })
}
