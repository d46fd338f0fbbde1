//! `endtank compare`: the main job.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::Status;
use super::draws::Draws;
use super::progress::Progress;
use super::scale;
use super::terminal::Terminal;
use crate::outcome::Outcome;
use crate::picture::Scale;
use crate::pipeline::{self, DrawError};
use crate::report::csv::Marks;
use crate::report::{self, Folder, Purpose};
use crate::session::{self, Session};
use crate::uncertainty::Settings;

/// The seed that is used unless another is given: results do not change from one run of the program to the next.
pub(super) const SEED: u64 = 20_260_101;

/// Draws unless another number is given: the ends of an interval are then steady to about 1 % of its width.
pub(super) const DRAWS: u64 = 100_000;

/// More draws than that are refused: they would tell nothing that fewer do not.
pub(super) const MOST_DRAWS: u64 = 1_000_000;

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
    /// The temperatures at the ends of the colour scale of all pictures, °C, for instance 20,70; default: each annotated
    /// picture its own, and one that holds all for the coolers side by side.
    #[arg(long, value_name = "LOW,HIGH", value_parser = scale::parse, allow_hyphen_values = true)]
    scale: Option<Scale>,
    #[command(flatten)]
    draws: Draws<DRAWS, MOST_DRAWS>,
    /// Also print where the doubt of each difference comes from.
    #[arg(long)]
    budget: bool,
    /// What to print: the summary, or all results as JSON.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Write the CSV files with decimal commas, and semicolons between cells, as some spreadsheets expect.
    #[arg(long)]
    decimal_comma: bool,
}

/// What is printed of the results.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// The summary.
    Text,
    /// What `results.json` holds.
    Json,
}

/// How the CSV files are written.
pub(super) const fn marks(decimal_comma: bool) -> Marks {
    if decimal_comma {
        Marks::Comma
    } else {
        Marks::Point
    }
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
    let settings = arguments.draws.settings(true);
    let worked = in_pool(arguments.draws.jobs, || {
        work(&session, arguments, settings, folder, terminal)
    });
    match worked {
        Ok(Ok((outcome, folder))) => {
            print(arguments, &outcome, &folder, terminal);
            Status::Done
        }
        Ok(Err(error)) => terminal.draw_error(&error),
        Err(error) => terminal.failure(&error, "ask for fewer with --jobs"),
    }
}

fn print(arguments: &Arguments, outcome: &Outcome, folder: &Path, terminal: &Terminal) {
    match arguments.format {
        Format::Text => terminal.print(&report::terminal::summary(
            &report::noted::noted(outcome),
            Some(folder),
            terminal.width(),
            terminal.colour(),
            arguments.budget,
        )),
        // The very same has just been written to the folder, so it can be put together.
        Format::Json => {
            let json = report::json::results(&outcome.results).unwrap_or_default();
            terminal.print(&String::from_utf8_lossy(&json));
        }
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

/// Evaluates, draws and writes everything; returns where it is.
fn work(
    session: &Session,
    arguments: &Arguments,
    settings: Settings,
    folder: Folder,
    terminal: &Terminal,
) -> Result<(Outcome, PathBuf), DrawError> {
    let pictures = session
        .runs
        .iter()
        .map(|run| run.snapshots.len())
        .sum::<usize>();
    let progress = Progress::new(2 * pictures, terminal);
    let drawn = evaluate_and_draw(session, settings, arguments.scale, &folder, &|| {
        progress.step();
    });
    progress.clear();
    let (outcome, names) = drawn?;
    report::write(&folder, &outcome, &names, marks(arguments.decimal_comma))?;
    let target = folder.target().to_owned();
    folder.finish()?;
    Ok((outcome, target))
}

/// The outcome, and the names of the pictures that were drawn into the folder.
fn evaluate_and_draw(
    session: &Session,
    settings: Settings,
    scale: Option<Scale>,
    folder: &Folder,
    progress: &(dyn Fn() + Sync),
) -> Result<(Outcome, Vec<String>), DrawError> {
    let outcome = pipeline::evaluate(session, settings, progress)?;
    let names = pipeline::draw(session, &outcome, scale, folder, progress)?;
    Ok((outcome, names))
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
    let own = std::iter::once(session.source.path.clone());
    own.chain(session.files().into_iter().map(|file| file.path))
        .collect()
}
