//! The steady skin from several readings in one hold: T(t) = T_∞ − A exp(−t/τ), by least squares.
//!
//! One exponential is what is left of the slab's series ([`super::slab`]) once its higher terms have died away, in a plastic
//! wall of 3 mm after about 20 s.

/// Most readings that are fitted; a longer series is thinned before.
pub const MOST_READINGS: usize = 48;

/// Steps of the first look at τ, evenly in its logarithm.
const LOOKS: usize = 6;

/// Most steps of the search that follows.
const STEPS: usize = 40;

/// How near the logarithm of τ is found.
const CLOSE: f64 = 1e-5;

/// 1 − (√5 − 1)/2.
const GOLDEN: f64 = 0.381_966_011_250_105_1;

/// A fitted series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// T_∞, in the unit of the readings.
    pub steady: f64,
    /// What was missing at the first reading: T_∞ − T(t_1).
    pub missing: f64,
    /// τ, s.
    pub time_constant: f64,
    /// Whether τ is the longest that the series allows, so that it does not tell where the skin is going.
    pub open_ended: bool,
    /// Sum of the squared residuals.
    pub squares: f64,
}

/// Fits readings at rising times, s. `None` with fewer than three different times, or more than [`MOST_READINGS`].
///
/// τ is looked for between a quarter of the shortest and twice the whole time between readings: beyond that a series says
/// next to nothing of where it will end (judgement). T_∞ and A follow from τ by linear least squares (variable projection,
/// G. H. Golub and V. Pereyra 1973).
#[must_use]
pub fn fit(times: &[f64], readings: &[f64]) -> Option<Fit> {
    let (&first, &last) = (times.first()?, times.last()?);
    let steps = times.windows(2).map(|pair| pair[1] - pair[0]);
    let shortest = steps
        .filter(|&step| step > 0.0)
        .fold(f64::INFINITY, f64::min);
    let span = last - first;
    let different = 1 + times.windows(2).filter(|pair| pair[1] > pair[0]).count();
    let sound = times.len() == readings.len() && times.len() <= MOST_READINGS;
    if different < 3 || !sound || !span.is_finite() {
        return None;
    }
    let series = Series {
        times,
        readings,
        first,
    };
    let (least, most) = ((0.25 * shortest).ln(), (2.0 * span).ln());
    let at = |place: f64| least + (most - least) * place;
    let mut best = (0, f64::INFINITY);
    for look in 0..=LOOKS {
        let squares = series.project(at(look as f64 / LOOKS as f64).exp()).squares;
        if squares < best.1 {
            best = (look, squares);
        }
    }
    let low = at(best.0.saturating_sub(1) as f64 / LOOKS as f64);
    let high = at(((best.0 + 1).min(LOOKS)) as f64 / LOOKS as f64);
    let squares = |place: f64| series.project(place.exp()).squares;
    let place = lowest(squares, low, high);
    let projected = series.project(place.exp());
    Some(Fit {
        steady: projected.steady,
        missing: projected.amplitude,
        time_constant: place.exp(),
        open_ended: most - place < 1e-3,
        squares: projected.squares,
    })
}

/// Where a function is least between two ends: parabolas through the best three places, golden sections where they fail
/// (R. P. Brent, Algorithms for minimization without derivatives, 1973, chapter 5, from memory).
fn lowest(function: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let start = low + GOLDEN * (high - low);
    let start = (start, function(start));
    // The best place so far, the second best, and the one that was second best before.
    let (mut best, mut second, mut third) = (start, start, start);
    let (mut step, mut step_before) = (0.0_f64, 0.0_f64);
    for _ in 0..STEPS {
        let middle = 0.5 * (low + high);
        if (best.0 - middle).abs() <= 2.0 * CLOSE - 0.5 * (high - low) {
            break;
        }
        let r = (best.0 - second.0) * (best.1 - third.1);
        let q = (best.0 - third.0) * (best.1 - second.1);
        let numerator = (best.0 - third.0) * q - (best.0 - second.0) * r;
        let denominator = 2.0 * (q - r);
        let parabola = -numerator / denominator;
        let inside = best.0 + parabola > low && best.0 + parabola < high;
        let before = step_before;
        step_before = step;
        if before.abs() > CLOSE && inside && parabola.abs() < 0.5 * before.abs() {
            step = parabola;
        } else {
            step_before = if best.0 < middle {
                high - best.0
            } else {
                low - best.0
            };
            step = GOLDEN * step_before;
        }
        let place = best.0 + step.signum() * step.abs().max(CLOSE);
        let tried = (place, function(place));
        if tried.1 <= best.1 {
            *(if tried.0 < best.0 {
                &mut high
            } else {
                &mut low
            }) = best.0;
            (third, second, best) = (second, best, tried);
        } else {
            *(if tried.0 < best.0 {
                &mut low
            } else {
                &mut high
            }) = tried.0;
            if tried.1 <= second.1 || second.0 == best.0 {
                (third, second) = (second, tried);
            } else if tried.1 <= third.1 || third.0 == best.0 || third.0 == second.0 {
                third = tried;
            }
        }
    }
    best.0
}

/// What a fit says of the skin at another time.
impl Fit {
    /// The fitted temperature `since` seconds after the first reading.
    #[must_use]
    pub fn at(&self, since: f64) -> f64 {
        self.steady - self.missing * (-since / self.time_constant).exp()
    }
}

struct Series<'a> {
    times: &'a [f64],
    readings: &'a [f64],
    first: f64,
}

struct Projected {
    steady: f64,
    amplitude: f64,
    squares: f64,
}

impl Series<'_> {
    /// The best T_∞ and A for one τ.
    fn project(&self, time_constant: f64) -> Projected {
        let mut faded = [0.0; MOST_READINGS];
        let count = self.times.len() as f64;
        let (mut mean_faded, mut mean) = (0.0, 0.0);
        for ((&time, &reading), faded) in self.times.iter().zip(self.readings).zip(&mut faded) {
            *faded = (-(time - self.first) / time_constant).exp();
            mean_faded += *faded / count;
            mean += reading / count;
        }
        let (mut faded_faded, mut faded_reading, mut reading_reading) = (0.0, 0.0, 0.0);
        for (&reading, &faded) in self.readings.iter().zip(&faded) {
            let (x, y) = (faded - mean_faded, reading - mean);
            faded_faded += x * x;
            faded_reading += x * y;
            reading_reading += y * y;
        }
        let slope = if faded_faded > 0.0 {
            faded_reading / faded_faded
        } else {
            0.0
        };
        Projected {
            steady: mean - slope * mean_faded,
            amplitude: -slope,
            squares: (reading_reading - slope * faded_reading).max(0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn an_exact_series_gives_back_what_it_was_made_from() {
        for (count, constant) in [(3, 70.0), (5, 40.0), (8, 150.0)] {
            let times: Vec<f64> = (0..count)
                .map(|step| 40.0 + 45.0 * f64::from(step))
                .collect();
            let readings: Vec<f64> = times
                .iter()
                .map(|time| 350.0 - 40.0 * (-time / constant).exp())
                .collect();
            let found = fit(&times, &readings).unwrap();
            assert_abs_diff_eq!(found.steady, 350.0, epsilon = 1e-4);
            assert_abs_diff_eq!(found.time_constant, constant, epsilon = 1e-3);
            assert_abs_diff_eq!(found.at(45.0), readings[1], epsilon = 1e-5);
            assert!(!found.open_ended);
        }
    }

    #[test]
    fn a_straight_rise_is_open_ended_and_a_flat_one_is_not_far_from_its_mean() {
        let times = [10.0, 20.0, 30.0, 40.0];
        assert!(
            fit(&times, &[300.0, 310.0, 320.0, 330.0])
                .unwrap()
                .open_ended
        );
        let flat = fit(&times, &[350.1, 349.9, 350.05, 350.0]).unwrap();
        assert_abs_diff_eq!(flat.steady, 350.0, epsilon = 0.3);
        let even = fit(&times, &[350.0; 4]).unwrap();
        assert_abs_diff_eq!(even.steady, 350.0, epsilon = 1e-9);
    }

    #[test]
    fn two_times_are_no_series() {
        assert_eq!(fit(&[10.0, 10.0, 20.0], &[1.0, 2.0, 3.0]), None);
        assert_eq!(fit(&[], &[]), None);
    }
}
