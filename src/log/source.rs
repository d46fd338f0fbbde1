//! The bytes of a log on their way to its rows: hashed, and never more of them than a row may have.

use std::cell::Cell;
use std::io::{self, Read};
use std::rc::Rc;

use sha2::{Digest, Sha256};

/// The most bytes that a row may take: a file without line ends, or a quotation mark that is never closed, must not fill
/// the memory.
pub const MOST_ROW: usize = 4 << 20;

/// A file whose bytes are hashed as they are read.
pub struct Source<R> {
    file: R,
    hash: Sha256,
    since_row: Rc<Cell<usize>>,
}

impl<R: Read> Source<R> {
    /// `since_row` counts the bytes read since whoever reads rows has set it to 0.
    pub fn new(file: R, since_row: Rc<Cell<usize>>) -> Self {
        Self {
            file,
            hash: Sha256::new(),
            since_row,
        }
    }

    /// The digest of all that was read, in lower-case hexadecimal.
    pub fn digest(self) -> String {
        let digest = self.hash.finalize();
        digest.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

impl<R: Read> Read for Source<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.since_row.get() > MOST_ROW {
            return Err(io::Error::other(
                "a row of more than 4 MiB: a quotation mark that is not closed, or no log",
            ));
        }
        let count = self.file.read(buffer)?;
        self.hash.update(&buffer[..count]);
        self.since_row.set(self.since_row.get() + count);
        Ok(count)
    }
}
