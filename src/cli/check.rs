//! `endtank check`: everything short of writing.

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::compare::{DRAWS, SEED, in_pool};
use super::terminal::Terminal;
use crate::pipeline;
use crate::report;
use crate::session;
use crate::uncertainty::Settings;

/// Check a session and its pictures; write nothing
///
/// Lists every problem at once, each with its line and what to write instead.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The session file.
    session: PathBuf,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let session = match session::read(&arguments.session) {
        Ok(session) => session,
        Err(problems) => return terminal.problems(&problems),
    };
    match in_pool(None, || {
        pipeline::evaluate(
            &session,
            Settings {
                draws: DRAWS,
                seed: SEED,
                what_ifs: false,
            },
            &|| {},
        )
    }) {
        Ok(Ok(outcome)) => {
            let summary = report::terminal::sound(&outcome, terminal.width(), terminal.colour());
            terminal.print(&summary);
            Status::Done
        }
        Ok(Err(problems)) => terminal.problems(&problems),
        Err(error) => terminal.failure(&error, "close other programs and try again"),
    }
}
