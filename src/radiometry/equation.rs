//! The measurement equation and its solutions, in signals.
//!
//! S_in = τ \[ε S(T_s) + (1 − ε) S(T_refl)\] + (1 − τ) S(T_ambient)
//!
//! | symbol       | meaning                                        |
//! |--------------|------------------------------------------------|
//! | S_in         | signal that arrives at the instrument          |
//! | τ            | transmittance of the air path, in (0, 1]       |
//! | ε            | emissivity of the skin in the band, in (0, 1]  |
//! | S(T_s)       | blackbody signal at the skin's temperature     |
//! | S(T_refl)    | … at the reflected apparent temperature        |
//! | S(T_ambient) | … at the temperature of the air in between     |
//!
//! All signals are in one unit, whichever it is. Source: ISO 18434-1 (the standard was not at hand; the equation is that
//! of the textbooks).

/// What arrives at the instrument.
#[must_use]
pub fn arriving(
    own: f64,
    reflected: f64,
    emissivity: f64,
    ambient: f64,
    transmittance: f64,
) -> f64 {
    transmittance * (emissivity * own + (1.0 - emissivity) * reflected)
        + (1.0 - transmittance) * ambient
}

/// What leaves the skin, from what arrives: (S_in − (1 − τ) S(T_ambient)) / τ.
#[must_use]
pub fn path_removed(arriving: f64, ambient: f64, transmittance: f64) -> f64 {
    (arriving - (1.0 - transmittance) * ambient) / transmittance
}

/// The skin's own blackbody signal, from what leaves it: (S − (1 − ε) S(T_refl)) / ε. Not above zero where what is
/// mirrored alone is more than what leaves: then there is no skin temperature.
#[must_use]
pub fn skin_signal(leaving: f64, reflected: f64, emissivity: f64) -> f64 {
    (leaving - (1.0 - emissivity) * reflected) / emissivity
}

/// ε = (S_tank − S(T_refl)) / (S(T_patch) − S(T_refl)), for a skin that is as warm as the patch beside it; both signals
/// with the path removed (ASTM E1933 describes the way; the standard was not at hand).
#[must_use]
pub fn solved_emissivity(leaving: f64, patch: f64, reflected: f64) -> f64 {
    (leaving - reflected) / (patch - reflected)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn solutions_undo_the_equation(
            own in 1.0..900.0, reflected in 1.0..900.0, ambient in 1.0..900.0, emissivity in 0.02..1.0, transmittance in 0.1..1.0,
        ) {
            let signal = arriving(own, reflected, emissivity, ambient, transmittance);
            let leaving = path_removed(signal, ambient, transmittance);
            assert_relative_eq!(skin_signal(leaving, reflected, emissivity), own, max_relative = 1e-6);
            if (own - reflected).abs() > 1.0 {
                assert_relative_eq!(solved_emissivity(leaving, own, reflected), emissivity, max_relative = 1e-6);
            }
        }
    }
}
