//! What a TIFF page holds and whether it can be read, decided from its tags alone.

use super::directory::Directory;
use crate::load::{LoadError, MAX_BYTES, check_size};

pub(super) const PHOTOMETRIC: u16 = 262;

const WIDTH: u16 = 256;
const HEIGHT: u16 = 257;
const BITS: u16 = 258;
const COMPRESSION: u16 = 259;
const FILL_ORDER: u16 = 266;
const STRIP_OFFSETS: u16 = 273;
const ORIENTATION: u16 = 274;
const SAMPLES: u16 = 277;
const ROWS_PER_STRIP: u16 = 278;
const STRIP_COUNTS: u16 = 279;
const PREDICTOR: u16 = 317;
const TILE_WIDTH: u16 = 322;
const TILE_HEIGHT: u16 = 323;
const TILE_OFFSETS: u16 = 324;
const TILE_COUNTS: u16 = 325;
const SAMPLE_FORMAT: u16 = 339;

/// No compression here packs more bytes than this into one: deflate reaches 1032, LZW about 1400, PackBits 64.
const MAX_PACKING: u64 = 3000;

/// A type of stored numbers that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Number {
    U8,
    U16,
    I16,
    U32,
    I32,
    F32,
    F64,
}

impl Number {
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::U8 => "8-bit unsigned",
            Self::U16 => "16-bit unsigned",
            Self::I16 => "16-bit signed",
            Self::U32 => "32-bit unsigned",
            Self::I32 => "32-bit signed",
            Self::F32 => "32-bit floating-point",
            Self::F64 => "64-bit floating-point",
        }
    }

    const fn bytes(self) -> u64 {
        match self {
            Self::U8 => 1,
            Self::U16 | Self::I16 => 2,
            Self::U32 | Self::I32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }
}

/// A page that can be read.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) number: Number,
    /// Small numbers are light: kept as stored, but the decoder must not be told.
    pub(super) white_is_zero: bool,
    /// As in EXIF, 1 to 8.
    pub(super) orientation: u64,
}

impl Layout {
    /// What a page holds.
    ///
    /// # Errors
    /// A kind of page that is not read, or tags that contradict each other or the file's length.
    pub(super) fn of(page: &Directory, file_length: usize) -> Result<Self, LoadError> {
        let get = |tag, default| Ok(page.first_number(tag)?.unwrap_or(default));
        let (width, height) = (get(WIDTH, 0)?, get(HEIGHT, 0)?);
        check_size(width, height)?;
        let white_is_zero = check_grey(page.first_number(PHOTOMETRIC)?)?;
        if get(SAMPLES, 1)? != 1 {
            return Err(LoadError::unread(
                "the TIFF has several channels a pixel; only one grey channel is read",
            ));
        }
        let number = number(get(SAMPLE_FORMAT, 1)?, get(BITS, 1)?)?;
        if get(FILL_ORDER, 1)? != 1 {
            return Err(LoadError::unread(
                "the TIFF stores its bits in reverse order, which is not read",
            ));
        }
        let compression = get(COMPRESSION, 1)?;
        check_compression(compression, get(PREDICTOR, 1)?, number)?;
        check_chunks(page, (width, height), number, compression, file_length)?;
        Ok(Self {
            width: width as usize,
            height: height as usize,
            number,
            white_is_zero,
            orientation: get(ORIENTATION, 1)?,
        })
    }
}

/// Whether small numbers are light; an error if the page is not grey.
fn check_grey(photometric: Option<u64>) -> Result<bool, LoadError> {
    let kind = match photometric {
        Some(0) => return Ok(true),
        Some(1) => return Ok(false),
        Some(2) => "colours (RGB)",
        Some(3) => "colours (a palette)",
        Some(5) => "printing colours (CMYK)",
        Some(6) => "colours (YCbCr)",
        Some(8..=10) => "colours (Lab)",
        Some(4) => {
            return Err(LoadError::unread("the TIFF holds a mask, not temperatures"));
        }
        Some(_) | None => {
            return Err(LoadError::unread(
                "the TIFF does not say that it is grey, so it is not read",
            ));
        }
    };
    Err(LoadError::new(
        format!("the TIFF holds {kind}, not temperatures"),
        crate::load::sniff::OTHER_COLOURS,
    ))
}

fn number(format: u64, bits: u64) -> Result<Number, LoadError> {
    Ok(match (format, bits) {
        (1, 8) => Number::U8,
        (1, 16) => Number::U16,
        (2, 16) => Number::I16,
        (1, 32) => Number::U32,
        (2, 32) => Number::I32,
        (3, 32) => Number::F32,
        (3, 64) => Number::F64,
        _ => {
            let kind = match format {
                1 => "unsigned",
                2 => "signed",
                3 => "floating-point",
                _ => "undefined or complex",
            };
            return Err(LoadError::new(
                format!("the TIFF holds {bits}-bit {kind} numbers, which are not read"),
                "Export it with 16-bit whole or 32-bit floating-point numbers.",
            ));
        }
    })
}

fn check_compression(compression: u64, predictor: u64, number: Number) -> Result<(), LoadError> {
    let name = match compression {
        1 | 5 | 8 | 32_773 | 32_946 => None,
        2..=4 => Some("fax".to_owned()),
        6 | 7 => Some("JPEG, which alters the numbers".to_owned()),
        34_712 => Some("JPEG 2000".to_owned()),
        50_000 => Some("Zstandard".to_owned()),
        50_001 => Some("WebP".to_owned()),
        other => Some(format!("number {other}")),
    };
    if let Some(name) = name {
        return Err(LoadError::new(
            format!("the TIFF's compression ({name}) is not read"),
            "Export it without compression, or with LZW, deflate or PackBits.",
        ));
    }
    let float = matches!(number, Number::F32 | Number::F64);
    match predictor {
        1 => Ok(()),
        // Other programs disagree on whether the predictor then counts, so either answer could be wrong.
        2 | 3 if !matches!(compression, 5 | 8 | 32_946) => Err(LoadError::unread(
            "the TIFF names a predictor with a compression that has none, so its numbers are ambiguous",
        )),
        2 => Ok(()),
        3 if float => Ok(()),
        _ => Err(LoadError::unread(format!(
            "the TIFF's predictor {predictor} does not suit its {} numbers",
            number.words()
        ))),
    }
}

/// How the picture is cut into strips or tiles.
struct Chunks {
    tiled: bool,
    width: u64,
    height: u64,
    /// Where in the file each stands, and how many bytes it takes there.
    places: Vec<(u64, u64)>,
}

impl Chunks {
    fn of(page: &Directory, (width, height): (u64, u64)) -> Result<Self, LoadError> {
        let tiled = page.first_number(TILE_WIDTH)?.is_some();
        let (chunk_width, chunk_height, offsets, counts) = if tiled {
            let side = |tag| Ok(page.first_number(tag)?.unwrap_or(0));
            let (across, down) = (side(TILE_WIDTH)?, side(TILE_HEIGHT)?);
            (across, down, TILE_OFFSETS, TILE_COUNTS)
        } else {
            let rows = page.first_number(ROWS_PER_STRIP)?.unwrap_or(height);
            (width, rows.min(height), STRIP_OFFSETS, STRIP_COUNTS)
        };
        check_size(chunk_width, chunk_height)?;
        let expected = width.div_ceil(chunk_width) * height.div_ceil(chunk_height);
        let offsets = page.numbers(offsets, expected)?;
        let counts = page.numbers(counts, expected)?;
        Ok(Self {
            tiled,
            width: chunk_width,
            height: chunk_height,
            places: offsets.into_iter().zip(counts).collect(),
        })
    }
}

/// Checks the strips or tiles against the picture's size and the file's length.
fn check_chunks(
    page: &Directory,
    (width, height): (u64, u64),
    number: Number,
    compression: u64,
    file_length: usize,
) -> Result<(), LoadError> {
    let chunks = Chunks::of(page, (width, height))?;
    let chunk_bytes = chunks.width * chunks.height * number.bytes();
    if chunk_bytes.max(width * height * number.bytes()) > MAX_BYTES as u64 {
        return Err(LoadError::damaged(
            "the TIFF claims to unpack to more than 1 GiB",
        ));
    }
    // Tiles at the edge are filled up, the last strip is not.
    let last_rows = (height - 1) % chunks.height + 1;
    let last_bytes = if chunks.tiled {
        chunk_bytes
    } else {
        width * last_rows * number.bytes()
    };
    let packing = if compression == 1 { 1 } else { MAX_PACKING };
    let total = chunks.places.len();
    for (index, (offset, count)) in chunks.places.into_iter().enumerate() {
        let needed = if index + 1 == total {
            last_bytes
        } else {
            chunk_bytes
        };
        let end = offset.checked_add(count);
        if end.is_none_or(|end| end > file_length as u64) || count.saturating_mul(packing) < needed
        {
            let kind = if chunks.tiled { "tile" } else { "strip" };
            return Err(LoadError::damaged(format!(
                "the TIFF is cut off: {kind} {} of {total} is not wholly in the file",
                index + 1,
            )));
        }
    }
    Ok(())
}
