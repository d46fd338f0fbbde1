//! `endtank compare`: the main job.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Status;
use super::progress::Progress;
use super::terminal::Terminal;
use crate::compare::Options;
use crate::diagnostics::Problems;
use crate::outcome::Outcome;
use crate::pipeline::{self, Drawn};
use crate::report::{self, Folder, Purpose, WriteError};
use crate::session::{self, Session};

/// The seed that is used unless another is given: results do not change from one run of the program to the next.
pub(super) const SEED: u64 = 20_260_101;

/// Compare the coolers of a session and write the results folder
///
/// Reads the session and its pictures, corrects every region for its material, compares the candidates with the
/// baseline and writes the report, tables and annotated pictures. Nothing is written unless all of it is sound.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The session file.
    session: PathBuf,
    /// The results folder; default: SESSION-results beside the session.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Random draws for the intervals. Accepted, but intervals are not worked out in this version.
    #[arg(long, value_name = "N", default_value_t = 100_000, value_parser = clap::value_parser!(u64).range(1000..=1_000_000))]
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
    let target = arguments
        .out
        .clone()
        .unwrap_or_else(|| results_folder(&session));
    // Where the results cannot go is said before the work is done, not after.
    let folder = match Folder::prepare(&target, &inputs(&session), Purpose::Results) {
        Ok(folder) => folder,
        Err(error) => return terminal.write_error(&error),
    };
    let options = Options {
        seed: arguments.seed,
    };
    let worked = in_pool(arguments.jobs, || {
        evaluate_and_draw(&session, options, terminal)
    });
    let (outcome, drawn) = match worked {
        Ok(Ok(done)) => done,
        Ok(Err(problems)) => return terminal.problems(&problems),
        Err(error) => return terminal.failure(&error, "ask for fewer with --jobs"),
    };
    match write(folder, &outcome, drawn) {
        Ok(folder) => {
            terminal.print(&report::terminal::summary(
                &outcome,
                Some(&folder),
                terminal.width(),
                terminal.colour(),
            ));
            Status::Done
        }
        Err(error) => terminal.write_error(&error),
    }
}

/// Runs work on its own pool of threads where their number was given.
pub(super) fn in_pool<T: Send>(
    jobs: Option<u16>,
    work: impl FnOnce() -> T + Send,
) -> Result<T, String> {
    let mut pool = rayon::ThreadPoolBuilder::new();
    if let Some(jobs) = jobs {
        pool = pool.num_threads(usize::from(jobs));
    }
    pool.build()
        .map(|pool| pool.install(work))
        .map_err(|error| format!("the threads cannot be started: {error}"))
}

fn evaluate_and_draw(
    session: &Session,
    options: Options,
    terminal: &Terminal,
) -> Result<(Outcome, Drawn), Problems> {
    let pictures = session
        .runs
        .iter()
        .map(|run| run.snapshots.len())
        .sum::<usize>();
    let progress = Progress::new(2 * pictures, terminal);
    let done = pipeline::evaluate(session, options, &|| progress.step()).and_then(|outcome| {
        Ok((
            pipeline::draw(session, &outcome, &|| progress.step())?,
            outcome,
        ))
    });
    progress.clear();
    done.map(|(drawn, outcome)| (outcome, drawn))
}

/// Writes everything; returns where it is.
fn write(folder: Folder, outcome: &Outcome, drawn: Drawn) -> Result<PathBuf, WriteError> {
    let side_by_side = drawn
        .side_by_side
        .map(|png| (pipeline::SIDE_BY_SIDE.to_owned(), png));
    let pictures: Vec<(String, Vec<u8>)> =
        side_by_side.into_iter().chain(drawn.annotated).collect();
    for (name, png) in &pictures {
        folder.write(name, png)?;
    }
    report::write(&folder, outcome, &pictures)?;
    let target = folder.target().to_owned();
    folder.finish()?;
    Ok(target)
}

/// `SESSION-results` beside the session.
pub(super) fn results_folder(session: &Session) -> PathBuf {
    let stem = session.source.path.file_stem().map_or_else(
        || "session".into(),
        |stem| stem.to_string_lossy().into_owned(),
    );
    session.folder.join(format!("{stem}-results"))
}

/// Every file that the session reads, which no output may touch.
pub(super) fn inputs(session: &Session) -> Vec<PathBuf> {
    let pictures = session
        .runs
        .iter()
        .flat_map(|run| run.snapshots.iter().map(|snapshot| snapshot.path.clone()));
    let own: &Path = &session.source.path;
    std::iter::once(own.to_owned()).chain(pictures).collect()
}
