//! Stage 1: picture files become thermal images.

mod image;

pub use image::{Sample, Samples, ThermalImage};

use crate::session::Pixels;

/// Reads a picture, deciding by its content what it is.
///
/// # Errors
/// What is wrong with the picture and what to do about it.
pub fn read(_bytes: &[u8], _pixels: Option<&Pixels>) -> Result<ThermalImage, LoadError> {
    unimplemented!()
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
