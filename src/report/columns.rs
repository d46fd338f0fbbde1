//! The columns of the tables: the one list that the CSV files and their documentation are written from.

use std::fmt::Write as _;

use crate::caution::CautionId;
use crate::outcome::{Comparison, Q, Reading};
use crate::quantity::Unit;

/// What stands in one place of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words, from the session or from a fixed list.
    Text(String),
    /// A number of things.
    Count(usize),
    /// A bare number in the column's unit.
    Number(f64),
    /// A value with its own unit and, where known, its doubt.
    Value(Q),
    /// Not known: empty in CSV, "–" for people.
    Unknown,
}

/// One column of a table with a row per `R`.
#[derive(Debug, Clone, Copy)]
pub struct Column<R> {
    /// Its name in CSV, in the spelling of `results.json`.
    pub name: &'static str,
    /// Its unit; `None` for words and counts, and where the row states its own.
    pub unit: Option<Unit>,
    /// What it means, in a sentence.
    pub description: &'static str,
    /// What stands in it for a row.
    pub get: fn(&R) -> Cell,
}

impl<R> Column<R> {
    /// Its heading in CSV: the name, and the unit in brackets where it has one.
    #[must_use]
    pub fn csv_heading(&self) -> String {
        self.unit.map_or_else(
            || self.name.to_owned(),
            |unit| format!("{} [{}]", self.name, unit.symbol()),
        )
    }
}

pub(super) fn text(words: &str) -> Cell {
    Cell::Text(words.to_owned())
}

fn maybe_text(words: Option<&String>) -> Cell {
    words.map_or(Cell::Unknown, |words| text(words))
}

fn count(count: Option<usize>) -> Cell {
    count.map_or(Cell::Unknown, Cell::Count)
}

fn cautions(ids: &[CautionId]) -> Cell {
    let ids: Vec<_> = ids.iter().map(|id| id.id()).collect();
    Cell::Text(ids.join(" "))
}

fn value(q: Option<&Q>) -> Cell {
    q.filter(|q| q.value.is_finite())
        .map_or(Cell::Unknown, |q| Cell::Value(*q))
}

pub(super) fn number(number: Option<f64>) -> Cell {
    number
        .filter(|number| number.is_finite())
        .map_or(Cell::Unknown, Cell::Number)
}

fn low(q: Option<&Q>) -> Cell {
    number(q.and_then(|q| q.low))
}

fn high(q: Option<&Q>) -> Cell {
    number(q.and_then(|q| q.high))
}

fn doubt(q: Option<&Q>) -> Cell {
    number(q.and_then(|q| q.standard_uncertainty))
}

/// A column: name, unit, description, getter.
pub(super) const fn column<R>(
    name: &'static str,
    unit: Option<Unit>,
    description: &'static str,
    get: fn(&R) -> Cell,
) -> Column<R> {
    Column {
        name,
        unit,
        description,
        get,
    }
}

const CELSIUS: Option<Unit> = Some(Unit::Celsius);
const KELVIN: Option<Unit> = Some(Unit::Kelvin);
const ONE: Option<Unit> = Some(Unit::One);

/// The columns of `readings.csv`.
#[rustfmt::skip] // a table: a line per column
pub const READINGS: &[Column<Reading>] = &[
    column("cooler", None, "Key of the cooler.", |r| text(&r.cooler)),
    column("run", None, "Name of the run.", |r| text(&r.run)),
    column("source", None, "The picture as written in the session, or `pistol`.", |r| text(&r.source)),
    column("region", None, "Name of the region; of a pistol reading its tank.", |r| text(&r.region)),
    column("role", None, "`tank`, `patch`, `reflector` or `reference`.", |r| text(&r.role)),
    column("tank", None, "`inlet` or `outlet`.", |r| maybe_text(r.tank.as_ref())),
    column("surface", None, "Name of the surface.", |r| maybe_text(r.surface.as_ref())),
    column("emissivity", ONE, "Emissivity of the surface.", |r| value(r.emissivity.as_ref())),
    column("reflected", CELSIUS, "Reflected apparent temperature.", |r| value(r.reflected.as_ref())),
    column("pixels", None, "Valid pixels in the region.", |r| count(r.pixels)),
    column("invalid_pixels", None, "Pixels in the region that hold no temperature; left out.", |r| count(r.invalid_pixels)),
    column("shown_mean", CELSIUS, "Arithmetic mean of the shown temperatures over the valid pixels; of a pistol reading the number itself.", |r| number(Some(r.shown.mean))),
    column("shown_min", CELSIUS, "Least shown temperature.", |r| number(Some(r.shown.min))),
    column("shown_max", CELSIUS, "Greatest shown temperature.", |r| number(Some(r.shown.max))),
    column("shown_median", CELSIUS, "Median of the shown temperatures.", |r| number(Some(r.shown.median))),
    column("shown_std", KELVIN, "Population standard deviation of the shown temperatures.", |r| number(Some(r.shown.std))),
    column("shown_p05", CELSIUS, "5th percentile of the shown temperatures, linearly interpolated.", |r| number(Some(r.shown.p05))),
    column("shown_p95", CELSIUS, "95th percentile of the shown temperatures, linearly interpolated.", |r| number(Some(r.shown.p95))),
    column("apparent", CELSIUS, "Blackbody temperature of the same radiation, from the mean of the signals, before the air path is removed.", |r| number(Some(r.apparent))),
    column("surface_temperature", CELSIUS, "Temperature of the skin after correction.", |r| value(r.surface_temperature.as_ref())),
    column("surface_temperature_low", CELSIUS, "Lower end of its 95 % interval.", |r| low(r.surface_temperature.as_ref())),
    column("surface_temperature_high", CELSIUS, "Upper end of its 95 % interval.", |r| high(r.surface_temperature.as_ref())),
    column("surface_temperature_standard_uncertainty", KELVIN, "Its standard uncertainty.", |r| doubt(r.surface_temperature.as_ref())),
    column("charge_air", CELSIUS, "Temperature of the charge air behind the skin.", |r| value(r.charge_air.as_ref())),
    column("charge_air_low", CELSIUS, "Lower end of its 95 % interval.", |r| low(r.charge_air.as_ref())),
    column("charge_air_high", CELSIUS, "Upper end of its 95 % interval.", |r| high(r.charge_air.as_ref())),
    column("charge_air_standard_uncertainty", KELVIN, "Its standard uncertainty.", |r| doubt(r.charge_air.as_ref())),
    column("cautions", None, "Kinds of the cautions that concern it, separated by a space.", |r| cautions(&r.cautions)),
    column("emissivity_origin", None, "Where the emissivity comes from.", |r| r.emissivity_origin.as_ref().map_or(Cell::Unknown, |origin| text(&super::origin::words(origin)))),
];

/// The columns of `comparison.csv`. Its rows have different units, so the units are columns of their own.
#[rustfmt::skip] // a table: a line per column
pub const COMPARISON: &[Column<Comparison>] = &[
    column("quantity", None, "Identifier of the quantity.", |c| text(c.quantity.id())),
    column("label", None, "What a technician calls it.", |c| text(c.quantity.label())),
    column("unit", None, "Unit of the two values and their doubts.", |c| text(c.baseline_value.unit.symbol())),
    column("candidate", None, "Key of the cooler that is compared with the baseline.", |c| text(&c.candidate)),
    column("baseline_value", None, "The baseline's value, in `unit`.", |c| value(Some(&c.baseline_value))),
    column("baseline_low", None, "Lower end of its 95 % interval, in `unit`.", |c| low(Some(&c.baseline_value))),
    column("baseline_high", None, "Upper end of its 95 % interval, in `unit`.", |c| high(Some(&c.baseline_value))),
    column("baseline_standard_uncertainty", None, "Its standard uncertainty, in `difference_unit`.", |c| doubt(Some(&c.baseline_value))),
    column("candidate_value", None, "The candidate's value, in `unit`.", |c| value(Some(&c.candidate_value))),
    column("candidate_low", None, "Lower end of its 95 % interval, in `unit`.", |c| low(Some(&c.candidate_value))),
    column("candidate_high", None, "Upper end of its 95 % interval, in `unit`.", |c| high(Some(&c.candidate_value))),
    column("candidate_standard_uncertainty", None, "Its standard uncertainty, in `difference_unit`.", |c| doubt(Some(&c.candidate_value))),
    column("difference", None, "Candidate less baseline, in `difference_unit`.", |c| value(Some(&c.difference))),
    column("difference_low", None, "Lower end of its 95 % interval, in `difference_unit`.", |c| low(Some(&c.difference))),
    column("difference_high", None, "Upper end of its 95 % interval, in `difference_unit`.", |c| high(Some(&c.difference))),
    column("difference_standard_uncertainty", None, "Its standard uncertainty, in `difference_unit`.", |c| doubt(Some(&c.difference))),
    column("difference_unit", None, "Unit of the difference: temperatures differ by kelvins.", |c| text(c.difference.unit.symbol())),
    column("verdict", None, "What the measurements allow to be said; empty where no interval has been worked out.", |c| c.verdict.map_or(Cell::Unknown, |verdict| text(super::verdict_words(verdict)))),
];

/// The documentation of all tables, in Markdown: `docs/columns.md`.
#[must_use]
pub fn documentation() -> String {
    let mut page = String::from(
        "# Columns of the CSV files\n\n\
         All are UTF-8 without a byte order mark, with commas, decimal points and a heading line. An empty cell\n\
         means not known. Words that a spreadsheet would take for a formula begin with an apostrophe.\n\
         Numbers have up to ten significant digits; `results.json` has all of them.\n",
    );
    section(
        &mut page,
        "readings.csv",
        "A row per region and pistol reading.",
        READINGS,
    );
    section(
        &mut page,
        "comparison.csv",
        "A row per candidate and quantity that both it and the baseline have.",
        COMPARISON,
    );
    section(
        &mut page,
        "The table of `endtank table`",
        "A row per quantity of each cooler and per difference, of each session.",
        super::table::TABLE,
    );
    page
}

fn section<R>(page: &mut String, file: &str, rows: &str, columns: &[Column<R>]) {
    // Writing to a String cannot fail.
    let _ = write!(
        page,
        "\n## {file}\n\n{rows}\n\n| column | meaning |\n| --- | --- |\n"
    );
    for column in columns {
        let _ = writeln!(
            page,
            "| `{}` | {} |",
            column.csv_heading(),
            column.description
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_committed_page_is_the_generated_one() {
        fixture::committed("docs/columns.md", &documentation());
    }

    #[test]
    fn names_are_unique_and_described() {
        let names: std::collections::BTreeSet<_> =
            READINGS.iter().map(|column| column.name).collect();
        assert_eq!(names.len(), READINGS.len());
        let names: std::collections::BTreeSet<_> =
            COMPARISON.iter().map(|column| column.name).collect();
        assert_eq!(names.len(), COMPARISON.len());
        assert!(
            READINGS
                .iter()
                .all(|column| column.description.ends_with('.'))
        );
        assert!(
            COMPARISON
                .iter()
                .all(|column| column.description.ends_with('.'))
        );
    }
}
