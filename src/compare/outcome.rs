//! Puts the outcome together, in the units of the face.

use std::collections::BTreeMap;

use super::{Evidence, budget, cautions, flip, grounds, intervals, primary, pulls, verdict};
use crate::caution::{Caution, CautionId};
use crate::correct::{self, Reading, Source};
use crate::model::Slot;
use crate::outcome::{
    Comparison, CoolerResult, InputFile, Outcome, Picture, Q, Reading as ReadingResult, Results,
    RunConditions,
};
use crate::quantity::{QuantityId, Unit};
use crate::session::{Declared, Run};
use crate::uncertainty::Interval;
use crate::units::temperature::ZERO_CELSIUS;

/// Version of the layout of `results.json`.
const SCHEMA: u32 = 1;

pub(super) fn assemble(evidence: &Evidence<'_>, inputs: Vec<InputFile>) -> Outcome {
    let session = evidence.session;
    let mut all_cautions = Vec::new();
    let readings = evidence
        .readings
        .iter()
        .enumerate()
        .map(|(index, reading)| reading_result(evidence, index, reading, &mut all_cautions))
        .collect();
    let coolers = (0..session.coolers.len())
        .map(|cooler| cooler_result(evidence, cooler, &mut all_cautions))
        .collect();
    all_cautions.extend(cautions::of_session(evidence));
    let results = Results {
        schema: SCHEMA,
        endtank: env!("CARGO_PKG_VERSION").to_owned(),
        title: session.title.clone(),
        baseline: session.coolers[session.baseline].key.clone(),
        primary: primary(session, evidence.quantities),
        inputs,
        seed: evidence.settings.seed,
        draws: evidence.settings.draws,
        readings,
        coolers,
        comparison: comparisons(evidence),
        budget: budget::of_session(evidence),
        cautions: all_cautions,
        settling: grounds::series(evidence),
        pulls: pulls::of_session(session),
    };
    Outcome {
        grounds: grounds::sentences(evidence),
        conditions: session
            .runs
            .iter()
            .map(|run| run_conditions(evidence, run))
            .collect(),
        pictures: pictures(evidence),
        between_runs: intervals::deviations(session, evidence.quantities, evidence.central),
        results,
    }
}

/// A central value with how sure it is, both from the engine's base unit; `None` where draws without a solution reach into
/// the interval's lower tail, so that the value must be withheld.
fn sure(value: f64, interval: &Interval, from_base: impl Fn(f64) -> f64, unit: Unit) -> Option<Q> {
    let (low, high) = interval.ends?;
    // Units differ by scale and offset; a spread keeps only the scale.
    let scale = from_base(1.0) - from_base(0.0);
    let standard = interval.standard * scale;
    let central = from_base(value);
    // What is exact has no interval to speak of: not even that of a bin's width.
    let (low, high) = if standard == 0.0 {
        (central, central)
    } else {
        (from_base(low), from_base(high))
    };
    Some(Q {
        value: central,
        unit,
        low: Some(low),
        high: Some(high),
        standard_uncertainty: Some(standard),
    })
}

/// A value of a reading in the unit it is reported in.
pub(super) fn of_slot(evidence: &Evidence<'_>, slot: Slot, unit: Unit) -> Option<Q> {
    let value = evidence.central.get(slot)?;
    sure(
        value,
        evidence.intervals.of_slot(slot)?,
        |base| unit.from_base(base),
        unit,
    )
}

/// A cooler's quantity in the unit it is reported in.
pub(super) fn of_cooler(evidence: &Evidence<'_>, cooler: usize, id: QuantityId) -> Option<Q> {
    let value = evidence.central(cooler, id)?;
    sure(
        value,
        evidence.intervals.of_cooler(cooler, id)?,
        |base| id.unit().from_base(base),
        id.unit(),
    )
}

fn reading_result(
    evidence: &Evidence<'_>,
    index: usize,
    reading: &Reading,
    all: &mut Vec<Caution>,
) -> ReadingResult {
    let session = evidence.session;
    let run = &session.runs[reading.run];
    let (source, region) = match reading.source {
        Source::Region { snapshot, region } => {
            let snapshot = &run.snapshots[snapshot];
            (snapshot.file.clone(), snapshot.regions[region].name.clone())
        }
        Source::Pistol(index) => (
            "pistol".to_owned(),
            run.pistols[index].tank.word().to_owned(),
        ),
    };
    let found = cautions::of_reading(evidence, reading);
    let kinds = kinds(&found);
    all.extend(found);
    ReadingResult {
        cooler: session.coolers[reading.cooler].key.clone(),
        run: run.name.clone(),
        source,
        region,
        role: reading.role.word().to_owned(),
        tank: reading.tank.map(|tank| tank.word().to_owned()),
        surface: reading
            .surface
            .map(|surface| session.surfaces[surface].name.clone()),
        emissivity: reading
            .emissivity
            .and_then(|slot| of_slot(evidence, slot, Unit::One)),
        emissivity_origin: correct::emissivity_origin(session, evidence.readings, reading),
        reflected: reading
            .reflected
            .and_then(|slot| of_slot(evidence, slot, Unit::Celsius)),
        pixels: reading.pixels.map(|(valid, _)| valid),
        invalid_pixels: reading.pixels.map(|(_, invalid)| invalid),
        shown: reading.shown,
        apparent: reading.apparent - ZERO_CELSIUS,
        surface_temperature: reading
            .skin
            .and_then(|slot| of_slot(evidence, slot, Unit::Celsius)),
        charge_air: evidence
            .inferred
            .charge
            .get(index)
            .copied()
            .flatten()
            .and_then(|slot| of_slot(evidence, slot, Unit::Celsius)),
        cautions: kinds,
    }
}

/// The kinds of some cautions, each once, in the order of the table.
fn kinds(cautions: &[Caution]) -> Vec<CautionId> {
    let mut kinds: Vec<CautionId> = cautions.iter().map(|caution| caution.id).collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

fn cooler_result(evidence: &Evidence<'_>, cooler: usize, all: &mut Vec<Caution>) -> CoolerResult {
    let entry = &evidence.session.coolers[cooler];
    let known = evidence.quantities.of_cooler(cooler).into_iter().flatten();
    let quantities: BTreeMap<QuantityId, Q> = known
        .filter_map(|(&id, _)| Some((id, of_cooler(evidence, cooler, id)?)))
        .collect();
    let found = cautions::of_cooler(evidence, cooler);
    let kinds = kinds(&found);
    all.extend(found);
    CoolerResult {
        cooler: entry.key.clone(),
        label: entry.label.clone(),
        runs: evidence
            .session
            .runs
            .iter()
            .filter(|run| run.cooler == cooler)
            .count(),
        quantities,
        cautions: kinds,
    }
}

/// A row for every quantity that a candidate and the baseline both have, with what would change its verdict.
fn comparisons(evidence: &Evidence<'_>) -> Vec<Comparison> {
    let rows: Vec<(usize, Comparison)> = evidence
        .candidates()
        .flat_map(|candidate| QuantityId::ALL.iter().map(move |&id| (candidate, id)))
        .filter_map(|(candidate, id)| Some((candidate, comparison(evidence, candidate, id)?)))
        .collect();
    let flips = flip::points(evidence, &rows);
    rows.into_iter()
        .zip(flips)
        .map(|((_, row), flip)| Comparison { flip, ..row })
        .collect()
}

/// The difference of two values of a unit: it keeps the unit's scale and loses its offset.
pub(super) fn difference(unit: Unit, value: f64, interval: &Interval) -> Option<Q> {
    sure(
        value,
        interval,
        |base| unit.from_base(base) - unit.from_base(0.0),
        unit.of_difference(),
    )
}

fn comparison(evidence: &Evidence<'_>, candidate: usize, id: QuantityId) -> Option<Comparison> {
    let baseline = evidence.session.baseline;
    let unit = id.unit();
    let difference = evidence.central(candidate, id)? - evidence.central(baseline, id)?;
    let interval = evidence.intervals.of_difference(candidate, id)?;
    let difference = self::difference(unit, difference, interval)?;
    Some(Comparison {
        quantity: id,
        candidate: evidence.session.coolers[candidate].key.clone(),
        baseline_value: of_cooler(evidence, baseline, id)?,
        candidate_value: of_cooler(evidence, candidate, id)?,
        verdict: Some(verdict::of(evidence, candidate, id, &difference)),
        difference,
        flip: None,
    })
}

/// A run's conditions and notes as the technician wrote them.
fn run_conditions(evidence: &Evidence<'_>, run: &Run) -> RunConditions {
    let conditions = &run.conditions;
    let declared: [(&str, Option<&Declared>); 15] = [
        ("Ambient", Some(&conditions.ambient)),
        ("Cooling air", conditions.cooling_air.as_ref()),
        ("Reflected", conditions.reflected.as_ref()),
        ("Barometer", conditions.barometer.as_ref()),
        (
            "Transmittance of the air path",
            conditions.transmittance.as_ref(),
        ),
        ("Engine speed", run.engine_speed.as_ref()),
        ("Hold", run.hold.as_ref()),
        ("Inlet skin before the load", run.start_skin.inlet.as_ref()),
        (
            "Outlet skin before the load",
            run.start_skin.outlet.as_ref(),
        ),
        ("Inlet pressure", run.pressure.inlet.as_ref()),
        ("Outlet pressure", run.pressure.outlet.as_ref()),
        ("Differential pressure", run.differential_pressure.as_ref()),
        ("Intake-air sensor", run.intake_air.as_ref()),
        ("Air flow", run.air_flow.as_ref()),
        ("Inlet air probe", run.air.inlet.as_ref()),
    ];
    let mut notes: Vec<(String, String)> = declared
        .into_iter()
        .filter_map(|(label, value)| Some((label.to_owned(), value?.written.clone())))
        .collect();
    if let Some(probe) = &run.air.outlet {
        notes.push(("Outlet air probe".to_owned(), probe.written.clone()));
    }
    if let Some(change) = &run.change {
        notes.push(("Also changed".to_owned(), change.clone()));
    }
    RunConditions {
        cooler: evidence.session.coolers[run.cooler].key.clone(),
        run: run.name.clone(),
        cooling_air: Some(run.conditions.air_at_face().value - ZERO_CELSIUS),
        notes,
    }
}

/// What each picture shows.
fn pictures(evidence: &Evidence<'_>) -> Vec<Picture> {
    let mut names: Vec<String> = Vec::new();
    evidence
        .pictures
        .iter()
        .map(|picture| {
            let file = evidence.session.runs[picture.run].snapshots[picture.snapshot].file.clone();
            let annotated = unique_name(&file, &names);
            names.push(annotated.clone());
            let of_picture = evidence.readings.iter().enumerate().filter(|(_, reading)| {
                reading.run == picture.run
                    && matches!(reading.source, Source::Region { snapshot, .. } if snapshot == picture.snapshot)
            });
            Picture {
                file,
                run: picture.run,
                snapshot: picture.snapshot,
                annotated,
                sha256: picture.sha256.clone(),
                readings: of_picture.map(|(index, _)| index).collect(),
            }
        })
        .collect()
}

/// The annotated picture's file name: that of the picture, without folders, told apart where names repeat.
fn unique_name(file: &str, taken: &[String]) -> String {
    let stem: String = std::path::Path::new(file)
        .with_extension("")
        .to_string_lossy()
        .chars()
        .map(|letter| {
            if letter.is_alphanumeric() || "-_. ".contains(letter) {
                letter
            } else {
                '-'
            }
        })
        .collect();
    let free = |name: &String| !taken.iter().any(|other| other.eq_ignore_ascii_case(name));
    let candidates = (1..).map(|count| {
        if count == 1 {
            format!("{stem}.png")
        } else {
            format!("{stem}-{count}.png")
        }
    });
    candidates.into_iter().find(free).unwrap_or_default()
}
