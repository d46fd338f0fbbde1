//! Through a tank's wall, steady and one-dimensional: from the skin to the charge air behind it.

use super::film;

/// Stefan–Boltzmann constant, W/(m² K⁴) (CODATA 2018, exact).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Heat that leaves the skin, W/m² of outer surface: q = h_o (T_s − T_amb) + ε σ (T_s⁴ − T_refl⁴) (definition of the
/// coefficients; radiation between a small grey body and its surroundings, Bergman and others, eq. 1.7, MEMORY).
/// Temperatures in K, the film in W/(m² K).
#[must_use]
pub fn flux(film: f64, skin: f64, ambient: f64, emissivity: f64, reflected: f64) -> f64 {
    film * (skin - ambient) + emissivity * STEFAN_BOLTZMANN * (skin.powi(4) - reflected.powi(4))
}

/// The coefficient, W/(m² K), that radiation adds to the outside film: ε σ (T_s² + T_refl²)(T_s + T_refl).
#[must_use]
pub fn radiation_film(skin: f64, emissivity: f64, reflected: f64) -> f64 {
    emissivity * STEFAN_BOLTZMANN * (skin * skin + reflected * reflected) * (skin + reflected)
}

/// A tank's wall, SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// Thickness, m.
    pub thickness: f64,
    /// Conductivity, W/(m K).
    pub conductivity: f64,
    /// Outer over inner area; 1 where there are no ribs.
    pub area_ratio: f64,
}

impl Wall {
    /// Charge-air temperature, K, behind a skin: T_s + q (t/k + 1/h_i) × outer-area-ratio, q in W/m² of outer surface.
    #[must_use]
    pub fn charge(&self, skin: f64, flux: f64, inner_film: f64) -> f64 {
        let resistance = self.thickness / self.conductivity + 1.0 / inner_film;
        skin + flux * self.area_ratio * resistance
    }

    /// Inside heat-transfer coefficient, W/(m² K), of a mass flow (kg/s) through a tank of a hydraulic diameter (m), times
    /// a factor of doubt. Its film temperature, the mean of the wall's inner side and the charge air, depends on it: found
    /// by repetition, which gains two digits a round.
    #[must_use]
    pub fn inner_film(&self, skin: f64, flux: f64, flow: f64, diameter: f64, factor: f64) -> f64 {
        let inner_side = skin + flux * self.area_ratio * self.thickness / self.conductivity;
        let mut coefficient = factor * film::inside(flow, diameter, inner_side);
        for _ in 0..4 {
            let charge = inner_side + flux * self.area_ratio / coefficient;
            let middle = (0.5 * (inner_side + charge)).clamp(200.0, 700.0);
            coefficient = factor * film::inside(flow, diameter, middle);
        }
        coefficient
    }
}
