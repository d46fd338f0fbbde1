//! The Sakuma–Hattori form of a detector's signal.

use super::SECOND_RADIATION_CONSTANT;

/// The signal S = c / (exp(c2 / (a T + b)) − 1) of a black body at `kelvin`.
///
/// a in µm, b in µm K, c and S in the detector's counts. Source: F. Sakuma and S. Hattori (1982), as used in
/// CCT-WG5 on radiation thermometry (2008) (both from memory).
#[must_use]
pub fn signal(kelvin: f64, a: f64, b: f64, c: f64) -> f64 {
    c / (SECOND_RADIATION_CONSTANT / (a * kelvin + b)).exp_m1()
}

/// The temperature, K, at which a black body gives `signal`; NaN where `signal` is not above zero.
#[must_use]
pub fn temperature(signal: f64, a: f64, b: f64, c: f64) -> f64 {
    if signal > 0.0 {
        (SECOND_RADIATION_CONSTANT / (c / signal).ln_1p() - b) / a
    } else {
        f64::NAN
    }
}
