//! New files beside others: all of them or none, and never in the place of one that exists.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::report::hidden_file;

/// What is wrong, and what to do.
pub(super) type Trouble = (String, String);

/// That a file exists; `option` is the one that names another folder.
pub(super) fn exists(target: &Path, option: &str) -> Trouble {
    (
        format!("{} exists already", target.display()),
        format!("move it away, or name another folder with {option}"),
    )
}

/// Whether something stands at a place, be it a link that leads nowhere.
pub(super) fn is_taken(target: &Path) -> bool {
    fs::symlink_metadata(target).is_ok()
}

/// Writes all files beside their places in a folder, made where it is not there, then gives them their names; takes back
/// what was named if one fails. `option` is the one that names the folder.
///
/// # Errors
/// A file exists, or the folder cannot be written into.
pub(super) fn store(
    files: &[(PathBuf, Vec<u8>)],
    folder: &Path,
    option: &str,
) -> Result<(), Trouble> {
    let failed = |error: std::io::Error| {
        (
            format!("{} cannot be written into: {error}", folder.display()),
            format!("check the folder and its free space, or name another with {option}"),
        )
    };
    fs::create_dir_all(folder).map_err(failed)?;
    let mut ready = Vec::new();
    for (target, bytes) in files {
        let mut file = hidden_file(folder).map_err(failed)?;
        file.write_all(bytes).map_err(failed)?;
        ready.push((file, target));
    }
    let mut named: Vec<&Path> = Vec::new();
    for (file, target) in ready {
        if let Err(error) = file.persist_noclobber(target) {
            for path in named {
                // Nothing more can be done about a file that cannot be taken back.
                let _ = fs::remove_file(path);
            }
            return Err(if error.error.kind() == std::io::ErrorKind::AlreadyExists {
                exists(target, option)
            } else {
                failed(error.error)
            });
        }
        named.push(target);
    }
    Ok(())
}
