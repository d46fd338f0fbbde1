//! What a detector sees of a black body: the signal at a temperature, and back.

pub mod sakuma_hattori;

/// c2 = h c / k in µm K, from the exact constants of the SI (CODATA 2018).
pub const SECOND_RADIATION_CONSTANT: f64 = 14_387.768_775_039_337;
