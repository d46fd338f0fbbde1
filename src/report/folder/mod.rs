//! The one writer: a folder appears whole or not at all.
//!
//! Everything is first written into a hidden folder beside the target, on the same file system, and flushed to the disk.
//! [`Folder::finish`] then renames it to its name; an earlier result is renamed aside first and deleted only once the new
//! one stands. Where anything fails, the hidden folder is removed and the earlier result is back under its name.

mod check;
mod error;
#[cfg(test)]
mod tests;

use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};

use tempfile::TempDir;

pub use error::WriteError;

/// What a folder is written for, which decides what it may replace.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Purpose {
    /// A results folder: replaces an empty folder or an earlier results folder that holds nothing else.
    Results,
    /// Only `annotated/`, holding these files. In a results folder, or beside an earlier `annotated/`, only that inner
    /// folder is replaced, and only where it holds none but these names.
    Annotated(Vec<String>),
    /// A new folder: replaces nothing but an empty folder.
    New,
}

/// A folder that is being written.
#[derive(Debug)]
pub struct Folder {
    /// The hidden folder; removed when dropped.
    hidden: TempDir,
    /// Where it will stand, links resolved.
    target: PathBuf,
    /// Which part of what is written goes to `target`: all of it, or the inner folder `annotated`.
    part: &'static str,
    purpose: Purpose,
}

/// Inside the hidden folder: what is being written, with the permissions of any new folder (the hidden one is private).
const NEW: &str = "new";
/// Inside the hidden folder: the earlier result while the new one takes its name.
const OLD: &str = "old";

/// Writes one new file whole or not at all; one that exists is left alone.
///
/// # Errors
/// Which file could not be written, why, and what to do.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let beside = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let failed = |error: &io::Error| WriteError::io(path, "write this file", error);
    let mut file = hidden_file(beside).map_err(|error| failed(&error))?;
    io::Write::write_all(&mut file, bytes).map_err(|error| failed(&error))?;
    file.as_file().sync_all().map_err(|error| failed(&error))?;
    file.persist_noclobber(path)
        .map_err(|error| failed(&error.error))?;
    Ok(())
}

/// A hidden file in a folder, with the permissions of any new file: it is named once it is whole.
///
/// # Errors
/// The folder cannot be written into.
pub fn hidden_file(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".endtank-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

impl Folder {
    /// Checks the place and opens a hidden folder beside it. Call it before the work, so that a bad place is known early.
    ///
    /// `inputs` are the paths of every file that is read, the session's first.
    ///
    /// # Errors
    /// The place holds an input, the working folder, or anything but an earlier result; or cannot be written.
    pub fn prepare(
        target: &Path,
        inputs: &[PathBuf],
        purpose: Purpose,
    ) -> Result<Self, WriteError> {
        let (target, existing) = check::resolve(target)?;
        let exists = target == existing;
        let inner = exists && keeps_rest(&target, &purpose)?;
        let (target, existing, part) = if inner {
            (target.join(check::ANNOTATED), target, check::ANNOTATED)
        } else {
            (target, existing, "")
        };
        check::keeps_inputs(&target, inputs)?;
        if exists && !inner {
            check::replaceable(&target, &purpose)?;
            check::renamable(&target)?;
        } else if fs::symlink_metadata(&target).is_ok() {
            check::replaceable(&check::resolve(&target)?.0, &purpose)?;
        }
        let beside = if exists && !inner {
            target.parent().unwrap_or(&existing).to_owned()
        } else {
            existing
        };
        let hidden = tempfile::Builder::new()
            .prefix(".endtank-")
            .tempdir_in(&beside)
            .map_err(|error| WriteError::io(&beside, "write into this folder", &error))?;
        let new = hidden.path().join(NEW);
        fs::create_dir(&new).map_err(|error| WriteError::io(&new, "make this folder", &error))?;
        Ok(Self {
            hidden,
            target,
            part,
            purpose,
        })
    }

    /// Where it will stand.
    #[must_use]
    pub fn target(&self) -> &Path {
        &self.target
    }

    /// Writes one file, by its name in the folder with `/` between parts, and flushes it to the disk. May be called from
    /// several threads.
    ///
    /// # Errors
    /// Which file could not be written, why, and what to do.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), WriteError> {
        self.write_with(name, |file| file.write_all(bytes))
    }

    /// As [`Self::write`], of a file that is too large to be held in memory: `fill` writes it piece by piece.
    ///
    /// # Errors
    /// As [`Self::write`].
    pub fn write_with(
        &self,
        name: &str,
        fill: impl FnOnce(&mut dyn io::Write) -> io::Result<()>,
    ) -> Result<(), WriteError> {
        let relative = Path::new(name);
        let plain = relative
            .components()
            .all(|part| matches!(part, Component::Normal(_)));
        let first = name.split('/').next().unwrap_or_default();
        let expected = match self.purpose {
            Purpose::Results => check::RESULTS.contains(&first),
            Purpose::Annotated(_) => first == check::ANNOTATED,
            Purpose::New => true,
        };
        if !plain || name.is_empty() || !expected {
            return Err(WriteError::fault(name, &"it is not a file of this folder"));
        }
        // Messages name the place that the user knows, not the hidden one.
        let shown = self.shown(relative);
        let path = self.hidden.path().join(NEW).join(relative);
        let written = path
            .parent()
            .map_or(Ok(()), fs::create_dir_all)
            .and_then(|()| fs::File::create_new(&path))
            .and_then(|mut file| {
                fill(&mut file)?;
                file.sync_all()
            });
        written.map_err(|error| WriteError::io(&shown, "write it", &error))
    }

    /// Reads back a file that has been written into it.
    ///
    /// # Errors
    /// There is no such file yet, or the system's own.
    pub fn read(&self, name: &str) -> io::Result<Vec<u8>> {
        fs::read(self.hidden.path().join(NEW).join(name))
    }

    /// Where a file will stand.
    fn shown(&self, relative: &Path) -> PathBuf {
        let inside = relative.strip_prefix(self.part).unwrap_or(relative);
        self.target.join(inside)
    }

    /// Gives the folder its name; from then on it is there, whole.
    ///
    /// # Errors
    /// Why it could not be named; whatever stood there before is there again.
    pub fn finish(self) -> Result<(), WriteError> {
        let new = self.hidden.path().join(NEW).join(self.part);
        flush_folder(&new);
        let exists = fs::symlink_metadata(&self.target).is_ok();
        if exists {
            // It may have changed since it was checked.
            check::replaceable(&self.target, &self.purpose)?;
        }
        let made = if exists {
            Vec::new()
        } else {
            self.make_parents()?
        };
        match self.swap(&new, exists) {
            Ok(()) => {
                if let Some(parent) = self.target.parent() {
                    flush_folder(parent);
                }
                Ok(())
            }
            Err(error) => {
                for folder in made.iter().rev() {
                    // Only removes what is empty; what cannot be removed does no harm.
                    let _ = fs::remove_dir(folder);
                }
                Err(self.keep_old(error))
            }
        }
    }

    /// Makes the missing folders above the target; returns them, the outermost first.
    fn make_parents(&self) -> Result<Vec<PathBuf>, WriteError> {
        let mut missing: Vec<_> = self
            .target
            .ancestors()
            .skip(1)
            .take_while(|folder| !folder.exists())
            .map(Path::to_owned)
            .collect();
        missing.reverse();
        for (index, folder) in missing.iter().enumerate() {
            if let Err(error) = fs::create_dir(folder) {
                for made in missing.iter().take(index).rev() {
                    let _ = fs::remove_dir(made);
                }
                return Err(WriteError::io(folder, "make this folder", &error));
            }
        }
        Ok(missing)
    }

    /// Old aside, new in; the old one back where the new one cannot take its name.
    fn swap(&self, new: &Path, exists: bool) -> Result<(), WriteError> {
        let old = self.hidden.path().join(OLD);
        if exists {
            fs::rename(&self.target, &old)
                .map_err(|error| WriteError::io(&self.target, "replace this folder", &error))?;
        }
        fs::rename(new, &self.target).map_err(|error| {
            if exists {
                // Where this fails too, `keep_old` sees that the old one is still aside.
                let _ = fs::rename(&old, &self.target);
            }
            WriteError::io(&self.target, "give the finished folder this name", &error)
        })
    }

    /// After a failure: makes sure that dropping the hidden folder does not take the earlier result with it.
    fn keep_old(self, error: WriteError) -> WriteError {
        if !self.hidden.path().join(OLD).exists() {
            return error;
        }
        let kept = self.hidden.keep().join(OLD);
        WriteError {
            mend: format!(
                "{} The earlier result is safe in {}.",
                error.mend,
                kept.display()
            ),
            ..error
        }
    }
}

/// Whether annotated pictures go into a folder that is kept: a results folder, or one that holds `annotated/` alone.
fn keeps_rest(target: &Path, purpose: &Purpose) -> Result<bool, WriteError> {
    let Purpose::Annotated(_) = purpose else {
        return Ok(false);
    };
    let names = check::names(target)?;
    if names.is_empty() {
        return Ok(false);
    }
    if check::is_results(target) || names.iter().all(|name| name == check::ANNOTATED) {
        return Ok(true);
    }
    Err(WriteError::new(
        target,
        "holds files, and is not an earlier results folder",
        "Name another folder with --out.",
    ))
}

/// Flushes a folder's list of names to the disk, where the system can; a failure only weakens what a power cut leaves.
fn flush_folder(folder: &Path) {
    if cfg!(unix) {
        let _ = fs::File::open(folder).and_then(|folder| folder.sync_all());
    }
}
