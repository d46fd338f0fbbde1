//! The session file's bytes.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use crate::diagnostics::Problem;

/// The largest session that is read, in bytes: thousands of runs take less.
const LARGEST: u64 = 4 * 1024 * 1024;

/// Reads the text of a file. A byte-order mark at its beginning is dropped.
pub(super) fn read(path: &Path) -> Result<String, Problem> {
    let failed = |error: std::io::Error| {
        let mend = match error.kind() {
            std::io::ErrorKind::NotFound => {
                "check the path; `endtank demo FOLDER` writes a sample session"
            }
            _ => "check the file and its permissions",
        };
        Problem::general(format!("the session cannot be read: {error}"), mend)
    };
    if path.is_dir() {
        let what = "this is a folder, not a session file";
        return Err(Problem::general(what, "name the session's TOML file in it"));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(failed)?;
    file.take(LARGEST + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() as u64 > LARGEST {
        let what = format!("the file is larger than {} MiB", LARGEST / (1024 * 1024));
        return Err(Problem::general(
            what,
            "check that this is the session and not a picture",
        ));
    }
    text(&bytes)
}

/// The text of a file's bytes.
fn text(bytes: &[u8]) -> Result<String, Problem> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
        let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
        Problem::general(
            format!("line {line} is not UTF-8 text"),
            "save the session as UTF-8: a ° or µ in another encoding is the usual cause",
        )
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        let mend = "write the session, or let `endtank demo FOLDER` write a sample";
        return Err(Problem::general("the session is empty", mend));
    }
    Ok(text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_order_mark_is_dropped() {
        assert_eq!(text("\u{feff}a = 1".as_bytes()).unwrap(), "a = 1");
    }

    #[test]
    fn another_encoding_is_named_with_its_line() {
        let problem = text(b"a = 1\nb = \"20 \xb0C\"\n").unwrap_err();
        assert!(problem.what.contains("line 2"), "{problem:?}");
        assert!(problem.mend.contains("UTF-8"), "{problem:?}");
    }

    #[test]
    fn nothing_but_space_is_an_empty_session() {
        assert!(text(b" \n\t\r\n").unwrap_err().what.contains("empty"));
    }
}
