//! What a session that is not measured yet would show: how its runs would scatter, and the chance of a verdict.
//!
//! A measured difference lies off the true one by chance, and its interval lies about it. To first order both go by the
//! draws of the model: what is measured errs as the draws do, the other way round, and the interval about it reaches as far
//! as the interval about what is expected. The scatter that repeated runs will show is itself chance: s² goes by χ² with
//! the freedom that the runs have.

use std::collections::BTreeMap;

use super::intervals::{self, Asked};
use super::quantities::Quantities;
use super::{Evidence, Laid, verdict};
use crate::correct::Corrected;
use crate::infer::Inferred;
use crate::measure::PictureMeasurement;
use crate::outcome::Verdict;
use crate::quantity::QuantityId;
use crate::session::Session;
use crate::uncertainty::{Figure, Generator, Settings, Stream, draws, scatter_of};

/// What is foreseen of measuring a session, before its verdicts: from the session with its scatter drawn
/// ([`crate::session::Scatter::Drawn`]).
#[derive(Debug, Clone, Default)]
pub struct Errors {
    /// Scatter of each quantity between runs of the same cooler, in its base unit.
    pub between_runs: BTreeMap<QuantityId, f64>,
    /// For a candidate's difference what may be measured, less what is expected, in its base unit: a number a draw.
    differences: BTreeMap<(usize, QuantityId), Vec<f64>>,
}

/// The chances of the verdicts on one difference, as shares of 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// Of `higher`.
    pub higher: f64,
    /// Of `lower`.
    pub lower: f64,
    /// Of `equal`.
    pub equal: f64,
}

impl Chance {
    /// Of none of them.
    const NONE: Self = Self {
        higher: 0.0,
        lower: 0.0,
        equal: 0.0,
    };

    /// Of any verdict that answers the question.
    #[must_use]
    pub fn any(&self) -> f64 {
        self.higher + self.lower + self.equal
    }
}

/// The chances of the verdicts on every difference, by candidate (an index into the session's coolers) and quantity.
pub type Chances = BTreeMap<(usize, QuantityId), Chance>;

/// How measuring may err.
#[must_use]
pub fn errors(
    session: &Session,
    pictures: &[PictureMeasurement],
    corrected: Corrected,
    inferred: &Inferred,
    settings: Settings,
) -> Errors {
    let laid = Laid::out(session, pictures, corrected, inferred);
    let (_, asked) = intervals::of_coolers(session, &laid.quantities, &laid.central);
    let mut keys = Vec::new();
    let mut figures = Vec::new();
    for (asked, figure) in asked {
        if let Asked::Difference(cooler, id) = asked {
            keys.push((cooler, id));
            figures.push(figure);
        }
    }
    let repeats = repeats(session, &laid.quantities);
    figures.extend(repeats.iter().map(|(_, figure)| *figure));
    let mut found = draws(&laid.model, &figures, settings).into_iter();
    let differences = keys
        .into_iter()
        .zip(found.by_ref())
        .map(|(key, mut draws)| {
            let central = draws_centre(&laid, session.baseline, key);
            draws.iter_mut().for_each(|draw| *draw -= central);
            (key, draws)
        })
        .collect();
    let mut variances: BTreeMap<QuantityId, Vec<f64>> = BTreeMap::new();
    for ((id, _), draws) in repeats.iter().zip(found) {
        // A run less another has twice the variance of either.
        variances
            .entry(*id)
            .or_default()
            .push(0.5 * variance(&draws));
    }
    let mean = |values: Vec<f64>| values.iter().sum::<f64>() / values.len().max(1) as f64;
    Errors {
        between_runs: variances
            .into_iter()
            .map(|(id, values)| (id, mean(values).sqrt()))
            .collect(),
        differences,
    }
}

/// The central value of a difference.
fn draws_centre(laid: &Laid, baseline: usize, (candidate, id): (usize, QuantityId)) -> f64 {
    let value = |cooler| {
        let slot = *laid.quantities.of_cooler(cooler)?.get(&id)?;
        laid.central.get(slot)
    };
    value(candidate)
        .zip(value(baseline))
        .map_or(f64::NAN, |(candidate, baseline)| candidate - baseline)
}

/// For every quantity the first two runs of each cooler that have it, one less the other.
fn repeats(session: &Session, quantities: &Quantities) -> Vec<(QuantityId, Figure)> {
    let mut repeats = Vec::new();
    for &id in QuantityId::ALL {
        for cooler in 0..session.coolers.len() {
            let runs = session.runs.iter().enumerate();
            let mut slots = runs
                .filter(|(_, run)| run.cooler == cooler)
                .filter_map(|(index, _)| quantities.of_run(index)?.get(&id).copied());
            if let (Some(slot), Some(less)) = (slots.next(), slots.next()) {
                let figure = Figure {
                    slot,
                    less: Some(less),
                    scatter: None,
                    less_scatter: None,
                };
                repeats.push((id, figure));
            }
        }
    }
    repeats
}

fn variance(draws: &[f64]) -> f64 {
    let solved: Vec<f64> = draws
        .iter()
        .copied()
        .filter(|draw| draw.is_finite())
        .collect();
    let count = solved.len() as f64;
    if count < 2.0 {
        return 0.0;
    }
    let mean = solved.iter().sum::<f64>() / count;
    solved.iter().map(|draw| (draw - mean).powi(2)).sum::<f64>() / (count - 1.0)
}

/// The scatter that the runs of a session show by themselves, by quantity, in its base unit; 0 where they read alike.
#[must_use]
pub fn shown_scatter(
    session: &Session,
    pictures: &[PictureMeasurement],
    corrected: Corrected,
    inferred: &Inferred,
) -> BTreeMap<QuantityId, f64> {
    let laid = Laid::out(session, pictures, corrected, inferred);
    intervals::deviations(session, &laid.quantities, &laid.central)
}

/// The chances of the verdicts that measuring a session would earn, from how measuring may err.
///
/// A difference on which the expected values themselves allow no verdict (`not comparable`, `needs repeats`) has no chance.
pub(super) fn chances(evidence: &Evidence<'_>, errors: &Errors) -> Chances {
    let (pools, mut asked) =
        intervals::of_coolers(evidence.session, evidence.quantities, evidence.central);
    asked.retain(|(asked, _)| matches!(asked, Asked::Difference(..)));
    let figures: Vec<Figure> = asked.iter().map(|(_, figure)| *figure).collect();
    let all = draws(evidence.model, &figures, evidence.settings);
    let mut chances = Chances::new();
    for ((asked, figure), draws) in asked.iter().zip(&all) {
        let Asked::Difference(candidate, id) = *asked else {
            continue;
        };
        let (Some(errors), Some(central)) = (
            errors.differences.get(&(candidate, id)),
            difference_of(evidence, candidate, id),
        ) else {
            continue;
        };
        let expected = Expected {
            central,
            draws,
            scatter: scatter_of(&pools, *figure),
            freedom: figure
                .scatter
                .and_then(|(pool, _)| pools.get(pool))
                .map_or(0.0, |pool| pool.freedom),
            matters: verdict::matters(evidence, id),
        };
        let stream = Stream::new(evidence.settings.seed, &format!("chance of {}", id.id()));
        let chance = if verdict::rests_on_enough(evidence, candidate, id) {
            expected.chance(errors, &mut stream.block(0))
        } else {
            Chance::NONE
        };
        chances.insert((candidate, id), chance);
    }
    chances
}

/// The expected difference of a candidate to the baseline.
fn difference_of(evidence: &Evidence<'_>, candidate: usize, id: QuantityId) -> Option<f64> {
    Some(evidence.central(candidate, id)? - evidence.central(evidence.session.baseline, id)?)
}

/// A difference as it is expected, in its base unit.
struct Expected<'a> {
    central: f64,
    /// Draws of its model without the scatter between runs.
    draws: &'a [f64],
    /// Standard deviation of that scatter in the difference.
    scatter: f64,
    /// Degrees of freedom that it will be known with; 0: there is none.
    freedom: f64,
    matters: Option<f64>,
}

/// Into how many steps the scatter that may show, over the expected, is divided, up to [`MOST`] times as much.
const STEPS: usize = 16;

/// More scatter than so many times the expected is not looked at: with one degree of freedom one session in 400.
const MOST: f64 = 3.0;

impl Expected<'_> {
    fn chance(&self, errors: &[f64], generator: &mut Generator) -> Chance {
        let reaches = self.reaches(generator);
        let mut chance = Chance::NONE;
        let one = 1.0 / errors.len().max(1) as f64;
        for error in errors {
            let shown = if self.freedom > 0.0 {
                generator.reduced_chi_square(self.freedom).sqrt()
            } else {
                1.0
            };
            let (below, above) = between(&reaches, shown);
            let measured = self.central - error;
            let ends = (measured + below, measured + above);
            if !(ends.0.is_finite() && ends.1.is_finite()) {
                continue;
            }
            match verdict::by_interval(ends, self.matters) {
                Verdict::Higher => chance.higher += one,
                Verdict::Lower => chance.lower += one,
                Verdict::Equal => chance.equal += one,
                _ => {}
            }
        }
        chance
    }

    /// How far the interval's ends lie from its middle, for every step of the scatter that may show.
    fn reaches(&self, generator: &mut Generator) -> Vec<(f64, f64)> {
        let students: Vec<f64> = (0..self.draws.len())
            .map(|_| {
                if self.freedom > 0.0 {
                    generator.normal() / generator.reduced_chi_square(self.freedom).sqrt()
                } else {
                    0.0
                }
            })
            .collect();
        (0..=STEPS)
            .map(|step| {
                let scatter = self.scatter * MOST * step as f64 / STEPS as f64;
                let mut sums: Vec<f64> = self
                    .draws
                    .iter()
                    .zip(&students)
                    .map(|(draw, student)| {
                        let sum = draw - self.central + scatter * student;
                        // What has no solution lies below every other.
                        if sum.is_finite() {
                            sum
                        } else {
                            f64::NEG_INFINITY
                        }
                    })
                    .collect();
                sums.sort_unstable_by(f64::total_cmp);
                let at = |share: f64| {
                    let index = (share * sums.len() as f64) as usize;
                    sums.get(index).copied().unwrap_or(f64::NAN)
                };
                (at(0.025), at(0.975))
            })
            .collect()
    }
}

/// The ends at a scatter between two of the steps, linearly.
fn between(reaches: &[(f64, f64)], shown: f64) -> (f64, f64) {
    let position = (shown / MOST).min(1.0) * STEPS as f64;
    let lower = (position as usize).min(STEPS - 1);
    let (Some(from), Some(to)) = (reaches.get(lower), reaches.get(lower + 1)) else {
        return (f64::NAN, f64::NAN);
    };
    let share = position - lower as f64;
    let mix = |from: f64, to: f64| from + share * (to - from);
    (mix(from.0, to.0), mix(from.1, to.1))
}
