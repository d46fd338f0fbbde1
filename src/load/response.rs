//! Spectral responses: a text file of two columns, wavelength in µm and relative response.

use super::{LoadError, Samples, matrix};

/// What to write instead.
const MEND: &str = "A response file has two columns on every line, the wavelength in µm and the relative response there, in rising order of wavelength.";

/// Reads the points of a spectral response; lines of text before the numbers are skipped.
///
/// # Errors
/// What is wrong with the file, by line where it can be told.
pub fn response(bytes: &[u8]) -> Result<Vec<(f64, f64)>, LoadError> {
    let wrong = |what: String| LoadError {
        what,
        mend: MEND.to_owned(),
    };
    let read = |bytes: &[u8]| matrix::read(bytes).map_err(|error| wrong(error.what));
    // Unlike pictures, such tables are often set in columns of spaces.
    let decoded = read(bytes).or_else(|error| read(&spaced(bytes)).map_err(|_| error))?;
    let Samples::F64(numbers) = decoded.samples else {
        return Err(wrong("the file holds no table of numbers".to_owned()));
    };
    if numbers.ncols() != 2 {
        return Err(wrong(format!(
            "the table has {} columns instead of two",
            numbers.ncols()
        )));
    }
    Ok(numbers
        .rows()
        .into_iter()
        .map(|row| (row[0], row[1]))
        .collect())
}

/// The text with a tab for every stretch of spaces between two columns.
fn spaced(bytes: &[u8]) -> Vec<u8> {
    let text = String::from_utf8_lossy(bytes);
    let lines = text
        .lines()
        .map(|line| line.split_whitespace().collect::<Vec<_>>().join("\t"));
    lines.collect::<Vec<_>>().join("\n").into_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_columns_with_a_heading_are_read() {
        let text = b"wavelength (um);relative\n7,5;0\n8,0;0,9\n14;1\n";
        assert_eq!(
            response(text).unwrap(),
            [(7.5, 0.0), (8.0, 0.9), (14.0, 1.0)]
        );
    }

    #[test]
    fn other_tables_are_refused() {
        assert!(
            response(b"1,2,3\n4,5,6\n")
                .unwrap_err()
                .what
                .contains("3 columns")
        );
        assert!(response(b"nothing here").is_err());
    }
}
