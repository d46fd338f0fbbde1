//! The header of an NPY file: a Python dictionary of three keys.

use crate::load::LoadError;

/// The most dimensions that a shape is read to; NumPy itself stops at 64.
const MAX_DIMENSIONS: usize = 64;

/// What the header says.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Header {
    /// The type of the elements: `<f4`.
    pub(super) descr: String,
    /// Whether the numbers run along columns rather than rows.
    pub(super) fortran_order: bool,
    pub(super) shape: Vec<u64>,
}

impl Header {
    /// Reads a header's text.
    ///
    /// # Errors
    /// A text that is no such dictionary, or elements that are structures.
    pub(super) fn parse(bytes: &[u8]) -> Result<Self, LoadError> {
        let text = std::str::from_utf8(bytes).map_err(|_| unclear())?;
        let mut rest = Rest(text);
        let (mut descr, mut fortran_order, mut shape) = (None, None, None);
        rest.expect('{')?;
        while !rest.take('}') {
            let key = rest.text()?;
            rest.expect(':')?;
            match key {
                "descr" if rest.0.starts_with('[') => {
                    return Err(LoadError::new(
                        "the NPY array's elements are structures of several fields, which are not read",
                        "Save one field of it: numpy.save(file, array[\"temperature\"]).",
                    ));
                }
                "descr" => descr = Some(rest.text()?.to_owned()),
                "fortran_order" => fortran_order = Some(rest.truth()?),
                "shape" => shape = Some(rest.numbers()?),
                _ => return Err(unclear()),
            }
            if !rest.take(',') {
                rest.expect('}')?;
                break;
            }
        }
        // Blanks fill the header up so that the numbers begin at a round place.
        match (descr, fortran_order, shape) {
            (Some(descr), Some(fortran_order), Some(shape)) if rest.0.is_empty() => Ok(Self {
                descr,
                fortran_order,
                shape,
            }),
            _ => Err(unclear()),
        }
    }
}

fn unclear() -> LoadError {
    LoadError::damaged("the NPY array's header is not one that NumPy writes")
}

/// What is left of the text, without leading blanks after every step.
struct Rest<'t>(&'t str);

impl<'t> Rest<'t> {
    fn take(&mut self, mark: char) -> bool {
        self.0 = self.0.trim_start();
        match self.0.strip_prefix(mark) {
            Some(rest) => {
                self.0 = rest.trim_start();
                true
            }
            None => false,
        }
    }

    fn expect(&mut self, mark: char) -> Result<(), LoadError> {
        self.take(mark).then_some(()).ok_or_else(unclear)
    }

    /// A text in either kind of quotes.
    fn text(&mut self) -> Result<&'t str, LoadError> {
        let quote = ['\'', '"'].into_iter().find(|quote| self.take(*quote));
        let (text, rest) = quote
            .and_then(|quote| self.0.split_once(quote))
            .ok_or_else(unclear)?;
        self.0 = rest.trim_start();
        Ok(text)
    }

    fn truth(&mut self) -> Result<bool, LoadError> {
        for (word, value) in [("True", true), ("False", false)] {
            if let Some(rest) = self.0.strip_prefix(word) {
                self.0 = rest.trim_start();
                return Ok(value);
            }
        }
        Err(unclear())
    }

    /// Whole numbers in parentheses.
    fn numbers(&mut self) -> Result<Vec<u64>, LoadError> {
        self.expect('(')?;
        let mut numbers = Vec::new();
        while !self.take(')') {
            let end = self.0.find(|c: char| !c.is_ascii_digit());
            let (digits, rest) = self.0.split_at(end.unwrap_or(self.0.len()));
            numbers.push(digits.parse().map_err(|_| unclear())?);
            self.0 = rest.trim_start();
            if numbers.len() > MAX_DIMENSIONS {
                return Err(unclear());
            }
            if !self.take(',') {
                self.expect(')')?;
                break;
            }
        }
        Ok(numbers)
    }
}
