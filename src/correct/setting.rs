//! Undoing the emissivity that the instrument was set to.

use crate::radiometry::Detector;
use crate::session::{Run, ThermalInstrument};

/// The signal of the temperature that an instrument of a run would store of what arrives at it.
#[must_use]
pub fn stored_signal(
    instrument: &ThermalInstrument,
    run: &Run,
    arriving: f64,
    detector: &Detector,
) -> f64 {
    Setting::of(instrument, run).apply(arriving, detector)
}

/// The setting behind stored temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Setting {
    /// Emissivity the instrument was set to.
    pub(super) emissivity: f64,
    /// Reflected temperature it was set to, K.
    pub(super) reflected: f64,
    /// Whether the reflected temperature is the run's ambient for want of a stated one, and plays a part.
    pub(super) assumed: bool,
}

impl Setting {
    pub(super) fn of(instrument: &ThermalInstrument, run: &Run) -> Self {
        let emissivity = instrument.emissivity.unwrap_or(1.0);
        Self {
            emissivity,
            reflected: instrument.reflected.unwrap_or(run.conditions.ambient.value),
            assumed: instrument.reflected.is_none() && emissivity < 1.0,
        }
    }

    /// The signal that arrived at the instrument, from the (mean) signal of the temperatures it stored:
    /// S_in = ε_i S(T_shown) + (1 − ε_i) S(T_refl,i). Linear in S, so the mean may be taken before.
    pub(super) fn undo(self, shown_signal: f64, detector: &Detector) -> f64 {
        self.emissivity * shown_signal + (1.0 - self.emissivity) * detector.signal(self.reflected)
    }

    /// The signal of the temperature that the instrument would store of what arrives: the way back.
    pub(super) fn apply(self, arriving: f64, detector: &Detector) -> f64 {
        (arriving - (1.0 - self.emissivity) * detector.signal(self.reflected)) / self.emissivity
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::radiometry::Band;
    use approx::assert_abs_diff_eq;

    #[test]
    fn undoing_the_setting_gives_back_what_arrived() {
        let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
        let arrived = detector.signal(318.0);
        for emissivity in [1.0, 0.95, 0.3] {
            let setting = Setting {
                emissivity,
                reflected: 295.0,
                assumed: false,
            };
            // What an instrument with this setting would store.
            let stored = setting.apply(arrived, &detector);
            let shown = detector.temperature(stored);
            assert_abs_diff_eq!(
                setting.undo(detector.signal(shown), &detector),
                arrived,
                epsilon = 1e-5
            );
        }
    }
}
