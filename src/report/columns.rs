//! The columns of the two tables: the one list that the CSV files, the report's table and the documentation are written
//! from.

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
    /// Its heading in the report; `None` where only the CSV file has it.
    pub heading: Option<&'static str>,
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

/// A column: name, unit, heading in the report, description, getter.
pub(super) const fn column<R>(
    name: &'static str,
    unit: Option<Unit>,
    heading: Option<&'static str>,
    description: &'static str,
    get: fn(&R) -> Cell,
) -> Column<R> {
    Column {
        name,
        unit,
        heading,
        description,
        get,
    }
}

const CELSIUS: Option<Unit> = Some(Unit::Celsius);
const KELVIN: Option<Unit> = Some(Unit::Kelvin);
const ONE: Option<Unit> = Some(Unit::One);

/// The columns of `readings.csv`; those with a heading also stand in the report.
#[rustfmt::skip] // a table: a line per column
pub const READINGS: &[Column<Reading>] = &[
    column("cooler", None, Some("Cooler"), "Key of the cooler.", |r| text(&r.cooler)),
    column("run", None, Some("Run"), "Name of the run.", |r| text(&r.run)),
    column("source", None, Some("Source"), "The picture as written in the session, or `pistol`.", |r| text(&r.source)),
    column("region", None, Some("Region"), "Name of the region; of a pistol reading its tank.", |r| text(&r.region)),
    column("role", None, Some("Role"), "`tank`, `patch`, `reflector` or `reference`.", |r| text(&r.role)),
    column("tank", None, Some("Tank"), "`inlet` or `outlet`.", |r| maybe_text(r.tank.as_ref())),
    column("surface", None, Some("Surface"), "Name of the surface.", |r| maybe_text(r.surface.as_ref())),
    column("emissivity", ONE, Some("Emissivity"), "Emissivity of the surface.", |r| value(r.emissivity.as_ref())),
    column("reflected", CELSIUS, Some("Reflected"), "Reflected apparent temperature.", |r| value(r.reflected.as_ref())),
    column("pixels", None, None, "Valid pixels in the region.", |r| count(r.pixels)),
    column("invalid_pixels", None, None, "Pixels in the region that hold no temperature; left out.", |r| count(r.invalid_pixels)),
    column("shown_mean", CELSIUS, Some("Shown, mean"), "Arithmetic mean of the shown temperatures over the valid pixels; of a pistol reading the number itself.", |r| number(Some(r.shown.mean))),
    column("shown_min", CELSIUS, None, "Least shown temperature.", |r| number(Some(r.shown.min))),
    column("shown_max", CELSIUS, None, "Greatest shown temperature.", |r| number(Some(r.shown.max))),
    column("shown_median", CELSIUS, None, "Median of the shown temperatures.", |r| number(Some(r.shown.median))),
    column("shown_std", KELVIN, None, "Population standard deviation of the shown temperatures.", |r| number(Some(r.shown.std))),
    column("shown_p05", CELSIUS, None, "5th percentile of the shown temperatures, linearly interpolated.", |r| number(Some(r.shown.p05))),
    column("shown_p95", CELSIUS, None, "95th percentile of the shown temperatures, linearly interpolated.", |r| number(Some(r.shown.p95))),
    column("apparent", CELSIUS, None, "Blackbody temperature of the same radiation, from the mean of the signals, before the air path is removed.", |r| number(Some(r.apparent))),
    column("surface_temperature", CELSIUS, Some("Surface temperature"), "Temperature of the skin after correction.", |r| value(r.surface_temperature.as_ref())),
    column("surface_temperature_low", CELSIUS, None, "Lower end of its 95 % interval.", |r| low(r.surface_temperature.as_ref())),
    column("surface_temperature_high", CELSIUS, None, "Upper end of its 95 % interval.", |r| high(r.surface_temperature.as_ref())),
    column("surface_temperature_standard_uncertainty", KELVIN, None, "Its standard uncertainty.", |r| doubt(r.surface_temperature.as_ref())),
    column("charge_air", CELSIUS, Some("Charge air"), "Temperature of the charge air behind the skin.", |r| value(r.charge_air.as_ref())),
    column("charge_air_low", CELSIUS, None, "Lower end of its 95 % interval.", |r| low(r.charge_air.as_ref())),
    column("charge_air_high", CELSIUS, None, "Upper end of its 95 % interval.", |r| high(r.charge_air.as_ref())),
    column("charge_air_standard_uncertainty", KELVIN, None, "Its standard uncertainty.", |r| doubt(r.charge_air.as_ref())),
    column("cautions", None, Some("Cautions"), "Kinds of the cautions that concern it, separated by a space.", |r| cautions(&r.cautions)),
];

/// The columns of `comparison.csv`. Its rows have different units, so the units are columns of their own.
#[rustfmt::skip] // a table: a line per column
pub const COMPARISON: &[Column<Comparison>] = &[
    column("quantity", None, None, "Identifier of the quantity.", |c| text(c.quantity.id())),
    column("label", None, None, "What a technician calls it.", |c| text(c.quantity.label())),
    column("unit", None, None, "Unit of the two values and their doubts.", |c| text(c.baseline_value.unit.symbol())),
    column("candidate", None, None, "Key of the cooler that is compared with the baseline.", |c| text(&c.candidate)),
    column("baseline_value", None, None, "The baseline's value, in `unit`.", |c| value(Some(&c.baseline_value))),
    column("baseline_low", None, None, "Lower end of its 95 % interval, in `unit`.", |c| low(Some(&c.baseline_value))),
    column("baseline_high", None, None, "Upper end of its 95 % interval, in `unit`.", |c| high(Some(&c.baseline_value))),
    column("baseline_standard_uncertainty", None, None, "Its standard uncertainty, in `difference_unit`.", |c| doubt(Some(&c.baseline_value))),
    column("candidate_value", None, None, "The candidate's value, in `unit`.", |c| value(Some(&c.candidate_value))),
    column("candidate_low", None, None, "Lower end of its 95 % interval, in `unit`.", |c| low(Some(&c.candidate_value))),
    column("candidate_high", None, None, "Upper end of its 95 % interval, in `unit`.", |c| high(Some(&c.candidate_value))),
    column("candidate_standard_uncertainty", None, None, "Its standard uncertainty, in `difference_unit`.", |c| doubt(Some(&c.candidate_value))),
    column("difference", None, None, "Candidate less baseline, in `difference_unit`.", |c| value(Some(&c.difference))),
    column("difference_low", None, None, "Lower end of its 95 % interval, in `difference_unit`.", |c| low(Some(&c.difference))),
    column("difference_high", None, None, "Upper end of its 95 % interval, in `difference_unit`.", |c| high(Some(&c.difference))),
    column("difference_standard_uncertainty", None, None, "Its standard uncertainty, in `difference_unit`.", |c| doubt(Some(&c.difference))),
    column("difference_unit", None, None, "Unit of the difference: temperatures differ by kelvins.", |c| text(c.difference.unit.symbol())),
    column("verdict", None, None, "What the measurements allow to be said; empty where no interval has been worked out.", |c| c.verdict.map_or(Cell::Unknown, |verdict| text(super::verdict_words(verdict)))),
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
