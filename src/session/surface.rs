//! `[surface.NAME]`: a tank's material and finish.

use super::reader::Table;
use super::value::{SHARE, Spec};
use super::{Emissivity, Surface};
use crate::units::Dimension;

pub(super) fn read(name: &str, table: &Table<'_>) -> Option<Surface> {
    let like = table.text("like");
    let emissivity = emissivity(table, like.as_deref());
    let shared = table.flag("shared").unwrap_or(false);
    let wall = table.quantity("wall", Spec::measured(Dimension::Length));
    let conductivity = table.quantity("conductivity", Spec::measured(Dimension::Conductivity));
    let density = table.quantity("density", Spec::measured(Dimension::Density));
    let specific_heat = table.quantity("specific-heat", Spec::measured(Dimension::SpecificHeat));
    let outer_area_ratio = table.quantity("outer-area-ratio", Spec::exact(Dimension::Ratio));
    table.finish();
    Some(Surface {
        name: name.to_owned(),
        like,
        emissivity: emissivity?,
        shared,
        wall,
        conductivity,
        density,
        specific_heat,
        outer_area_ratio,
        span: table.span.clone(),
    })
}

fn emissivity(table: &Table<'_>, like: Option<&str>) -> Option<Emissivity> {
    let mend = match like {
        Some(_) => {
            "this version does not fill it in from `like` yet: write it, for instance emissivity = \"0.94 ± 0.02\""
        }
        None => "write it, for instance emissivity = \"0.94 ± 0.02\", or \"from patch\"",
    };
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
