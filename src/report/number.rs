//! How many digits of a number are worth writing, and how they are written.

use crate::outcome::Q;
use crate::quantity::{QuantityId, Unit};

/// What is written where nothing is known, in text for people.
pub const UNKNOWN: &str = "–";
/// Holds a number and its unit together; text for people only.
pub const NO_BREAK_SPACE: char = '\u{a0}';
/// Between groups of three digits; text for people only.
const NARROW_SPACE: char = '\u{202f}';
/// A proper minus sign; text for people only.
const MINUS: char = '\u{2212}';
/// No reading of a workshop deserves more.
const MOST_DECIMALS: i32 = 6;

/// Whether a number is a level (a pressure) or a difference of levels (a pressure drop), which is worth a digit more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A level.
    Level,
    /// A difference.
    Difference,
}

/// Whether a quantity is a level or a difference.
#[must_use]
pub const fn kind(quantity: QuantityId) -> Kind {
    match quantity {
        QuantityId::PressureDrop | QuantityId::SurfaceDrop | QuantityId::ChargeDrop => {
            Kind::Difference
        }
        _ => Kind::Level,
    }
}

/// How many decimals a value deserves; negative where even the units or tens say nothing.
///
/// With a standard uncertainty so many that at most two significant digits of it are kept (GUM, JCGM 100:2008, 7.2.6).
/// Without one a fixed number by unit, which is a judgement: a step about as fine as the instruments' own displays.
#[must_use]
pub fn decimals(q: &Q, kind: Kind) -> i32 {
    q.standard_uncertainty
        .filter(|u| u.is_finite() && *u > 0.0)
        .map(|u| without_far_draws(u, q))
        .map_or_else(|| fixed(q.unit, q.value, kind), decimals_for)
}

/// A standard uncertainty, or what the 95 % interval would make of it were it normal, where a few far draws (beside a pole of
/// the model) have blown it up: the digits of a value of 24 °C are not those of draws in the thousands.
fn without_far_draws(standard: f64, q: &Q) -> f64 {
    let normal = q
        .low
        .zip(q.high)
        .map(|(low, high)| (high - low) / 3.92)
        .filter(|normal| *normal > 0.0 && standard > 2.0 * normal);
    normal.unwrap_or(standard)
}

/// Decimals that keep two significant digits, as of an uncertainty that is itself what is told (GUM 7.2.6).
#[must_use]
pub fn two_digits(uncertainty: f64) -> i32 {
    (1 - exponent(uncertainty, 1)).min(MOST_DECIMALS)
}

/// Decimals that keep two significant digits of a standard uncertainty, or one where its first three are from 355 to 949: a
/// second one would be finer than a fifth of the uncertainty (Particle Data Group, Review of Particle Physics, Introduction
/// 5.3, from memory).
#[must_use]
pub fn decimals_for(standard: f64) -> i32 {
    let exponent = exponent(standard, 2);
    let first_three = standard / 10_f64.powi(exponent - 2);
    let decimals = if first_three < 354.5 {
        1 - exponent
    } else {
        -exponent
    };
    decimals.min(MOST_DECIMALS)
}

/// Decimals by unit, for values whose doubt is not known.
fn fixed(unit: Unit, value: f64, kind: Kind) -> i32 {
    match unit {
        Unit::Celsius | Unit::Kelvin | Unit::WattPerKelvin | Unit::Percent | Unit::Points => 1,
        Unit::Kilopascal if kind == Kind::Level => 1,
        Unit::Kilopascal | Unit::Kilowatt | Unit::PoundPerSquareInch => 2,
        Unit::Bar => 3,
        Unit::One | Unit::KilogramPerCubicMetre => 3,
        // Its size depends on the cooler by powers of ten, so three significant digits.
        Unit::PerMetreToTheFourth => (2 - exponent(value, 2)).min(MOST_DECIMALS),
    }
}

/// The power of ten of the first digit once rounded to `decimals` + 1 significant digits; 0 for 0.
///
/// Rounding first matters: 0.0996 becomes 0.10, whose first digit stands one place higher.
fn exponent(value: f64, decimals: usize) -> i32 {
    format!("{value:.decimals$e}")
        .split_once('e')
        .and_then(|(_, power)| power.parse().ok())
        .unwrap_or(0)
}

/// A number with so many decimals, for people: proper minus, groups of three from five digits on; [`UNKNOWN`] where it
/// is not finite.
#[must_use]
pub fn typeset(value: f64, decimals: i32) -> String {
    if !value.is_finite() {
        return UNKNOWN.to_owned();
    }
    let rounded = if decimals < 0 {
        let step = 10_f64.powi(-decimals);
        format!("{:.0}", (value / step).round() * step)
    } else {
        format!("{value:.*}", usize::try_from(decimals).unwrap_or(0))
    };
    let digits = rounded.trim_start_matches('-');
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let mut text = String::new();
    if rounded.starts_with('-') && digits.bytes().any(|digit| matches!(digit, b'1'..=b'9')) {
        text.push(MINUS);
    }
    for (index, digit) in whole.chars().enumerate() {
        let left = whole.len() - index;
        if whole.len() > 4 && index > 0 && left.is_multiple_of(3) {
            text.push(NARROW_SPACE);
        }
        text.push(digit);
    }
    if !fraction.is_empty() {
        text.push('.');
        text.push_str(fraction);
    }
    text
}

/// A number followed by its unit; a pure number stands alone.
#[must_use]
pub fn with_unit(number: &str, unit: Unit) -> String {
    if unit == Unit::One || number == UNKNOWN {
        number.to_owned()
    } else {
        format!("{number}{NO_BREAK_SPACE}{}", unit.symbol())
    }
}

/// A value with its unit, rounded for people.
#[must_use]
pub fn value(q: &Q, kind: Kind) -> String {
    with_unit(&typeset(q.value, decimals(q, kind)), q.unit)
}

/// A difference with its unit and always a sign, rounded for people.
#[must_use]
pub fn signed(q: &Q) -> String {
    let number = typeset(q.value, decimals(q, Kind::Difference));
    let positive = q.value > 0.0 && number.bytes().any(|digit| matches!(digit, b'1'..=b'9'));
    let sign = if positive { "+" } else { "" };
    with_unit(&format!("{sign}{number}"), q.unit)
}

/// The size of a difference with its unit, without sign.
#[must_use]
pub fn size(q: &Q) -> String {
    let number = typeset(q.value.abs(), decimals(q, Kind::Difference));
    with_unit(&number, q.unit)
}

/// Whether a difference rounds to nothing in the digits it deserves.
#[must_use]
pub fn rounds_to_zero(q: &Q) -> bool {
    !typeset(q.value, decimals(q, Kind::Difference))
        .bytes()
        .any(|digit| matches!(digit, b'1'..=b'9'))
}

/// The ends of the 95 % interval, `30.1 to 31.9`, without unit; `None` where they are not known.
#[must_use]
pub fn interval(q: &Q, kind: Kind) -> Option<String> {
    let decimals = decimals(q, kind);
    let low = q.low.filter(|low| low.is_finite())?;
    let high = q.high.filter(|high| high.is_finite())?;
    let (low, high) = (typeset(low, decimals), typeset(high, decimals));
    Some(format!("{low} to {high}"))
}

/// A number for machines: ASCII, a decimal point, no exponent, at most ten significant digits (far below any
/// measurement's doubt, and short of the noise of binary fractions). `None` where it is not finite.
#[must_use]
pub fn plain(value: f64) -> Option<String> {
    let rounded: f64 = format!("{value:.9e}").parse().ok()?;
    // Adding 0 turns −0 into 0.
    rounded.is_finite().then(|| format!("{}", rounded + 0.0))
}

/// A value as it was written, with its limits kept on one line: a sign is not parted from what it stands before.
#[must_use]
pub fn together(written: &str) -> String {
    ["±", "×/÷"].iter().fold(written.to_owned(), |text, sign| {
        text.replace(&format!("{sign} "), &format!("{sign}\u{a0}"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn q(value: f64, unit: Unit, standard_uncertainty: Option<f64>) -> Q {
        Q {
            value,
            unit,
            low: None,
            high: None,
            standard_uncertainty,
        }
    }

    #[test]
    fn one_or_two_digits_of_the_uncertainty_are_kept() {
        // GUM 7.2.6: y = 10.057 62 Ω with u = 27 mΩ is written 10.058 Ω.
        assert_eq!(
            decimals(&q(10.057_62, Unit::One, Some(0.027)), Kind::Level),
            3
        );
        assert_eq!(
            value(&q(10.057_62, Unit::One, Some(0.027)), Kind::Level),
            "10.058"
        );
        assert_eq!(
            value(&q(31.04, Unit::Celsius, Some(1.2)), Kind::Level),
            "31.0\u{a0}°C"
        );
        assert_eq!(
            value(&q(31.04, Unit::Celsius, Some(12.3)), Kind::Level),
            "31\u{a0}°C"
        );
        assert_eq!(
            value(&q(1234.0, Unit::WattPerKelvin, Some(150.0)), Kind::Level),
            "1230\u{a0}W/K"
        );
        assert_eq!(
            decimals(&q(1.0, Unit::Kelvin, Some(0.0996)), Kind::Level),
            2
        );
        // 0.354 is 0.35, 0.355 and 0.949 are 0.4 and 0.9, 0.95 is 1.0.
        for (standard, kept) in [
            (0.354, 2),
            (0.356, 1),
            (0.949, 1),
            (0.951, 1),
            (1.2, 1),
            (4.0, 0),
            (96.0, -1),
        ] {
            assert_eq!(decimals_for(standard), kept, "{standard}");
        }
        assert_eq!(decimals(&q(1.0, Unit::Kelvin, Some(1e-12)), Kind::Level), 6);
    }

    #[test]
    fn far_draws_do_not_take_the_digits_away() {
        let blown = Q {
            low: Some(-460.0),
            high: Some(31.0),
            ..q(24.3, Unit::Celsius, Some(40_000.0))
        };
        assert_eq!(value(&blown, Kind::Level), "20\u{a0}°C");
    }

    #[test]
    fn without_an_uncertainty_the_unit_decides() {
        assert_eq!(
            value(&q(36.96, Unit::Celsius, None), Kind::Level),
            "37.0\u{a0}°C"
        );
        assert_eq!(
            value(&q(248.04, Unit::Kilopascal, None), Kind::Level),
            "248.0\u{a0}kPa"
        );
        assert_eq!(
            value(&q(9.004, Unit::Kilopascal, None), Kind::Difference),
            "9.00\u{a0}kPa"
        );
        assert_eq!(value(&q(0.7654, Unit::One, None), Kind::Level), "0.765");
        assert_eq!(
            value(
                &q(1_254_321.0, Unit::PerMetreToTheFourth, None),
                Kind::Level
            ),
            "1\u{202f}250\u{202f}000\u{a0}1/m⁴"
        );
        assert_eq!(
            value(&q(0.0, Unit::PerMetreToTheFourth, None), Kind::Level),
            "0.00\u{a0}1/m⁴"
        );
        // An uncertainty of 0 or NaN says nothing about digits.
        assert_eq!(decimals(&q(1.0, Unit::Kelvin, Some(0.0)), Kind::Level), 1);
        assert_eq!(
            decimals(&q(1.0, Unit::Kelvin, Some(f64::NAN)), Kind::Level),
            1
        );
    }

    #[test]
    fn signs_are_proper_and_zero_has_none() {
        assert_eq!(signed(&q(-6.12, Unit::Kelvin, None)), "−6.1\u{a0}K");
        assert_eq!(signed(&q(6.12, Unit::Kelvin, None)), "+6.1\u{a0}K");
        assert_eq!(signed(&q(-0.04, Unit::Kelvin, None)), "0.0\u{a0}K");
        assert_eq!(signed(&q(0.04, Unit::Kelvin, None)), "0.0\u{a0}K");
        assert!(rounds_to_zero(&q(-0.04, Unit::Kelvin, None)));
        assert!(!rounds_to_zero(&q(-0.06, Unit::Kelvin, None)));
    }

    #[test]
    fn what_is_not_known_is_never_a_number() {
        assert_eq!(value(&q(f64::NAN, Unit::Kelvin, None), Kind::Level), "–");
        assert_eq!(signed(&q(f64::INFINITY, Unit::Kelvin, None)), "–");
        assert_eq!(plain(f64::NAN), None);
        assert_eq!(plain(f64::NEG_INFINITY), None);
        assert_eq!(interval(&q(1.0, Unit::Kelvin, None), Kind::Level), None);
    }

    #[test]
    fn machines_get_ascii() {
        assert_eq!(plain(-6.1).as_deref(), Some("-6.1"));
        assert_eq!(plain(0.1 + 0.2).as_deref(), Some("0.3"));
        assert_eq!(plain(-0.0).as_deref(), Some("0"));
        assert_eq!(plain(1_254_321.0).as_deref(), Some("1254321"));
    }
}
