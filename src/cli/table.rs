//! `endtank table`: many sessions in one table.

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::compare::{DRAWS, MOST_DRAWS, in_pool, marks};
use super::draws::Draws;
use super::terminal::Terminal;
use crate::diagnostics::Problems;
use crate::outcome::Outcome;
use crate::pipeline;
use crate::report;
use crate::session;
use crate::uncertainty::Settings;

/// Put the quantities and differences of many sessions into one CSV table
///
/// Evaluates every session as `compare` does and prints a row for each quantity of each cooler and each difference. Nothing
/// is printed unless all sessions are sound.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The session files.
    #[arg(required = true, value_name = "SESSION")]
    sessions: Vec<PathBuf>,
    /// Write the table to this file instead of printing it; the file must not exist.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    draws: Draws<DRAWS, MOST_DRAWS>,
    /// Write decimal commas, and semicolons between cells, as some spreadsheets expect.
    #[arg(long)]
    decimal_comma: bool,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    if let Some(out) = &arguments.out
        && out.exists()
    {
        let what = format!("{} exists already", out.display());
        return terminal.failure(&what, "name another file with --out, or remove it first");
    }
    let settings = arguments.draws.settings(false);
    let mut rows = Vec::new();
    let mut failed = false;
    for path in &arguments.sessions {
        let evaluated = in_pool(arguments.draws.jobs, || evaluate(path, settings));
        match evaluated {
            Ok(Ok(outcome)) => {
                rows.extend(report::table::rows(&path.to_string_lossy(), &outcome));
            }
            Ok(Err(problems)) => {
                terminal.problems(&problems);
                failed = true;
            }
            Err(error) => return terminal.failure(&error, "ask for fewer with --jobs"),
        }
    }
    if failed {
        return Status::Failed;
    }
    match report::table::csv(&rows, marks(arguments.decimal_comma)) {
        Ok(table) => write(arguments, &table, terminal),
        Err(error) => terminal.failure(
            &format!("the table cannot be put together: {error}"),
            "this is a fault of the program, please report it",
        ),
    }
}

fn evaluate(path: &std::path::Path, settings: Settings) -> Result<Outcome, Problems> {
    pipeline::evaluate(&session::read(path)?, settings, &|| {})
}

fn write(arguments: &Arguments, table: &[u8], terminal: &Terminal) -> Status {
    let Some(out) = &arguments.out else {
        terminal.print(&String::from_utf8_lossy(table));
        return Status::Done;
    };
    match report::write_new(out, table) {
        Ok(()) => Status::Done,
        Err(error) => terminal.write_error(&error),
    }
}
