//! Grey TIFF pictures: 8-, 16- and 32-bit whole and 32- and 64-bit floating-point numbers, either byte order, strips
//! or tiles, uncompressed or packed by LZW, deflate or PackBits.

mod directory;
mod layout;

use std::borrow::Cow;
use std::io::Cursor;

use ndarray::{Array2, Axis};
use tiff::decoder::{Decoder, DecodingResult, Limits};

use super::{Decoded, LoadError, MAX_BYTES, Samples};
use directory::{Directory, TiffBytes};
use layout::{Layout, PHOTOMETRIC};

/// Reads the first page of a TIFF: the numbers as stored, turned as its orientation tag says.
///
/// A page whose small numbers stand for light is not inverted: brightness on a screen is no property of a temperature.
///
/// # Errors
/// A kind of TIFF that is not read, or a damaged or oversized file.
pub(super) fn read(bytes: &[u8]) -> Result<Decoded, LoadError> {
    let file = TiffBytes::new(bytes);
    let page = file.first()?;
    let layout = Layout::of(&page, bytes.len())?;
    let pages = file.pages()?;
    let bytes = if layout.white_is_zero {
        Cow::Owned(as_black_is_zero(bytes, &page)?)
    } else {
        Cow::Borrowed(bytes)
    };
    Ok(Decoded {
        samples: samples(decode(&bytes)?, &layout)?,
        container: format!("TIFF, {}", layout.number.words()),
        pages,
    })
}

/// A copy of the file that says black is zero, because the decoder would invert the numbers otherwise.
fn as_black_is_zero(bytes: &[u8], page: &Directory) -> Result<Vec<u8>, LoadError> {
    let mut copy = bytes.to_vec();
    *page
        .low_byte(PHOTOMETRIC)
        .and_then(|place| copy.get_mut(place))
        .ok_or_else(|| LoadError::damaged("the TIFF ends before its contents do"))? = 1;
    Ok(copy)
}

fn decode(bytes: &[u8]) -> Result<DecodingResult, LoadError> {
    let mut limits = Limits::default();
    limits.decoding_buffer_size = MAX_BYTES;
    limits.intermediate_buffer_size = MAX_BYTES;
    limits.ifd_value_size = 1 << 24;
    Decoder::new(Cursor::new(bytes))
        .and_then(|decoder| decoder.with_limits(limits).read_image())
        .map_err(|error| LoadError::damaged(format!("the TIFF cannot be decoded ({error})")))
}

/// The decoder's numbers as a picture, without copying them unless they have to be turned.
fn samples(decoded: DecodingResult, layout: &Layout) -> Result<Samples, LoadError> {
    Ok(match decoded {
        DecodingResult::U8(numbers) => Samples::U8(picture(numbers, layout)?),
        DecodingResult::U16(numbers) => Samples::U16(picture(numbers, layout)?),
        DecodingResult::I16(numbers) => Samples::I16(picture(numbers, layout)?),
        DecodingResult::U32(numbers) => Samples::U32(picture(numbers, layout)?),
        DecodingResult::F32(numbers) => Samples::F32(picture(numbers, layout)?),
        DecodingResult::F64(numbers) => Samples::F64(picture(numbers, layout)?),
        _ => {
            return Err(LoadError::unread(
                "the TIFF holds a type of numbers that is not read",
            ));
        }
    })
}

fn picture<T: Clone>(numbers: Vec<T>, layout: &Layout) -> Result<Array2<T>, LoadError> {
    let stored = Array2::from_shape_vec((layout.height, layout.width), numbers)
        .map_err(|_| LoadError::damaged("the TIFF's numbers do not fill its size"))?;
    Ok(oriented(stored, layout.orientation))
}

/// Turns a stored picture to how a person sees it. `orientation` as in EXIF: 1 as stored, 2 mirrored left to right,
/// 3 upside down, 4 mirrored top to bottom, 5 to 8 the same with rows and columns exchanged.
fn oriented<T: Clone>(stored: Array2<T>, orientation: u64) -> Array2<T> {
    let (exchanged, flip_columns, flip_rows) = match orientation {
        2 => (false, true, false),
        3 => (false, true, true),
        4 => (false, false, true),
        5 => (true, false, false),
        6 => (true, true, false),
        7 => (true, true, true),
        8 => (true, false, true),
        _ => return stored,
    };
    let mut seen = if exchanged {
        stored.reversed_axes()
    } else {
        stored
    };
    if flip_columns {
        seen.invert_axis(Axis(1));
    }
    if flip_rows {
        seen.invert_axis(Axis(0));
    }
    seen.as_standard_layout().into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    /// The corners after each orientation, from the table in TIFF 6.0, tag 274 (from memory): 6 means that the first
    /// row stored is the right-hand side seen and the first column stored the top.
    #[test]
    fn orientations_turn_the_picture_as_seen() {
        let stored = array![[1, 2, 3], [4, 5, 6]];
        let cases = [
            (1, array![[1, 2, 3], [4, 5, 6]]),
            (2, array![[3, 2, 1], [6, 5, 4]]),
            (3, array![[6, 5, 4], [3, 2, 1]]),
            (4, array![[4, 5, 6], [1, 2, 3]]),
            (5, array![[1, 4], [2, 5], [3, 6]]),
            (6, array![[4, 1], [5, 2], [6, 3]]),
            (7, array![[6, 3], [5, 2], [4, 1]]),
            (8, array![[3, 6], [2, 5], [1, 4]]),
        ];
        for (orientation, seen) in cases {
            assert_eq!(oriented(stored.clone(), orientation), seen, "{orientation}");
        }
    }
}
