//! How far a reading from a palette picture may lie from what the instrument showed.
//!
//! The parts, each as a half-width, are joined as roots of sums of squares (GUM 5.1.2):
//! - half of how far the colour reaches along the bar: at least half a pixel of it;
//! - the doubt of the bar's own colours there, twice their standard deviation before they are smoothed;
//! - what compression does to the mean of a block (half a step of that mean), along the bar's direction;
//! - the noise of single pixels, twice its standard deviation, over the root of how many are independent: every pixel of a
//!   picture without loss, every block of 8 × 8 of one with;
//! - the limits' own half-widths, in the proportion in which the reading lies between them.

use super::lab::{self, Levels};
use super::locus::Locus;
use super::loss::Loss;

/// Entries of the table, evenly along the bar.
const ENTRIES: usize = 512;

/// The bar's blocks and the region's err, and each by the next coefficients too.
const BOTH: f32 = 2.0;

/// Standard deviations of the bar's colours: smoothed they err less, mixed with what lies beside the bar more.
const OF_BAR: f32 = 2.0;

/// Pixels that share a block of a compressed picture, and with it their error.
const BLOCK: f64 = 64.0;

/// Half-widths along the bar.
#[derive(Debug, Clone)]
pub(super) struct Doubt {
    /// What all pixels of one colour share, as a share of the bar.
    shared: Vec<f32>,
    /// What single pixels differ by, as a share of the bar.
    single: Vec<f32>,
    /// Pixels with one error of their own.
    block: f64,
}

impl Doubt {
    pub(super) fn of(locus: &Locus, noise: f32, pixel_noise: f32, loss: Option<Loss>) -> Self {
        let places = (0..ENTRIES).map(|entry| entry as f32 / (ENTRIES - 1) as f32);
        let (shared, single) = places
            .map(|place| {
                let slope = locus.slope(place).max(1e-3);
                let block = loss.map_or(0.0, |loss| BOTH * along_bar(locus, place, loss));
                let parts = [
                    locus.half(place),
                    (OF_BAR * noise / slope).min(1.0),
                    (block / slope).min(1.0),
                ];
                let squares: f32 = parts.iter().map(|part| part * part).sum();
                (squares.sqrt(), (2.0 * pixel_noise / slope).min(1.0))
            })
            .unzip();
        Self {
            shared,
            single,
            block: if loss.is_some() { BLOCK } else { 1.0 },
        }
    }

    /// The half-width of a mean, as a share of the bar, of pixels at places with how many there are at each.
    pub(super) fn of_mean(&self, places: impl Iterator<Item = (f64, usize)>) -> f64 {
        let (mut shared, mut single, mut count) = (0.0, 0.0, 0.0);
        for (place, pixels) in places {
            // Places are from 0 to 1.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let entry = (place.clamp(0.0, 1.0) * (ENTRIES - 1) as f64).round() as usize;
            let of = |table: &[f32]| f64::from(table.get(entry).copied().unwrap_or(0.0));
            shared += of(&self.shared) * pixels as f64;
            single += of(&self.single) * pixels as f64;
            count += pixels as f64;
        }
        if count == 0.0 {
            return 0.0;
        }
        let independent = (count / self.block).max(1.0);
        (shared / count).hypot(single / count / independent.sqrt())
    }
}

/// How far a block's mean may move along the bar's direction, in the space of the line.
fn along_bar(locus: &Locus, place: f32, loss: Loss) -> f32 {
    let direction = locus.direction(place);
    let levels = locus.levels_at(place);
    let steps: [Levels; 3] = [
        [loss.brightness(), 0.0, 0.0],
        [0.0, loss.colour(), 0.0],
        [0.0, 0.0, loss.colour()],
    ];
    let moved = |step: Levels| {
        let there = [0, 1, 2].map(|part| levels[part] + step[part]);
        let here = locus.space.of_levels(levels);
        lab::dot(lab::minus(locus.space.of_levels(there), here), direction)
    };
    let squares: f32 = steps.into_iter().map(|step| moved(step).powi(2)).sum();
    squares.sqrt()
}
