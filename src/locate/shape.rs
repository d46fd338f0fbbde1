//! Outlines of regions, in picture coordinates, and which pixels they hold.
//!
//! Pixel (0, 0) is the top left as a person sees the picture; x grows to the right, y downward; the pixel in column i
//! and row j covers [i, i + 1) × [j, j + 1) and its centre is (i + 0.5, j + 0.5). A pixel belongs to an outline when its
//! centre lies inside. A centre exactly on an edge of a rectangle or polygon belongs to what lies at the edge's right
//! (of a horizontal edge: below); on a circle or ellipse it is inside. A line takes the pixels it crosses, a point the
//! 3 × 3 around the pixel that it lies in.

/// The outline of a region or of a part left out of one. All lengths are in pixels.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Left, top, width, height; width and height above 0.
    Rectangle([f64; 4]),
    /// Corners in order, at least three; even-odd.
    Polygon(Vec<[f64; 2]>),
    /// Centre x, centre y, radius above 0.
    Circle([f64; 3]),
    /// Centre x, centre y, half-width and half-height above 0.
    Ellipse([f64; 4]),
    /// From one point to another: the pixels it crosses.
    Line([[f64; 2]; 2]),
    /// The 3 × 3 pixels around the pixel that the point lies in.
    Point([f64; 2]),
}

/// Pixel columns and rows, `from` inclusive, `to` exclusive; may lie outside any picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct PixelBox {
    pub(super) from: [i64; 2],
    pub(super) to: [i64; 2],
}

impl Shape {
    /// A box of pixels that holds every pixel of the outline, and possibly a few more at the rim.
    pub(super) fn pixel_box(&self) -> PixelBox {
        match self {
            Self::Point([x, y]) => {
                let (column, row) = (x.floor() as i64, y.floor() as i64);
                PixelBox {
                    from: [column - 1, row - 1],
                    to: [column + 2, row + 2],
                }
            }
            Self::Line([a, b]) => PixelBox {
                from: [a[0].min(b[0]).floor() as i64, a[1].min(b[1]).floor() as i64],
                to: [
                    a[0].max(b[0]).floor() as i64 + 1,
                    a[1].max(b[1]).floor() as i64 + 1,
                ],
            },
            _ => {
                let [left, top, right, bottom] = self.extent();
                PixelBox {
                    from: [first_centre_from(left), first_centre_from(top)],
                    // A centre on the far side may still belong to a circle.
                    to: [first_centre_from(right) + 1, first_centre_from(bottom) + 1],
                }
            }
        }
    }

    /// Left, top, right and bottom of the outline.
    #[must_use]
    pub fn extent(&self) -> [f64; 4] {
        match self {
            Self::Rectangle([x, y, width, height]) => [*x, *y, x + width, y + height],
            Self::Circle([x, y, radius]) => [x - radius, y - radius, x + radius, y + radius],
            Self::Ellipse([x, y, rx, ry]) => [x - rx, y - ry, x + rx, y + ry],
            Self::Point([x, y]) => [
                x.floor() - 1.0,
                y.floor() - 1.0,
                x.floor() + 2.0,
                y.floor() + 2.0,
            ],
            Self::Polygon(corners) => corners_extent(corners),
            Self::Line(ends) => corners_extent(ends),
        }
    }

    /// Whether it holds every pixel between two of a row that it holds.
    pub(super) const fn is_convex(&self) -> bool {
        matches!(
            self,
            Self::Rectangle(_) | Self::Circle(_) | Self::Ellipse(_) | Self::Point(_)
        )
    }

    /// Whether the pixel in this column and row belongs to the outline.
    pub(super) fn holds(&self, column: i64, row: i64) -> bool {
        let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
        match self {
            Self::Rectangle([left, top, width, height]) => {
                x >= *left && x < left + width && y >= *top && y < top + height
            }
            Self::Circle([cx, cy, radius]) => {
                let (dx, dy) = (x - cx, y - cy);
                dx * dx + dy * dy <= radius * radius
            }
            Self::Ellipse([cx, cy, rx, ry]) => {
                // Without division, so that a centre exactly on the outline is not lost to rounding.
                let (dx, dy) = ((x - cx) * ry, (y - cy) * rx);
                dx * dx + dy * dy <= (rx * ry) * (rx * ry)
            }
            Self::Polygon(corners) => polygon_holds(corners, x, y),
            Self::Line(ends) => line_crosses(ends, column, row),
            Self::Point([px, py]) => {
                (column - px.floor() as i64).abs() <= 1 && (row - py.floor() as i64).abs() <= 1
            }
        }
    }
}

impl Shape {
    /// The outline as far as one row of pixels sees it: of a polygon only where its edges cross the row, so that a row
    /// costs each corner one look and not one for every pixel.
    pub(super) fn of_row(&self, row: i64) -> RowView<'_> {
        match self {
            Self::Polygon(corners) => {
                let y = row as f64 + 0.5;
                let crossing =
                    edges(corners).filter(|(upper, lower)| upper[1] <= y && y < lower[1]);
                let mut columns: Vec<i64> = crossing
                    .map(|(upper, lower)| first_right_of(upper, lower, y))
                    .collect();
                columns.sort_unstable();
                RowView::Crossings(columns)
            }
            other => RowView::Whole(other, row),
        }
    }
}

/// One row's view of an outline.
pub(super) enum RowView<'a> {
    /// Any outline that is quick to ask.
    Whole(&'a Shape, i64),
    /// For every edge that crosses the row, the first column right of it; rising.
    Crossings(Vec<i64>),
}

impl RowView<'_> {
    /// Whether the pixel in this column of the row belongs to the outline.
    pub(super) fn holds(&self, column: i64) -> bool {
        match self {
            Self::Whole(shape, row) => shape.holds(column, *row),
            Self::Crossings(columns) => columns.partition_point(|&first| first <= column) % 2 == 1,
        }
    }
}

/// The first column whose centre lies right of an edge that crosses the height `y`, or on it.
fn first_right_of(upper: [f64; 2], lower: [f64; 2], y: f64) -> i64 {
    let crossing = ((lower[1] - y) * upper[0] + (y - upper[1]) * lower[0]) / (lower[1] - upper[1]);
    let near = first_centre_from(crossing);
    let right = |column: i64| is_left_of(upper, lower, column as f64 + 0.5, y);
    // The division may be off by its rounding: the exact test decides between the neighbours.
    (near - 1..=near + 1)
        .find(|&column| right(column))
        .unwrap_or(near + 1)
}

/// A polygon's edges, each from its upper end to its lower.
fn edges(corners: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
    let before = corners.last().into_iter().chain(corners);
    before.zip(corners).map(|(from, to)| {
        if from[1] <= to[1] {
            (*from, *to)
        } else {
            (*to, *from)
        }
    })
}

/// Whether an edge passes left of a point at its height, or through it. The sign of the cross product tells the side
/// without division, exactly for ordinary coordinates.
fn is_left_of(upper: [f64; 2], lower: [f64; 2], x: f64, y: f64) -> bool {
    (lower[0] - upper[0]) * (y - upper[1]) - (x - upper[0]) * (lower[1] - upper[1]) <= 0.0
}

/// The first pixel whose centre is at or beyond a coordinate.
fn first_centre_from(coordinate: f64) -> i64 {
    (coordinate - 0.5).ceil() as i64
}

fn corners_extent(corners: &[[f64; 2]]) -> [f64; 4] {
    let start = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    corners
        .iter()
        .fold(start, |[left, top, right, bottom], [x, y]| {
            [left.min(*x), top.min(*y), right.max(*x), bottom.max(*y)]
        })
}

/// Even-odd rule: the edges at or left of the point are counted. An edge reaches from its upper end (exclusive of
/// nothing: a corner at the point's height counts as above it) to its lower end, so a point on a horizontal edge counts
/// as below it and one on any other edge as right of it.
fn polygon_holds(corners: &[[f64; 2]], x: f64, y: f64) -> bool {
    let crossing = edges(corners).filter(|(upper, lower)| upper[1] <= y && y < lower[1]);
    crossing
        .filter(|(upper, lower)| is_left_of(*upper, *lower, x, y))
        .count()
        % 2
        == 1
}

/// Whether a segment passes through the half-open square of a pixel.
fn line_crosses([a, b]: &[[f64; 2]; 2], column: i64, row: i64) -> bool {
    let (upper, lower) = if a[1] <= b[1] { (a, b) } else { (b, a) };
    let (top, bottom) = (row as f64, row as f64 + 1.0);
    if lower[1] < top || upper[1] >= bottom {
        return false;
    }
    // Both products are exact for ordinary coordinates, so crossings at whole pixels come out whole.
    let at =
        |y: f64| ((lower[1] - y) * upper[0] + (y - upper[1]) * lower[0]) / (lower[1] - upper[1]);
    let enters = if upper[1] >= top { upper[0] } else { at(top) };
    // A segment that goes on below the row leaves it at its open lower side: that very point is the next row's.
    let (leaves, leaves_open) = if lower[1] < bottom {
        (lower[0], false)
    } else {
        (at(bottom), true)
    };
    let (left, right) = (column as f64, column as f64 + 1.0);
    if enters <= leaves {
        enters < right && (leaves > left || (leaves == left && (!leaves_open || enters == leaves)))
    } else {
        leaves < right && enters >= left
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pixels(shape: &Shape) -> Vec<(i64, i64)> {
        let PixelBox { from, to } = shape.pixel_box();
        let mut found = Vec::new();
        for row in from[1] - 2..to[1] + 2 {
            for column in from[0] - 2..to[0] + 2 {
                if shape.holds(column, row) {
                    assert!(
                        (from[0]..to[0]).contains(&column) && (from[1]..to[1]).contains(&row),
                        "{shape:?}"
                    );
                    found.push((column, row));
                }
            }
        }
        found
    }

    #[test]
    fn rectangle_keeps_centres_on_its_left_and_top_only() {
        assert_eq!(
            pixels(&Shape::Rectangle([0.5, 0.5, 2.0, 1.0])),
            [(0, 0), (1, 0)]
        );
        assert_eq!(pixels(&Shape::Rectangle([0.0, 0.0, 2.0, 2.0])).len(), 4);
        assert_eq!(
            pixels(&Shape::Rectangle([0.51, 0.0, 2.0, 1.0])),
            [(1, 0), (2, 0)]
        );
    }

    #[test]
    fn rectangle_as_polygon_holds_the_same_pixels() {
        for [x, y, w, h] in [
            [0.5, 0.5, 3.0, 4.0],
            [1.0, 2.0, 3.0, 2.5],
            [0.25, 0.5, 4.25, 1.0],
        ] {
            let polygon = Shape::Polygon(vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]);
            assert_eq!(pixels(&Shape::Rectangle([x, y, w, h])), pixels(&polygon));
        }
    }

    #[test]
    fn polygon_is_even_odd_and_gives_shared_edges_to_one_side() {
        let (a, b) = ([[0.5, 0.5], [4.5, 4.5]], [[0.5, 4.5], [4.5, 0.5]]);
        let above = Shape::Polygon(vec![a[0], b[1], a[1]]);
        let below = Shape::Polygon(vec![a[0], a[1], b[0]]);
        // The diagonal passes through pixel centres: each belongs to one triangle, none to both or neither.
        let square = pixels(&Shape::Rectangle([0.5, 0.5, 4.0, 4.0]));
        let (above, below) = (pixels(&above), pixels(&below));
        assert_eq!(above.len() + below.len(), square.len());
        assert!(
            above.contains(&(1, 1)) && !below.contains(&(1, 1)),
            "the centre on the edge is the right side's"
        );
        let ring = Shape::Polygon(vec![
            [0.0, 0.0],
            [6.0, 0.0],
            [6.0, 6.0],
            [0.0, 6.0],
            [0.0, 0.0],
            [2.0, 2.0],
            [4.0, 2.0],
            [4.0, 4.0],
            [2.0, 4.0],
            [2.0, 2.0],
        ]);
        assert_eq!(pixels(&ring).len(), 36 - 4);
    }

    #[test]
    fn circle_and_ellipse_hold_centres_on_their_outline() {
        assert_eq!(pixels(&Shape::Circle([0.5, 0.5, 1.0])).len(), 5);
        assert_eq!(
            pixels(&Shape::Circle([0.5, 0.5, 5.0])).len(),
            81,
            "3-4-5 triangles lie on the circle"
        );
        assert_eq!(pixels(&Shape::Ellipse([0.5, 0.5, 3.0, 1.0])).len(), 9);
        assert_eq!(pixels(&Shape::Ellipse([3.5, 3.5, 5.0, 5.0])).len(), 81);
    }

    #[test]
    fn areas_come_out_right() {
        let circle = pixels(&Shape::Circle([60.2, 50.7, 40.0])).len() as f64;
        assert!(
            (circle / (std::f64::consts::PI * 1600.0) - 1.0).abs() < 0.005,
            "π r²"
        );
        let ellipse = pixels(&Shape::Ellipse([60.2, 50.7, 40.0, 25.0])).len() as f64;
        assert!(
            (ellipse / (std::f64::consts::PI * 1000.0) - 1.0).abs() < 0.005,
            "π a b"
        );
        // Area 107 by the shoelace formula.
        let triangle =
            pixels(&Shape::Polygon(vec![[1.0, 1.0], [20.0, 3.0], [8.0, 13.0]])).len() as f64;
        assert!((triangle - 107.0).abs() < 4.0, "{triangle}");
    }

    #[test]
    fn line_takes_the_pixels_it_crosses() {
        assert_eq!(
            pixels(&Shape::Line([[0.5, 0.5], [3.5, 0.5]])),
            [(0, 0), (1, 0), (2, 0), (3, 0)]
        );
        assert_eq!(
            pixels(&Shape::Line([[0.2, 0.5], [0.2, 2.5]])),
            [(0, 0), (0, 1), (0, 2)]
        );
        assert_eq!(
            pixels(&Shape::Line([[0.0, 0.0], [2.5, 2.5]])),
            [(0, 0), (1, 1), (2, 2)]
        );
        assert_eq!(
            pixels(&Shape::Line([[0.5, 0.9], [2.5, 1.1]])),
            [(0, 0), (1, 0), (1, 1), (2, 1)]
        );
        assert_eq!(
            pixels(&Shape::Line([[2.5, 0.9], [0.5, 1.1]])),
            [(1, 0), (2, 0), (0, 1), (1, 1)]
        );
        assert_eq!(pixels(&Shape::Line([[1.5, 1.5], [1.5, 1.5]])), [(1, 1)]);
    }

    #[test]
    fn line_agrees_with_points_along_it() {
        let ends = [[0.37, 7.91], [23.13, 1.27]];
        let mut along: Vec<(i64, i64)> = (0..=200_000)
            .map(|part| f64::from(part) / 200_000.0)
            .map(|t| {
                [
                    ends[0][0] + t * (ends[1][0] - ends[0][0]),
                    ends[0][1] + t * (ends[1][1] - ends[0][1]),
                ]
            })
            .map(|[x, y]| (x.floor() as i64, y.floor() as i64))
            .collect();
        along.sort_unstable_by_key(|&(column, row)| (row, column));
        along.dedup();
        assert_eq!(pixels(&Shape::Line(ends)), along);
    }

    #[test]
    fn point_takes_three_by_three() {
        assert_eq!(pixels(&Shape::Point([5.9, 2.0])).len(), 9);
        assert_eq!(pixels(&Shape::Point([5.9, 2.0]))[0], (4, 1));
    }
}
