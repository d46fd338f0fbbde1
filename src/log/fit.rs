//! A straight line through the steps of a pull, by least squares, with what is unsure about it.
//!
//! Each step is a mean over rows that follow one another, so what they remember of each other is in the scatter of the
//! steps about the line (batch means; standard in simulation, from memory). Where neighbouring steps still lie on the same
//! side of the line (r > 0, r the lag-1 autocorrelation of the residuals) the standard uncertainties are multiplied by
//! √((1 + r)/(1 − r)) (first-order autoregression, after Bartlett 1935, from memory).

/// A straight line of fewer points has no doubt that could be told.
const FEWEST_POINTS: usize = 5;

/// The greatest autocorrelation that is reckoned with.
const GREATEST: f64 = 0.9;

/// offset + slope × x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// At x = 0.
    pub offset: f64,
    /// Its standard uncertainty.
    pub offset_standard: f64,
    /// Per unit of x.
    pub slope: f64,
    /// Its standard uncertainty.
    pub slope_standard: f64,
    /// Degrees of freedom of the scatter about the line.
    pub freedom: f64,
}

/// The line through points in the order of the pull; `None` of too few, or of points that lie at one x.
pub fn line(points: &[(f64, f64)]) -> Option<Fit> {
    if points.len() < FEWEST_POINTS {
        return None;
    }
    let count = points.len() as f64;
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (x_mean, y_mean) = (mean(&|point| point.0), mean(&|point| point.1));
    let spread: f64 = points.iter().map(|(x, _)| (x - x_mean).powi(2)).sum();
    let together: f64 = points
        .iter()
        .map(|(x, y)| (x - x_mean) * (y - y_mean))
        .sum();
    let slope = together / spread;
    let offset = y_mean - slope * x_mean;
    let residuals: Vec<f64> = points.iter().map(|(x, y)| y - offset - slope * x).collect();
    let freedom = count - 2.0;
    let scatter = scatter(&residuals, freedom);
    let fit = Fit {
        offset,
        offset_standard: scatter * (1.0 / count + x_mean * x_mean / spread).sqrt(),
        slope,
        slope_standard: scatter / spread.sqrt(),
        freedom,
    };
    let finite = [
        fit.offset,
        fit.offset_standard,
        fit.slope,
        fit.slope_standard,
    ];
    finite
        .iter()
        .all(|figure| figure.is_finite())
        .then_some(fit)
}

/// The standard deviation about the line, widened where neighbours go together.
fn scatter(residuals: &[f64], freedom: f64) -> f64 {
    let squares: f64 = residuals.iter().map(|residual| residual * residual).sum();
    let pairs = residuals.windows(2);
    let neighbours: f64 = pairs.map(|pair| pair.iter().product::<f64>()).sum();
    let alike = if squares > 0.0 {
        (neighbours / squares).clamp(0.0, GREATEST)
    } else {
        0.0
    };
    (squares / freedom * (1.0 + alike) / (1.0 - alike)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Residuals that alternate: r < 0 changes nothing.
    #[test]
    fn the_line_by_hand() {
        let points = [(1.0, 3.1), (2.0, 4.9), (3.0, 7.1), (4.0, 8.9), (5.0, 11.1)];
        let fit = line(&points).unwrap();
        // Σxy − n x̄ȳ = 20.0 of Σx² − n x̄² = 10.
        assert_relative_eq!(fit.slope, 2.0, max_relative = 1e-12);
        assert_relative_eq!(fit.offset, 1.02, max_relative = 1e-12);
        // Residuals 0.08, −0.12, 0.08, −0.12, 0.08: Σ = 0.048, s² = 0.016.
        assert_relative_eq!(
            fit.slope_standard,
            (0.016_f64 / 10.0).sqrt(),
            max_relative = 1e-9
        );
        let offset = (0.016_f64 * (0.2 + 9.0 / 10.0)).sqrt();
        assert_relative_eq!(fit.offset_standard, offset, max_relative = 1e-9);
        assert_eq!(fit.freedom, 3.0);
    }

    #[test]
    fn residuals_that_go_together_widen_it() {
        let bent: Vec<(f64, f64)> = (0..10).map(|x| (f64::from(x), f64::from(x * x))).collect();
        let mixed: Vec<(f64, f64)> = {
            let fit = line(&bent).unwrap();
            let mut residuals: Vec<f64> = bent
                .iter()
                .map(|(x, y)| y - fit.offset - fit.slope * x)
                .collect();
            residuals.sort_by(f64::total_cmp);
            // The same residuals, but no longer beside their like.
            let order = [0, 9, 1, 8, 2, 7, 3, 6, 4, 5];
            (0..10)
                .map(|at| (at as f64, residuals[order[at]]))
                .collect()
        };
        assert!(line(&bent).unwrap().slope_standard > 1.3 * line(&mixed).unwrap().slope_standard);
    }

    /// Of 1000 made-up pulls of 15 steps about 95 in 100 have their slope within Student's t of 13 degrees of freedom.
    #[test]
    fn intervals_hold_what_they_say() {
        let mut state = 0x9E37_79B9_7F4A_7C15_u64;
        let mut noise = move || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        let mut held = 0;
        for _ in 0..1000 {
            let points: Vec<(f64, f64)> = (0..15)
                .map(|x| (f64::from(x), 3.0 * f64::from(x) + noise()))
                .collect();
            let fit = line(&points).unwrap();
            held += usize::from((fit.slope - 3.0).abs() < 2.160 * fit.slope_standard);
        }
        assert!((930..975).contains(&held), "{held}");
    }

    #[test]
    fn no_line_without_enough_points_apart() {
        assert_eq!(line(&[(1.0, 1.0); 4]), None);
        assert_eq!(line(&[(1.0, 1.0); 8]), None);
    }
}
