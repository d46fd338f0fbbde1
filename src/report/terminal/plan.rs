//! A plan for a terminal: what the session would tell, and what would tell more.

use anstyle::Style;

use super::layout::{GAP, lay_out, wrap};
use super::{Page, STRONG, WIDEST};
use crate::outcome::{Comparison, Outcome};
use crate::plan::Plan;
use crate::report::number::{self, NO_BREAK_SPACE};
use crate::report::{answer, budget};
use crate::session::Session;

/// The plan as text: `width` columns at most (never more than 100), with terminal colours if `colour`.
#[must_use]
pub fn plan(session: &Session, plan: &Plan, width: usize, colour: bool) -> String {
    let mut page = Page {
        text: String::new(),
        width: width.clamp(20, WIDEST),
        colour,
    };
    let outcome = &plan.outcome;
    if let Some(title) = &outcome.results.title {
        page.paragraph("", title, STRONG);
        page.blank();
    }
    let candidates = answer::candidates(outcome);
    if candidates.is_empty() {
        page.alone(outcome);
    }
    for candidate in candidates {
        page.planned(session, plan, candidate);
    }
    if let Some(scatter) = plan.assumed_scatter {
        page.blank();
        let words = format!(
            "Assumed: repeated holds scatter by a standard deviation of {scatter} K, because neither [repeatability] nor \
             measured runs say otherwise."
        );
        page.paragraph("", &words, Style::new());
    }
    page.cautions(&outcome.results.cautions, false);
    page.text.replace(NO_BREAK_SPACE, " ")
}

impl Page {
    /// What is told of the only cooler.
    fn alone(&mut self, outcome: &Outcome) {
        for cooler in &outcome.results.coolers {
            self.paragraph("", &cooler.label, STRONG);
            for (id, q) in &cooler.quantities {
                let known = budget::reach(q).unwrap_or_else(|| number::UNKNOWN.to_owned());
                let value = number::value(q, number::kind(*id));
                let words = format!("{}: {value}, known to {known}", id.label());
                self.paragraph(GAP, &words, Style::new());
            }
        }
    }

    fn planned(&mut self, session: &Session, plan: &Plan, candidate: &str) {
        let outcome = &plan.outcome;
        let rows = answer::rows(outcome, candidate);
        let index = session
            .coolers
            .iter()
            .position(|cooler| cooler.key == candidate);
        let chance = |row: &Comparison| {
            let chance = plan.chances.get(&(index?, row.quantity))?;
            Some(chance.any())
        };
        let primary = rows
            .iter()
            .find(|row| row.quantity == outcome.results.primary);
        if let Some(row) = primary {
            self.expectation(outcome, row, chance(row));
        }
        self.blank();
        let table: Vec<(String, Vec<String>)> = rows
            .iter()
            .map(|row| {
                let mark = if row.quantity == outcome.results.primary {
                    "* "
                } else {
                    ""
                };
                let known = budget::reach(&row.difference);
                let cells = vec![
                    number::value(&row.baseline_value, number::kind(row.quantity)),
                    number::value(&row.candidate_value, number::kind(row.quantity)),
                    number::signed(&row.difference),
                    known.unwrap_or_else(|| number::UNKNOWN.to_owned()),
                    said(chance(row)),
                ];
                (format!("{mark}{}", row.quantity.label()), cells)
            })
            .collect();
        let heads = ["baseline", "candidate", "difference", "known to", "verdict"];
        self.columns(&heads, &table);
        self.paragraph(
            "",
            "* answers the question; verdict: the chance of one at 95\u{a0}%, if what is expected is true",
            Style::new(),
        );
        self.options(
            session,
            plan,
            candidate,
            primary.copied(),
            primary.and_then(|row| chance(row)),
        );
    }

    fn expectation(&mut self, outcome: &Outcome, row: &Comparison, chance: Option<f64>) {
        let (ours, theirs) = (
            answer::label(outcome, &row.candidate),
            answer::label(outcome, &outcome.results.baseline),
        );
        let known = budget::reach(&row.difference).map_or_else(
            || "would not know it at all".to_owned(),
            |reach| format!("would know it to {reach}"),
        );
        let chance = match chance {
            Some(chance) if chance > 0.0 => format!(
                "and would earn a verdict with a chance of {}",
                percent(chance)
            ),
            _ => "and could not earn a verdict".to_owned(),
        };
        let words = format!(
            "{}: {ours} less {theirs} is expected to be {}. This session {known} {chance}.",
            row.quantity.label(),
            number::signed(&row.difference),
        );
        self.paragraph("", &words, Style::new());
    }

    fn options(
        &mut self,
        session: &Session,
        plan: &Plan,
        candidate: &str,
        planned: Option<&Comparison>,
        chance: Option<f64>,
    ) {
        let options: Vec<_> = plan
            .options
            .iter()
            .filter(|choice| choice.candidate == candidate)
            .collect();
        if options.is_empty() {
            return;
        }
        self.blank();
        self.paragraph("", "What each of these would do for the answer", STRONG);
        let known = planned.and_then(|row| budget::reach(&row.difference));
        let mut table = vec![(
            "nothing else, as planned".to_owned(),
            vec![
                known.unwrap_or_else(|| number::UNKNOWN.to_owned()),
                said(chance),
            ],
        )];
        let answers = planned.map(|row| row.quantity);
        for choice in options {
            let mut words = choice.improvement.words(session).to_owned();
            if Some(choice.primary) != answers {
                words.push_str(&format!(" (answers by “{}”)", choice.primary.label()));
            }
            let known = budget::reach(&choice.difference);
            table.push((
                words,
                vec![
                    known.unwrap_or_else(|| number::UNKNOWN.to_owned()),
                    said(Some(choice.chance)),
                ],
            ));
        }
        self.columns(&["known to", "verdict"], &table);
    }

    /// A table of numbers; labels that are too long for the screen are wrapped.
    fn columns(&mut self, heads: &[&str], rows: &[(String, Vec<String>)]) {
        use unicode_width::UnicodeWidthStr as _;
        let widths: Vec<usize> = heads
            .iter()
            .enumerate()
            .map(|(index, head)| {
                let cells = rows.iter().filter_map(|(_, cells)| cells.get(index));
                cells.map(|cell| cell.width()).fold(head.len(), usize::max)
            })
            .collect();
        let taken: usize = widths.iter().map(|width| width + GAP.len()).sum();
        let longest = rows.iter().map(|(label, _)| label.width()).max();
        let room = self.width.saturating_sub(taken).max(super::NARROWEST_LABEL);
        let label_width = room.min(longest.unwrap_or(0));
        let heads: Vec<String> = heads.iter().map(|&head| head.to_owned()).collect();
        let numbers = heads.len();
        self.line(
            &lay_out("", label_width, &heads, &widths, numbers),
            Style::new(),
        );
        for (label, cells) in rows {
            let style = if label.starts_with("* ") {
                STRONG
            } else {
                Style::new()
            };
            for (line, label) in wrap(label, label_width).iter().enumerate() {
                let cells: &[String] = if line == 0 { cells } else { &[] };
                self.line(&lay_out(label, label_width, cells, &widths, numbers), style);
            }
        }
    }
}

fn said(chance: Option<f64>) -> String {
    match chance {
        Some(chance) if chance > 0.0 => percent(chance),
        _ => "none".to_owned(),
    }
}

/// A chance in whole per cent, never certain.
fn percent(chance: f64) -> String {
    let percent = 100.0 * chance;
    if percent > 99.5 {
        format!("over 99{NO_BREAK_SPACE}%")
    } else if percent < 0.5 {
        format!("under 1{NO_BREAK_SPACE}%")
    } else {
        format!("{percent:.0}{NO_BREAK_SPACE}%")
    }
}
