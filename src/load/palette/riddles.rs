//! Pixels whose colour could be two places: which, and what around them decides.

use std::collections::HashMap;

use ndarray::Array2;

use super::cube::Cube;
use super::invert::Mark;
use super::lab;

/// A pixel whose colour could be two places.
pub(super) struct Riddle {
    pub(super) at: [usize; 2],
    pub(super) places: [f32; 2],
}

/// Places of the pairs of like places are sorted into this many boxes.
const BOXES: f32 = 50.0;

/// The most frequent pair of like places.
pub(super) fn alike(riddles: &[Riddle]) -> Option<[f32; 2]> {
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

/// Pixels to each side that have a part in a mean.
const MEANT: usize = 2;

/// Of the 25 pixels of a mean at least so many must have about its colour.
const SIMILAR: usize = 15;

/// Lets the surroundings decide: the mean colour, which errs less than a single one, else the sound neighbours.
pub(super) fn decide(
    riddles: &[Riddle],
    colours: &Array2<[u8; 3]>,
    cube: &mut Cube<'_>,
    places: &mut Array2<f32>,
    marks: &mut Array2<Mark>,
) {
    let open = |riddle: &&Riddle, marks: &Array2<Mark>| marks[riddle.at] == Mark::Ambiguous;
    // All are asked before any is answered, so that no decision spreads: across the edge of a hot part its neighbours outside
    // say nothing about the pixels inside.
    let asked = riddles.iter().filter(|riddle| open(riddle, marks));
    let answered: Vec<_> = asked
        .filter_map(|riddle| {
            let place =
                mean(riddle, colours, cube, marks).or_else(|| neighbours(riddle, places, marks))?;
            Some((riddle.at, place))
        })
        .collect();
    for (at, place) in answered {
        places[at] = place;
        marks[at] = Mark::Decided;
    }
}

/// The one place of a riddle that the mean colour of what looks alike around it is nearest to, if no other is as near.
///
/// A pixel in a blend of two parts, at their edge, has few around it in its own colour.
fn mean(
    riddle: &Riddle,
    colours: &Array2<[u8; 3]>,
    cube: &mut Cube<'_>,
    marks: &Array2<Mark>,
) -> Option<f32> {
    let [row, column] = riddle.at;
    let (rows, columns) = colours.dim();
    let locus = cube.locus();
    let own = locus.space.of(colours[riddle.at]);
    let (mut sum, mut count) = ([0.0_f32; 3], 0_usize);
    for r in row.saturating_sub(MEANT)..(row + MEANT + 1).min(rows) {
        for c in column.saturating_sub(MEANT)..(column + MEANT + 1).min(columns) {
            let colour = colours[[r, c]];
            if marks[[r, c]] != Mark::OffBar
                && lab::distance(locus.space.of(colour), own) <= locus.margin
            {
                count += 1;
                for (sum, level) in sum.iter_mut().zip(colour) {
                    *sum += f32::from(level);
                }
            }
        }
    }
    if count < SIMILAR {
        return None;
    }
    let there = cube.nearest_of_mean(sum.map(|sum| sum / count as f32));
    if !there.on_bar || there.other.is_some() {
        return None;
    }
    let mut choices = riddle.places.into_iter();
    choices.find(|place| (place - there.place).abs() < NEAR)
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
