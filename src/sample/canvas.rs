//! A scene of skins, painted shape upon shape.
//!
//! Coordinates are the picture's: (0, 0) its top left corner, x right, y down, 240 × 180. Only additions,
//! multiplications, divisions and square roots are used, which every machine rounds alike.

use ndarray::Array2;

/// Columns of the pictures.
pub const WIDTH: usize = 240;
/// Rows of the pictures.
pub const HEIGHT: usize = 180;
/// Points of the scene along each side of a pixel, so that edges come out smooth.
pub const FINE: usize = 2;

/// A place in the picture's coordinates.
pub type Place = [f64; 2];

/// What a point of the scene is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skin {
    /// True temperature, °C.
    pub celsius: f64,
    /// True emissivity.
    pub emissivity: f64,
    /// Apparent temperature of what it mirrors, °C.
    pub reflected: f64,
}

/// An outline to paint within.
#[derive(Debug, Clone, Copy)]
pub enum Outline<'a> {
    /// x, y, width, height, radius of the corners.
    Rounded([f64; 5]),
    /// Corners in order.
    Polygon(&'a [Place]),
    /// A thick line with round ends: from, to, half its thickness.
    Stroke(Place, Place, f64),
}

impl Outline<'_> {
    fn contains(&self, [x, y]: Place) -> bool {
        match *self {
            Self::Rounded([left, top, width, height, radius]) => {
                let over = |value: f64, from: f64, length: f64| {
                    let (low, high) = (from + radius, from + length - radius);
                    (low - value).max(value - high)
                };
                let (dx, dy) = (over(x, left, width), over(y, top, height));
                let corner = dx.max(0.0) * dx.max(0.0) + dy.max(0.0) * dy.max(0.0);
                dx <= radius && dy <= radius && corner <= radius * radius
            }
            Self::Polygon(corners) => {
                let edges = corners.iter().zip(corners.iter().cycle().skip(1));
                let crossed = edges.filter(|&(from, to)| crosses(*from, *to, [x, y]));
                crossed.count() % 2 == 1
            }
            Self::Stroke(from, to, radius) => {
                let along = [to[0] - from[0], to[1] - from[1]];
                let length = along[0] * along[0] + along[1] * along[1];
                let share = ((x - from[0]) * along[0] + (y - from[1]) * along[1]) / length;
                let share = share.clamp(0.0, 1.0);
                let dx = x - from[0] - share * along[0];
                let dy = y - from[1] - share * along[1];
                dx * dx + dy * dy <= radius * radius
            }
        }
    }
}

/// Whether the ray from a place to the right crosses an edge.
fn crosses(from: Place, to: Place, [x, y]: Place) -> bool {
    (from[1] > y) != (to[1] > y)
        && x < from[0] + (y - from[1]) / (to[1] - from[1]) * (to[0] - from[0])
}

/// A scene being painted.
#[derive(Debug, Clone)]
pub struct Canvas {
    /// Skins, [`FINE`] points a pixel along each side, indexed `[[row, column]]`.
    pub skins: Array2<Skin>,
}

impl Canvas {
    /// A scene filled by what `skin` says of each place.
    pub fn new(skin: impl Fn(Place) -> Skin) -> Self {
        let shape = (HEIGHT * FINE, WIDTH * FINE);
        let skins = Array2::from_shape_fn(shape, |point| skin(place(point)));
        Self { skins }
    }

    /// Paints an outline over what is there.
    pub fn paint(&mut self, outline: Outline<'_>, skin: impl Fn(Place) -> Skin) {
        for (point, here) in self.skins.indexed_iter_mut() {
            let place = place(point);
            if outline.contains(place) {
                *here = skin(place);
            }
        }
    }
}

/// The middle of a scene's point in the picture's coordinates.
fn place((row, column): (usize, usize)) -> Place {
    [column, row].map(|index| (index as f64 + 0.5) / FINE as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outlines_hold_what_lies_inside_them() {
        let rounded = Outline::Rounded([10.0, 20.0, 30.0, 40.0, 8.0]);
        assert!(rounded.contains([25.0, 40.0]));
        assert!(rounded.contains([10.5, 40.0]));
        assert!(!rounded.contains([9.5, 40.0]));
        assert!(!rounded.contains([11.0, 21.0]), "the corner is cut off");

        let triangle = [[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]];
        assert!(Outline::Polygon(&triangle).contains([2.0, 2.0]));
        assert!(!Outline::Polygon(&triangle).contains([8.0, 8.0]));

        let stroke = Outline::Stroke([0.0, 0.0], [10.0, 0.0], 2.0);
        assert!(stroke.contains([5.0, 1.9]));
        assert!(stroke.contains([11.5, 0.0]));
        assert!(!stroke.contains([11.5, 1.9]), "the ends are round");
    }

    #[test]
    fn later_paint_covers_earlier_paint() {
        let skin = |celsius| Skin {
            celsius,
            emissivity: 0.9,
            reflected: 20.0,
        };
        let mut canvas = Canvas::new(|_| skin(1.0));
        canvas.paint(Outline::Rounded([0.0, 0.0, 10.0, 10.0, 0.0]), |_| skin(2.0));
        assert_eq!(canvas.skins[[3, 3]].celsius, 2.0);
        assert_eq!(canvas.skins[[30, 30]].celsius, 1.0);
        assert_eq!(canvas.skins.dim(), (HEIGHT * FINE, WIDTH * FINE));
    }
}
