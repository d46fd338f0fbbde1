//! A file with a few bytes replaced, without a copy of it.

use std::io::{Cursor, Read, Result, Seek, SeekFrom};

/// Reads a file as if some of its bytes were others.
pub(super) struct Patched<'a> {
    file: Cursor<&'a [u8]>,
    /// Place and byte.
    patches: Vec<(u64, u8)>,
}

impl<'a> Patched<'a> {
    pub(super) fn new(bytes: &'a [u8], patches: Vec<(u64, u8)>) -> Self {
        Self {
            file: Cursor::new(bytes),
            patches,
        }
    }
}

impl Read for Patched<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        let start = self.file.position();
        let read = self.file.read(buffer)?;
        for (place, byte) in &self.patches {
            let within = place
                .checked_sub(start)
                .and_then(|n| usize::try_from(n).ok());
            if let Some(target) = within
                .filter(|within| *within < read)
                .and_then(|within| buffer.get_mut(within))
            {
                *target = *byte;
            }
        }
        Ok(read)
    }
}

impl Seek for Patched<'_> {
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.file.seek(to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_patched_bytes_differ_however_they_are_read() {
        let bytes: Vec<u8> = (0..50).collect();
        let mut wanted = bytes.clone();
        wanted[7] = 99;
        wanted[20] = 98;
        for size in 1..50 {
            let mut file = Patched::new(&bytes, vec![(20, 98), (7, 99), (500, 1)]);
            let mut read = Vec::new();
            let mut buffer = vec![0; size];
            loop {
                let count = file.read(&mut buffer).unwrap();
                if count == 0 {
                    break;
                }
                read.extend_from_slice(&buffer[..count]);
            }
            assert_eq!(read, wanted, "{size}");
        }
    }
}
