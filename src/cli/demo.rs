//! `endtank demo`: the sample session, to try.

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::terminal::Terminal;
use crate::sample;

/// Write the sample session into a new folder, to try
///
/// A tow truck's original cooler against a welded replacement: pictures, notes and the truth behind them. All of it is
/// drawn by this program; nothing in it is a real product.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The folder to write; must be new or empty.
    folder: PathBuf,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    match sample::write(&arguments.folder) {
        Ok(()) => {
            let session = arguments.folder.join("session.toml");
            let (folder, session) = (arguments.folder.display(), session.display());
            terminal.print(&format!(
                "the sample session is in {folder}\ntry: endtank compare {session}\n"
            ));
            Status::Done
        }
        Err(error) => terminal.failure(&error.to_string(), "name a folder that does not exist yet"),
    }
}
