//! The pixels of a region inside one picture.

use super::shape::{PixelBox, RowView, Shape};

/// A stretch of one row: columns `start` (inclusive) to `end` (exclusive).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RowRun {
    /// The row.
    pub row: usize,
    /// First column.
    pub start: usize,
    /// One past the last column.
    pub end: usize,
}

/// The pixels of a region inside one picture, row by row. Never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mask {
    runs: Vec<RowRun>,
    cut: bool,
}

/// Why a region holds no pixel of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoPixels {
    /// It lies wholly outside the picture.
    Outside,
    /// All of it is excluded.
    AllExcluded,
    /// It is so small that it holds no pixel's centre.
    TooSmall,
}

impl Mask {
    /// The pixels of `shape` without those of `exclude`, in a picture of `width` × `height` pixels.
    ///
    /// # Errors
    /// Why there are none.
    pub fn new(
        shape: &Shape,
        exclude: &[Shape],
        width: usize,
        height: usize,
    ) -> Result<Self, NoPixels> {
        let size = [width as i64, height as i64];
        let outline = Outline { shape, exclude };
        let bounds = shape.pixel_box();
        let runs = if exclude.is_empty() && shape.is_convex() {
            convex_row_runs(bounds, size, |column, row| shape.holds(column, row))
        } else {
            row_runs(bounds, size, &outline)
        };
        if runs.is_empty() {
            return Err(why_empty(shape, bounds, size));
        }
        Ok(Self {
            runs,
            cut: reaches_beyond(bounds, size, &outline),
        })
    }

    /// Stretches of rows, from the top, left to right; none is empty, none touch or overlap.
    #[must_use]
    pub fn runs(&self) -> &[RowRun] {
        &self.runs
    }

    /// The region without its outermost ring: the pixels whose neighbours above, below, left and right all belong to it;
    /// `None` where there are none.
    #[must_use]
    pub fn inside(&self) -> Option<Self> {
        let of_row = |row: Option<usize>| {
            let from = self.runs.partition_point(|run| Some(run.row) < row);
            let to = self.runs.partition_point(|run| Some(run.row) <= row);
            self.runs
                .get(from..to)
                .filter(|_| row.is_some())
                .unwrap_or_default()
        };
        let mut runs = Vec::new();
        for run in self.runs.iter().filter(|run| run.end - run.start > 2) {
            let (start, end) = (run.start + 1, run.end - 1);
            for above in of_row(run.row.checked_sub(1)) {
                for below in of_row(run.row.checked_add(1)) {
                    let start = start.max(above.start).max(below.start);
                    let end = end.min(above.end).min(below.end);
                    if start < end {
                        runs.push(RowRun {
                            row: run.row,
                            start,
                            end,
                        });
                    }
                }
            }
        }
        (!runs.is_empty()).then_some(Self { runs, cut: false })
    }

    /// Whether a part of the region lies outside the picture.
    #[must_use]
    pub fn is_cut(&self) -> bool {
        self.cut
    }

    /// How many pixels it holds.
    #[must_use]
    pub fn count(&self) -> usize {
        self.runs.iter().map(|run| run.end - run.start).sum()
    }

    /// Whether no unbroken row of it, or no unbroken column, is this many pixels long.
    #[must_use]
    pub fn is_narrower_than(&self, pixels: usize) -> bool {
        self.runs.iter().all(|run| run.end - run.start < pixels) || !self.has_column(pixels)
    }

    /// Whether an unbroken column is this many pixels long. Stops at the first, so that large regions take no longer
    /// than small ones.
    fn has_column(&self, pixels: usize) -> bool {
        let left = self.runs.iter().map(|run| run.start).min().unwrap_or(0);
        let right = self.runs.iter().map(|run| run.end).max().unwrap_or(0);
        // For each column the last row seen and the length of the stretch that ends there.
        let mut stretches = vec![(usize::MAX, 0_usize); right - left];
        for run in &self.runs {
            for (last, length) in stretches
                .iter_mut()
                .take(run.end - left)
                .skip(run.start - left)
            {
                *length = if last.wrapping_add(1) == run.row {
                    *length + 1
                } else {
                    1
                };
                *last = run.row;
                if *length >= pixels {
                    return true;
                }
            }
        }
        false
    }
}

/// An outline and what is left out of it.
struct Outline<'a> {
    shape: &'a Shape,
    exclude: &'a [Shape],
}

impl<'a> Outline<'a> {
    /// Whether a row's pixels belong to it, by their column.
    fn row(&self, row: i64) -> impl Fn(i64) -> bool + 'a {
        let shape = self.shape.of_row(row);
        let exclude: Vec<RowView<'a>> = self.exclude.iter().map(|part| part.of_row(row)).collect();
        move |column| shape.holds(column) && !exclude.iter().any(|part| part.holds(column))
    }
}

fn row_runs(bounds: PixelBox, size: [i64; 2], outline: &Outline<'_>) -> Vec<RowRun> {
    let [left, top] = bounds.from.map(|edge| edge.max(0));
    let (right, bottom) = (bounds.to[0].min(size[0]), bounds.to[1].min(size[1]));
    let mut runs = Vec::new();
    for row in top..bottom {
        let member = outline.row(row);
        let mut start = None;
        for column in left..=right {
            let inside = column < right && member(column);
            match (inside, start) {
                (true, None) => start = Some(column),
                (false, Some(from)) => {
                    runs.push(RowRun {
                        row: row as usize,
                        start: from as usize,
                        end: column as usize,
                    });
                    start = None;
                }
                _ => {}
            }
        }
    }
    runs
}

/// As [`row_runs`], of an outline that holds all between the ends of a row: only what lies outside of it is tested.
fn convex_row_runs(
    bounds: PixelBox,
    size: [i64; 2],
    member: impl Fn(i64, i64) -> bool,
) -> Vec<RowRun> {
    let [left, top] = bounds.from.map(|edge| edge.max(0));
    let (right, bottom) = (bounds.to[0].min(size[0]), bounds.to[1].min(size[1]));
    let ends = |row| {
        let start = (left..right).find(|&column| member(column, row))?;
        let last = (start..right).rfind(|&column| member(column, row))?;
        Some(RowRun {
            row: row as usize,
            start: start as usize,
            end: last as usize + 1,
        })
    };
    (top..bottom).filter_map(ends).collect()
}

/// A region that goes beyond the picture holds a pixel of the frame just outside it.
fn reaches_beyond(bounds: PixelBox, size: [i64; 2], outline: &Outline<'_>) -> bool {
    let columns = bounds.from[0].max(-1)..bounds.to[0].min(size[0] + 1);
    let rows = bounds.from[1].max(-1)..bounds.to[1].min(size[1] + 1);
    let sides = [-1, size[0]]
        .into_iter()
        .filter(|column| columns.contains(column));
    let sides: Vec<i64> = sides.collect();
    let beyond_sides = !sides.is_empty()
        && rows
            .clone()
            .any(|row| sides.iter().copied().any(outline.row(row)));
    let mut ends = [-1, size[1]].into_iter().filter(|row| rows.contains(row));
    beyond_sides || ends.any(|row| columns.clone().any(outline.row(row)))
}

fn why_empty(shape: &Shape, bounds: PixelBox, size: [i64; 2]) -> NoPixels {
    let whole = Outline {
        shape,
        exclude: &[],
    };
    if !row_runs(bounds, size, &whole).is_empty() {
        return NoPixels::AllExcluded;
    }
    let [left, top, right, bottom] = shape.extent();
    let wholly_inside =
        left >= 0.0 && top >= 0.0 && right <= size[0] as f64 && bottom <= size[1] as f64;
    if wholly_inside {
        NoPixels::TooSmall
    } else {
        NoPixels::Outside
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn excluded_parts_are_left_out() {
        let hole = [Shape::Rectangle([2.0, 2.0, 2.0, 2.0])];
        let mask = Mask::new(&Shape::Rectangle([0.0, 0.0, 6.0, 6.0]), &hole, 10, 10).unwrap();
        assert_eq!(mask.count(), 32);
        let row: Vec<_> = mask
            .runs()
            .iter()
            .filter(|run| run.row == 2)
            .map(|run| (run.start, run.end))
            .collect();
        assert_eq!(row, [(0, 2), (4, 6)]);
        assert!(!mask.is_cut());
    }

    #[test]
    fn cut_regions_keep_what_lies_inside() {
        let mask = Mask::new(&Shape::Rectangle([-2.0, 5.0, 4.0, 9.0]), &[], 10, 10).unwrap();
        assert_eq!((mask.count(), mask.is_cut()), (10, true));
        let touching = Mask::new(&Shape::Rectangle([0.0, 0.0, 10.0, 10.0]), &[], 10, 10).unwrap();
        assert!(!touching.is_cut());
        let circle = Mask::new(&Shape::Circle([5.0, 5.0, 5.0]), &[], 10, 10).unwrap();
        assert!(!circle.is_cut());
        assert!(
            Mask::new(&Shape::Circle([5.0, 5.0, 5.6]), &[], 10, 10)
                .unwrap()
                .is_cut()
        );
    }

    #[test]
    fn inside_leaves_the_outermost_ring_out() {
        let square = Mask::new(&Shape::Rectangle([2.0, 3.0, 6.0, 5.0]), &[], 20, 20).unwrap();
        let inside = Mask::new(&Shape::Rectangle([3.0, 4.0, 4.0, 3.0]), &[], 20, 20).unwrap();
        assert_eq!(square.inside().unwrap().runs(), inside.runs());
        // Against the definition, pixel by pixel, for an outline with a hole.
        let hole = [Shape::Rectangle([8.0, 8.0, 3.0, 2.0])];
        let ring = Mask::new(&Shape::Circle([10.0, 9.0, 8.0]), &hole, 20, 20).unwrap();
        let holds = |mask: &Mask, column: usize, row: usize| {
            mask.runs()
                .iter()
                .any(|run| run.row == row && (run.start..run.end).contains(&column))
        };
        let inside = ring.inside().unwrap();
        for row in 1..19 {
            for column in 1..19 {
                let around = [
                    (column, row),
                    (column - 1, row),
                    (column + 1, row),
                    (column, row - 1),
                    (column, row + 1),
                ];
                let all = around
                    .iter()
                    .all(|&(column, row)| holds(&ring, column, row));
                assert_eq!(holds(&inside, column, row), all, "{column}, {row}");
            }
        }
        assert!(
            Mask::new(&Shape::Rectangle([2.0, 3.0, 2.0, 9.0]), &[], 20, 20)
                .unwrap()
                .inside()
                .is_none()
        );
    }

    #[test]
    fn empty_regions_say_why() {
        let outside = Shape::Rectangle([20.0, 0.0, 4.0, 4.0]);
        assert_eq!(Mask::new(&outside, &[], 10, 10), Err(NoPixels::Outside));
        let passing_by = Shape::Polygon(vec![[-9.0, 4.0], [4.0, -9.0], [-9.0, -9.0]]);
        assert_eq!(Mask::new(&passing_by, &[], 10, 10), Err(NoPixels::Outside));
        let inside = Shape::Rectangle([1.0, 1.0, 4.0, 4.0]);
        assert_eq!(
            Mask::new(&inside, std::slice::from_ref(&inside), 10, 10),
            Err(NoPixels::AllExcluded)
        );
        assert_eq!(
            Mask::new(&Shape::Circle([5.0, 5.0, 0.2]), &[], 10, 10),
            Err(NoPixels::TooSmall)
        );
    }

    #[test]
    fn narrowness_sees_thin_regions_at_any_angle() {
        // The greatest length that a row and a column reach.
        let narrow = |shape: &Shape| {
            let mask = Mask::new(shape, &[], 100, 100).unwrap();
            (1..100).find(|&length| mask.is_narrower_than(length + 1))
        };
        assert_eq!(narrow(&Shape::Rectangle([1.0, 1.0, 2.0, 50.0])), Some(2));
        assert_eq!(narrow(&Shape::Rectangle([1.0, 1.0, 50.0, 2.0])), Some(2));
        assert_eq!(narrow(&Shape::Point([9.0, 9.0])), Some(3));
        assert!(narrow(&Shape::Line([[1.0, 1.0], [60.0, 61.0]])) < Some(3));
        assert_eq!(narrow(&Shape::Circle([50.0, 50.0, 10.0])), Some(20));
    }

    #[test]
    fn rows_of_convex_outlines_are_those_tested_pixel_by_pixel() {
        let near = |step: usize| step as f64 * 0.37 - 4.0;
        for step in 0..60 {
            let (x, y, size) = (near(step), near((step * 7) % 60), 0.1 + near(step).abs());
            for shape in [
                Shape::Rectangle([x, y, size, 1.3 * size]),
                Shape::Circle([x, y, size]),
                Shape::Ellipse([x, y, size, 0.4 * size]),
                Shape::Point([x, y]),
            ] {
                let (bounds, size) = (shape.pixel_box(), [17, 13]);
                let member = |column, row| shape.holds(column, row);
                assert_eq!(
                    convex_row_runs(bounds, size, member),
                    row_runs(
                        bounds,
                        size,
                        &Outline {
                            shape: &shape,
                            exclude: &[]
                        }
                    ),
                    "{shape:?}"
                );
            }
        }
    }

    #[test]
    fn many_corners_take_one_look_a_row_each() {
        // A comb of 200 000 corners over a whole picture: minutes, if each pixel looked at each corner.
        let teeth = 100_000;
        let tooth = |index: usize| {
            [
                [index as f64 * 0.006, 2.3],
                [index as f64 * 0.006 + 0.003, 470.7],
            ]
        };
        let mut corners: Vec<[f64; 2]> = (0..teeth).flat_map(tooth).collect();
        corners.extend([[600.0, 479.5], [0.0, 479.5]]);
        let start = std::time::Instant::now();
        assert!(Mask::new(&Shape::Polygon(corners), &[], 640, 480).is_ok());
        assert!(start.elapsed().as_secs() < 60, "{:?}", start.elapsed());
    }

    #[test]
    fn far_coordinates_take_no_time_or_memory() {
        let vast = Shape::Rectangle([-1e6, -1e6, 2e6, 2e6]);
        assert_eq!(Mask::new(&vast, &[], 100, 100).unwrap().count(), 10_000);
        let far = Shape::Line([[-1e6, -1e6], [1e6, 1e6]]);
        assert_eq!(Mask::new(&far, &[], 100, 100).unwrap().count(), 100);
    }
}
