//! Pressures in sentences, in the unit that the run's gauges are noted in.

use crate::quantity::Unit;
use crate::session::Run;
use crate::units::PSI;

/// A pressure or a difference of pressures, Pa, as the technician would write it.
pub(super) fn told(run: &Run, pascal: f64) -> String {
    let notes = [
        run.pressure.inlet.as_ref(),
        run.pressure.outlet.as_ref(),
        run.differential_pressure.as_ref(),
    ];
    let noted = |unit| {
        let mut notes = notes.iter().flatten();
        notes.any(|note| Unit::of_note(&note.written) == Some(unit))
    };
    if noted(Unit::PoundPerSquareInch) {
        format!("{:.2} psi", pascal / PSI)
    } else if noted(Unit::Bar) {
        format!("{:.3} bar", pascal / 1e5)
    } else {
        format!("{:.2} kPa", pascal / 1e3)
    }
}
