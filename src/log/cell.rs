//! One cell of a log: a number, a gap or neither.

/// What a cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell {
    /// A number.
    Number(f64),
    /// Nothing was logged.
    Gap,
    /// Something else.
    Neither,
}

/// What loggers write where there is no value, in lower case.
const GAPS: [&[u8]; 12] = [
    b"", b"-", b"--", b"---", b"nan", b"n/a", b"na", b"null", b"none", b"inf", b"+inf", b"-inf",
];

impl Cell {
    /// Reads a cell. With `comma`, a single comma is a decimal one.
    #[must_use]
    pub fn of(bytes: &[u8], comma: bool) -> Self {
        // What most cells are: a plain number, nothing around it.
        if let Some(number) = plain(bytes) {
            return Self::Number(number);
        }
        let bytes = trimmed(bytes);
        if is_gap(bytes) {
            return Self::Gap;
        }
        if let Some(number) = plain(bytes) {
            return Self::Number(number);
        }
        let decimal = comma
            && !bytes.contains(&b'.')
            && bytes.iter().filter(|&&byte| byte == b',').count() == 1;
        if decimal {
            let mut pointed = [0_u8; 64];
            if let Some(pointed) = pointed.get_mut(..bytes.len()) {
                for (to, &from) in pointed.iter_mut().zip(bytes) {
                    *to = if from == b',' { b'.' } else { from };
                }
                if let Some(number) = plain(pointed) {
                    return Self::Number(number);
                }
            }
        }
        Self::Neither
    }
}

/// Beyond this a number is no measurement, and sums of squares would overflow.
const GREATEST: f64 = 1e100;

/// A decimal number; words such as `inf` are none.
fn plain(bytes: &[u8]) -> Option<f64> {
    if let Some(number) = short(bytes) {
        return Some(number);
    }
    let last = *bytes.last()?;
    if !(last.is_ascii_digit() || last == b'.') {
        return None;
    }
    let text = std::str::from_utf8(bytes).ok()?;
    text.parse()
        .ok()
        .filter(|number: &f64| number.abs() < GREATEST)
}

/// Powers of ten that are exact.
const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// A number of at most 15 digits without exponent, as loggers write millions of; `None` leaves it to the general way. Digits
/// and power of ten are exact, so their quotient is the nearest number there is (W. D. Clinger 1990,
/// doi:10.1145/93542.93557).
fn short(bytes: &[u8]) -> Option<f64> {
    let (negative, digits) = match bytes.split_first()? {
        (b'-', rest) => (true, rest),
        _ => (false, bytes),
    };
    if digits.len() > TENS.len() {
        return None;
    }
    let (mut whole, mut count, mut point) = (0_u64, 0_usize, None);
    for (at, &byte) in digits.iter().enumerate() {
        match byte {
            b'0'..=b'9' => {
                whole = 10 * whole + u64::from(byte - b'0');
                count += 1;
            }
            b'.' if point.is_none() => point = Some(at),
            _ => return None,
        }
    }
    if count == 0 || count > 15 {
        return None;
    }
    let decimals = point.map_or(0, |at| digits.len() - at - 1);
    let size = whole as f64 / TENS.get(decimals)?;
    Some(if negative { -size } else { size })
}

fn is_gap(bytes: &[u8]) -> bool {
    bytes.len() <= 4 && GAPS.iter().any(|gap| bytes.eq_ignore_ascii_case(gap))
}

/// Without blanks around it; those of Latin-1 and UTF-8 that do not break included.
pub(super) fn trimmed(mut bytes: &[u8]) -> &[u8] {
    loop {
        let shorter = bytes.trim_ascii();
        let shorter = shorter.strip_prefix(b"\xC2\xA0").unwrap_or(shorter);
        let shorter = shorter.strip_suffix(b"\xC2\xA0").unwrap_or(shorter);
        if shorter.len() == bytes.len() {
            return bytes;
        }
        bytes = shorter;
    }
}

/// A unit of the last digit that a number is written with: 0.01 of `148.25`.
#[must_use]
pub fn last_digit(bytes: &[u8]) -> f64 {
    let text = String::from_utf8_lossy(trimmed(bytes)).replace(',', ".");
    let (mantissa, exponent) = text.split_once(['e', 'E']).unwrap_or((&text, "0"));
    let decimals = mantissa.split_once('.').map_or(0, |(_, after)| after.len());
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let decimals = i32::try_from(decimals).unwrap_or(i32::MAX);
    10_f64.powi(exponent.saturating_sub(decimals).clamp(-300, 300))
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        /// The short way gives to the bit what the general way does, or leaves the number to it.
        #[test]
        fn the_short_way_is_exact(text in "-?[0-9]{0,12}[.]?[0-9]{0,12}") {
            match (short(text.as_bytes()), text.parse::<f64>()) {
                (Some(short), Ok(general)) => proptest::prop_assert_eq!(short.to_bits(), general.to_bits()),
                (Some(short), Err(_)) => proptest::prop_assert!(false, "{} {}", text, short),
                (None, _) => {}
            }
        }
    }

    #[test]
    fn short_numbers_take_the_short_way() {
        for text in ["0", "-1.5", "2350.1234", "123456789012345", ".5", "7."] {
            assert_eq!(short(text.as_bytes()), text.parse().ok(), "{text}");
        }
        for text in ["", "-", ".", "1e5", "+1", "1234567890123456", "1.2.3"] {
            assert_eq!(short(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn numbers_gaps_and_the_rest() {
        let of = |text: &str, comma| Cell::of(text.as_bytes(), comma);
        for (text, number) in [
            ("1.5", 1.5),
            (" -2 ", -2.0),
            ("+3e2", 300.0),
            ("7.", 7.0),
            (".5", 0.5),
            ("\u{a0}4", 4.0),
        ] {
            assert_eq!(of(text, false), Cell::Number(number), "{text}");
            assert_eq!(of(text, true), Cell::Number(number), "{text}");
        }
        assert_eq!(of("1,5", true), Cell::Number(1.5));
        assert_eq!(of(" -0,25", true), Cell::Number(-0.25));
        for text in ["", "  ", "-", "---", "NaN", "n/a", "INF", "-inf", "null"] {
            assert_eq!(of(text, false), Cell::Gap, "{text}");
        }
        for text in [
            "1,5", "abc", "12:30:01", "0x1f", "1.2.3", "5 kPa", "infinity", "1e101", "1e999",
        ] {
            assert_eq!(of(text, false), Cell::Neither, "{text}");
        }
        for text in ["1.234,5", "1,234,5", ","] {
            assert_eq!(of(text, true), Cell::Neither, "{text}");
        }
        let long = format!("1,{}", "0".repeat(100));
        assert_eq!(of(&long, true), Cell::Neither);
    }

    #[test]
    fn last_digits() {
        for (text, digit) in [
            ("148", 1.0),
            ("148.25", 0.01),
            (" 1,5 ", 0.1),
            ("2.5e3", 100.0),
        ] {
            assert!(
                (last_digit(text.as_bytes()) / digit - 1.0).abs() < 1e-12,
                "{text}"
            );
        }
    }
}
