//! Reads the data file.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::{Figure, Preset, Source, Status};
use crate::units::{self, Dimension};

/// The data file.
pub(super) const TEXT: &str = include_str!("presets.toml");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    works: BTreeMap<String, String>,
    preset: Vec<PresetEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct PresetEntry {
    name: String,
    words: String,
    note: Option<String>,
    #[serde(default)]
    shared: bool,
    emissivity: FigureEntry,
    conductivity: Option<FigureEntry>,
    density: Option<FigureEntry>,
    specific_heat: Option<FigureEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FigureEntry {
    is: Option<String>,
    #[serde(rename = "as")]
    same_as: Option<String>,
    judgement: Option<String>,
    #[serde(default)]
    sources: Vec<SourceEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceEntry {
    material: String,
    #[serde(default)]
    condition: String,
    value: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    at: Option<String>,
    work: String,
    status: Status,
}

/// The presets of a text.
///
/// # Errors
/// The first thing that is wrong, in words.
pub(super) fn read(text: &str) -> Result<Vec<Preset>, String> {
    let file: File = toml::from_str(text).map_err(|error| error.to_string())?;
    let mut presets: Vec<Preset> = Vec::new();
    for entry in file.preset {
        let name = entry.name;
        if presets.iter().any(|known| known.name == name) {
            return Err(format!("two presets are named `{name}`"));
        }
        let read =
            |key: &str, entry: FigureEntry, dimension, of: fn(&Preset) -> Option<&Figure>| {
                figure(entry, dimension, &file.works, &presets, of)
                    .map_err(|why| format!("{name}.{key}: {why}"))
            };
        let emissivity = read("emissivity", entry.emissivity, Dimension::Ratio, |preset| {
            Some(&preset.emissivity)
        })?;
        let conductivity = entry.conductivity.map(|figure| {
            read("conductivity", figure, Dimension::Conductivity, |preset| {
                preset.conductivity.as_ref()
            })
        });
        let density = entry.density.map(|figure| {
            read("density", figure, Dimension::Density, |preset| {
                preset.density.as_ref()
            })
        });
        let specific_heat = entry.specific_heat.map(|figure| {
            read("specific-heat", figure, Dimension::SpecificHeat, |preset| {
                preset.specific_heat.as_ref()
            })
        });
        let (conductivity, density, specific_heat) = (
            conductivity.transpose()?,
            density.transpose()?,
            specific_heat.transpose()?,
        );
        presets.push(Preset {
            name,
            words: entry.words,
            note: entry.note,
            shared: entry.shared,
            emissivity,
            conductivity,
            density,
            specific_heat,
        });
    }
    Ok(presets)
}

fn figure(
    entry: FigureEntry,
    dimension: Dimension,
    works: &BTreeMap<String, String>,
    known: &[Preset],
    of: fn(&Preset) -> Option<&Figure>,
) -> Result<Figure, String> {
    let written = match (entry.is, entry.same_as) {
        (Some(written), None) => written,
        (None, Some(other)) => {
            let found = known.iter().find(|preset| preset.name == other);
            return found
                .and_then(of)
                .cloned()
                .ok_or_else(|| format!("no preset `{other}` above has it"));
        }
        _ => return Err("write either `is` or `as`".to_owned()),
    };
    let parsed = units::parse(&written, dimension).map_err(|error| error.what)?;
    if !parsed.limits_stated {
        return Err(format!("`{written}` states no limits"));
    }
    let sources = entry.sources.into_iter().map(|entry| source(entry, works));
    Ok(Figure {
        written,
        dimension,
        value: parsed.value,
        law: parsed.law,
        judgement: entry.judgement,
        sources: sources.collect::<Result<_, _>>()?,
    })
}

fn source(entry: SourceEntry, works: &BTreeMap<String, String>) -> Result<Source, String> {
    let citation = works
        .get(&entry.work)
        .ok_or_else(|| format!("there is no work `{}`", entry.work))?;
    let (low, high) = match (entry.value, entry.low, entry.high) {
        (Some(value), None, None) => (Some(value), Some(value)),
        (None, None, None) | (Some(_), _, _) => {
            return Err(format!(
                "{}: write `value`, or `low` and `high`",
                entry.material
            ));
        }
        (None, low, high) => (low, high),
    };
    Ok(Source {
        material: entry.material,
        condition: entry.condition,
        low,
        high,
        at: entry.at,
        work: entry.work,
        citation: citation.clone(),
        status: entry.status,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_data_file_is_sound() {
        let presets = read(TEXT).unwrap();
        assert!(presets.len() >= 25);
        for preset in &presets {
            let (low, high) = preset.emissivity.ends();
            assert!(low > 0.0 && low < high && high <= 1.0, "{}", preset.name);
            let plain = |c: char| c.is_ascii_lowercase() || c == '-';
            assert!(preset.name.chars().all(plain), "{}", preset.name);
            let same = super::super::preset(&preset.name);
            assert_eq!(same, Some(preset));
        }
    }

    #[test]
    fn what_is_wrong_is_named() {
        let head = "[works]\nw = \"A book\"\n[[preset]]\nname = \"p\"\nwords = \"x\"\n";
        for (emissivity, wrong) in [
            ("is = \"0.9\"", "no limits"),
            ("as = \"q\"", "no preset `q`"),
            ("", "`is` or `as`"),
            (
                "is = \"0.9 ± 0.1\"\nsources = [{ material = \"m\", value = 0.9, work = \"v\", status = \"seen\" }]",
                "no work `v`",
            ),
            (
                "is = \"0.9 ± 0.1\"\nsources = [{ material = \"m\", work = \"w\", status = \"seen\" }]",
                "`value`",
            ),
            ("iss = \"0.9 ± 0.1\"", "unknown field"),
        ] {
            let why = read(&format!("{head}[preset.emissivity]\n{emissivity}\n")).unwrap_err();
            assert!(why.contains(wrong), "{why}");
        }
    }
}
