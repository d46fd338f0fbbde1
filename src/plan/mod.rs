//! What a session would tell if it were measured: the interval of each quantity, the chance of a verdict, and what else to
//! do for more of either.
//!
//! There is one model. What a run is expected to read goes through the same stages as what was read; a better session is
//! one of [`crate::advise`], put together in memory.

mod expected;

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::advise::{self, Improvement};
use crate::compare::{self, Chances};
use crate::correct::{Detectors, correct};
use crate::diagnostics::Problem;
use crate::infer::infer;
use crate::measure::PictureMeasurement;
use crate::outcome::{Outcome, Q};
use crate::quantity::{QuantityId, Unit};
use crate::session::{BetweenRuns, Declared, Scatter, Session};
use crate::uncertainty::Settings;
use crate::units::{Dimension, Law};

/// Draws that are usually made of a session and of each that is better: chances are told in whole per cent, intervals in
/// two digits.
pub const DRAWS: u64 = 20_000;

/// Standard deviation between repeated holds where neither the session states it nor its runs show it: of tank
/// temperatures, K (common practice, no source).
const ASSUMED_SCATTER: f64 = 0.5;

/// The same of tap pressures, Pa (common practice, no source).
const ASSUMED_PRESSURE_SCATTER: f64 = 300.0;

/// What a session would tell.
#[derive(Debug, Clone)]
pub struct Plan {
    /// As if the session had read what is expected, with the scatter between runs that is to be expected.
    pub outcome: Outcome,
    /// The chances of the verdicts, by candidate (an index into the session's coolers) and quantity.
    pub chances: Chances,
    /// What else could be done, the greatest gain first.
    pub options: Vec<Choice>,
    /// Standard deviation between holds that was assumed for want of any other, K; `None` where none was.
    pub assumed_scatter: Option<f64>,
}

/// What one improvement would do for the answer about one candidate.
#[derive(Debug, Clone)]
pub struct Choice {
    /// What to do.
    pub improvement: Improvement,
    /// The candidate's key.
    pub candidate: String,
    /// The quantity that would then answer.
    pub primary: QuantityId,
    /// Its difference.
    pub difference: Q,
    /// The chance of a verdict on it.
    pub chance: f64,
}

/// Plans a session.
///
/// `pictures` are the measurements of the runs that do not only state what is expected. Of `settings` the draws should be few,
/// [`DRAWS`] for instance: all of them are in memory at once.
///
/// # Errors
/// Every reading that has no solution, and every surface of whose reading there is no telling.
pub fn plan(
    session: &Session,
    pictures: Vec<PictureMeasurement>,
    detectors: &Detectors,
    settings: Settings,
) -> Result<Plan, Vec<Problem>> {
    let (mut session, mut pictures) = (session.clone(), pictures);
    expected::fill(&mut session, &mut pictures, detectors)?;
    let shown = shown_scatter(&session, &pictures, detectors)?;
    let foresight = Foresight {
        detectors,
        shown: &shown,
        settings: Settings {
            what_ifs: false,
            ..settings
        },
    };
    let (outcome, chances) = foresight.of(&session, &pictures)?;
    let mut options: Vec<Choice> = advise::improvements(&session, &pictures, &outcome, detectors)
        .into_par_iter()
        .flat_map_iter(|(improvement, altered)| {
            let foreseen = foresight.of(&altered.session, &altered.pictures);
            let choices = foreseen.map(|(outcome, chances)| {
                choices(improvement, &altered.session, &outcome, &chances)
            });
            choices.unwrap_or_default()
        })
        .collect();
    options.retain(|choice| helps(choice, &session, &outcome, &chances));
    let reach = |q: &Q| q.reach().unwrap_or(f64::INFINITY);
    options.sort_by(|a, b| {
        // Chances are told in whole per cent.
        let percent = |choice: &Choice| (100.0 * choice.chance).round();
        percent(b)
            .total_cmp(&percent(a))
            .then(reach(&a.difference).total_cmp(&reach(&b.difference)))
    });
    let stated = session.repeatability.temperature.is_some();
    let assumed = !stated && !shows(&shown);
    Ok(Plan {
        outcome,
        chances,
        options,
        assumed_scatter: assumed.then_some(ASSUMED_SCATTER),
    })
}

/// Whether a choice narrows the answer or makes a verdict likelier. One that answers by another quantity is for the reader to judge.
fn helps(choice: &Choice, session: &Session, outcome: &Outcome, chances: &Chances) -> bool {
    let mut rows = outcome.results.comparison.iter();
    let now = rows.find(|row| row.candidate == choice.candidate && row.quantity == choice.primary);
    let mut coolers = session.coolers.iter();
    let index = coolers.position(|cooler| cooler.key == choice.candidate);
    let (Some(now), Some(index)) = (now, index) else {
        return true;
    };
    let chance = chances.get(&(index, choice.primary));
    let likelier = chance.is_none_or(|chance| choice.chance > chance.any());
    let reach = |q: &Q| q.reach().unwrap_or(f64::INFINITY);
    likelier || reach(&choice.difference) < reach(&now.difference)
}

/// The primary's rows of an altered session.
fn choices(
    improvement: Improvement,
    session: &Session,
    outcome: &Outcome,
    chances: &Chances,
) -> Vec<Choice> {
    let primary = outcome.results.primary;
    let rows = outcome.results.comparison.iter();
    rows.filter(|row| row.quantity == primary)
        .filter_map(|row| {
            let index = session
                .coolers
                .iter()
                .position(|cooler| cooler.key == row.candidate)?;
            Some(Choice {
                improvement,
                candidate: row.candidate.clone(),
                primary,
                difference: row.difference,
                chance: chances.get(&(index, primary))?.any(),
            })
        })
        .collect()
}

/// The scatter that the session's runs show by themselves.
///
/// # Errors
/// Every reading that has no solution.
fn shown_scatter(
    session: &Session,
    pictures: &[PictureMeasurement],
    detectors: &Detectors,
) -> Result<BTreeMap<QuantityId, BetweenRuns>, Vec<Problem>> {
    let mut corrected = correct(session, pictures, detectors)?;
    let inferred = infer(session, pictures, &mut corrected);
    Ok(compare::shown_scatter(
        session, pictures, corrected, &inferred,
    ))
}

/// Whether the tanks' temperatures scatter at all between runs: expected ones, written alike, do not.
fn shows(scatter: &BTreeMap<QuantityId, BetweenRuns>) -> bool {
    greatest(
        scatter,
        &[QuantityId::InletSurface, QuantityId::OutletSurface],
    ) > 0.0
}

/// The greatest scatter of some quantities, in their base unit; 0 where none is known. A drift that is taken out is none.
fn greatest(scatter: &BTreeMap<QuantityId, BetweenRuns>, ids: &[QuantityId]) -> f64 {
    let scatter = ids.iter().filter_map(|id| scatter.get(id));
    scatter
        .map(|between_runs| between_runs.less_drift(true))
        .fold(0.0, f64::max)
}

/// Foresees sessions.
struct Foresight<'a> {
    detectors: &'a Detectors,
    /// Scatter that the unaltered session's runs show.
    shown: &'a BTreeMap<QuantityId, BetweenRuns>,
    settings: Settings,
}

impl Foresight<'_> {
    fn of(
        &self,
        session: &Session,
        pictures: &[PictureMeasurement],
    ) -> Result<(Outcome, Chances), Vec<Problem>> {
        let drawn = self.drawn(session, pictures)?;
        let mut planned = session.clone();
        planned.scatter = Scatter::Planned(self.between_runs(session, &drawn));
        let mut corrected = correct(&planned, pictures, self.detectors)?;
        let inferred = infer(&planned, pictures, &mut corrected);
        let settings = self.settings;
        Ok(compare::foresee(
            &planned, pictures, corrected, &inferred, settings,
        ))
    }

    /// How each quantity would scatter between runs, in its base unit, if tanks and taps scattered each by itself: as
    /// stated, else as they show it, else as assumed.
    fn drawn(
        &self,
        session: &Session,
        pictures: &[PictureMeasurement],
    ) -> Result<BTreeMap<QuantityId, f64>, Vec<Problem>> {
        let mut drawn = session.clone();
        drawn.scatter = Scatter::Drawn;
        let repeatability = &mut drawn.repeatability;
        let known = |ids: &[QuantityId], assumed: f64| {
            let shown = greatest(self.shown, ids);
            if shown > 0.0 { shown } else { assumed }
        };
        let skins = [QuantityId::InletSurface, QuantityId::OutletSurface];
        let temperature = known(&skins, ASSUMED_SCATTER);
        let pressure = known(&[QuantityId::PressureDrop], ASSUMED_PRESSURE_SCATTER);
        let (kelvin, pascal) = (Dimension::TemperatureDifference, Dimension::Pressure);
        repeatability
            .temperature
            .get_or_insert_with(|| stated("temperature", kelvin, temperature));
        repeatability
            .pressure
            .get_or_insert_with(|| stated("pressure", pascal, pressure));
        let mut corrected = correct(&drawn, pictures, self.detectors)?;
        let inferred = infer(&drawn, pictures, &mut corrected);
        let settings = self.settings;
        Ok(compare::drawn_scatter(
            &drawn, pictures, corrected, &inferred, settings,
        ))
    }

    /// The scatter that each quantity will show: as the session states it of all that the quantity rests on, else as its
    /// runs show it, else as drawn.
    fn between_runs(
        &self,
        session: &Session,
        drawn: &BTreeMap<QuantityId, f64>,
    ) -> BTreeMap<QuantityId, BetweenRuns> {
        let repeatability = &session.repeatability;
        let between = |(&id, &drawn): (&QuantityId, &f64)| {
            let parts = compare::parts(id);
            let of_part = |part: &QuantityId| match part.unit() {
                Unit::Kilopascal => repeatability.pressure.is_some(),
                _ => repeatability.temperature.is_some(),
            };
            let stated = !parts.is_empty() && parts.iter().all(of_part);
            let shown = self.shown.get(&id);
            let shown = shown.filter(|shown| !stated && shown.less_drift(true) > 0.0);
            let drawn = BetweenRuns {
                about_mean: drawn,
                about_drift: None,
            };
            (id, shown.copied().unwrap_or(drawn))
        };
        drawn.iter().map(between).collect()
    }
}

fn stated(key: &str, dimension: Dimension, standard: f64) -> Declared {
    let place = format!("repeatability.{key}");
    Declared::unwritten(place, dimension, standard, Law::Exact, 0..0)
}
