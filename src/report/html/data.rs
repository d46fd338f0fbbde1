//! Pictures inside the page: data addresses, and a PNG's size.

/// The bytes in base 64 (RFC 4648, section 4), as ASCII.
pub fn base64(bytes: &[u8]) -> Vec<u8> {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let digits = |[a, b, c]: [u8; 3]| {
        let bits = u32::from(a) << 16 | u32::from(b) << 8 | u32::from(c);
        [18, 12, 6, 0].map(|shift| DIGITS[(bits >> shift & 63) as usize])
    };
    let mut text = Vec::with_capacity(bytes.len().div_ceil(3) * 4);
    let (threes, rest) = bytes.as_chunks::<3>();
    for &three in threes {
        text.extend_from_slice(&digits(three));
    }
    match *rest {
        [a] => text.extend(digits([a, 0, 0]).into_iter().take(2).chain(*b"==")),
        [a, b] => text.extend(digits([a, b, 0]).into_iter().take(3).chain(*b"=")),
        _ => {}
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
            assert_eq!(base64(plain.as_bytes()), coded.as_bytes());
        }
        assert_eq!(base64(&[0xfb, 0xff, 0xfe]), b"+//+");
    }

    #[test]
    fn sizes_are_read_and_other_bytes_refused() {
        let pictures = crate::report::fixture::pictures();
        assert_eq!(png_size(&pictures[0].1), Some((320, 240)));
        assert_eq!(png_size(b"not a picture"), None);
        assert_eq!(png_size(b""), None);
    }
}
