//! BigTIFF files whose tags lie.

use super::watch::{page, read};

/// Tag, type code, count, value.
type Entry = (u16, u16, u64, u64);

/// A sound big-endian picture of 16 × 8 pixels in one strip, with some entries replaced.
fn altered(changes: &[Entry], next: u64) -> Vec<u8> {
    let mut entries = vec![
        (256, 4, 1, 16 << 32),
        (257, 4, 1, 8 << 32),
        (258, 3, 1, 16 << 48),
        (259, 3, 1, 1 << 48),
        (262, 3, 1, 1 << 48),
        (273, 16, 1, 300),
        (278, 4, 1, 8 << 32),
        (279, 16, 1, 256),
    ];
    for change in changes {
        entries.retain(|entry| entry.0 != change.0);
        entries.push(*change);
    }
    entries.sort_unstable();
    let mut bytes = b"MM\0+\0\x08\0\0".to_vec();
    bytes.extend(16_u64.to_be_bytes());
    bytes.extend((entries.len() as u64).to_be_bytes());
    for (tag, element, count, value) in entries {
        bytes.extend(u16::to_be_bytes(tag));
        bytes.extend(u16::to_be_bytes(element));
        bytes.extend(u64::to_be_bytes(count));
        bytes.extend(u64::to_be_bytes(value));
    }
    bytes.extend(next.to_be_bytes());
    bytes.resize(600, 0);
    bytes
}

#[test]
fn headers_that_lie_are_refused_in_plain_words() {
    let sound = read(&altered(&[], 0)).unwrap();
    assert_eq!((sound.width(), sound.height(), sound.pages), (16, 8, 1));
    let huge = u64::MAX;
    let cases: &[(&[Entry], &str)] = &[
        (&[(256, 16, 1, huge), (257, 16, 1, huge)], "100 million"),
        (&[(256, 16, 1, 1 << 40)], "100 million"),
        (&[(256, 16, huge, 8)], "ends before"),
        (&[(273, 16, huge, 8)], "ends before"),
        (&[(273, 16, 1, huge)], "cut off"),
        (&[(279, 16, 1, huge)], "cut off"),
        (&[(279, 16, 1, 255)], "cut off"),
        (
            &[(278, 4, 1, 1 << 32), (273, 16, 8, huge), (279, 16, 8, 8)],
            "ends before",
        ),
        (&[(258, 12, 1, 16)], "whole number"),
    ];
    for (changes, word) in cases {
        let error = read(&altered(changes, 0)).unwrap_err();
        assert!(error.what.contains(word), "{changes:?}: {error}");
    }
}

#[test]
fn directories_outside_the_file_and_in_circles_are_refused() {
    for next in [599, 1 << 40, u64::MAX] {
        assert!(
            read(&altered(&[], next))
                .unwrap_err()
                .what
                .contains("ends before")
        );
    }
    let circle = read(&altered(&[], 16)).unwrap_err();
    assert!(circle.what.contains("circle"), "{circle}");
    let mut count = altered(&[], 0);
    count[16..24].copy_from_slice(&u64::MAX.to_be_bytes());
    assert!(read(&count).unwrap_err().what.contains("ends before"));
}

#[test]
fn absurd_pages_are_refused() {
    for number in [0, 2, usize::MAX] {
        let error = page(&altered(&[], 0), Some(number)).unwrap_err();
        assert!(error.what.contains("only one picture"), "{error}");
    }
}
