//! A first session file from a folder of pictures, with proposals to confirm and blanks to fill in.
//!
//! ```text
//! scan    folder      -> its pictures, each with what it says of itself, proposed regions and a drawing to read them off
//! names   file names  -> coolers and views
//! text    all that    -> the session file
//! ```

mod names;
mod scan;
mod text;

use std::io;
use std::path::{Path, PathBuf};

use crate::report::{self, WriteError};

/// The session file that is written.
pub const SESSION: &str = "session.toml";

/// A session that is ready to be written.
#[derive(Debug)]
pub struct First {
    /// The text of the session file.
    pub text: String,
    /// Drawings to read regions off: name and PNG.
    pub drawings: Vec<(String, Vec<u8>)>,
    /// How many pictures the session has.
    pub pictures: usize,
    /// In how many of them both tanks are proposed.
    pub proposed: usize,
    /// What was left out and why, a sentence each.
    pub remarks: Vec<String>,
}

/// Why no session can be written.
#[derive(Debug, thiserror::Error)]
pub enum FirstError {
    /// There is a session already.
    #[error("{} exists already and was left as it is", .0.display())]
    Exists(PathBuf),
    /// The folder cannot be read.
    #[error("{} cannot be read as a folder: {error}", .folder.display())]
    Folder {
        /// Which.
        folder: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// There is no picture in it.
    #[error("{} holds no picture that can be read", .folder.display())]
    NoPictures {
        /// Which.
        folder: PathBuf,
        /// What was left out and why.
        remarks: Vec<String>,
    },
    /// A file could not be written; none is left.
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// Looks through a folder's pictures and writes nothing.
///
/// # Errors
/// There is a session already, the folder cannot be read, or it holds no picture that can be read.
pub fn prepare(folder: &Path) -> Result<First, FirstError> {
    let session = folder.join(SESSION);
    // A link that leads nowhere is there too.
    if session.symlink_metadata().is_ok() {
        return Err(FirstError::Exists(session));
    }
    let failed = |error| FirstError::Folder {
        folder: folder.to_owned(),
        error,
    };
    let (found, remarks) = scan::folder(folder).map_err(failed)?;
    if found.is_empty() {
        return Err(FirstError::NoPictures {
            folder: folder.to_owned(),
            remarks,
        });
    }
    let title = folder.canonicalize().map_err(failed)?;
    let title = title.file_name().unwrap_or_default().to_string_lossy();
    let text = text::write(&title, &found, &remarks);
    Ok(First {
        text,
        pictures: found.len(),
        proposed: found
            .iter()
            .filter(|picture| !picture.regions.is_empty())
            .count(),
        drawings: found
            .into_iter()
            .map(|picture| (picture.grid, picture.drawing))
            .collect(),
        remarks,
    })
}

impl First {
    /// Writes the drawings and then the session; where one fails, those written before it are taken back. Drawings that
    /// exist are left as they are; their names are returned.
    ///
    /// # Errors
    /// The file that could not be written.
    pub fn write(&self, folder: &Path) -> Result<Vec<String>, FirstError> {
        let (mut written, mut kept): (Vec<PathBuf>, Vec<String>) = Default::default();
        let session = (SESSION.to_owned(), self.text.clone().into_bytes());
        for (name, bytes) in self.drawings.iter().chain(std::iter::once(&session)) {
            let path = folder.join(name);
            if name != SESSION && path.symlink_metadata().is_ok() {
                kept.push(name.clone());
                continue;
            }
            if let Err(error) = report::write_new(&path, bytes) {
                for path in written {
                    // Nothing more can be done about a file that cannot be taken back.
                    let _ = std::fs::remove_file(path);
                }
                return Err(error.into());
            }
            written.push(path);
        }
        Ok(kept)
    }
}
