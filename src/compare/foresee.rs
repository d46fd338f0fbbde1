//! What a session that is not measured yet would show: how its runs would scatter, and the chance of a verdict.
//!
//! A measured difference lies off the true one by chance, and its interval lies about it. To first order both go by the
//! draws of the model: what is measured errs as the draws do, the other way round, and the interval about it reaches as far
//! as the interval about what is expected. Of the scatter between runs the error has as much as the runs will show, quantity
//! by quantity: where both tanks go up and down together a drop scatters less than either. The scatter that repeated runs
//! will show is itself chance: s² goes by χ² with the freedom that the runs have.

use std::collections::BTreeMap;

use super::intervals::{self, Asked};
use super::quantities::Quantities;
use super::{Evidence, Laid, verdict};
use crate::correct::Corrected;
use crate::infer::Inferred;
use crate::measure::PictureMeasurement;
use crate::model::Model;
use crate::outcome::Verdict;
use crate::quantity::QuantityId;
use crate::session::{BetweenRuns, Session};
use crate::uncertainty::{Figure, Generator, Settings, Stream, draws, scatter_of};

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

/// The scatter that each quantity will show between runs of the same cooler, in its base unit, if each run errs as the
/// session says and no more: from the session with its scatter drawn ([`crate::session::Scatter::Drawn`]).
#[must_use]
pub fn drawn_scatter(
    session: &Session,
    pictures: &[PictureMeasurement],
    corrected: Corrected,
    inferred: &Inferred,
    settings: Settings,
) -> BTreeMap<QuantityId, f64> {
    let laid = Laid::out(session, pictures, corrected, inferred);
    let variances = run_variances(session, &laid.quantities, &laid.model, settings);
    let standard = |(id, variance): (QuantityId, f64)| (id, variance.sqrt());
    variances.into_iter().map(standard).collect()
}

/// The variance of each quantity between runs of the same cooler by the draws of a model: what each run errs by on its own.
fn run_variances(
    session: &Session,
    quantities: &Quantities,
    model: &Model,
    settings: Settings,
) -> BTreeMap<QuantityId, f64> {
    let repeats = repeats(session, quantities);
    let figures: Vec<Figure> = repeats.iter().map(|(_, figure)| *figure).collect();
    let found = draws(model, &figures, settings);
    let mut variances: BTreeMap<QuantityId, Vec<f64>> = BTreeMap::new();
    for ((id, _), draws) in repeats.iter().zip(found) {
        // A run less another has twice the variance of either.
        let variance = 0.5 * variance(&draws);
        variances.entry(*id).or_default().push(variance);
    }
    let mean = |values: Vec<f64>| values.iter().sum::<f64>() / values.len().max(1) as f64;
    variances
        .into_iter()
        .map(|(id, values)| (id, mean(values)))
        .collect()
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
) -> BTreeMap<QuantityId, BetweenRuns> {
    let laid = Laid::out(session, pictures, corrected, inferred);
    intervals::deviations(session, &laid.quantities, &laid.central)
}

/// The chances of the verdicts that measuring a session would earn.
///
/// A difference on which the expected values themselves allow no verdict (`not comparable`, `needs repeats`) has no chance.
pub(super) fn chances(evidence: &Evidence<'_>) -> Chances {
    let (session, quantities) = (evidence.session, evidence.quantities);
    let (model, settings) = (evidence.model, evidence.settings);
    let (pools, mut asked) = intervals::of_coolers(session, quantities, evidence.central);
    asked.retain(|(asked, _)| matches!(asked, Asked::Difference(..)));
    let figures: Vec<Figure> = asked.iter().map(|(_, figure)| *figure).collect();
    let all = draws(model, &figures, settings);
    let own = run_variances(session, quantities, model, settings);
    let mut chances = Chances::new();
    for ((asked, figure), draws) in asked.iter().zip(&all) {
        let Asked::Difference(candidate, id) = *asked else {
            continue;
        };
        let Some(central) = difference_of(evidence, candidate, id) else {
            continue;
        };
        let own = own.get(&id).copied().unwrap_or(0.0);
        let shown = intervals::planned(session, quantities, id);
        let pool = figure.scatter.and_then(|(pool, _)| pools.get(pool));
        let expected = Expected {
            central,
            draws,
            scatter: scatter_of(&pools, *figure),
            beyond_draws: shown.map_or(1.0, |shown| beyond_draws(shown, own)),
            freedom: pool.map_or(0.0, |pool| pool.freedom),
            matters: verdict::matters(evidence, id),
        };
        let stream = Stream::new(settings.seed, &format!("chance of {}", id.id()));
        let chance = if verdict::rests_on_enough(evidence, candidate, id) {
            expected.chance(&mut stream.block(0))
        } else {
            Chance::NONE
        };
        chances.insert((candidate, id), chance);
    }
    chances
}

/// How much of the scatter that runs will show, `shown`, the draws of the model do not have yet, whose runs err on their own
/// with the variance `own`: as a share of `shown`.
fn beyond_draws(shown: f64, own: f64) -> f64 {
    if shown > 0.0 {
        (1.0 - own / (shown * shown)).max(0.0).sqrt()
    } else {
        0.0
    }
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
    /// The share of it by which a measured difference errs beyond its draws.
    beyond_draws: f64,
    /// Degrees of freedom that it will be known with; 0: there is none.
    freedom: f64,
    matters: Option<f64>,
}

/// Into how many steps the scatter that may show, over the expected, is divided, up to [`MOST`] times as much.
const STEPS: usize = 16;

/// More scatter than so many times the expected is not looked at: with one degree of freedom one session in 400.
const MOST: f64 = 3.0;

impl Expected<'_> {
    fn chance(&self, generator: &mut Generator) -> Chance {
        let reaches = self.reaches(generator);
        let mut chance = Chance::NONE;
        let one = 1.0 / self.draws.len().max(1) as f64;
        for draw in self.draws {
            let beyond = self.scatter * self.beyond_draws * generator.normal();
            let error = draw - self.central + beyond;
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
