//! Stage 1: picture files become thermal images.
//!
//! What a file is, is decided by its content, never by its name. The numbers are kept as they are stored.

mod exif;
mod image;
mod matrix;
mod meaning;
mod npy;
mod orientation;
mod palette;
mod pgm;
mod png;
mod response;
mod sniff;
mod tiff;

pub use exif::{Captured, Exif};
pub use image::{Sample, Samples, ThermalImage};
pub use palette::{BarBox, Mark, Palette, PaletteReading, Scale};
pub use response::response;

use ndarray::Array2;

use crate::session::Pixels;
use sniff::{ColourKind, Kind};

/// The largest picture that is read, pixels; checked before memory is asked for.
pub const MAX_PIXELS: u64 = 100_000_000;

/// The most memory that decoding one picture may take, bytes.
pub const MAX_BYTES: usize = 1 << 30;

/// What the session says about a picture file.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wanted<'a> {
    /// What the stored numbers mean.
    pub pixels: Option<&'a Pixels>,
    /// Which picture of a file with several, from 1; the first where it is not said.
    pub page: Option<usize>,
    /// Of colour pictures, their scale; `None`: they are refused.
    pub scale: Option<Scale<'a>>,
}

/// Reads a picture, deciding by its content what it is.
///
/// Where `wanted` does not say what the numbers mean, floating-point and text pictures are taken as K where at
/// least half of the valid numbers reach 200, else as °C, and `assumed` says so; whole numbers are an error that
/// proposes likely readings. Of a file with several pages the one wanted is read; `pages` says how many there are.
///
/// The numbers are those stored: neither a TIFF whose zero is white nor a PNG with a gamma is converted to brightness.
/// The camera's note of which way is up is applied, so that the first row is the upper one as a person sees it.
///
/// # Errors
/// What is wrong with the picture and what to do about it: a kind that is not read, a page that is not there, a
/// damaged or oversized file, or numbers whose meaning is not known.
pub fn read(bytes: &[u8], wanted: Wanted<'_>) -> Result<ThermalImage, LoadError> {
    let page = wanted.page.unwrap_or(1);
    if let Some(scale) = &wanted.scale
        && let Some(kind) = palette_kind(bytes, wanted.pixels.is_some())
    {
        return palette::read(bytes, kind, scale, page);
    }
    let decoded = match sniff::kind(bytes)? {
        Kind::Tiff => tiff::read(bytes, page)?,
        Kind::Png => png::read(bytes, page)?,
        Kind::Npy => npy::read(bytes)?,
        Kind::Pgm => pgm::read(bytes, page)?,
        Kind::Text => matrix::read(bytes)?,
    };
    if page == 0 || page > decoded.pages {
        return Err(LoadError::no_page(page, decoded.pages));
    }
    let (pixels, assumed) = match wanted.pixels {
        Some(stated) => (stated.clone(), None),
        None => meaning::infer(&decoded.samples)?,
    };
    Ok(ThermalImage {
        samples: decoded.samples.oriented(decoded.exif.orientation),
        pixels,
        container: decoded.container,
        assumed,
        pages: decoded.pages,
        captured: decoded.exif.captured,
        palette: None,
    })
}

/// The kind of a file that holds colours. Grey pictures are palettes too, unless they hold numbers: of 16 bits, or of 8
/// whose meaning is stated.
fn palette_kind(bytes: &[u8], stated: bool) -> Option<ColourKind> {
    let kind = sniff::colour_kind(bytes)?;
    let numbers = kind == ColourKind::Png && (stated || !png::is_picture(bytes));
    (!numbers || png::is_coloured(bytes)).then_some(kind)
}

/// Whether a file holds colours that only a colour bar makes temperatures of.
#[must_use]
pub fn holds_colours(bytes: &[u8]) -> bool {
    match sniff::colour_kind(bytes) {
        Some(ColourKind::Png) => png::is_coloured(bytes),
        Some(_) => true,
        None => false,
    }
}

/// The colours of a picture that holds colours, or grey that may be a palette, upright; `None`: it holds numbers. With
/// `stated` the meaning of its numbers is known, so that grey is none.
///
/// # Errors
/// A damaged or oversized file.
pub fn colours(bytes: &[u8], stated: bool) -> Result<Option<Array2<[u8; 3]>>, LoadError> {
    match palette_kind(bytes, stated) {
        Some(kind) => palette::colours(bytes, kind).map(Some),
        None => Ok(None),
    }
}

/// What a container holds, before its numbers mean anything.
#[derive(Debug)]
struct Decoded {
    /// As stored.
    samples: Samples,
    /// In words.
    container: String,
    pages: usize,
    exif: Exif,
}

/// Why a picture cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct LoadError {
    /// What is wrong, in a sentence without a full stop and without the file's name.
    pub what: String,
    /// What to do.
    pub mend: String,
}

impl LoadError {
    fn new(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            mend: mend.into(),
        }
    }

    /// The file contradicts itself or ends too early.
    fn damaged(what: impl Into<String>) -> Self {
        Self::new(
            what,
            "The file is damaged: copy it from the camera again, or export it again.",
        )
    }

    fn no_page(wanted: usize, pages: usize) -> Self {
        let holds = if pages == 1 {
            "only one picture".to_owned()
        } else {
            format!("{pages} pictures")
        };
        Self::new(
            format!("the file has no page {wanted}: it holds {holds}"),
            if pages == 1 {
                "Leave `page` out.".to_owned()
            } else {
                format!("Write a `page` between 1 and {pages}.")
            },
        )
    }

    /// A sound file of a sort that is not read.
    fn unread(what: impl Into<String>) -> Self {
        Self::new(
            what,
            "Export the picture as a radiometric TIFF (one grey channel, uncompressed) or as a CSV matrix of temperatures.",
        )
    }
}

/// Refuses a picture without pixels or with too many.
fn check_size(width: u64, height: u64) -> Result<(), LoadError> {
    if width == 0 || height == 0 {
        return Err(LoadError::damaged(format!(
            "the picture is {width} × {height} pixels in size"
        )));
    }
    if width
        .checked_mul(height)
        .is_none_or(|pixels| pixels > MAX_PIXELS)
    {
        return Err(LoadError::new(
            format!("the picture claims {width} × {height} pixels, more than 100 million"),
            "Check the file; a thermal picture is far smaller. If it is sound, export a smaller part of it.",
        ));
    }
    Ok(())
}
