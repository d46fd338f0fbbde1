//! Pictures inside the page: data addresses, and a PNG's size.

/// The bytes in base 64 (RFC 4648, section 4).
pub fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let digit = |bits: u32| {
        DIGITS
            .get((bits & 63) as usize)
            .copied()
            .map_or('=', char::from)
    };
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |index: usize| three.get(index).copied().map_or(0, u32::from);
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        text.push(digit(bits >> 18));
        text.push(digit(bits >> 12));
        text.push(if three.len() > 1 {
            digit(bits >> 6)
        } else {
            '='
        });
        text.push(if three.len() > 2 { digit(bits) } else { '=' });
    }
    text
}

/// A PNG's width and height in pixels, from its header; `None` where it is none.
pub fn png_size(bytes: &[u8]) -> Option<(u32, u32)> {
    let number = |at: usize| {
        let four = bytes.get(at..at + 4)?;
        four.try_into().ok().map(u32::from_be_bytes)
    };
    (bytes.get(12..16)? == b"IHDR").then_some((number(16)?, number(20)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_of_the_standard() {
        // RFC 4648, section 10.
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
        assert_eq!(base64(&[0xfb, 0xff, 0xfe]), "+//+");
    }

    #[test]
    fn sizes_are_read_and_other_bytes_refused() {
        let pictures = crate::report::fixture::pictures();
        assert_eq!(png_size(&pictures[0].1), Some((320, 240)));
        assert_eq!(png_size(b"not a picture"), None);
        assert_eq!(png_size(b""), None);
    }
}
