//! The colours along a bar of a compressed picture without the noise of compression.
//!
//! Compression rounds each wave of a block of 8 rows, of the colour differences often of 16, to a step of its own, so that
//! colours of one block err together. The smoothed line is the one that is likeliest where the errors of the waves are as the
//! steps say and bends are few: weighted least squares with a penalty on the size, not the square, of second differences (trend
//! filtering: S.-J. Kim, K. Koh, S. Boyd and D. Gorinevsky, 2009, from memory), of the three parts together, since a map
//! bends in all of them at once. A map that is straight in pieces keeps its corners so. How much bends count has a limit, and
//! is less on a bar that bends much.

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use super::banded::{Banded, Factor};
use super::lab::Levels;
use super::loss::{Loss, SIDE, Steps};

/// Steps at each end whose colour differences compression mixes with what lies beyond.
pub(super) const MIXED: usize = 3;

/// The most that a bend of a level counts against half the square of an error in standard deviations. By trial with the maps
/// of the tests, bars of 80 and 200 steps, JPEG 75 and 90: readings come out alike from 8 to 32.
const STIFFEST: f64 = 16.0;

/// A bend smaller than this is as good as none, levels.
const STRAIGHT: f64 = 1e-3;

/// Reweighted solutions: more change the mean reading of any map of the tests by less than a ten-thousandth of the bar, a single
/// place by less than two thousandths.
const ROUNDS: usize = 25;

/// Variance of a level that is rounded to a whole one.
const ROUNDED: f64 = 1.0 / 12.0;

/// Where the steps of a bar lie among the blocks of the picture as stored.
#[derive(Debug, Clone, Copy)]
pub(super) struct Course {
    /// Row or column of the first step.
    first: usize,
    /// Whether the next step is the row or column before.
    falling: bool,
    /// Pixels along a block: of brightness and of each colour difference.
    sides: [usize; 3],
    /// Steps of their waves.
    steps: [Steps; 3],
}

impl Course {
    /// Of `length` steps from row or column `from` on of a picture as seen, along an axis (0 across, 1 down), or towards
    /// `from` where `reversed`.
    pub(super) fn new(
        loss: &Loss,
        axis: usize,
        from: usize,
        length: usize,
        reversed: bool,
    ) -> Self {
        let last = from + length - 1;
        let (first, falling) = if reversed {
            (last, true)
        } else {
            (from, false)
        };
        let (first, falling) = match loss.mirrored[axis] {
            Some(size) => (size - 1 - first, !falling),
            None => (first, falling),
        };
        let colour = loss.colour_sides[axis];
        let [brightness, difference] = loss.steps[axis];
        Self {
            first,
            falling,
            sides: [SIDE, colour, colour],
            steps: [brightness, difference, difference],
        }
    }

    fn at(&self, step: usize) -> usize {
        if self.falling {
            self.first - step
        } else {
            self.first + step
        }
    }
}

/// The colours along a bar, brightness and colour differences, without the noise of compression.
pub(super) fn smoothed(levels: &[Levels], course: Course) -> Vec<Levels> {
    let count = levels.len();
    let [Some(brightness), Some(blueness), Some(redness)] =
        [0, 1, 2].map(|part| weights(count, part, course))
    else {
        return levels.to_vec();
    };
    let weights = [brightness, blueness, redness];
    let parts = [0, 1, 2]
        .map(|part| -> Vec<f64> { levels.iter().map(|levels| levels[part].into()).collect() });
    let told = [0, 1, 2].map(|part| weights[part].times(&parts[part]));
    let mut found = parts;
    let mut bends = vec![1.0; count.saturating_sub(2)];
    for _ in 0..ROUNDS {
        let stiff = stiffness(&bends);
        let next = [0, 1, 2].map(|part| {
            let factor = stiffened(&weights[part], &bends, stiff)?;
            Some(factor.solve(&told[part]))
        });
        let [Some(brightness), Some(blueness), Some(redness)] = next else {
            return levels.to_vec();
        };
        found = [brightness, blueness, redness];
        bends = bends_of(&found);
    }
    let [brightness, blueness, redness] = found;
    let joined = brightness.iter().zip(&blueness).zip(&redness);
    // Levels, back from the precision that sums of them needed.
    #[allow(clippy::cast_possible_truncation)]
    joined
        .map(|((&brightness, &blueness), &redness)| {
            [brightness as f32, blueness as f32, redness as f32]
        })
        .collect()
}

/// How far the three parts together bend at each step but the first and the last, levels.
fn bends_of(parts: &[Vec<f64>; 3]) -> Vec<f64> {
    let count = parts[0].len();
    let bend = |part: &[f64], at: usize| part[at] - 2.0 * part[at + 1] + part[at + 2];
    (0..count.saturating_sub(2))
        .map(|at| {
            let squares: f64 = parts.iter().map(|part| bend(part, at).powi(2)).sum();
            (squares + STRAIGHT * STRAIGHT).sqrt()
        })
        .collect()
}

/// What a bend counts on a bar with bends like these: sizes that fall off exponentially in the space of three parts are
/// likeliest where they fall off at this rate.
fn stiffness(bends: &[f64]) -> f64 {
    (3.0 * bends.len() as f64 / bends.iter().sum::<f64>()).min(STIFFEST)
}

/// The system of the weights and of bends that count by their size.
fn stiffened(weights: &Banded, bends: &[f64], stiff: f64) -> Option<Factor> {
    let mut system = weights.clone();
    for (at, bend) in bends.iter().enumerate() {
        let stiff = stiff / bend;
        for (row, of_row) in [1.0, -2.0, 1.0].into_iter().enumerate() {
            for (column, of_column) in [1.0, -2.0, 1.0].into_iter().enumerate().take(row + 1) {
                system.add(at + row, at + column, stiff * of_row * of_column);
            }
        }
    }
    system.factor()
}

/// The inverse of the covariance of the errors along the bar, block by block; nothing where colour differences are mixed with
/// what lies beyond the ends. `None` where steps leave no inverse.
fn weights(count: usize, part: usize, course: Course) -> Option<Banded> {
    let side = course.sides[part];
    let mut weights = Banded::zero(count, side - 1);
    let skip = if part > 0 && count >= 12 * MIXED {
        MIXED
    } else {
        0
    };
    // Whole blocks are all alike, but for their direction.
    let mut known: HashMap<Vec<usize>, Vec<Vec<f64>>> = HashMap::new();
    let mut start = skip;
    while start < count - skip {
        let block = course.at(start) / side;
        let same = (start..count - skip).take_while(|&step| course.at(step) / side == block);
        let end = start + same.count();
        let places: Vec<usize> = (start..end).map(|step| course.at(step) % side).collect();
        let inverse = match known.entry(places) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(slot) => {
                let inverse = inverse(slot.key(), side, &course.steps[part])?;
                slot.insert(inverse)
            }
        };
        for (row, entries) in inverse.iter().enumerate() {
            for (column, &entry) in entries.iter().enumerate().take(row + 1) {
                weights.add(start + row, start + column, entry);
            }
        }
        start = end;
    }
    Some(weights)
}

/// The inverse of the covariance of places along a block.
fn inverse(places: &[usize], side: usize, steps: &Steps) -> Option<Vec<Vec<f64>>> {
    let count = places.len();
    let mut covariance = Banded::zero(count, count - 1);
    for row in 0..count {
        for column in 0..=row {
            let mut shared = if row == column { ROUNDED } else { 0.0 };
            for (wave, &step) in steps.iter().enumerate() {
                let height = |place: usize| height(wave, place, side);
                // A wave errs evenly within half a step. Those that are the same in all rows across have a part in the mean
                // across; others cancel in it, of whole blocks entirely and of parts of them mostly.
                let variance = f64::from(step).powi(2) / 12.0 / SIDE as f64;
                shared += variance * height(places[row]) * height(places[column]);
            }
            covariance.add(row, column, shared);
        }
    }
    let factor = covariance.factor()?;
    let unit = |at: usize| -> Vec<f64> {
        (0..count)
            .map(|row| f64::from(u8::from(row == at)))
            .collect()
    };
    Some((0..count).map(|at| factor.solve(&unit(at))).collect())
}

/// The height of a wave of so many half periods at a place along a block (ITU-T T.81, A.3.3, along one side).
fn height(wave: usize, place: usize, side: usize) -> f64 {
    let usual = (2.0 / SIDE as f64).sqrt();
    let place = (place as f64 + 0.5) / side as f64;
    if wave == 0 {
        usual / 2.0_f64.sqrt()
    } else {
        usual * (std::f64::consts::PI * wave as f64 * place).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    const LOSS: Loss = Loss {
        steps: [[[8.0; SIDE], [9.0; SIDE]]; 2],
        colour_sides: [16; 2],
        mirrored: [None; 2],
    };

    /// Straight in all parts, up to a corner.
    fn truth(at: usize) -> Levels {
        let at = at as f32;
        let corner = at.min(50.0);
        [20.0 + corner, 128.0 + 0.3 * corner, 90.0 - 0.5 * at]
    }

    fn off(found: &[Levels], part: usize) -> f32 {
        let squares = found
            .iter()
            .enumerate()
            .map(|(at, levels)| (levels[part] - truth(at)[part]).powi(2));
        (squares.sum::<f32>() / found.len() as f32).sqrt()
    }

    #[test]
    fn lines_and_corners_are_kept() {
        let levels: Vec<Levels> = (0..100).map(truth).collect();
        let course = Course::new(&LOSS, 0, 5, 100, false);
        for (at, found) in smoothed(&levels, course).into_iter().enumerate() {
            for (part, level) in found.into_iter().enumerate() {
                let epsilon = if (45..55).contains(&at) { 0.5 } else { 0.1 };
                assert_abs_diff_eq!(level, truth(at)[part], epsilon = epsilon);
            }
        }
        // Too few to bend, and hardly enough.
        for count in 1..12 {
            let course = Course::new(&LOSS, 1, 3, count, true);
            assert_eq!(smoothed(&levels[..count], course).len(), count);
        }
    }

    #[test]
    fn shifts_of_blocks_are_smoothed_wherever_blocks_begin() {
        for (from, mirrored, reversed) in [(0, None, false), (5, None, true), (3, Some(217), false)]
        {
            let loss = Loss {
                mirrored: [mirrored; 2],
                ..LOSS
            };
            let course = Course::new(&loss, 0, from, 100, reversed);
            let shift = |step: usize, side: usize| [0.5, -0.5, 0.3][course.at(step) / side % 3];
            let levels: Vec<Levels> = (0..100)
                .map(|at| {
                    let [brightness, blueness, redness] = truth(at);
                    [
                        brightness + shift(at, 8),
                        blueness + shift(at, 16),
                        redness - shift(at, 16),
                    ]
                })
                .collect();
            let found = smoothed(&levels, course);
            for part in 0..3 {
                let (before, after) = (off(&levels, part), off(&found, part));
                assert!(after < 0.7 * before, "{from} {part}: {before} {after}");
            }
        }
    }

    /// Rows as stored, written out by hand: a picture of 100 rows seen upright, upside down, and a bar read towards either end.
    #[test]
    fn a_course_follows_the_picture_as_stored() {
        let upside_down = Loss {
            mirrored: [None, Some(100)],
            ..LOSS
        };
        for (loss, reversed, stored) in [
            (LOSS, false, [20, 21, 22]),
            (LOSS, true, [49, 48, 47]),
            (upside_down, false, [79, 78, 77]),
            (upside_down, true, [50, 51, 52]),
        ] {
            let course = Course::new(&loss, 1, 20, 30, reversed);
            assert_eq!([0, 1, 2].map(|step| course.at(step)), stored);
        }
    }

    /// Waves of far greater steps along one side than along the other are told apart by the bar's direction.
    #[test]
    fn steps_are_those_along_the_bar() {
        let loss = Loss {
            steps: [[[80.0; SIDE]; 2], [[4.0; SIDE]; 2]],
            ..LOSS
        };
        let levels: Vec<Levels> = (0..100)
            .map(|at| truth(at).map(|level| level + [0.6, -0.6][at / 3 % 2]))
            .collect();
        let [across, down] = [0, 1].map(|axis| {
            off(
                &smoothed(&levels, Course::new(&loss, axis, 0, 100, false)),
                0,
            )
        });
        // The coarse ones say nothing of the corner.
        assert!(down < 0.1 && across > 1.0, "{across} {down}");
    }
}
