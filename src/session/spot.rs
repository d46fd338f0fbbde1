//! `[[run.pistol]]` and `[[run.contact]]`: single numbers read at a tank.

use super::names::Names;
use super::picks::Instruments;
use super::reader::Table;
use super::region::TANKS;
use super::value::Spec;
use super::{Contact, Pistol, Tank};
use crate::units::Dimension;

fn tank(table: &Table<'_>) -> Option<Tank> {
    if !table.has("tank") {
        table.missing("tank", "write tank = \"inlet\" or tank = \"outlet\"");
    }
    table.word("tank", TANKS)
}

/// The surface named, if any; the outer `None` where it is named and does not exist.
fn surface<'t>(table: &Table<'t>, surfaces: &Names<'t>) -> Option<Option<usize>> {
    match table.get("surface") {
        Some(entry) => surfaces.find(table, &entry).map(Some),
        None => Some(None),
    }
}

pub(super) fn pistol<'t>(
    table: &Table<'t>,
    surfaces: &Names<'t>,
    instruments: &Instruments<'t>,
) -> Option<Pistol> {
    let temperature = Spec::measured(Dimension::Temperature);
    let length = Spec::exact(Dimension::Length);
    let tank = tank(table);
    let reading = table.require_quantity(
        "reading",
        temperature,
        "write what it showed, for instance reading = \"31 °C\"",
    );
    let distance = table.quantity("distance", length);
    let target = table.quantity("target", length);
    let surface = surface(table, surfaces);
    let reflected = table.quantity("reflected", temperature);
    let instrument = instruments.of(table, true);
    let at = table.quantity("at", Spec::exact(Dimension::Time).or_zero());
    table.finish();
    Some(Pistol {
        tank: tank?,
        reading: reading?,
        distance,
        target,
        surface: surface?,
        reflected,
        instrument: instrument?,
        at,
        span: table.span.clone(),
    })
}

pub(super) fn contact<'t>(table: &Table<'t>, surfaces: &Names<'t>) -> Option<Contact> {
    let tank = tank(table);
    let surface = surface(table, surfaces);
    let mend = "write what it read, for instance temperature = \"71.3 °C ± 1\"";
    let temperature =
        table.require_quantity("temperature", Spec::measured(Dimension::Temperature), mend);
    table.finish();
    Some(Contact {
        tank: tank?,
        surface: surface?,
        temperature: temperature?,
        span: table.span.clone(),
    })
}
