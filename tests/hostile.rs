//! Damaged, oversized and lying picture files of every container: an error or the right answer, never a panic, never a
//! long wait, never much memory.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod hostile {
    pub mod bigtiff;
    pub mod colours;
    pub mod containers;
    pub mod logs;
    pub mod tiff;
    pub mod watch;
}
mod palette_scenes;
mod picture_files;

use endtank::load::Samples;
use hostile::watch::read;
use picture_files::files;

/// One of each container, layout and compression.
fn some() -> Vec<(String, Vec<u8>)> {
    let kinds = ["png", "bigtiff", "pages", "npy", "pgm", "notes"];
    let mut some: Vec<(String, Vec<u8>)> = files()
        .into_iter()
        .filter(|(name, ..)| {
            name.starts_with("u16-be")
                || name.starts_with("f32-le")
                || kinds.iter().any(|kind| name.contains(kind))
        })
        .map(|(name, _, bytes)| (name, bytes))
        .collect();
    let text = b"left;middle;right\n20,5;21,25;NaN\n22;23,75;\n-1,5;3e1;0\n".to_vec();
    some.push(("text".to_owned(), text));
    some
}

fn same(one: &Samples, other: &Samples) -> bool {
    match (one, other) {
        (Samples::U8(a), Samples::U8(b)) => a == b,
        (Samples::U16(a), Samples::U16(b)) => a == b,
        (Samples::I16(a), Samples::I16(b)) => a == b,
        (Samples::U32(a), Samples::U32(b)) => a == b,
        (Samples::I32(a), Samples::I32(b)) => a == b,
        (Samples::F32(a), Samples::F32(b)) => a == b,
        (Samples::F64(a), Samples::F64(b)) => a == b,
        _ => false,
    }
}

/// Text has no end mark: a matrix or a plain PGM cut in its last number still reads as a picture.
#[test]
fn a_picture_cut_off_anywhere_is_refused_or_right() {
    for (name, bytes) in some() {
        let Ok(whole) = read(&bytes) else { continue };
        for length in 0..bytes.len() {
            let cut = read(&bytes[..length]);
            if let Ok(image) = cut
                && !name.contains("text")
            {
                let right =
                    same(&image.samples, &whole.samples) && image.captured == whole.captured;
                assert!(right, "{name} cut to {length}");
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
        for _ in 0..200 {
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
