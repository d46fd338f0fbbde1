//! `--scale LOW,HIGH`: one temperature scale for all pictures.

use crate::picture::Scale;

/// The coldest end, °C.
const COLDEST: f64 = -273.15;
/// The hottest end, °C: nothing in a workshop comes near it.
const HOTTEST: f64 = 5000.0;
/// The narrowest scale, K: its ends are written to a hundredth.
const NARROWEST: f64 = 0.1;

/// The ends of a scale, °C, separated by a comma.
///
/// # Errors
/// What is wrong with the text, and what it should be.
pub(super) fn parse(text: &str) -> Result<Scale, String> {
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    let &[low, high] = parts.as_slice() else {
        return Err("give two temperatures in °C separated by a comma, for instance 20,70".into());
    };
    let (low, high) = (end(low)?, end(high)?);
    if high - low < NARROWEST {
        return Err(format!(
            "the first temperature must be at least {NARROWEST} K below the second"
        ));
    }
    Ok(Scale { low, high })
}

/// One end of a scale, °C.
fn end(text: &str) -> Result<f64, String> {
    let read = text.replace('\u{2212}', "-").parse::<f64>().ok();
    let number = read
        .filter(|number| number.is_finite())
        .ok_or_else(|| format!("`{text}` is no number; write °C without the unit"))?;
    if (COLDEST..=HOTTEST).contains(&number) {
        Ok(number)
    } else {
        Err(format!(
            "{text} °C is beyond {COLDEST} to {HOTTEST} °C; check the temperature"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_temperatures_make_a_scale() {
        for (text, low, high) in [
            ("20,70", 20.0, 70.0),
            (" -5.5 , 40 ", -5.5, 40.0),
            ("-40,-10", -40.0, -10.0),
            ("\u{2212}5,0", -5.0, 0.0),
            ("20,20.1", 20.0, 20.1),
        ] {
            assert_eq!(parse(text), Ok(Scale { low, high }), "{text}");
        }
    }

    #[test]
    fn anything_else_is_refused_with_what_is_wrong() {
        for (text, says) in [
            ("20", "two temperatures"),
            ("", "two temperatures"),
            ("20,70,90", "two temperatures"),
            ("20-70", "two temperatures"),
            ("70,20", "below the second"),
            ("20,20", "below the second"),
            ("20,nan", "`nan` is no number"),
            ("20,inf", "`inf` is no number"),
            ("20,", "`` is no number"),
            ("20 °C,70 °C", "without the unit"),
            ("-300,20", "beyond"),
            ("20,1e9", "beyond"),
        ] {
            let error = parse(text).unwrap_err();
            assert!(error.contains(says), "{text}: {error}");
        }
    }
}
