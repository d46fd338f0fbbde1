//! The temperatures of a picture as a plain grid, and the grid as pixels of a drawing.

use ndarray::Array2;
use tiny_skia::{Pixmap, PremultipliedColorU8};

use super::colour::{ColourMap, Rgb};
use crate::load::{Sample, ThermalImage};
use crate::units::temperature::Kelvin;
use crate::with_samples;

/// Temperatures, °C, row by row; not a number where a pixel has none.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) celsius: Vec<f32>,
}

/// How many pixels of the drawing a pixel of the picture covers each way, or the reverse for very large pictures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Zoom {
    Up(usize),
    Down(usize),
}

impl Zoom {
    /// Pixels of the drawing a pixel of the picture.
    pub(super) fn factor(self) -> f64 {
        match self {
            Self::Up(factor) => factor as f64,
            Self::Down(factor) => 1.0 / factor as f64,
        }
    }

    /// The drawing's size of so many pixels of the picture; at least 1.
    pub(super) fn size(self, pixels: usize) -> usize {
        match self {
            Self::Up(factor) => pixels.saturating_mul(factor).max(1),
            Self::Down(factor) => pixels.div_ceil(factor.max(1)).max(1),
        }
    }

    /// The picture's column or row behind one of the drawing.
    fn source(self, at: usize) -> usize {
        match self {
            Self::Up(factor) => at / factor.max(1),
            Self::Down(factor) => at * factor,
        }
    }

    /// The whole factor that enlarges a picture to about a size, and no further than a limit on either side; large
    /// pictures are thinned by a whole factor to the limit.
    pub(super) fn to_fit(width: usize, height: usize, about: usize, limit: usize) -> Self {
        let longest = width.max(height).max(1);
        if longest > limit {
            return Self::Down(longest.div_ceil(limit.max(1)));
        }
        Self::Up(
            about
                .div_ceil(width.max(1))
                .clamp(1, (limit / longest).max(1)),
        )
    }
}

impl Grid {
    /// The shown temperatures of a picture.
    pub(super) fn of(image: &ThermalImage) -> Self {
        let celsius = with_samples!(&image.samples, array => array
            .iter()
            .map(|&sample| match image.pixels.kelvin(sample.number()) {
                Some(kelvin) => Kelvin::new(kelvin).celsius() as f32,
                None => f32::NAN,
            })
            .collect());
        Self {
            width: image.width(),
            height: image.height(),
            celsius,
        }
    }

    /// The grid reduced to fit a size: each pixel the mean of the valid ones that it replaces. Unchanged where it fits.
    pub(super) fn reduced(self, most_width: usize, most_height: usize) -> Self {
        let shrink = (most_width as f64 / self.width.max(1) as f64)
            .min(most_height as f64 / self.height.max(1) as f64);
        if shrink >= 1.0 {
            return self;
        }
        let width = ((self.width as f64 * shrink) as usize).max(1);
        let height = ((self.height as f64 * shrink) as usize).max(1);
        let edge = |at: usize, to: usize, from: usize| at * from / to.max(1);
        let mut celsius = Vec::with_capacity(width * height);
        for y in 0..height {
            let rows = edge(y, height, self.height)..edge(y + 1, height, self.height);
            for x in 0..width {
                let columns = edge(x, width, self.width)..edge(x + 1, width, self.width);
                celsius.push(self.mean(rows.clone(), columns));
            }
        }
        Self {
            width,
            height,
            celsius,
        }
    }

    /// The mean of a block's valid pixels.
    fn mean(&self, rows: std::ops::Range<usize>, columns: std::ops::Range<usize>) -> f32 {
        let (mut sum, mut count) = (0.0_f64, 0_u32);
        for row in self
            .celsius
            .chunks(self.width.max(1))
            .take(rows.end)
            .skip(rows.start)
        {
            for value in row.get(columns.clone()).unwrap_or_default() {
                if value.is_finite() {
                    sum += f64::from(*value);
                    count += 1;
                }
            }
        }
        if count == 0 {
            f32::NAN
        } else {
            (sum / f64::from(count)) as f32
        }
    }

    /// Draws the grid with its top left at a place of the drawing; what would lie outside is left out.
    pub(super) fn paint(
        &self,
        on: &mut Pixmap,
        left: usize,
        top: usize,
        zoom: Zoom,
        map: &ColourMap,
    ) {
        let stride = (on.width() as usize).max(1);
        let indices: Vec<u16> = self.celsius.iter().map(|&t| map.index(t)).collect();
        let (across, down) = (zoom.size(self.width), zoom.size(self.height));
        let rows = on.pixels_mut().chunks_mut(stride).skip(top).take(down);
        for (y, row) in rows.enumerate() {
            let start = zoom.source(y).saturating_mul(self.width);
            let Some(source) = indices.get(start..start.saturating_add(self.width)) else {
                continue;
            };
            for (x, pixel) in row.iter_mut().skip(left).take(across).enumerate() {
                let Some(&index) = source.get(zoom.source(x)) else {
                    continue;
                };
                let [red, green, blue] = map.colour(index, x, y);
                if let Some(colour) = PremultipliedColorU8::from_rgba(red, green, blue, 255) {
                    *pixel = colour;
                }
            }
        }
    }
}

/// Draws a picture's own colours with its left and top at a place of the drawing; what would lie outside is left out.
pub(super) fn paint_colours(
    on: &mut Pixmap,
    [left, top]: [usize; 2],
    zoom: Zoom,
    pixels: &Array2<Rgb>,
) {
    let stride = (on.width() as usize).max(1);
    let (height, width) = pixels.dim();
    let rows = on.pixels_mut().chunks_mut(stride).skip(top);
    for (y, row) in rows.enumerate().take(zoom.size(height)) {
        for (x, pixel) in row.iter_mut().skip(left).enumerate().take(zoom.size(width)) {
            let colour = pixels.get([zoom.source(y), zoom.source(x)]);
            let colour =
                colour.and_then(|&[r, g, b]| PremultipliedColorU8::from_rgba(r, g, b, 255));
            if let Some(colour) = colour {
                *pixel = colour;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_factors_reach_the_usual_width() {
        for (width, height, factor) in [(80, 60, 8), (160, 120, 4), (320, 240, 2), (640, 480, 1)] {
            assert_eq!(Zoom::to_fit(width, height, 640, 1600), Zoom::Up(factor));
        }
        assert_eq!(Zoom::to_fit(1, 500, 640, 1600), Zoom::Up(3));
        assert_eq!(Zoom::to_fit(5000, 100, 640, 1600), Zoom::Down(4));
    }

    #[test]
    fn reducing_averages_valid_pixels_only() {
        let grid = Grid {
            width: 4,
            height: 2,
            celsius: vec![1.0, 3.0, f32::NAN, f32::NAN, 5.0, 7.0, f32::NAN, f32::NAN],
        };
        let small = grid.clone().reduced(2, 2);
        assert_eq!((small.width, small.height), (2, 1));
        assert_eq!(small.celsius[0], 4.0);
        assert!(small.celsius[1].is_nan());
        assert_eq!(grid.clone().reduced(4, 2).celsius.len(), 8);
    }

    #[test]
    fn enlarged_pixels_stay_square_and_unblended() {
        let grid = Grid {
            width: 2,
            height: 1,
            celsius: vec![20.0, 70.0],
        };
        let map = ColourMap::new(crate::picture::Scale {
            low: 20.0,
            high: 70.0,
        });
        let mut on = Pixmap::new(10, 6).unwrap();
        grid.paint(&mut on, 1, 1, Zoom::Up(4), &map);
        let at = |x, y| {
            let p = on.pixel(x, y).unwrap();
            [p.red(), p.green(), p.blue()]
        };
        assert_eq!(at(1, 1), map.at_share(0.0));
        assert_eq!(at(4, 4), map.at_share(0.0));
        assert_eq!(at(5, 1), map.at_share(1.0));
        assert_eq!(at(8, 4), map.at_share(1.0));
        assert_eq!(on.pixel(0, 0).unwrap().alpha(), 0);
    }
}
