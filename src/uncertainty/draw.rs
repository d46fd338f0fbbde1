//! Drawing inputs from their laws.
//!
//! Every input has a stream of random numbers of its own for every block of draws, made from the seed, its place in the
//! session and the block's number. So the same session gives the same draws whatever the order of its runs or the
//! number of threads, and a what-if that changes one input's law leaves all others' draws as they were.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sha2::{Digest, Sha256};

use crate::model::{Domain, Input};
use crate::units::Law;

/// A stream of random numbers: one for every input (or other source of chance) and block.
#[derive(Debug, Clone)]
pub struct Stream {
    key: [u8; 32],
}

impl Stream {
    /// The streams of what stands at a place in the session.
    #[must_use]
    pub fn new(seed: u64, place: &str) -> Self {
        let mut hash = Sha256::new();
        hash.update(seed.to_le_bytes());
        hash.update(place.as_bytes());
        Self {
            key: hash.finalize().into(),
        }
    }

    /// The generator for one block.
    #[must_use]
    pub fn block(&self, number: u64) -> Generator {
        let mut bits = ChaCha8Rng::from_seed(self.key);
        bits.set_stream(number);
        Generator { bits, spare: None }
    }
}

/// Random numbers of the distributions that are needed.
#[derive(Debug, Clone)]
pub struct Generator {
    bits: ChaCha8Rng,
    spare: Option<f64>,
}

/// 2⁻⁵³: the step of evenly drawn numbers.
const STEP: f64 = 1.0 / (1_u64 << 53) as f64;

impl Generator {
    /// Even on (0, 1]: never 0, so that a logarithm of it is finite and a cut at 0 stays above it.
    pub fn even(&mut self) -> f64 {
        ((self.bits.next_u64() >> 11) + 1) as f64 * STEP
    }

    /// Standard normal, by Box and Muller (1958), doi:10.1214/aoms/1177706645.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * self.even().ln()).sqrt();
        let (sine, cosine) = (2.0 * std::f64::consts::PI * self.even()).sin_cos();
        self.spare = Some(radius * sine);
        radius * cosine
    }

    /// χ² with `freedom` degrees of freedom over `freedom`, by Marsaglia and Tsang (2000), doi:10.1145/358407.358414,
    /// for a gamma variate of shape `freedom` / 2; a shape below 1 is drawn one higher and brought down by an even
    /// number to the power of 1 / shape.
    pub fn reduced_chi_square(&mut self, freedom: f64) -> f64 {
        let shape = 0.5 * freedom;
        let boost = if shape < 1.0 {
            self.even().powf(1.0 / shape)
        } else {
            1.0
        };
        let d = shape.max(if shape < 1.0 { shape + 1.0 } else { shape }) - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let z = self.normal();
            let v = (1.0 + c * z).powi(3);
            if v > 0.0 && self.even().ln() < 0.5 * z * z + d - d * v + d * v.ln() {
                return boost * d * v / shape;
            }
        }
    }

    /// Fills a column with draws of an input.
    pub fn fill(&mut self, input: &Input, column: &mut [f64]) {
        let (floor, ceiling) = input.domain.ends();
        match input.law {
            Law::Exact => column.fill(input.value),
            Law::Rectangular { low, high } => {
                let (low, high) = (low.max(floor), high.min(ceiling));
                column.fill_with(|| low + (high - low) * self.even());
            }
            Law::Factor { factor } => {
                let (low, high) = (
                    (input.value / factor).ln(),
                    (input.value * factor).min(ceiling).ln(),
                );
                column.fill_with(|| (low + (high - low) * self.even()).exp());
            }
            Law::Normal { standard } => {
                column.fill_with(|| self.normal_within(input.value, standard, floor, ceiling));
            }
        }
    }

    /// A normal number between two ends (the lower excluded), drawn again until it is.
    fn normal_within(&mut self, value: f64, standard: f64, floor: f64, ceiling: f64) -> f64 {
        // A stated value lies inside, so half of all draws at the least are taken; the bound only guards the loop.
        for _ in 0..10_000 {
            let drawn = value + standard * self.normal();
            if drawn > floor && drawn <= ceiling {
                return drawn;
            }
        }
        value
    }
}

impl Domain {
    /// The ends that draws are cut to; the lower is excluded.
    #[must_use]
    pub const fn ends(self) -> (f64, f64) {
        match self {
            Self::Any => (f64::NEG_INFINITY, f64::INFINITY),
            Self::Positive => (0.0, f64::INFINITY),
            Self::Share => (0.0, 1.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn drawn(value: f64, law: Law, domain: Domain) -> Vec<f64> {
        let input = Input {
            place: "x".to_owned(),
            value,
            law,
            domain,
            dimension: crate::units::Dimension::Ratio,
        };
        let mut column = vec![0.0; 100_000];
        Stream::new(1, "x").block(0).fill(&input, &mut column);
        column
    }

    fn mean_and_deviation(column: &[f64]) -> (f64, f64) {
        let count = column.len() as f64;
        let mean = column.iter().sum::<f64>() / count;
        (
            mean,
            (column.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / count).sqrt(),
        )
    }

    #[test]
    fn laws_have_their_mean_and_deviation() {
        let (mean, deviation) = mean_and_deviation(&drawn(
            3.0,
            Law::Rectangular {
                low: 1.0,
                high: 5.0,
            },
            Domain::Any,
        ));
        assert_abs_diff_eq!(mean, 3.0, epsilon = 0.02);
        assert_abs_diff_eq!(deviation, 4.0 / 12_f64.sqrt(), epsilon = 0.01);
        let (mean, deviation) =
            mean_and_deviation(&drawn(3.0, Law::Normal { standard: 2.0 }, Domain::Any));
        assert_abs_diff_eq!(mean, 3.0, epsilon = 0.03);
        assert_abs_diff_eq!(deviation, 2.0, epsilon = 0.02);
        let logs: Vec<f64> = drawn(3.0, Law::Factor { factor: 2.0 }, Domain::Positive)
            .iter()
            .map(|x| x.ln())
            .collect();
        let (mean, deviation) = mean_and_deviation(&logs);
        assert_abs_diff_eq!(mean, 3_f64.ln(), epsilon = 0.01);
        assert_abs_diff_eq!(deviation, 2.0 * 2_f64.ln() / 12_f64.sqrt(), epsilon = 0.01);
    }

    #[test]
    fn emissivities_stay_in_their_range() {
        let laws = [
            Law::Rectangular {
                low: -0.1,
                high: 1.2,
            },
            Law::Normal { standard: 0.8 },
            Law::Factor { factor: 5.0 },
        ];
        for law in laws {
            assert!(
                drawn(0.6, law, Domain::Share)
                    .iter()
                    .all(|&x| x > 0.0 && x <= 1.0),
                "{law:?}"
            );
        }
        let cut = drawn(
            0.9,
            Law::Rectangular {
                low: 0.8,
                high: 1.1,
            },
            Domain::Share,
        );
        assert_abs_diff_eq!(mean_and_deviation(&cut).0, 0.9, epsilon = 0.002);
    }

    #[test]
    fn chi_square_has_its_mean_and_variance() {
        for freedom in [1.0, 2.0, 3.0, 10.0] {
            let mut generator = Stream::new(1, "chi").block(0);
            let column: Vec<f64> = (0..200_000)
                .map(|_| generator.reduced_chi_square(freedom))
                .collect();
            let (mean, deviation) = mean_and_deviation(&column);
            assert_abs_diff_eq!(mean, 1.0, epsilon = 0.02);
            assert_abs_diff_eq!(deviation, (2.0 / freedom).sqrt(), epsilon = 0.02);
        }
    }

    #[test]
    fn streams_differ_by_place_seed_and_block() {
        let first = |seed, place, block| Stream::new(seed, place).block(block).even();
        let one = first(1, "a", 0);
        assert_eq!(one, first(1, "a", 0));
        for other in [first(2, "a", 0), first(1, "b", 0), first(1, "a", 1)] {
            assert_ne!(one, other);
        }
    }
}
