//! `[instrument.NAME]`: thermal instruments and gauges.

use super::names::did_you_mean;
use super::reader::{Entry, Table};
use super::value::{SHARE, Spec};
use super::{
    Accuracy, BarLaw, ColourBar, Gauge, Instrument, InstrumentKind, LowEnd, Response,
    ThermalInstrument, files, pixels,
};
use crate::units::{self, Dimension, Law};

/// The notes of a run that a gauge can read.
const NOTES: &[(&str, Dimension)] = &[
    ("inlet-pressure", Dimension::Pressure),
    ("outlet-pressure", Dimension::Pressure),
    ("differential-pressure", Dimension::Pressure),
    ("intake-air", Dimension::Temperature),
    ("inlet-air", Dimension::Temperature),
    ("outlet-air", Dimension::Temperature),
    ("contact", Dimension::Temperature),
    ("air-flow", Dimension::MassFlow),
    ("engine-speed", Dimension::EngineSpeed),
];

const LOW_ENDS: &[(&str, LowEnd)] = &[
    ("bottom", LowEnd::Bottom),
    ("top", LowEnd::Top),
    ("left", LowEnd::Left),
    ("right", LowEnd::Right),
];

const BAR_LAWS: &[(&str, BarLaw)] = &[
    ("temperature", BarLaw::Temperature),
    ("signal", BarLaw::Signal),
];

const BAR_EXAMPLE: &str = "colour-bar = [x, y, width, height], or \"find\"";

pub(super) fn read(name: &str, table: &Table<'_>) -> Option<Instrument> {
    let kind = if table.has("measures") {
        gauge(table).map(InstrumentKind::Gauge)
    } else {
        thermal(table).map(|thermal| InstrumentKind::Thermal(Box::new(thermal)))
    };
    table.finish();
    Some(Instrument {
        name: name.to_owned(),
        kind: kind?,
        span: table.span.clone(),
    })
}

fn thermal(table: &Table<'_>) -> Option<ThermalInstrument> {
    let (low, high, words) = SHARE;
    let pixels_written = table.get("pixels");
    let pixels = pixels_written.and_then(|entry| pixels::read(table, &entry));
    let raw = pixels_written.is_some_and(|entry| pixels::is_raw(&entry));
    let emissivity_written = table.has("emissivity");
    let emissivity = table.setting(
        "emissivity",
        Spec::exact(Dimension::Ratio).within(low, high, words),
    );
    if !emissivity_written && !raw {
        let mend = "write what the instrument was set to, for instance emissivity = 0.95; 1 where it applied none";
        table.missing("emissivity", mend);
    }
    // `measures` is asked for so that a gauge's key is offered when one is misspelt.
    table.get("measures");
    let band = response(table);
    let read = ThermalInstrument {
        band: band.clone().unwrap_or(Response::Flat {
            low: 8.0,
            high: 14.0,
        }),
        emissivity,
        reflected: table.setting("reflected", Spec::exact(Dimension::Temperature)),
        accuracy: accuracy(table, Dimension::Temperature),
        drift: table.setting("drift", Spec::exact(Dimension::TemperatureDifference)),
        pixels: pixels.clone(),
        colour_bar: colour_bar(table),
        low_end: table.word("low-end", LOW_ENDS),
        bar_law: table.word("bar-law", BAR_LAWS).unwrap_or_default(),
        distance_ratio: distance_ratio(table),
    };
    band.map(|_| read)
}

/// The band or the curve; 8 to 14 µm where neither is written.
fn response(table: &Table<'_>) -> Option<Response> {
    let curve = table.get("response");
    if curve.is_some() && table.has("band") {
        let what = format!("{} has both `band` and `response`", table.title());
        table.problem(table.span.clone(), what, "keep the response: it says more");
    }
    let spec = Spec::exact(Dimension::Length).within(
        2e-7,
        1e-3,
        "a wavelength between 0.2 µm and 1000 µm",
    );
    let band_written = table.has("band");
    let band = table.quantity("band", spec);
    if let Some(entry) = curve {
        let file = table.text_of(&entry)?;
        let path = files::resolve(table, &entry, file)?;
        return Some(Response::Curve {
            file: file.to_owned(),
            path,
            span: entry.span(),
        });
    }
    if !band_written {
        return Some(Response::Flat {
            low: 8.0,
            high: 14.0,
        });
    }
    let band = band?;
    match band.law {
        // Rounded to a picometre, so that `8 to 14 µm` is exactly 8 and 14.
        Law::Rectangular { low, high } if low > 0.0 => Some(Response::Flat {
            low: (low * 1e12).round() / 1e6,
            high: (high * 1e12).round() / 1e6,
        }),
        _ => {
            let mend = "write its two ends, for instance band = \"8 to 14 µm\"";
            table.problem(
                band.span,
                format!(
                    "`band` is {}, which has no two ends above zero",
                    band.written
                ),
                mend,
            );
            None
        }
    }
}

fn accuracy(table: &Table<'_>, dimension: Dimension) -> Option<Accuracy> {
    let entry = table.get("accuracy")?;
    let text = table.text_of(&entry)?;
    match units::parse_accuracy(text, dimension) {
        Ok((absolute, relative)) => Some(Accuracy { absolute, relative }),
        Err(error) => {
            table.problem(
                entry.span(),
                format!("`accuracy`: {}", error.what),
                error.mend,
            );
            None
        }
    }
}

/// Takes the place of the colour bar.
pub(super) fn colour_bar(table: &Table<'_>) -> Option<ColourBar> {
    let entry = table.get("colour-bar")?;
    if entry.value.get_ref().as_str() == Some("find") {
        return Some(ColourBar::Find);
    }
    let bar: [f64; 4] = table.coordinates_of(&entry, BAR_EXAMPLE)?;
    let [_, _, width, height] = bar;
    if width > 0.0 && height > 0.0 {
        return Some(ColourBar::Box(bar));
    }
    table.problem(
        entry.span(),
        "the colour bar has no width and height above zero",
        format!("write {BAR_EXAMPLE}"),
    );
    None
}

/// `12:1`, or just `12`.
fn distance_ratio(table: &Table<'_>) -> Option<f64> {
    let entry = table.get("distance-ratio")?;
    let written = match entry.value.get_ref().as_str() {
        Some(text) => text,
        None => table.context.slice(&entry.span()),
    };
    let mut parts = written
        .split(':')
        .map(|part| part.trim().parse::<f64>().ok());
    let ratio = match (parts.next().flatten(), parts.next(), parts.next()) {
        (Some(distance), None, _) => Some(distance),
        (Some(distance), Some(Some(spot)), None) => Some(distance / spot),
        _ => None,
    };
    let ratio = ratio.filter(|ratio| ratio.is_finite() && *ratio > 0.0);
    if ratio.is_none() {
        let what = format!("`distance-ratio` is {written}, which is no ratio above zero");
        table.problem(
            entry.span(),
            what,
            "write it as on the pistol, for instance \"12:1\"",
        );
    }
    ratio
}

fn gauge(table: &Table<'_>) -> Option<Gauge> {
    let example = "measures = [\"inlet-pressure\", \"outlet-pressure\"]";
    let elements = table.list("measures", example)?;
    let found: Vec<_> = elements
        .iter()
        .filter_map(|element| note(table, element))
        .collect();
    let dimension = found
        .first()
        .map_or(Dimension::Pressure, |(_, dimension)| *dimension);
    if elements.is_empty() || found.iter().any(|(_, other)| *other != dimension) {
        let what = format!(
            "{} must measure at least one note, and all of one kind",
            table.title()
        );
        table.problem(
            table.span.clone(),
            what,
            format!("write {example}; another kind is another instrument"),
        );
    }
    let reference = table.word("reference", &[("gauge", false), ("absolute", true)]);
    let gauge = Gauge {
        measures: found.iter().map(|(key, _)| (*key).to_owned()).collect(),
        accuracy: accuracy(table, dimension),
        absolute: reference.unwrap_or(false),
    };
    (found.len() == elements.len()).then_some(gauge)
}

fn note(table: &Table<'_>, element: &Entry<'_>) -> Option<(&'static str, Dimension)> {
    let Some(text) = element.value.get_ref().as_str() else {
        table.wrong_kind(
            element,
            "a list of a run's keys",
            "measures = [\"inlet-pressure\"]",
        );
        return None;
    };
    let found = NOTES.iter().find(|(key, _)| *key == text).copied();
    if found.is_none() {
        let mend = did_you_mean(
            text,
            NOTES.iter().map(|(key, _)| *key),
            "a gauge can measure",
        );
        table.problem(element.span(), format!("no gauge measures `{text}`"), mend);
    }
    found
}

/// Two gauges cannot both have read one note.
pub(super) fn shared_notes<'t>(
    tables: impl Iterator<Item = &'t Table<'t>>,
    instruments: &[Option<Instrument>],
) {
    let mut taken: Vec<&str> = Vec::new();
    for (table, instrument) in tables.zip(instruments) {
        let Some(InstrumentKind::Gauge(gauge)) = instrument.as_ref().map(|read| &read.kind) else {
            continue;
        };
        for note in &gauge.measures {
            if taken.contains(&note.as_str()) {
                let what = format!("`{note}` is measured by two instruments, or twice by one");
                table.problem(
                    table.span.clone(),
                    what,
                    "keep it in one list of `measures`",
                );
            }
            taken.push(note);
        }
    }
}
