//! Handwritten notes: a reading with limits of its own, and the error of the instrument that it was read from.

use crate::heat::air::STANDARD_ATMOSPHERE;
use crate::model::{Builder, Domain, Slot};
use crate::session::{Declared, Gauge, InstrumentKind, Run, Session};
use crate::units::temperature::ZERO_CELSIUS;
use crate::units::{Dimension, Law};

/// Limits of the assumed barometric pressure, Pa.
const BAROMETER_LIMITS: f64 = 3_000.0;

/// A noted pressure or difference of pressures as it was read, Pa, with its gauge's error.
pub(crate) fn pressure(session: &Session, key: &str, note: &Declared, model: &mut Builder) -> Slot {
    erring(session, key, note, note.value.abs(), model)
}

/// The noted air flow of a run, kg/s, with its meter's error.
pub(crate) fn air_flow(session: &Session, run: &Run, model: &mut Builder) -> Option<Slot> {
    let note = run.air_flow.as_ref()?;
    Some(erring(session, "air-flow", note, note.value.abs(), model))
}

/// A noted temperature, K, with its sensor's error; a relative accuracy is a share of the degrees Celsius.
pub(crate) fn temperature(
    session: &Session,
    key: &str,
    note: &Declared,
    model: &mut Builder,
) -> Slot {
    erring(session, key, note, (note.value - ZERO_CELSIUS).abs(), model)
}

/// Limits of a contact probe whose reading is written without limits and whose accuracy is not stated, K: class 2 of a
/// type K thermocouple (IEC 60584-1, MEMORY), which is what a workshop's probe commonly is (judgement).
pub(crate) const ASSUMED_CONTACT: f64 = 2.5;

/// A contact probe's reading of a skin, K: as noted with the error of the instrument that `measures` it; without one and
/// without limits of its own within [`ASSUMED_CONTACT`], one error for all such readings.
pub(crate) fn contact(session: &Session, note: &Declared, model: &mut Builder) -> Slot {
    let noted = temperature(session, "contact", note, model);
    if !contact_is_assumed(session, note) {
        return noted;
    }
    let law = Law::Rectangular {
        low: -ASSUMED_CONTACT,
        high: ASSUMED_CONTACT,
    };
    let error = model.input_of(
        Dimension::TemperatureDifference,
        "contact probe (assumed)",
        0.0,
        law,
        Domain::Any,
    );
    model.sum(noted, error)
}

/// Whether nothing says how well a contact reading is known.
pub(crate) fn contact_is_assumed(session: &Session, note: &Declared) -> bool {
    note.limits_assumed && gauge(session, "contact").is_none()
}

/// The note with the error of its gauge, whose limit is the greater of the absolute and the relative; a note that states
/// its own sensor has that one's instead.
fn erring(session: &Session, key: &str, note: &Declared, size: f64, model: &mut Builder) -> Slot {
    // Of what is noted only a flow must be above zero, by the reader's own rule: no draw may fall below.
    let domain = if key == "air-flow" {
        Domain::Positive
    } else {
        Domain::Any
    };
    let noted = model.declared_in(note, domain);
    if note.sensor.is_some() {
        return noted;
    }
    let Some((name, gauge)) = gauge(session, key) else {
        return noted;
    };
    let Some(accuracy) = gauge.accuracy else {
        return noted;
    };
    let place = format!("instrument.{name}.accuracy");
    model.with_error(noted, &place, accuracy.limit(size))
}

/// The gauge that reads a note.
fn gauge<'a>(session: &'a Session, key: &str) -> Option<(&'a str, &'a Gauge)> {
    session
        .instruments
        .iter()
        .find_map(|instrument| match &instrument.kind {
            InstrumentKind::Gauge(gauge)
                if gauge.measures.iter().any(|measured| measured == key) =>
            {
                Some((instrument.name.as_str(), gauge))
            }
            _ => None,
        })
}

/// A noted tap pressure as absolute, Pa: gauge readings have the barometer added.
pub(crate) fn absolute(
    session: &Session,
    run: &Run,
    key: &str,
    note: &Declared,
    model: &mut Builder,
) -> Slot {
    let noted = pressure(session, key, note, model);
    if reads_absolute(session, run, key) {
        return noted;
    }
    let barometer = barometer(run, model);
    model.sum(noted, barometer)
}

/// The barometric pressure of a run, Pa: as stated, else the standard atmosphere within limits.
pub(crate) fn barometer(run: &Run, model: &mut Builder) -> Slot {
    match &run.conditions.barometer {
        Some(stated) => model.declared(stated),
        None => {
            let (low, high) = (
                STANDARD_ATMOSPHERE - BAROMETER_LIMITS,
                STANDARD_ATMOSPHERE + BAROMETER_LIMITS,
            );
            let law = Law::Rectangular { low, high };
            model.input_of(
                Dimension::Pressure,
                "conditions.barometer (assumed)",
                STANDARD_ATMOSPHERE,
                law,
                Domain::Positive,
            )
        }
    }
}

/// Whether a run's pressure is absolute: as its log says where it is the log's, else as the gauge that reads the note.
fn reads_absolute(session: &Session, run: &Run, key: &str) -> bool {
    let log = run.log.as_ref();
    log.and_then(|log| log.reads_absolute(key))
        .unwrap_or_else(|| gauge(session, key).is_some_and(|(_, gauge)| gauge.absolute))
}

/// Whether a run's absolute pressures rest on an assumed barometer.
pub(crate) fn assumes_barometer(session: &Session, run: &Run) -> bool {
    let needs = |note: &Option<Declared>, key| note.is_some() && !reads_absolute(session, run, key);
    run.conditions.barometer.is_none()
        && (needs(&run.pressure.inlet, "inlet-pressure")
            || needs(&run.pressure.outlet, "outlet-pressure"))
}
