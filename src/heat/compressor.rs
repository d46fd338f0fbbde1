//! What a compressor can make of the air it draws in.

use super::air::HEAT_CAPACITY_RATIO;

/// Discharge temperature, K: T2 = T1 (1 + (PR^((γ−1)/γ) − 1)/η), PR the ratio of absolute pressures, η the isentropic
/// efficiency, γ = 1.4 (ideal gas; textbooks of turbomachinery, MEMORY).
#[must_use]
pub fn discharge(inlet: f64, pressure_ratio: f64, efficiency: f64) -> f64 {
    let exponent = (HEAT_CAPACITY_RATIO - 1.0) / HEAT_CAPACITY_RATIO;
    inlet * (1.0 + (pressure_ratio.powf(exponent) - 1.0) / efficiency)
}

/// What the air behind a compressor may be, K, at worst and at best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// No colder: loss-free compression of air at the ambient temperature, less [`PIPE_LOSS`].
    pub coldest: f64,
    /// No hotter: compression at [`WORST_EFFICIENCY`] of air [`INTAKE_HEATING`] above the ambient.
    pub hottest: f64,
}

/// The least isentropic efficiency that is taken as possible (judgement; common maps end above it).
pub const WORST_EFFICIENCY: f64 = 0.55;

/// How far above the ambient the air may be that the compressor draws in, K (judgement).
pub const INTAKE_HEATING: f64 = 15.0;

/// How far the air may cool in the pipe between compressor and cooler, K (judgement).
pub const PIPE_LOSS: f64 = 10.0;

/// The bounds for a pressure ratio at an ambient temperature, K.
#[must_use]
pub fn bounds(ambient: f64, pressure_ratio: f64) -> Bounds {
    Bounds {
        coldest: discharge(ambient, pressure_ratio, 1.0) - PIPE_LOSS,
        hottest: discharge(ambient + INTAKE_HEATING, pressure_ratio, WORST_EFFICIENCY),
    }
}
