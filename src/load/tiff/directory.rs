//! The tags of a TIFF file, read before anything is decoded so that a header that lies is caught before it costs memory.
//!
//! Source: TIFF 6.0 (Adobe, 1992); BigTIFF differs in 8-byte counts and offsets.

use std::collections::{BTreeMap, BTreeSet};

use crate::load::LoadError;

/// Pages that are walked through at most.
const MAX_PAGES: usize = 65_536;

const NEW_SUBFILE_TYPE: u16 = 254;

/// TIFF's code for texts.
const ASCII: u16 = 2;

/// A TIFF file's bytes and how to read numbers in them.
#[derive(Debug, Clone, Copy)]
pub(super) struct TiffBytes<'a> {
    bytes: &'a [u8],
    big_endian: bool,
    /// BigTIFF.
    wide: bool,
}

/// Where a tag's value stands.
#[derive(Debug, Clone, Copy)]
struct Entry {
    /// TIFF's code of the element type.
    element: u16,
    count: u64,
    at: u64,
}

/// The tags of one page.
#[derive(Debug)]
pub(super) struct Directory<'a> {
    file: TiffBytes<'a>,
    /// Where it stands.
    at: u64,
    entries: BTreeMap<u16, Entry>,
    /// Where the next directory stands; 0 if there is none.
    next: u64,
}

impl<'a> TiffBytes<'a> {
    /// Takes a file whose first four bytes are those of a TIFF.
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        Self {
            bytes,
            big_endian: bytes.starts_with(b"MM"),
            wide: bytes.iter().take(4).any(|byte| *byte == 43),
        }
    }

    /// The tags of a page, counted from 1, and how many pages there are. Reduced copies and masks do not count.
    ///
    /// # Errors
    /// A chain of pages that runs in a circle, is cut off or is longer than any real one; a page beyond the last.
    pub(super) fn page(self, wanted: usize) -> Result<(Directory<'a>, usize), LoadError> {
        let mut seen = BTreeSet::new();
        let mut pages = 0;
        let mut found = None;
        let mut offset = self.first_offset()?;
        while offset != 0 {
            if !seen.insert(offset) || seen.len() > MAX_PAGES {
                return Err(LoadError::damaged("the TIFF's pages run in a circle"));
            }
            let directory = self.directory(offset)?;
            offset = directory.next;
            if directory.is_reduced()? {
                continue;
            }
            pages += 1;
            if pages == wanted {
                found = Some(directory);
            }
        }
        match found {
            Some(page) => Ok((page, pages)),
            None if pages == 0 => Err(LoadError::unread(
                "the TIFF holds only reduced copies or masks of a picture, not the picture",
            )),
            None => Err(LoadError::no_page(wanted, pages)),
        }
    }

    /// The bytes to put into the file's header so that it begins with another page, and where.
    pub(super) fn starting_with(self, page: &Directory) -> Vec<(u64, u8)> {
        let (at, bytes) = if self.wide {
            (8, page.at.to_le_bytes().to_vec())
        } else {
            // Taken from a field of 4 bytes, so that nothing is cut off.
            (4, (page.at as u32).to_le_bytes().to_vec())
        };
        let place = |index: usize| {
            let index = if self.big_endian {
                bytes.len() - 1 - index
            } else {
                index
            };
            at + index as u64
        };
        bytes
            .iter()
            .enumerate()
            .map(|(index, byte)| (place(index), *byte))
            .collect()
    }

    fn first_offset(self) -> Result<u64, LoadError> {
        if self.wide {
            self.number(8, 8)
        } else {
            self.number(4, 4)
        }
    }

    fn directory(self, offset: u64) -> Result<Directory<'a>, LoadError> {
        let (count_size, entry_size) = if self.wide { (8, 20) } else { (2, 12) };
        let count = self.number(offset, count_size)?;
        let start = offset.saturating_add(count_size);
        let end = count
            .checked_mul(entry_size)
            .and_then(|size| size.checked_add(start))
            .ok_or_else(cut_off)?;
        if end > self.bytes.len() as u64 {
            return Err(cut_off());
        }
        let mut entries = BTreeMap::new();
        for index in 0..count {
            let at = start + index * entry_size;
            let tag = self.number(at, 2)? as u16;
            if entries.insert(tag, self.entry(at)?).is_some() {
                return Err(LoadError::damaged(format!(
                    "the TIFF gives its tag {tag} twice"
                )));
            }
        }
        let next = self.number(end, if self.wide { 8 } else { 4 })?;
        Ok(Directory {
            file: self,
            at: offset,
            entries,
            next,
        })
    }

    fn entry(self, at: u64) -> Result<Entry, LoadError> {
        let element = self.number(at + 2, 2)? as u16;
        let width = if self.wide { 8 } else { 4 };
        let count = self.number(at + 4, width)?;
        let inside = at + 4 + width;
        let size = element_size(element).map_or(Some(0), |size| size.checked_mul(count));
        let size = size.ok_or_else(cut_off)?;
        let at = if size <= width {
            inside
        } else {
            self.number(inside, width)?
        };
        // A list that leaves the file would cost the decoder memory before it fails.
        if at
            .checked_add(size)
            .is_none_or(|end| end > self.bytes.len() as u64)
        {
            return Err(cut_off());
        }
        Ok(Entry { element, count, at })
    }

    /// The unsigned number of `size` bytes at a place.
    fn number(self, at: u64, size: u64) -> Result<u64, LoadError> {
        let bytes = usize::try_from(at)
            .ok()
            .and_then(|start| self.bytes.get(start..start.checked_add(size as usize)?))
            .ok_or_else(cut_off)?;
        let join = |number: u64, byte: &u8| number << 8 | u64::from(*byte);
        Ok(if self.big_endian {
            bytes.iter().fold(0, join)
        } else {
            bytes.iter().rev().fold(0, join)
        })
    }
}

impl<'a> Directory<'a> {
    /// The unsigned whole numbers of a tag that must hold `expected` of them.
    pub(super) fn numbers(&self, tag: u16, expected: u64) -> Result<Vec<u64>, LoadError> {
        let entry = self
            .entries
            .get(&tag)
            .filter(|entry| entry.count == expected);
        let entry = entry.ok_or_else(|| {
            LoadError::damaged("the TIFF's strips or tiles do not add up to its size")
        })?;
        let size = whole_size(tag, entry)?;
        // Checked before the list is made: no list is longer than the file.
        let end = entry.count.checked_mul(size);
        let end = end.and_then(|bytes| bytes.checked_add(entry.at));
        if end.is_none_or(|end| end > self.file.bytes.len() as u64) {
            return Err(cut_off());
        }
        (0..entry.count)
            .map(|index| self.file.number(entry.at + index * size, size))
            .collect()
    }

    /// The first number of a tag; `None` where it is absent.
    pub(super) fn first_number(&self, tag: u16) -> Result<Option<u64>, LoadError> {
        match self.entries.get(&tag) {
            None => Ok(None),
            Some(entry) if entry.count == 0 => {
                Err(LoadError::damaged(format!("the TIFF's tag {tag} is empty")))
            }
            Some(entry) => self
                .file
                .number(entry.at, whole_size(tag, entry)?)
                .map(Some),
        }
    }

    /// Whether the page is a reduced copy or a mask of another.
    pub(super) fn is_reduced(&self) -> Result<bool, LoadError> {
        Ok(self.first_number(NEW_SUBFILE_TYPE)?.unwrap_or(0) & 0b101 != 0)
    }

    /// Where in the file the lowest byte of a tag's first number stands.
    pub(super) fn low_byte(&self, tag: u16) -> Option<u64> {
        let entry = self.entries.get(&tag)?;
        let within = if self.file.big_endian {
            element_size(entry.element)? - 1
        } else {
            0
        };
        entry.at.checked_add(within)
    }

    /// A directory that a tag points to; `None` where there is none that can be read.
    pub(super) fn child(&self, tag: u16) -> Option<Directory<'a>> {
        let offset = self.first_number(tag).ok()??;
        self.file.directory(offset).ok()
    }

    /// The bytes of a text.
    pub(super) fn text(&self, tag: u16) -> Option<&'a [u8]> {
        let entry = self
            .entries
            .get(&tag)
            .filter(|entry| entry.element == ASCII)?;
        let start = usize::try_from(entry.at).ok()?;
        let end = start.checked_add(usize::try_from(entry.count).ok()?)?;
        self.file.bytes.get(start..end)
    }
}

/// Bytes that each number of a tag takes; an error unless they are unsigned whole numbers.
fn whole_size(tag: u16, entry: &Entry) -> Result<u64, LoadError> {
    match entry.element {
        1 | 3 | 4 | 13 | 16 | 18 => element_size(entry.element),
        _ => None,
    }
    .ok_or_else(|| LoadError::damaged(format!("the TIFF's tag {tag} is not a whole number")))
}

/// Bytes an element takes, by TIFF's code of its type.
const fn element_size(element: u16) -> Option<u64> {
    match element {
        1 | 2 | 6 | 7 => Some(1),
        3 | 8 => Some(2),
        4 | 9 | 11 | 13 => Some(4),
        5 | 10 | 12 | 16..=18 => Some(8),
        _ => None,
    }
}

fn cut_off() -> LoadError {
    LoadError::damaged("the TIFF ends before its contents do")
}
