//! Stage 1: picture files become thermal images.
//!
//! What a file is, is decided by its content, never by its name. The numbers are kept as they are stored.

mod image;
mod matrix;
mod meaning;
mod png;
mod response;
mod sniff;
mod tiff;

pub use image::{Sample, Samples, ThermalImage};
pub use response::response;

use crate::session::Pixels;
use sniff::Kind;

/// The largest picture that is read, pixels; checked before memory is asked for.
pub const MAX_PIXELS: u64 = 100_000_000;

/// The most memory that decoding one picture may take, bytes.
pub const MAX_BYTES: usize = 1 << 30;

/// Reads a picture, deciding by its content what it is.
///
/// `pixels` says what the stored numbers mean. Without it, floating-point and text pictures are taken as K where at
/// least half of the valid numbers reach 200, else as °C, and `assumed` says so; whole numbers are an error that
/// proposes likely readings. Of a file with several pages the first is read; `pages` says how many there are.
///
/// The numbers are those stored: neither a TIFF whose zero is white nor a PNG with a gamma is converted to brightness.
/// A TIFF's orientation tag is applied, so that the first row is the upper one as a person sees it.
///
/// # Errors
/// What is wrong with the picture and what to do about it: a kind that is not read, a damaged or oversized file,
/// or numbers whose meaning is not known.
pub fn read(bytes: &[u8], pixels: Option<&Pixels>) -> Result<ThermalImage, LoadError> {
    let decoded = match sniff::kind(bytes)? {
        Kind::Tiff => tiff::read(bytes)?,
        Kind::Png => png::read(bytes)?,
        Kind::Text => matrix::read(bytes)?,
    };
    let (pixels, assumed) = match pixels {
        Some(stated) => (stated.clone(), None),
        None => meaning::infer(&decoded.samples)?,
    };
    Ok(ThermalImage {
        samples: decoded.samples,
        pixels,
        container: decoded.container,
        assumed,
        pages: decoded.pages,
    })
}

/// What a container holds, before its numbers mean anything.
#[derive(Debug)]
struct Decoded {
    samples: Samples,
    /// In words.
    container: String,
    pages: usize,
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
