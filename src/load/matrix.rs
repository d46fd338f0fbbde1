//! Text matrices: one line a row of pixels, separated by tabs, semicolons or commas.
//!
//! Lines of text before the numbers are skipped. Blank cells and `NaN` are invalid pixels. Where tabs or semicolons
//! separate, the decimal mark may be a comma. Everything else that is no number is an error with its line and column.

mod cell;

use std::borrow::Cow;

use ndarray::Array2;

use super::exif::Exif;
use super::{Decoded, LoadError, MAX_PIXELS, Samples, check_size};
use cell::{Cell, cell, is_column_numbers, is_row, separator};

/// Problems that are spelt out in one message.
const MAX_LISTED: usize = 5;

const MEND: &str = "Every line below the heading must hold one row of the picture: the same number of temperatures on each, without names or row and column numbers.";

/// Reads a text matrix in UTF-8 or Latin-1.
///
/// # Errors
/// No numbers at all; rows of unequal length and cells that are no numbers, by line and column; an oversized matrix.
pub(super) fn read(bytes: &[u8]) -> Result<Decoded, LoadError> {
    let text = text(bytes);
    let separator = separator(&text).ok_or_else(|| {
        LoadError::new(
            "the text holds no line of numbers separated by commas, semicolons or tabs",
            "Export one row of temperatures a line, separated by commas, semicolons or tabs; with decimal commas, not by commas.",
        )
    })?;
    let mut matrix = Matrix::new(separator, cells(&text, separator)?);
    for (index, line) in text.lines().enumerate() {
        // Tabs alone may be a row of invalid pixels.
        if line.contains(separator) || !line.trim().is_empty() {
            matrix.take(index + 1, line);
        }
    }
    let words = match separator {
        '\t' => "tabs",
        ';' => "semicolons",
        _ => "commas",
    };
    Ok(Decoded {
        samples: Samples::F64(matrix.finish()?),
        container: format!("text matrix separated by {words}"),
        pages: 1,
        exif: Exif::default(),
    })
}

/// How many cells there are at most, counted before memory is asked for.
fn cells(text: &str, separator: char) -> Result<usize, LoadError> {
    let ends = |byte: &u8| *byte == b'\n' || char::from(*byte) == separator;
    let cells = text.bytes().filter(|byte| ends(byte)).count() + 1;
    if cells as u64 > MAX_PIXELS {
        return Err(LoadError::new(
            "the text holds more than 100 million cells",
            "Check the file; a thermal picture is far smaller.",
        ));
    }
    Ok(cells)
}

fn text(bytes: &[u8]) -> Cow<'_, str> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().map(|byte| char::from(*byte)).collect()),
    }
}

/// A matrix as far as it has been read.
struct Matrix<'t> {
    separator: char,
    /// Rows one after the other.
    numbers: Vec<f64>,
    /// Lines before the first row, in case one of them was meant as a row: line and text.
    heading: Vec<(usize, &'t str)>,
    /// Cells in the first row, and its line.
    first: Option<(usize, usize)>,
    rows: usize,
    /// Rows whose last cell is blank.
    open_ended: usize,
    /// The first decimal mark and its line.
    mark: Option<(char, usize)>,
    problems: Vec<String>,
    more_problems: usize,
}

impl<'t> Matrix<'t> {
    fn new(separator: char, cells: usize) -> Self {
        Self {
            separator,
            numbers: Vec::with_capacity(cells),
            heading: Vec::new(),
            first: None,
            rows: 0,
            open_ended: 0,
            mark: None,
            problems: Vec::new(),
            more_problems: 0,
        }
    }

    /// Takes a line that is not blank.
    fn take(&mut self, line: usize, text: &'t str) {
        if self.first.is_none() {
            if !is_row(text, self.separator) {
                self.heading.push((line, text));
                return;
            }
            self.start(line, text);
        }
        self.row(line, text);
    }

    /// Notes the first row's length, and looks again at the lines above it: some may be rows rather than headings.
    fn start(&mut self, line: usize, text: &str) {
        let separator = self.separator;
        let width = text.split(separator).count();
        self.first = Some((width, line));
        let mut padded = false;
        for (line, text) in std::mem::take(&mut self.heading) {
            let cells = || text.split(separator).map(|text| cell(text, separator));
            if cells().count() != width {
                continue;
            }
            let any = |kind: fn(&Cell) -> bool| cells().any(|cell| kind(&cell));
            if any(|cell| matches!(cell, Cell::Number { .. })) {
                // Numbers among as many cells as a row has: a row with a fault.
                self.row(line, text);
            } else if any(|cell| *cell == Cell::Other) {
                padded = true;
            } else if padded && !any(|cell| *cell == Cell::Invalid) {
                self.problem(|| {
                    format!("line {line} may be a blank line of the heading or a row of invalid pixels: delete it, or write NaN in it")
                });
            } else {
                self.row(line, text);
            }
        }
        if is_column_numbers(text, separator) {
            self.problem(|| {
                format!("line {line} looks like column numbers over the picture, not temperatures")
            });
        }
    }

    fn row(&mut self, line: usize, text: &str) {
        let separator = self.separator;
        let mut width = 0;
        let mut last_blank = false;
        for (column, text) in text.split(separator).enumerate() {
            width += 1;
            let cell = cell(text, separator);
            last_blank = cell == Cell::Blank;
            let number = match cell {
                Cell::Number { value, mark } => {
                    self.check_mark(mark, line, column, text);
                    value
                }
                Cell::Blank | Cell::Invalid => f64::NAN,
                Cell::Other => {
                    self.problem(|| not_a_number(line, column, text));
                    f64::NAN
                }
            };
            self.numbers.push(number);
        }
        self.rows += 1;
        self.open_ended += usize::from(last_blank);
        if let Some((expected, first)) = self.first
            && expected != width
        {
            self.problem(|| format!("line {line} has {width} cells, line {first} has {expected}"));
        }
    }

    /// A matrix that writes some decimals with a comma and some with a point has thousands separators or is two
    /// files in one; either way a number would be misread.
    fn check_mark(&mut self, mark: Option<char>, line: usize, column: usize, text: &str) {
        match (self.mark, mark) {
            (None, Some(mark)) => self.mark = Some((mark, line)),
            (Some((first, at)), Some(mark)) if first != mark => self.problem(|| {
                format!(
                    "line {line}, column {} (\"{}\") has \"{mark}\" as decimal mark, line {at} has \"{first}\"",
                    column + 1,
                    shortened(text)
                )
            }),
            _ => {}
        }
    }

    fn problem(&mut self, words: impl FnOnce() -> String) {
        if self.problems.len() < MAX_LISTED {
            self.problems.push(words());
        } else {
            self.more_problems += 1;
        }
    }

    fn finish(mut self) -> Result<Array2<f64>, LoadError> {
        if self.more_problems > 0 {
            self.problems
                .push(format!("and {} more", self.more_problems));
        }
        if !self.problems.is_empty() {
            return Err(LoadError::new(
                format!(
                    "the text is no matrix of temperatures: {}",
                    self.problems.join("; ")
                ),
                MEND,
            ));
        }
        let width = self.first.map_or(0, |(width, _)| width);
        check_size(width as u64, self.rows as u64)?;
        if width > 1 && self.open_ended == self.rows {
            // Each line ends in a separator, which opens no further cell.
            let mut index = 0;
            self.numbers.retain(|_| {
                index += 1;
                index % width != 0
            });
            return shaped(self.rows, width - 1, self.numbers);
        }
        shaped(self.rows, width, self.numbers)
    }
}

fn shaped(rows: usize, columns: usize, numbers: Vec<f64>) -> Result<Array2<f64>, LoadError> {
    Array2::from_shape_vec((rows, columns), numbers)
        .map_err(|_| LoadError::damaged("the text is no matrix: its rows differ in length"))
}

fn not_a_number(line: usize, column: usize, text: &str) -> String {
    format!(
        "line {line}, column {} (\"{}\") is no number",
        column + 1,
        shortened(text)
    )
}

fn shortened(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 20 {
        text.to_owned()
    } else {
        text.chars().take(19).chain(['…']).collect()
    }
}

#[cfg(test)]
mod tests;
