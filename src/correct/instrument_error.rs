//! What an instrument may read too high or too low, and how a reference of known temperature takes that out.
//!
//! The error acts on the apparent temperature t (°C), after the setting is undone, so that the stored setting changes
//! neither value nor interval:
//!
//! e(t) = M(t) \[(1 − x) u0 + x u1\] + d, with M(t) = max(absolute, relative × |t|) and x = (t − 20)/100 cut to \[0, 1\].
//!
//! u0 and u1 are even on \[−1, 1\] and shared by all readings of the instrument; d is even on ± drift, one for every
//! snapshot or pistol reading. The form is a judgement of this project: an offset and a gain that the data sheet's limits
//! hold at both ends of the range of interest.

use super::{Reading, Source, emissivity, reflected};
use crate::diagnostics::Problem;
use crate::measure::PictureMeasurement;
use crate::model::{Builder, DetectorSlot, Domain, Slot};
use crate::session::{
    Accuracy, Instrument, Region, Role, Run, Session, Snapshot, ThermalInstrument,
};
use crate::units::temperature::ZERO_CELSIUS;
use crate::units::{Dimension, Law};

/// Limits of the apparent temperature where the session states none: 2 °C or 2 %, whichever is greater.
const ASSUMED_ACCURACY: Accuracy = Accuracy {
    absolute: 2.0,
    relative: 0.02,
};

/// Limits of the change from one picture to the next where the session states none, K.
pub const ASSUMED_DRIFT: f64 = 0.5;

/// Where u0 holds alone, °C.
const LOW_END: f64 = 20.0;

/// From there to where u1 holds alone, K.
const REACH: f64 = 100.0;

/// What the instrument of a reading may err by at what it read, K: its accuracy, stated or assumed.
#[must_use]
pub fn instrument_limit(session: &Session, reading: &Reading) -> Option<f64> {
    let run = session.runs.get(reading.run)?;
    let instrument = match reading.source {
        Source::Region { snapshot, .. } => run.snapshots.get(snapshot)?.instrument,
        Source::Pistol(index) => run.pistols.get(index)?.instrument,
    };
    let thermal = session.instruments.get(instrument)?.thermal()?;
    Some(accuracy_limit(thermal, reading.apparent - ZERO_CELSIUS))
}

/// What an instrument may err by at an apparent temperature of so many °C, K: its accuracy, stated or assumed.
#[must_use]
pub fn accuracy_limit(instrument: &ThermalInstrument, celsius: f64) -> f64 {
    instrument
        .accuracy
        .unwrap_or(ASSUMED_ACCURACY)
        .limit(celsius)
}

/// The instrument whose error, as a share of its limits, is the input at a place, and where on its scale:
/// `instrument.NAME.accuracy at 20 °C` is name and " at 20 °C", a gauge's has nothing behind the name.
#[must_use]
pub fn instrument_of(place: &str) -> Option<(&str, &str)> {
    place
        .strip_prefix("instrument.")?
        .rsplit_once(".accuracy")
        .filter(|(_, at)| at.is_empty() || at.starts_with(" at "))
}

/// Even on ± `half_width` about 0.
fn even(half_width: f64) -> Law {
    Law::Rectangular {
        low: -half_width,
        high: half_width,
    }
}

/// The apparent temperature, K, with the instrument's error: `central` is its value for M and x, `occasion` names the
/// snapshot or pistol reading that the drift belongs to.
pub(super) fn erring(
    model: &mut Builder,
    instrument: &Instrument,
    occasion: &str,
    apparent: Slot,
    central: f64,
) -> Slot {
    let Some(thermal) = instrument.thermal() else {
        return apparent;
    };
    let celsius = central - ZERO_CELSIUS;
    let limit = accuracy_limit(thermal, celsius);
    let share = ((celsius - LOW_END) / REACH).clamp(0.0, 1.0);
    let place = format!("instrument.{}.accuracy", instrument.name);
    let low = model.input(&format!("{place} at 20 °C"), 0.0, even(1.0), Domain::Any);
    let high = model.input(&format!("{place} at 120 °C"), 0.0, even(1.0), Domain::Any);
    let drift = model.input_of(
        Dimension::TemperatureDifference,
        &format!("{occasion} drift"),
        0.0,
        even(thermal.drift.unwrap_or(ASSUMED_DRIFT)),
        Domain::Any,
    );
    model.erring(
        apparent,
        [(low, limit * (1.0 - share)), (high, limit * share)],
        drift,
    )
}

/// What the regions of a picture show, in their order.
#[derive(Clone, Copy)]
pub(super) struct Seen<'a> {
    /// Apparent temperatures, K.
    pub(super) apparent: &'a [f64],
    /// The same in the model, with the palette's error.
    pub(super) slots: &'a [Slot],
}

/// What a palette may be off by in a region, half-widths on the apparent temperature, K.
#[derive(Debug, Clone, Copy)]
pub(super) struct PaletteError {
    /// The bar, the compression and the limits: all regions of a picture err together.
    pub(super) shared: f64,
    /// Pixels that could have two temperatures: each region errs alone.
    pub(super) undecided: f64,
}

/// An apparent temperature, K, as read from a picture: of a palette picture one even draw of the picture is scaled by the
/// region's half-width, and another one of the region.
pub(super) fn with_palette(
    model: &mut Builder,
    occasion: &str,
    region: &str,
    apparent: f64,
    error: Option<PaletteError>,
) -> Slot {
    let mut seen = model.constant(apparent);
    let Some(PaletteError { shared, undecided }) = error else {
        return seen;
    };
    let mut add = |id: String, half_width: f64| {
        let draw = model.input(&id, 0.0, even(1.0), Domain::Any);
        let scale = model.constant(half_width);
        let error = model.product(draw, scale);
        seen = model.sum(seen, error);
    };
    add(format!("{occasion} palette"), shared);
    if undecided > 0.0 {
        add(format!("{occasion} {region} palette"), undecided);
    }
    seen
}

/// What a snapshot's reference regions show the instrument to read too high, K; `None` where there are none.
///
/// Each reference's apparent temperature is compared with the one that its known temperature, its surface and what it
/// mirrors make; several are averaged.
///
/// # Errors
/// A reference whose surface has no stated emissivity.
pub(super) fn measured(
    session: &Session,
    run: &Run,
    picture: &PictureMeasurement,
    snapshot: &Snapshot,
    seen: Seen<'_>,
    model: &mut Builder,
) -> Result<Option<Slot>, Problem> {
    let detector = model.detector(picture.detector.clone());
    let mirrored = foil(snapshot, seen.apparent);
    let mut errors = Vec::new();
    for (region, &seen) in snapshot
        .regions
        .iter()
        .zip(seen.slots)
        .filter(|(region, _)| region.role == Role::Reference)
    {
        let expected = expected(session, run, region, mirrored, detector, model)?;
        errors.push(model.difference(seen, expected));
    }
    Ok((!errors.is_empty()).then(|| model.mean(&errors)))
}

/// The apparent temperature, K, that a reference of known temperature ought to show.
fn expected(
    session: &Session,
    run: &Run,
    region: &Region,
    mirrored: Option<f64>,
    detector: DetectorSlot,
    model: &mut Builder,
) -> Result<Slot, Problem> {
    let emissivity = region
        .surface
        .and_then(|surface| emissivity::stated(session, surface, run.cooler, model));
    let (Some(emissivity), Some(known)) = (emissivity, &region.temperature) else {
        return Err(Problem::at(
            region.span.clone(),
            format!(
                "reference `{}` has no surface with a stated emissivity",
                region.name
            ),
            "write surface = … on the reference and state that surface's emissivity",
        ));
    };
    let known = model.declared(known);
    let own = model.signal(detector, known);
    // As for any region the foil of the picture comes first. Its own error is not yet known here; of what a reference mirrors
    // it is a small part of a small part.
    let mirrored = match mirrored {
        Some(kelvin) => model.constant(kelvin),
        None => reflected::stated(run, region.reflected.as_ref(), model)
            .unwrap_or_else(|| reflected::assumed(run, model)),
    };
    let mirrored = model.signal(detector, mirrored);
    let ambient = model.declared(&run.conditions.ambient);
    let ambient = model.signal(detector, ambient);
    let transmittance = match &run.conditions.transmittance {
        Some(stated) => model.declared_in(stated, Domain::Share),
        None => model.constant(1.0),
    };
    let arriving = model.arriving(own, mirrored, emissivity, ambient, transmittance);
    Ok(model.temperature(detector, arriving))
}

/// What the snapshot's reflector regions show, K, as the instrument read it.
fn foil(snapshot: &Snapshot, apparent: &[f64]) -> Option<f64> {
    let foils: Vec<f64> = snapshot
        .regions
        .iter()
        .zip(apparent)
        .filter(|(region, _)| region.role == Role::Reflector)
        .map(|(_, &kelvin)| kelvin)
        .collect();
    (!foils.is_empty()).then(|| foils.iter().sum::<f64>() / foils.len() as f64)
}
