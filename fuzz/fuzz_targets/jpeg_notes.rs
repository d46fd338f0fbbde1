//! A camera's notes in a JPEG picture.
#![no_main]

use endtank::load::Exif;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|block: &[u8]| {
    let block = &block[..block.len().min(65_000)];
    let length = (block.len() + 8) as u16;
    let bytes = [
        b"\xFF\xD8\xFF\xE1",
        &length.to_be_bytes()[..],
        b"Exif\0\0",
        block,
        b"\xFF\xD9",
    ]
    .concat();
    if let Some(captured) = Exif::of_jpeg(&bytes).captured {
        assert!(!captured.to_string().is_empty());
    }
});
