//! The picture that a camera keeps for looking at: colours, a bar, the limits at its ends and the spot's number.
//!
//! The scene keeps its place at the top left, so that a view serves this picture too. The panel beside it is a layout of
//! the sample's own.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};
use ndarray::Array2;

use super::SampleError;
use super::canvas::{HEIGHT, WIDTH};
use crate::units::temperature::ZERO_CELSIUS;

/// Limits printed at the bar's ends, °C: the scale that the camera chose for the picture.
pub const LIMITS: [f64; 2] = [16.7, 67.7];
/// The bar: x, y, width, height.
pub const BAR: [u32; 4] = [256, 24, 16, 132];
/// The pixel whose temperature is printed.
pub const SPOT: [u32; 2] = [50, 90];
/// Beyond the scene, to the right.
const PANEL: u32 = 56;
const QUALITY: u8 = 90;

const PANEL_COLOUR: Rgb<u8> = Rgb([92, 94, 100]);
const INK: Rgb<u8> = Rgb([255, 255, 255]);

/// Digits of 5 × 7 points, a row a number, its left point the highest bit.
const DIGITS: [[u8; 7]; 10] = [
    [14, 17, 17, 17, 17, 17, 14],
    [4, 12, 4, 4, 4, 4, 14],
    [14, 17, 1, 2, 4, 8, 31],
    [31, 2, 4, 2, 1, 17, 14],
    [2, 6, 10, 18, 31, 2, 2],
    [31, 16, 30, 1, 1, 17, 14],
    [6, 8, 16, 30, 17, 17, 14],
    [31, 1, 2, 4, 8, 8, 8],
    [14, 17, 17, 14, 17, 17, 14],
    [14, 17, 17, 15, 1, 2, 12],
];
const DOT: [u8; 7] = [0, 0, 0, 0, 0, 12, 12];

/// The bytes of the JPEG file of a picture of stored temperatures, K.
///
/// # Errors
/// The encoder's own, which no picture of this size should meet.
pub fn picture(kelvin: &Array2<f64>) -> Result<Vec<u8>, SampleError> {
    let side = |length: usize| u32::try_from(length).map_err(|cause| SampleError::encode(&cause));
    let mut picture = RgbImage::from_pixel(side(WIDTH)? + PANEL, side(HEIGHT)?, PANEL_COLOUR);
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        if let Some(kelvin) = kelvin.get([y as usize, x as usize]) {
            *pixel = colour((kelvin - ZERO_CELSIUS - LIMITS[0]) / (LIMITS[1] - LIMITS[0]));
        }
    }
    bar(&mut picture);
    let spot = kelvin.get([SPOT[1] as usize, SPOT[0] as usize]);
    let shown = spot.map_or(0.0, |kelvin| kelvin - ZERO_CELSIUS);
    marks(&mut picture, shown);
    let mut bytes = Cursor::new(Vec::new());
    JpegEncoder::new_with_quality(&mut bytes, QUALITY)
        .encode_image(&picture)
        .map_err(|cause| SampleError::encode(&cause))?;
    Ok(bytes.into_inner())
}

fn colour(share: f64) -> Rgb<u8> {
    let colour = colorous::CIVIDIS.eval_continuous(share.clamp(0.0, 1.0));
    Rgb([colour.r, colour.g, colour.b])
}

/// The bar, hot at its top: its first and last row are the limits.
fn bar(picture: &mut RgbImage) {
    let [left, top, width, height] = BAR;
    for row in 0..height {
        let share = f64::from(height - 1 - row) / f64::from(height - 1);
        for column in 0..width {
            put(picture, left + column, top + row, colour(share));
        }
    }
}

/// The limits above and below the bar, a cross with a gap around the spot, and the spot's number.
fn marks(picture: &mut RgbImage, shown: f64) {
    let [left, top, _, height] = BAR;
    text(picture, [left - 6, top - 14], LIMITS[1]);
    text(picture, [left - 6, top + height + 8], LIMITS[0]);
    let [x, y] = SPOT;
    for step in 5..10 {
        for [x, y] in [[x + step, y], [x - step, y], [x, y + step], [x, y - step]] {
            put(picture, x, y, INK);
        }
    }
    text(picture, [4, 166], shown);
}

/// A positive temperature with one decimal, its top left at a place.
fn text(picture: &mut RgbImage, [mut x, y]: [u32; 2], celsius: f64) {
    for letter in format!("{celsius:.1}").chars() {
        let digit = letter.to_digit(10).and_then(|at| DIGITS.get(at as usize));
        let rows = digit.unwrap_or(&DOT);
        for (row, bits) in (0_u32..).zip(rows) {
            for column in 0..5 {
                if bits >> (4 - column) & 1 == 1 {
                    put(picture, x + column, y + row, INK);
                }
            }
        }
        x += 7;
    }
}

fn put(picture: &mut RgbImage, x: u32, y: u32, colour: Rgb<u8>) {
    if let Some(pixel) = picture.get_pixel_mut_checked(x, y) {
        *pixel = colour;
    }
}

#[cfg(test)]
mod tests {
    use super::super::{camera, scene, truth};
    use super::*;
    use crate::radiometry::{Band, Detector};

    /// What the session's notes say of this picture.
    #[test]
    fn notes_are_those_of_the_picture() {
        let session = include_str!("../../sample-images/tow-truck/session.toml");
        let run = &truth::RUNS[5];
        assert_eq!(run.container, truth::Container::Jpeg);
        let band = Band::flat(8.0, 14.0).unwrap();
        let kelvin = camera::photograph(&scene::draw(run), run, &Detector::band(&band));
        let spot = kelvin[[SPOT[1] as usize, SPOT[0] as usize]] - ZERO_CELSIUS;
        let [x, y] = SPOT.map(|at| f64::from(at) + 0.5);
        for note in [
            format!("colour-bar = {BAR:?}"),
            format!("low = \"{:.1} °C ± 0.05\"", LIMITS[0]),
            format!("high = \"{:.1} °C ± 0.05\"", LIMITS[1]),
            format!("{{ at = [{x}, {y}], reading = \"{spot:.1} °C ± 0.05\" }}"),
        ] {
            assert!(session.contains(&note), "{note}");
        }
        // The camera chose the scale: it is that of the picture.
        let ends = kelvin
            .iter()
            .fold(LIMITS.map(|_| f64::NAN), |[low, high], kelvin| {
                [
                    low.min(kelvin - ZERO_CELSIUS),
                    high.max(kelvin - ZERO_CELSIUS),
                ]
            });
        for (end, limit) in ends.into_iter().zip(LIMITS) {
            assert!((end - limit).abs() <= 0.05, "{end} {limit}");
        }
    }

    #[test]
    fn scene_bar_and_spot_are_where_they_are_said_to_be() {
        let [low, high] = LIMITS.map(|celsius| celsius + ZERO_CELSIUS);
        let kelvin = Array2::from_shape_fn((HEIGHT, WIDTH), |(_, column)| {
            low + (high - low) * column as f64 / (WIDTH - 1) as f64
        });
        let picture = image::load_from_memory(&picture(&kelvin).unwrap())
            .unwrap()
            .into_rgb8();
        assert_eq!(picture.dimensions(), (296, 180));
        let [left, top, width, height] = BAR;
        let near = |x: u32, y: u32, share: f64| {
            let (found, wanted) = (picture.get_pixel(x, y).0, colour(share).0);
            let off = found.iter().zip(wanted).map(|(a, b)| a.abs_diff(b)).max();
            assert!(off.unwrap() <= 12, "{x} {y}: {found:?}, not {wanted:?}");
        };
        near(left + width / 2, top, 1.0);
        near(left + width / 2, top + height - 1, 0.0);
        near(2, 90, 2.0 / 239.0);
        near(237, 90, 237.0 / 239.0);
    }
}
