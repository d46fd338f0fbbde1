//! PGM pictures, binary (P5) and as text (P2).
//!
//! Source: netpbm's description of the format (from memory): a magic word, width, height and the largest number, with
//! blanks and comments (`#` to the end of the line) between them, one blank, then the numbers: of one byte each where
//! the largest is below 256, else of two bytes, the high one first. A binary file may hold several pictures.

use ndarray::Array2;

use super::exif::Exif;
use super::{Decoded, LoadError, Samples, check_size};

const MEND: &str = "Write it as a binary PGM (P5) whose numbers, the high byte first, do not exceed the largest number that its header gives.";

/// Whether a file begins as a PGM does: a magic word, a blank or comment, and then a number.
pub(super) fn is_pgm(bytes: &[u8]) -> bool {
    let mut rest = Rest(bytes);
    rest.magic().is_some() && rest.number().is_some()
}

/// Reads a picture, counted from 1.
///
/// # Errors
/// A damaged or oversized file, a number above the largest that the header gives, a picture beyond the last.
pub(super) fn read(bytes: &[u8], page: usize) -> Result<Decoded, LoadError> {
    let mut rest = Rest(bytes);
    let mut pages = 0;
    let mut found = None;
    while pages == 0 || !rest.0.trim_ascii_start().is_empty() {
        let header = Header::read(&mut rest)?;
        let raster = header.raster(&mut rest)?;
        pages += 1;
        if pages == page {
            found = Some((header, raster));
        }
    }
    let (header, raster) = found.ok_or_else(|| LoadError::no_page(page, pages))?;
    let wide = header.wide();
    let container = format!(
        "PGM{}, {}-bit unsigned",
        if header.binary { "" } else { " as text" },
        if wide { 16 } else { 8 }
    );
    Ok(Decoded {
        samples: header.samples(raster)?,
        container,
        pages,
        exif: Exif::default(),
    })
}

#[derive(Debug)]
struct Header {
    binary: bool,
    width: usize,
    height: usize,
    largest: u16,
}

impl Header {
    fn read(rest: &mut Rest<'_>) -> Result<Self, LoadError> {
        let unclear =
            || LoadError::damaged("the PGM picture's header is cut off or no such header");
        rest.0 = rest.0.trim_ascii_start();
        let binary = rest.magic().ok_or_else(unclear)?;
        let mut number = || rest.number().ok_or_else(unclear);
        let (width, height, largest) = (number()?, number()?, number()?);
        check_size(width, height)?;
        let largest = u16::try_from(largest).ok().filter(|largest| *largest > 0);
        let largest = largest.ok_or_else(|| {
            LoadError::new(
                "the PGM picture's largest number is not between 1 and 65535",
                MEND,
            )
        })?;
        rest.blank().ok_or_else(unclear)?;
        Ok(Self {
            binary,
            width: width as usize,
            height: height as usize,
            largest,
        })
    }

    const fn wide(&self) -> bool {
        self.largest > 255
    }

    /// The bytes that the numbers stand in.
    fn raster<'t>(&self, rest: &mut Rest<'t>) -> Result<&'t [u8], LoadError> {
        if !self.binary {
            // As text there is one picture in a file.
            return Ok(std::mem::take(&mut rest.0));
        }
        let length = self.width * self.height * if self.wide() { 2 } else { 1 };
        let (raster, after) = rest.0.split_at_checked(length).ok_or_else(|| {
            LoadError::damaged(format!(
                "the PGM picture is cut off: it needs {length} bytes of numbers and has {}",
                rest.0.len()
            ))
        })?;
        rest.0 = after;
        Ok(raster)
    }

    fn samples(&self, raster: &[u8]) -> Result<Samples, LoadError> {
        let numbers: Vec<u16> = match (self.binary, self.wide()) {
            (true, false) => {
                self.check(raster.iter().copied().map(u16::from))?;
                return self.shaped(raster.to_vec()).map(Samples::U8);
            }
            (true, true) => {
                let pairs = raster.as_chunks::<2>().0.iter();
                pairs.map(|pair| u16::from_be_bytes(*pair)).collect()
            }
            (false, _) => self.numbers(raster)?,
        };
        self.check(numbers.iter().copied())?;
        if self.wide() {
            return self.shaped(numbers).map(Samples::U16);
        }
        let bytes = numbers
            .into_iter()
            .filter_map(|number| u8::try_from(number).ok());
        self.shaped(bytes.collect()).map(Samples::U8)
    }

    /// The numbers of a picture as text.
    fn numbers(&self, raster: &[u8]) -> Result<Vec<u16>, LoadError> {
        let expected = self.width * self.height;
        // A number and a blank take two bytes at least: no memory is asked for that the file does not fill.
        let mut numbers = Vec::with_capacity(expected.min(raster.len() / 2 + 1));
        let mut rest = Rest(raster);
        while !rest.skip().is_empty() {
            let number = rest.number().and_then(|number| u16::try_from(number).ok());
            match number {
                Some(number) if numbers.len() < expected => numbers.push(number),
                _ => {
                    return Err(LoadError::damaged(format!(
                        "the PGM picture holds more than its {expected} numbers, or what is no number up to 65535, after number {}",
                        numbers.len()
                    )));
                }
            }
        }
        if numbers.len() < expected {
            return Err(LoadError::damaged(format!(
                "the PGM picture is cut off: it needs {expected} numbers and has {}",
                numbers.len()
            )));
        }
        Ok(numbers)
    }

    /// A number above the largest shows that bytes were exchanged or the header is another's.
    fn check(&self, mut numbers: impl Iterator<Item = u16>) -> Result<(), LoadError> {
        match numbers.find(|number| *number > self.largest) {
            None => Ok(()),
            Some(number) => Err(LoadError::new(
                format!(
                    "the PGM picture holds {number}, above the largest number that its header gives, {}",
                    self.largest
                ),
                MEND,
            )),
        }
    }

    fn shaped<T>(&self, numbers: Vec<T>) -> Result<Array2<T>, LoadError> {
        Array2::from_shape_vec((self.height, self.width), numbers)
            .map_err(|_| LoadError::damaged("the PGM picture's numbers do not fill its size"))
    }
}

/// What is left of the file.
struct Rest<'t>(&'t [u8]);

impl<'t> Rest<'t> {
    /// Whether the numbers follow in binary; `None` where no magic word stands here.
    fn magic(&mut self) -> Option<bool> {
        let (magic, rest) = self.0.split_at_checked(2)?;
        let binary = match magic {
            b"P5" => true,
            b"P2" => false,
            _ => return None,
        };
        let parted = rest.first()?;
        self.0 = rest;
        (parted.is_ascii_whitespace() || *parted == b'#').then_some(binary)
    }

    /// Goes past blanks and comments.
    fn skip(&mut self) -> &'t [u8] {
        loop {
            self.0 = self.0.trim_ascii_start();
            if self.0.first() != Some(&b'#') {
                return self.0;
            }
            let end = self.0.iter().position(|byte| matches!(byte, b'\n' | b'\r'));
            self.0 = end.and_then(|end| self.0.get(end..)).unwrap_or_default();
        }
    }

    /// A whole number, up to a blank or the file's end.
    fn number(&mut self) -> Option<u64> {
        let rest = self.skip();
        let end = rest.iter().position(|byte| !byte.is_ascii_digit());
        let (digits, rest) = rest.split_at(end.unwrap_or(rest.len()));
        let parted = rest.first();
        if parted.is_some_and(|byte| !byte.is_ascii_whitespace() && *byte != b'#') {
            return None;
        }
        self.0 = rest;
        std::str::from_utf8(digits).ok()?.parse().ok()
    }

    /// The single blank between the header and the numbers.
    fn blank(&mut self) -> Option<()> {
        let (blank, rest) = self.0.split_first()?;
        self.0 = rest;
        blank.is_ascii_whitespace().then_some(())
    }
}

#[cfg(test)]
mod tests;
