//! Colour pictures that lie or are damaged, read with their bar.

use endtank::session::{ColourBar, LowEnd};

use super::watch::watched;
use crate::palette_scenes::{Layout, Store, draw, encode, map, read};

/// A small picture with a bar, in each container.
fn some() -> Vec<Vec<u8>> {
    let layout = Layout {
        size: [132, 104],
        scene: [2, 2, 100, 100],
        bar: [112, 10, 10, 80],
        marks: false,
        ..Layout::plain(true, 80)
    };
    let scene = draw(&map("jet"), &layout, 3);
    [Store::Png, Store::WebP, Store::Bmp, Store::Jpeg(75)]
        .map(|store| encode(&scene.picture, store))
        .into()
}

/// Reads it with a stated box and with one to be found; how many succeeded.
fn both(bytes: &[u8]) -> usize {
    let bars = [ColourBar::Box([112.0, 10.0, 10.0, 80.0]), ColourBar::Find];
    let done = bars.iter().map(|bar| {
        let image = watched(bytes, || read(bytes, bar, LowEnd::Bottom, &[]));
        usize::from(image.is_ok())
    });
    done.sum()
}

#[test]
fn colour_pictures_cut_or_changed_never_panic() {
    let mut state = 7_u64;
    let mut next = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state as usize
    };
    for bytes in some() {
        // The coarse JPEG blurs the end of so small a bar into the paper beyond it: where it ends cannot be told, and looking
        // for it is refused. All else is read both ways.
        let refused = usize::from(bytes.starts_with(b"\xFF\xD8"));
        assert_eq!(both(&bytes), 2 - refused);
        for part in 0..60 {
            both(&bytes[..bytes.len() * part / 60]);
        }
        for round in 0..150 {
            let mut changed = bytes.clone();
            for _ in 0..1 + round % 3 {
                let within = if round % 2 == 0 { 200 } else { bytes.len() };
                let at = next() % within.min(bytes.len());
                changed[at] ^= 1 << (next() % 8);
            }
            both(&changed);
        }
    }
}

/// Headers that claim a huge picture are refused before memory is asked for: the watch sees what was taken.
#[test]
fn sizes_that_no_file_so_short_can_hold_are_refused() {
    let [_, mut webp, mut bmp, mut jpeg]: [Vec<u8>; 4] = some().try_into().unwrap();
    let frame = jpeg.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0x27, 0x10, 0x27, 0x10]);
    assert_eq!(both(&jpeg), 0);
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0xFF; 4]);
    assert_eq!(both(&jpeg), 0);
    for side in [10_000_i32, 40_000, i32::MAX, i32::MIN, -1, 0] {
        bmp[18..22].copy_from_slice(&side.to_le_bytes());
        bmp[22..26].copy_from_slice(&side.to_le_bytes());
        assert_eq!(both(&bmp), 0, "{side}");
    }
    // After the signature byte 14 bits of width less one, then of height.
    assert_eq!(&webp[12..16], b"VP8L");
    webp[21..25].copy_from_slice(&[0xFF, 0xFF, 0xFF, 0x0F]);
    assert_eq!(both(&webp), 0);
}
