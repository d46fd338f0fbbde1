//! Quantities as the session writes them: a number, a unit and the limits within which the truth lies.
//!
//! Everything inside the engine is in the base unit of its [`Dimension`] (kelvin, pascal, metre, second …);
//! degrees Celsius, kilopascals and the like exist only at the face: when a session is read and when results are written.

mod accuracy;
mod number;
mod parse;
mod spelling;
pub mod temperature;
#[cfg(test)]
mod tests;

pub use accuracy::parse_accuracy;
pub use parse::parse;

/// What kind of quantity a value is, which decides the units it may be written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A point on the temperature scale; base unit K. Written in °C, °F or K.
    Temperature,
    /// A difference of two temperatures; base unit K. Written in K, °C or °F (an interval of 1 °F is 5/9 K).
    TemperatureDifference,
    /// Pressure, or a difference of pressures; base unit Pa.
    Pressure,
    /// Length; base unit m.
    Length,
    /// Time; base unit s.
    Time,
    /// Rotational speed; base unit rpm (the trade's own, and only ratios of it are ever used).
    EngineSpeed,
    /// Mass flow; base unit kg/s.
    MassFlow,
    /// Speed of air; base unit m/s.
    Velocity,
    /// Thermal conductivity; base unit W/(m K).
    Conductivity,
    /// Heat-transfer coefficient; base unit W/(m² K).
    HeatTransferCoefficient,
    /// Specific heat capacity; base unit J/(kg K).
    SpecificHeat,
    /// Density; base unit kg/m³.
    Density,
    /// Plane angle; base unit degree.
    Angle,
    /// A pure number; base unit 1. May be written bare or in %.
    Ratio,
}

/// How the true value may lie about the stated one. All figures are in the base unit of the value's dimension.
///
/// Sources: rectangular GUM (JCGM 100:2008) 4.3.7; expanded uncertainty and coverage factor GUM 6.2.1;
/// drawing from them JCGM 101:2008 6.4.2 and 6.4.7 (clause numbers from memory).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Law {
    /// Known exactly: a setting, a dimension, a scale factor.
    Exact,
    /// Somewhere between the two ends, evenly.
    Rectangular {
        /// The lower end.
        low: f64,
        /// The upper end.
        high: f64,
    },
    /// Normal about the stated value.
    Normal {
        /// Standard uncertainty: the expanded uncertainty divided by its coverage factor.
        standard: f64,
    },
    /// Somewhere between value / factor and value × factor, evenly in the logarithm.
    Factor {
        /// The factor, above 1.
        factor: f64,
    },
}

impl Law {
    /// The standard deviation about a value; of a factor that of the logarithm, as a share of the value.
    #[must_use]
    pub fn standard(self, value: f64) -> f64 {
        let even = |width: f64| width / 12_f64.sqrt();
        match self {
            Self::Exact => 0.0,
            Self::Rectangular { low, high } => even(high - low),
            Self::Normal { standard } => standard,
            Self::Factor { factor } => value.abs() * even(2.0 * factor.ln()),
        }
    }

    /// The same law about another value.
    #[must_use]
    pub fn moved(self, by: f64) -> Self {
        match self {
            Self::Rectangular { low, high } => Self::Rectangular {
                low: low + by,
                high: high + by,
            },
            law => law,
        }
    }
}

/// Pascals in a psi, from the pound-force and the inch (from memory).
pub const PSI: f64 = 6_894.757_293_168;

/// A value read from text, before it is given a place in the session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parsed {
    /// The value in the base unit of its dimension.
    pub value: f64,
    /// How the truth may lie about it. [`Law::Exact`] where the text states no limits and none were assumed.
    pub law: Law,
    /// Half a unit of the last written digit, in the base unit: the limits to assume where none are stated.
    pub half_last_digit: f64,
    /// Whether the text itself states limits.
    pub limits_stated: bool,
}

/// The unit of a dimension with this spelling, capitals or not: the base unit in one of it, and the base unit at 0 of it.
///
/// # Errors
/// Where the dimension has no such unit: what is wrong, and what to write.
pub fn parse_unit(text: &str, dimension: Dimension) -> Result<(f64, f64), Unreadable> {
    let unit = match spelling::find_in_any_case(text, dimension) {
        Some(unit) => unit,
        None => spelling::resolve(text.trim(), dimension)?,
    };
    Ok((unit.scale, unit.offset))
}

/// Why a text is no quantity of the wanted kind, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// What is wrong, in a sentence without a full stop.
    pub what: String,
    /// What to write instead.
    pub mend: String,
}

impl Unreadable {
    fn new(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            mend: mend.into(),
        }
    }
}

impl Dimension {
    /// What a technician calls it, with its article.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a difference of temperatures",
            Self::Pressure => "a pressure",
            Self::Length => "a length",
            Self::Time => "a time",
            Self::EngineSpeed => "an engine speed",
            Self::MassFlow => "a mass flow",
            Self::Velocity => "a speed",
            Self::Conductivity => "a thermal conductivity",
            Self::HeatTransferCoefficient => "a heat-transfer coefficient",
            Self::SpecificHeat => "a specific heat",
            Self::Density => "a density",
            Self::Angle => "an angle",
            Self::Ratio => "a pure number",
        }
    }

    /// The usual spellings of its units, for a message.
    #[must_use]
    pub fn spellings(self) -> String {
        spelling::spellings(self)
    }

    /// The unit in which a value of it is shown, and what makes that of a value in the base unit: the scale, and the value
    /// at 0 of the base unit.
    #[must_use]
    pub const fn face(self) -> (&'static str, f64, f64) {
        match self {
            Self::Temperature => ("°C", 1.0, -temperature::ZERO_CELSIUS),
            Self::TemperatureDifference => ("K", 1.0, 0.0),
            Self::Pressure => ("kPa", 1e-3, 0.0),
            Self::Length => ("mm", 1e3, 0.0),
            Self::Time => ("s", 1.0, 0.0),
            Self::EngineSpeed => ("rpm", 1.0, 0.0),
            Self::MassFlow => ("g/s", 1e3, 0.0),
            Self::Velocity => ("m/s", 1.0, 0.0),
            Self::Conductivity => ("W/(m K)", 1.0, 0.0),
            Self::HeatTransferCoefficient => ("W/(m² K)", 1.0, 0.0),
            Self::SpecificHeat => ("J/(kg K)", 1.0, 0.0),
            Self::Density => ("kg/m³", 1.0, 0.0),
            Self::Angle => ("°", 1.0, 0.0),
            Self::Ratio => ("1", 1.0, 0.0),
        }
    }
}
