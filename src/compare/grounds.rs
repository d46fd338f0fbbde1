//! What the figures about the charge air rest on, and what is missing for those that are not there: sentences for the
//! report.

use super::drift::Trend;
use super::performance::{Air, Basis};
use super::{Evidence, pressures};
use crate::heat::flow;
use crate::infer::Settling;
use crate::outcome::{Point, SettlingSeries};
use crate::quantity::{QuantityId, Unit};
use crate::session::{Run, Tank};
use crate::units::temperature::ZERO_CELSIUS;

/// The sentences, each once, in the order of the coolers.
pub(super) fn sentences(evidence: &Evidence<'_>) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    if let Some(basis) = evidence.quantities.basis {
        found.push(format!("The effectiveness rests on {}.", basis.words()));
        found.extend(poorer(evidence, basis));
        let charge = |cooler| evidence.central(cooler, QuantityId::ChargeDrop).is_some();
        if !(0..evidence.session.coolers.len()).any(charge) {
            found.push(
                "Without charge air there is no density ratio, no heat rejected and no transfer units."
                    .to_owned(),
            );
        }
        found.extend(one_film(basis));
    }
    found.extend(cooling_air_assumed(evidence));
    for cooler in 0..evidence.session.coolers.len() {
        found.extend(of_cooler(evidence, cooler));
    }
    if evidence
        .session
        .runs
        .iter()
        .any(|run| transfers(evidence, run))
    {
        found.push(
            "NTU and UA take the cooling air's capacity rate as infinite where `cooling-air-flow` is not stated."
                .to_owned(),
        );
    }
    found.extend(super::pulls::sentences(evidence.session));
    found.extend(drifts(evidence));
    let mut once: Vec<String> = Vec::new();
    for sentence in found {
        if !once.contains(&sentence) {
            once.push(sentence);
        }
    }
    once
}

/// What the way through the wall takes for granted of the inside.
fn one_film(basis: Basis) -> Option<String> {
    let Basis::Air(air) = basis else { return None };
    let walls = Tank::BOTH.iter().all(|tank| *air.get(*tank) == Air::Wall);
    walls.then(|| {
        "Through the wall, both tanks of a cooler are taken to have the same film of air inside, so that its doubt hardly enters \
         the effectiveness. Where the air enters one tank as a jet that is not quite so; probes in the air stream do without it."
            .to_owned()
    })
}

/// The cooling air where nobody wrote it down.
fn cooling_air_assumed(evidence: &Evidence<'_>) -> Option<String> {
    let mut runs = evidence.session.runs.iter();
    runs.any(|run| run.conditions.cooling_air.is_none()).then(|| {
        "The air at the coolers' face is taken to be as warm as the shop, because `cooling-air` is not stated. It is often warmer; \
         a thermometer in front of the cooler tells."
            .to_owned()
    })
}

/// A series of readings on the way to the steady skin goes into the skins as it was read.
fn series_in_the_mean(evidence: &Evidence<'_>, cooler: usize, tank: Tank) -> Option<String> {
    let runs = evidence.session.runs.iter().zip(&evidence.inferred.tanks);
    let series: Vec<&str> = runs
        .filter(|(run, tanks)| {
            run.cooler == cooler && matches!(tanks.get(tank).settling, Settling::Fitted(_))
        })
        .map(|(run, _)| run.name.as_str())
        .collect();
    (!series.is_empty()).then(|| {
        format!(
            "The {} tank's skin of {} is the mean of what was read, in {} of a skin still on its way; the charge air follows from \
             where it was going.",
            tank.word(),
            evidence.session.coolers[cooler].label,
            series.join(" and ")
        )
    })
}

/// Which coolers hold the others back: those that have nothing better, where others have.
fn poorer(evidence: &Evidence<'_>, basis: Basis) -> Option<String> {
    let better = |cooler: usize| {
        let mut runs = evidence.session.runs.iter().zip(&evidence.inferred.tanks);
        runs.any(|(run, tanks)| {
            run.cooler == cooler
                && Basis::best_of(tanks, evidence.central)
                    .is_some_and(|best| best.is_better_than(basis))
        })
    };
    let coolers = &evidence.session.coolers;
    let (with, without): (Vec<usize>, Vec<usize>) =
        (0..coolers.len()).partition(|&cooler| better(cooler));
    let names = |those: &[usize]| {
        let labels: Vec<&str> = those
            .iter()
            .map(|&cooler| coolers[cooler].label.as_str())
            .collect();
        labels.join(" and ")
    };
    (!with.is_empty() && !without.is_empty()).then(|| {
        format!(
            "There is better evidence for {}, but not for {}, and all have to be told by the same.",
            names(&with),
            names(&without)
        )
    })
}

/// Runs whose charge air follows from the skin by the ratio that a probe showed in other runs.
fn calibrated(evidence: &Evidence<'_>, cooler: usize, tank: Tank) -> Option<String> {
    let runs = evidence.session.runs.iter().zip(&evidence.inferred.tanks);
    let runs: Vec<&str> = runs
        .filter(|(run, tanks)| run.cooler == cooler && tanks.get(tank).calibrated.is_some())
        .map(|(run, _)| run.name.as_str())
        .collect();
    (!runs.is_empty()).then(|| {
        format!(
            "In {} the charge air at the {} of {} follows from the skin, by the ratio of skin to air that its probe showed in the \
             other runs.",
            runs.join(" and "),
            tank.word(),
            evidence.session.coolers[cooler].label
        )
    })
}

/// A tank that was neither read nor probed, where the other was.
fn unread(evidence: &Evidence<'_>, cooler: usize) -> Option<String> {
    let read = |tank: Tank| {
        let mut runs = evidence.session.runs.iter().zip(&evidence.inferred.tanks);
        runs.any(|(run, tanks)| {
            let state = tanks.get(tank);
            run.cooler == cooler && (state.skin.is_some() || state.probe.is_some())
        })
    };
    let tank = match Tank::BOTH.map(read) {
        [true, false] => Tank::Outlet,
        [false, true] => Tank::Inlet,
        _ => return None,
    };
    Some(format!(
        "For drop and effectiveness of {} there is missing: a reading of its {} tank.",
        evidence.session.coolers[cooler].label,
        tank.word()
    ))
}

/// The drifts that were taken out.
fn drifts(evidence: &Evidence<'_>) -> Vec<String> {
    let drift = |(id, trend): (&QuantityId, &Trend)| {
        let unit = id.unit().of_difference();
        let hourly = |base: f64| 3600.0 * (unit.from_base(base) - unit.from_base(0.0));
        let (slope, standard) = (hourly(trend.slope), hourly(trend.standard));
        let symbol = match unit {
            Unit::One => String::new(),
            unit => format!(" {}", unit.symbol()),
        };
        let way = if slope < 0.0 { "fell" } else { "rose" };
        let slope = slope.abs();
        format!(
            "Over the session “{}” {way} by {slope:.2}{symbol} an hour (standard uncertainty {standard:.2}), whichever cooler was \
             fitted. Such a drift was taken out of every figure by a straight line in time, and its doubt kept.",
            id.label()
        )
    };
    let primary = super::primary(evidence.session, evidence.quantities);
    let trends = &evidence.quantities.trends;
    trends
        .get_key_value(&primary)
        .map(drift)
        .into_iter()
        .collect()
}

/// Whether a run has transfer units without a stated flow of cooling air.
fn transfers(evidence: &Evidence<'_>, run: &Run) -> bool {
    run.conditions.cooling_air_flow.is_none()
        && evidence.central(run.cooler, QuantityId::Ntu).is_some()
}

fn of_cooler(evidence: &Evidence<'_>, cooler: usize) -> Vec<String> {
    let entry = &evidence.session.coolers[cooler];
    let mut found = Vec::new();
    let runs = || {
        let runs = evidence.session.runs.iter().zip(&evidence.inferred.tanks);
        runs.filter(move |(run, _)| run.cooler == cooler)
    };
    found.extend(unread(evidence, cooler));
    let lacking = Tank::BOTH.map(|tank| {
        let mut states = runs().map(|(_, tanks)| tanks.get(tank));
        let state = states.find(|state| state.skin.is_some() && !state.missing.is_empty())?;
        (state.charge().is_none()).then(|| state.missing.join("; "))
    });
    let through = |tanks: &str, missing: &String| {
        format!(
            "The charge air at the {tanks} of {} cannot be worked out through the wall. There is missing: {missing}.",
            entry.label
        )
    };
    match &lacking {
        [Some(inlet), Some(outlet)] if inlet == outlet => {
            found.push(through("inlet and outlet", inlet));
        }
        both => {
            for (tank, missing) in Tank::BOTH.iter().zip(both) {
                found.extend(
                    missing
                        .as_ref()
                        .map(|missing| through(tank.word(), missing)),
                );
            }
        }
    }
    for tank in Tank::BOTH {
        found.extend(calibrated(evidence, cooler, tank));
        found.extend(series_in_the_mean(evidence, cooler, tank));
    }
    let known = |id| evidence.central(cooler, id).is_some();
    if known(QuantityId::ChargeDrop) {
        let mut lacks = |missing: bool, what: &str, key: &str| {
            if missing {
                found.push(format!(
                    "For {what} of {} there is missing: {key}.",
                    entry.label
                ));
            }
        };
        let flow = runs().any(|(run, _)| run.air_flow.is_some());
        lacks(
            !flow,
            "heat rejected, UA and the loss coefficient",
            "`air-flow`",
        );
        let pressures = known(QuantityId::InletPressure) && known(QuantityId::OutletPressure);
        lacks(
            !pressures,
            "the densities",
            "`inlet-pressure` and `outlet-pressure`",
        );
    }
    found.extend(dynamic(evidence, cooler));
    found
}

/// The part of the pressure that taps in the wall do not read: it differs where the pipe behind the cooler is of another
/// width than the one before it, and where the air is thinner.
fn dynamic(evidence: &Evidence<'_>, cooler: usize) -> Option<String> {
    let entry = &evidence.session.coolers[cooler];
    let diameter = |tank| {
        let pipe = entry.pipes.get(tank).as_ref();
        pipe.or(entry.tank_diameter.as_ref())
    };
    let mut runs = evidence.session.runs.iter();
    let run = runs.find(|run| run.cooler == cooler && run.air_flow.is_some())?;
    let flow = run.air_flow.as_ref()?.value;
    let at = |tank: Tank| {
        let id = match tank {
            Tank::Inlet => QuantityId::InletDensity,
            Tank::Outlet => QuantityId::OutletDensity,
        };
        let density = evidence.central(cooler, id)?;
        let dynamic = flow::dynamic_pressure(flow, diameter(tank)?.value, density);
        Some((diameter(tank)?, dynamic))
    };
    let ((inlet, before), (outlet, behind)) = (at(Tank::Inlet)?, at(Tank::Outlet)?);
    let told = |pascal: f64| pressures::told(run, pascal);
    let moving = format!(
        "The taps of {} read static pressure; the moving air adds {} at the inlet ({}) and {} at the outlet ({})",
        entry.label,
        told(before),
        inlet.written,
        told(behind),
        outlet.written
    );
    let held = before - behind;
    Some(if inlet.value == outlet.value {
        format!("{moving}.")
    } else if held > 0.0 {
        format!(
            "{moving}, because the pipes at the two taps differ in width: the loss of total pressure is {} more than the pressure drop \
             says.",
            told(held)
        )
    } else {
        format!(
            "{moving}, because the pipes at the two taps differ in width: the loss of total pressure is {} less than the pressure drop \
             says.",
            told(-held)
        )
    })
}

/// The series that were fitted, in the units of the face.
pub(super) fn series(evidence: &Evidence<'_>) -> Vec<SettlingSeries> {
    let mut found = Vec::new();
    for (run, tanks) in evidence.session.runs.iter().zip(&evidence.inferred.tanks) {
        for tank in Tank::BOTH {
            let state = tanks.get(tank);
            let Settling::Fitted(series) = &state.settling else {
                continue;
            };
            let points = series.points.iter().map(|&(time, kelvin)| Point {
                time,
                skin: kelvin - ZERO_CELSIUS,
            });
            found.push(SettlingSeries {
                cooler: evidence.session.coolers[run.cooler].key.clone(),
                run: run.name.clone(),
                tank: tank.word().to_owned(),
                points: points.collect(),
                steady: state
                    .steady
                    .and_then(|slot| super::outcome::of_slot(evidence, slot, Unit::Celsius)),
                amplitude: series.fit.missing,
                time_constant: series.fit.time_constant,
            });
        }
    }
    found
}
