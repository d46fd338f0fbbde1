//! Grey TIFF pictures: 8-, 16- and 32-bit whole and 32- and 64-bit floating-point numbers, either byte order, strips
//! or tiles, uncompressed or packed by LZW, deflate or PackBits.

mod directory;
mod layout;
mod patched;

use ndarray::Array2;
use tiff::decoder::{Decoder, DecodingResult, Limits};

use super::exif::{Captured, Exif};
use super::{Decoded, LoadError, MAX_BYTES, Samples};
use directory::{Directory, TiffBytes};
use layout::{Layout, PHOTOMETRIC};
use patched::Patched;

const EXIF_DIRECTORY: u16 = 34_665;
const DATE_TIME_ORIGINAL: u16 = 36_867;
const OFFSET_TIME_ORIGINAL: u16 = 36_881;
const SUB_SECOND_TIME_ORIGINAL: u16 = 37_521;

/// Reads a page of a TIFF, counted from 1: the numbers as stored.
///
/// A page whose small numbers stand for light is not inverted: brightness on a screen is no property of a temperature.
///
/// # Errors
/// A kind of TIFF that is not read, a page beyond the last, or a damaged or oversized file.
pub(super) fn read(bytes: &[u8], page: usize) -> Result<Decoded, LoadError> {
    let file = TiffBytes::new(bytes);
    let (page, pages) = file.page(page)?;
    let layout = Layout::of(&page, bytes.len())?;
    let mut patches = file.starting_with(&page);
    if layout.white_is_zero {
        // The decoder would invert the numbers otherwise.
        patches.extend(page.low_byte(PHOTOMETRIC).map(|place| (place, 1)));
    }
    Ok(Decoded {
        samples: samples(decode(Patched::new(bytes, patches))?, &layout)?,
        container: format!("TIFF, {}", layout.number.words()),
        pages,
        exif: Exif {
            orientation: layout.orientation,
            captured: captured(&page),
        },
    })
}

/// When the page was taken. Read here, because a TIFF may be far larger than what `exif` takes, have more pages, or
/// be a BigTIFF.
fn captured(page: &Directory) -> Option<Captured> {
    let exif = page.child(EXIF_DIRECTORY)?;
    Captured::parse(
        exif.text(DATE_TIME_ORIGINAL)?,
        exif.text(OFFSET_TIME_ORIGINAL),
        exif.text(SUB_SECOND_TIME_ORIGINAL),
    )
}

fn decode(file: Patched) -> Result<DecodingResult, LoadError> {
    let mut limits = Limits::default();
    limits.decoding_buffer_size = MAX_BYTES;
    limits.intermediate_buffer_size = MAX_BYTES;
    limits.ifd_value_size = 1 << 24;
    Decoder::new(file)
        .and_then(|decoder| decoder.with_limits(limits).read_image())
        .map_err(|error| LoadError::damaged(format!("the TIFF cannot be decoded ({error})")))
}

/// The decoder's numbers as a picture, without copying them.
fn samples(decoded: DecodingResult, layout: &Layout) -> Result<Samples, LoadError> {
    Ok(match decoded {
        DecodingResult::U8(numbers) => Samples::U8(picture(numbers, layout)?),
        DecodingResult::U16(numbers) => Samples::U16(picture(numbers, layout)?),
        DecodingResult::I16(numbers) => Samples::I16(picture(numbers, layout)?),
        DecodingResult::U32(numbers) => Samples::U32(picture(numbers, layout)?),
        DecodingResult::I32(numbers) => Samples::I32(picture(numbers, layout)?),
        DecodingResult::F32(numbers) => Samples::F32(picture(numbers, layout)?),
        DecodingResult::F64(numbers) => Samples::F64(picture(numbers, layout)?),
        _ => {
            return Err(LoadError::unread(
                "the TIFF holds a type of numbers that is not read",
            ));
        }
    })
}

fn picture<T>(numbers: Vec<T>, layout: &Layout) -> Result<Array2<T>, LoadError> {
    Array2::from_shape_vec((layout.height, layout.width), numbers)
        .map_err(|_| LoadError::damaged("the TIFF's numbers do not fill its size"))
}
