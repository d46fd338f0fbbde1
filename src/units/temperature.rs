//! Points and intervals on the temperature scale, kept apart so that they cannot be confused.
//!
//! Two points cannot be added, only subtracted:
//!
//! ```compile_fail
//! use endtank::units::temperature::Kelvin;
//! let nonsense = Kelvin::new(300.0) + Kelvin::new(20.0);
//! ```
//!
//! ```
//! use endtank::units::temperature::{Kelvin, KelvinDifference};
//! let inlet = Kelvin::from_celsius(53.0);
//! let outlet = Kelvin::from_celsius(31.0);
//! assert_eq!(inlet - outlet, KelvinDifference::new(22.0));
//! ```

use std::ops::{Add, Sub};

/// 0 °C in kelvin.
pub const ZERO_CELSIUS: f64 = 273.15;

/// A thermodynamic temperature, K.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Kelvin(f64);

/// The difference of two temperatures, K.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct KelvinDifference(f64);

impl Kelvin {
    /// A temperature given in kelvin.
    #[must_use]
    pub const fn new(kelvin: f64) -> Self {
        Self(kelvin)
    }

    /// A temperature given in degrees Celsius.
    #[must_use]
    pub fn from_celsius(celsius: f64) -> Self {
        Self(celsius + ZERO_CELSIUS)
    }

    /// The plain number, K.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The plain number, °C.
    #[must_use]
    pub fn celsius(self) -> f64 {
        self.0 - ZERO_CELSIUS
    }
}

impl KelvinDifference {
    /// A difference given in kelvin.
    #[must_use]
    pub const fn new(kelvin: f64) -> Self {
        Self(kelvin)
    }

    /// The plain number, K.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl Sub for Kelvin {
    type Output = KelvinDifference;
    fn sub(self, other: Self) -> KelvinDifference {
        KelvinDifference(self.0 - other.0)
    }
}

impl Add<KelvinDifference> for Kelvin {
    type Output = Self;
    fn add(self, by: KelvinDifference) -> Self {
        Self(self.0 + by.0)
    }
}

impl Sub<KelvinDifference> for Kelvin {
    type Output = Self;
    fn sub(self, by: KelvinDifference) -> Self {
        Self(self.0 - by.0)
    }
}
