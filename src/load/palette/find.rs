//! Finding the bar in a picture.

use super::super::LoadError;
use super::bar::BarBox;
use super::decode::Colours;

/// A bar that was found.
pub(super) struct Found {
    pub(super) bar: BarBox,
    /// Where it is and how sure that is, in a sentence.
    pub(super) words: String,
}

/// Finds the bar.
///
/// # Errors
/// None, or two as good as each other.
pub(super) fn find(_colours: &Colours) -> Result<Found, LoadError> {
    Err(LoadError::new("no colour bar was found", "Write its box"))
}
