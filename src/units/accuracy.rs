//! The limits of an instrument: `2 °C or 2 %`, whichever is greater.

use super::number::{leading, shortened};
use super::spelling::{plain, resolve};
use super::{Dimension, Unreadable};

/// Reads the limits of an instrument that measures a dimension.
///
/// Returns the absolute limit in the base unit of the dimension's differences (0 where none is stated) and the relative
/// one as a share of the reading (0 where none is stated). The order of the two does not matter.
///
/// # Errors
/// Where the text is no such limit.
pub fn parse_accuracy(text: &str, dimension: Dimension) -> Result<(f64, f64), Unreadable> {
    let text = plain(text);
    let dimension = match dimension {
        Dimension::Temperature => Dimension::TemperatureDifference,
        other => other,
    };
    let (mut absolute, mut relative) = (None, None);
    for part in text.split(" or ") {
        let part = part.trim();
        let part = ["±", "+/-", "+-"]
            .iter()
            .find_map(|mark| part.strip_prefix(mark))
            .unwrap_or(part);
        let number = leading(part)?;
        if number.value <= 0.0 {
            return Err(Unreadable::new(
                format!("an accuracy of `{}` is not above zero", shortened(part)),
                "copy the accuracy from the instrument's data sheet",
            ));
        }
        let (slot, scale) = match number.rest {
            "%" => (&mut relative, 0.01),
            "" => return Err(super::parse::missing_unit(number.written, dimension)),
            unit => (&mut absolute, resolve(unit, dimension)?.scale),
        };
        if slot.replace(scale * number.value).is_some() {
            return Err(Unreadable::new(
                format!("`{}` states the same kind of limit twice", shortened(&text)),
                "write one absolute and one relative limit, for instance `2 °C or 2 %`",
            ));
        }
    }
    let both = (absolute.unwrap_or(0.0), relative.unwrap_or(0.0));
    if both.0.is_finite() && both.1.is_finite() {
        Ok(both)
    } else {
        Err(Unreadable::new(
            "the accuracy is too large a number",
            "check the exponent",
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn either_limit_or_both_in_any_order() {
        let temperature = Dimension::Temperature;
        for (text, dimension, wanted) in [
            ("2 °C or 2 %", temperature, (2.0, 0.02)),
            ("2% or 2°C", temperature, (2.0, 0.02)),
            ("± 1 K", temperature, (1.0, 0.0)),
            ("9 °F", temperature, (5.0, 0.0)),
            ("3 %", temperature, (0.0, 0.03)),
            ("2 kPa", Dimension::Pressure, (2000.0, 0.0)),
            ("1 % or 0.5 kPa", Dimension::Pressure, (500.0, 0.01)),
        ] {
            let (absolute, relative) = parse_accuracy(text, dimension).unwrap();
            approx::assert_relative_eq!(absolute, wanted.0, max_relative = 1e-12);
            approx::assert_relative_eq!(relative, wanted.1, max_relative = 1e-12);
        }
    }

    #[test]
    fn what_is_no_accuracy_is_refused() {
        for text in [
            "",
            "2",
            "2 kPa",
            "0 K",
            "-1 K",
            "2 K or 3 K",
            "2 % or 3 %",
            "2 K or",
            "1e999 K",
            "2,5 K",
        ] {
            assert!(
                parse_accuracy(text, Dimension::Temperature).is_err(),
                "{text}"
            );
        }
    }
}
