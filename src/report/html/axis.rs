//! The axis of a plot.

/// An axis: its ends and the numbers along it.
pub(super) struct Axis {
    pub(super) low: f64,
    pub(super) high: f64,
    step: f64,
}

impl Axis {
    /// The least axis with round numbers at least at both ends of a range, or within them where `open`.
    pub(super) fn over(low: f64, high: f64, steps: &[f64], most: f64, open: bool) -> Self {
        let wide = (high - low).max(1e-6);
        let fits = |step: f64| wide / step <= most;
        let step = steps
            .iter()
            .copied()
            .find(|&step| fits(step))
            .unwrap_or_else(|| {
                let power = 10_f64.powf((wide / most).log10().floor());
                let tens = [1.0, 2.0, 5.0, 10.0].map(|round| round * power);
                tens.into_iter().find(|&step| fits(step)).unwrap_or(wide)
            });
        let (floor, ceiling) = ((low / step).floor() * step, (high / step).ceil() * step);
        Self {
            low: floor,
            high: if open { high } else { ceiling },
            step,
        }
    }

    /// The numbers along it.
    pub(super) fn numbers(&self) -> impl Iterator<Item = f64> + '_ {
        let count = ((self.high - self.low) / self.step + 1e-9).floor() as u32;
        (0..=count).map(|index| self.low + self.step * f64::from(index))
    }

    /// Where a value lies between the ends, as a share of 1.
    pub(super) fn share(&self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low).max(1e-9)
    }
}

#[cfg(test)]
mod tests {
    use super::Axis;

    #[test]
    fn numbers_along_an_axis_are_round_and_few() {
        let axis = Axis::over(0.0, 384.0, &[30.0, 60.0, 120.0], 8.0, true);
        let numbers: Vec<f64> = axis.numbers().collect();
        assert_eq!(numbers, [0.0, 60.0, 120.0, 180.0, 240.0, 300.0, 360.0]);
        let axis = Axis::over(43.7, 56.2, &[1.0, 2.0, 5.0], 7.0, false);
        assert_eq!((axis.low, axis.high, axis.step), (42.0, 58.0, 2.0));
        let long = Axis::over(0.0, 1e5, &[10.0], 8.0, true);
        assert_eq!(long.step, 20_000.0);
    }
}
