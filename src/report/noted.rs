//! The outcome for people: pressures in the unit that the session's notes are written in, shares in per cent.
//!
//! Files for machines keep the units of the results; who reads gauges in psi gets a report in psi.

use crate::outcome::{Flip, Outcome, Q};
use crate::quantity::{QuantityId, Unit};
use crate::units::PSI;

/// Labels of the notes that say how pressures are read.
const PRESSURES: [&str; 3] = ["Inlet pressure", "Outlet pressure", "Differential pressure"];

/// kPa in a bar.
const BAR: f64 = 100.0;

/// Shares that are told in per cent.
const SHARES: [QuantityId; 2] = [QuantityId::PressureLoss, QuantityId::DensityGain];

/// The outcome with shares in per cent, and pressures in the unit of its notes unless these are in kPa, in several units or none.
#[must_use]
pub fn noted(outcome: &Outcome) -> Outcome {
    let mut noted = outcome.clone();
    let pressures = unit(outcome);
    let turn = |id: QuantityId, q: &mut Q| {
        if SHARES.contains(&id) {
            into(q, Unit::Percent, 0.01);
        } else if let Some((unit, kilopascals)) = pressures
            && q.unit == Unit::Kilopascal
        {
            into(q, unit, kilopascals);
        }
    };
    let results = &mut noted.results;
    for cooler in &mut results.coolers {
        for (id, q) in &mut cooler.quantities {
            turn(*id, q);
        }
    }
    for row in &mut results.comparison {
        turn(row.quantity, &mut row.baseline_value);
        turn(row.quantity, &mut row.candidate_value);
        turn(row.quantity, &mut row.difference);
        apart(&mut row.difference);
        if let (Some(flip), Some((unit, kilopascals))) = (&mut row.flip, pressures) {
            turn_flip(flip, unit, kilopascals);
        }
    }
    for budget in &mut results.budget {
        let id = budget.quantity;
        if let Some(advice) = &mut budget.advice {
            let after = advice.with_action.iter_mut();
            for q in std::iter::once(&mut advice.known_exactly).chain(after) {
                turn(id, q);
                apart(q);
            }
        }
    }
    noted
}

/// The unit of all noted tap pressures, and how many kPa it is.
fn unit(outcome: &Outcome) -> Option<(Unit, f64)> {
    let runs = outcome.conditions.iter();
    let notes = runs.flat_map(|run| &run.notes);
    let mut units = notes
        .filter(|(label, _)| PRESSURES.contains(&label.as_str()))
        .map(|(_, text)| Unit::of_note(text));
    let first = units.next()??;
    units
        .all(|other| other == Some(first))
        .then_some(first)
        .map(|unit| (unit, if unit == Unit::Bar { BAR } else { 1e-3 * PSI }))
}

/// Two per cents differ by percentage points.
fn apart(difference: &mut Q) {
    if difference.unit == Unit::Percent {
        difference.unit = Unit::Points;
    }
}

/// Writes a value in a unit, of which `step` of its own are one.
fn into(q: &mut Q, unit: Unit, step: f64) {
    q.unit = unit;
    q.value /= step;
    for part in [&mut q.low, &mut q.high, &mut q.standard_uncertainty]
        .into_iter()
        .flatten()
    {
        *part /= step;
    }
}

fn turn_flip(flip: &mut Flip, unit: Unit, kilopascals: f64) {
    if flip.unit != Unit::Kilopascal.symbol() {
        return;
    }
    unit.symbol().clone_into(&mut flip.unit);
    for part in [
        &mut flip.value,
        &mut flip.stated,
        &mut flip.standard_uncertainty,
    ] {
        *part /= kilopascals;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{fixture, terminal};

    fn with_notes(notes: &[&str]) -> Outcome {
        let mut outcome = fixture::outcome(true);
        for (run, note) in outcome.conditions.iter_mut().zip(notes) {
            run.notes
                .push(("Inlet pressure".to_owned(), (*note).to_owned()));
            run.notes
                .push(("Barometer".to_owned(), "14.6 psi".to_owned()));
        }
        outcome
    }

    #[test]
    fn pressures_are_told_in_the_unit_of_the_notes() {
        let outcome = with_notes(&["23.4 psi ± 0.1", "22.9 psi"]);
        let told = noted(&outcome);
        let of = |outcome: &Outcome| {
            let rows = outcome.results.comparison.iter();
            let mut rows = rows.filter(|row| row.quantity == QuantityId::PressureDrop);
            rows.next().unwrap().clone()
        };
        let (before, after) = (of(&outcome), of(&told));
        assert_eq!(after.difference.unit, Unit::PoundPerSquareInch);
        let ratio = before.difference.value / after.difference.value;
        assert!((ratio - 1e-3 * PSI).abs() < 1e-9, "{ratio}");
        let reach = before.difference.reach().unwrap() / after.difference.reach().unwrap();
        assert!((reach - 1e-3 * PSI).abs() < 1e-9, "{reach}");
        let text = terminal::summary(&told, None, 100, false, false);
        assert!(text.contains(" psi") && !text.contains(" kPa"), "{text}");
    }

    #[test]
    fn other_or_mixed_units_are_left_alone() {
        for notes in [
            ["148 kPa", "139 kPa"],
            ["23.4 psi", "1.4 bar"],
            ["148 kPa", "22 psi"],
        ] {
            let told = noted(&with_notes(&notes));
            let rows = told.results.comparison.iter();
            let units: Vec<Unit> = rows.map(|row| row.difference.unit).collect();
            assert!(units.contains(&Unit::Kilopascal), "{notes:?}");
            assert!(!units.contains(&Unit::Bar) && !units.contains(&Unit::PoundPerSquareInch));
        }
        let bar = with_notes(&["1.48 bar", "1.39 bar"]);
        let told = noted(&bar);
        let rows = told.results.comparison.iter();
        assert!(
            rows.map(|row| row.baseline_value.unit)
                .any(|unit| unit == Unit::Bar)
        );
    }
}
