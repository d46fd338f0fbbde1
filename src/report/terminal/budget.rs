//! The budget for a terminal: where the doubt of every difference comes from.

use anstyle::Style;

use super::{Page, STRONG};
use crate::outcome::Outcome;
use crate::report::{answer, budget};

impl Page {
    /// Of each candidate the primary's difference in full, the others in a line each.
    pub(super) fn budget(&mut self, outcome: &Outcome) {
        for candidate in answer::candidates(outcome) {
            let Some(primary) = budget::of_primary(outcome, candidate) else {
                continue;
            };
            self.blank();
            let label = answer::label(outcome, candidate);
            let heading = format!(
                "Where the doubt comes from: {}, difference of {label}",
                primary.quantity.label()
            );
            self.paragraph("", &heading, STRONG);
            for part in budget::parts(outcome, primary) {
                let share = format!("{:>5}", budget::percent(part.share));
                self.hanging(&share, &part.words);
            }
            if let Some(advice) = budget::advice(outcome, candidate) {
                self.paragraph("", &format!("→ {advice}"), Style::new());
            }
            for other in budget::others(outcome, candidate) {
                self.blank();
                self.paragraph("", other.quantity.label(), Style::new());
                for part in budget::parts(outcome, other).into_iter().take(budget::FEW) {
                    let share = format!("{:>5}", budget::percent(part.share));
                    self.hanging(&share, &part.words);
                }
            }
        }
    }

    /// Words beside a short lead, wrapped to stay beside it.
    fn hanging(&mut self, lead: &str, words: &str) {
        let indent = " ".repeat(lead.chars().count() + 2);
        let width = self.width.saturating_sub(indent.len());
        for (index, line) in super::wrap(words, width).into_iter().enumerate() {
            let before = if index == 0 {
                format!("{lead}  ")
            } else {
                indent.clone()
            };
            self.line(&format!("{before}{line}"), Style::new());
        }
    }
}
