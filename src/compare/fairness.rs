//! Whether the coolers were measured like for like.

use super::{Evidence, SKIN_QUANTITIES, pressures};
use crate::caution::{Caution, CautionId};
use crate::quantity::QuantityId;
use crate::session::{Declared, Emissivity, Role, Run, Tank};
use crate::units::temperature::ZERO_CELSIUS;

/// Cooling air and ambient may differ by this, K.
const AIR_LIMIT: Limit = Limit::Absolute(3.0);
/// Engine speeds may differ by this share.
const ENGINE_SPEED_LIMIT: Limit = Limit::Relative(0.02);
/// Absolute inlet pressures may differ by this share.
const PRESSURE_LIMIT: Limit = Limit::Relative(0.05);
/// Charge-air flows may differ by this share.
const FLOW_LIMIT: Limit = Limit::Relative(0.03);
/// Holds may differ by this share.
const HOLD_LIMIT: Limit = Limit::Relative(0.25);
/// Skins before the load may differ by this, K.
const START_SKIN_LIMIT: Limit = Limit::Absolute(5.0);

/// The cautions about a candidate's conditions against the baseline's.
pub(super) fn cautions(evidence: &Evidence<'_>, candidate: usize) -> Vec<Caution> {
    let differences = unequal(evidence, candidate);
    let coolers = &evidence.session.coolers;
    let [label, baseline] =
        [candidate, evidence.session.baseline].map(|cooler| coolers[cooler].label.as_str());
    let mut cautions = Vec::new();
    if !differences.is_empty() {
        let message = format!(
            "not like for like with {baseline}: {}",
            differences.join("; ")
        );
        cautions.push(Caution::new(CautionId::UnequalConditions, label, message));
    }
    // Where nobody read the skins there is nothing that could be compared wrongly.
    let skins = |cooler| {
        let known = |&id: &QuantityId| evidence.central(cooler, id).is_some();
        SKIN_QUANTITIES.iter().any(known)
    };
    let read = skins(candidate) && skins(evidence.session.baseline);
    if read && evidence.skins_differ(candidate) {
        let message = format!(
            "its tanks differ in surface or wall from those of {baseline}: skin temperatures and their drop do not compare"
        );
        cautions.push(Caution::new(CautionId::SkinsDiffer, label, message));
    }
    cautions
}

/// What differs by more than its limit, in words with both figures.
fn unequal(evidence: &Evidence<'_>, candidate: usize) -> Vec<String> {
    let celsius = |kelvin: f64| format!("{:.1} °C", kelvin - ZERO_CELSIUS);
    let plain =
        |unit: &'static str, scale: f64| move |value: f64| format!("{:.0} {unit}", value * scale);
    let pair = |of: &dyn Fn(&Run) -> Option<&Declared>| means(evidence, candidate, of);
    let start = |tank: Tank| pair(&move |run| run.start_skin.get(tank).as_ref());
    let taps = [evidence.session.baseline, candidate]
        .map(|cooler| evidence.central(cooler, QuantityId::InletPressure));
    let noted = |pascal: f64| {
        let run = evidence.session.runs.first();
        run.map_or_else(String::new, |run| pressures::told(run, pascal))
    };
    let found = [
        beyond(
            "ambient",
            pair(&|run| Some(&run.conditions.ambient)),
            AIR_LIMIT,
            celsius,
        ),
        beyond(
            "cooling air",
            pair(&|run| Some(run.conditions.air_at_face())),
            AIR_LIMIT,
            celsius,
        )
        // Where no cooling air is stated it is the ambient: once is enough.
        .filter(|_| {
            evidence
                .session
                .runs
                .iter()
                .any(|run| run.conditions.cooling_air.is_some())
        }),
        beyond(
            "engine speed",
            pair(&|run| run.engine_speed.as_ref()),
            ENGINE_SPEED_LIMIT,
            plain("rpm", 1.0),
        ),
        beyond("absolute inlet pressure", both(taps), PRESSURE_LIMIT, noted),
        beyond(
            "air flow",
            pair(&|run| run.air_flow.as_ref()),
            FLOW_LIMIT,
            plain("g/s", 1e3),
        ),
        beyond(
            "hold",
            pair(&|run| run.hold.as_ref()),
            HOLD_LIMIT,
            plain("s", 1.0),
        ),
        beyond(
            "inlet skin before the load",
            start(Tank::Inlet),
            START_SKIN_LIMIT,
            celsius,
        ),
        beyond(
            "outlet skin before the load",
            start(Tank::Outlet),
            START_SKIN_LIMIT,
            celsius,
        ),
        otherwise("instrument", evidence, candidate, instruments),
        otherwise("tanks read", evidence, candidate, methods),
    ];
    found.into_iter().flatten().collect()
}

/// Means of a declared value over the baseline's and the candidate's runs that have it.
fn means(
    evidence: &Evidence<'_>,
    candidate: usize,
    of: &dyn Fn(&Run) -> Option<&Declared>,
) -> Option<[f64; 2]> {
    both([evidence.session.baseline, candidate].map(|cooler| {
        let runs = evidence
            .session
            .runs
            .iter()
            .filter(|run| run.cooler == cooler);
        let values: Vec<f64> = runs.filter_map(|run| Some(of(run)?.value)).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    }))
}

fn both([a, b]: [Option<f64>; 2]) -> Option<[f64; 2]> {
    Some([a?, b?])
}

/// By how much two means may differ.
#[derive(Debug, Clone, Copy)]
enum Limit {
    /// In their own unit.
    Absolute(f64),
    /// As a share of the baseline's.
    Relative(f64),
}

/// A difference that is just the limit as written must not exceed it by the rounding of a unit conversion.
const ROUNDING: f64 = 1.0 + 1e-9;

/// Differs by more than a limit.
fn beyond(
    what: &str,
    pair: Option<[f64; 2]>,
    limit: Limit,
    show: impl Fn(f64) -> String,
) -> Option<String> {
    let [baseline, candidate] = pair?;
    let limit = match limit {
        Limit::Absolute(limit) => limit,
        Limit::Relative(share) => share * baseline.abs(),
    };
    let differs = (candidate - baseline).abs() > limit * ROUNDING;
    differs.then(|| format!("{what} {} against {}", show(candidate), show(baseline)))
}

/// Differs in kind.
fn otherwise(
    what: &str,
    evidence: &Evidence<'_>,
    candidate: usize,
    words: impl Fn(&Evidence<'_>, usize) -> Vec<String>,
) -> Option<String> {
    let [baseline, candidate] =
        [evidence.session.baseline, candidate].map(|cooler| words(evidence, cooler));
    let differs = !baseline.is_empty() && !candidate.is_empty() && baseline != candidate;
    differs.then(|| {
        format!(
            "{what} “{}” against “{}”",
            candidate.join(" and "),
            baseline.join(" and ")
        )
    })
}

/// Names of the instruments that read a cooler's tanks.
fn instruments(evidence: &Evidence<'_>, cooler: usize) -> Vec<String> {
    let runs = evidence
        .session
        .runs
        .iter()
        .filter(|run| run.cooler == cooler);
    let used = runs.flat_map(|run| {
        let snapshots = run.snapshots.iter().map(|snapshot| snapshot.instrument);
        snapshots.chain(run.pistols.iter().map(|pistol| pistol.instrument))
    });
    let thermal = used.filter_map(|index| {
        let instrument = evidence.session.instruments.get(index)?;
        instrument.thermal().map(|_| instrument.name.clone())
    });
    distinct(thermal.collect())
}

/// How a cooler's tanks were read: on their own surface or on something put on them.
fn methods(evidence: &Evidence<'_>, cooler: usize) -> Vec<String> {
    let entry = &evidence.session.coolers[cooler];
    let tanks = evidence
        .readings
        .iter()
        .filter(|reading| reading.cooler == cooler && reading.role == Role::Tank);
    let words = tanks.filter_map(|reading| {
        let surface = reading.surface?;
        let known = match &evidence.session.surfaces[surface].emissivity {
            Emissivity::Stated(_) => "",
            Emissivity::FromPatch(_) => ", emissivity from a patch",
            Emissivity::FromContact(_) => ", emissivity from a contact probe",
        };
        Some(if surface == entry.surface(reading.tank?) {
            format!("on their own surface{known}")
        } else {
            format!("on {}{known}", evidence.session.surfaces[surface].name)
        })
    });
    distinct(words.collect())
}

fn distinct(mut words: Vec<String>) -> Vec<String> {
    words.sort_unstable();
    words.dedup();
    words
}
