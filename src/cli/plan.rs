//! `endtank plan`: before measuring.

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::compare::{DRAWS, SEED, in_pool};
use super::terminal::Terminal;
use crate::pipeline;
use crate::report;
use crate::session;
use crate::uncertainty::Settings;

/// Before measuring: what the planned session would tell, and what would tell more
///
/// Write what you expect instead of pictures, `expect = { inlet = "70 °C", outlet = "33 °C" }` on a run, or pistol readings.
/// Prints how sure each quantity would be, the chance of a verdict if what you expect is true, and what tape, foil, a
/// reference, probes, more runs or a longer hold would do. Writes nothing.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The session file.
    session: PathBuf,
    /// Random draws that the intervals are worked out from; no more than 20 000 are made.
    #[arg(long, value_name = "N", default_value_t = DRAWS, value_parser = clap::value_parser!(u64).range(1000..=1_000_000))]
    draws: u64,
    /// Seed of the random draws.
    #[arg(long, value_name = "N", default_value_t = SEED)]
    seed: u64,
    /// Threads; default: one for each processor. The results are the same for any number.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    jobs: Option<u16>,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let session = match session::read(&arguments.session) {
        Ok(session) => session,
        Err(problems) => return terminal.problems(&problems),
    };
    let settings = Settings {
        draws: arguments.draws,
        seed: arguments.seed,
        what_ifs: false,
    };
    match in_pool(arguments.jobs, || {
        pipeline::plan(&session, settings, &|| {})
    }) {
        Ok(Ok(plan)) => {
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
