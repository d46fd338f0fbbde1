//! `endtank annotate`: only the annotated pictures.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Status;
use super::compare::{DRAWS, SEED, in_pool, inputs, results_folder};
use super::scale;
use super::terminal::Terminal;
use crate::picture::Scale;
use crate::pipeline::{self, DrawError};
use crate::report::{Folder, Purpose};
use crate::session::{self, Session};
use crate::uncertainty::Settings;

/// Write only the annotated pictures of a session
///
/// Every picture with its regions outlined and labelled with their corrected and shown temperatures, in a folder
/// `annotated`.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The session file.
    session: PathBuf,
    /// The results folder that `annotated` is put in; default: SESSION-results beside the session.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// The temperatures at the ends of the colour scale of all pictures, °C, for instance 20,70; default: each picture
    /// its own.
    #[arg(long, value_name = "LOW,HIGH", value_parser = scale::parse, allow_hyphen_values = true)]
    scale: Option<Scale>,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let session = match session::read(&arguments.session) {
        Ok(session) => session,
        Err(problems) => return terminal.problems(&problems),
    };
    if session.runs.iter().all(|run| run.snapshots.is_empty()) {
        return terminal.failure(
            "the session has no pictures to annotate",
            "add [[run.snapshot]] entries to its runs",
        );
    }
    let target = arguments
        .out
        .clone()
        .unwrap_or_else(|| results_folder(&session));
    match in_pool(None, || annotate(&session, arguments.scale, &target)) {
        Ok(Ok((count, place))) => {
            let plural = if count == 1 { "picture" } else { "pictures" };
            terminal.print(&format!(
                "{count} annotated {plural} in {}\n",
                place.display()
            ));
            Status::Done
        }
        Ok(Err(error)) => terminal.draw_error(&error),
        Err(error) => terminal.failure(&error, "close other programs and try again"),
    }
}

/// Draws all pictures; returns how many, and where they are.
fn annotate(
    session: &Session,
    scale: Option<Scale>,
    target: &Path,
) -> Result<(usize, PathBuf), DrawError> {
    let outcome = pipeline::evaluate(
        session,
        Settings {
            draws: DRAWS,
            seed: SEED,
            what_ifs: false,
        },
        &|| {},
    )?;
    let pictures = outcome.pictures.iter();
    let names = pictures.map(|picture| picture.annotated.clone()).collect();
    let folder = Folder::prepare(target, &inputs(session), Purpose::Annotated(names))?;
    pipeline::annotate(session, &outcome, scale, &folder)?;
    let place = folder.target().join("annotated");
    folder.finish()?;
    Ok((outcome.pictures.len(), place))
}
