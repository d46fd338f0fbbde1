//! The Sakuma–Hattori form of a detector's signal.

use super::SECOND_RADIATION_CONSTANT;

/// The signal S = c / (exp(c2 / (a T + b)) − 1) of a black body at `kelvin`; NaN at or below 0 K.
///
/// a in µm, b in µm K, c and S in the detector's counts. Source: F. Sakuma and S. Hattori (1982), as used in
/// CCT-WG5 on radiation thermometry (2008) (both from memory).
#[must_use]
pub fn signal(kelvin: f64, a: f64, b: f64, c: f64) -> f64 {
    let scaled = a * kelvin + b;
    if kelvin > 0.0 && scaled > 0.0 {
        c / (SECOND_RADIATION_CONSTANT / scaled).exp_m1()
    } else {
        f64::NAN
    }
}

/// The temperature, K, at which a black body gives `signal`; NaN where there is none above 0 K.
#[must_use]
pub fn temperature(signal: f64, a: f64, b: f64, c: f64) -> f64 {
    let kelvin = (SECOND_RADIATION_CONSTANT / (c / signal).ln_1p() - b) / a;
    if signal > 0.0 && kelvin > 0.0 {
        kelvin
    } else {
        f64::NAN
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn temperature_undoes_signal() {
        for celsius in [-40.0, 20.0, 80.0, 300.0, 900.0] {
            let kelvin = celsius + 273.15;
            let back = temperature(
                signal(kelvin, 9.363_636, 178.360_77, 36_000.0),
                9.363_636,
                178.360_77,
                36_000.0,
            );
            assert_abs_diff_eq!(back, kelvin, epsilon = 1e-9);
        }
        assert!(temperature(0.0, 9.36, 178.4, 36_000.0).is_nan());
        assert!(temperature(-5.0, 9.36, 178.4, 36_000.0).is_nan());
        assert!(
            temperature(1e-9, 9.36, 2000.0, 36_000.0).is_nan(),
            "no temperature above 0 K"
        );
    }
}
