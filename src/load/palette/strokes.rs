//! Marks and writing in a colour of the bar: strokes of white or black over a palette that has white or black in it.
//!
//! Such pixels are on the bar, mostly at its end, and those that blend them with the picture are too. Thin parts that stand out
//! from what lies around them and reach the end of the bar, or are white or black, are taken for drawn: a wire that thin and
//! beyond the scale would have no temperature either, since the end of the bar is a bound.

use ndarray::{Array2, Axis, Zip};

/// How far from the end of the bar a stroke comes: as drawn, and once compression has blurred it.
const END: [f32; 2] = [0.02, 0.08];

/// Pixels across that a part must have in every direction not to be thin: as drawn, and blurred.
const BROAD: [usize; 2] = [5, 7];

/// Channels of white are at least so high, and those of black at most so far from none.
const WHITE: u8 = 245;
const BLACK: u8 = 255 - WHITE;

/// How far a stroke stands out from what lies around it, as a share of the bar: as drawn, and where blurred ones need not quite
/// reach the bar's end. The facets of a crumpled foil near the end of the scale stand out by some 0.14.
const STROKE: [f32; 2] = [0.15, 0.25];

/// The same of the pixels beside it that are blended with it.
const BLENDED: f32 = 0.04;

/// How far from a stroke blended ones are looked for, pixels.
const BESIDE: usize = 3;

/// The pixels that are strokes or blended with one, of their places along the bar and their red, green and blue.
pub(super) fn find(places: &Array2<f32>, pixels: &Array2<[u8; 3]>, lossy: bool) -> Vec<[usize; 2]> {
    let kind = usize::from(lossy);
    let mut found = Vec::new();
    // Strokes that are warmer than what lies around them, then colder ones.
    for upward in [true, false] {
        let seen = if upward {
            places.clone()
        } else {
            places.mapv(|place| 1.0 - place)
        };
        let hat = thin(&seen, BROAD[kind]);
        let mut drawn = Array2::from_elem(places.dim(), false);
        for ((at, &out), (&place, pixel)) in hat.indexed_iter().zip(seen.iter().zip(pixels.iter()))
        {
            if out > STROKE[kind] && (place >= 1.0 - END[kind] || is_white_or_black(*pixel)) {
                mark(&mut drawn, &hat, [at.0, at.1]);
            }
        }
        let marked = drawn.indexed_iter().filter(|(_, drawn)| **drawn);
        found.extend(marked.map(|((row, column), _)| [row, column]));
    }
    found
}

fn is_white_or_black(pixel: [u8; 3]) -> bool {
    pixel.iter().all(|&level| level >= WHITE) || pixel.iter().all(|&level| level <= BLACK)
}

/// Marks a stroke and the pixels beside it that are blended with it.
fn mark(drawn: &mut Array2<bool>, hat: &Array2<f32>, [row, column]: [usize; 2]) {
    let (rows, columns) = hat.dim();
    for r in row.saturating_sub(BESIDE)..(row + BESIDE + 1).min(rows) {
        for c in column.saturating_sub(BESIDE)..(column + BESIDE + 1).min(columns) {
            if hat[[r, c]] > BLENDED {
                drawn[[r, c]] = true;
            }
        }
    }
}

/// How far each pixel stands out as part of something less than `broad` pixels across: the white top hat of mathematical
/// morphology (J. Serra, 1982, from memory). 0 where there is no place.
fn thin(places: &Array2<f32>, broad: usize) -> Array2<f32> {
    // Pixels without a place have no say: neither as the lowest nor as the highest.
    let known = |or: f32| places.mapv(|place| if place.is_nan() { or } else { place });
    let mut opened = known(f32::INFINITY);
    for axis in [Axis(0), Axis(1)] {
        opened = extreme(&opened, axis, broad / 2, |a, b| if b < a { b } else { a });
    }
    opened.mapv_inplace(|place| {
        if place.is_finite() {
            place
        } else {
            f32::NEG_INFINITY
        }
    });
    for axis in [Axis(0), Axis(1)] {
        opened = extreme(&opened, axis, broad / 2, |a, b| if b > a { b } else { a });
    }
    Zip::from(&mut opened)
        .and(places)
        .for_each(|opened, place| {
            let out = place - *opened;
            *opened = if out.is_finite() { out } else { 0.0 };
        });
    opened
}

/// The lowest or highest of each pixel and `reach` to each side of it along an axis.
fn extreme(
    values: &Array2<f32>,
    axis: Axis,
    reach: usize,
    of: impl Fn(f32, f32) -> f32,
) -> Array2<f32> {
    let mut found = values.clone();
    let length = values.len_of(axis);
    for step in 1..=reach.min(length.saturating_sub(1)) {
        let (near, far) = (0..length - step, step..length);
        for (from, to) in [(near.clone(), far.clone()), (far, near)] {
            let mut target = found.slice_axis_mut(axis, to.into());
            let source = values.slice_axis(axis, from.into());
            Zip::from(&mut target)
                .and(&source)
                .for_each(|target, &source| *target = of(*target, source));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const GREY: [u8; 3] = [90, 140, 200];

    #[test]
    fn strokes_are_found_and_broad_or_fading_parts_are_not() {
        let mut pixels = Array2::from_elem((40, 60), GREY);
        let mut places = Array2::from_elem((40, 60), 0.4_f32);
        for column in 10..30 {
            places[[10, column]] = 1.0;
        }
        let count = |places: &Array2<f32>, pixels: &Array2<[u8; 3]>| {
            [false, true].map(|lossy| find(places, pixels, lossy).len())
        };
        assert_eq!(count(&places, &pixels), [20, 20]);
        for row in 20..35 {
            for column in 10..30 {
                places[[row, column]] = 0.0;
            }
        }
        assert_eq!(count(&places, &pixels), [20, 20]);
        // In the middle of the bar a stroke is known by its white or black alone.
        for row in 2..18 {
            places[[row, 45]] = 0.7;
        }
        assert_eq!(count(&places, &pixels), [20, 20]);
        for row in 2..18 {
            pixels[[row, 45]] = [255, 252, 250];
        }
        assert_eq!(count(&places, &pixels), [36, 36]);
        let fading = Array2::from_shape_fn((20, 60), |(_, column)| column as f32 / 59.0);
        let white = Array2::from_elem((20, 60), [255; 3]);
        assert_eq!(count(&fading, &white), [0, 0]);
    }

    /// The blurred flanks of a stroke go with it, a warm spot that thin does not where it is within the scale.
    #[test]
    fn what_is_blended_with_a_stroke_goes_with_it() {
        let pixels = Array2::from_elem((30, 30), GREY);
        let profile = [0.3, 0.45, 0.7, 0.95, 0.7, 0.45, 0.3];
        let blurred = |peak: f32| {
            Array2::from_shape_fn((30, 30), |(_, column)| {
                let beside = profile.get(column.wrapping_sub(10)).copied().unwrap_or(0.3);
                0.3 + (beside - 0.3) / 0.65 * (peak - 0.3)
            })
        };
        assert_eq!(find(&blurred(0.95), &pixels, true).len(), 5 * 30);
        assert_eq!(find(&blurred(0.80), &pixels, true).len(), 0);
        // Between pixels that hold nothing, and at the edge of the picture.
        let mut places = blurred(0.95);
        places.row_mut(4).fill(f32::NAN);
        assert_eq!(find(&places, &pixels, true).len(), 5 * 29);
        assert_eq!(
            find(&Array2::from_elem((1, 1), 1.0), &pixels, true),
            [[0; 2]; 0]
        );
    }

    /// Facets of foil at the cold end of the scale are temperatures.
    #[test]
    fn a_crumpled_foil_is_not_drawn() {
        let pixels = Array2::from_elem((20, 20), GREY);
        let foil = Array2::from_shape_fn((20, 20), |(row, column)| {
            0.01 + 0.14 * ((row * 7 + column * 11) % 5) as f32 / 4.0
        });
        for lossy in [false, true] {
            assert_eq!(find(&foil, &pixels, lossy), [[0; 2]; 0]);
        }
    }
}
