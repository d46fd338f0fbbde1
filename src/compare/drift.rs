//! Drift between holds: what changed steadily over the session, whichever cooler was fitted.
//!
//! Where the holds' times are known and one cooler was measured again after another (baseline, candidate, baseline), a
//! straight line in time common to all coolers is fitted beside each cooler's own level,
//!
//! q = μ_cooler + β (t − t̄) + scatter,
//!
//! by least squares. Where β of the quantity that answers the customer is more than chance at 95 % (Student's t) each
//! cooler's value of every quantity becomes its level at the middle of the session, and the scatter about the lines, with
//! one degree of freedom less, stays as doubt, that of β with it. It is decided once, so that a drop stays the difference
//! of its ends and many quantities are not many chances. A drift that is not more than chance is left in: taking it out
//! would cost more certainty than it gains.

use crate::measure::PictureMeasurement;
use crate::model::{Builder, Slot};
use crate::session::Session;

/// When each run was, s from any moment; `None` unless all runs have a time of the same kind.
pub(super) fn times(session: &Session, pictures: &[PictureMeasurement]) -> Option<Vec<f64>> {
    let stated: Option<Vec<f64>> = session.runs.iter().map(|run| run.time).collect();
    stated.map(past_midnight).or_else(|| {
        let first = pictures.iter().find_map(|picture| picture.captured)?;
        (0..session.runs.len())
            .map(|run| {
                let of_run = pictures.iter().filter(|picture| picture.run == run);
                let taken: Option<Vec<f64>> = of_run
                    .map(|picture| Some(picture.captured?.since(&first)))
                    .collect();
                let taken = taken.filter(|taken| !taken.is_empty())?;
                Some(taken.iter().sum::<f64>() / taken.len() as f64)
            })
            .collect()
    })
}

/// Times of day as times of one session: where they lie more than half a day apart it went past midnight, so that what is
/// before noon belongs to the next day.
fn past_midnight(mut times: Vec<f64>) -> Vec<f64> {
    const DAY: f64 = 86_400.0;
    let (first, last) = times
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |ends, &time| {
            (ends.0.min(time), ends.1.max(time))
        });
    if last - first > 0.5 * DAY {
        let early = times.iter_mut().filter(|time| **time < 0.5 * DAY);
        early.for_each(|time| *time += DAY);
    }
    times
}

/// One run's part in a trend.
#[derive(Debug, Clone, Copy)]
struct Part {
    run: usize,
    cooler: usize,
    /// From the mean over the cooler's runs, s.
    within: f64,
    /// What the cooler's runs count, one share of its mean.
    share: f64,
    /// From the middle of the session to the mean over the cooler's runs, s.
    between: f64,
}

/// A drift that is taken out of one quantity.
#[derive(Debug, Clone)]
pub(super) struct Trend {
    parts: Vec<Part>,
    /// Σ of the squares of the times within the coolers, s².
    spread: f64,
    /// Degrees of freedom of the scatter about the lines.
    pub freedom: f64,
    /// Drift, in the quantity's base unit a second.
    pub slope: f64,
    /// Its standard uncertainty.
    pub standard: f64,
}

impl Trend {
    /// The drift of a quantity; `None` where the order of the runs does not tell it from the coolers. `runs` holds for every
    /// run that has the quantity its index, its cooler, its time in s and its value.
    pub fn of(runs: &[(usize, usize, f64, f64)]) -> Option<Self> {
        let again = |a: usize, b: usize| {
            let times = |cooler| {
                let runs = runs.iter().filter(move |run| run.1 == cooler);
                runs.map(|run| run.2)
            };
            let (first, last) = times(a).fold((f64::INFINITY, f64::NEG_INFINITY), |ends, time| {
                (ends.0.min(time), ends.1.max(time))
            });
            times(b).any(|time| first < time && time < last)
        };
        let mut coolers: Vec<usize> = runs.iter().map(|run| run.1).collect();
        coolers.sort_unstable();
        coolers.dedup();
        let interleaved = coolers
            .iter()
            .any(|&a| coolers.iter().any(|&b| a != b && again(a, b)));
        let freedom = runs.len() as f64 - coolers.len() as f64 - 1.0;
        if !interleaved || freedom < 1.0 {
            return None;
        }
        let mean = |of: &mut dyn Iterator<Item = f64>| {
            let (sum, count) = of.fold((0.0, 0.0), |(sum, count), x| (sum + x, count + 1.0));
            (sum / count, count)
        };
        let (middle, _) = mean(&mut runs.iter().map(|run| run.2));
        let parts: Vec<Part> = runs
            .iter()
            .map(|&(run, cooler, time, _)| {
                let own = runs.iter().filter(|other| other.1 == cooler);
                let (centre, count) = mean(&mut own.map(|other| other.2));
                Part {
                    run,
                    cooler,
                    within: time - centre,
                    share: 1.0 / count,
                    between: centre - middle,
                }
            })
            .collect();
        let mut trend = Self {
            spread: parts.iter().map(|part| part.within.powi(2)).sum(),
            parts,
            freedom,
            slope: 0.0,
            standard: 0.0,
        };
        let values: Vec<f64> = runs.iter().map(|run| run.3).collect();
        trend.slope = trend.slope_of(&values);
        trend.standard = trend.deviation(&values) / trend.spread.sqrt();
        (trend.spread > 0.0).then_some(trend)
    }

    /// Whether it is more than chance at 95 %.
    pub fn is_more_than_chance(&self) -> bool {
        self.slope.abs() > student(self.freedom) * self.standard
    }

    /// The runs that it is fitted to.
    pub fn runs(&self) -> impl Iterator<Item = usize> + '_ {
        self.parts.iter().map(|part| part.run)
    }

    fn slope_of(&self, values: &[f64]) -> f64 {
        let parts = self.parts.iter().zip(values);
        parts.map(|(part, value)| part.within * value).sum::<f64>() / self.spread
    }

    /// Standard deviation of the scatter about the lines, of values in the order of [`Self::runs`].
    pub fn deviation(&self, values: &[f64]) -> f64 {
        let slope = self.slope_of(values);
        let level = |cooler: usize| -> f64 {
            let own = self.parts.iter().zip(values);
            own.filter(|(part, _)| part.cooler == cooler)
                .map(|(part, value)| part.share * value)
                .sum()
        };
        let squares = self
            .parts
            .iter()
            .zip(values)
            .map(|(part, value)| (value - level(part.cooler) - slope * part.within).powi(2));
        (squares.sum::<f64>() / self.freedom).sqrt()
    }

    /// How much each run's value counts in a cooler's level at the middle of the session: run, weight.
    pub fn weights(&self, cooler: usize) -> Vec<(usize, f64)> {
        let own = self.parts.iter().find(|part| part.cooler == cooler);
        let between = own.map_or(0.0, |part| part.between);
        self.parts
            .iter()
            .map(|part| {
                let share = if part.cooler == cooler {
                    part.share
                } else {
                    0.0
                };
                (part.run, share - between * part.within / self.spread)
            })
            .collect()
    }

    /// A cooler's level at the middle of the session, from the values of the runs.
    pub fn level(
        &self,
        cooler: usize,
        value: impl Fn(usize) -> Option<Slot>,
        model: &mut Builder,
    ) -> Option<Slot> {
        let mut sum: Option<Slot> = None;
        for (run, weight) in self.weights(cooler) {
            let weight = model.constant(weight);
            let part = model.product(weight, value(run)?);
            sum = Some(match sum {
                Some(sum) => model.sum(sum, part),
                None => part,
            });
        }
        sum
    }
}

/// The 97.5 % quantile of Student's t with a whole number of degrees of freedom, to 1e-9.
///
/// The distribution is the finite series of Abramowitz and Stegun, 26.7.3 and 26.7.4 (from memory; the test holds it against
/// a table); its inverse is found by bisection.
pub(super) fn student(freedom: f64) -> f64 {
    let within = |t: f64| {
        let (sine, cosine) = (t / freedom.sqrt()).atan().sin_cos();
        let squared = cosine * cosine;
        let odd = freedom as u64 % 2 == 1;
        let (mut term, mut sum) = if odd { (cosine, 0.0) } else { (1.0, 0.0) };
        let mut step = if odd { 1.0 } else { 0.0 };
        while step < freedom - 1.0 {
            sum += term;
            term *= squared * (step + 1.0) / (step + 2.0);
            step += 2.0;
        }
        if odd {
            let angle = (t / freedom.sqrt()).atan();
            2.0 / std::f64::consts::PI * (angle + sine * sum)
        } else {
            sine * sum
        }
    };
    let (mut low, mut high) = (1.0, 13.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if within(middle) < 0.95 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// GUM (JCGM 100:2008), table G.2, column 95 %.
    #[test]
    fn students_quantiles_are_those_of_the_table() {
        for (freedom, quantile) in [
            (1.0, 12.71),
            (2.0, 4.30),
            (3.0, 3.18),
            (4.0, 2.78),
            (5.0, 2.57),
            (10.0, 2.23),
            (20.0, 2.09),
            (50.0, 2.01),
        ] {
            assert_abs_diff_eq!(student(freedom), quantile, epsilon = 0.006);
        }
    }

    /// Two coolers 5 apart, both drifting by 0.01 a second, with a little scatter.
    fn runs(order: &[usize]) -> Vec<(usize, usize, f64, f64)> {
        let scatter = [0.02, -0.03, 0.01, -0.01, 0.03, -0.02];
        order
            .iter()
            .zip(scatter)
            .enumerate()
            .map(|(run, (&cooler, scatter))| {
                let time = 600.0 * run as f64;
                (
                    run,
                    cooler,
                    time,
                    5.0 * cooler as f64 + 0.01 * time + scatter,
                )
            })
            .collect()
    }

    #[test]
    fn a_steady_drift_is_found_and_leaves_the_coolers_apart() {
        let runs = runs(&[0, 0, 1, 1, 0, 0]);
        let trend = Trend::of(&runs).unwrap();
        assert!(trend.is_more_than_chance());
        assert_abs_diff_eq!(trend.slope, 0.01, epsilon = 2e-4);
        assert_eq!(trend.freedom, 3.0);
        let level = |cooler| -> f64 {
            let weights = trend.weights(cooler);
            weights
                .iter()
                .map(|&(run, weight)| weight * runs[run].3)
                .sum()
        };
        assert_abs_diff_eq!(level(1) - level(0), 5.0, epsilon = 0.05);
        // Both as they were in the middle of the session, after 1500 s.
        assert_abs_diff_eq!(level(0), 15.0, epsilon = 0.05);
        for cooler in [0, 1] {
            let sum: f64 = trend.weights(cooler).iter().map(|(_, weight)| weight).sum();
            assert_abs_diff_eq!(sum, 1.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn a_session_may_go_past_midnight() {
        let clock = |hours: f64| 3600.0 * hours;
        let times = past_midnight(vec![clock(23.5), clock(0.25), clock(23.75)]);
        assert_eq!(times, [clock(23.5), clock(24.25), clock(23.75)]);
        let day = vec![clock(8.0), clock(17.0)];
        assert_eq!(past_midnight(day.clone()), day);
    }

    #[test]
    fn no_drift_is_told_where_order_or_number_do_not_allow_it() {
        // One after the other: what changed in time may be the cooler.
        assert!(Trend::of(&runs(&[0, 0, 0, 1, 1, 1])).is_none());
        // As many unknowns as runs.
        assert!(Trend::of(&runs(&[0, 1, 0])).is_none());
        // No more than chance.
        let mut steady = runs(&[0, 1, 0, 1, 0, 1]);
        for run in &mut steady {
            run.3 -= 0.01 * run.2;
        }
        assert!(!Trend::of(&steady).unwrap().is_more_than_chance());
    }
}
