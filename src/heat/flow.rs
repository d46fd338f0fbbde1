//! Pressure lost on the way through a cooler.

use super::air;

/// Loss coefficient K, 1/m⁴, of Δp = K ṁ² / ρ̄: Δp in Pa, ṁ in kg/s, ρ̄ the mean of inlet and outlet density, kg/m³. What
/// is left of a pressure drop when flow and density are taken out, so that coolers compare at equal flow (form of all
/// turbulent losses; textbooks of fluid mechanics, MEMORY).
#[must_use]
pub fn loss_coefficient(drop: f64, mean_density: f64, flow: f64) -> f64 {
    drop * mean_density / (flow * flow)
}

/// Dynamic pressure, Pa, ½ ρ v² of a mass flow (kg/s) in a round pipe of a diameter (m), with v = ṁ / (ρ A): the part of
/// the total pressure that a tap in the wall does not read.
#[must_use]
pub fn dynamic_pressure(flow: f64, diameter: f64, density: f64) -> f64 {
    let area = 0.25 * std::f64::consts::PI * diameter * diameter;
    let speed = flow / (density * area);
    0.5 * density * speed * speed
}

/// Heat, W, that leaves the charge air: ṁ cp (T_in − T_out), cp at the mean temperature; ṁ in kg/s, temperatures in K.
#[must_use]
pub fn heat_rejected(flow: f64, inlet: f64, outlet: f64) -> f64 {
    flow * air::specific_heat(0.5 * (inlet + outlet)) * (inlet - outlet)
}
