//! The short result for a terminal: the comparison, the cautions that matter, and where the rest is.

mod budget;
pub(crate) mod layout;
mod plan;
#[cfg(test)]
mod tests;

pub use plan::plan;

use std::fmt::Write as _;
use std::path::Path;

use anstyle::{AnsiColor, Style};
use unicode_width::UnicodeWidthStr as _;

use super::number::{self, Kind, NO_BREAK_SPACE};
use super::{answer, by_kind, verdict_told};
use crate::caution::Caution;
use crate::outcome::{Comparison, Outcome};
use layout::{GAP, harmless, lay_out, wrap};

const STRONG: Style = Style::new().bold();
const CAUTION: Style = AnsiColor::Yellow.on_default().bold();
/// Lines longer than this are hard to read.
const WIDEST: usize = 100;
/// A table whose label column is narrower than this is written as blocks instead.
const NARROWEST_LABEL: usize = 14;
/// More cautions of a kind than this are summarised.
const SPELT_OUT: usize = 2;
/// So many places of a summarised caution are named.
const PLACES: usize = 4;
/// How many columns after the label are numbers; the verdict follows.
const NUMBERS: usize = 3;

/// The result as text: `width` columns at most (never more than 100), with terminal colours if `colour`.
/// `folder` is where the results were written, if they were; `budget` asks for where the doubt comes from as well.
#[must_use]
pub fn summary(
    outcome: &Outcome,
    folder: Option<&Path>,
    width: usize,
    colour: bool,
    budget: bool,
) -> String {
    let mut page = Page {
        text: String::new(),
        width: width.clamp(20, WIDEST),
        colour,
    };
    if let Some(title) = &outcome.results.title {
        page.paragraph("", title, STRONG);
        page.blank();
    }
    for paragraph in answer::answer(outcome) {
        page.paragraph("", &paragraph, Style::new());
    }
    for candidate in answer::candidates(outcome) {
        page.comparison(outcome, candidate);
    }
    page.figures(&answer::alone(outcome));
    if budget {
        page.budget(outcome);
    }
    page.cautions(&outcome.results.cautions, folder.is_some());
    if let Some(folder) = folder {
        page.blank();
        let place = folder.join("report.html");
        page.line(&format!("Report: {}", place.display()), Style::new());
    }
    page.text.replace(NO_BREAK_SPACE, " ")
}

/// What `check` says of a session without problems: what it holds, and what makes its figures less trustworthy.
#[must_use]
pub fn sound(outcome: &Outcome, width: usize, colour: bool) -> String {
    let mut page = Page {
        text: String::new(),
        width: width.clamp(20, WIDEST),
        colour,
    };
    let results = &outcome.results;
    let counts = [
        (results.coolers.len(), "cooler"),
        (outcome.conditions.len(), "run"),
        (outcome.pictures.len(), "picture"),
        (results.readings.len(), "reading"),
    ];
    let counts: Vec<String> = counts
        .iter()
        .map(|(count, word)| format!("{count} {word}{}", if *count == 1 { "" } else { "s" }))
        .collect();
    page.paragraph(
        "",
        &format!("No problems found: {}.", counts.join(", ")),
        STRONG,
    );
    page.cautions(&results.cautions, false);
    page.text.replace(NO_BREAK_SPACE, " ")
}

struct Page {
    text: String,
    width: usize,
    colour: bool,
}

impl Page {
    fn blank(&mut self) {
        self.text.push('\n');
    }

    /// One line as it is, styled.
    fn line(&mut self, line: &str, style: Style) {
        let line = harmless(line.trim_end());
        // Writing to a String cannot fail.
        let _ = if self.colour && style != Style::new() {
            writeln!(self.text, "{style}{line}{style:#}")
        } else {
            writeln!(self.text, "{line}")
        };
    }

    /// Words wrapped to the width, every line after `indent`.
    fn paragraph(&mut self, indent: &str, words: &str, style: Style) {
        for line in wrap(words, self.width.saturating_sub(indent.width())) {
            self.line(&format!("{indent}{line}"), style);
        }
    }

    fn comparison(&mut self, outcome: &Outcome, candidate: &str) {
        let rows = answer::rows(outcome, candidate);
        if rows.is_empty() {
            return;
        }
        self.blank();
        let baseline = answer::label(outcome, &outcome.results.baseline);
        self.paragraph("", &format!("baseline: {baseline}"), Style::new());
        let label = answer::label(outcome, candidate);
        self.paragraph("", &format!("candidate: {label}"), Style::new());
        self.blank();
        let with_verdict = rows.iter().any(|row| row.verdict.is_some());
        let leading = answer::leading(outcome, candidate);
        let rows: Vec<_> = rows
            .into_iter()
            .map(|row| Row::new(row, row.quantity == leading, with_verdict))
            .collect();
        self.table(&rows, with_verdict);
        if rows.iter().any(|row| row.primary) {
            let note = if with_verdict {
                "* answers the question; every verdict is at 95\u{a0}% and taken alone"
            } else {
                "* answers the question"
            };
            self.paragraph("", note, Style::new());
        }
    }

    /// The figures of a cooler that is compared with none.
    fn figures(&mut self, figures: &[[String; 3]]) {
        if figures.is_empty() {
            return;
        }
        self.blank();
        let widest = |column: usize| {
            let widths = figures.iter().map(|figure| figure[column].width());
            widths.max().unwrap_or(0)
        };
        let widths = [widest(1), widest(2)];
        for [label, value, interval] in figures {
            let cells = [value.clone(), interval.clone()];
            let line = lay_out(label, widest(0), &cells, &widths, 1);
            if line.width() <= self.width {
                self.line(&line, Style::new());
            } else {
                self.paragraph("", &format!("{label}: {value} {interval}"), Style::new());
            }
        }
    }

    /// The table with all intervals where the screen is wide enough, else with those of the differences, else in blocks.
    fn table(&mut self, rows: &[Row], with_verdict: bool) {
        let mut heads = vec!["baseline", "candidate", "difference"];
        if with_verdict {
            heads.push("verdict");
        }
        let compact: Vec<Row> = rows.iter().map(Row::compact).collect();
        let longest = rows.iter().map(|row| row.label.width()).max().unwrap_or(0);
        let room = |rows: &[Row], least: usize| {
            let widths = widths(&heads, rows);
            let taken: usize = widths.iter().map(|width| width + GAP.len()).sum();
            let room = self.width.saturating_sub(taken);
            (room >= least).then_some((widths, room))
        };
        let narrowest = NARROWEST_LABEL.min(longest);
        let (rows, (widths, room)) = match (room(rows, longest), room(&compact, narrowest)) {
            (Some(fits), _) => (rows, fits),
            (None, Some(fits)) => (&compact[..], fits),
            (None, None) => return self.blocks(rows, &heads),
        };
        let label_width = room.min(longest);
        let heads: Vec<String> = heads.into_iter().map(str::to_owned).collect();
        self.line(
            &lay_out("", label_width, &heads, &widths, NUMBERS),
            Style::new(),
        );
        for row in rows {
            let style = if row.primary { STRONG } else { Style::new() };
            let labels = wrap(&row.label, label_width);
            let label = |line: usize| labels.get(line).map_or("", String::as_str);
            self.line(
                &lay_out(label(0), label_width, &row.cells, &widths, NUMBERS),
                style,
            );
            // Intervals stand below their values, beside the rest of a long label.
            let known = row.intervals.iter().any(|interval| !interval.is_empty());
            for line in 1..labels.len().max(1 + usize::from(known)) {
                let cells: &[String] = if line == 1 { &row.intervals } else { &[] };
                self.line(
                    &lay_out(label(line), label_width, cells, &widths, NUMBERS),
                    style,
                );
            }
        }
    }

    /// A table too wide for the screen, a block per row.
    fn blocks(&mut self, rows: &[Row], heads: &[&str]) {
        for row in rows {
            let style = if row.primary { STRONG } else { Style::new() };
            self.paragraph("", &row.label, style);
            for (index, (head, cell)) in heads.iter().zip(&row.cells).enumerate() {
                let interval = row.intervals.get(index).filter(|text| !text.is_empty());
                let interval = interval.map_or(String::new(), |interval| format!(" {interval}"));
                self.paragraph(GAP, &format!("{head}: {cell}{interval}"), Style::new());
            }
        }
    }

    /// The cautions by kind; `report` is whether a report lists those that are not named here.
    fn cautions(&mut self, cautions: &[Caution], report: bool) {
        for kind in by_kind(cautions) {
            self.blank();
            self.line(&format!("caution: {}", kind.id.id()), CAUTION);
            if kind.said.len() > SPELT_OUT {
                let mut places: Vec<&&str> = Vec::new();
                for place in kind.said.iter().flat_map(|said| &said.places) {
                    if !places.contains(&place) {
                        places.push(place);
                    }
                }
                let (meaning, count) = (kind.id.meaning(), kind.count);
                let words = format!("{meaning} {count} times: {}.", listed(&places, report));
                self.paragraph(GAP, &words, Style::new());
            } else {
                for said in &kind.said {
                    let places: Vec<_> = said.places.iter().collect();
                    let words = format!("{}: {}", listed(&places, report), said.message);
                    self.paragraph(GAP, &words, Style::new());
                }
            }
            for advice in kind.advices.into_iter().take(SPELT_OUT) {
                self.paragraph(GAP, &format!("→ {advice}"), Style::new());
            }
        }
    }
}

/// One row of the comparison, as text.
#[derive(Clone)]
struct Row {
    label: String,
    cells: Vec<String>,
    /// Of baseline, candidate and difference; empty where not known.
    intervals: [String; 3],
    primary: bool,
}

impl Row {
    /// The row without the intervals of baseline and candidate.
    fn compact(&self) -> Self {
        let [_, _, difference] = &self.intervals;
        Self {
            intervals: [String::new(), String::new(), difference.clone()],
            ..self.clone()
        }
    }

    fn new(row: &Comparison, primary: bool, with_verdict: bool) -> Self {
        let kind = number::kind(row.quantity);
        let mut cells = vec![
            number::value(&row.baseline_value, kind),
            number::value(&row.candidate_value, kind),
            number::signed(&row.difference),
        ];
        if with_verdict {
            cells.push(verdict_told(row));
        }
        let mark = if primary { "* " } else { "" };
        Self {
            label: format!("{mark}{}", row.quantity.label()),
            cells,
            intervals: [
                number::interval(&row.baseline_value, kind),
                number::interval(&row.candidate_value, kind),
                number::interval(&row.difference, Kind::Difference),
            ]
            .map(|interval| interval.map_or_else(String::new, |interval| format!("({interval})"))),
            primary,
        }
    }
}

/// Places in a line, the first few by name.
fn listed(places: &[&&str], report: bool) -> String {
    let named: Vec<_> = places.iter().take(PLACES).map(|place| **place).collect();
    let named = named.join("; ");
    match places.len().saturating_sub(PLACES) {
        0 => named,
        more if report => format!("{named} and {more} more, listed in the report"),
        more => format!("{named} and {more} more"),
    }
}

/// Widths of the columns after the label.
fn widths(heads: &[&str], rows: &[Row]) -> Vec<usize> {
    let widest = |index: usize, head: &&str| {
        rows.iter()
            .flat_map(|row| {
                let interval = row.intervals.get(index);
                row.cells.get(index).into_iter().chain(interval)
            })
            .map(|cell| cell.width())
            .fold(head.len(), usize::max)
    };
    heads
        .iter()
        .enumerate()
        .map(|(index, head)| widest(index, head))
        .collect()
}
