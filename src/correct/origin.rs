//! Where the emissivity of a reading comes from, for those who judge the reading.

use schemars::JsonSchema;
use serde::Serialize;

use super::Reading;
use super::emissivity::Solving;
use crate::session::{Emissivity, Session, Surface};
use crate::surface;

/// Where an emissivity comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum EmissivityOrigin {
    /// The session states it.
    Stated {
        /// As written there.
        written: String,
    },
    /// A preset that the surface builds on.
    Preset {
        /// The preset's name.
        name: String,
        /// Its value with limits.
        written: String,
        /// The works that the value rests on; none: a usual handbook value from memory.
        sources: Vec<String>,
    },
    /// Solved from patches of known emissivity on the tank.
    Patch {
        /// The surfaces of the patches.
        surfaces: Vec<String>,
        /// The runs in which they were seen.
        runs: Vec<String>,
    },
    /// Solved from a contact probe on the tank.
    Contact {
        /// The runs in which it was read.
        runs: Vec<String>,
    },
}

/// Where the emissivity of a reading comes from; `None` where it has none. `readings` are all of the session.
#[must_use]
pub fn emissivity_origin(
    session: &Session,
    readings: &[Reading],
    reading: &Reading,
) -> Option<EmissivityOrigin> {
    reading.emissivity?;
    let surface = reading.surface?;
    let entry = session.surfaces.get(surface)?;
    let solving = Solving {
        session,
        readings,
        surface,
        cooler: reading.cooler,
    };
    Some(match &entry.emissivity {
        Emissivity::Stated(declared) => {
            of_preset(entry).unwrap_or_else(|| EmissivityOrigin::Stated {
                written: declared.written.clone(),
            })
        }
        Emissivity::FromPatch(_) => {
            let patches: Vec<&Reading> = solving.patches().map(|(patch, _)| patch).collect();
            let names = patches.iter().filter_map(|patch| patch.surface);
            EmissivityOrigin::Patch {
                surfaces: each_once(names.map(|index| session.surfaces[index].name.as_str())),
                runs: each_once(
                    patches
                        .iter()
                        .map(|patch| session.runs[patch.run].name.as_str()),
                ),
            }
        }
        Emissivity::FromContact(_) => EmissivityOrigin::Contact {
            runs: each_once(
                solving
                    .contacts()
                    .map(|(run, ..)| session.runs[run].name.as_str()),
            ),
        },
    })
}

fn of_preset(entry: &Surface) -> Option<EmissivityOrigin> {
    let name = entry.like.as_ref().filter(|_| entry.preset_emissivity)?;
    let figure = &surface::preset(name)?.emissivity;
    Some(EmissivityOrigin::Preset {
        name: name.clone(),
        written: figure.written.clone(),
        sources: each_once(figure.sources.iter().map(|source| source.citation.as_str())),
    })
}

fn each_once<'a>(words: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for word in words {
        if !found.iter().any(|known| known == word) {
            found.push(word.to_owned());
        }
    }
    found
}
