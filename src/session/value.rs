//! Values of the session: quantities with their limits, plain numbers and coordinates.

use toml::de::DeValue;

use super::Declared;
use super::reader::{Entry, Table};
use crate::units::{self, Dimension, Law, Parsed};

/// The range of temperatures that a session may speak of, K: that of the signal's table.
pub(super) const TEMPERATURES: (f64, f64) = (200.0, 1500.0);

/// The greatest coordinate, in pixels: far beyond any picture, and safe to reckon with.
const FARTHEST: f64 = 1e6;

/// What a key's value has to be.
#[derive(Clone, Copy)]
pub(super) struct Spec {
    dimension: Dimension,
    measured: bool,
    sense: Sense,
}

/// Which values make sense; the ends are in the base unit.
#[derive(Clone, Copy)]
enum Sense {
    Any,
    Positive,
    NotNegative,
    /// Above the first, at most the second; and how to say so.
    Within(f64, f64, &'static str),
}

impl Spec {
    const fn new(dimension: Dimension, measured: bool) -> Self {
        let sense = match dimension {
            Dimension::Temperature => {
                Sense::Within(TEMPERATURES.0, TEMPERATURES.1, "between -73 °C and 1227 °C")
            }
            Dimension::TemperatureDifference => Sense::NotNegative,
            Dimension::Pressure => Sense::Any,
            _ => Sense::Positive,
        };
        Self {
            dimension,
            measured,
            sense,
        }
    }

    /// A measured value: without limits it has half a unit of its last digit.
    pub const fn measured(dimension: Dimension) -> Self {
        Self::new(dimension, true)
    }

    /// A setting, a dimension or a scale factor: without limits it is exact.
    pub const fn exact(dimension: Dimension) -> Self {
        Self::new(dimension, false)
    }

    /// Zero is allowed too.
    pub const fn or_zero(mut self) -> Self {
        self.sense = Sense::NotNegative;
        self
    }

    /// Zero is not allowed.
    pub const fn above_zero(mut self) -> Self {
        self.sense = Sense::Positive;
        self
    }

    /// Any value of the dimension.
    pub const fn any(mut self) -> Self {
        self.sense = Sense::Any;
        self
    }

    /// Above the first and at most the second, in the base unit.
    pub const fn within(mut self, low: f64, high: f64, words: &'static str) -> Self {
        self.sense = Sense::Within(low, high, words);
        self
    }
}

/// An emissivity, a transmittance: above 0, at most 1.
pub(super) const SHARE: (f64, f64, &str) = (0.0, 1.0, "above 0 and at most 1");

impl<'t> Table<'t> {
    /// Takes a quantity.
    pub fn quantity(&self, key: &'static str, spec: Spec) -> Option<Declared> {
        let entry = self.get(key)?;
        self.quantity_of(&entry, spec, self.place_of(key))
    }

    /// Takes a quantity that must be there.
    pub fn require_quantity(&self, key: &'static str, spec: Spec, mend: &str) -> Option<Declared> {
        let entry = self.require(key, mend)?;
        self.quantity_of(&entry, spec, self.place_of(key))
    }

    /// Takes a setting, of which only the value counts: limits on it are refused.
    pub fn setting(&self, key: &'static str, spec: Spec) -> Option<f64> {
        let declared = self.quantity(key, spec)?;
        if declared.law == Law::Exact {
            return Some(declared.value);
        }
        let mend = "write the value alone";
        self.problem(
            declared.span,
            format!("`{key}` is a setting and has no limits"),
            mend,
        );
        None
    }

    /// The quantity of an entry, to stand at a place of the session.
    pub fn quantity_of(&self, entry: &Entry<'t>, spec: Spec, place: String) -> Option<Declared> {
        let written = match entry.value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(_) | DeValue::Float(_) => {
                self.context.slice(&entry.span()).replace('_', "")
            }
            _ => {
                let example = format!("the value in quotes, for instance {} = \"…\"", entry.key);
                self.wrong_kind(entry, spec.dimension.words(), &example);
                return None;
            }
        };
        match units::parse(&written, spec.dimension) {
            Ok(parsed) => {
                self.sensible(entry, spec, &written, &parsed)?;
                let assumed = spec.measured && !parsed.limits_stated;
                let half = parsed.half_last_digit;
                let law = if assumed {
                    Law::Rectangular {
                        low: parsed.value - half,
                        high: parsed.value + half,
                    }
                } else {
                    parsed.law
                };
                Some(Declared {
                    place,
                    dimension: spec.dimension,
                    value: parsed.value,
                    law,
                    limits_assumed: assumed,
                    sensor: None,
                    written,
                    span: entry.span(),
                })
            }
            Err(error) => {
                self.problem(
                    entry.span(),
                    format!("`{}`: {}", entry.key, error.what),
                    error.mend,
                );
                None
            }
        }
    }

    fn sensible(
        &self,
        entry: &Entry<'t>,
        spec: Spec,
        written: &str,
        parsed: &Parsed,
    ) -> Option<()> {
        let value = parsed.value;
        let (fits, words) = match spec.sense {
            Sense::Any => (true, ""),
            Sense::Positive => (value > 0.0, "above zero"),
            Sense::NotNegative => (value >= 0.0, "not below zero"),
            Sense::Within(low, high, words) => (value > low && value <= high, words),
        };
        if !fits {
            let what = format!("`{}` is {written}; it must be {words}", entry.key);
            self.problem(entry.span(), what, "check the number and its unit");
            return None;
        }
        let absolute = spec.dimension == Dimension::Temperature;
        if absolute && matches!(parsed.law, Law::Rectangular { low, .. } if low <= 0.0) {
            let what = format!("the limits of `{}` reach below absolute zero", entry.key);
            self.problem(entry.span(), what, "check the limits and their unit");
            return None;
        }
        Some(())
    }

    /// A plain finite number.
    pub fn number_of(&self, entry: &Entry<'t>, example: &str) -> Option<f64> {
        let number = match entry.value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse::<f64>().ok(),
            DeValue::Float(number) => number.as_str().parse::<f64>().ok(),
            _ => {
                self.wrong_kind(entry, "a plain number", example);
                return None;
            }
        };
        let finite = number.filter(|number| number.is_finite());
        if finite.is_none() {
            let what = format!("`{}` must be a finite decimal number", entry.key);
            self.problem(entry.span(), what, format!("write {example}"));
        }
        finite
    }

    /// A list of exactly N coordinates.
    pub fn coordinates_of<const N: usize>(
        &self,
        entry: &Entry<'t>,
        example: &str,
    ) -> Option<[f64; N]> {
        let list = self.list_of(entry, example)?;
        if list.len() != N {
            let what = format!("`{}` has {} numbers instead of {N}", entry.key, list.len());
            self.problem(entry.span(), what, format!("write {example}"));
            return None;
        }
        let mut numbers = [0.0; N];
        let mut complete = true;
        for (slot, element) in numbers.iter_mut().zip(&list) {
            match self.number_of(element, example) {
                Some(number) if number.abs() <= FARTHEST => *slot = number,
                Some(number) => {
                    let what = format!("the coordinate {number} is too far off");
                    self.problem(
                        element.span(),
                        what,
                        "coordinates are pixels of the picture",
                    );
                    complete = false;
                }
                None => complete = false,
            }
        }
        complete.then_some(numbers)
    }
}
