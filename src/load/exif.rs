//! What a camera noted about a picture: which way is up and when it was taken (Exif 2.32, CIPA DC-008).

mod captured;

pub use captured::Captured;

use std::io::Cursor;

use exif::{In, Reader, Tag, Value};

/// The largest block of notes that is looked at, bytes: a JPEG cannot hold a larger one, and reading one takes memory
/// by the square of its size where its tables overlap.
const MAX_BLOCK: usize = 65_535;

/// What the camera noted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Exif {
    /// How the stored picture has to be turned, 1 to 8; 0 where that is not noted.
    pub orientation: u64,
    /// When the picture was taken.
    pub captured: Option<Captured>,
}

impl Exif {
    /// Reads the notes in a JPEG file; what is absent or damaged is left out.
    #[must_use]
    pub fn of_jpeg(bytes: &[u8]) -> Self {
        if !bytes.starts_with(b"\xFF\xD8") {
            return Self::default();
        }
        let found = Reader::new()
            .continue_on_error(true)
            .read_from_container(&mut Cursor::new(bytes));
        Self::of(found)
    }

    /// Reads a bare block of notes, as a PNG holds it.
    pub(super) fn of_block(block: &[u8]) -> Self {
        if block.len() > MAX_BLOCK {
            return Self::default();
        }
        Self::of(
            Reader::new()
                .continue_on_error(true)
                .read_raw(block.to_vec()),
        )
    }

    /// Takes what could be read: viewers show such a picture too, and turned the same way.
    fn of(found: Result<exif::Exif, exif::Error>) -> Self {
        let Ok(notes) = found.or_else(|error| error.distill_partial_result(|_| {})) else {
            return Self::default();
        };
        let text = |tag| match &notes.get_field(tag, In::PRIMARY)?.value {
            Value::Ascii(texts) => texts.first().map(Vec::as_slice),
            _ => None,
        };
        let orientation = notes
            .get_field(Tag::Orientation, In::PRIMARY)
            .and_then(|field| field.value.get_uint(0));
        Self {
            orientation: orientation.map_or(0, u64::from),
            captured: text(Tag::DateTimeOriginal).and_then(|date| {
                Captured::parse(
                    date,
                    text(Tag::OffsetTimeOriginal),
                    text(Tag::SubSecTimeOriginal),
                )
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_block_of_notes_says_nothing() {
        for block in [&b""[..], b"II*\0", b"II*\0\xFF\xFF\xFF\xFF", &[0; 70_000]] {
            assert_eq!(Exif::of_block(block), Exif::default());
        }
        assert_eq!(
            Exif::of_jpeg(b"\xFF\xD8\xFF\xE1\0\x08Exif"),
            Exif::default()
        );
        assert_eq!(Exif::of_jpeg(b"no JPEG"), Exif::default());
    }
}
