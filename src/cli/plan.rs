//! `endtank plan`: before measuring.

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::compare::{DRAWS, in_pool};
use super::draws::Draws;
use super::terminal::Terminal;
use crate::pipeline;
use crate::plan::{self, Plan};
use crate::report;
use crate::session;

/// Before measuring: what the planned session would tell, and what would tell more
///
/// Write what you expect instead of pictures, `expect = { inlet = "70 °C", outlet = "33 °C" }` on a run, or pistol readings.
/// Prints how sure each quantity would be, the chance of a verdict if what you expect is true, and what tape, foil, a
/// reference, probes, more runs or a longer hold would do. Writes nothing.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The session file.
    session: PathBuf,
    #[command(flatten)]
    draws: Draws<{ plan::DRAWS }, DRAWS>,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let session = match session::read(&arguments.session) {
        Ok(session) => session,
        Err(problems) => return terminal.problems(&problems),
    };
    let settings = arguments.draws.settings(false);
    match in_pool(arguments.draws.jobs, || {
        pipeline::plan(&session, settings, &|| {})
    }) {
        Ok(Ok(plan)) => {
            let plan = Plan {
                outcome: report::noted::noted(&plan.outcome),
                ..plan
            };
            let width = terminal.width();
            terminal.print(&report::terminal::plan(
                &session,
                &plan,
                width,
                terminal.colour(),
            ));
            Status::Done
        }
        Ok(Err(problems)) => terminal.problems(&problems),
        Err(error) => terminal.failure(&error, "ask for fewer with --jobs"),
    }
}
