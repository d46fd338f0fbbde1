//! Marks and writing in a colour of the bar: strokes of white or black over a palette that ends in white or black.
//!
//! Such pixels are on the bar, at its end. Thin ones among quite other temperatures are taken for drawn: a wire that thin
//! and beyond the scale would have no temperature either, since the end of the bar is a bound.

use ndarray::Array2;

/// How near the end of the bar a place is in the end's colour.
const END: f32 = 0.02;

/// How far from it other temperatures are.
const OTHER: f32 = 0.10;

/// Pixels looked at to each side.
const AROUND: usize = 3;

/// Of the 49 pixels around one of a stroke at most so many are of it: three rows.
const STROKE: usize = 21;

/// And at least so many are quite other temperatures.
const OTHERS: usize = 12;

/// The pixels that are strokes.
pub(super) fn find(places: &Array2<f32>) -> Vec<[usize; 2]> {
    let mut found = Vec::new();
    for ((row, column), &place) in places.indexed_iter() {
        let end = if place <= END {
            0.0
        } else if place >= 1.0 - END {
            1.0
        } else {
            continue;
        };
        if is_stroke(places, [row, column], end) {
            found.push([row, column]);
        }
    }
    found
}

fn is_stroke(places: &Array2<f32>, [row, column]: [usize; 2], end: f32) -> bool {
    let (rows, columns) = places.dim();
    let (mut same, mut other) = (0, 0);
    for r in row.saturating_sub(AROUND)..(row + AROUND + 1).min(rows) {
        for c in column.saturating_sub(AROUND)..(column + AROUND + 1).min(columns) {
            let away = (places[[r, c]] - end).abs();
            same += usize::from(away <= END);
            other += usize::from(away > OTHER);
        }
    }
    same <= STROKE && other >= OTHERS && !is_corner(places, [row, column], end)
}

/// Whether a pixel is the corner of a part that is broader than a stroke both ways.
fn is_corner(places: &Array2<f32>, [row, column]: [usize; 2], end: f32) -> bool {
    let at = |start: usize, step: usize, back: bool| {
        if back {
            start.checked_sub(step)
        } else {
            start.checked_add(step)
        }
    };
    let same = |row: Option<usize>, column: Option<usize>| {
        let place = row
            .zip(column)
            .and_then(|(row, column)| places.get([row, column]));
        place.is_some_and(|place| (place - end).abs() <= END)
    };
    let ways = [(false, false), (false, true), (true, false), (true, true)];
    ways.into_iter().any(|(up, left)| {
        (0..=AROUND).all(|r| (0..=AROUND).all(|c| same(at(row, r, up), at(column, c, left))))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_are_found_and_broad_or_fading_parts_are_not() {
        let mut places = Array2::from_elem((40, 60), 0.4_f32);
        for column in 10..30 {
            places[[10, column]] = 1.0;
        }
        assert_eq!(find(&places).len(), 20);
        for row in 20..35 {
            for column in 10..30 {
                places[[row, column]] = 0.0;
            }
        }
        let corners = find(&places).len() - 20;
        assert_eq!(corners, 0);
        let fading = Array2::from_shape_fn((20, 60), |(_, column)| column as f32 / 59.0);
        assert_eq!(find(&fading).len(), 0);
    }
}
