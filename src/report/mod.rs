//! The last stage: everything that is written from an [`Outcome`].
//!
//! Formatters return text or bytes and know no files; [`Folder`] is the one writer. What is not known stays unknown in
//! every format: an empty cell in CSV, left out of JSON, "–" for people, never 0.

pub mod answer;
pub mod budget;
pub mod columns;
pub mod csv;
#[cfg(test)]
pub(crate) mod fixture;
pub mod flip;
mod folder;
pub mod html;
pub mod json;
pub mod labels;
pub mod markdown;
pub mod noted;
pub mod number;
pub mod origin;
pub mod places;
pub mod table;
pub mod terminal;
mod words;

pub use folder::{Folder, Purpose, WriteError, hidden_file, write_new};

use crate::caution::{Caution, CautionId};
use crate::outcome::{Comparison, Outcome, Verdict};

/// A verdict as it is written everywhere.
#[must_use]
pub const fn verdict_words(verdict: Verdict) -> &'static str {
    verdict.words()
}

/// A row's verdict for people: with which way is the better one, where that is plain.
#[must_use]
pub(crate) fn verdict_told(row: &Comparison) -> String {
    let Some(verdict) = row.verdict else {
        return number::UNKNOWN.to_owned();
    };
    let better = match verdict {
        Verdict::Higher => row.quantity.better_high(),
        Verdict::Lower => row.quantity.better_high().map(|high| !high),
        _ => None,
    };
    let words = verdict.words();
    match better {
        Some(true) => format!("{words}, better"),
        Some(false) => format!("{words}, worse"),
        None => words.to_owned(),
    }
}

/// Cautions of one kind that say the same, with all their places.
pub(crate) struct Said<'a> {
    pub(crate) message: &'a str,
    pub(crate) places: Vec<&'a str>,
}

/// Cautions of one kind.
pub(crate) struct OfKind<'a> {
    pub(crate) id: CautionId,
    count: usize,
    pub(crate) said: Vec<Said<'a>>,
    /// The different pieces of advice.
    pub(crate) advices: Vec<&'a str>,
}

/// The cautions by kind, in the order of the table of cautions; what was merely assumed comes last.
pub(crate) fn by_kind(cautions: &[Caution]) -> Vec<OfKind<'_>> {
    let assumed = |id: &CautionId| id.id().ends_with("-assumed");
    let (last, first): (Vec<_>, Vec<_>) = CautionId::ALL.iter().copied().partition(assumed);
    first
        .into_iter()
        .chain(last)
        .map(|id| of_kind(id, cautions))
        .filter(|kind| kind.count > 0)
        .collect()
}

fn of_kind(id: CautionId, cautions: &[Caution]) -> OfKind<'_> {
    let mut kind = OfKind {
        id,
        count: 0,
        said: Vec::new(),
        advices: Vec::new(),
    };
    for caution in cautions.iter().filter(|caution| caution.id == id) {
        kind.count += 1;
        let (message, place) = (caution.message.as_str(), caution.place.as_str());
        match kind.said.iter_mut().find(|said| said.message == message) {
            Some(said) if said.places.contains(&place) => {}
            Some(said) => said.places.push(place),
            None => kind.said.push(Said {
                message,
                places: vec![place],
            }),
        }
        if !kind.advices.contains(&caution.advice.as_str()) {
            kind.advices.push(&caution.advice);
        }
    }
    kind
}

/// Writes `report.html`, `report.md`, `readings.csv`, `comparison.csv` and `results.json`.
///
/// `pictures` are the names of PNG files that have been written into the folder (`side-by-side.png`,
/// `annotated/NAME.png`), to be embedded in the report in this order; one at a time is in memory.
///
/// # Errors
/// Which file could not be written, why, and what to do.
pub fn write(
    folder: &Folder,
    outcome: &Outcome,
    pictures: &[String],
    marks: csv::Marks,
) -> Result<(), WriteError> {
    let results = &outcome.results;
    let fault = |name: &str, error: &dyn std::fmt::Display| WriteError::fault(name, error);
    let readings =
        csv::readings(&results.readings, marks).map_err(|e| fault("readings.csv", &e))?;
    let comparison =
        csv::comparison(&results.comparison, marks).map_err(|e| fault("comparison.csv", &e))?;
    let json = json::results(results).map_err(|e| fault("results.json", &e))?;
    let noted = noted::noted(outcome);
    folder.write_with("report.html", |file| {
        html::write(file, &noted, pictures, &|name| folder.read(name))
    })?;
    folder.write("report.md", markdown::report(&noted).as_bytes())?;
    folder.write("readings.csv", &readings)?;
    folder.write("comparison.csv", &comparison)?;
    folder.write("results.json", &json)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verdicts_read_as_in_the_results() {
        for verdict in [
            Verdict::Higher,
            Verdict::Lower,
            Verdict::NotDistinguishable,
            Verdict::NeedsRepeats,
            Verdict::NotComparable,
            Verdict::Equal,
        ] {
            let json = serde_json::to_value(verdict).unwrap();
            assert_eq!(json, verdict_words(verdict));
        }
    }

    #[test]
    fn a_whole_folder_is_written() {
        let parent = tempfile::tempdir().unwrap();
        let target = parent.path().join("results");
        let folder = Folder::prepare(&target, &[], Purpose::Results).unwrap();
        let mut names = Vec::new();
        for (name, png) in fixture::pictures() {
            folder.write(&name, &png).unwrap();
            names.push(name);
        }
        let marks = csv::Marks::Point;
        write(&folder, &fixture::outcome(true), &names, marks).unwrap();
        assert!(!target.exists());
        folder.finish().unwrap();
        for name in [
            "report.html",
            "report.md",
            "readings.csv",
            "comparison.csv",
            "results.json",
        ] {
            assert!(target.join(name).is_file(), "{name}");
        }
        assert!(Folder::prepare(&target, &[], Purpose::Results).is_ok());
    }
}
