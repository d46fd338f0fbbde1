//! Why something could not be written, in the technician's words.

use std::fmt::Display;
use std::io;
use std::path::{Path, PathBuf};

/// Why the results could not be written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}: {what}\n  {mend}", .path.display())]
pub struct WriteError {
    /// The file or folder.
    pub path: PathBuf,
    /// What is wrong, without a full stop.
    pub what: String,
    /// What to do.
    pub mend: String,
}

impl WriteError {
    pub(super) fn new(path: &Path, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            path: path.to_owned(),
            what: what.into(),
            mend: mend.into(),
        }
    }

    /// What the operating system said about `path`.
    pub(super) fn io(path: &Path, doing: &str, error: &io::Error) -> Self {
        let (why, mend) = explain(error);
        Self::new(path, format!("cannot {doing}: {why}"), mend)
    }

    /// Something that no input should be able to cause.
    pub(in crate::report) fn fault(name: &str, error: &dyn Display) -> Self {
        Self::new(
            Path::new(name),
            format!("cannot be written: {error}"),
            "This is a fault of the program: please report it with the session file.",
        )
    }
}

/// An error of the operating system as a cause and a mend.
fn explain(error: &io::Error) -> (String, &'static str) {
    let known = match error.kind() {
        io::ErrorKind::PermissionDenied => (
            "you may not write here, or a program has it open",
            "Close programs that show files of this folder, or choose another place with --out.",
        ),
        io::ErrorKind::StorageFull => (
            "the disk is full",
            "Make room, or choose a place on another disk with --out.",
        ),
        io::ErrorKind::QuotaExceeded => (
            "your share of the disk is used up",
            "Make room, or choose a place on another disk with --out.",
        ),
        io::ErrorKind::ReadOnlyFilesystem => (
            "the disk can only be read",
            "Copy the session and its pictures to a disk that can be written, or choose another place with --out.",
        ),
        io::ErrorKind::NotFound => (
            "a folder on the way is missing; was it removed or a disk unplugged meanwhile?",
            "Check the path and try again.",
        ),
        io::ErrorKind::NotADirectory => (
            "something on the way is a file, not a folder",
            "Check the path given with --out.",
        ),
        io::ErrorKind::InvalidFilename | io::ErrorKind::InvalidInput => (
            "the disk does not take a name like this",
            "Use a shorter and plainer name.",
        ),
        io::ErrorKind::CrossesDevices | io::ErrorKind::ResourceBusy => (
            "it is in use, or is a disk of its own",
            "Name a new folder inside it with --out.",
        ),
        _ => {
            return (
                error.to_string(),
                "Try again, or choose another place with --out.",
            );
        }
    };
    (known.0.to_owned(), known.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_message_says_which_file_why_and_what_to_do() {
        let error = io::Error::from(io::ErrorKind::StorageFull);
        let error = WriteError::io(Path::new("out/report.html"), "write it", &error);
        assert_eq!(
            error.to_string(),
            "out/report.html: cannot write it: the disk is full\n  \
             Make room, or choose a place on another disk with --out."
        );
    }
}
