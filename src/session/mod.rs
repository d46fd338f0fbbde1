//! The session file: from its text to a validated [`Session`].

mod declared;
mod types;

pub use types::*;

/// Reads and validates a session file.
///
/// # Errors
/// All problems found in the file, each with its line.
pub fn read(_path: &std::path::Path) -> Result<Session, crate::diagnostics::Problems> {
    unimplemented!()
}
