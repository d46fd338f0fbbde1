//! The cells of a text matrix.

use std::borrow::Cow;

/// The separator that makes numbers of the earliest line; `None` if no line can be numbers.
///
/// A tab comes before a semicolon before a comma, because commas may be decimal marks.
pub(super) fn separator(text: &str) -> Option<char> {
    text.lines().find_map(|line| {
        ['\t', ';', ',']
            .into_iter()
            .filter(|separator| line.contains(*separator))
            // A line without any separator is a picture one pixel wide.
            .chain((!line.contains(['\t', ';', ','])).then_some(','))
            .find(|separator| is_row(line, *separator))
    })
}

pub(super) fn is_row(line: &str, separator: char) -> bool {
    let mut numbers = 0_usize;
    line.split(separator).all(|text| {
        let cell = cell(text, separator);
        numbers += usize::from(matches!(cell, Cell::Number { .. }));
        !matches!(cell, Cell::Other)
    }) && numbers > 0
}

/// What one cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Cell {
    Blank,
    /// `NaN` or `inf`: no temperature, as in a picture of floating-point numbers.
    Invalid,
    Number {
        value: f64,
        /// Its decimal mark, if it has one.
        mark: Option<char>,
    },
    Other,
}

pub(super) fn cell(text: &str, separator: char) -> Cell {
    let text = unquoted(text.trim());
    if text.is_empty() {
        return Cell::Blank;
    }
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    if ["nan", "inf", "infinity"]
        .iter()
        .any(|word| unsigned.eq_ignore_ascii_case(word))
    {
        return Cell::Invalid;
    }
    if !text
        .chars()
        .all(|c| c.is_ascii_digit() || "+-−.,eE".contains(c))
    {
        return Cell::Other;
    }
    let mark = text.chars().find(|c| matches!(c, '.' | ','));
    let plain = match mark {
        Some(',') if separator == ',' || text.contains('.') => return Cell::Other,
        Some(',') => Cow::Owned(text.replace(',', ".")),
        _ => Cow::Borrowed(text),
    };
    let plain = if plain.contains('−') {
        Cow::Owned(plain.replace('−', "-"))
    } else {
        plain
    };
    plain
        .parse()
        .ok()
        .filter(|value: &f64| value.is_finite())
        .map_or(Cell::Other, |value| Cell::Number { value, mark })
}

/// The text within a pair of quotes. A single quote stays: "23,5" cut at its comma must not become 23 and 5.
fn unquoted(text: &str) -> &str {
    ['"', '\'']
        .into_iter()
        .find_map(|quote| text.strip_prefix(quote)?.strip_suffix(quote))
        .map_or(text, str::trim)
}

/// Whether a line is a blank corner and then 0, 1, 2 … or 1, 2, 3 …
pub(super) fn is_column_numbers(line: &str, separator: char) -> bool {
    let mut cells = line.split(separator).map(|text| cell(text, separator));
    if cells.next() != Some(Cell::Blank) {
        return false;
    }
    let numbers: Vec<_> = cells
        .map(|cell| match cell {
            Cell::Number { value, .. } => value,
            _ => f64::NAN,
        })
        .collect();
    numbers.len() > 2
        && numbers
            .first()
            .is_some_and(|first| [0.0, 1.0].contains(first))
        && numbers
            .iter()
            .zip(numbers.iter().skip(1))
            .all(|(one, next)| next - one == 1.0)
}
