//! `endtank surfaces`: the presets.

use std::fmt::Write as _;

use clap::Args;
use serde_json::{Value, json};

use super::Status;
use super::terminal::Terminal;
use crate::report::terminal::layout::wrap;
use crate::session::did_you_mean;
use crate::surface::{self, Figure, Preset, Status as Known};

/// List the surface presets with value, range and source
///
/// A session builds on one with like = "NAME" on a surface. Names given here are explained with every published value
/// they rest on.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Presets to explain in full; default: all, in short.
    names: Vec<String>,
    /// Print JSON, with every source.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let mut status = Status::Done;
    for name in &arguments.names {
        if surface::preset(name).is_none() {
            let names = surface::presets().iter().map(|preset| preset.name.as_str());
            let mend = did_you_mean(name, names, "presets are");
            status = terminal.failure(&format!("there is no preset `{name}`"), &mend);
        }
    }
    if status == Status::Failed {
        return status;
    }
    let chosen = surface::presets()
        .iter()
        .filter(|preset| arguments.names.is_empty() || arguments.names.contains(&preset.name));
    let chosen: Vec<&Preset> = chosen.collect();
    if arguments.json {
        let list: Vec<Value> = chosen.into_iter().map(machine).collect();
        terminal.print(&format!("{:#}\n", Value::Array(list)));
    } else {
        let full = !arguments.names.is_empty();
        let width = terminal.width().clamp(40, 100);
        terminal.print(&listing(&chosen, full, width));
    }
    Status::Done
}

fn listing(presets: &[&Preset], full: bool, width: usize) -> String {
    let mut text = String::new();
    let longest = presets.iter().map(|preset| preset.name.len()).max();
    let longest = longest.unwrap_or(0);
    // Writing to a String cannot fail.
    for preset in presets {
        let (low, high) = preset.emissivity.ends();
        let (value, name) = (preset.emissivity.value, &preset.name);
        // Two decimals, and a third where the central value has one.
        let digits = if (100.0 * value).fract().min(1.0 - (100.0 * value).fract()) > 0.01 {
            3
        } else {
            2
        };
        let mut head = format!("{name:longest$}  {value:<5.digits$}  {low:.2} to {high:.2}");
        if let Some(conductivity) = &preset.conductivity {
            let (low, high) = conductivity.ends();
            let digits = if high < 10.0 { 2 } else { 0 };
            let range = format!("  {low:.digits$} to {high:.digits$} W/(m K)");
            if head.chars().count() + range.chars().count() <= width {
                head.push_str(&range);
            } else {
                let _ = write!(head, "\n    conductivity{range}");
            }
        }
        let _ = writeln!(text, "{head}");
        paragraph(&mut text, &format!("{}.", preset.words), width);
        if let Some(note) = &preset.note {
            paragraph(&mut text, note, width);
        }
        for (name, figure) in preset.figures() {
            if full {
                in_full(&mut text, name, figure, width);
            } else if name == "emissivity" || name == "conductivity" {
                paragraph(&mut text, &format!("{name}: {}", known(figure)), width);
            }
        }
        text.push('\n');
    }
    let heads = "Columns: name, emissivity (8 to 14 µm), its range, range of the conductivity where given. seen: read in \
                 the source; computed: worked out from data read; memory: recalled, not opened.";
    for line in wrap(heads, width) {
        let _ = writeln!(text, "{line}");
    }
    text
}

fn paragraph(text: &mut String, words: &str, width: usize) {
    for line in wrap(words, width.saturating_sub(4)) {
        let _ = writeln!(text, "    {line}");
    }
}

fn in_full(text: &mut String, name: &str, figure: &Figure, width: usize) {
    let written = &figure.written;
    match (&figure.judgement, figure.sources.is_empty()) {
        (Some(judgement), _) => paragraph(text, &format!("{name} {written}: {judgement}."), width),
        (None, true) => paragraph(
            text,
            &format!("{name} {written}: no source; a usual handbook value, from memory."),
            width,
        ),
        (None, false) => paragraph(text, &format!("{name} {written}:"), width),
    }
    for source in &figure.sources {
        let sentence = source.sentence().replace('*', "");
        paragraph(text, &format!("· {sentence}"), width);
    }
}

/// What a figure rests on, in short: the works by how they are known.
fn known(figure: &Figure) -> String {
    let mut parts = Vec::new();
    for status in [Known::Seen, Known::Computed, Known::Memory] {
        let mut works: Vec<&str> = Vec::new();
        for source in figure
            .sources
            .iter()
            .filter(|source| source.status == status)
        {
            if !works.contains(&source.work.as_str()) {
                works.push(&source.work);
            }
        }
        if !works.is_empty() {
            parts.push(format!("{} {}", status.word(), works.join(", ")));
        }
    }
    if parts.is_empty() {
        parts.push("no source, from memory".to_owned());
    }
    if let Some(judgement) = &figure.judgement {
        parts.push(judgement.clone());
    }
    parts.join("; ")
}

fn machine(preset: &Preset) -> Value {
    let figure = |figure: &Figure| {
        let (low, high) = figure.ends();
        let sources = figure.sources.iter().map(|source| {
            json!({ "material": source.material, "condition": source.condition, "low": source.low,
                    "high": source.high, "at": source.at, "work": source.citation, "status": source.status.word() })
        });
        json!({ "written": figure.written, "value": figure.value, "low": low, "high": high,
                "judgement": figure.judgement, "sources": sources.collect::<Vec<_>>() })
    };
    let optional = |of: &Option<Figure>| of.as_ref().map(figure);
    json!({ "name": preset.name, "words": preset.words, "note": preset.note, "shared": preset.shared,
            "emissivity": figure(&preset.emissivity), "conductivity": optional(&preset.conductivity),
            "density": optional(&preset.density), "specific_heat": optional(&preset.specific_heat) })
}
