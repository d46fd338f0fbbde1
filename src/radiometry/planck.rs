//! Planck's law over a spectral band, by quadrature.

use super::{FIRST_RADIATION_CONSTANT, SECOND_RADIATION_CONSTANT};

/// Spectral radiance of a black body: Planck's law, per unit wavelength.
///
/// L(λ, T) = c1L / (λ⁵ (exp(c2 / (λ T)) − 1))
///
/// | symbol | meaning              | unit             |
/// |--------|----------------------|------------------|
/// | λ      | wavelength in vacuum | µm, above 0      |
/// | T      | temperature          | K, above 0       |
/// | L      | spectral radiance    | W m⁻² sr⁻¹ µm⁻¹  |
///
/// Uses `exp_m1`, which keeps its digits where c2 / (λ T) is small.
/// Checked value: L(10 µm, 300 K) = 9.924 W m⁻² sr⁻¹ µm⁻¹.
///
/// # Source
/// M. Planck (1901); constants c1L = 2 h c² and c2 = h c / k from the exact values of CODATA 2018.
#[must_use]
pub fn spectral_radiance(wavelength: f64, kelvin: f64) -> f64 {
    let x = SECOND_RADIATION_CONSTANT / (wavelength * kelvin);
    FIRST_RADIATION_CONSTANT / (wavelength.powi(5) * x.exp_m1())
}

/// A relative spectral response: straight lines between points of rising wavelength, zero outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Wavelength (µm) and relative response at each point.
    points: Vec<(f64, f64)>,
}

/// Why a spectral response cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BandError {
    /// Fewer than two points.
    #[error("a spectral response needs at least two points")]
    TooFewPoints,
    /// A wavelength out of range or out of order.
    #[error("wavelengths must rise from point to point and lie between 0.2 and 1000 µm")]
    Wavelengths,
    /// A negative response, one that is not a number, or none above zero.
    #[error("relative responses must not be negative, and one at least must be above zero")]
    Responses,
}

impl Band {
    /// A response of 1 between two wavelengths, µm.
    ///
    /// # Errors
    /// Wavelengths outside 0.2 to 1000 µm, or not rising.
    pub fn flat(low: f64, high: f64) -> Result<Self, BandError> {
        Self::curve(vec![(low, 1.0), (high, 1.0)])
    }

    /// A response given by points of wavelength (µm) and relative response.
    ///
    /// # Errors
    /// Fewer than two points, wavelengths that do not rise, responses that are negative or all zero.
    pub fn curve(points: Vec<(f64, f64)>) -> Result<Self, BandError> {
        if points.len() < 2 {
            return Err(BandError::TooFewPoints);
        }
        let rising = points.windows(2).all(|pair| pair[0].0 < pair[1].0);
        if !rising
            || points
                .iter()
                .any(|&(wavelength, _)| !(0.2..=1000.0).contains(&wavelength))
        {
            return Err(BandError::Wavelengths);
        }
        let sound = points
            .iter()
            .all(|&(_, response)| response.is_finite() && response >= 0.0);
        if !sound || points.iter().all(|&(_, response)| response == 0.0) {
            return Err(BandError::Responses);
        }
        Ok(Self { points })
    }

    /// The band's radiance of a black body at `kelvin` (above 0), by quadrature: W m⁻² sr⁻¹. For one value; for many see
    /// [`super::SignalTable`].
    #[must_use]
    pub fn radiance(&self, kelvin: f64) -> f64 {
        Quadrature::over(self).signal(kelvin)
    }

    /// The temperature, K, of a black body with this radiance in the band, by quadrature; NaN where there is none.
    #[must_use]
    pub fn temperature(&self, radiance: f64) -> f64 {
        Quadrature::over(self).temperature(radiance)
    }

    /// ∫ R dλ, µm: a signal over it is the band's mean spectral radiance.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.points
            .windows(2)
            .map(|pair| 0.5 * (pair[1].0 - pair[0].0) * (pair[0].1 + pair[1].1))
            .sum()
    }

    /// Shortest and longest wavelength, µm.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        let first = self.points.first().map_or(f64::NAN, |point| point.0);
        let last = self.points.last().map_or(f64::NAN, |point| point.0);
        (first, last)
    }
}

/// Points and weights of a quadrature over a band, laid out once and used for every temperature.
#[derive(Debug, Clone)]
pub(super) struct Quadrature {
    /// Wavelength (µm) and weight × response (µm).
    nodes: Vec<(f64, f64)>,
}

/// Order of the Gauss–Legendre rule in each panel.
const ORDER: usize = 16;

/// Order in the narrow panels of a response that is given point by point.
const FINE_ORDER: usize = 4;

/// Panels narrower than this ratio are as well served by the fine order: the integrand varies by less than e over them.
const FINE_RATIO: f64 = 1.015;

/// Panels reach from λ to at most this multiple of λ: Planck's integrand then varies by a factor of about e⁹ at the
/// most (1 µm, 200 K), which 16 points integrate to better than 1e-10.
const PANEL_RATIO: f64 = 1.15;

impl Quadrature {
    pub(super) fn over(band: &Band) -> Self {
        let (full, fine) = (gauss_legendre(ORDER), gauss_legendre(FINE_ORDER));
        let mut nodes = Vec::new();
        for pair in band.points.windows(2) {
            let ((from, response_from), (to, response_to)) = (pair[0], pair[1]);
            let rule = if to / from < FINE_RATIO { &fine } else { &full };
            let panels = ((to / from).ln() / PANEL_RATIO.ln()).ceil().max(1.0);
            let width = (to - from) / panels;
            let mut panel = 0.0;
            while panel < panels {
                let middle = from + (panel + 0.5) * width;
                for &(position, weight) in rule {
                    let wavelength = middle + 0.5 * width * position;
                    let share = (wavelength - from) / (to - from);
                    let response = response_from + share * (response_to - response_from);
                    nodes.push((wavelength, 0.5 * width * weight * response));
                }
                panel += 1.0;
            }
        }
        Self { nodes }
    }

    /// S(T) = ∫ R(λ) L(λ, T) dλ, W m⁻² sr⁻¹.
    pub(super) fn signal(&self, kelvin: f64) -> f64 {
        self.nodes
            .iter()
            .map(|&(wavelength, weight)| weight * spectral_radiance(wavelength, kelvin))
            .sum()
    }

    /// S(T) and dS/dT, W m⁻² sr⁻¹ K⁻¹, from one exponential a point.
    ///
    /// d/dT of 1/(eˣ − 1) with x = c2/(λT) is (x/T) / ((eˣ − 1)(1 − e⁻ˣ)), and 1/(1 − e⁻ˣ) = 1 + 1/(eˣ − 1).
    pub(super) fn signal_and_slope(&self, kelvin: f64) -> (f64, f64) {
        self.nodes
            .iter()
            .fold((0.0, 0.0), |(signal, slope), &(wavelength, weight)| {
                let x = SECOND_RADIATION_CONSTANT / (wavelength * kelvin);
                let occupied = 1.0 / x.exp_m1();
                let radiance = weight * FIRST_RADIATION_CONSTANT / wavelength.powi(5) * occupied;
                (
                    signal + radiance,
                    slope + radiance * (1.0 + occupied) * x / kelvin,
                )
            })
    }

    /// S⁻¹: the temperature, K, of a signal above zero, by Newton's method on ln S over 1/T, which is nearly a
    /// straight line and convex, so that a start on the hot side comes down to the root without overshooting.
    pub(super) fn temperature(&self, signal: f64) -> f64 {
        self.temperature_from(signal, HOT_START)
    }

    /// [`Self::temperature`] from a start that is known to be near the root or on its hot side.
    pub(super) fn temperature_from(&self, signal: f64, start: f64) -> f64 {
        let target = signal.ln();
        if !target.is_finite() {
            return f64::NAN;
        }
        let mut kelvin = start;
        for _ in 0..80 {
            let (here, slope) = self.signal_and_slope(kelvin);
            let step = (here.ln() - target) * here / (kelvin * kelvin * slope);
            let next = 1.0 / (1.0 / kelvin + step);
            if !next.is_finite() || next <= 0.0 {
                return f64::NAN;
            }
            let settled = (next - kelvin).abs() <= 1e-12 * kelvin;
            kelvin = next;
            if settled {
                break;
            }
        }
        kelvin
    }
}

/// Where the search for a temperature begins, K: hotter than anything that is ever read.
const HOT_START: f64 = 1e5;

/// Positions and weights of the Gauss–Legendre rule on [−1, 1], by Newton's method on the Legendre polynomial
/// (Abramowitz & Stegun 25.4.29 and 22.16.6, from memory).
fn gauss_legendre(order: usize) -> Vec<(f64, f64)> {
    let count = order as f64;
    (1..=order)
        .map(|index| {
            let mut x = (std::f64::consts::PI * (index as f64 - 0.25) / (count + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut previous, mut current) = (1.0, x);
                for degree in 2..=order {
                    let n = degree as f64;
                    (previous, current) = (
                        current,
                        ((2.0 * n - 1.0) * x * current - (n - 1.0) * previous) / n,
                    );
                }
                slope = count * (x * current - previous) / (x * x - 1.0);
                let step = current / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn spectral_radiance_has_its_checked_values() {
        // Computed from the CODATA 2018 exact constants; the last is in the docs of the `ht` library (after an
        // on-line calculator), in W m⁻² sr⁻¹ m⁻¹ with an earlier set of constants.
        assert_relative_eq!(spectral_radiance(10.0, 300.0), 9.924, max_relative = 5e-5);
        assert_relative_eq!(spectral_radiance(10.0, 500.0), 71.02, max_relative = 5e-5);
        assert_relative_eq!(spectral_radiance(4.0, 300.0), 0.7220, max_relative = 5e-5);
        assert_relative_eq!(
            spectral_radiance(4.0, 800.0) * 1e6,
            1.311_694_129_7e9,
            max_relative = 3e-6
        );
    }

    #[test]
    fn slope_is_the_derivative() {
        let quadrature = Quadrature::over(&Band::flat(8.0, 14.0).unwrap());
        for kelvin in [210.0, 300.0, 700.0, 1400.0] {
            let difference =
                (quadrature.signal(kelvin + 0.01) - quadrature.signal(kelvin - 0.01)) / 0.02;
            assert_relative_eq!(
                quadrature.signal_and_slope(kelvin).1,
                difference,
                max_relative = 1e-6
            );
        }
    }

    #[test]
    fn search_finds_the_temperature_of_any_signal() {
        for (low, high) in [(8.0, 14.0), (3.0, 5.0), (1.0, 1.1), (0.9, 900.0)] {
            let quadrature = Quadrature::over(&Band::flat(low, high).unwrap());
            for kelvin in [60.0, 150.0, 300.0, 2500.0, 9000.0] {
                assert_relative_eq!(
                    quadrature.temperature(quadrature.signal(kelvin)),
                    kelvin,
                    max_relative = 1e-9
                );
            }
            assert!(quadrature.temperature(0.0).is_nan());
            assert!(quadrature.temperature(-1.0).is_nan());
            assert!(quadrature.temperature(f64::INFINITY).is_nan());
        }
    }

    #[test]
    fn unusable_bands_are_refused() {
        assert_eq!(Band::curve(vec![(8.0, 1.0)]), Err(BandError::TooFewPoints));
        assert_eq!(Band::flat(14.0, 8.0), Err(BandError::Wavelengths));
        assert_eq!(Band::flat(f64::NAN, 8.0), Err(BandError::Wavelengths));
        assert_eq!(
            Band::curve(vec![(8.0, 0.0), (9.0, 0.0)]),
            Err(BandError::Responses)
        );
        assert_eq!(
            Band::curve(vec![(8.0, -1.0), (9.0, 1.0)]),
            Err(BandError::Responses)
        );
    }
}
