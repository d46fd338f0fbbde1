//! Emissivities: stated, or solved from a patch or a contact probe.
//!
//! A solved emissivity is solved once per surface and cooler, from all its patches or contacts, and used wherever that
//! surface is (ASTM E1933 describes both ways; clauses not seen).

use std::collections::BTreeMap;

use super::reading::Source;
use super::{Reading, notes};
use crate::diagnostics::Problem;
use crate::model::{Builder, DetectorSlot, Domain, Slot};
use crate::session::{Contact, Emissivity, Role, Session, Span};

/// Emissivities that were solved, by surface and cooler; stated ones are made on demand.
#[derive(Debug, Default)]
pub(super) struct Emissivities {
    solved: BTreeMap<(usize, usize), Slot>,
}

impl Emissivities {
    /// Solves what is to be solved.
    ///
    /// # Errors
    /// A surface that is to be solved and has nothing to be solved from.
    pub(super) fn solve(
        session: &Session,
        readings: &[Reading],
        model: &mut Builder,
    ) -> Result<Self, Vec<Problem>> {
        let mut emissivities = Self::default();
        let mut problems = Vec::new();
        for (surface, entry) in session.surfaces.iter().enumerate() {
            for cooler in 0..session.coolers.len() {
                let used = readings
                    .iter()
                    .any(|reading| reading.surface == Some(surface) && reading.cooler == cooler);
                let solving = Solving {
                    session,
                    readings,
                    surface,
                    cooler,
                };
                let (ratios, problem) = match &entry.emissivity {
                    Emissivity::Stated(_) => continue,
                    _ if !used => continue,
                    Emissivity::FromPatch(span) => {
                        (solving.solved_on_patches(model), solving.no_patch(span))
                    }
                    Emissivity::FromContact(span) => {
                        (solving.solved_on_contacts(model), solving.no_contact(span))
                    }
                };
                if ratios.is_empty() {
                    problems.push(problem);
                } else {
                    emissivities
                        .solved
                        .insert((surface, cooler), model.mean(&ratios));
                }
            }
        }
        if problems.is_empty() {
            Ok(emissivities)
        } else {
            Err(problems)
        }
    }

    /// The emissivity of a surface on a cooler.
    pub(super) fn of(
        &self,
        session: &Session,
        surface: usize,
        cooler: usize,
        model: &mut Builder,
    ) -> Option<Slot> {
        match &session.surfaces.get(surface)?.emissivity {
            Emissivity::Stated(_) => stated(session, surface, cooler, model),
            _ => self.solved.get(&(surface, cooler)).copied(),
        }
    }

    /// Solved emissivities: surface, cooler, slot.
    pub(super) fn solved(&self) -> impl Iterator<Item = (usize, usize, Slot)> + '_ {
        self.solved
            .iter()
            .map(|(&(surface, cooler), &slot)| (surface, cooler, slot))
    }
}

/// A stated emissivity: one input per cooler, because no two coolers carry the same piece, unless the surface is shared.
pub(super) fn stated(
    session: &Session,
    surface: usize,
    cooler: usize,
    model: &mut Builder,
) -> Option<Slot> {
    let entry = session.surfaces.get(surface)?;
    let Emissivity::Stated(declared) = &entry.emissivity else {
        return None;
    };
    if entry.shared {
        return Some(model.declared_in(declared, Domain::Share));
    }
    let place = format!("{} ({})", declared.place, session.coolers[cooler].key);
    Some(model.input(&place, declared.value, declared.law, Domain::Share))
}

/// One surface of one cooler whose emissivity is to be solved.
#[derive(Clone, Copy)]
pub(super) struct Solving<'a> {
    pub(super) session: &'a Session,
    pub(super) readings: &'a [Reading],
    pub(super) surface: usize,
    pub(super) cooler: usize,
}

impl<'a> Solving<'a> {
    /// The tank's own readings on this surface that pass a test.
    fn beside(self, test: impl Fn(&Reading) -> bool) -> Vec<&'a Reading> {
        self.readings
            .iter()
            .filter(|reading| reading.role == Role::Tank && reading.cooler == self.cooler)
            .filter(|reading| reading.surface == Some(self.surface) && test(reading))
            .collect()
    }

    /// A ratio for every patch that lies on this surface in the picture.
    fn solved_on_patches(self, model: &mut Builder) -> Vec<Slot> {
        self.patches()
            .flat_map(|(patch, skins)| match self.own_signal(patch, model) {
                Some(own) => ratios(&skins, model, |_, _| own),
                None => Vec::new(),
            })
            .collect()
    }

    /// The patches that tell it, each with the tank's own readings beside it in the picture.
    pub(super) fn patches(self) -> impl Iterator<Item = (&'a Reading, Vec<&'a Reading>)> {
        self.readings
            .iter()
            .filter(move |reading| reading.role == Role::Patch && reading.cooler == self.cooler)
            .filter(move |patch| self.is_known(patch))
            .map(move |patch| {
                let skins = self.beside(|tank| {
                    tank.run == patch.run
                        && tank.tank == patch.tank
                        && snapshot(tank) == snapshot(patch)
                });
                (patch, skins)
            })
            .filter(|(_, skins)| !skins.is_empty())
    }

    /// Whether a patch's own emissivity is stated.
    fn is_known(self, patch: &Reading) -> bool {
        patch
            .surface
            .and_then(|surface| self.session.surfaces.get(surface))
            .is_some_and(|surface| matches!(surface.emissivity, Emissivity::Stated(_)))
    }

    /// The blackbody signal at a patch's temperature; `None` where its own emissivity is not stated.
    fn own_signal(self, patch: &Reading, model: &mut Builder) -> Option<Slot> {
        let emissivity = stated(self.session, patch.surface?, self.cooler, model)?;
        let reflected = model.signal(patch.detector, patch.reflected?);
        Some(model.skin_signal(patch.leaving, reflected, emissivity))
    }

    /// A ratio for every contact reading of a tank with this surface.
    fn solved_on_contacts(self, model: &mut Builder) -> Vec<Slot> {
        self.contacts()
            .flat_map(|(_, contact, skins)| {
                let kelvin = notes::contact(self.session, &contact.temperature, model);
                ratios(&skins, model, |model, detector| {
                    model.signal(detector, kelvin)
                })
            })
            .collect()
    }

    /// The contact readings that tell it, each with its run and the tank's own readings in that run.
    pub(super) fn contacts(self) -> impl Iterator<Item = (usize, &'a Contact, Vec<&'a Reading>)> {
        let runs = self
            .session
            .runs
            .iter()
            .enumerate()
            .filter(move |(_, run)| run.cooler == self.cooler);
        runs.flat_map(|(index, run)| run.contacts.iter().map(move |contact| (index, contact)))
            .filter(move |(_, contact)| {
                contact
                    .surface
                    .is_none_or(|surface| surface == self.surface)
            })
            .map(move |(index, contact)| {
                let skins =
                    self.beside(|tank| tank.run == index && tank.tank == Some(contact.tank));
                (index, contact, skins)
            })
            .filter(|(.., skins)| !skins.is_empty())
    }

    fn no_patch(self, span: &Span) -> Problem {
        let (surface, cooler) = self.names();
        let unstated = self
            .readings
            .iter()
            .filter(|reading| reading.role == Role::Patch && reading.cooler == self.cooler);
        let unstated = unstated
            .filter_map(|patch| self.session.surfaces.get(patch.surface?))
            .find(|surface| !matches!(surface.emissivity, Emissivity::Stated(_)));
        if let Some(patch) = unstated {
            return Problem::at(
                span.clone(),
                format!(
                    "the emissivity of `{surface}` on {cooler} is to come from a patch of `{}`, whose own emissivity is not stated",
                    patch.name
                ),
                format!(
                    "state the emissivity of `{}`, or name a preset with like = …",
                    patch.name
                ),
            );
        }
        Problem::at(
            span.clone(),
            format!(
                "the emissivity of `{surface}` on {cooler} is to come from a patch, but no picture has one beside it"
            ),
            "in a picture of that cooler mark a region { role = \"patch\", tank = …, surface = … } on the tank, and one of the \
             tank's own surface beside it; or state the emissivity",
        )
    }

    fn no_contact(self, span: &Span) -> Problem {
        let (surface, cooler) = self.names();
        Problem::at(
            span.clone(),
            format!(
                "the emissivity of `{surface}` on {cooler} is to come from a contact probe, but no run has such a reading"
            ),
            "add [[run.contact]] with tank and temperature to a run with a picture of that tank; or state the emissivity",
        )
    }

    fn names(self) -> (&'a str, &'a str) {
        (
            &self.session.surfaces[self.surface].name,
            &self.session.coolers[self.cooler].label,
        )
    }
}

/// The emissivities that make the skins as warm as the patch or probe beside them: one for each detector and reflected
/// temperature, because only their signals compare; `own` gives a detector's blackbody signal at the known temperature.
fn ratios(
    skins: &[&Reading],
    model: &mut Builder,
    own: impl Fn(&mut Builder, DetectorSlot) -> Slot,
) -> Vec<Slot> {
    let mut alike: Vec<(DetectorSlot, Slot, Vec<Slot>)> = Vec::new();
    for skin in skins {
        let Some(reflected) = skin.reflected else {
            continue;
        };
        match alike
            .iter_mut()
            .find(|(detector, mirrored, _)| (*detector, *mirrored) == (skin.detector, reflected))
        {
            Some((.., leaving)) => leaving.push(skin.leaving),
            None => alike.push((skin.detector, reflected, vec![skin.leaving])),
        }
    }
    let ratio = |(detector, reflected, leaving): (DetectorSlot, Slot, Vec<Slot>)| {
        let leaving = model.mean(&leaving);
        let mirrored = model.signal(detector, reflected);
        let known = own(model, detector);
        model.solved_emissivity(leaving, known, mirrored)
    };
    alike.into_iter().map(ratio).collect()
}

/// The snapshot that a reading is a region of.
pub(super) fn snapshot(reading: &Reading) -> Option<usize> {
    match reading.source {
        Source::Region { snapshot, .. } => Some(snapshot),
        Source::Pistol(_) => None,
    }
}
