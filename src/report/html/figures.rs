//! The tables of figures: comparison, coolers.

use maud::{Markup, html};

use super::{table, ticked};
use crate::outcome::{Comparison, CoolerResult, Outcome, Q};
use crate::quantity::QuantityId;
use crate::report::number::{self, Kind, UNKNOWN};
use crate::report::{answer, flip, verdict_told};

/// The comparison, a table per candidate.
pub fn comparison(outcome: &Outcome) -> Markup {
    let candidates = answer::candidates(outcome);
    html! {
        section {
            h2 { "Comparison" }
            @if candidates.is_empty() {
                p { "There is one cooler, so there is nothing to compare." }
            }
            @for (index, candidate) in candidates.iter().enumerate() {
                (candidate_table(outcome, candidate, index))
            }
        }
    }
}

fn candidate_table(outcome: &Outcome, candidate: &str, index: usize) -> Markup {
    let rows = answer::rows(outcome, candidate);
    let ours = answer::label(outcome, candidate);
    let theirs = answer::label(outcome, &outcome.results.baseline);
    if rows.is_empty() {
        return html! { p { "No quantity is known for both " (ours) " and " (theirs) "." } };
    }
    let verdicts = rows.iter().any(|row| row.verdict.is_some());
    let caption = html! {
        (ours) " (candidate) against " (theirs) " (baseline)"
        @if rows.iter().any(|row| row.difference.low.is_some()) {
            span.note { "The smaller figures are 95\u{a0}% intervals." }
        }
    };
    let body = html! {
        thead role="rowgroup" { tr role="row" {
            th scope="col" role="columnheader" { "Quantity" }
            th.number scope="col" role="columnheader" { "Baseline" }
            th.number scope="col" role="columnheader" { "Candidate" }
            th.number scope="col" role="columnheader" { "Difference" }
            @if verdicts { th scope="col" role="columnheader" { "Verdict" } }
        } }
        tbody role="rowgroup" { @for row in &rows {
            (comparison_row(row, row.quantity == answer::leading(outcome, candidate), verdicts))
        } }
    };
    html! {
        (table(&format!("comparison-{}", index + 1), "stack", &caption, &body))
        (flips(outcome, &rows))
    }
}

/// What would change each verdict.
fn flips(outcome: &Outcome, rows: &[&Comparison]) -> Markup {
    let said: Vec<(&Comparison, String)> = rows
        .iter()
        .filter(|row| row.flip.is_some())
        .filter_map(|row| Some((*row, flip::sentence(outcome, row)?)))
        .collect();
    let steady: Vec<&str> = rows
        .iter()
        .filter(|row| row.flip.is_none() && flip::may_flip(row))
        .map(|row| row.quantity.label())
        .collect();
    html! {
        @if !(said.is_empty() && steady.is_empty()) {
            h3 { "What would change a verdict" }
            p {
                "Every verdict is at 95\u{a0}% and taken alone; the answer is that of the first row. Of all single inputs the one \
                 that comes nearest to changing it, moved with its limits while everything else stays:"
            }
            dl.pairs {
                @for (row, sentence) in &said {
                    dt { (row.quantity.label()) ": " (verdict_told(row)) }
                    dd { (ticked(sentence)) }
                }
                @if !steady.is_empty() {
                    dt { (steady.join("; ")) }
                    dd { "No single input comes near to changing these." }
                }
            }
        }
    }
}

fn comparison_row(row: &Comparison, primary: bool, verdicts: bool) -> Markup {
    let kind = number::kind(row.quantity);
    html! {
        tr.primary[primary] role="row" {
            th scope="row" role="rowheader" {
                (row.quantity.label())
                @if primary { span.note { "answers the question" } }
            }
            (value_cell("Baseline", &row.baseline_value, kind))
            (value_cell("Candidate", &row.candidate_value, kind))
            td.number role="cell" data-label="Difference" {
                (number::signed(&row.difference)) (interval(&row.difference, Kind::Difference))
            }
            @if verdicts {
                td.verdict.wide role="cell" data-label="Verdict" { (verdict_told(row)) }
            }
        }
    }
}

/// A figure with its unit and interval; `label` stands above it where rows are blocks.
pub fn value_cell(label: &str, q: &Q, kind: Kind) -> Markup {
    html! { td.number role="cell" data-label=(label) { (number::value(q, kind)) (interval(q, kind)) } }
}

/// A figure that is not known or does not apply; left out where rows are blocks.
pub fn none(label: &str) -> Markup {
    html! { td.number.none role="cell" data-label=(label) { (UNKNOWN) } }
}

/// A figure's interval, small below it.
pub fn interval(q: &Q, kind: Kind) -> Markup {
    html! { @if let Some(interval) = number::interval(q, kind) { span.interval { (interval) } } }
}

/// Every quantity of every cooler, a column each.
pub fn coolers(outcome: &Outcome) -> Markup {
    let coolers = &outcome.results.coolers;
    let known: Vec<_> = QuantityId::ALL
        .iter()
        .filter(|id| {
            coolers
                .iter()
                .any(|cooler| cooler.quantities.contains_key(id))
        })
        .collect();
    let caption = html! { "Means over the runs of each cooler" };
    let body = html! {
        thead role="rowgroup" { tr role="row" {
            th scope="col" role="columnheader" { "Quantity" }
            @for cooler in coolers { (cooler_heading(cooler)) }
        } }
        tbody role="rowgroup" { @for id in known {
            tr role="row" {
                th scope="row" role="rowheader" { (id.label()) }
                @for cooler in coolers {
                    @match cooler.quantities.get(id) {
                        Some(q) => { (value_cell(&cooler.label, q, number::kind(*id))) },
                        None => { (none(&cooler.label)) },
                    }
                }
            }
        } }
    };
    html! {
        section {
            h2 { "Coolers" }
            (table("coolers", "stack pair", &caption, &body))
        }
    }
}

fn cooler_heading(cooler: &CoolerResult) -> Markup {
    html! {
        th.number scope="col" role="columnheader" {
            (cooler.label)
            span.note { (cooler.runs) @if cooler.runs == 1 { " run" } @else { " runs" } }
        }
    }
}
