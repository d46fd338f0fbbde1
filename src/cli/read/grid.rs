//! `endtank read --grid`: pictures with pixel coordinates along their edges, to read regions off.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::problems;
use crate::cli::Status;
use crate::cli::new_files::{self, Trouble, exists, is_taken};
use crate::cli::terminal::Terminal;
use crate::load::{self, Wanted};
use crate::picture;
use crate::session::{Session, Snapshot};

/// The option that names the folder.
const OPTION: &str = "--out";

/// Draws each snapshot of a session with its coordinates and writes `STEM-grid.png` into a folder, made where it is not
/// there: all of them, or none and every problem printed.
pub(super) fn write(session: &Session, out: &Path, terminal: &Terminal) -> Status {
    let (mut troubles, mut drawings) = (Vec::new(), Vec::new());
    let mut taken: BTreeMap<PathBuf, &Path> = BTreeMap::new();
    for snapshot in session.runs.iter().flat_map(|run| &run.snapshots) {
        let path = snapshot.path.as_path();
        let target = target(path, out);
        match taken.insert(target.clone(), path) {
            Some(other) => troubles.push((
                format!(
                    "{} and {} would both be written as {}",
                    other.display(),
                    path.display(),
                    target.display()
                ),
                "draw them one at a time, each with its own --out".to_owned(),
            )),
            None if is_taken(&target) => troubles.push(exists(&target, OPTION)),
            None => {}
        }
        match drawn(snapshot) {
            Ok(bytes) => drawings.push((target, bytes)),
            Err(trouble) => troubles.push(trouble),
        }
    }
    if troubles.is_empty()
        && let Err(trouble) = new_files::store(&drawings, out, OPTION)
    {
        troubles.push(trouble);
    }
    for (what, mend) in &troubles {
        terminal.failure(what, mend);
    }
    if !troubles.is_empty() {
        return Status::Failed;
    }
    for (target, _) in &drawings {
        terminal.print(&format!("{}\n", target.display()));
    }
    Status::Done
}

/// `STEM-grid.png` in a folder.
fn target(picture: &Path, out: &Path) -> PathBuf {
    let mut name: OsString = picture.file_stem().unwrap_or_default().to_owned();
    name.push("-grid.png");
    if out == Path::new(".") {
        return name.into();
    }
    out.join(name)
}

/// A picture's drawing, as PNG.
fn drawn(snapshot: &Snapshot) -> Result<Vec<u8>, Trouble> {
    let path = snapshot.path.as_path();
    let bytes = bytes_of(path)?;
    let wanted = Wanted {
        pixels: snapshot.pixels.as_ref(),
        page: snapshot.page,
        ..Wanted::default()
    };
    let unread = |error: load::LoadError| {
        let mend = problems::in_options(&error.mend);
        (
            format!("{}: {}", path.display(), problems::in_options(&error.what)),
            mend,
        )
    };
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    // A bar, stated or not, is read off the colours themselves.
    let colours = load::colours(&bytes, wanted.pixels.is_some()).map_err(unread)?;
    let drawing = match colours {
        Some(colours) => picture::grid_in_colours(&colours, &name, &[]),
        None => {
            let image = load::read(&bytes, wanted).map_err(unread)?;
            picture::grid(&image, &name, &[])
        }
    };
    drawing.map_err(|error| {
        let what = format!("{}: {error}", path.display());
        (what, "check which file this is".to_owned())
    })
}

/// A file's bytes, up to the most that a picture may have.
fn bytes_of(path: &Path) -> Result<Vec<u8>, Trouble> {
    let unreadable = |error: std::io::Error| {
        (
            format!("{} cannot be read: {error}", path.display()),
            "check that the file is there and that you may read it".to_owned(),
        )
    };
    let file = File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::new();
    // One byte more than the limit tells a file that is too large, also where the file system does not know its size.
    file.take(load::MAX_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    if bytes.len() > load::MAX_BYTES {
        return Err((
            format!("{} is larger than 1 GiB", path.display()),
            "a thermal picture is far smaller: check which file this is".to_owned(),
        ));
    }
    Ok(bytes)
}
