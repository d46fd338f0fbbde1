//! Which instrument a picture or pistol reading was taken with.

use std::cell::Cell;

use super::names::Names;
use super::reader::Table;

/// What can be seen of an instrument before it is read.
pub(super) struct Traits {
    gauge: bool,
    pistol: bool,
}

impl Traits {
    pub fn of(table: &Table<'_>) -> Self {
        Self {
            gauge: table.has("measures"),
            pistol: table.has("distance-ratio"),
        }
    }
}

/// The session's instruments, to choose from.
pub(super) struct Instruments<'t> {
    names: Names<'t>,
    traits: Vec<Traits>,
    /// Said once, not for every picture.
    none_said: Cell<bool>,
}

impl<'t> Instruments<'t> {
    pub fn new(names: Vec<&'t str>, traits: Vec<Traits>) -> Self {
        Self {
            names: Names::new("instrument", names),
            traits,
            none_said: Cell::new(false),
        }
    }

    /// The instrument of a picture or, where `pistol`, of a pistol reading: the one named, else the only one of its
    /// kind (a pistol states its distance ratio), else the only thermal one.
    pub fn of(&self, table: &Table<'t>, pistol: bool) -> Option<usize> {
        if let Some(entry) = table.get("instrument") {
            let found = self.names.find(table, &entry)?;
            let gauge = self.traits.get(found).is_some_and(|traits| traits.gauge);
            if gauge {
                let what = "this instrument is a gauge: it reads notes, not radiation";
                table.problem(entry.span(), what, "name a thermal instrument");
            }
            return (!gauge).then_some(found);
        }
        let among = |fits: &dyn Fn(&Traits) -> bool| -> Vec<usize> {
            let indices = self.traits.iter().enumerate();
            indices
                .filter(|(_, traits)| fits(traits))
                .map(|(at, _)| at)
                .collect()
        };
        let thermal = among(&|traits| !traits.gauge);
        let kind = among(&|traits| !traits.gauge && traits.pistol == pistol);
        match (kind.as_slice(), thermal.as_slice()) {
            ([only], _) | ([], [only]) => Some(*only),
            ([], []) => {
                if !self.none_said.replace(true) {
                    let mend = "add [instrument.camera] with its emissivity setting";
                    table.absent("the session has no thermal instrument", mend);
                }
                None
            }
            _ => {
                let what = "several instruments could have taken this";
                table.problem(table.span.clone(), what, "name the one: instrument = \"…\"");
                None
            }
        }
    }
}
