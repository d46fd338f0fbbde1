//! Points, segments and upright boxes on a drawing, in its pixels: x to the right, y down.

/// A point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub(super) x: f32,
    pub(super) y: f32,
}

impl Point {
    pub(super) const fn new(x: f32, y: f32) -> Self {
        Self { x, y }
    }

    pub(super) fn distance(self, other: Self) -> f32 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    pub(super) fn shifted(self, by: Self) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

/// An upright box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub(super) left: f32,
    pub(super) top: f32,
    pub(super) width: f32,
    pub(super) height: f32,
}

impl Area {
    pub(super) const fn new(left: f32, top: f32, width: f32, height: f32) -> Self {
        Self {
            left,
            top,
            width,
            height,
        }
    }

    pub(super) fn right(&self) -> f32 {
        self.left + self.width
    }

    pub(super) fn bottom(&self) -> f32 {
        self.top + self.height
    }

    pub(super) fn centre(&self) -> Point {
        Point::new(self.left + self.width / 2.0, self.top + self.height / 2.0)
    }

    /// The same box moved.
    pub(super) fn shifted(&self, by: Point) -> Self {
        Self::new(self.left + by.x, self.top + by.y, self.width, self.height)
    }

    /// The box grown by a margin on all sides; shrunk where it is negative, never below nothing.
    pub(super) fn grown(&self, by: f32) -> Self {
        Self::new(
            self.left - by,
            self.top - by,
            (self.width + 2.0 * by).max(0.0),
            (self.height + 2.0 * by).max(0.0),
        )
    }

    /// Whether the two share more than an edge.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }

    /// Whether the other lies wholly inside.
    pub(super) fn holds(&self, other: &Self) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && other.right() <= self.right()
            && other.bottom() <= self.bottom()
    }

    /// The point of the box nearest to another.
    pub(super) fn nearest(&self, to: Point) -> Point {
        Point::new(
            to.x.max(self.left).min(self.right()),
            to.y.max(self.top).min(self.bottom()),
        )
    }

    /// The middles of its four sides.
    pub(super) fn side_middles(&self) -> [Point; 4] {
        let centre = self.centre();
        [
            Point::new(self.left, centre.y),
            Point::new(self.right(), centre.y),
            Point::new(centre.x, self.top),
            Point::new(centre.x, self.bottom()),
        ]
    }
}

/// The part of a segment inside a box (Liang and Barsky, ACM Trans. Graphics 3 (1984) 1); `None` where it misses it.
///
/// Worked in `f64`, so that an end far outside the drawing does not bend the part that is seen.
pub(super) fn clip([x, y]: [f64; 2], to: [f64; 2], area: &Area) -> Option<[Point; 2]> {
    let [to_x, to_y] = to;
    let (dx, dy) = (to_x - x, to_y - y);
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (step, room) in [
        (-dx, x - f64::from(area.left)),
        (dx, f64::from(area.right()) - x),
        (-dy, y - f64::from(area.top)),
        (dy, f64::from(area.bottom()) - y),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    let at = |t: f64| Point::new((x + t * dx) as f32, (y + t * dy) as f32);
    (enter <= leave).then(|| [at(enter), at(leave)])
}

/// The point of a segment nearest to another point.
pub(super) fn nearest_on_segment([from, to]: [Point; 2], point: Point) -> Point {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let length = dx * dx + dy * dy;
    if length <= 0.0 {
        return from;
    }
    let t = (((point.x - from.x) * dx + (point.y - from.y) * dy) / length).clamp(0.0, 1.0);
    Point::new(from.x + t * dx, from.y + t * dy)
}

/// Whether a segment touches a box.
pub(super) fn touches([from, to]: [Point; 2], area: &Area) -> bool {
    let wide = |point: Point| [f64::from(point.x), f64::from(point.y)];
    clip(wide(from), wide(to), area).is_some()
}

/// Whether two segments cross (touching ends do not count).
pub(super) fn cross(a: [Point; 2], b: [Point; 2]) -> bool {
    let turn = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    let [a0, a1] = a;
    let [b0, b1] = b;
    turn(a0, a1, b0) * turn(a0, a1, b1) < 0.0 && turn(b0, b1, a0) * turn(b0, b1, a1) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_segment_through_a_box_is_cut_at_its_edges() {
        let area = Area::new(0.0, 0.0, 10.0, 10.0);
        assert_eq!(
            clip([-5.0, 5.0], [15.0, 5.0], &area),
            Some([Point::new(0.0, 5.0), Point::new(10.0, 5.0)])
        );
        assert_eq!(clip([-5.0, 11.0], [15.0, 11.0], &area), None);
        assert_eq!(clip([-9.0, 5.0], [5.0, -9.0], &area), None);
    }

    #[test]
    fn segments_cross_only_where_both_pass() {
        let s = |a, b, c, d| [Point::new(a, b), Point::new(c, d)];
        assert!(cross(s(0.0, 0.0, 4.0, 4.0), s(0.0, 4.0, 4.0, 0.0)));
        assert!(!cross(s(0.0, 0.0, 1.0, 1.0), s(0.0, 4.0, 4.0, 0.0)));
    }

    #[test]
    fn boxes_that_share_an_edge_do_not_overlap() {
        let a = Area::new(0.0, 0.0, 5.0, 5.0);
        assert!(!a.overlaps(&Area::new(5.0, 0.0, 5.0, 5.0)));
        assert!(a.overlaps(&Area::new(4.9, 4.9, 5.0, 5.0)));
    }
}
