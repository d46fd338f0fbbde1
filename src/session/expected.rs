//! `expect = { … }` of a run: what its skins are expected to be, before anything is measured.

use super::names::Names;
use super::picks::Instruments;
use super::reader::Table;
use super::value::Spec;
use super::{Declared, PerTank, Span, Tank};
use crate::units::Dimension;

/// What is expected of a run before it is measured.
#[derive(Debug, Clone)]
pub struct Expected {
    /// Skins of the tanks, K.
    pub skin: PerTank<Option<Declared>>,
    /// The surface that will be read; the tank's own where not stated.
    pub surface: Option<usize>,
    /// What it will be read with; an index into the session's instruments, always a thermal one.
    pub instrument: usize,
    /// Where it stands.
    pub span: Span,
}

/// Reads the key; the outer `None` where it is there and not sound.
pub(super) fn read<'t>(
    run: &Table<'t>,
    surfaces: &Names<'t>,
    instruments: &Instruments<'t>,
) -> Option<Option<Expected>> {
    let Some(entry) = run.get("expect") else {
        return Some(None);
    };
    let table = run.table("expect")?;
    let mut skin = PerTank::default();
    for tank in Tank::BOTH {
        *skin.get_mut(tank) = table.quantity(tank.word(), Spec::exact(Dimension::Temperature));
    }
    let surface = match table.get("surface") {
        Some(entry) => surfaces.find(&table, &entry).map(Some),
        None => Some(None),
    };
    let instrument = instruments.of(&table, false);
    if !table.has("inlet") && !table.has("outlet") {
        let mend = "write the skins that you expect, for instance expect = { inlet = \"70 °C\", outlet = \"33 °C\" }";
        table.problem(entry.span(), "`expect` names no tank", mend);
    }
    table.finish();
    Some(Some(Expected {
        skin,
        surface: surface?,
        instrument: instrument?,
        span: entry.span(),
    }))
}
