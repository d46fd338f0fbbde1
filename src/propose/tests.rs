use std::path::Path;

use super::*;
use crate::load::{self, Samples, Wanted};
use crate::session::Pixels;
use ndarray::Array2;

fn picture(width: usize, height: usize, celsius: impl Fn(usize, usize) -> f64) -> ThermalImage {
    let numbers = Array2::from_shape_fn((height, width), |(y, x)| {
        // A tenth of a kelvin of noise that no two pixels in a row share.
        celsius(x, y) + 0.1 * (((x * 7919 + y * 104_729) % 97) as f64 / 97.0 - 0.5)
    });
    ThermalImage {
        samples: Samples::F64(numbers),
        pixels: Pixels::Linear {
            step: 1.0,
            zero: 273.15,
        },
        ..ThermalImage::of_text()
    }
}

fn inside([x, y, width, height]: [usize; 4], [left, top, wide, high]: [usize; 4]) -> bool {
    x >= left && y >= top && x + width <= left + wide && y + height <= top + high
}

fn within(x: usize, y: usize, [left, top, wide, high]: [usize; 4]) -> bool {
    inside([x, y, 1, 1], [left, top, wide, high])
}

#[test]
fn two_tanks_above_each_other_are_found_and_the_hotter_is_the_inlet() {
    let (lower, upper) = ([40, 90, 80, 14], [40, 10, 80, 14]);
    let image = picture(160, 120, |x, y| {
        if within(x, y, upper) {
            35.0
        } else if within(x, y, lower) {
            60.0
        } else {
            20.0
        }
    });
    let found = regions(&image);
    assert_eq!(found.len(), 2, "{found:?}");
    assert_eq!([found[0].tank, found[1].tank], Tank::BOTH);
    for (proposal, tank) in found.iter().zip([lower, upper]) {
        assert!(inside(proposal.rectangle, tank), "{found:?}");
        let [_, _, width, height] = proposal.rectangle;
        assert!(2 * width * height > tank[2] * tank[3], "{found:?}");
    }
}

#[test]
fn large_pictures_are_looked_at_too() {
    let (left, right) = ([200, 300, 150, 500], [1100, 300, 150, 500]);
    let image = picture(1440, 1080, |x, y| {
        20.0 + 40.0 * f64::from(u8::from(within(x, y, left)))
            + 15.0 * f64::from(u8::from(within(x, y, right)))
    });
    let found = regions(&image);
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(inside(found[0].rectangle, left) && inside(found[1].rectangle, right));
}

#[test]
fn nothing_is_proposed_where_nothing_looks_like_two_tanks() {
    let plain = picture(160, 120, |_, _| 20.0);
    let slope = picture(160, 120, |x, _| 20.0 + 0.3 * x as f64);
    let one = picture(160, 120, |x, y| {
        20.0 + 30.0 * f64::from(u8::from(within(x, y, [40, 30, 20, 60])))
    });
    let cut = picture(
        160,
        120,
        |x, _| if (20..140).contains(&x) { 20.0 } else { 50.0 },
    );
    for image in [plain, slope, one, cut, picture(8, 8, |x, _| x as f64)] {
        assert_eq!(regions(&image), []);
    }
    assert_eq!(regions(&ThermalImage::of_text()), []);
}

/// The bare tanks cannot be read; their tape can.
#[test]
fn tape_on_bare_tanks_is_proposed_in_several_pieces() {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/tow-truck/replacement-1.tiff");
    let pixels = Pixels::Linear {
        step: 0.01,
        zero: 0.0,
    };
    let wanted = Wanted {
        pixels: Some(&pixels),
        ..Wanted::default()
    };
    let image = load::read(&std::fs::read(path).unwrap(), wanted).unwrap();
    let found = regions(&image);
    let patches = [[40, 52], [40, 102], [182, 52], [182, 102]];
    assert_eq!(found.len(), patches.len(), "{found:?}");
    for (proposal, [x, y]) in found.iter().zip(patches) {
        assert!(inside(proposal.rectangle, [x, y, 18, 24]), "{found:?}");
    }
}
