//! Outlines of regions, in picture coordinates.
//!
//! Pixel (0, 0) is the top left as a person sees the picture; x grows to the right, y downward; the pixel in column i
//! and row j covers [i, i + 1) × [j, j + 1) and its centre is (i + 0.5, j + 0.5).

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
