//! Headers of the other containers that lie.

use super::watch::{page, read};

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
    // Allowed, but no such picture fits into so few bytes: refused before memory is asked for.
    let mut bytes = png_header(10_000, 10_000);
    bytes.truncate(33);
    bytes.extend(chunk(b"IDAT", &[0x78, 0x9C, 0, 0]));
    let error = read(&bytes).unwrap_err();
    assert!(error.what.contains("cut off"), "{error}");
}

/// A chunk of a PNG with a correct check sum.
fn chunk(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let mut crc = flate2::Crc::new();
    crc.update(kind);
    crc.update(data);
    let length = (data.len() as u32).to_be_bytes();
    [&length[..], kind, data, &crc.sum().to_be_bytes()].concat()
}

/// A sound PNG of 4 × 3 pixels with further chunks before the picture.
fn png_with(chunks: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 4, 3);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().unwrap();
    writer
        .write_image_data(&[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12])
        .unwrap();
    drop(writer);
    let after = bytes.split_off(33);
    [bytes, chunks.concat(), after].concat()
}

#[test]
fn notes_without_sense_leave_a_png_as_it_is_stored() {
    // The table of tables: each entry points at another table inside the same bytes.
    let mut nested = b"MM\0*\0\0\0\x08".to_vec();
    for index in 0..5_000_u32 {
        nested.extend([0x03, 0xE8, 0x87, 0x69, 0, 4, 0, 0, 0, 1]);
        nested.extend((8 + 2 * index).to_be_bytes());
    }
    let notes: &[&[u8]] = &[
        b"",
        b"II*\0",
        b"II*\0\xFF\xFF\xFF\xFF",
        b"MM\0*\0\0\0\x08\xFF\xFF",
        &nested,
    ];
    for block in notes {
        let image = read(&png_with(&[chunk(b"eXIf", block)])).unwrap();
        assert_eq!((image.width(), image.height()), (4, 3));
        assert_eq!(image.number(3, 2), 12.0);
        assert_eq!(image.captured, None);
    }
}

#[test]
fn notes_with_a_wrong_check_sum_refuse_the_png() {
    let mut damaged = chunk(
        b"eXIf",
        b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0",
    );
    let turned = read(&png_with(std::slice::from_ref(&damaged))).unwrap();
    assert_eq!((turned.width(), turned.height()), (3, 4));
    damaged[25] ^= 1;
    assert!(read(&png_with(&[damaged])).is_err());
}

#[test]
fn arrays_that_lie_are_refused() {
    let npy = |header: &str, length: u32| {
        let mut bytes = b"\x93NUMPY\x02\0".to_vec();
        bytes.extend(length.to_le_bytes());
        bytes.extend(header.as_bytes());
        bytes.resize(bytes.len() + 100, 0);
        bytes
    };
    for shape in [
        "(4000000000, 4000000000)",
        "(60000, 60000)",
        "(10000, 10000)",
        "(1, 99999999)",
        "(3, 3",
    ] {
        let header = format!("{{'descr': '<f4', 'fortran_order': False, 'shape': {shape}, }}");
        assert!(read(&npy(&header, header.len() as u32)).is_err(), "{shape}");
        assert!(read(&npy(&header, u32::MAX)).is_err(), "{shape}");
    }
    let deep = "(".repeat(60_000);
    assert!(read(&npy(&deep, deep.len() as u32)).is_err());
}

#[test]
fn grey_maps_that_lie_are_refused() {
    for header in [
        "P5 10000 10000 65535 ",
        "P2 10000 10000 65535 1 2 3",
        "P5 18446744073709551615 18446744073709551615 255 ",
        "P5 4294967295 4294967295 255 ",
        "P2 1 1 65535 99999999999999999999999999",
    ] {
        assert!(read(header.as_bytes()).is_err(), "{header}");
    }
    // Many pictures of one pixel: counted in one pass.
    let many = b"P5 1 1 255 A".repeat(50_000);
    assert_eq!(page(&many, Some(50_000)).unwrap().pages, 50_000);
    assert!(page(&many, Some(50_001)).is_err());
}

#[test]
fn texts_that_ask_for_much_are_refused_or_read() {
    assert!(read(&b"1;".repeat(300_000)).is_ok());
    assert!(read(&b"1\n".repeat(300_000)).is_ok());
    assert!(read(&b"x;".repeat(300_000)).is_err());
    assert!(read("1;2\n3\n".repeat(50_000).as_bytes()).is_err());
    assert!(read(&b"\n".repeat(1_000_000)).is_err());
    let long = [b"1;2\n", "9".repeat(1_000_000).as_bytes(), b";3\n"].concat();
    assert!(read(&long).is_err());
}

/// A JPEG is refused whatever stands in it, and its notes are read or left.
#[test]
fn jpegs_of_any_content_are_refused() {
    for rest in [
        &b"\xFF\xD8\xFF"[..],
        b"\xFF\xD8\xFF\xE1\0\0",
        b"\xFF\xD8\xFF\xE1\xFF\xFFExif\0\0",
        b"\xFF\xD8\xFF\xE1\0\x10Exif\0\0MM\0*\0\0\0\0",
    ] {
        assert!(read(rest).unwrap_err().what.contains("JPEG"));
        assert_eq!(
            endtank::load::Exif::of_jpeg(rest),
            endtank::load::Exif::default()
        );
    }
}
