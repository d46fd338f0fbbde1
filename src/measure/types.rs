//! What a region's pixels say, before any correction.

use std::sync::Arc;

use schemars::JsonSchema;
use serde::Serialize;

use crate::load::{Captured, PaletteReading};
use crate::radiometry::Detector;

/// Plain statistics of the shown temperatures over a region's valid pixels, °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Shown {
    /// Arithmetic mean.
    pub mean: f64,
    /// Least.
    pub min: f64,
    /// Greatest.
    pub max: f64,
    /// Middle value; of an even number the mean of the two in the middle.
    pub median: f64,
    /// Population standard deviation.
    pub std: f64,
    /// 5th percentile, linearly interpolated.
    pub p05: f64,
    /// 95th percentile, linearly interpolated.
    pub p95: f64,
}

/// A region's measurement: all that later stages need, so that the picture can be dropped.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// Valid pixels; at least 1.
    pub pixels: usize,
    /// Pixels left out because they hold no temperature.
    pub invalid_pixels: usize,
    /// Statistics of the shown temperatures.
    pub shown: Shown,
    /// The mean (or median, or maximum) of the pixels' signals at their shown temperatures, in the detector's unit.
    pub signal: f64,
    /// Fewer than 9 valid pixels or narrower than 3.
    pub small: bool,
    /// A part of the outline lies outside the picture.
    pub cut: bool,
    /// How far the outermost ring moves the mean, K, where it differs from the inside by more than its spread explains.
    pub edge_shift: Option<f64>,
    /// Valid pixels at the end of the instrument's range, or of a palette picture's bar.
    pub clipped: usize,
    /// Of a palette picture, what else its colours say.
    pub palette: Option<PaletteReading>,
}

/// The measurements of one snapshot, region by region.
#[derive(Debug, Clone)]
pub struct PictureMeasurement {
    /// Index of the run in the session.
    pub run: usize,
    /// Index of the snapshot in the run.
    pub snapshot: usize,
    /// SHA-256 of the file's bytes, in lower-case hexadecimal.
    pub sha256: String,
    /// The detector that the signals belong to.
    pub detector: Arc<Detector>,
    /// Whether the picture holds raw signal rather than temperatures, so that no setting stands behind it.
    pub raw: bool,
    /// What was inferred about the pixels for want of a statement, in a sentence.
    pub assumed: Option<String>,
    /// How its colour bar was found, in a sentence, where it had to be.
    pub bar_found: Option<String>,
    /// When it was taken, where the file says.
    pub captured: Option<Captured>,
    /// How many pictures the file holds; one of them was read.
    pub pages: usize,
    /// In the order of the snapshot's regions.
    pub regions: Vec<Measurement>,
}

impl Shown {
    /// Of a single number, °C.
    #[must_use]
    pub const fn of_one(celsius: f64) -> Self {
        Self {
            mean: celsius,
            min: celsius,
            max: celsius,
            median: celsius,
            std: 0.0,
            p05: celsius,
            p95: celsius,
        }
    }
}
