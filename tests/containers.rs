//! Picture files of an independent writer (tests/reference/containers.py) give the numbers that were put in.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod picture_files;

use endtank::load::{self, Samples};
use endtank::session::Pixels;
use picture_files::{data, expected, files};

const COUNTS: Pixels = Pixels::Linear {
    step: 0.01,
    zero: 0.0,
};

/// The numbers of a picture by row, widened without loss, and the name of their type.
fn numbers(samples: &Samples) -> (&'static str, Vec<f64>) {
    use endtank::load::Sample;
    let kind = match samples {
        Samples::U8(_) => "u8",
        Samples::U16(_) => "u16",
        Samples::I16(_) => "i16",
        Samples::U32(_) => "u32",
        Samples::F32(_) => "f32",
        Samples::F64(_) => "f64",
    };
    let list = endtank::with_samples!(samples, array => array.iter().map(|n| n.number()).collect());
    (kind, list)
}

#[test]
fn every_type_order_layout_compression_and_predictor_reads_exactly() {
    let mut read = 0;
    for (name, kind, bytes) in files().into_iter().filter(|(_, kind, _)| !kind.is_empty()) {
        let image = load::read(&bytes, Some(&COUNTS)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((image.width(), image.height()), (18, 6), "{name}");
        let (stored, list) = numbers(&image.samples);
        assert_eq!(stored, kind, "{name}");
        assert_eq!(list, expected(&kind), "{name}");
        assert_eq!(
            image.pages,
            if name.contains("pages") { 3 } else { 1 },
            "{name}"
        );
        assert!(image.assumed.is_none());
        read += 1;
    }
    assert!(read > 216, "{read}");
}

#[test]
fn kinds_that_are_not_read_are_refused_by_name() {
    let words = [
        ("refused-rgb", "RGB"),
        ("refused-planar", "several channels"),
        ("refused-palette", "palette"),
        ("refused-i32", "32-bit signed"),
        ("refused-f16", "16-bit floating-point"),
        ("refused-u64", "64-bit unsigned"),
        ("refused-zstd", "Zstandard"),
        ("refused-png-rgb", "RGB"),
        ("refused-png-alpha", "transparency"),
    ];
    let files = files();
    for (name, word) in words {
        let (.., bytes) = files.iter().find(|(n, ..)| n == name).expect(name);
        let error = load::read(bytes, Some(&COUNTS)).unwrap_err();
        assert!(error.what.contains(word), "{name}: {error}");
        assert!(!error.mend.is_empty());
    }
}

#[test]
fn an_interlaced_png_equals_its_plain_twin() {
    let read = |name: &str| {
        let bytes = std::fs::read(data(&format!("pngsuite/{name}.png"))).unwrap();
        numbers(&load::read(&bytes, Some(&COUNTS)).unwrap().samples)
    };
    for depth in ["08", "16"] {
        let plain = read(&format!("basn0g{depth}"));
        assert_eq!(plain.1.len(), 32 * 32);
        assert!(plain.1.iter().any(|number| *number != plain.1[0]));
        assert_eq!(read(&format!("basi0g{depth}")), plain);
    }
}

/// Orientation 6: the first row stored is the right-hand column seen (TIFF 6.0, tag 274).
#[test]
fn a_turned_tiff_is_seen_upright() {
    let (.., mut bytes) = files()
        .into_iter()
        .find(|(name, ..)| name == "u16-le-strip-none-1")
        .unwrap();
    let entry = |tag: u16| {
        let start = u32::from_le_bytes(bytes[4..8].try_into().unwrap()) as usize + 2;
        let entries = (start..).step_by(12);
        entries
            .take(30)
            .find(|at| bytes[*at..*at + 2] == tag.to_le_bytes())
    };
    // The resolution's unit is a SHORT too and nobody here reads it, so it can give way to the orientation.
    let at = entry(296).expect("a tag to replace");
    bytes[at..at + 2].copy_from_slice(&274_u16.to_le_bytes());
    bytes[at + 8..at + 10].copy_from_slice(&6_u16.to_le_bytes());
    let image = load::read(&bytes, Some(&COUNTS)).unwrap();
    assert_eq!((image.width(), image.height()), (6, 18));
    let stored = expected("u16");
    for y in 0..18 {
        for x in 0..6 {
            assert_eq!(image.number(x, y), stored[(5 - x) * 18 + y]);
        }
    }
}
