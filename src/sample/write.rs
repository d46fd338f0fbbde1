//! Writes the sample into a folder: all of it or nothing.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::{SampleError, files};

/// Writes the sample session into a folder that does not exist yet or is empty.
///
/// The files are made in a hidden folder beside their place and then moved, so that a failure leaves nothing behind.
///
/// # Errors
/// The folder holds something, is a file, or cannot be written to.
pub fn write(folder: &Path) -> Result<(), SampleError> {
    let exists = is_empty_folder(folder)?;
    let files = files()?;
    if exists {
        fill(folder, &files)
    } else {
        create(folder, &files)
    }
}

/// Whether the folder is there and empty; `false` where there is nothing at all.
fn is_empty_folder(folder: &Path) -> Result<bool, SampleError> {
    let path = || folder.to_owned();
    match fs::read_dir(folder) {
        Ok(mut entries) => match entries.next() {
            None => Ok(true),
            Some(_) => Err(SampleError::NotEmpty { path: path() }),
        },
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(_) if folder.is_file() => Err(SampleError::NotAFolder { path: path() }),
        Err(cause) => Err(io_error("look into the folder", folder)(cause)),
    }
}

/// Makes the folder complete under another name beside its place, then renames it.
fn create(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), SampleError> {
    let parent = match folder.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    fs::create_dir_all(parent).map_err(io_error("make the folder", parent))?;
    let staging = staging_in(parent)?;
    // The temporary folder is its owner's alone; the one within it gets the user's ordinary permissions.
    let complete = staging.path().join("sample");
    fs::create_dir(&complete).map_err(io_error("make the folder", folder))?;
    write_all(&complete, files)?;
    fs::rename(&complete, folder).map_err(io_error("make the folder", folder))
}

/// Fills a folder that stays in its place (it may be the one that the user stands in); takes back what it moved if a
/// file cannot be moved.
fn fill(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), SampleError> {
    let staging = staging_in(folder)?;
    write_all(staging.path(), files)?;
    let mut moved: Vec<PathBuf> = Vec::new();
    for (name, _) in files {
        let target = folder.join(name);
        if let Err(cause) = fs::rename(staging.path().join(name), &target) {
            for file in &moved {
                // The move's own failure is what the user must hear of, not what tidying up met.
                let _ = fs::remove_file(file);
            }
            return Err(io_error("write", &target)(cause));
        }
        moved.push(target);
    }
    Ok(())
}

/// A hidden folder that vanishes with what is left in it.
fn staging_in(parent: &Path) -> Result<tempfile::TempDir, SampleError> {
    tempfile::Builder::new()
        .prefix(".endtank-")
        .tempdir_in(parent)
        .map_err(io_error("write into the folder", parent))
}

fn write_all(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), SampleError> {
    for (name, bytes) in files {
        let path = folder.join(name);
        fs::write(&path, bytes).map_err(io_error("write", &path))?;
    }
    Ok(())
}

fn io_error(what: &'static str, path: &Path) -> impl FnOnce(io::Error) -> SampleError {
    let path = path.to_owned();
    move |cause| SampleError::Io { what, path, cause }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two_files() -> Vec<(String, Vec<u8>)> {
        vec![
            ("a.txt".to_owned(), b"a".to_vec()),
            ("b.txt".to_owned(), b"b".to_vec()),
        ]
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_new_folder_appears_with_its_parents() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("demos/tow-truck");
        create(&folder, &two_files()).unwrap();
        assert_eq!(names(&folder), ["a.txt", "b.txt"]);
        assert_eq!(names(&home.path().join("demos")), ["tow-truck"]);
    }

    #[test]
    fn an_empty_folder_is_filled_in_place() {
        let home = tempfile::tempdir().unwrap();
        fill(home.path(), &two_files()).unwrap();
        assert_eq!(names(home.path()), ["a.txt", "b.txt"]);
    }

    #[test]
    fn a_file_that_cannot_be_moved_takes_the_others_back() {
        let home = tempfile::tempdir().unwrap();
        // A folder in the place of the second file, as if it had come there in the meantime.
        fs::create_dir_all(home.path().join("b.txt/inside")).unwrap();
        let error = fill(home.path(), &two_files()).unwrap_err();
        assert!(matches!(error, SampleError::Io { .. }), "{error}");
        assert_eq!(names(home.path()), ["b.txt"]);
    }

    #[test]
    fn a_folder_that_holds_something_is_left_alone() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("mine.txt"), "mine").unwrap();
        let error = write(home.path()).unwrap_err();
        assert!(error.to_string().contains("is not empty"), "{error}");
        assert_eq!(names(home.path()), ["mine.txt"]);

        let error = write(&home.path().join("mine.txt")).unwrap_err();
        assert!(error.to_string().contains("is a file"), "{error}");
    }
}
