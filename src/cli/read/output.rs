//! Readings as a table, CSV or JSON.

use std::fmt::Write as _;

use serde_json::{Value, json};
use unicode_width::UnicodeWidthStr as _;

use crate::caution::Caution;
use crate::outcome::{Q, Reading, Results};
use crate::quantity::Unit;
use crate::report::columns::READINGS;
use crate::report::number::{self, Kind, NO_BREAK_SPACE, UNKNOWN};
use crate::report::terminal::layout::{GAP, harmless, wrap};
use crate::report::{by_kind, csv as report_csv};

const HEADS: [&str; 7] = [
    "picture",
    "region",
    "shown",
    "apparent",
    "skin (95 % interval)",
    "emissivity",
    "cautions",
];
/// The columns that are numbers stand to the right.
const RIGHT: std::ops::Range<usize> = 2..6;
/// Lines longer than this are hard to read.
const WIDEST: usize = 120;
/// What belongs to a session, not to a reading on its own.
const OF_SESSIONS: [&str; 4] = ["cooler", "run", "role", "tank"];

/// Takes out what the placeholders put in: a pistol's reading is called a spot, a surface without a preset has no name.
pub(super) fn settle(results: &mut Results, preset: bool) {
    let mut spots = 0;
    for reading in &mut results.readings {
        if !preset {
            reading.surface = None;
        }
        if reading.source == "pistol" && reading.pixels.is_none() {
            spots += 1;
            reading.region = match spots {
                1 => "spot".to_owned(),
                _ => format!("spot {spots}"),
            };
        }
    }
}

/// The columns of `readings.csv` without those that only a session has.
///
/// # Errors
/// None in practice: it is written to memory.
pub(super) fn csv(results: &Results) -> Result<String, String> {
    let own = |name: &str| !OF_SESSIONS.contains(&name) && !name.starts_with("charge_air");
    let columns = READINGS.iter().filter(|column| own(column.name));
    let bytes = report_csv::table(columns, &results.readings, report_csv::Marks::Point)
        .map_err(|error| error.to_string())?;
    String::from_utf8(bytes).map_err(|error| error.to_string())
}

/// Readings and cautions with the keys of `results.json`.
///
/// # Errors
/// A number that is not finite.
pub(super) fn json(results: &Results) -> Result<String, String> {
    // The session itself comes first among the inputs; here there is none.
    let inputs: Vec<_> = results.inputs.iter().skip(1).collect();
    let mut readings =
        serde_json::to_value(&results.readings).map_err(|error| error.to_string())?;
    for reading in readings.as_array_mut().into_iter().flatten() {
        if let Some(members) = reading.as_object_mut() {
            members.retain(|key, _| !OF_SESSIONS.contains(&key.as_str()));
        }
    }
    let tree = json!({
        "schema": results.schema, "endtank": results.endtank, "inputs": inputs, "seed": results.seed,
        "draws": results.draws, "readings": readings, "cautions": results.cautions,
    });
    if holds_null(&tree) {
        return Err("a number is not finite, which JSON cannot hold".to_owned());
    }
    Ok(format!("{tree:#}\n"))
}

fn holds_null(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::Array(items) => items.iter().any(holds_null),
        Value::Object(members) => members.values().any(holds_null),
        _ => false,
    }
}

/// The table and the cautions for people.
pub(super) fn page(results: &Results, statistic: Option<&str>, width: usize) -> String {
    let rows: Vec<[String; 7]> = results
        .readings
        .iter()
        .map(|reading| row(reading, statistic))
        .collect();
    let width = width.clamp(20, WIDEST);
    let mut text = table(&rows, width).unwrap_or_else(|| blocks(&rows, width));
    text.push_str(&cautions(&results.cautions, width));
    text.replace(NO_BREAK_SPACE, " ")
}

fn row(reading: &Reading, statistic: Option<&str>) -> [String; 7] {
    let celsius = |value: f64| number::with_unit(&number::typeset(value, 1), Unit::Celsius);
    let shown = match statistic {
        Some("median") => reading.shown.median,
        Some("max") => reading.shown.max,
        _ => reading.shown.mean,
    };
    let known = |q: Option<&Q>| q.map_or(UNKNOWN.to_owned(), |q| number::value(q, Kind::Level));
    let mut skin = known(reading.surface_temperature.as_ref());
    let interval = reading.surface_temperature.as_ref();
    if let Some(interval) = interval.and_then(|q| number::interval(q, Kind::Level)) {
        let _ = write!(skin, " ({interval})");
    }
    let ids: Vec<&str> = reading.cautions.iter().map(|id| id.id()).collect();
    [
        harmless(&reading.source),
        harmless(&reading.region),
        celsius(shown),
        celsius(reading.apparent),
        skin,
        known(reading.emissivity.as_ref()),
        ids.join(" "),
    ]
}

/// The rows in columns, or `None` where they do not fit beside each other.
fn table(rows: &[[String; 7]], width: usize) -> Option<String> {
    let mut widths = HEADS.map(str::len);
    for row in rows {
        for (index, (widest, cell)) in widths.iter_mut().zip(row).enumerate() {
            // The last column wraps between its words.
            let cell = if index + 1 < HEADS.len() {
                cell.width()
            } else {
                cell.split(' ').map(|word| word.width()).max().unwrap_or(0)
            };
            *widest = cell.max(*widest);
        }
    }
    let [columns @ .., last] = &mut widths;
    let taken: usize = columns.iter().map(|width| width + GAP.len()).sum();
    *last = width.checked_sub(taken).filter(|room| room >= last)?;
    let mut text = String::new();
    line(&mut text, &HEADS.map(str::to_owned), &widths);
    for row in rows {
        line(&mut text, row, &widths);
    }
    Some(text)
}

/// One row, as many lines as its last cell takes.
fn line(text: &mut String, row: &[String; 7], widths: &[usize; 7]) {
    let [columns @ .., last] = row;
    let [others @ .., room] = widths;
    let pad = |cell: &str, width: usize| " ".repeat(width.saturating_sub(cell.width()));
    let lines = wrap(last, *room);
    for number in 0..lines.len().max(1) {
        let mut line = String::new();
        for (index, (cell, &width)) in columns.iter().zip(others).enumerate() {
            let cell = if number == 0 { cell.as_str() } else { "" };
            let padding = pad(cell, width);
            if RIGHT.contains(&index) {
                line.extend([&padding, cell]);
            } else {
                line.extend([cell, &padding]);
            }
            line.push_str(GAP);
        }
        line.push_str(lines.get(number).map_or("", String::as_str));
        text.push_str(line.trim_end());
        text.push('\n');
    }
}

/// A row after the other, for narrow screens and long names.
fn blocks(rows: &[[String; 7]], width: usize) -> String {
    let mut text = String::new();
    for [picture, region, cells @ ..] in rows {
        let _ = writeln!(text, "{picture}, {region}");
        for (head, cell) in HEADS.iter().skip(2).zip(cells) {
            let head = if head.starts_with("skin") {
                "skin"
            } else {
                head
            };
            if !cell.is_empty() {
                paragraph(&mut text, &format!("{head}: {cell}"), width);
            }
        }
    }
    text
}

fn paragraph(text: &mut String, words: &str, width: usize) {
    for line in wrap(words, width.saturating_sub(GAP.len())) {
        let _ = writeln!(text, "{GAP}{line}");
    }
}

/// Cautions by kind, each place named, with what to do.
pub(super) fn cautions(cautions: &[Caution], width: usize) -> String {
    let width = width.clamp(20, WIDEST);
    let mut text = String::new();
    for kind in by_kind(cautions) {
        let _ = writeln!(text, "\ncaution: {}", kind.id.id());
        for said in &kind.said {
            let places = said.places.join("; ");
            let words = harmless(&format!("{places}: {}", said.message));
            paragraph(&mut text, &words, width);
        }
        for advice in kind.advices {
            paragraph(&mut text, &format!("→ {advice}"), width);
        }
    }
    text.replace(NO_BREAK_SPACE, " ")
}
