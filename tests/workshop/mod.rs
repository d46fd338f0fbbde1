//! The real program, run in folders of its own.
#![allow(dead_code)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

/// A file of the repository.
pub fn repository(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The program with plain output, ready for arguments.
pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_endtank"));
    command.env("NO_COLOR", "1").env_remove("COLUMNS");
    command
}

/// Runs a command of the program on a path.
pub fn run(command: &str, path: &Path, more: &[&str]) -> Output {
    program()
        .arg(command)
        .arg(path)
        .args(more)
        .output()
        .unwrap()
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("output is UTF-8")
}

/// Runs `compare`, which has to succeed; the results.
pub fn results(session: &Path) -> Value {
    let output = run("compare", session, &[]);
    assert!(
        output.status.success(),
        "{}: {}",
        session.display(),
        text(&output.stderr)
    );
    let stem = session.file_stem().unwrap().to_string_lossy().into_owned();
    let folder = session.with_file_name(format!("{stem}-results"));
    json(&folder.join("results.json"))
}

pub fn json(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// Copies the plain files of a folder, except earlier results.
pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().map(Result::unwrap) {
        if entry.file_type().unwrap().is_file() {
            std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
        }
    }
}

/// The sample session in a folder of its own.
pub fn sample() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    copy(&repository("sample-images/tow-truck"), folder.path());
    let session = folder.path().join("session.toml");
    (folder, session)
}

/// Every name below a folder, links and folders too, with the bytes of the plain files.
pub fn contents(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let kind = entry.file_type().unwrap();
        let bytes = if kind.is_file() {
            std::fs::read(entry.path()).unwrap()
        } else {
            Vec::new()
        };
        found.insert(entry.path(), bytes);
        if kind.is_dir() {
            found.extend(contents(&entry.path()));
        }
    }
    found
}
