//! `readings.csv` and `comparison.csv`.
//!
//! UTF-8 without a byte order mark: a mark would become part of the first heading for many programs that read CSV, and
//! a spreadsheet asks for the encoding on import anyway. What is not known is an empty cell.

use super::columns::{COMPARISON, Cell, Column, READINGS};
use super::number;
use crate::outcome::{Comparison, Reading};

/// How numbers and cells are parted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Marks {
    /// Decimal points, and commas between cells.
    #[default]
    Point,
    /// Decimal commas, and semicolons between cells: what spreadsheets expect where numbers are written so.
    Comma,
}

/// `readings.csv`: a row per region and pistol reading.
///
/// # Errors
/// None in practice: the bytes are written to memory.
pub fn readings(readings: &[Reading], marks: Marks) -> Result<Vec<u8>, csv::Error> {
    table(READINGS.iter(), readings, marks)
}

/// `comparison.csv`: a row per candidate and quantity; a heading only where there is nothing to compare.
///
/// # Errors
/// None in practice: the bytes are written to memory.
pub fn comparison(rows: &[Comparison], marks: Marks) -> Result<Vec<u8>, csv::Error> {
    table(COMPARISON.iter(), rows, marks)
}

/// A heading line and a line per row.
pub(crate) fn table<'c, R: 'c>(
    columns: impl Iterator<Item = &'c Column<R>> + Clone,
    rows: &[R],
    marks: Marks,
) -> Result<Vec<u8>, csv::Error> {
    let delimiter = match marks {
        Marks::Point => b',',
        Marks::Comma => b';',
    };
    let mut writer = csv::WriterBuilder::new()
        .delimiter(delimiter)
        .from_writer(Vec::new());
    writer.write_record(columns.clone().map(Column::csv_heading))?;
    for row in rows {
        writer.write_record(columns.clone().map(|column| cell((column.get)(row), marks)))?;
    }
    writer
        .into_inner()
        .map_err(|error| error.into_error().into())
}

fn cell(cell: Cell, marks: Marks) -> String {
    let number = |value: f64| {
        let plain = number::plain(value).unwrap_or_default();
        match marks {
            Marks::Point => plain,
            Marks::Comma => plain.replace('.', ","),
        }
    };
    match cell {
        Cell::Text(words) => neutral(words),
        Cell::Count(count) => count.to_string(),
        Cell::Number(value) => number(value),
        Cell::Value(q) => number(q.value),
        Cell::Unknown => String::new(),
    }
}

/// Words as a spreadsheet will show them, never run them: those that begin like a formula get an apostrophe in front.
///
/// Spaces in front do not protect, since some programs trim them; full-width forms are taken for their plain ones by
/// some.
fn neutral(words: String) -> String {
    const SIGNS: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];
    if words.trim_start_matches(' ').starts_with(SIGNS) {
        format!("'{words}")
    } else {
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    fn rows(bytes: &[u8]) -> Vec<Vec<String>> {
        csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(bytes)
            .records()
            .map(|record| record.unwrap().iter().map(str::to_owned).collect())
            .collect()
    }

    #[test]
    fn readings_without_intervals() {
        let bytes = readings(&fixture::outcome(false).results.readings, Marks::Point).unwrap();
        insta::assert_snapshot!(String::from_utf8(bytes).unwrap());
    }

    #[test]
    fn readings_with_intervals() {
        let bytes = readings(&fixture::outcome(true).results.readings, Marks::Point).unwrap();
        insta::assert_snapshot!(String::from_utf8(bytes).unwrap());
    }

    #[test]
    fn comparison_without_and_with_intervals() {
        for intervals in [false, true] {
            let bytes = comparison(
                &fixture::outcome(intervals).results.comparison,
                Marks::Point,
            )
            .unwrap();
            insta::assert_snapshot!(String::from_utf8(bytes).unwrap());
        }
    }

    #[test]
    fn what_is_not_known_is_an_empty_cell() {
        let bytes = readings(&fixture::outcome(false).results.readings, Marks::Point).unwrap();
        let rows = rows(&bytes);
        let place = rows[0]
            .iter()
            .position(|name| name == "surface_temperature_low [°C]")
            .unwrap();
        assert!(rows.iter().skip(1).all(|row| row[place].is_empty()));
        let text = String::from_utf8(bytes).unwrap();
        assert!(!text.contains("NaN") && !text.contains("inf"));
    }

    /// The same numbers, whichever way they are parted.
    #[test]
    fn decimal_commas_hold_the_same_numbers() {
        let results = fixture::outcome(true).results;
        let points = readings(&results.readings, Marks::Point).unwrap();
        let commas = readings(&results.readings, Marks::Comma).unwrap();
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .delimiter(b';')
            .from_reader(commas.as_slice());
        let commas: Vec<Vec<String>> = reader
            .records()
            .map(|record| record.unwrap().iter().map(str::to_owned).collect())
            .collect();
        let points = rows(&points);
        assert_eq!(points.len(), commas.len());
        let mut fractions = 0;
        for (point, comma) in points.iter().flatten().zip(commas.iter().flatten()) {
            match point.parse::<f64>() {
                Ok(number) => {
                    assert_eq!(comma.replace(',', ".").parse::<f64>(), Ok(number));
                    assert!(!comma.contains('.'), "{comma}");
                    fractions += usize::from(comma.contains(','));
                }
                Err(_) => assert_eq!(point, comma),
            }
        }
        assert!(fractions > 20);
    }

    #[test]
    fn nothing_to_compare_leaves_the_heading() {
        assert_eq!(rows(&comparison(&[], Marks::Point).unwrap()).len(), 1);
    }

    #[test]
    fn words_never_run_in_a_spreadsheet() {
        for words in [
            "=1+1", "+1", "-1", "@x", "\tx", "\rx", "\n=1", "＝1", "＋1", "－1", "＠x", "  =1",
        ] {
            assert_eq!(neutral(words.to_owned()), format!("'{words}"), "{words:?}");
        }
        for words in ["hold 1", "a=b", "", "'=1", "−1", "über"] {
            assert_eq!(neutral(words.to_owned()), words);
        }
    }

    #[test]
    fn negative_numbers_stay_numbers() {
        let mut outcome = fixture::outcome(false);
        outcome.results.readings[0].apparent = -12.5;
        let rows = rows(&readings(&outcome.results.readings, Marks::Point).unwrap());
        let place = rows[0]
            .iter()
            .position(|name| name == "apparent [°C]")
            .unwrap();
        assert_eq!(rows[1][place], "-12.5");
    }
}
