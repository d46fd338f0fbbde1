//! From a colour picture to places along its bar: which pixels are on it, off it, or could be two places.

use std::collections::HashMap;

use ndarray::Array2;

use super::cube::Cube;
use super::decode::Colours;
use super::lab::LEVEL;
use super::locus::Locus;
use super::strokes;

/// What became of a pixel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Mark {
    /// Its colour stands for one place along the bar.
    Sound,
    /// Its colour stands for two places; its neighbours decided.
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
}

/// Colours farther from the bar than this many limits are drawn over the picture, not compressed badly: what touches them is
/// left out too.
const DRAWN: f32 = 2.0;

/// Places of the pairs of like places are sorted into this many boxes.
const BOXES: f32 = 50.0;

/// A pixel whose colour could be two places.
struct Riddle {
    at: [usize; 2],
    places: [f32; 2],
}

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
    drawn.extend(strokes::find(&places));
    leave_out(&drawn, reach, &mut places, &mut marks);
    let alike = alike(&riddles);
    decide(&riddles, &mut places, &mut marks);
    Places {
        places,
        marks,
        residuals,
        alike,
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

/// The most frequent pair of like places.
fn alike(riddles: &[Riddle]) -> Option<[f32; 2]> {
    let mut boxes: HashMap<[u8; 2], (usize, [f32; 2])> = HashMap::new();
    for riddle in riddles {
        let [a, b] = riddle.places;
        let pair = [a.min(b), a.max(b)];
        // Places are from 0 to 1.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let key = pair.map(|place| (place * BOXES) as u8);
        let entry = boxes.entry(key).or_insert((0, [0.0; 2]));
        entry.0 += 1;
        entry.1[0] += pair[0];
        entry.1[1] += pair[1];
    }
    let most = boxes
        .into_iter()
        .max_by_key(|(key, (count, _))| (*count, *key));
    most.map(|(_, (count, sums))| sums.map(|sum| sum / count as f32))
}

/// How far neighbours are asked, pixels.
const ASKED: usize = 4;

/// How near its neighbours a place must be to be theirs, as a share of the bar.
const NEAR: f32 = 0.06;

/// Lets the neighbours decide that surround a pixel on all four sides and agree.
///
/// Only sound pixels are asked, never decided ones, so that no decision spreads: across the edge of a hot part its
/// neighbours outside say nothing about the pixels inside.
fn decide(riddles: &[Riddle], places: &mut Array2<f32>, marks: &mut Array2<Mark>) {
    let mut decided = Vec::new();
    for riddle in riddles {
        let [row, column] = riddle.at;
        if marks[[row, column]] != Mark::Ambiguous {
            continue;
        }
        if let Some(place) = neighbours(riddle, places, marks) {
            decided.push((riddle.at, place));
        }
    }
    for (at, place) in decided {
        places[at] = place;
        marks[at] = Mark::Decided;
    }
}

/// The one place of a riddle that the sound pixels around it are near to.
fn neighbours(riddle: &Riddle, places: &Array2<f32>, marks: &Array2<Mark>) -> Option<f32> {
    let [row, column] = riddle.at;
    let (rows, columns) = places.dim();
    let mut votes = [0_usize; 2];
    let mut against = 0_usize;
    let mut sides = [[0_usize; 2]; 4];
    for r in row.saturating_sub(ASKED)..(row + ASKED + 1).min(rows) {
        for c in column.saturating_sub(ASKED)..(column + ASKED + 1).min(columns) {
            if marks[[r, c]] != Mark::Sound {
                continue;
            }
            let there = places[[r, c]];
            let Some(choice) = riddle
                .places
                .iter()
                .position(|place| (place - there).abs() < NEAR)
            else {
                against += 1;
                continue;
            };
            votes[choice] += 1;
            let (down, right) = (r > row, c > column);
            if r != row {
                sides[usize::from(down)][choice] += 1;
            }
            if c != column {
                sides[2 + usize::from(right)][choice] += 1;
            }
        }
    }
    let choice = usize::from(votes[1] > votes[0]);
    let total = votes[0] + votes[1] + against;
    let surrounded = sides.iter().all(|side| side[choice] >= 3);
    (surrounded && 10 * votes[choice] >= 9 * total).then(|| riddle.places[choice])
}
