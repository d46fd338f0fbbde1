//! `report.md`: the outcome as text for mails and forums.

use std::fmt::Write as _;

use super::number::{self, Kind};
use super::{answer, budget, by_kind, verdict_told};
use crate::outcome::{Comparison, Outcome, Q};

/// The report as Markdown, plain enough to be read as it is.
#[must_use]
pub fn report(outcome: &Outcome) -> String {
    let results = &outcome.results;
    let title = results
        .title
        .as_deref()
        .unwrap_or("Charge-air cooler comparison");
    let mut page = format!("# {}\n", plain(title));
    for paragraph in answer::answer(outcome) {
        paragraph_of(&mut page, &paragraph);
    }
    for candidate in answer::candidates(outcome) {
        if let Some(sentence) = answer::not_shown(outcome, candidate) {
            paragraph_of(&mut page, &sentence);
        }
        if let Some(advice) = budget::advice(outcome, candidate) {
            paragraph_of(&mut page, &advice);
        }
        comparison(&mut page, outcome, candidate);
    }
    alone(&mut page, &answer::alone(outcome));
    cautions(&mut page, outcome);
    conditions(&mut page, outcome);
    // Writing to a String cannot fail.
    let _ = write!(
        page,
        "\nCorrected for what each tank radiates and mirrors (ISO 18434-1); intervals hold 95\u{a0}% of {} draws of all inputs \
         within their limits (JCGM 101). Written by endtank {}.\n",
        results.draws, results.endtank
    );
    page
}

/// A paragraph of its own. Backticks are Markdown's own way to mark what is typed.
fn paragraph_of(page: &mut String, words: &str) {
    let _ = write!(page, "\n{}\n", plain(words));
}

fn comparison(page: &mut String, outcome: &Outcome, candidate: &str) {
    let rows = answer::rows(outcome, candidate);
    if rows.is_empty() {
        return;
    }
    let _ = write!(
        page,
        "\n## {} against {}\n\n| | baseline | candidate | difference | verdict |\n| --- | ---: | ---: | ---: | --- |\n",
        plain(answer::label(outcome, candidate)),
        plain(answer::label(outcome, &outcome.results.baseline))
    );
    for row in rows {
        line(
            page,
            row,
            row.quantity == answer::leading(outcome, candidate),
        );
    }
    page.push_str(
        "\nEvery verdict is at 95\u{a0}% and taken alone; the first row answers the question.\n",
    );
}

/// The figures of a cooler that is compared with none.
fn alone(page: &mut String, figures: &[[String; 3]]) {
    if figures.is_empty() {
        return;
    }
    page.push_str("\n| | value | 95\u{a0}% interval |\n| --- | ---: | ---: |\n");
    for [label, value, interval] in figures {
        let interval = interval.trim_matches(['(', ')']);
        let _ = writeln!(page, "| {label} | {value} | {interval} |");
    }
}

fn line(page: &mut String, row: &Comparison, primary: bool) {
    let kind = number::kind(row.quantity);
    let with = |value: String, q: &Q, kind| match number::interval(q, kind) {
        Some(interval) => format!("{value} ({interval})"),
        None => value,
    };
    let strong = if primary { "**" } else { "" };
    let _ = writeln!(
        page,
        "| {strong}{}{strong} | {} | {} | {} | {} |",
        row.quantity.label(),
        with(
            number::value(&row.baseline_value, kind),
            &row.baseline_value,
            kind
        ),
        with(
            number::value(&row.candidate_value, kind),
            &row.candidate_value,
            kind
        ),
        with(
            number::signed(&row.difference),
            &row.difference,
            Kind::Difference
        ),
        verdict_told(row)
    );
}

fn cautions(page: &mut String, outcome: &Outcome) {
    let kinds = by_kind(&outcome.results.cautions);
    if kinds.is_empty() {
        return;
    }
    page.push_str("\n## Cautions\n\n");
    for kind in kinds {
        let _ = writeln!(page, "- **{}** {}", kind.id.id(), plain(kind.id.meaning()));
        for said in kind.said {
            let _ = writeln!(
                page,
                "  - {}: {}",
                plain(&said.places.join("; ")),
                plain(said.message)
            );
        }
        for advice in kind.advices {
            let _ = writeln!(page, "  - What to do: {}", plain(advice));
        }
    }
}

fn conditions(page: &mut String, outcome: &Outcome) {
    if outcome.conditions.is_empty() {
        return;
    }
    page.push_str("\n## Conditions\n\n");
    for run in &outcome.conditions {
        let notes: Vec<String> = run
            .notes
            .iter()
            .map(|(label, value)| format!("{label} {value}"))
            .collect();
        let whose = format!("{}, {}", answer::label(outcome, &run.cooler), run.run);
        let _ = writeln!(page, "- {}: {}", plain(&whose), plain(&notes.join("; ")));
    }
}

/// Words that a reader of Markdown takes for words: no mark-up, no HTML, no line that starts a block. What stands between
/// backticks is typed as it is.
fn plain(words: &str) -> String {
    let parts: Vec<&str> = words.split('`').collect();
    let paired = parts.len() % 2 == 1;
    let parts: Vec<String> = parts
        .into_iter()
        .enumerate()
        .map(|(index, part)| {
            if paired && index % 2 == 1 {
                part.replace(['\n', '\r', '\t'], " ")
            } else {
                escaped(part)
            }
        })
        .collect();
    parts.join(if paired { "`" } else { "\\`" })
}

fn escaped(words: &str) -> String {
    let mut text = String::new();
    for letter in words.chars() {
        match letter {
            '\n' | '\r' | '\t' => text.push(' '),
            '*' | '_' | '[' | ']' | '|' | '\\' | '#' => {
                text.push('\\');
                text.push(letter);
            }
            '<' => text.push_str("&lt;"),
            '&' => text.push_str("&amp;"),
            letter => text.push(letter),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_whole_report() {
        insta::assert_snapshot!(report(&fixture::outcome(true)));
    }

    #[test]
    fn one_cooler() {
        insta::assert_snapshot!(report(&fixture::alone()));
    }
}
