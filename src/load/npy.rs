//! NumPy arrays (NPY, versions 1 to 3) of two dimensions.
//!
//! Source: the format's description in NumPy, `numpy.lib.format` (from memory): a magic word, the version, the length
//! of a header, the header as a Python dictionary with the keys `descr`, `fortran_order` and `shape`, then the numbers.

mod header;

use ndarray::{Array2, ShapeBuilder};

use super::exif::Exif;
use super::{Decoded, LoadError, MAX_BYTES, Samples, check_size};
use header::Header;

/// Reads an array as rows × columns.
///
/// # Errors
/// An array that is not two-dimensional or whose type of numbers is not read; a damaged or oversized file.
pub(super) fn read(bytes: &[u8]) -> Result<Decoded, LoadError> {
    let (header, body) = split(bytes)?;
    let header = Header::parse(header)?;
    let &[rows, columns] = header.shape.as_slice() else {
        return Err(not_flat(&header.shape));
    };
    check_size(columns, rows)?;
    let kind = Kind::of(&header.descr)?;
    let needed = rows * columns * kind.bytes();
    if needed > MAX_BYTES as u64 {
        return Err(LoadError::damaged(
            "the NPY array claims to hold more than 1 GiB",
        ));
    }
    if body.len() as u64 != needed {
        return Err(LoadError::damaged(format!(
            "the NPY array's header promises {needed} bytes of numbers, the file holds {}",
            body.len()
        )));
    }
    let shape = (rows as usize, columns as usize);
    let big_endian = header.descr.starts_with('>');
    let samples = kind
        .samples(body, big_endian, shape, header.fortran_order)
        .map_err(|_| LoadError::damaged("the NPY array's numbers do not fill its shape"))?;
    Ok(Decoded {
        samples,
        container: format!("NPY, {}", kind.words()),
        pages: 1,
        exif: Exif::default(),
    })
}

/// The header's text and the bytes of the numbers.
fn split(bytes: &[u8]) -> Result<(&[u8], &[u8]), LoadError> {
    let cut_off = || LoadError::damaged("the NPY array ends before its header does");
    let number = |places: std::ops::Range<usize>| {
        let bytes = bytes.get(places).ok_or_else(cut_off)?;
        let join = |number, byte: &u8| number << 8 | usize::from(*byte);
        Ok::<_, LoadError>(bytes.iter().rev().fold(0, join))
    };
    let start = match number(6..7)? {
        1 => 10,
        2 | 3 => 12,
        other => {
            return Err(LoadError::new(
                format!("the NPY array is of version {other}, which is not read"),
                MEND,
            ));
        }
    };
    let length = number(8..start)?;
    let rest = bytes.get(start..).ok_or_else(cut_off)?;
    rest.split_at_checked(length).ok_or_else(cut_off)
}

const MEND: &str = "Save it as a two-dimensional array of rows × columns, for instance numpy.save(file, picture.astype(\"float32\")).";

fn not_flat(shape: &[u64]) -> LoadError {
    let words: Vec<String> = shape.iter().map(u64::to_string).collect();
    let what = format!(
        "the NPY array has {} dimensions ({}) instead of two",
        shape.len(),
        words.join(" × ")
    );
    if shape.len() == 3 {
        let mend = "Save one plane of it: numpy.save(file, array[0]) or, where the last dimension is the short one, array[..., 0].";
        return LoadError::new(what, mend);
    }
    LoadError::new(what, MEND)
}

/// A type of numbers that is read.
#[derive(Debug, Clone, Copy)]
enum Kind {
    U8,
    U16,
    U32,
    I16,
    I32,
    F16,
    F32,
    F64,
}

impl Kind {
    fn of(descr: &str) -> Result<Self, LoadError> {
        // One byte has no order; NumPy then writes a bar.
        Ok(match descr {
            "|u1" | "<u1" | ">u1" => Self::U8,
            "<u2" | ">u2" => Self::U16,
            "<u4" | ">u4" => Self::U32,
            "<i2" | ">i2" => Self::I16,
            "<i4" | ">i4" => Self::I32,
            "<f2" | ">f2" => Self::F16,
            "<f4" | ">f4" => Self::F32,
            "<f8" | ">f8" => Self::F64,
            other => {
                let shown: String = other.chars().take(40).collect();
                return Err(LoadError::new(
                    format!("the NPY array holds elements of type \"{shown}\", which are not read"),
                    MEND,
                ));
            }
        })
    }

    const fn words(self) -> &'static str {
        match self {
            Self::U8 => "8-bit unsigned",
            Self::U16 => "16-bit unsigned",
            Self::U32 => "32-bit unsigned",
            Self::I16 => "16-bit signed",
            Self::I32 => "32-bit signed",
            Self::F16 => "16-bit floating-point",
            Self::F32 => "32-bit floating-point",
            Self::F64 => "64-bit floating-point",
        }
    }

    const fn bytes(self) -> u64 {
        match self {
            Self::U8 => 1,
            Self::U16 | Self::I16 | Self::F16 => 2,
            Self::U32 | Self::I32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }

    fn samples(
        self,
        body: &[u8],
        big_endian: bool,
        shape: (usize, usize),
        by_column: bool,
    ) -> Result<Samples, ndarray::ShapeError> {
        macro_rules! picture {
            ($kind:ident, $size:literal, $number:expr) => {{
                let numbers = body.as_chunks::<$size>().0.iter().map(|bytes| {
                    let mut bytes = *bytes;
                    if big_endian {
                        bytes.reverse();
                    }
                    $number(bytes)
                });
                Samples::$kind(shaped(numbers.collect(), shape, by_column)?)
            }};
        }
        Ok(match self {
            Self::U8 => picture!(U8, 1, u8::from_le_bytes),
            Self::U16 => picture!(U16, 2, u16::from_le_bytes),
            Self::U32 => picture!(U32, 4, u32::from_le_bytes),
            Self::I16 => picture!(I16, 2, i16::from_le_bytes),
            Self::I32 => picture!(I32, 4, i32::from_le_bytes),
            Self::F16 => picture!(F32, 2, |bytes| half(u16::from_le_bytes(bytes))),
            Self::F32 => picture!(F32, 4, f32::from_le_bytes),
            Self::F64 => picture!(F64, 8, f64::from_le_bytes),
        })
    }
}

/// The numbers as rows × columns, whichever of the two the file runs along first.
fn shaped<T: Clone>(
    numbers: Vec<T>,
    shape: (usize, usize),
    by_column: bool,
) -> Result<Array2<T>, ndarray::ShapeError> {
    let array = Array2::from_shape_vec(shape.set_f(by_column), numbers)?;
    Ok(if by_column {
        array.as_standard_layout().into_owned()
    } else {
        array
    })
}

/// A number of IEEE 754's 16-bit binary format, which is exact in 32 bits.
fn half(bits: u16) -> f32 {
    let sign = if bits & 0x8000 == 0 { 1.0 } else { -1.0 };
    let exponent = i32::from(bits >> 10 & 0x1F);
    let fraction = f32::from(bits & 0x3FF);
    sign * match exponent {
        0 => fraction * 2.0_f32.powi(-24),
        31 if fraction == 0.0 => f32::INFINITY,
        31 => f32::NAN,
        _ => (1024.0 + fraction) * 2.0_f32.powi(exponent - 25),
    }
}

#[cfg(test)]
mod tests;
