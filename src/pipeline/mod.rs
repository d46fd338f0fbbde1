//! The main job from end to end: one session in, one outcome out, and its pictures into a folder.
//!
//! ```text
//! load     picture file            -> thermal image
//! locate   session's coordinates   -> masks on that image
//! measure  image + mask            -> statistics and mean signal; the picture is dropped
//! correct  signal + surface        -> skin temperature, as nodes of the model
//! infer    skin + wall + run       -> settled skin and charge air: more nodes
//! compare  baseline vs candidates  -> quantities, differences, cautions: the outcome
//! advise   altered sessions        -> what following a caution's advice would do
//! ```

mod detectors;
mod drawing;
mod panels;
mod pictures;

pub use drawing::{DrawError, SIDE_BY_SIDE, annotate, draw};
pub(crate) use pictures::read_bounded;

use crate::advise;
use crate::caution::CautionId;
use crate::compare;
use crate::correct::{self, Detectors};
use crate::diagnostics::{Problem, Problems};
use crate::infer;
use crate::measure::PictureMeasurement;
use crate::outcome::{InputFile, Outcome};
use crate::plan::{self, Plan};
use crate::session::{Run, Session, Tank};
use crate::uncertainty::Settings;
use sha2::{Digest, Sha256};

/// Evaluates a session. `progress` is called once for every picture that has been measured.
///
/// Pictures are read on the threads of the current rayon pool; at most one picture a thread is in memory.
///
/// # Errors
/// All problems with the session's pictures, or all readings that have no solution.
pub fn evaluate(
    session: &Session,
    settings: Settings,
    progress: &(dyn Fn() + Sync),
) -> Result<Outcome, Problems> {
    let fail = |list| Problems::new(session.source.clone(), list);
    let unmeasured = unmeasured(session);
    if !unmeasured.is_empty() {
        return Err(fail(unmeasured));
    }
    let detectors = detectors::of_session(session).map_err(fail)?;
    let pictures = pictures::measure(session, &detectors, progress).map_err(fail)?;
    let mut inputs = vec![InputFile {
        file: session_name(session),
        sha256: digest(session.source.text.as_bytes()),
    }];
    inputs.extend(pictures::inputs(session, &pictures));
    let mut outcome = conclude(session, &pictures, &detectors, inputs, settings).map_err(fail)?;
    if let Some(problem) = unanswered(session, &outcome) {
        return Err(fail(vec![problem]));
    }
    if settings.what_ifs {
        let conclude = |session: &Session, pictures: &[PictureMeasurement], settings| {
            conclude(session, pictures, &detectors, Vec::new(), settings).ok()
        };
        advise::quantify(session, &pictures, &detectors, &mut outcome, &conclude);
    }
    Ok(outcome)
}

/// Plans a session: what it would tell if it were measured. Runs that state what is expected need no pictures.
///
/// # Errors
/// All problems with the pictures of the other runs, or with what is expected.
pub fn plan(
    session: &Session,
    settings: Settings,
    progress: &(dyn Fn() + Sync),
) -> Result<Plan, Problems> {
    let fail = |list| Problems::new(session.source.clone(), list);
    let detectors = detectors::of_session(session).map_err(fail)?;
    let mut measured = session.clone();
    for run in &mut measured.runs {
        if run.expected.is_some() {
            run.snapshots.clear();
        }
    }
    let pictures = pictures::measure(&measured, &detectors, progress).map_err(fail)?;
    plan::plan(session, pictures, &detectors, settings).map_err(fail)
}

/// Runs that hold nothing but what is expected of them: there is nothing to evaluate yet.
fn unmeasured(session: &Session) -> Vec<Problem> {
    let nothing = |run: &&Run| {
        run.expected.is_some()
            && run.snapshots.is_empty()
            && run.pistols.is_empty()
            && run.contacts.is_empty()
            && Tank::BOTH
                .iter()
                .all(|&tank| run.pressure.get(tank).is_none() && run.air.get(tank).is_none())
            && run.differential_pressure.is_none()
            && run.intake_air.is_none()
    };
    let problem = |run: &Run| {
        Problem::at(
            run.span.clone(),
            format!(
                "nothing is measured in {} yet: `expect` is for a plan",
                run.name
            ),
            "run `endtank plan`, or add a [[run.snapshot]] or [[run.pistol]] once it is measured",
        )
    };
    session.runs.iter().filter(nothing).map(problem).collect()
}

/// The outcome of a session whose pictures are measured.
///
/// # Errors
/// Every reading that has no solution, and every emissivity that cannot be solved.
fn conclude(
    session: &Session,
    pictures: &[PictureMeasurement],
    detectors: &Detectors,
    inputs: Vec<InputFile>,
    settings: Settings,
) -> Result<Outcome, Vec<Problem>> {
    let mut corrected = correct::correct(session, pictures, detectors)?;
    let inferred = infer::infer(session, pictures, &mut corrected);
    Ok(compare::compare(
        session, pictures, corrected, &inferred, inputs, settings,
    ))
}

/// A primary quantity that the session asks for and that does not follow from what was measured.
fn unanswered(session: &Session, outcome: &Outcome) -> Option<Problem> {
    let primary = session.primary?;
    let known = |cooler: &crate::outcome::CoolerResult| cooler.quantities.contains_key(&primary);
    let withheld = outcome
        .results
        .cautions
        .iter()
        .any(|caution| caution.id == CautionId::NotMeasurable);
    if withheld || outcome.results.coolers.iter().any(known) {
        return None;
    }
    let mut ids: Vec<&str> = outcome
        .results
        .coolers
        .iter()
        .flat_map(|cooler| cooler.quantities.keys())
        .map(|id| id.id())
        .collect();
    ids.sort_unstable();
    ids.dedup();
    Some(Problem::general(
        format!(
            "the primary quantity `{}` does not follow from what this session measures",
            primary.id()
        ),
        format!(
            "write primary = … with one of {}, or leave it out",
            ids.join(", ")
        ),
    ))
}

/// The session file's own name.
fn session_name(session: &Session) -> String {
    session
        .source
        .path
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// SHA-256 in lower-case hexadecimal.
fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// A problem with a picture, at the line that names it.
fn picture_problem(
    span: &crate::session::Span,
    file: &str,
    what: &str,
    mend: impl Into<String>,
) -> Problem {
    Problem::at(span.clone(), format!("{file}: {what}"), mend)
}
