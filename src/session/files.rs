//! Files that a session names: inside its folder, and nowhere else.

use std::path::{Component, Path, PathBuf};

use super::names::did_you_mean;
use super::reader::{Entry, Table};

/// How many names of a folder are looked through for one that was meant.
const LOOKED_AT: usize = 500;

/// Where a file named in the session is. It has to be a plain file inside the session's folder, links resolved.
pub(super) fn resolve(table: &Table<'_>, entry: &Entry<'_>, file: &str) -> Option<PathBuf> {
    let raw = table.context.slice(&entry.span());
    if let Err((what, mend)) = plain_relative(file, raw) {
        table.problem(entry.span(), what, mend);
        return None;
    }
    let Some(folder) = table.context.folder else {
        return Some(PathBuf::from(file));
    };
    match inside(folder, file) {
        Ok(path) => Some(path),
        Err((what, mend)) => {
            table.problem(entry.span(), what, mend);
            None
        }
    }
}

type Refusal = (String, String);

/// What can be said of a name without looking at the disk.
fn plain_relative(file: &str, raw: &str) -> Result<(), Refusal> {
    let refuse = |what: String, mend: &str| Err((what, mend.to_owned()));
    if file.trim().is_empty() {
        return refuse(
            "a file without a name".to_owned(),
            "write the picture's name, for instance \"original-1.tiff\"",
        );
    }
    let control = file.chars().any(char::is_control);
    if file.contains('\\') || (control && raw.contains('\\')) {
        return refuse(
            format!("a backslash in the file name {raw}"),
            "write `/` between folder and file, also on Windows",
        );
    }
    if control {
        return refuse(
            "a control character in a file name".to_owned(),
            "write the name on one line",
        );
    }
    let mut start = file.chars();
    let drive = start.next().is_some_and(|c| c.is_ascii_alphabetic()) && start.next() == Some(':');
    if drive || file.starts_with('/') || Path::new(file).is_absolute() {
        return refuse(
            format!("`{file}` is not relative to the session"),
            "put the picture in the session's folder and write its name alone",
        );
    }
    if Path::new(file)
        .components()
        .any(|part| part == Component::ParentDir)
    {
        return refuse(
            format!("`{file}` leads out of the session's folder"),
            "put the picture in the session's folder; `..` is not allowed",
        );
    }
    Ok(())
}

fn inside(folder: &Path, file: &str) -> Result<PathBuf, Refusal> {
    let path = folder.join(file);
    let failed = |error: &std::io::Error| {
        if error.kind() == std::io::ErrorKind::NotFound {
            (format!("there is no file `{file}`"), near(&path))
        } else {
            (
                format!("`{file}` cannot be opened: {error}"),
                "check the file and its permissions".to_owned(),
            )
        }
    };
    let resolved = path.canonicalize().map_err(|error| failed(&error))?;
    let home = folder.canonicalize().map_err(|error| failed(&error))?;
    if !resolved.starts_with(&home) {
        return Err((
            format!("`{file}` is a link that leads out of the session's folder"),
            "copy the file itself into the session's folder".to_owned(),
        ));
    }
    let about = std::fs::metadata(&resolved).map_err(|error| failed(&error))?;
    if about.is_dir() {
        return Err((
            format!("`{file}` is a folder"),
            "name a file in it".to_owned(),
        ));
    }
    if !about.is_file() {
        return Err((
            format!("`{file}` is no plain file"),
            "name a picture file".to_owned(),
        ));
    }
    Ok(resolved)
}

/// The files beside the one that is missing.
fn near(path: &Path) -> String {
    let wanted = path.file_name().unwrap_or_default().to_string_lossy();
    let names: Vec<String> = path
        .parent()
        .and_then(|folder| std::fs::read_dir(folder).ok())
        .into_iter()
        .flatten()
        .take(LOOKED_AT)
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    let mut names: Vec<&str> = names.iter().map(String::as_str).collect();
    names.sort_unstable();
    if names.is_empty() {
        return "file names are relative to the session file".to_owned();
    }
    names.truncate(LOOKED_AT);
    let shown = names.iter().copied();
    did_you_mean(&wanted, shown, "beside the session lie")
}
