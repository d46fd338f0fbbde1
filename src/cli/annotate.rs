//! `endtank annotate`: only the annotated pictures.

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::compare::{SEED, in_pool, inputs, results_folder};
use super::terminal::Terminal;
use crate::compare::Options;
use crate::pipeline;
use crate::report::{Folder, Purpose, WriteError};
use crate::session;

/// Write only the annotated pictures of a session
///
/// Every picture with its regions outlined and labelled with their corrected and shown temperatures, in the folder
/// `annotated` of the results folder; what else is there stays.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The session file.
    session: PathBuf,
    /// The results folder; default: SESSION-results beside the session.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let session = match session::read(&arguments.session) {
        Ok(session) => session,
        Err(problems) => return terminal.problems(&problems),
    };
    let drawn = in_pool(None, || {
        let outcome = pipeline::evaluate(&session, Options { seed: SEED }, &|| {})?;
        pipeline::draw(&session, &outcome, &|| {})
    });
    let pictures = match drawn {
        Ok(Ok(drawn)) => drawn.annotated,
        Ok(Err(problems)) => return terminal.problems(&problems),
        Err(error) => return terminal.failure(&error, "close other programs and try again"),
    };
    if pictures.is_empty() {
        return terminal.failure(
            "the session has no pictures to annotate",
            "add [[run.snapshot]] entries to its runs",
        );
    }
    let target = arguments
        .out
        .clone()
        .unwrap_or_else(|| results_folder(&session));
    let names = pictures
        .iter()
        .filter_map(|(name, _)| Some(name.rsplit_once('/')?.1.to_owned()))
        .collect();
    let written =
        Folder::prepare(&target, &inputs(&session), Purpose::Annotated(names)).and_then(|folder| {
            for (name, png) in &pictures {
                folder.write(name, png)?;
            }
            let place = folder.target().join("annotated");
            folder.finish()?;
            Ok::<_, WriteError>(place)
        });
    match written {
        Ok(place) => {
            let count = pictures.len();
            let plural = if count == 1 { "picture" } else { "pictures" };
            terminal.print(&format!(
                "{count} annotated {plural} in {}\n",
                place.display()
            ));
            Status::Done
        }
        Err(error) => terminal.write_error(&error),
    }
}
