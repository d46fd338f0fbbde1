//! The outline of a region as it is seen on a drawing.

use std::f64::consts::TAU;

use tiny_skia::{Path, PathBuilder};

use super::canvas::{Canvas, Pen, ink};
use super::geometry::{Area, Point, clip, nearest_on_segment, touches};
use crate::locate::shape::Shape;

/// How far beyond the picture's edge an outline along it is still drawn, pixels of the drawing.
pub(super) const RIM: f32 = 2.0;

/// The part of a region's outline inside a picture, in pixels of the drawing from the picture's top left.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outline {
    /// Consecutive pieces that meet form one line.
    segments: Vec<[Point; 2]>,
    /// The box around what is seen of the region.
    pub(super) bounds: Area,
    /// Whether the box around it is far larger than the region: what a label may cover is then told by its outline.
    loose: bool,
    /// Whether it encloses pixels.
    closed: bool,
}

impl Outline {
    /// The outline of a shape on a picture of a size, enlarged by a factor.
    pub(super) fn new(shape: &Shape, factor: f64, width: f32, height: f32) -> Self {
        let picture = Area::new(0.0, 0.0, width, height);
        let seen = picture.grown(RIM);
        let corners = corners(shape, factor);
        let closed = !matches!(shape, Shape::Line(_));
        let ends = corners.iter().skip(1);
        let ends = ends.chain(corners.first().filter(|_| closed));
        let segments = corners
            .iter()
            .zip(ends)
            .filter_map(|(&from, &to)| clip(from, to, &seen))
            .collect();
        Self {
            segments,
            bounds: bounds(&corners, &picture),
            loose: matches!(shape, Shape::Line(_) | Shape::Polygon(_)),
            closed,
        }
    }

    /// The outline as lines to draw, moved by an offset.
    fn path(&self, by: Point) -> Option<Path> {
        let mut path = PathBuilder::new();
        let mut pen = None;
        for &[from, to] in &self.segments {
            if pen != Some(from) {
                path.move_to(from.x + by.x, from.y + by.y);
            }
            path.line_to(to.x + by.x, to.y + by.y);
            pen = Some(to);
        }
        let first = self.segments.first().map(|&[from, _]| from);
        if self.closed && self.is_one_line() && pen == first {
            path.close();
        }
        path.finish()
    }

    /// Draws it, moved by an offset, as a light line so wide in a dark halo: one of the two stands out against every
    /// colour.
    pub(super) fn draw(&self, canvas: &mut Canvas, by: Point, width: f32, dashed: bool) {
        let Some(path) = self.path(by) else {
            return;
        };
        let halo = if dashed { 150 } else { 220 };
        canvas.stroke(&path, &Pen::new(width + 2.2, ink::DARK, halo));
        let mut core = Pen::new(width, ink::LIGHT, 255);
        core.dash = dashed.then_some([6.0, 5.0]);
        canvas.stroke(&path, &core);
    }

    /// How many straight pieces it consists of.
    pub(super) fn pieces(&self) -> usize {
        self.segments.len()
    }

    fn is_one_line(&self) -> bool {
        let after = self.segments.iter().skip(1);
        self.segments
            .iter()
            .zip(after)
            .all(|([_, end], [start, _])| end == start)
    }

    /// The point of the outline nearest to another; the middle of the region where no outline is seen.
    pub(super) fn nearest(&self, to: Point) -> Point {
        self.segments
            .iter()
            .map(|&segment| nearest_on_segment(segment, to))
            .min_by(|a, b| a.distance(to).total_cmp(&b.distance(to)))
            .unwrap_or_else(|| self.bounds.centre())
    }

    /// Whether a box covers a part of the region.
    pub(super) fn meets(&self, area: &Area) -> bool {
        if !self.bounds.overlaps(area) {
            return false;
        }
        !self.loose
            || self.segments.iter().any(|&segment| touches(segment, area))
            || (self.closed && self.encloses(area.centre()))
    }

    /// Even-odd: how often a ray to the right crosses the outline.
    fn encloses(&self, point: Point) -> bool {
        let crossings = self.segments.iter().filter(|[from, to]| {
            (from.y > point.y) != (to.y > point.y) && {
                let share = (point.y - from.y) / (to.y - from.y);
                from.x + share * (to.x - from.x) > point.x
            }
        });
        crossings.count() % 2 == 1
    }
}

/// The corners of a shape on the drawing; round shapes by chords that stay within a tenth of a pixel.
fn corners(shape: &Shape, factor: f64) -> Vec<[f64; 2]> {
    let boxed =
        |x: f64, y: f64, w: f64, h: f64| vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    let round = |x: f64, y: f64, across: f64, down: f64| {
        let radius = (across.max(down) * factor).clamp(1.0, 1e6);
        let chords = (TAU / 2.0 / (1.0 - 0.1 / radius).acos())
            .ceil()
            .clamp(16.0, 720.0) as u32;
        (0..chords)
            .map(|i| (TAU * f64::from(i) / f64::from(chords)).sin_cos())
            .map(|(sin, cos)| [x + across * cos, y + down * sin])
            .collect()
    };
    let corners = match shape {
        Shape::Rectangle([x, y, w, h]) => boxed(*x, *y, *w, *h),
        Shape::Polygon(corners) => corners.clone(),
        Shape::Circle([x, y, radius]) => round(*x, *y, *radius, *radius),
        Shape::Ellipse([x, y, across, down]) => round(*x, *y, *across, *down),
        Shape::Line(ends) => ends.to_vec(),
        Shape::Point([x, y]) => boxed(x.floor() - 1.0, y.floor() - 1.0, 3.0, 3.0),
    };
    corners
        .into_iter()
        .map(|[x, y]| [x * factor, y * factor])
        .collect()
}

/// The box around corners, cut to the picture; a point on its edge where they lie wholly outside.
fn bounds(corners: &[[f64; 2]], picture: &Area) -> Area {
    let range = |axis: usize, end: f32| {
        let values = corners.iter().filter_map(|corner| corner.get(axis));
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &value| {
            (low.min(value), high.max(value))
        });
        let inside = |value: f64| (value as f32).max(0.0).min(end);
        (inside(low), inside(high))
    };
    let (left, right) = range(0, picture.width);
    let (top, bottom) = range(1, picture.height);
    Area::new(left, top, (right - left).max(0.0), (bottom - top).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outline(shape: Shape) -> Outline {
        Outline::new(&shape, 4.0, 640.0, 480.0)
    }

    #[test]
    fn a_rectangle_is_scaled_and_one_closed_line() {
        let seen = outline(Shape::Rectangle([10.0, 20.0, 30.0, 40.0]));
        assert_eq!(seen.bounds, Area::new(40.0, 80.0, 120.0, 160.0));
        assert_eq!(seen.segments.len(), 4);
        assert!(seen.is_one_line());
        assert_eq!(
            seen.nearest(Point::new(0.0, 100.0)),
            Point::new(40.0, 100.0)
        );
    }

    #[test]
    fn a_point_is_the_nine_pixels_around_its_own() {
        let seen = outline(Shape::Point([10.7, 20.2]));
        assert_eq!(seen.bounds, Area::new(36.0, 76.0, 12.0, 12.0));
    }

    #[test]
    fn what_lies_outside_the_picture_is_cut_off() {
        let seen = outline(Shape::Circle([0.0, 0.0, 1e9]));
        assert!(seen.path(Point::new(0.0, 0.0)).is_none());
        assert_eq!(seen.nearest(Point::new(0.0, 0.0)), Point::new(320.0, 240.0));
        let seen = outline(Shape::Rectangle([150.0, 100.0, 1e12, 1e12]));
        assert_eq!(seen.bounds, Area::new(600.0, 400.0, 40.0, 80.0));
        assert_eq!(seen.segments.len(), 2);
        for [from, to] in &seen.segments {
            for point in [from, to] {
                assert!(point.x <= 640.0 + RIM && point.y <= 480.0 + RIM);
            }
        }
    }

    #[test]
    fn a_slanting_line_leaves_the_corners_of_its_box_free() {
        let seen = outline(Shape::Line([[0.0, 0.0], [100.0, 100.0]]));
        assert!(!seen.meets(&Area::new(300.0, 10.0, 50.0, 50.0)));
        assert!(seen.meets(&Area::new(180.0, 180.0, 50.0, 50.0)));
    }

    #[test]
    fn inside_a_polygon_counts_as_covered() {
        let corners = vec![[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]];
        assert!(outline(Shape::Polygon(corners)).meets(&Area::new(200.0, 200.0, 10.0, 10.0)));
    }
}
