//! `pixels = { … }`: what a pixel's number means.

use super::Pixels;
use super::reader::{Entry, Table};
use super::value::Spec;
use crate::units::temperature::ZERO_CELSIUS;
use crate::units::{self, Dimension};

const EXAMPLE: &str = "pixels = { unit = \"°C\" }, { step = \"0.01 K\", zero = \"0 K\" } or { sakuma-hattori = { a = …, b = …, c = … } }";

/// Whether the entry says that pixels are raw signal.
pub(super) fn is_raw(entry: &Entry<'_>) -> bool {
    let table = entry.value.get_ref().as_table();
    table.is_some_and(|table| {
        table
            .iter()
            .any(|(key, _)| key.get_ref() == "sakuma-hattori")
    })
}

/// Reads the entry.
pub(super) fn read<'t>(parent: &Table<'t>, entry: &Entry<'t>) -> Option<Pixels> {
    if entry.value.get_ref().as_table().is_none() {
        parent.wrong_kind(entry, "a table", EXAMPLE);
        return None;
    }
    let table = parent.table_of(entry, parent.place_of("pixels"))?;
    let (unit, step, zero, raw) = (
        table.has("unit"),
        table.has("step"),
        table.has("zero"),
        table.has("sakuma-hattori"),
    );
    let written = (
        table.get("unit"),
        step_and_zero(&table),
        sakuma_hattori(&table),
    );
    table.finish();
    match (unit, step, raw) {
        (true, false, false) if !zero => written.0.and_then(|entry| in_unit(&table, &entry)),
        (false, true, false) => written.1,
        (false, false, true) if !zero => written.2,
        _ => {
            table.problem(
                entry.span(),
                "`pixels` must say one thing",
                format!("write {EXAMPLE}"),
            );
            None
        }
    }
}

/// Numbers that are temperatures already: 0 and 1 of the unit give the line.
fn in_unit<'t>(table: &Table<'t>, entry: &Entry<'t>) -> Option<Pixels> {
    let unit = table.text_of(entry)?;
    let step = units::parse(&format!("1 {unit}"), Dimension::TemperatureDifference);
    let zero = units::parse(&format!("0 {unit}"), Dimension::Temperature);
    match (step, zero) {
        (Ok(step), Ok(zero)) if !step.limits_stated && !zero.limits_stated => {
            Some(Pixels::Linear {
                step: step.value,
                zero: zero.value,
            })
        }
        _ => {
            let what = format!("`{unit}` is no unit of temperature");
            table.problem(entry.span(), what, "write unit = \"°C\", \"°F\" or \"K\"");
            None
        }
    }
}

fn step_and_zero(table: &Table<'_>) -> Option<Pixels> {
    let step = table.setting(
        "step",
        Spec::exact(Dimension::TemperatureDifference).above_zero(),
    );
    let zero_written = table.has("zero");
    let zero = table.setting("zero", Spec::exact(Dimension::Temperature).any());
    let zero = if zero_written { zero? } else { 0.0 };
    Some(Pixels::Linear { step: step?, zero })
}

fn sakuma_hattori(parent: &Table<'_>) -> Option<Pixels> {
    let table = parent.table("sakuma-hattori")?;
    let example = "sakuma-hattori = { a = 9.36, b = 178.4, c = 36000 }";
    let number = |key: &'static str| {
        let entry = table.require(key, &format!("write {example}"))?;
        table.number_of(&entry, example)
    };
    let (a, b, c) = (number("a"), number("b"), number("c"));
    table.finish();
    let (a, b, c) = (a?, b?, c?);
    // The form rises with temperature only so; a T + b must stay above zero from the coldest scene on.
    let coldest = ZERO_CELSIUS - 73.15;
    if a > 0.0 && c > 0.0 && a * coldest + b > 0.0 {
        return Some(Pixels::SakumaHattori { a, b, c });
    }
    let what = "these constants give no signal that rises with temperature";
    table.problem(
        table.span.clone(),
        what,
        "a and c must be above zero, and a T + b above zero at all temperatures",
    );
    None
}
