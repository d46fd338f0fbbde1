//! What every picture becomes, whatever it was stored as.

use ndarray::Array2;

use super::{Captured, Palette};
use crate::session::Pixels;

/// A thermal picture in memory: its numbers as stored, and what they mean.
///
/// The numbers are kept as stored (rows × columns) so that a picture costs no more memory than its file means and
/// only the pixels inside regions are ever converted.
#[derive(Debug, Clone)]
pub struct ThermalImage {
    /// The stored numbers, indexed `[[row, column]]`.
    pub samples: Samples,
    /// What they mean.
    pub pixels: Pixels,
    /// The container it came from, in words: `TIFF, 16-bit unsigned`.
    pub container: String,
    /// Whether `pixels` was inferred from the numbers because the session does not state it, and how, in a sentence.
    pub assumed: Option<String>,
    /// How many pictures the file holds; one of them was read.
    pub pages: usize,
    /// When it was taken, where the camera noted it.
    pub captured: Option<Captured>,
    /// Of a palette picture, what is known of its colours.
    pub palette: Option<Box<Palette>>,
}

/// Stored numbers, rows × columns.
#[derive(Debug, Clone)]
#[allow(missing_docs)]
pub enum Samples {
    U8(Array2<u8>),
    U16(Array2<u16>),
    I16(Array2<i16>),
    U32(Array2<u32>),
    I32(Array2<i32>),
    F32(Array2<f32>),
    F64(Array2<f64>),
}

/// Runs `$body` with `$array` bound to the `Array2` inside, whatever its element type.
#[macro_export]
macro_rules! with_samples {
    ($samples:expr, $array:ident => $body:expr) => {
        match $samples {
            $crate::load::Samples::U8($array) => $body,
            $crate::load::Samples::U16($array) => $body,
            $crate::load::Samples::I16($array) => $body,
            $crate::load::Samples::U32($array) => $body,
            $crate::load::Samples::I32($array) => $body,
            $crate::load::Samples::F32($array) => $body,
            $crate::load::Samples::F64($array) => $body,
        }
    };
}

impl Samples {
    /// The least and greatest number that can be stored, of pictures that hold 8 or 16 bits: what lies there was cut off.
    #[must_use]
    pub fn ends(&self) -> Option<(f64, f64)> {
        match self {
            Self::U8(_) => Some((u8::MIN.into(), u8::MAX.into())),
            Self::U16(_) => Some((u16::MIN.into(), u16::MAX.into())),
            Self::I16(_) => Some((i16::MIN.into(), i16::MAX.into())),
            _ => None,
        }
    }
}

/// A stored number that can be read as `f64` without loss.
pub trait Sample: Copy + PartialOrd {
    /// The number.
    fn number(self) -> f64;
}

macro_rules! sample {
    ($($kind:ty),+) => { $(impl Sample for $kind { fn number(self) -> f64 { self.into() } })+ };
}
sample!(u8, u16, i16, u32, i32, f32, f64);

impl ThermalImage {
    /// Columns.
    #[must_use]
    pub fn width(&self) -> usize {
        with_samples!(&self.samples, array => array.ncols())
    }

    /// Rows.
    #[must_use]
    pub fn height(&self) -> usize {
        with_samples!(&self.samples, array => array.nrows())
    }

    /// The number stored at a column and row of the picture.
    #[must_use]
    pub fn number(&self, x: usize, y: usize) -> f64 {
        with_samples!(&self.samples, array => array[[y, x]].number())
    }

    /// The temperature shown at a column and row, K; `None` where the pixel is invalid.
    #[must_use]
    pub fn shown(&self, x: usize, y: usize) -> Option<f64> {
        self.pixels.kelvin(self.number(x, y))
    }
}

impl Pixels {
    /// The temperature, K, that a stored number means; `None` where it means none (not finite, or not above absolute
    /// zero: no skin is at 0 K, and a count of 0 marks a dead pixel in many files).
    #[must_use]
    pub fn kelvin(&self, number: f64) -> Option<f64> {
        let kelvin = match *self {
            Self::Linear { step, zero } => zero + step * number,
            Self::SakumaHattori { a, b, c } => {
                crate::radiometry::sakuma_hattori::temperature(number, a, b, c)
            }
        };
        (kelvin.is_finite() && kelvin > 0.0).then_some(kelvin)
    }
}

#[cfg(test)]
impl ThermalImage {
    /// A picture with nothing in it, for tests to fill.
    pub(crate) fn of_text() -> Self {
        Self {
            samples: Samples::F64(Array2::zeros((0, 0))),
            pixels: Pixels::Linear {
                step: 1.0,
                zero: 0.0,
            },
            container: "text matrix".to_owned(),
            assumed: None,
            pages: 1,
            captured: None,
            palette: None,
        }
    }
}
