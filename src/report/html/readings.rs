//! The table of readings, one per cooler: what the instrument showed, what the skin really is, and what that rests on.

use maud::{Markup, html};

use super::figures::{interval, none, value_cell};
use super::table;
use crate::outcome::{Outcome, Q, Reading};
use crate::quantity::Unit;
use crate::report::number::{self, Kind};
use crate::report::{answer, origin};

/// The columns that stand for all readings, with what they mean.
const COLUMNS: [(&str, &str); 5] = [
    (
        "Shown",
        "Mean of what the instrument showed there, at the emissivity that it was set to.",
    ),
    (
        "Corrected",
        "Temperature of the skin: the setting undone, reflections and air path taken off.",
    ),
    (
        "Charge air",
        "Temperature of the charge air behind that skin.",
    ),
    (
        "Emissivity",
        "How much of what a perfect radiator would send out the surface does; the rest it mirrors.",
    ),
    (
        "Reflected",
        "Apparent temperature of the surroundings that the skin mirrors.",
    ),
];

/// The section.
pub fn section(outcome: &Outcome) -> Markup {
    let coolers = outcome.results.coolers.iter();
    let presets = origin::presets(outcome);
    html! {
        section {
            h2 { "Readings" }
            p { "Every region and pistol reading; the smaller figures are 95\u{a0}% intervals. More is in readings.csv." }
            @for (index, cooler) in coolers.enumerate() { (of_cooler(outcome, &cooler.cooler, index)) }
            dl.columns { @for (heading, meaning) in COLUMNS { dt { (heading) } dd { (meaning) } } }
            @if !presets.is_empty() {
                h3 { "Where the presets come from" }
                dl.columns { @for (name, from) in presets { dt { (name) } dd { (from) } } }
            }
        }
    }
}

fn of_cooler(outcome: &Outcome, cooler: &str, index: usize) -> Markup {
    let readings: Vec<&Reading> = outcome
        .results
        .readings
        .iter()
        .filter(|reading| reading.cooler == cooler)
        .collect();
    if readings.is_empty() {
        return html! {};
    }
    let charge = readings.iter().any(|reading| reading.charge_air.is_some());
    let caption = html! { "Readings of " (answer::label(outcome, cooler)) };
    let rows = html! {
        thead role="rowgroup" { tr role="row" {
            th scope="col" role="columnheader" { "Reading" }
            @for (heading, _) in COLUMNS.into_iter().filter(|(heading, _)| charge || *heading != "Charge air") {
                th.number scope="col" role="columnheader" { (heading) }
            }
            th scope="col" role="columnheader" { "Surface" }
        } }
        tbody role="rowgroup" { @for reading in readings { (row(reading, charge)) } }
    };
    table(
        &format!("readings-{}", index + 1),
        "stack dense",
        &caption,
        &rows,
    )
}

fn row(reading: &Reading, charge: bool) -> Markup {
    let shown = Q {
        value: reading.shown.mean,
        unit: Unit::Celsius,
        low: None,
        high: None,
        standard_uncertainty: None,
    };
    let cell = |label: &str, q: Option<&Q>| match q.filter(|q| q.value.is_finite()) {
        Some(q) => value_cell(label, q, Kind::Level),
        None => none(label),
    };
    html! {
        tr role="row" {
            th scope="row" role="rowheader" { (what(reading)) }
            (cell("Shown", Some(&shown)))
            (cell("Corrected", reading.surface_temperature.as_ref()))
            @if charge { (cell("Charge air", reading.charge_air.as_ref())) }
            @match &reading.emissivity {
                Some(q) => td.number role="cell" data-label="Emissivity" {
                    (number::typeset(q.value, number::decimals(q, Kind::Level))) (interval(q, Kind::Level))
                },
                None => (none("Emissivity")),
            }
            (cell("Reflected", reading.reflected.as_ref()))
            (rests_on(reading))
        }
    }
}

/// What was read, of which tank, when and in which file.
fn what(reading: &Reading) -> Markup {
    let tank = reading.tank.as_deref();
    let name = match tank {
        Some(tank) if tank == reading.region => format!("{} tank", capital(tank)),
        _ => capital(&reading.region),
    };
    let role = match (reading.role.as_str(), tank) {
        ("tank", Some(tank)) if !reading.region.contains(tank) => Some(format!("{tank} tank")),
        ("patch", Some(tank)) => Some(format!("patch on the {tank} tank")),
        ("patch", None) => Some("patch".to_owned()),
        ("reflector", _) => Some("reflector: shows what the tanks mirror".to_owned()),
        ("reference", _) => Some("reference: its temperature is known".to_owned()),
        _ => None,
    };
    let source = match reading.source.as_str() {
        "pistol" => "pistol reading",
        file => file,
    };
    html! {
        (name)
        @if let Some(role) = role { span.note { (role) } }
        span.note { (reading.run) ", " (source) }
        @if !reading.cautions.is_empty() {
            span.note { "caution: "
                @for (index, id) in reading.cautions.iter().enumerate() {
                    @if index > 0 { ", " }
                    a href={ "#caution-" (id.id()) } { (id.id().replace('-', " ")) }
                }
            }
        }
    }
}

fn rests_on(reading: &Reading) -> Markup {
    match (&reading.surface, &reading.emissivity_origin) {
        (None, _) => html! { td.wide.none role="cell" data-label="Surface" { (number::UNKNOWN) } },
        (Some(surface), origin) => html! {
            td.wide role="cell" data-label="Surface" {
                (surface)
                @if let Some(origin) = origin { span.note { "emissivity " (number::together(&origin::words(origin))) } }
            }
        },
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}
