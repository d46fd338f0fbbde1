//! From a place along the bar to the temperature it stands for.

use super::super::LoadError;
use crate::radiometry::Detector;
use crate::session::{BarLaw, Declared};
use crate::units::Law;

/// Steps of the table of a bar that is even in signal: between them the temperature is as good as straight.
const STEPS: usize = 1024;

/// The temperatures along a bar.
#[derive(Debug, Clone)]
pub(super) struct Ladder {
    /// K at the cold and the hot end.
    pub(super) ends: [f64; 2],
    /// Half-widths of the two limits, K.
    halves: [f64; 2],
    /// K at even places, where the bar is even in signal.
    table: Option<Vec<f64>>,
}

impl Ladder {
    /// # Errors
    /// Limits that do not rise, or a bar even in signal without a detector to say what that is.
    pub(super) fn new(
        low: &Declared,
        high: &Declared,
        law: BarLaw,
        detector: Option<&Detector>,
    ) -> Result<Self, LoadError> {
        let ends = [low.value, high.value];
        // Infinite and unknown limits are in no order either.
        let rising = ends[1] - ends[0] > 0.0 && (ends[1] - ends[0]).is_finite();
        if !rising {
            return Err(LoadError::new(
                format!(
                    "the bar's hot end is {}, not above its cold end, which is {}",
                    high.written, low.written
                ),
                "Write the limits `low` and `high` as printed at the bar's ends.",
            ));
        }
        let table = match (law, detector) {
            (BarLaw::Temperature, _) => None,
            (BarLaw::Signal, Some(detector)) => Some(even_in_signal(ends, detector)),
            (BarLaw::Signal, None) => {
                return Err(LoadError::new(
                    "the bar is even in signal, but its instrument has no spectral band",
                    "Write a camera as its instrument, or bar-law = \"temperature\".",
                ));
            }
        };
        Ok(Self {
            ends,
            halves: [half_width(low), half_width(high)],
            table,
        })
    }

    /// From the cold to the hot end, K.
    pub(super) fn span(&self) -> f64 {
        self.ends[1] - self.ends[0]
    }

    /// The temperature at a place, K.
    pub(super) fn kelvin(&self, place: f64) -> f64 {
        match &self.table {
            None => self.ends[0] + place * self.span(),
            Some(table) => {
                let at = place.clamp(0.0, 1.0) * STEPS as f64;
                // From 0 to STEPS.
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                let below = (at as usize).min(STEPS - 1);
                match table.get(below..below + 2) {
                    Some(&[from, to]) => from + (at - below as f64) * (to - from),
                    _ => f64::NAN,
                }
            }
        }
    }

    /// The place of a temperature.
    pub(super) fn place(&self, kelvin: f64) -> f64 {
        match &self.table {
            None => (kelvin - self.ends[0]) / self.span(),
            Some(table) => {
                let next = table.partition_point(|&at| at < kelvin).clamp(1, STEPS);
                match table.get(next - 1..=next) {
                    Some(&[from, to]) => {
                        (next as f64 - 1.0 + (kelvin - from) / (to - from)) / STEPS as f64
                    }
                    _ => f64::NAN,
                }
            }
        }
    }

    /// K that a small step along the bar is worth at a place, over the step.
    pub(super) fn rate(&self, place: f64) -> f64 {
        let reach = 0.01;
        let (from, to) = ((place - reach).max(0.0), (place + reach).min(1.0));
        (self.kelvin(to) - self.kelvin(from)) / (to - from)
    }

    /// Half-width at a place from those of the two limits, K; as of two ends that err the same way.
    pub(super) fn of_limits(&self, place: f64) -> f64 {
        let place = place.clamp(0.0, 1.0);
        (1.0 - place) * self.halves[0] + place * self.halves[1]
    }
}

fn even_in_signal(ends: [f64; 2], detector: &Detector) -> Vec<f64> {
    let [low, high] = ends.map(|kelvin| detector.signal(kelvin));
    let inner = (1..STEPS).map(|step| {
        let share = step as f64 / STEPS as f64;
        detector.temperature(low + share * (high - low))
    });
    std::iter::once(ends[0])
        .chain(inner)
        .chain([ends[1]])
        .collect()
}

/// Half-width of an even law as wide as a declared one.
pub(super) fn half_width(declared: &Declared) -> f64 {
    match declared.law {
        Law::Exact => 0.0,
        Law::Rectangular { low, high } => 0.5 * (high - low),
        // Of the same standard deviation (GUM 4.3.7).
        Law::Normal { standard } => 3.0_f64.sqrt() * standard,
        Law::Factor { factor } => 0.5 * declared.value * (factor - 1.0 / factor),
    }
}
