//! Damaged and lying picture files: an error or the right answer, never a panic, never much memory.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod picture_files;

use endtank::load::{self, LoadError, Samples, ThermalImage, Wanted};
use endtank::session::Pixels;
use picture_files::files;

const COUNTS: Pixels = Pixels::Linear {
    step: 0.01,
    zero: 0.0,
};

fn read(bytes: &[u8]) -> Result<ThermalImage, LoadError> {
    let pixels = Some(&COUNTS);
    load::read(bytes, Wanted { pixels, page: None })
}

/// One of each container, layout and compression.
fn some() -> Vec<(String, Vec<u8>)> {
    files()
        .into_iter()
        .filter(|(name, ..)| {
            name.starts_with("u16-be")
                || name.starts_with("f32-le")
                || ["png", "bigtiff", "pages"]
                    .iter()
                    .any(|kind| name.contains(kind))
        })
        .map(|(name, _, bytes)| (name, bytes))
        .collect()
}

fn same(one: &Samples, other: &Samples) -> bool {
    match (one, other) {
        (Samples::U8(a), Samples::U8(b)) => a == b,
        (Samples::U16(a), Samples::U16(b)) => a == b,
        (Samples::I16(a), Samples::I16(b)) => a == b,
        (Samples::U32(a), Samples::U32(b)) => a == b,
        (Samples::F32(a), Samples::F32(b)) => a == b,
        (Samples::F64(a), Samples::F64(b)) => a == b,
        _ => false,
    }
}

#[test]
fn a_picture_cut_off_anywhere_is_refused_or_right() {
    for (name, bytes) in some() {
        let Ok(whole) = read(&bytes) else { continue };
        for length in 0..bytes.len() {
            if let Ok(image) = read(&bytes[..length]) {
                assert!(
                    same(&image.samples, &whole.samples),
                    "{name} cut to {length}"
                );
            }
        }
    }
}

/// The next number of a xorshift generator: the same flips on every run.
fn next(state: &mut u64) -> usize {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    *state as usize
}

#[test]
fn flipped_bits_never_panic() {
    let mut state = 0x9E37_79B9_7F4A_7C15;
    let mut outcomes = [0, 0];
    for (_, bytes) in some() {
        for _ in 0..400 {
            let mut bytes = bytes.clone();
            for _ in 0..1 + next(&mut state) % 3 {
                // Half of the flips hit the header, where they do most harm.
                let within = if next(&mut state).is_multiple_of(2) {
                    256
                } else {
                    bytes.len()
                };
                let at = next(&mut state) % within.min(bytes.len());
                bytes[at] ^= 1 << (next(&mut state) % 8);
            }
            outcomes[usize::from(read(&bytes).is_ok())] += 1;
        }
    }
    assert!(outcomes.iter().all(|n| *n > 100), "{outcomes:?}");
}

/// Every byte of the header set to extremes, one at a time.
#[test]
fn extreme_header_bytes_never_panic() {
    for (_, bytes) in some().into_iter().step_by(5) {
        for at in 0..bytes.len().min(300) {
            for value in [0, 1, 0x7F, 0x80, 0xFF] {
                let mut bytes = bytes.clone();
                bytes[at] = value;
                let _ = read(&bytes);
            }
        }
    }
}

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
        (&[(273, 4, huge, 200)], "add up"),
        (&[(279, 4, huge, 200)], "add up"),
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

/// A PNG header of a size, with a correct check sum and no data.
fn png_header(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Sixteen);
    drop(encoder.write_header().unwrap());
    bytes
}

#[test]
fn a_png_of_absurd_size_is_refused() {
    for side in [30_000, u32::MAX >> 1] {
        let error = read(&png_header(side, side)).unwrap_err();
        assert!(error.what.contains("100 million"), "{error}");
    }
}
