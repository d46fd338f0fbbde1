//! `[surface.NAME]`: a tank's material and finish.

use super::names::did_you_mean;
use super::reader::Table;
use super::value::{SHARE, Spec};
use super::{Declared, Emissivity, Span, Surface};
use crate::surface::{self, Figure, Preset};
use crate::units::Dimension;

pub(super) fn read(name: &str, table: &Table<'_>) -> Option<Surface> {
    let base = base(table);
    let emissivity = match &base {
        // A preset that is not known has been noted: what it would have given is not missing.
        Base::Unknown if !table.has("emissivity") => {
            table.get("emissivity");
            None
        }
        Base::Preset(base) if !table.has("emissivity") => {
            table.get("emissivity");
            Some(Emissivity::Stated(base.give(
                table,
                "emissivity",
                &base.preset.emissivity,
            )))
        }
        _ => emissivity(table),
    };
    let shared = table.flag("shared");
    let wall = table.quantity("wall", Spec::measured(Dimension::Length));
    let or_base = |key: &'static str, dimension, of: fn(&Preset) -> Option<&Figure>| {
        let own = table.quantity(key, Spec::measured(dimension));
        match &base {
            Base::Preset(base) if !table.has(key) => {
                of(base.preset).map(|figure| base.give(table, key, figure))
            }
            _ => own,
        }
    };
    let conductivity = or_base("conductivity", Dimension::Conductivity, |preset| {
        preset.conductivity.as_ref()
    });
    let density = or_base("density", Dimension::Density, |preset| {
        preset.density.as_ref()
    });
    let specific_heat = or_base("specific-heat", Dimension::SpecificHeat, |preset| {
        preset.specific_heat.as_ref()
    });
    let outer_area_ratio = table.quantity("outer-area-ratio", Spec::exact(Dimension::Ratio));
    table.finish();
    Some(Surface {
        name: name.to_owned(),
        like: base.name(),
        preset_emissivity: matches!(base, Base::Preset(_)) && !table.has("emissivity"),
        emissivity: emissivity?,
        shared: shared.unwrap_or(matches!(&base, Base::Preset(base) if base.preset.shared)),
        wall,
        conductivity,
        density,
        specific_heat,
        outer_area_ratio,
        span: table.span.clone(),
    })
}

/// What a surface builds on.
enum Base {
    Nothing,
    /// Something that there is not.
    Unknown,
    Preset(Given),
}

impl Base {
    fn name(&self) -> Option<String> {
        match self {
            Self::Preset(given) => Some(given.preset.name.clone()),
            Self::Nothing | Self::Unknown => None,
        }
    }
}

/// A preset and where it is named.
struct Given {
    preset: &'static Preset,
    span: Span,
}

impl Given {
    /// A figure of the preset as a value of the surface: it has the place it would have if it were written out.
    fn give(&self, table: &Table<'_>, key: &str, figure: &Figure) -> Declared {
        Declared {
            place: table.place_of(key),
            dimension: figure.dimension,
            value: figure.value,
            law: figure.law,
            limits_assumed: false,
            sensor: None,
            written: figure.written.clone(),
            span: self.span.clone(),
        }
    }
}

fn base(table: &Table<'_>) -> Base {
    let Some(entry) = table.get("like") else {
        return Base::Nothing;
    };
    let Some(name) = table.text_of(&entry) else {
        return Base::Unknown;
    };
    let Some(preset) = surface::preset(name) else {
        let names = surface::presets().iter().map(|preset| preset.name.as_str());
        let mend = did_you_mean(name, names, "`endtank surfaces` explains them:");
        table.problem(entry.span(), format!("there is no preset `{name}`"), mend);
        return Base::Unknown;
    };
    Base::Preset(Given {
        preset,
        span: entry.span(),
    })
}

fn emissivity(table: &Table<'_>) -> Option<Emissivity> {
    let mend = "write it, for instance emissivity = \"0.94 ± 0.02\", \"from patch\", or take a preset: like = \"plastic-black\"";
    let entry = table.require("emissivity", mend)?;
    match entry.value.get_ref().as_str() {
        Some("from patch") => Some(Emissivity::FromPatch(entry.span())),
        Some("from contact") => Some(Emissivity::FromContact(entry.span())),
        Some(text) if text.trim_start().starts_with("from") => {
            let what = format!("unknown emissivity `{text}`");
            table.problem(
                entry.span(),
                what,
                "write a number, \"from patch\" or \"from contact\"",
            );
            None
        }
        _ => {
            let (low, high, words) = SHARE;
            let spec = Spec::measured(Dimension::Ratio).within(low, high, words);
            let declared = table.quantity_of(&entry, spec, table.place_of("emissivity"))?;
            Some(Emissivity::Stated(declared))
        }
    }
}
