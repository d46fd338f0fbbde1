//! Warm and even areas that stand out from what lies around them.

use image::{GrayImage, ImageBuffer, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};

use super::field::Field;

/// The smallest area, as a share of the picture.
const SMALLEST: f64 = 0.001;

/// The narrowest rectangle, pixels of the field.
const NARROWEST: usize = 4;

/// The longest rectangle, as a multiple of its width.
const LONGEST: usize = 12;

/// A rectangle so near the picture's edge is cut off by it, pixels of the field.
const EDGE: usize = 2;

/// An area so near the colour bar belongs to its panel, pixels of the field.
const PANEL: usize = 4;

/// What lies around is looked at from here on to there, pixels of the field: an edge is blurred over a few.
const AROUND: [usize; 2] = [4, 9];

/// An area that stands out on three of its four sides counts so much of one that does on all.
const THREE_SIDES: f64 = 0.3;

/// The largest rectangle in a warm and even area.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Area {
    /// First column and row.
    pub from: [usize; 2],
    /// One past the last column and row.
    pub to: [usize; 2],
    /// Its temperature.
    pub mean: f64,
    /// 1 where it is warmer than what lies on all its sides, less where it is on three.
    pub distinct: f64,
}

impl Area {
    /// Pixels of the field.
    pub fn pixels(&self) -> usize {
        (self.to[0] - self.from[0]) * (self.to[1] - self.from[1])
    }
}

/// Columns and rows that a label covers, and how many pixels have it.
#[derive(Clone, Copy)]
struct Extent {
    from: [usize; 2],
    to: [usize; 2],
    count: usize,
}

/// A number for each pixel: that of the area it belongs to.
type Labels = ImageBuffer<Luma<u32>, Vec<u32>>;

/// All areas that may be tanks or patches on them.
pub(super) fn find(field: &Field) -> Vec<Area> {
    let [columns, rows] = field.size();
    let (Ok(width), Ok(height)) = (u32::try_from(columns), u32::try_from(rows)) else {
        return Vec::new();
    };
    let binary = GrayImage::from_fn(width, height, |x, y| {
        Luma([u8::from(field.candidate[[y as usize, x as usize]])])
    });
    let labels = connected_components(&binary, Connectivity::Four, Luma([0]));
    let extents = extents(&labels);
    let least = (SMALLEST * (columns * rows) as f64).max((NARROWEST * NARROWEST) as f64);
    let large = |extent: &Extent| extent.count as f64 >= least && !is_panel(extent, field.bar);
    extents
        .into_iter()
        .enumerate()
        // The background has label 0.
        .skip(1)
        .filter_map(|(label, extent)| Some((label, extent.filter(large)?)))
        .filter_map(|(label, extent)| {
            let [left, top] = extent.from;
            let has = |x: usize, y: usize| {
                labels.get_pixel((left + x) as u32, (top + y) as u32).0[0] as usize == label
            };
            let size = [extent.to[0] - left, extent.to[1] - top];
            let [x, y, width, height] = largest_rectangle(size, has);
            area(
                [left + x, top + y],
                [left + x + width, top + y + height],
                field,
            )
        })
        .collect()
}

/// What each label covers, by its number.
fn extents(labels: &Labels) -> Vec<Option<Extent>> {
    let mut extents: Vec<Option<Extent>> = Vec::new();
    for (x, y, label) in labels.enumerate_pixels() {
        let label = label.0[0] as usize;
        if extents.len() <= label {
            extents.resize(label + 1, None);
        }
        let (x, y) = (x as usize, y as usize);
        let extent = extents[label].get_or_insert(Extent {
            from: [x, y],
            to: [x + 1, y + 1],
            count: 0,
        });
        extent.from = [extent.from[0].min(x), extent.from[1].min(y)];
        extent.to = [extent.to[0].max(x + 1), extent.to[1].max(y + 1)];
        extent.count += 1;
    }
    extents
}

/// Whether an area lies at the colour bar: what is drawn around it is no part of the thermal picture.
fn is_panel(extent: &Extent, bar: Option<[[usize; 2]; 2]>) -> bool {
    bar.is_some_and(|[from, to]| {
        (0..2).all(|axis| {
            extent.from[axis] < to[axis] + PANEL && from[axis] < extent.to[axis] + PANEL
        })
    })
}

/// A rectangle as an area, where its shape and its surroundings may be those of a tank or of a patch on one.
fn area(from: [usize; 2], to: [usize; 2], field: &Field) -> Option<Area> {
    let size = [to[0] - from[0], to[1] - from[1]];
    let (short, long) = (size[0].min(size[1]), size[0].max(size[1]));
    let edges = field.size();
    let cut = (0..2).any(|axis| from[axis] <= EDGE || to[axis] + EDGE >= edges[axis]);
    if short < NARROWEST || long > LONGEST * short || cut {
        return None;
    }
    let mean = middle(field, from, to)?;
    let warmer = sides(from, to, edges)
        .into_iter()
        .filter_map(|[from, to]| middle(field, from, to))
        .filter(|beside| mean - beside > field.tolerance)
        .count();
    let distinct = match warmer {
        4 => 1.0,
        3 => THREE_SIDES,
        _ => return None,
    };
    Some(Area {
        from,
        to,
        mean,
        distinct,
    })
}

/// The strips along the four sides of a rectangle, cut to the picture.
fn sides(from: [usize; 2], to: [usize; 2], edges: [usize; 2]) -> [[[usize; 2]; 2]; 4] {
    let [near, far] = AROUND;
    let before = |axis: usize| {
        [
            from[axis].saturating_sub(far),
            from[axis].saturating_sub(near),
        ]
    };
    let after = |axis: usize| {
        [
            (to[axis] + near).min(edges[axis]),
            (to[axis] + far).min(edges[axis]),
        ]
    };
    let (left, right) = (before(0), after(0));
    let (above, below) = (before(1), after(1));
    [
        [[left[0], from[1]], [left[1], to[1]]],
        [[right[0], from[1]], [right[1], to[1]]],
        [[from[0], above[0]], [to[0], above[1]]],
        [[from[0], below[0]], [to[0], below[1]]],
    ]
}

/// The median temperature of a box; `None` where it has none.
fn middle(field: &Field, from: [usize; 2], to: [usize; 2]) -> Option<f64> {
    let rows = from[1]..to[1];
    let mut values: Vec<f64> = rows
        .flat_map(|y| (from[0]..to[0]).map(move |x| field.smooth[[y, x]]))
        .filter(|value| value.is_finite())
        .collect();
    let half = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(half, f64::total_cmp).1)
}

/// The largest rectangle of pixels that `has` holds of: x, y, width, height. By the heights of columns above each row and
/// a stack of those that still rise (the largest rectangle under a histogram, a classic).
fn largest_rectangle(
    [width, height]: [usize; 2],
    has: impl Fn(usize, usize) -> bool,
) -> [usize; 4] {
    let mut best = [0; 4];
    let mut heights = vec![0_usize; width];
    for y in 0..height {
        for (x, height) in heights.iter_mut().enumerate() {
            *height = if has(x, y) { *height + 1 } else { 0 };
        }
        let mut rising: Vec<(usize, usize)> = Vec::new();
        for (x, &here) in heights.iter().chain(std::iter::once(&0)).enumerate() {
            let mut start = x;
            while let Some(&(from, tall)) = rising.last()
                && tall >= here
            {
                rising.pop();
                start = from;
                if tall * (x - from) > best[2] * best[3] {
                    best = [from, y + 1 - tall, x - from, tall];
                }
            }
            rising.push((start, here));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_rectangle_is_found() {
        let rows = ["..##....", ".######.", ".######.", "..####..", "##......"];
        let has = |x: usize, y: usize| rows[y].as_bytes()[x] == b'#';
        // Six by two and four by three are alike: the first found stays, and both are better than two by four.
        assert_eq!(largest_rectangle([8, 5], has), [1, 1, 6, 2]);
        assert_eq!(largest_rectangle([8, 1], has), [2, 0, 2, 1]);
        assert_eq!(largest_rectangle([2, 1], has), [0; 4]);
    }
}
