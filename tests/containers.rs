//! Picture files of an independent writer (tests/reference/containers.py) give the numbers that were put in.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod picture_files;

use endtank::load::{self, Captured, Exif, LoadError, Samples, ThermalImage, Wanted};
use endtank::session::Pixels;
use picture_files::{expected, files};

const COUNTS: Pixels = Pixels::Linear {
    step: 0.01,
    zero: 0.0,
};

fn read(bytes: &[u8], page: Option<usize>) -> Result<ThermalImage, LoadError> {
    let pixels = Some(&COUNTS);
    load::read(
        bytes,
        Wanted {
            pixels,
            page,
            ..Wanted::default()
        },
    )
}

fn file(name: &str) -> Vec<u8> {
    let found = files().into_iter().find(|(n, ..)| n == name);
    found.expect(name).2
}

/// The numbers of a picture by row, widened without loss, and the name of their type.
fn numbers(samples: &Samples) -> (&'static str, Vec<f64>) {
    use endtank::load::Sample;
    let kind = match samples {
        Samples::U8(_) => "u8",
        Samples::U16(_) => "u16",
        Samples::I16(_) => "i16",
        Samples::U32(_) => "u32",
        Samples::I32(_) => "i32",
        Samples::F32(_) => "f32",
        Samples::F64(_) => "f64",
    };
    let list = endtank::with_samples!(samples, array => array.iter().map(|n| n.number()).collect());
    (kind, list)
}

#[test]
fn every_type_order_layout_compression_and_predictor_reads_exactly() {
    let mut done = 0;
    for (name, kind, bytes) in files().into_iter().filter(|(_, kind, _)| !kind.is_empty()) {
        if name.starts_with("notes") {
            continue;
        }
        let image = read(&bytes, None).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((image.width(), image.height()), (18, 6), "{name}");
        let (stored, list) = numbers(&image.samples);
        assert_eq!(stored, if kind == "f16" { "f32" } else { &kind }, "{name}");
        assert_eq!(list, expected(&kind), "{name}");
        assert_eq!(
            image.pages,
            if name.contains("pages") { 3 } else { 1 },
            "{name}"
        );
        assert!(image.assumed.is_none());
        done += 1;
    }
    assert!(done > 290, "{done}");
}

#[test]
fn kinds_that_are_not_read_are_refused_by_name() {
    let words = [
        ("refused-rgb", "RGB"),
        ("refused-planar", "several channels"),
        ("refused-palette", "palette"),
        ("refused-npy-i64", "<i8"),
        ("refused-npy-3d", "3 dimensions (1 × 6 × 18)"),
        ("notes-jpeg", "JPEG"),
        ("refused-f16", "16-bit floating-point"),
        ("refused-u64", "64-bit unsigned"),
        ("refused-zstd", "Zstandard"),
        ("refused-png-rgb", "RGB"),
        ("refused-png-alpha", "transparency"),
    ];
    let files = files();
    for (name, word) in words {
        let (.., bytes) = files.iter().find(|(n, ..)| n == name).expect(name);
        let error = read(bytes, None).unwrap_err();
        assert!(error.what.contains(word), "{name}: {error}");
        assert!(!error.mend.is_empty());
    }
}

#[test]
fn the_page_that_is_asked_for_is_read() {
    let stored = expected("u16");
    for name in [
        "pages-tiff-le",
        "pages-tiff-be",
        "pages-bigtiff-be",
        "u16-pages-3",
    ] {
        let bytes = file(name);
        for page in 1..=3 {
            let image = read(&bytes, Some(page)).unwrap_or_else(|e| panic!("{name}: {e}"));
            assert_eq!(image.pages, 3, "{name}");
            let shifted = |number: &f64| (number + page as f64 - 1.0) % 65_536.0;
            let wanted: Vec<f64> = stored.iter().map(shifted).collect();
            assert_eq!(numbers(&image.samples).1, wanted, "{name}, page {page}");
        }
        let error = read(&bytes, Some(4)).unwrap_err();
        assert!(error.what.contains("no page 4: it holds 3"), "{error}");
        assert!(error.mend.contains("between 1 and 3"), "{error:?}");
    }
    for name in [
        "u16-png",
        "u16-npy-le-rows",
        "u16-pgm",
        "u8-pgm-text",
        "u16-bigtiff",
    ] {
        assert!(read(&file(name), Some(1)).is_ok(), "{name}");
        let error = read(&file(name), Some(2)).unwrap_err();
        assert!(error.what.contains("only one picture"), "{name}: {error}");
    }
    let text = read(b"1;2\n3;4\n", Some(2)).unwrap_err();
    assert!(text.what.contains("only one picture"), "{text}");
}

/// tests/reference/containers.py writes the notes, and pillow reads them back there.
fn taken() -> Captured {
    // `date -u -d "2024-05-01 13:45:12" +%s` and a quarter of a second.
    let (clock, ahead) = (1_714_571_112.25, Some(7200));
    Captured { clock, ahead }
}

#[test]
fn notes_turn_the_picture_and_date_it_wherever_they_stand() {
    let stored = expected("u16");
    for name in ["notes-png-before", "notes-png-after", "notes-tiff"] {
        let image = read(&file(name), None).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((image.width(), image.height()), (6, 18), "{name}");
        for (x, y) in (0..18).flat_map(|y| (0..6).map(move |x| (x, y))) {
            assert_eq!(image.number(x, y), stored[(5 - x) * 18 + y], "{name}");
        }
        assert_eq!(image.captured, Some(taken()), "{name}");
    }
    let none = read(&file("u16-png"), None).unwrap();
    assert_eq!(none.captured, None);
}

#[test]
fn a_jpeg_is_refused_but_its_notes_are_read() {
    let bytes = file("notes-jpeg");
    let error = read(&bytes, None).unwrap_err();
    assert!(
        error.what.contains("JPEG") && error.mend.contains("colour bar"),
        "{error:?}"
    );
    let wanted = Exif {
        orientation: 6,
        captured: Some(taken()),
    };
    assert_eq!(Exif::of_jpeg(&bytes), wanted);
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
    let image = read(&bytes, None).unwrap();
    assert_eq!((image.width(), image.height()), (6, 18));
    let stored = expected("u16");
    for y in 0..18 {
        for x in 0..6 {
            assert_eq!(image.number(x, y), stored[(5 - x) * 18 + y]);
        }
    }
}
