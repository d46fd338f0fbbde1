//! The tables of figures: comparison, readings, coolers.

use maud::{Markup, html};

use super::{table, ticked};
use crate::outcome::{Comparison, CoolerResult, Outcome, Q, Reading};
use crate::quantity::{QuantityId, Unit};
use crate::report::columns::{Cell, Column, READINGS};
use crate::report::number::{self, Kind, UNKNOWN};
use crate::report::{answer, flip, verdict_words};

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
    // On a phone each row becomes a block; the roles keep it a table for those who listen to it.
    let body = html! {
        thead role="rowgroup" { tr role="row" {
            th scope="col" role="columnheader" { "Quantity" }
            th.number scope="col" role="columnheader" { "Baseline" }
            th.number scope="col" role="columnheader" { "Candidate" }
            th.number scope="col" role="columnheader" { "Difference" }
            @if verdicts { th scope="col" role="columnheader" { "Verdict" } }
        } }
        tbody role="rowgroup" { @for row in &rows {
            (comparison_row(row, row.quantity == outcome.results.primary, verdicts))
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
                    dt { (row.quantity.label()) ": " (row.verdict.map_or(UNKNOWN, verdict_words)) }
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
            td.number role="cell" data-label="Baseline" {
                (number::value(&row.baseline_value, kind)) (interval(&row.baseline_value, kind))
            }
            td.number role="cell" data-label="Candidate" {
                (number::value(&row.candidate_value, kind)) (interval(&row.candidate_value, kind))
            }
            td.number role="cell" data-label="Difference" {
                (number::signed(&row.difference)) (interval(&row.difference, Kind::Difference))
            }
            @if verdicts {
                td.verdict role="cell" data-label="Verdict" { (row.verdict.map_or(UNKNOWN, verdict_words)) }
            }
        }
    }
}

fn value_cell(q: &Q, kind: Kind) -> Markup {
    html! { td.number { (number::value(q, kind)) (interval(q, kind)) } }
}

fn interval(q: &Q, kind: Kind) -> Markup {
    html! { @if let Some(interval) = number::interval(q, kind) { span.interval { (interval) } } }
}

/// Every reading, in the columns that have a heading and hold anything.
pub fn readings(outcome: &Outcome) -> Markup {
    let readings = &outcome.results.readings;
    let columns: Vec<_> = READINGS
        .iter()
        .filter(|column| column.heading.is_some())
        .filter(|column| {
            readings
                .iter()
                .any(|reading| !is_empty(&(column.get)(reading)))
        })
        .collect();
    let caption = html! {
        "Every region and pistol reading"
        span.note { "“–” is not known or does not apply. All columns are in readings.csv." }
    };
    let body = html! {
        thead { tr { @for column in &columns { (heading(column)) } } }
        tbody { @for reading in readings {
            tr { @for column in &columns { (reading_cell(column, reading)) } }
        } }
    };
    html! {
        section {
            h2 { "Readings" }
            (table("readings", "dense", &caption, &body))
            dl.columns { @for column in columns.iter().filter(|column| column.unit.is_some()) {
                dt { (column.heading.unwrap_or(column.name)) }
                dd { (ticked(column.description)) }
            } }
        }
    }
}

fn is_empty(cell: &Cell) -> bool {
    match cell {
        Cell::Text(words) => words.is_empty(),
        Cell::Unknown => true,
        _ => false,
    }
}

fn heading(column: &Column<Reading>) -> Markup {
    let heading = column.heading.unwrap_or(column.name);
    let unit = column.unit.filter(|unit| *unit != Unit::One);
    html! {
        th.number[column.unit.is_some()] scope="col" {
            (heading)
            @if let Some(unit) = unit { ", " (unit.symbol()) }
        }
    }
}

fn reading_cell(column: &Column<Reading>, reading: &Reading) -> Markup {
    let unit = column.unit.unwrap_or(Unit::One);
    match (column.get)(reading) {
        Cell::Text(words) if words.is_empty() => html! { td { (UNKNOWN) } },
        Cell::Text(words) => html! { td { (words) } },
        Cell::Count(count) => html! { td.number { (count) } },
        Cell::Number(value) => {
            let q = bare(value, unit);
            html! { td.number { (number::typeset(value, number::decimals(&q, Kind::Level))) } }
        }
        Cell::Value(q) => html! { td.number {
            (number::typeset(q.value, number::decimals(&q, Kind::Level)))
            (interval(&q, Kind::Level))
        } },
        Cell::Unknown => html! { td.number[column.unit.is_some()] { (UNKNOWN) } },
    }
}

/// A number whose doubt is not known.
const fn bare(value: f64, unit: Unit) -> Q {
    Q {
        value,
        unit,
        low: None,
        high: None,
        standard_uncertainty: None,
    }
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
        thead { tr {
            th scope="col" { "Quantity" }
            @for cooler in coolers { (cooler_heading(cooler)) }
        } }
        tbody { @for id in known {
            tr {
                th scope="row" { (id.label()) }
                @for cooler in coolers {
                    @match cooler.quantities.get(id) {
                        Some(q) => { (value_cell(q, number::kind(*id))) },
                        None => { td.number { (UNKNOWN) } },
                    }
                }
            }
        } }
    };
    html! {
        section {
            h2 { "Coolers" }
            (table("coolers", "plain", &caption, &body))
        }
    }
}

fn cooler_heading(cooler: &CoolerResult) -> Markup {
    html! {
        th.number scope="col" {
            (cooler.label)
            span.note { (cooler.runs) @if cooler.runs == 1 { " run" } @else { " runs" } }
        }
    }
}
