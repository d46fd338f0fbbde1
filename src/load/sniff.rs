//! What kind of file it is, by its first bytes.

use super::{LoadError, pgm};

/// A kind of file that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Tiff,
    Png,
    Npy,
    Pgm,
    Text,
}

/// A kind of file that holds colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ColourKind {
    Jpeg,
    Png,
    Bmp,
    WebP,
}

/// Whether the file may be a palette picture, by its first bytes.
pub(super) fn colour_kind(bytes: &[u8]) -> Option<ColourKind> {
    if bytes.starts_with(b"\xFF\xD8\xFF") {
        Some(ColourKind::Jpeg)
    } else if bytes.starts_with(b"\x89PNG") {
        Some(ColourKind::Png)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        Some(ColourKind::WebP)
    } else if bytes.starts_with(b"BM") && !is_text(bytes) {
        Some(ColourKind::Bmp)
    } else {
        None
    }
}

/// What to do with colours that may be read with their bar.
pub(super) const COLOURS: &str = "It holds colours, not temperatures: write where its colour bar is, for instance colour-bar = \"find\", and the limits printed at the bar's ends as `low` and `high`. Or export it as a radiometric TIFF or as a CSV matrix of temperatures.";
/// What to do with colours that are not read.
pub(super) const OTHER_COLOURS: &str = "It holds colours, not temperatures. Save it as PNG, which is read with its colour bar, or export a radiometric TIFF or a CSV matrix of temperatures.";
const EXPORT: &str = "Export the picture as a radiometric TIFF or as a CSV matrix of temperatures.";
const SHEET: &str = "Unpack it, or, if it is a spreadsheet, save the sheet as CSV.";

/// First bytes, what the file then is, what to do.
const REFUSED: &[(&[u8], &str, &str)] = &[
    (b"\xFF\xD8\xFF", "a JPEG picture", COLOURS),
    (b"GIF8", "a GIF picture", OTHER_COLOURS),
    (b"%PDF", "a PDF document", EXPORT),
    (b"PK\x03\x04", "a ZIP archive or a spreadsheet", SHEET),
    (b"\xD0\xCF\x11\xE0", "an old office document", SHEET),
    (b"\x1F\x8B", "a gzip archive", "Unpack it."),
    (b"7z\xBC\xAF\x27\x1C", "a 7z archive", "Unpack it."),
    (b"\x89HDF\r\n", "an HDF5 file", EXPORT),
    (b"SIMPLE  =", "a FITS file", EXPORT),
    (b"P1\n", "a PBM picture", EXPORT),
    (b"P3\n", "a PPM picture", OTHER_COLOURS),
    (b"P4\n", "a PBM picture", EXPORT),
    (b"P6\n", "a PPM picture", OTHER_COLOURS),
    (b"P7\n", "a PAM picture", EXPORT),
    (
        b"\xFF\xFE",
        "text in UTF-16",
        "Save it as UTF-8 or as plain CSV.",
    ),
    (
        b"\xFE\xFF",
        "text in UTF-16",
        "Save it as UTF-8 or as plain CSV.",
    ),
];

/// The kind of a file.
///
/// # Errors
/// A kind that is not read, with what to do instead.
pub(super) fn kind(bytes: &[u8]) -> Result<Kind, LoadError> {
    if bytes.is_empty() {
        return Err(LoadError::damaged("the file is empty"));
    }
    if [b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"]
        .iter()
        .any(|magic| bytes.starts_with(*magic))
    {
        return Ok(Kind::Tiff);
    }
    if bytes.starts_with(b"\x89PNG") {
        return Ok(Kind::Png);
    }
    if bytes.starts_with(b"\x93NUMPY") {
        return Ok(Kind::Npy);
    }
    if pgm::is_pgm(bytes) {
        return Ok(Kind::Pgm);
    }
    if let Some((what, mend)) = refused(bytes) {
        return Err(LoadError::new(
            format!("this is {what}, which is not read"),
            mend,
        ));
    }
    if is_text(bytes) {
        Ok(Kind::Text)
    } else {
        Err(LoadError::unread(
            "this is neither a TIFF, a PNG, an NPY array, a PGM nor a text matrix",
        ))
    }
}

fn refused(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    let (head, tail) = bytes.split_at(bytes.len().min(8));
    if head.starts_with(b"RIFF") {
        return Some(if tail.starts_with(b"WEBP") {
            ("a WebP picture", COLOURS)
        } else {
            ("a video or sound file", EXPORT)
        });
    }
    if head.ends_with(b"ftyp") {
        return Some(("a video or a HEIF picture", OTHER_COLOURS));
    }
    // "BM" may also begin a line of text.
    if head.starts_with(b"BM") && !is_text(bytes) {
        return Some(("a BMP picture", COLOURS));
    }
    if let Some((_, what, mend)) = REFUSED.iter().find(|(magic, ..)| bytes.starts_with(magic)) {
        return Some((what, mend));
    }
    let text = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    text.trim_ascii_start()
        .starts_with(b"<")
        .then_some(("a web page or another marked-up document", EXPORT))
}

/// Whether the beginning holds no control characters but tabs and line ends.
fn is_text(bytes: &[u8]) -> bool {
    bytes
        .iter()
        .take(4096)
        .all(|byte| *byte >= b' ' && *byte != 0x7F || matches!(byte, b'\t' | b'\r' | b'\n' | 0x0C))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_are_told_by_content() {
        assert_eq!(kind(b"II*\0rest"), Ok(Kind::Tiff));
        assert_eq!(kind(b"MM\0*rest"), Ok(Kind::Tiff));
        assert_eq!(kind(b"MM\0+rest"), Ok(Kind::Tiff));
        assert_eq!(kind(b"\x89PNG\r\n\x1A\nrest"), Ok(Kind::Png));
        assert_eq!(kind(b"\x93NUMPY\x01\0"), Ok(Kind::Npy));
        assert_eq!(kind(b"P5\n3 3\n255\n"), Ok(Kind::Pgm));
        assert_eq!(kind(b"P2 # text\n3 3\n255\n"), Ok(Kind::Pgm));
        assert_eq!(kind(b"P5 left;right\n3;4\n"), Ok(Kind::Text));
        assert_eq!(kind(b"1,2\n3,4\n"), Ok(Kind::Text));
        assert_eq!(kind(b"BM; a header\n3;4\n"), Ok(Kind::Text));
    }

    #[test]
    fn other_kinds_are_named_with_a_mend() {
        let cases: &[(&[u8], &str)] = &[
            (b"\xFF\xD8\xFF\xE0", "JPEG"),
            (b"BM\x36\0\0\0", "BMP"),
            (b"RIFF\x10\0\0\0WEBPVP8 ", "WebP"),
            (b"GIF89a", "GIF"),
            (b"%PDF-1.7", "PDF"),
            (b"PK\x03\x04\x14", "ZIP"),
            (b"P4\n3 3\n\0", "PBM"),
            (b"\xEF\xBB\xBF\n<!DOCTYPE html>", "web page"),
            (b"\0\x01\x02\x03", "neither"),
            (b"", "empty"),
        ];
        for (bytes, word) in cases {
            let error = kind(bytes).unwrap_err();
            assert!(error.what.contains(word), "{word}: {error}");
            assert!(!error.mend.is_empty());
        }
    }
}
