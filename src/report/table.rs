//! One table of many sessions: `endtank table`.

use super::columns::{Cell, Column, column, number, text};
use super::{csv, verdict_words};
use crate::outcome::{Comparison, CoolerResult, Outcome, Q};
use crate::quantity::QuantityId;

/// A row: one quantity of one cooler, or one difference.
#[derive(Debug, Clone)]
pub struct Row {
    session: String,
    title: Option<String>,
    /// Key of the cooler; of a difference that of the candidate.
    cooler: String,
    label: String,
    /// Of a difference the baseline's key.
    less: Option<String>,
    runs: usize,
    quantity: QuantityId,
    answers: bool,
    value: Q,
    verdict: Option<&'static str>,
    cautions: String,
}

/// The columns. They stay what they are: new ones are added behind.
#[rustfmt::skip] // a table: a line per column
pub const TABLE: &[Column<Row>] = &[
    column("session", None, "The session file as named on the command line.", |r| text(&r.session)),
    column("title", None, "The session's title.", |r| r.title.as_deref().map_or(Cell::Unknown, text)),
    column("cooler", None, "Key of the cooler; of a difference that of the candidate.", |r| text(&r.cooler)),
    column("label", None, "What people call that cooler.", |r| text(&r.label)),
    column("less", None, "Of a difference the key of the baseline that was taken off; empty for a cooler's own value.", |r| r.less.as_deref().map_or(Cell::Unknown, text)),
    column("runs", None, "Runs of that cooler.", |r| Cell::Count(r.runs)),
    column("quantity", None, "Identifier of the quantity.", |r| text(r.quantity.id())),
    column("answers", None, "`true` where the quantity is the session's primary one, else `false`.", |r| text(if r.answers { "true" } else { "false" })),
    column("value", None, "The value or difference, in `unit`.", |r| number(Some(r.value.value))),
    column("unit", None, "Its unit.", |r| text(r.value.unit.symbol())),
    column("low", None, "Lower end of its 95 % interval, in `unit`.", |r| number(r.value.low)),
    column("high", None, "Upper end of its 95 % interval, in `unit`.", |r| number(r.value.high)),
    column("standard_uncertainty", None, "Its standard uncertainty, in kelvins for a temperature, else in `unit`.", |r| number(r.value.standard_uncertainty)),
    column("verdict", None, "Of a difference what the measurements allow to be said.", |r| r.verdict.map_or(Cell::Unknown, text)),
    column("cautions", None, "Kinds of the cautions that concern the cooler, separated by a space.", |r| text(&r.cautions)),
];

/// The rows of one session, named as on the command line: coolers' values first, then differences.
#[must_use]
pub fn rows(session: &str, outcome: &Outcome) -> Vec<Row> {
    let results = &outcome.results;
    let row = |cooler: &CoolerResult, quantity: QuantityId, value: Q| Row {
        session: session.to_owned(),
        title: results.title.clone(),
        cooler: cooler.cooler.clone(),
        label: cooler.label.clone(),
        less: None,
        runs: cooler.runs,
        quantity,
        answers: quantity == results.primary,
        value,
        verdict: None,
        cautions: cooler
            .cautions
            .iter()
            .map(|id| id.id())
            .collect::<Vec<_>>()
            .join(" "),
    };
    let own = results.coolers.iter().flat_map(|cooler| {
        let quantities = cooler.quantities.iter();
        quantities.map(move |(&quantity, &value)| row(cooler, quantity, value))
    });
    let differences = results
        .comparison
        .iter()
        .filter_map(|compared: &Comparison| {
            let mut coolers = results.coolers.iter();
            let cooler = coolers.find(|cooler| cooler.cooler == compared.candidate)?;
            Some(Row {
                less: Some(results.baseline.clone()),
                verdict: compared.verdict.map(verdict_words),
                ..row(cooler, compared.quantity, compared.difference)
            })
        });
    own.chain(differences).collect()
}

/// The whole table as CSV.
///
/// # Errors
/// None in practice: the bytes are written to memory.
pub fn csv(rows: &[Row], marks: csv::Marks) -> Result<Vec<u8>, ::csv::Error> {
    csv::table(TABLE.iter(), rows, marks)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn coolers_come_first_then_differences() {
        let rows = rows("shop/session.toml", &fixture::outcome(true));
        insta::assert_snapshot!(String::from_utf8(csv(&rows, csv::Marks::Point).unwrap()).unwrap());
    }
}
