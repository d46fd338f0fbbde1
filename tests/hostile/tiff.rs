//! TIFF files whose tags lie.

use super::watch::read;

/// Tag, type code, count, value.
type Entry = (u16, u16, u32, u32);

/// A little-endian TIFF of one directory.
fn tiff(entries: &[Entry], next: u32) -> Vec<u8> {
    let mut bytes = b"II*\0\x08\0\0\0".to_vec();
    bytes.extend((entries.len() as u16).to_le_bytes());
    for (tag, element, count, value) in entries {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(element.to_le_bytes());
        bytes.extend(count.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend(next.to_le_bytes());
    bytes.resize(bytes.len() + 512, 0);
    bytes
}

/// A sound picture of 16 × 8 pixels in one strip, with some entries replaced.
fn altered(changes: &[Entry], next: u32) -> Vec<u8> {
    let mut entries = vec![
        (256, 4, 1, 16),
        (257, 4, 1, 8),
        (258, 3, 1, 16),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, 200),
        (277, 3, 1, 1),
        (278, 4, 1, 8),
        (279, 4, 1, 256),
    ];
    for change in changes {
        entries.retain(|entry| entry.0 != change.0);
        entries.push(*change);
    }
    entries.sort_unstable();
    tiff(&entries, next)
}

#[test]
fn headers_that_lie_are_refused_in_plain_words() {
    assert!(read(&altered(&[], 0)).is_ok());
    let huge = u32::MAX;
    let cases: &[(&[Entry], &str)] = &[
        (&[(256, 4, 1, huge), (257, 4, 1, huge)], "100 million"),
        (&[(256, 4, 1, 10_000), (257, 4, 1, 10_000)], "strip"),
        (&[(256, 4, 1, 0)], "0 × 8"),
        (&[(273, 4, huge, 200)], "ends before"),
        (&[(279, 4, huge, 200)], "ends before"),
        (&[(273, 4, 100, 8)], "add up"),
        (
            &[(278, 4, 1, 1), (273, 4, 8, huge), (279, 4, 8, 8)],
            "ends before",
        ),
        (&[(258, 3, 0, 16)], "empty"),
        (&[(273, 4, 1, huge)], "cut off"),
        (&[(279, 4, 1, 255)], "cut off"),
        (&[(278, 4, 1, 0)], "0 pixels"),
        (&[(278, 4, 1, 1)], "add up"),
        (
            &[
                (322, 4, 1, huge),
                (323, 4, 1, huge),
                (324, 4, 1, 200),
                (325, 4, 1, 256),
            ],
            "100 million",
        ),
        (
            &[
                (322, 4, 1, 9999),
                (323, 4, 1, 9999),
                (324, 4, 1, 200),
                (325, 4, 1, 256),
            ],
            "tile",
        ),
        (
            &[
                (259, 3, 1, 8),
                (256, 4, 1, 9_000),
                (257, 4, 1, 9_000),
                (278, 4, 1, 9_000),
            ],
            "cut off",
        ),
        (&[(259, 3, 1, 8)], "decoded"),
        (
            &[(277, 3, 1, 65_535), (284, 3, 1, 2), (257, 4, 1, 1 << 20)],
            "channels",
        ),
        (&[(266, 3, 1, 2)], "reverse"),
        (&[(317, 3, 1, 2)], "ambiguous"),
        (&[(254, 4, 1, 1)], "reduced"),
        (&[(256, 11, 1, 16)], "whole number"),
    ];
    for (changes, word) in cases {
        let error = read(&altered(changes, 0)).unwrap_err();
        assert!(error.what.contains(word), "{changes:?}: {error}");
    }
}

#[test]
fn pages_in_a_circle_are_refused() {
    let error = read(&altered(&[], 8)).unwrap_err();
    assert!(error.what.contains("circle"), "{error}");
}

#[test]
fn the_same_tag_twice_is_refused() {
    let error = read(&tiff(&[(256, 4, 1, 16), (256, 4, 1, 17)], 0)).unwrap_err();
    assert!(error.what.contains("twice"), "{error}");
}
