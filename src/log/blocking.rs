//! The mean of a series of values that follow one another, and what is unsure about it, in one pass and flat memory.
//!
//! Neighbouring rows of a log are not independent: σ/√n would say far too little. The values are averaged in pairs, the
//! pairs in pairs, and so on; with blocks longer than the values remember, the scatter of the blocks' means gives the
//! doubt of the mean of all. Sources, all from memory: blocking, Flyvbjerg and Petersen, J. Chem. Phys. 91, 461 (1989);
//! in one pass, Kent et al., J. Comput. Chem. 28, 2309 (2007); the length of a block, Lee et al., Phys. Rev. E 83, 066706
//! (2011); the standard uncertainty of few blocks, JCGM 101:2008, 6.4.9.

/// The fewest blocks that tell a scatter: below, the standard uncertainty of JCGM 101, 6.4.9 does not exist.
pub const FEWEST_BLOCKS: u64 = 4;

/// The blocks of one length: 1, 2, 4, 8 … values.
#[derive(Debug, Clone, Copy, Default)]
struct Level {
    count: u64,
    sum: f64,
    squares: f64,
    /// A block that waits for its partner.
    waiting: Option<f64>,
}

/// A mean in the making.
#[derive(Debug, Clone, Default)]
pub struct Blocking {
    /// The first value: sums are of what differs from it, so that they lose no digits.
    first: f64,
    low: f64,
    high: f64,
    levels: Vec<Level>,
}

impl Blocking {
    /// Adds the next value.
    pub fn push(&mut self, value: f64) {
        if self.levels.is_empty() {
            (self.first, self.low, self.high) = (value, value, value);
        }
        self.low = self.low.min(value);
        self.high = self.high.max(value);
        let mut block = value - self.first;
        for depth in 0.. {
            if depth == self.levels.len() {
                self.levels.push(Level::default());
            }
            let level = &mut self.levels[depth];
            level.count += 1;
            level.sum += block;
            level.squares += block * block;
            match level.waiting.take() {
                Some(partner) => block = 0.5 * (partner + block),
                None => {
                    level.waiting = Some(block);
                    break;
                }
            }
        }
    }

    /// How many values there are.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.levels.first().map_or(0, |level| level.count)
    }

    /// Whether all values are one and the same.
    #[must_use]
    pub fn is_constant(&self) -> bool {
        self.low >= self.high
    }

    /// The arithmetic mean; `None` of no values.
    #[must_use]
    pub fn mean(&self) -> Option<f64> {
        let level = self.levels.first()?;
        Some(self.first + level.sum / level.count as f64)
    }

    /// The standard deviation of the single values; 0 of fewer than two.
    #[must_use]
    pub fn scatter(&self) -> f64 {
        let Some(level) = self.levels.first().filter(|level| level.count > 1) else {
            return 0.0;
        };
        level.variance().sqrt()
    }

    /// The standard uncertainty of the mean, as of values that remember those before them; `None` of fewer than
    /// [`FEWEST_BLOCKS`].
    ///
    /// The shortest blocks are taken whose length B has B³ > 2 n s², s the variance of the mean by blocks of that length over
    /// the one by single values. Where none of at least [`FEWEST_BLOCKS`] blocks is long enough, the values remember for
    /// about as long as the window, and the greatest of all lengths' is taken.
    #[must_use]
    pub fn standard(&self) -> Option<f64> {
        let values = self.count() as f64;
        let single = self.levels.first()?.variance_of_mean()?;
        let mut greatest = 0.0_f64;
        let mut length = 1.0_f64;
        for level in &self.levels {
            let Some(variance) = level.variance_of_mean() else {
                break;
            };
            let standard = variance.sqrt() * few(level.count);
            let inefficiency = if single > 0.0 { variance / single } else { 0.0 };
            if length.powi(3) > 2.0 * values * inefficiency.powi(2) {
                return Some(standard);
            }
            greatest = greatest.max(standard);
            length *= 2.0;
        }
        Some(greatest)
    }
}

impl Level {
    /// s² of two blocks or more.
    fn variance(&self) -> f64 {
        let count = self.count as f64;
        (self.squares - self.sum * self.sum / count).max(0.0) / (count - 1.0)
    }

    /// s²/k of k blocks; `None` of too few.
    fn variance_of_mean(&self) -> Option<f64> {
        (self.count >= FEWEST_BLOCKS).then(|| self.variance() / self.count as f64)
    }
}

/// What the standard deviation of a mean of k values is multiplied by, because it is itself known from k values only.
fn few(count: u64) -> f64 {
    let count = count as f64;
    ((count - 1.0) / (count - 3.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn of(values: impl IntoIterator<Item = f64>) -> Blocking {
        let mut blocking = Blocking::default();
        values.into_iter().for_each(|value| blocking.push(value));
        blocking
    }

    /// Even numbers between 0 and 1, the same on every run (a xorshift generator).
    fn noise() -> impl Iterator<Item = f64> {
        let mut state = 0x9E37_79B9_7F4A_7C15_u64;
        std::iter::repeat_with(move || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64
        })
    }

    #[test]
    fn of_too_few_values_nothing_is_said() {
        assert_eq!(Blocking::default().mean(), None);
        assert_eq!(of([1.0, 2.0, 4.0]).standard(), None);
        assert_relative_eq!(of([1.0, 2.0, 6.0]).mean().unwrap(), 3.0);
        // s/√4 × √3, by hand: s² = 5/3.
        let four = of([1.0, 2.0, 3.0, 4.0]);
        assert_relative_eq!(
            four.standard().unwrap(),
            (5.0_f64 / 3.0 / 4.0 * 3.0).sqrt(),
            max_relative = 1e-12
        );
    }

    #[test]
    fn independent_values_have_the_doubt_of_the_textbook() {
        let count = 1 << 18;
        let found = of(noise().take(count)).standard().unwrap();
        let known = (1.0 / 12.0 / count as f64).sqrt();
        assert_relative_eq!(found, known, max_relative = 0.05);
    }

    /// x' = 0.95 x + noise: the variance of the mean is (1 + 0.95)/(1 − 0.95) = 39 times that of independent values.
    #[test]
    fn values_that_remember_have_more() {
        let count = 1 << 18;
        let mut x = 0.0;
        let series = noise().take(count).map(|noise| {
            x = 0.95 * x + noise - 0.5;
            x
        });
        let found = of(series).standard().unwrap();
        let spread = 1.0 / 12.0 / (1.0 - 0.95 * 0.95);
        let known = (spread * 39.0 / count as f64).sqrt();
        assert_relative_eq!(found, known, max_relative = 0.1);
    }

    /// What drifts through its whole window is not known better for having more rows.
    #[test]
    fn a_drift_counts_as_doubt() {
        let [few, many] =
            [100, 10_000].map(|count| of((0..count).map(|at| at as f64 / count as f64)).standard());
        assert!(few.unwrap() > 0.1 && many.unwrap() > 0.1);
    }

    #[test]
    fn digits_are_not_lost_far_from_zero() {
        let near = of(noise().take(1000)).standard().unwrap();
        let far = of(noise().take(1000).map(|value| value + 1e8));
        assert_relative_eq!(far.standard().unwrap(), near, max_relative = 1e-5);
        assert!(!far.is_constant() && of([2.0; 9]).is_constant());
    }
}
