//! Presets: materials and finishes with what is published of them, for `like = "…"` and `endtank surfaces`.
//!
//! All of it stands in one data file, `presets.toml`, which is part of the program.

mod file;
mod page;

use std::sync::LazyLock;

pub use page::documentation;

use crate::units::{Dimension, Law};

/// A material and finish with what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Preset {
    /// Its key, in kebab-case and beginning with the material.
    pub name: String,
    /// What it is.
    pub words: String,
    /// What to beware of.
    pub note: Option<String>,
    /// Whether the very same piece usually serves every cooler: tapes.
    pub shared: bool,
    /// Emissivity for 8 to 14 µm near 300 to 400 K, square on.
    pub emissivity: Figure,
    /// Thermal conductivity, W/(m K).
    pub conductivity: Option<Figure>,
    /// Density, kg/m³.
    pub density: Option<Figure>,
    /// Specific heat, J/(kg K).
    pub specific_heat: Option<Figure>,
}

/// A figure of a preset, with its limits and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// As the data file writes it, in the notation of a session.
    pub written: String,
    /// What it is a value of.
    pub dimension: Dimension,
    /// The central value, in the base unit.
    pub value: f64,
    /// How the truth may lie about it.
    pub law: Law,
    /// What of the limits no source carries.
    pub judgement: Option<String>,
    /// What is published; empty: a usual handbook value from memory.
    pub sources: Vec<Source>,
}

impl Figure {
    /// The two ends of its limits, in the base unit.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        match self.law {
            Law::Exact => (self.value, self.value),
            Law::Rectangular { low, high } => (low, high),
            // Two standard uncertainties: about 95 %.
            Law::Normal { standard } => (self.value - 2.0 * standard, self.value + 2.0 * standard),
            Law::Factor { factor } => (self.value / factor, self.value * factor),
        }
    }
}

/// A published value.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// The material, as the source has it.
    pub material: String,
    /// Its condition, as the source has it; may be empty.
    pub condition: String,
    /// The lower end of what is published, in the base unit; `None` where only an upper one is.
    pub low: Option<f64>,
    /// The upper end; `None` where the source says `or more`.
    pub high: Option<f64>,
    /// Band and temperature, as far as they are stated.
    pub at: Option<String>,
    /// The work's short name in the data file.
    pub work: String,
    /// What the work is.
    pub citation: String,
    /// How it is known.
    pub status: Status,
}

/// How a published value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// Read in the work.
    Seen,
    /// Worked out from data that was read.
    Computed,
    /// Recalled; the work was not opened.
    Memory,
}

impl Status {
    /// The word of the data file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Computed => "computed",
            Self::Memory => "memory",
        }
    }
}

/// All presets, in the order of the data file.
#[must_use]
pub fn presets() -> &'static [Preset] {
    // The file is part of the program and a test reads it, so that it is sound here.
    static ALL: LazyLock<Vec<Preset>> =
        LazyLock::new(|| file::read(file::TEXT).unwrap_or_default());
    &ALL
}

/// The preset of a name.
#[must_use]
pub fn preset(name: &str) -> Option<&'static Preset> {
    presets().iter().find(|preset| preset.name == name)
}
