//! Numbers as people write them, with the weight of their last digit.

use super::Unreadable;

/// A number at the beginning of a text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number<'t> {
    /// Its value.
    pub value: f64,
    /// Half a unit of its last written digit.
    pub half_last_digit: f64,
    /// The number as written.
    pub written: &'t str,
    /// What follows it, without spaces around.
    pub rest: &'t str,
}

/// Cuts a text that is shown in a message to a bearable length.
pub(super) fn shortened(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut kept: String = text.trim().chars().take(LONGEST).collect();
    if text.trim().chars().count() > LONGEST {
        kept.push('…');
    }
    kept
}

/// Reads the number that a text begins with. The text has gone through [`super::spelling::plain`].
pub(super) fn leading(text: &str) -> Result<Number<'_>, Unreadable> {
    let text = text.trim();
    let end = length(text);
    let (written, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    comma(written, rest)?;
    let value: f64 = written.parse().map_err(|_| no_number(text))?;
    if !value.is_finite() {
        return Err(Unreadable::new(
            format!("`{}` is too large a number", shortened(written)),
            "check the exponent",
        ));
    }
    let rest = rest.trim();
    // `1/min` is a unit, although it begins with a digit.
    if rest.starts_with(|c: char| c.is_ascii_digit() || c == '.') && !rest.starts_with("1/") {
        return Err(Unreadable::new(
            format!("`{}` holds two numbers", shortened(text)),
            "write digits without spaces between them, and limits as `23.5 ± 0.5` or `23 to 24`",
        ));
    }
    Ok(Number {
        value,
        half_last_digit: half_last_digit(written),
        written,
        rest,
    })
}

/// A decimal comma is refused by name: the technician may not know that only the point is understood.
fn comma(written: &str, rest: &str) -> Result<(), Unreadable> {
    let digit = |c: char| c.is_ascii_digit();
    let follows = rest.strip_prefix(',');
    if let Some(after) = follows
        && (after.starts_with(digit) || written.ends_with(digit))
    {
        let decimals: String = after.chars().take_while(char::is_ascii_digit).collect();
        return Err(Unreadable::new(
            format!(
                "`{}` has a decimal comma",
                shortened(&format!("{written},{decimals}"))
            ),
            format!(
                "write a point: {}",
                shortened(&format!("{written}.{decimals}"))
            ),
        ));
    }
    Ok(())
}

fn no_number(text: &str) -> Unreadable {
    let what = if text.is_empty() {
        "a number is missing".to_owned()
    } else {
        format!("`{}` does not begin with a number", shortened(text))
    };
    Unreadable::new(
        what,
        "write a number, for instance `23.5`, and its unit after it",
    )
}

/// How many bytes of the text belong to the number.
fn length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |from: usize| -> usize {
        bytes
            .get(from..)
            .unwrap_or_default()
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .count()
    };
    let is = |at: usize, wanted: &[u8]| bytes.get(at).is_some_and(|byte| wanted.contains(byte));
    let mut end = usize::from(is(0, b"+-"));
    end += digits(end);
    if is(end, b".") {
        end += 1 + digits(end + 1);
    }
    if is(end, b"eE") {
        let sign = usize::from(is(end + 1, b"+-"));
        let exponent = digits(end + 1 + sign);
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    end
}

/// Half a unit of the last written digit: `18` has 0.5, `18.0` 0.05, `1.2e3` 50.
fn half_last_digit(written: &str) -> f64 {
    let (mantissa, exponent) = written
        .split_once(['e', 'E'])
        .map_or((written, "0"), |(mantissa, exponent)| (mantissa, exponent));
    let decimals = mantissa.split_once('.').map_or(0, |(_, after)| after.len());
    // Parsing the decimal text gives the double nearest to it, which powers of ten multiplied together would not.
    let decimals = i64::try_from(decimals).unwrap_or(i64::MAX);
    let power = exponent
        .parse::<i64>()
        .unwrap_or(0)
        .saturating_sub(decimals);
    format!("0.5e{power}").parse().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_written_digit_decides_the_assumed_limits() {
        for (written, half) in [
            ("18", 0.5),
            ("18.0", 0.05),
            ("-0.94", 0.005),
            ("1.2e3", 50.0),
            ("1.20E+3", 5.0),
            ("5e-3", 0.0005),
            ("2400", 0.5),
            ("7.", 0.5),
            (".95", 0.005),
        ] {
            assert_eq!(leading(written).unwrap().half_last_digit, half, "{written}");
        }
    }

    #[test]
    fn a_unit_beginning_with_e_is_no_exponent() {
        let number = leading("12 east").unwrap();
        assert_eq!((number.value, number.rest), (12.0, "east"));
        let number = leading("12e").unwrap();
        assert_eq!((number.value, number.rest), (12.0, "e"));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in [
            "",
            "-",
            ".",
            "abc",
            "nan",
            "inf",
            "-inf K",
            "1e999",
            "1 200 rpm",
            "1.2.3",
            "0,95",
            "+-3",
        ] {
            assert!(leading(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_decimal_comma_is_named_and_the_point_shown() {
        let error = leading("0,95").unwrap_err();
        assert!(error.what.contains("decimal comma"), "{error:?}");
        assert!(error.mend.contains("0.95"), "{error:?}");
    }
}
