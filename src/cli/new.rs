//! `endtank new`: a first session file from a folder of pictures.

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::terminal::Terminal;
use crate::first::{self, First, FirstError, SESSION};

/// Write a first session file from a folder of pictures
///
/// Puts the pictures in order of capture, finds colour bars, proposes regions on the tanks, to be confirmed, and marks with
/// "?" what is still to fill in; `endtank check` lists it. Beside each picture a drawing with pixel coordinates is written,
/// to read regions off. Files that exist are never replaced.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The folder with the pictures; session.toml and the drawings are written into it.
    folder: PathBuf,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let folder = arguments.folder.as_path();
    let written = first::prepare(folder).and_then(|first| Ok((first.write(folder)?, first)));
    match written {
        Ok((kept, first)) => {
            terminal.print(&summary(
                &first,
                &kept,
                &folder.join(SESSION).display().to_string(),
            ));
            Status::Done
        }
        Err(FirstError::Write(error)) => terminal.write_error(&error),
        Err(error) => {
            if let FirstError::NoPictures { remarks, .. } = &error {
                for remark in remarks {
                    terminal.note(&format!("{remark}\n"));
                }
            }
            terminal.failure(&error.to_string(), mend(&error))
        }
    }
}

fn mend(error: &FirstError) -> &'static str {
    match error {
        FirstError::Exists(_) => {
            "check and complete that one, or move it away to have a new one written"
        }
        FirstError::Folder { .. } => "name the folder that holds the pictures",
        FirstError::NoPictures { .. } | FirstError::Write(_) => {
            "put radiometric TIFF, PNG, NPY, PGM or CSV pictures there, or colour pictures with their colour bar"
        }
    }
}

fn summary(first: &First, kept: &[String], session: &str) -> String {
    let pictures = match first.pictures {
        1 => "1 picture".to_owned(),
        several => format!("{several} pictures"),
    };
    let mut text = format!(
        "{session} has {pictures}; regions on both tanks are proposed in {}, to be confirmed\n",
        first.proposed
    );
    for remark in &first.remarks {
        text.push_str(&format!("{remark}\n"));
    }
    for name in kept {
        text.push_str(&format!("{name} exists already and was left as it is\n"));
    }
    text.push_str(&format!(
        "fill in each \"?\"; what is left: endtank check {session}\n"
    ));
    text
}
