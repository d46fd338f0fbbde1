//! The session file: from its text to a validated [`Session`].
//!
//! The text is parsed so that several faults of TOML itself can be found, then every table is walked by a reader that
//! notes each problem with its place and goes on. There is a file for each kind of table.

mod blank;
mod conditions;
mod context;
mod cooler;
mod declared;
mod expected;
mod files;
mod instrument;
mod limits;
mod log;
mod names;
mod picks;
mod pixels;
mod reader;
mod region;
mod run;
mod shape;
mod snapshot;
mod source;
mod spot;
mod surface;
mod syntax;
mod top;
mod types;
mod value;

use std::path::{Path, PathBuf};
use std::sync::Arc;

pub use blank::BLANK;
pub use expected::Expected;
pub use log::RunLog;
pub(crate) use names::did_you_mean;
pub use types::*;

use crate::diagnostics::{Problem, Problems};

/// Reads and validates a session file.
///
/// # Errors
/// All problems found in the file, each with its line.
pub fn read(path: &Path) -> Result<Session, Problems> {
    let text = source::read(path).map_err(|problem| Problems {
        source: Arc::new(SourceText {
            path: path.to_owned(),
            text: String::new(),
        }),
        list: vec![problem],
    })?;
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    };
    understand(path, text, Some(&folder))
}

/// Validates the text of a session without looking for the files that it names.
///
/// # Errors
/// All problems found in the text, each with its line.
pub fn from_text(path: &Path, text: &str) -> Result<Session, Problems> {
    understand(path, text.to_owned(), None)
}

fn understand(path: &Path, text: String, folder: Option<&Path>) -> Result<Session, Problems> {
    let source = Arc::new(SourceText {
        path: path.to_owned(),
        text,
    });
    let (parts, mut problems) = syntax::with_tables(&source.text, folder, top::read);
    problems.sort_by_key(Problem::place);
    match parts {
        Some(parts) if problems.is_empty() => Ok(parts.into_session(source, folder)),
        _ => {
            if problems.is_empty() {
                problems.push(Problem::general(
                    "the session is not understood",
                    "compare it with the example in the manual",
                ));
            }
            Err(Problems {
                source,
                list: problems,
            })
        }
    }
}
