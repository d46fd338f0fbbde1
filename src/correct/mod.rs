//! Stage 4: from signals to skin temperatures.
//!
//! Undoes the instrument's own setting, then lays out for every reading the measurement equation of ISO 18434-1,
//!
//! S_in = τ \[ε S(T_s) + (1 − ε) S(T_refl)\] + (1 − τ) S(T_ambient)
//!
//! solved for the skin temperature T_s, as steps of the model. A reflected temperature may be declared or come from a
//! reflector region of the same snapshot; an emissivity may be declared or solved from a patch or a contact probe.

mod emissivity;
mod explain;
mod instrument_error;
pub(crate) mod notes;
mod origin;
mod poor_evidence;
mod reading;
mod reflected;
mod setting;

pub use instrument_error::{ASSUMED_DRIFT, accuracy_limit, instrument_limit, instrument_of};
pub use origin::{EmissivityOrigin, emissivity_origin};
pub use reading::{Reading, Source};
pub use setting::stored_signal;

use crate::diagnostics::Problem;
use crate::measure::PictureMeasurement;
use crate::model::{Builder, DetectorSlot, Slot};
use crate::radiometry::Detector;
use crate::session::{PerTank, Role, Session, Tank};
use emissivity::Emissivities;
use std::sync::Arc;

/// The readings of a session as nodes of a model.
#[derive(Debug)]
pub struct Corrected {
    /// The model so far; later stages add to it.
    pub model: Builder,
    /// Regions and pistol readings in the order of the session: run by run, first the pictures.
    pub readings: Vec<Reading>,
    /// For every cooler the emissivities of its tanks' own surfaces, where they are known and the wall is stated, so that
    /// the heat through it is asked for.
    pub tanks: Vec<PerTank<Option<Slot>>>,
}

/// What each instrument's signal is worked out with.
#[derive(Debug, Clone)]
pub struct Detectors {
    /// By instrument, its spectral band; `None` for gauges.
    pub bands: Vec<Option<Arc<Detector>>>,
}

/// Corrects all readings of a session.
///
/// `pictures` are the measurements of all snapshots, in the order of the session.
///
/// # Errors
/// Every reading that has no solution, and every emissivity that cannot be solved, with its place in the session.
pub fn correct(
    session: &Session,
    pictures: &[PictureMeasurement],
    detectors: &Detectors,
) -> Result<Corrected, Vec<Problem>> {
    let mut model = Builder::default();
    let mut readings = reading::gather(session, pictures, detectors, &mut model)?;
    reflected::assign(session, &mut readings, &mut model);
    let emissivities = Emissivities::solve(session, &readings, &mut model)?;
    for reading in &mut readings {
        lay_out_skin(session, &emissivities, reading, &mut model);
    }
    let problems = explain::unsolved(session, &readings, &emissivities, &model);
    let tanks = own_emissivities(session, &emissivities, &mut model);
    if problems.is_empty() {
        Ok(Corrected {
            model,
            readings,
            tanks,
        })
    } else {
        Err(problems)
    }
}

/// The emissivities of the tanks' own surfaces with a stated wall, by cooler.
fn own_emissivities(
    session: &Session,
    emissivities: &Emissivities,
    model: &mut Builder,
) -> Vec<PerTank<Option<Slot>>> {
    let mut found = Vec::new();
    for (index, cooler) in session.coolers.iter().enumerate() {
        let mut tanks = PerTank::default();
        for tank in Tank::BOTH {
            let surface = cooler.surface(tank);
            if session.surfaces[surface].wall.is_some() {
                *tanks.get_mut(tank) = emissivities.of(session, surface, index, model);
            }
        }
        found.push(tanks);
    }
    found
}

/// The skin temperature of a reading, where its surface is known.
fn lay_out_skin(
    session: &Session,
    emissivities: &Emissivities,
    reading: &mut Reading,
    model: &mut Builder,
) {
    let Some(surface) = reading.surface else {
        return;
    };
    let Some(emissivity) = emissivities.of(session, surface, reading.cooler, model) else {
        return;
    };
    let Some(reflected) = reading.reflected else {
        return;
    };
    reading.emissivity = Some(emissivity);
    let skin = skin(
        model,
        reading.detector,
        reading.leaving,
        reflected,
        emissivity,
    );
    reading.skin = (reading.role != Role::Reflector).then_some(skin);
}

/// The skin temperature, K, from the signal that leaves it.
fn skin(
    model: &mut Builder,
    detector: DetectorSlot,
    leaving: Slot,
    reflected: Slot,
    emissivity: Slot,
) -> Slot {
    let mirrored = model.signal(detector, reflected);
    let own = model.skin_signal(leaving, mirrored, emissivity);
    model.temperature(detector, own)
}
