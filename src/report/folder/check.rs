//! Whether a place may be written to, decided before any work: nothing but an earlier result is ever replaced.

use std::ffi::OsStr;
use std::fs;
use std::path::{Component, Path, PathBuf};

use super::{Purpose, WriteError};

/// What a results folder may hold. Anything else in it is somebody's own and is not removed with it.
pub(super) const RESULTS: [&str; 7] = [
    "report.html",
    "report.md",
    "readings.csv",
    "comparison.csv",
    "results.json",
    "side-by-side.png",
    ANNOTATED,
];

/// The folder of the annotated pictures.
pub(super) const ANNOTATED: &str = "annotated";

/// What the operating system's file browsers leave behind.
const DROPPINGS: [&str; 3] = [".DS_Store", "Thumbs.db", "desktop.ini"];

/// The path with every link resolved that exists, and the nearest folder on it that exists.
///
/// # Errors
/// It leads through something that is no folder, or has no name.
pub(super) fn resolve(target: &Path) -> Result<(PathBuf, PathBuf), WriteError> {
    if target.as_os_str().is_empty() {
        let mend = "Write the folder's name after --out.";
        return Err(WriteError::new(
            Path::new("--out"),
            "no folder is named",
            mend,
        ));
    }
    let absolute = std::path::absolute(target)
        .map_err(|error| WriteError::io(target, "work out where this is", &error))?;
    let mut existing = absolute.as_path();
    while fs::symlink_metadata(existing).is_err() {
        existing = existing
            .parent()
            .ok_or_else(|| WriteError::new(target, "no such place", "Check the path."))?;
    }
    let rest = absolute.strip_prefix(existing).unwrap_or(Path::new(""));
    if !rest
        .components()
        .all(|part| matches!(part, Component::Normal(_)))
    {
        return Err(WriteError::new(
            target,
            "leads through a folder that does not exist",
            "Write the path without `..`.",
        ));
    }
    let existing = existing
        .canonicalize()
        .map_err(|error| WriteError::io(target, "follow this link", &error))?;
    if !existing.is_dir() {
        return Err(WriteError::new(
            target,
            format!("{} is a file, not a folder", existing.display()),
            "Name a folder that does not exist yet, or an earlier results folder.",
        ));
    }
    let resolved = if rest.as_os_str().is_empty() {
        existing.clone()
    } else {
        existing.join(rest)
    };
    Ok((resolved, existing))
}

/// Refuses a resolved target that holds an input or the folder the user stands in.
///
/// The session file is among the inputs, so this also keeps the session's folder and all above it.
pub(super) fn keeps_inputs(target: &Path, inputs: &[PathBuf]) -> Result<(), WriteError> {
    for input in inputs {
        // The place itself and what a link points to both have to stay.
        let as_named = std::path::absolute(input).unwrap_or_else(|_| input.clone());
        let real = input.canonicalize().unwrap_or_else(|_| as_named.clone());
        let parent = as_named
            .parent()
            .and_then(|parent| parent.canonicalize().ok());
        let inside = [
            Some(as_named),
            Some(real),
            parent.map(|p| p.join(input.file_name().unwrap_or_default())),
        ]
        .into_iter()
        .flatten()
        .any(|path| path.starts_with(target));
        if inside {
            return Err(WriteError::new(
                target,
                format!(
                    "holds {}, which this session reads; inputs are never replaced",
                    input.display()
                ),
                "Name another folder with --out, or leave --out away to write beside the session.",
            ));
        }
    }
    let here = std::env::current_dir().and_then(|here| here.canonicalize());
    if here.is_ok_and(|here| here.starts_with(target)) {
        return Err(WriteError::new(
            target,
            "is the folder you are in, which cannot be replaced from inside",
            "Go to the folder above, or name a new folder inside this one with --out.",
        ));
    }
    Ok(())
}

/// Refuses a folder that is a disk of its own: it can be written into, but not renamed.
pub(super) fn renamable(target: &Path) -> Result<(), WriteError> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        let disk = |path: &Path| fs::metadata(path).map(|about| about.dev()).ok();
        if disk(target) != target.parent().and_then(disk) {
            return Err(WriteError::new(
                target,
                "is a disk of its own, which cannot be replaced",
                "Name a new folder inside it with --out.",
            ));
        }
    }
    #[cfg(not(unix))]
    let _ = target;
    Ok(())
}

/// Refuses a folder that holds anything but what an earlier call for the same purpose wrote.
pub(super) fn replaceable(target: &Path, purpose: &Purpose) -> Result<(), WriteError> {
    let names = names(target)?;
    if names.is_empty() {
        return Ok(());
    }
    match purpose {
        Purpose::New => Err(WriteError::new(
            target,
            "already holds files",
            "Name a folder that does not exist yet.",
        )),
        Purpose::Results if is_results(target) || is_annotated_alone(target, &names) => {
            only(target, &names, &RESULTS)
        }
        Purpose::Results => Err(WriteError::new(
            target,
            "holds files, and is not an earlier results folder (it has no results.json of endtank)",
            "Name another folder with --out.",
        )),
        Purpose::Annotated(pictures) => only(target, &names, pictures),
    }
}

/// Whether a folder has a `results.json` that this program wrote.
pub(super) fn is_results(folder: &Path) -> bool {
    fs::read(folder.join("results.json"))
        .ok()
        .and_then(|bytes| serde_json::from_slice::<serde_json::Value>(&bytes).ok())
        .is_some_and(|tree| tree.get("endtank").is_some() && tree.get("schema").is_some())
}

/// Whether a folder is what `annotate` leaves where no results were before: named as a results folder by default is, with
/// nothing in it but pictures in `annotated`.
fn is_annotated_alone(folder: &Path, names: &[String]) -> bool {
    let named = folder
        .file_name()
        .is_some_and(|name| name.to_string_lossy().ends_with("-results"));
    let pictures = || {
        let inner = folder.join(ANNOTATED);
        self::names(&inner).is_ok_and(|names| names.iter().all(|name| name.ends_with(".png")))
    };
    named && names.iter().all(|name| name == ANNOTATED) && pictures()
}

/// The names in a folder, sorted, without what file browsers leave.
pub(super) fn names(folder: &Path) -> Result<Vec<String>, WriteError> {
    let failed = |error: &std::io::Error| WriteError::io(folder, "look into this folder", error);
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(|error| failed(&error))? {
        let name = entry.map_err(|error| failed(&error))?.file_name();
        if !DROPPINGS
            .iter()
            .any(|dropping| name == OsStr::new(dropping))
        {
            names.push(name.to_string_lossy().into_owned());
        }
    }
    names.sort();
    Ok(names)
}

fn only(folder: &Path, names: &[String], allowed: &[impl AsRef<str>]) -> Result<(), WriteError> {
    let foreign: Vec<_> = names
        .iter()
        .filter(|name| !allowed.iter().any(|allowed| allowed.as_ref() == *name))
        .map(String::as_str)
        .collect();
    if foreign.is_empty() {
        return Ok(());
    }
    Err(WriteError::new(
        folder,
        format!("would be replaced, but also holds: {}", foreign.join(", ")),
        "Move that elsewhere (or delete it if it is an old result), or name another folder with --out.",
    ))
}
