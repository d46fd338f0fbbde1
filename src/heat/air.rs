//! Properties of dry air at the pressures and temperatures of charge-air coolers.

/// Specific gas constant of dry air, J/(kg K): R = 8.314 463 / 0.028 965 5 (standard atmosphere of ISO 2533, MEMORY).
pub const GAS_CONSTANT: f64 = 287.05;

/// Standard atmosphere, Pa (ISO 2533), taken where the barometer is not stated.
pub const STANDARD_ATMOSPHERE: f64 = 101_325.0;

/// Ratio of the specific heats of air (diatomic gas, 7/5).
pub const HEAT_CAPACITY_RATIO: f64 = 1.4;

/// Density, kg/m³, of dry air as an ideal gas: ρ = p / (R T), p absolute in Pa, T in K.
///
/// Within 0.15 % of the reference equation of state for 100–350 kPa, 290–420 K (tests/air.rs).
#[must_use]
pub fn density(pressure: f64, kelvin: f64) -> f64 {
    pressure / (GAS_CONSTANT * kelvin)
}

/// Dynamic viscosity, Pa s, at T in K: Sutherland's formula μ = β T^1.5 / (T + S) with β = 1.458·10⁻⁶ kg/(s m K^½) and
/// S = 110.4 K of the U.S. Standard Atmosphere 1976 (MEMORY; within 1.3 % of CoolProp 8.0.0, 250–450 K).
#[must_use]
pub fn viscosity(kelvin: f64) -> f64 {
    1.458e-6 * kelvin * kelvin.sqrt() / (kelvin + 110.4)
}

/// Thermal conductivity, W/(m K), at T in K: k = 2.646 38·10⁻³ T^1.5 / (T + 245.4 · 10^(−12/T)) of the U.S. Standard
/// Atmosphere 1976 (MEMORY; within 1.8 % of CoolProp 8.0.0, 250–450 K).
#[must_use]
pub fn conductivity(kelvin: f64) -> f64 {
    // 10^(−12/T) as an exponential of base e, which is quicker.
    let ten = (-12.0 * std::f64::consts::LN_10 / kelvin).exp();
    2.646_38e-3 * kelvin * kelvin.sqrt() / (kelvin + 245.4 * ten)
}

/// Isobaric specific heat, J/(kg K), at T in K: 1007.15 + 0.0303 (T − 300) + 4.337·10⁻⁴ (T − 300)².
///
/// COMPUTED: least squares through CoolProp 8.0.0 (Lemmon and others 2000), mean of 100 and 200 kPa, 250–450 K, within
/// 0.01 % of it; at 350 kPa it is 0.3 % low.
#[must_use]
pub fn specific_heat(kelvin: f64) -> f64 {
    let above = kelvin - 300.0;
    1007.15 + above * (0.0303 + 4.337e-4 * above)
}

/// Prandtl number, Pr = cp μ / k, at T in K.
#[must_use]
pub fn prandtl(kelvin: f64) -> f64 {
    specific_heat(kelvin) * viscosity(kelvin) / conductivity(kelvin)
}
