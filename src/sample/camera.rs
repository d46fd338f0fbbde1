//! The camera: from the scene's radiation to the temperatures that it stores.

use ndarray::Array2;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::canvas::{Canvas, FINE, HEIGHT, Skin, WIDTH};
use super::truth::{CAMERA_NOISE, CAMERA_OFFSET, Run, SETTING_EMISSIVITY, SETTING_REFLECTED};
use crate::radiometry::Detector;
use crate::units::temperature::ZERO_CELSIUS;

/// The lens's blur along each axis: a binomial bell of 1.2 pixels. Written out as exact fractions because a bell from
/// the exponential function differs in its last digit from machine to machine.
const BLUR: [f64; 7] = [
    1.0 / 64.0,
    6.0 / 64.0,
    15.0 / 64.0,
    20.0 / 64.0,
    15.0 / 64.0,
    6.0 / 64.0,
    1.0 / 64.0,
];

/// The temperatures, K, that the camera stores of a scene, before they are rounded to what the file holds.
///
/// The radiance ε S(T) + (1 − ε) S(T_reflected) goes through the lens and becomes an apparent temperature; the
/// camera's offset, drift and noise act on that. What is stored then solves
/// ε_i S(T_stored) + (1 − ε_i) S(T_reflected,i) = S(T_apparent) with the camera's own settings ε_i and T_reflected,i.
#[must_use]
pub fn photograph(scene: &Canvas, run: &Run, detector: &Detector) -> Array2<f64> {
    let radiance = scene.skins.map(|skin| radiance(skin, detector));
    let seen = blur(&blur(&binned(&radiance), false), true);
    let mirrored = (1.0 - SETTING_EMISSIVITY) * detector.signal(SETTING_REFLECTED + ZERO_CELSIUS);
    let mut noise = Noise::new(run.seed);
    seen.map(|&signal| {
        let error = CAMERA_OFFSET + run.drift + CAMERA_NOISE * noise.draw();
        let apparent = detector.temperature(signal) + error;
        detector.temperature((detector.signal(apparent) - mirrored) / SETTING_EMISSIVITY)
    })
}

/// What leaves a skin towards the camera.
fn radiance(skin: &Skin, detector: &Detector) -> f64 {
    let own = detector.signal(skin.celsius + ZERO_CELSIUS);
    let mirrored = detector.signal(skin.reflected + ZERO_CELSIUS);
    skin.emissivity * own + (1.0 - skin.emissivity) * mirrored
}

/// The mean over the scene's points in each pixel.
fn binned(fine: &Array2<f64>) -> Array2<f64> {
    Array2::from_shape_fn((HEIGHT, WIDTH), |(row, column)| {
        let points = (0..FINE * FINE).filter_map(|index| {
            let point = [row * FINE + index / FINE, column * FINE + index % FINE];
            fine.get(point)
        });
        points.sum::<f64>() / (FINE * FINE) as f64
    })
}

/// Blurs along rows or down columns; beyond the picture's edge its last pixel goes on.
fn blur(picture: &Array2<f64>, down: bool) -> Array2<f64> {
    let reach = BLUR.len() / 2;
    let shifted = |index: usize, offset: usize, length: usize| {
        (index + offset).saturating_sub(reach).min(length - 1)
    };
    Array2::from_shape_fn(picture.dim(), |(row, column)| {
        let taps = BLUR.iter().enumerate().filter_map(|(offset, weight)| {
            let point = if down {
                [shifted(row, offset, HEIGHT), column]
            } else {
                [row, shifted(column, offset, WIDTH)]
            };
            picture.get(point).map(|value| weight * value)
        });
        taps.sum()
    })
}

/// Draws of nearly normal noise with mean 0 and standard deviation 1.
struct Noise(ChaCha8Rng);

impl Noise {
    fn new(seed: u8) -> Self {
        Self(ChaCha8Rng::from_seed([seed; 32]))
    }

    /// The sum of twelve even draws from [0, 1), less 6 (Irwin and Hall): sums of whole numbers, alike on every
    /// machine, where the logarithm and cosine of the usual ways are not.
    fn draw(&mut self) -> f64 {
        let sum: u64 = (0..12).map(|_| u64::from(self.0.next_u32())).sum();
        sum as f64 / 4_294_967_296.0 - 6.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_has_mean_nought_and_deviation_one() {
        let mut noise = Noise::new(9);
        let draws: Vec<f64> = (0..20_000).map(|_| noise.draw()).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let variance = draws.iter().map(|draw| (draw - mean).powi(2)).sum::<f64>() / 20_000.0;
        // Standard errors: 0.007 of the mean, 0.01 of the variance.
        assert!(mean.abs() < 0.03, "mean {mean}");
        assert!((variance - 1.0).abs() < 0.04, "variance {variance}");
    }

    #[test]
    fn blur_spreads_a_point_and_keeps_its_sum() {
        let mut point = Array2::zeros((HEIGHT, WIDTH));
        point[[90, 120]] = 1.0;
        let spread = blur(&blur(&point, false), true);
        assert_eq!(spread.sum(), 1.0);
        assert_eq!(spread[[90, 120]], (20.0 / 64.0) * (20.0 / 64.0));
        assert_eq!(spread[[90, 123]], (20.0 / 64.0) / 64.0);
        assert_eq!(spread[[90, 124]], 0.0);
        assert_eq!(blur(&Array2::ones((HEIGHT, WIDTH)), true)[[0, 0]], 1.0);
    }
}
