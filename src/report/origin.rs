//! Where an emissivity comes from, in words.

use crate::correct::EmissivityOrigin;
use crate::outcome::Outcome;

/// What is said where a preset has no source.
const FROM_MEMORY: &str = "a usual handbook value, from memory";

/// Where it comes from, short enough for a row of a table: `preset plastic-black (J. H. Henninger 1984 and 1 more)`.
#[must_use]
pub fn words(origin: &EmissivityOrigin) -> String {
    match origin {
        EmissivityOrigin::Stated { written } => format!("stated in the session: {written}"),
        EmissivityOrigin::Preset { name, sources, .. } => {
            let from = match sources.as_slice() {
                [] => FROM_MEMORY.to_owned(),
                [one] => short(one),
                [first, others @ ..] => format!("{} and {} more", short(first), others.len()),
            };
            format!("preset {name} ({from})")
        }
        EmissivityOrigin::Patch { surfaces, runs } => format!(
            "measured against a patch of {} in {}",
            listed(surfaces),
            listed(runs)
        ),
        EmissivityOrigin::Contact { runs } => {
            format!("measured against a contact probe in {}", listed(runs))
        }
    }
}

/// The presets that readings rest on, each once, with everything that it goes back to.
#[must_use]
pub fn presets(outcome: &Outcome) -> Vec<(&str, String)> {
    let mut found: Vec<(&str, String)> = Vec::new();
    for reading in &outcome.results.readings {
        if let Some(EmissivityOrigin::Preset {
            name,
            written,
            sources,
        }) = &reading.emissivity_origin
            && !found.iter().any(|(known, _)| known == name)
        {
            let from = match sources.as_slice() {
                [] => FROM_MEMORY.to_owned(),
                works => works.join("; "),
            };
            found.push((name, format!("{written}. {from}.")));
        }
    }
    found
}

/// A work by its author and year: what stands before the first comma that no initial precedes, and the year.
fn short(citation: &str) -> String {
    let author = citation.split(", ").next().unwrap_or(citation);
    let year = citation
        .split(|letter: char| !letter.is_ascii_digit())
        .rfind(|digits| {
            digits.len() == 4 && (digits.starts_with("19") || digits.starts_with("20"))
        });
    match year {
        Some(year) if !author.contains(year) => format!("{author} {year}"),
        _ => author.to_owned(),
    }
}

/// `hold 1`, `hold 1 and hold 2`, `hold 1, hold 2 and hold 3`.
fn listed(names: &[String]) -> String {
    match names {
        [] => "the session".to_owned(),
        [one] => one.clone(),
        [firsts @ .., last] => format!("{} and {last}", firsts.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn owned(words: &[&str]) -> Vec<String> {
        words.iter().map(|&word| word.to_owned()).collect()
    }

    #[test]
    fn every_origin_is_put_into_words() {
        let preset = |sources: &[&str]| EmissivityOrigin::Preset {
            name: "plastic-black".to_owned(),
            written: "0.90 ± 0.05".to_owned(),
            sources: owned(sources),
        };
        let first = "J. H. Henninger, Coatings, NASA RP-1121 (1984); read in a later copy";
        for (origin, said) in [
            (
                EmissivityOrigin::Stated {
                    written: "0.94 ± 0.02".to_owned(),
                },
                "stated in the session: 0.94 ± 0.02",
            ),
            (
                preset(&[]),
                "preset plastic-black (a usual handbook value, from memory)",
            ),
            (
                preset(&[first]),
                "preset plastic-black (J. H. Henninger 1984)",
            ),
            (
                preset(&[first, "A table"]),
                "preset plastic-black (J. H. Henninger 1984 and 1 more)",
            ),
            (
                preset(&["A table, compiled"]),
                "preset plastic-black (A table)",
            ),
            (
                EmissivityOrigin::Patch {
                    surfaces: owned(&["tape"]),
                    runs: owned(&["hold 4", "hold 5", "hold 6"]),
                },
                "measured against a patch of tape in hold 4, hold 5 and hold 6",
            ),
            (
                EmissivityOrigin::Contact {
                    runs: owned(&["hold 1"]),
                },
                "measured against a contact probe in hold 1",
            ),
        ] {
            assert_eq!(words(&origin), said);
        }
    }
}
