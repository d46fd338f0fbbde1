//! From a colour picture to places along its bar: which pixels are on it, off it, or could be two places.

use ndarray::Array2;

use super::cube::Cube;
use super::decode::Colours;
use super::lab::LEVEL;
use super::locus::Locus;
use super::riddles::{self, Riddle};
use super::strokes;

/// What became of a pixel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Mark {
    /// Its colour stands for one place along the bar.
    Sound,
    /// Its colour stands for two places; its surroundings decided.
    Decided,
    /// Its colour stands for two places, and nothing decides: it holds no temperature.
    Ambiguous,
    /// Its colour is not on the bar, or it touches what is not: it holds no temperature.
    OffBar,
}

/// Places along the bar, pixel by pixel.
pub(super) struct Places {
    /// From 0, cold, to 1, hot; NaN where a pixel has none.
    pub(super) places: Array2<f32>,
    /// What became of each pixel.
    pub(super) marks: Array2<Mark>,
    /// How far each colour lies from the bar's, thousandths of the way from black to white, cut at 255.
    pub(super) residuals: Array2<u8>,
    /// The two places that most of the ambiguous pixels could be.
    pub(super) alike: Option<[f32; 2]>,
    /// What stays ambiguous, by rows and columns.
    pub(super) open: Vec<Riddle>,
}

/// Colours farther from the bar than this many limits are drawn over the picture, not compressed badly: what touches them is
/// left out too.
const DRAWN: f32 = 2.0;

/// Finds every pixel's place.
pub(super) fn invert(colours: &Colours, locus: &Locus) -> Places {
    let shape = colours.pixels.raw_dim();
    let mut cube = Cube::new(locus);
    let mut places = Array2::from_elem(shape, f32::NAN);
    let mut marks = Array2::from_elem(shape, Mark::OffBar);
    let mut residuals = Array2::from_elem(shape, 0_u8);
    let mut riddles = Vec::new();
    let mut drawn = Vec::new();
    let drawn_from = DRAWN * locus.greatest_limit() + 3.0 * LEVEL;
    for (at, &colour) in colours.compared().indexed_iter() {
        let opaque = colours.opaque.as_ref().is_none_or(|known| known[at]);
        let nearest = cube.nearest(colour);
        // Cut at what a byte holds.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let residual = (1000.0 * nearest.distance).clamp(0.0, 255.0) as u8;
        residuals[at] = residual;
        if !opaque || !nearest.on_bar {
            if !opaque || nearest.distance > drawn_from {
                drawn.push([at.0, at.1]);
            }
            continue;
        }
        match nearest.other {
            None => {
                places[at] = nearest.place;
                marks[at] = Mark::Sound;
            }
            Some(other) => {
                marks[at] = Mark::Ambiguous;
                riddles.push(Riddle {
                    at: [at.0, at.1],
                    places: [nearest.place, other],
                });
            }
        }
    }
    let reach = if colours.loss.is_some() { 2 } else { 1 };
    drawn.extend(strokes::find(
        &places,
        &colours.pixels,
        colours.loss.is_some(),
    ));
    leave_out(&drawn, reach, &mut places, &mut marks);
    let alike = riddles::alike(&riddles);
    let open = riddles::decide(
        riddles,
        colours.compared(),
        &mut cube,
        &mut places,
        &mut marks,
    );
    Places {
        places,
        marks,
        residuals,
        alike,
        open,
    }
}

/// Leaves out what touches something drawn over the picture: its edge is blended with it.
fn leave_out(
    drawn: &[[usize; 2]],
    reach: usize,
    places: &mut Array2<f32>,
    marks: &mut Array2<Mark>,
) {
    let (rows, columns) = places.dim();
    for &[row, column] in drawn {
        for row in row.saturating_sub(reach)..(row + reach + 1).min(rows) {
            for column in column.saturating_sub(reach)..(column + reach + 1).min(columns) {
                places[[row, column]] = f32::NAN;
                marks[[row, column]] = Mark::OffBar;
            }
        }
    }
}
