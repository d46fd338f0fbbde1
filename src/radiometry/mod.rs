//! What a detector sees of a black body: the signal at a temperature, and back.
//!
//! The fourth-power law does not hold for an instrument that sees one band (at an emissivity of 0.2 it puts a true
//! 160 °C eleven kelvin off), so Planck's law is integrated over the band, once, into a table and its inverse.

mod detector;
pub mod equation;
pub mod planck;
pub mod sakuma_hattori;
mod table;

pub use detector::Detector;
pub use planck::Band;
pub use table::SignalTable;

/// c2 = h c / k in µm K, from the exact constants of the SI (CODATA 2018).
pub const SECOND_RADIATION_CONSTANT: f64 = 14_387.768_775_039_337;

/// c1L = 2 h c² in W µm⁴ m⁻² sr⁻¹, from the exact constants of the SI (CODATA 2018).
pub const FIRST_RADIATION_CONSTANT: f64 = 1.191_042_972_397_188_4e8;
