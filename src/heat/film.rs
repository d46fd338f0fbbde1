//! Films: heat-transfer coefficients between a wall and the air beside it.

use super::air;

/// Standard gravity, m/s² (exact, CGPM 1901).
const GRAVITY: f64 = 9.806_65;

/// Reynolds number at which the boundary layer of a flat plate turns turbulent (Bergman and others, ch. 7, MEMORY).
const PLATE_TRANSITION: f64 = 5e5;

/// Below this Reynolds number the flow in a tube is laminar (Bergman and others, ch. 8, MEMORY).
const TUBE_LAMINAR: f64 = 2300.0;

/// From this Reynolds number on Gnielinski's correlation is taken as it is.
const TUBE_TURBULENT: f64 = 3000.0;

/// Nusselt number of laminar flow in a tube with an even wall temperature, far from the entrance.
const TUBE_LAMINAR_NUSSELT: f64 = 3.66;

/// Mean Nusselt number over a flat plate along which air flows: 0.664 Re^½ Pr^⅓ below Re = 5·10⁵, above it
/// (0.037 Re^0.8 − 871) Pr^⅓ for a boundary layer that turns turbulent there (Bergman and others, eqs 7.30 and 7.38,
/// MEMORY).
#[must_use]
pub fn flat_plate(reynolds: f64, prandtl: f64) -> f64 {
    let factor = if reynolds < PLATE_TRANSITION {
        0.664 * reynolds.sqrt()
    } else {
        0.037 * reynolds.powf(0.8) - 871.0
    };
    factor * prandtl.cbrt()
}

/// Mean Nusselt number of natural convection at a vertical plate, for all Rayleigh numbers: S. W. Churchill and
/// H. H. S. Chu (1975), Nu = {0.825 + 0.387 Ra^⅙ / [1 + (0.492/Pr)^(9/16)]^(8/27)}² (SEEN in the source of ht 1.2.0).
#[must_use]
pub fn vertical_plate(rayleigh: f64, prandtl: f64) -> f64 {
    let spread = (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    let root = 0.825 + 0.387 * rayleigh.max(0.0).powf(1.0 / 6.0) / spread;
    root * root
}

/// Darcy friction factor of a smooth tube, B. S. Petukhov (1970): (0.790 ln Re − 1.64)⁻² (MEMORY).
#[must_use]
pub fn smooth_tube_friction(reynolds: f64) -> f64 {
    (0.790 * reynolds.ln() - 1.64).powi(-2)
}

/// Nusselt number of turbulent flow in a tube, V. Gnielinski (1976):
/// (f/8)(Re − 1000) Pr / (1 + 12.7 (f/8)^½ (Pr^⅔ − 1)), f the Darcy friction factor (SEEN in the source of ht 1.2.0).
#[must_use]
pub fn gnielinski(reynolds: f64, prandtl: f64, friction: f64) -> f64 {
    let eighth = friction / 8.0;
    let third = prandtl.cbrt();
    eighth * (reynolds - 1000.0) * prandtl / (1.0 + 12.7 * eighth.sqrt() * (third * third - 1.0))
}

/// Nusselt number in a smooth tube: 3.66 below Re = 2300, Gnielinski's from 3000 on, a straight line between.
#[must_use]
pub fn tube(reynolds: f64, prandtl: f64) -> f64 {
    let turbulent = |reynolds: f64| gnielinski(reynolds, prandtl, smooth_tube_friction(reynolds));
    if reynolds <= TUBE_LAMINAR {
        TUBE_LAMINAR_NUSSELT
    } else if reynolds >= TUBE_TURBULENT {
        turbulent(reynolds)
    } else {
        let share = (reynolds - TUBE_LAMINAR) / (TUBE_TURBULENT - TUBE_LAMINAR);
        TUBE_LAMINAR_NUSSELT + share * (turbulent(TUBE_TURBULENT) - TUBE_LAMINAR_NUSSELT)
    }
}

/// What the outside film is worked out from, SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// Speed of the air along the tank, m/s.
    pub speed: f64,
    /// Height of the tank, m: the length that the air flows along, and that warm air rises along.
    pub height: f64,
    /// Temperature of the skin, K.
    pub skin: f64,
    /// Temperature of the air, K.
    pub ambient: f64,
    /// Absolute pressure of the air, Pa.
    pub pressure: f64,
}

/// Outside heat-transfer coefficient, W/(m² K): a flat plate at the air's speed, and never below the natural convection
/// of a vertical plate. Properties at the film temperature, the mean of skin and air.
#[must_use]
pub fn outside(of: Outside) -> f64 {
    let film = 0.5 * (of.skin + of.ambient);
    let (conductivity, prandtl) = (air::conductivity(film), air::prandtl(film));
    let kinematic = air::viscosity(film) / air::density(of.pressure, film);
    let forced = flat_plate(of.speed * of.height / kinematic, prandtl);
    // Ra = g β ΔT L³ Pr / ν², with β = 1/T of an ideal gas.
    let buoyancy = GRAVITY * (of.skin - of.ambient).abs() * of.height.powi(3) / film;
    let natural = vertical_plate(buoyancy * prandtl / (kinematic * kinematic), prandtl);
    forced.max(natural) * conductivity / of.height
}

/// Inside heat-transfer coefficient, W/(m² K), of a mass flow (kg/s) through a tank of a hydraulic diameter (m), as if it
/// were a long smooth pipe; properties at the film temperature, K. Re = 4 ṁ / (π D μ).
#[must_use]
pub fn inside(flow: f64, diameter: f64, film: f64) -> f64 {
    let reynolds = 4.0 * flow / (std::f64::consts::PI * diameter * air::viscosity(film));
    tube(reynolds, air::prandtl(film)) * air::conductivity(film) / diameter
}
