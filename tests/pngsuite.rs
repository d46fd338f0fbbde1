//! PngSuite (tests/data/pngsuite/SOURCE.md): every sound file is read rightly or refused by kind, every corrupt one is
//! refused.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod picture_files;

use std::collections::BTreeMap;
use std::io::Read;

use endtank::load::{self, LoadError, Samples, ThermalImage, Wanted};
use endtank::session::Pixels;
use picture_files::data;

const COUNTS: Pixels = Pixels::Linear {
    step: 0.01,
    zero: 0.0,
};

fn read(bytes: &[u8]) -> Result<ThermalImage, LoadError> {
    let wanted = Wanted {
        pixels: Some(&COUNTS),
        ..Wanted::default()
    };
    load::read(bytes, wanted)
}

/// The suite's files by name, out of its tar archive: blocks of 512 bytes, a header with the name first and the size
/// in octal digits from byte 124, then the file.
fn suite() -> BTreeMap<String, Vec<u8>> {
    let packed = std::fs::read(data("pngsuite/pngsuite.tar.gz")).unwrap();
    let mut tar = Vec::new();
    flate2::read::GzDecoder::new(packed.as_slice())
        .read_to_end(&mut tar)
        .unwrap();
    let mut files = BTreeMap::new();
    let mut rest = tar.as_slice();
    while rest.len() > 512 && rest[0] != 0 {
        let text = |bytes: &[u8]| {
            let end = bytes.iter().position(|byte| *byte == 0);
            let bytes = &bytes[..end.unwrap_or(bytes.len())];
            String::from_utf8(bytes.to_vec()).unwrap()
        };
        let size = usize::from_str_radix(text(&rest[124..136]).trim(), 8).unwrap();
        let name = text(&rest[..100]);
        if name.ends_with(".png") {
            let name = name.rsplit('/').next().unwrap().to_owned();
            files.insert(name, rest[512..512 + size].to_vec());
        }
        rest = &rest[(512 + size.div_ceil(512) * 512).min(rest.len())..];
    }
    files
}

/// Width, height, bits, CRC-32 of the numbers by row with the low byte first, and their sum.
fn found(image: &ThermalImage) -> [u64; 5] {
    let (bits, bytes, sum): (u64, Vec<u8>, u64) = match &image.samples {
        Samples::U8(array) => (
            8,
            array.iter().copied().collect(),
            array.iter().map(|number| u64::from(*number)).sum(),
        ),
        Samples::U16(array) => (
            16,
            array
                .iter()
                .flat_map(|number| number.to_le_bytes())
                .collect(),
            array.iter().map(|number| u64::from(*number)).sum(),
        ),
        other => panic!("{other:?}"),
    };
    let mut crc = flate2::Crc::new();
    crc.update(&bytes);
    let (width, height) = (image.width() as u64, image.height() as u64);
    [width, height, bits, u64::from(crc.sum()), sum]
}

/// The numbers are those that pillow reads (tests/reference/pngsuite.py).
#[test]
fn every_grey_picture_of_8_and_16_bits_reads_exactly() {
    let suite = suite();
    let mut table = csv::Reader::from_path(data("pngsuite/grey.csv")).unwrap();
    let mut read_so_far = 0;
    for record in table.records().map(Result::unwrap) {
        let name = &record[0];
        let image = read(&suite[name]).unwrap_or_else(|error| panic!("{name}: {error}"));
        let wanted: Vec<u64> = (1..6)
            .map(|column| record[column].parse().unwrap())
            .collect();
        assert_eq!(found(&image).as_slice(), wanted, "{name}");
        read_so_far += 1;
    }
    assert_eq!(read_so_far, 23);
    let readable = suite.values().filter(|bytes| read(bytes).is_ok()).count();
    assert_eq!(readable, 23, "others were read as well");
}

/// The third letter from the end before the bits is the colour type: 0 grey, 2 RGB, 3 palette, 4 grey with
/// transparency, 6 RGB with transparency.
#[test]
fn every_other_sound_picture_is_refused_by_kind() {
    let mut refused = 0;
    for (name, bytes) in suite()
        .into_iter()
        .filter(|(name, _)| !name.starts_with('x'))
    {
        let Err(error) = read(&bytes) else { continue };
        let (colour, depth) = (bytes[25], bytes[24]);
        let word = match colour {
            0 => format!("only {depth} bits"),
            2 | 6 => "colours (RGB)".to_owned(),
            3 => "colours (a palette)".to_owned(),
            4 => "transparency".to_owned(),
            other => panic!("{name} has colour type {other}"),
        };
        assert!(error.what.contains(&word), "{name}: {error}");
        assert!(!error.mend.is_empty());
        refused += 1;
    }
    assert_eq!(refused, 176 - 14 - 23);
}

#[test]
fn every_corrupt_picture_is_refused() {
    let corrupt: Vec<_> = suite()
        .into_iter()
        .filter(|(name, _)| name.starts_with('x'))
        .collect();
    assert_eq!(corrupt.len(), 14);
    for (name, bytes) in corrupt {
        let error = read(&bytes).map(|_| ()).expect_err(&name);
        assert!(!error.mend.is_empty());
    }
}
