//! Pixels whose colour could be two places: which, and what around them decides.

use std::collections::HashMap;

use ndarray::Array2;

use super::cube::Cube;
use super::invert::Mark;
use super::lab::{self, Space};

/// A pixel whose colour could be two places.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Riddle {
    /// Row and column.
    pub(super) at: [usize; 2],
    /// The nearest place and another.
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

/// How far around a pixel others have a part in its mean, pixels.
const REACH: usize = 2;

/// Of the 25 pixels of a mean at least so many must have about its colour: more than a straight blend of two parts, three
/// wide, can have.
const SIMILAR: usize = 18;

/// Lets the surroundings decide: the mean colour, which errs less than a single one, and the sound neighbours. Returns what stays
/// open.
pub(super) fn decide(
    riddles: Vec<Riddle>,
    colours: &Array2<[u8; 3]>,
    cube: &mut Cube<'_>,
    places: &mut Array2<f32>,
    marks: &mut Array2<Mark>,
) -> Vec<Riddle> {
    // All are asked before any is answered, so that no decision spreads: across the edge of a hot part its neighbours outside
    // say nothing about the pixels inside.
    let (mut answered, mut open) = (Vec::new(), Vec::new());
    for riddle in riddles {
        if marks[riddle.at] != Mark::Ambiguous {
            continue;
        }
        let by_mean = mean(&riddle, colours, cube, marks);
        let by_neighbours = neighbours(&riddle, places, marks);
        match (by_mean, by_neighbours) {
            (Some(one), Some(other)) if one != other => open.push(riddle),
            (Some(choice), _) | (None, Some(choice)) => {
                answered.push((riddle.at, riddle.places[choice]));
            }
            (None, None) => open.push(riddle),
        }
    }
    for (at, place) in answered {
        places[at] = place;
        marks[at] = Mark::Decided;
    }
    open
}

/// Which place of a riddle the mean colour of what looks alike around it is nearest to, if no other is as near.
///
/// A pixel in a blend of two parts, at their edge, has few around it in its own colour. Without compression a mean says no
/// more than each pixel does.
fn mean(
    riddle: &Riddle,
    colours: &Array2<[u8; 3]>,
    cube: &mut Cube<'_>,
    marks: &Array2<Mark>,
) -> Option<usize> {
    let [row, column] = riddle.at;
    let (rows, columns) = colours.dim();
    let locus = cube.locus();
    if locus.space == Space::Plain {
        return None;
    }
    let own = locus.space.of(colours[riddle.at]);
    let (mut sum, mut count) = ([0.0_f32; 3], 0_usize);
    for r in row.saturating_sub(REACH)..(row + REACH + 1).min(rows) {
        for c in column.saturating_sub(REACH)..(column + REACH + 1).min(columns) {
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
    riddle.choice(there.place)
}

impl Riddle {
    /// Which of its places is nearer to another, if it is near enough to be that.
    fn choice(&self, there: f32) -> Option<usize> {
        let [first, second] = self.places.map(|place| (place - there).abs());
        (first.min(second) < NEAR).then_some(usize::from(second < first))
    }
}

/// Which place of a riddle the sound pixels around it are near to.
fn neighbours(riddle: &Riddle, places: &Array2<f32>, marks: &Array2<Mark>) -> Option<usize> {
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
            let Some(choice) = riddle.choice(there) else {
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
    (surrounded && 10 * votes[choice] >= 9 * total).then_some(choice)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::palette::bar::Profile;
    use crate::load::palette::locus::Locus;

    /// A bar that goes up in brightness and comes back a little more blue: 7 levels apart.
    fn there_and_back() -> Locus {
        let step = |at: usize| {
            let up = at.min(199 - at) as f32;
            [40.0 + 2.0 * up, if at < 100 { 120.0 } else { 127.0 }, 128.0]
        };
        Locus::of(&Profile {
            levels: (0..200).map(step).collect(),
            space: Space::Stored(1.0),
            pixel_noise: 0.006,
            noise: 0.001,
        })
    }

    /// All pixels are riddles between places 0.25 and 0.75, of the second branch, but those of a mark of their own.
    fn decided(
        mark: impl Fn(usize, usize) -> Option<Mark>,
    ) -> (Vec<Riddle>, Array2<Mark>, Array2<f32>) {
        let locus = there_and_back();
        let colours = Array2::from_shape_fn((12, 12), |(row, column)| {
            [140, 127 - ((row + column) % 3) as u8, 128]
        });
        let mut marks = Array2::from_shape_fn((12, 12), |(row, column)| {
            mark(row, column).unwrap_or(Mark::Ambiguous)
        });
        let mut places = Array2::from_elem((12, 12), f32::NAN);
        let mut riddles = Vec::new();
        for ((row, column), mark) in marks.indexed_iter() {
            match mark {
                Mark::Ambiguous => riddles.push(Riddle {
                    at: [row, column],
                    places: [0.25, 0.75],
                }),
                Mark::OffBar => {}
                _ => places[[row, column]] = 0.25,
            }
        }
        let mut cube = Cube::new(&locus);
        let open = decide(riddles, &colours, &mut cube, &mut places, &mut marks);
        (open, marks, places)
    }

    #[test]
    fn a_mean_decides_what_a_pixel_cannot() {
        let (open, marks, places) = decided(|_, _| None);
        // In the corners too few have a part in a mean.
        assert_eq!(marks[[6, 6]], Mark::Decided);
        assert!((places[[6, 6]] - 0.75).abs() < 1e-6);
        assert_eq!(marks[[0, 0]], Mark::Ambiguous);
        assert!(open.iter().any(|riddle| riddle.at == [0, 0]));
        assert!(
            open.iter()
                .all(|riddle| marks[riddle.at] == Mark::Ambiguous)
        );
    }

    /// A blend three pixels wide between parts that are off the bar stays open, and so does what its neighbours contradict.
    #[test]
    fn what_is_narrow_or_contradicted_stays_open() {
        let strip = |_, column| (!(5..8).contains(&column)).then_some(Mark::OffBar);
        let (open, marks, _) = decided(strip);
        assert_eq!(open.len(), 36);
        assert_eq!(marks[[6, 6]], Mark::Ambiguous);
        let around = |row: usize, column| {
            (row.abs_diff(6) > 1 || usize::abs_diff(column, 6) > 1).then_some(Mark::Sound)
        };
        let (open, ..) = decided(around);
        assert!(open.iter().any(|riddle| riddle.at == [6, 6]), "{open:?}");
    }

    #[test]
    fn of_two_places_the_nearer_one_is_chosen() {
        let riddle = Riddle {
            at: [0, 0],
            places: [0.50, 0.545],
        };
        assert_eq!(riddle.choice(0.555), Some(1));
        assert_eq!(riddle.choice(0.49), Some(0));
        assert_eq!(riddle.choice(0.61), None);
    }
}
