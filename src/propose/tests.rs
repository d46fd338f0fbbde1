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

/// Temperatures of a picture of the sample, °C.
fn sample(name: &str) -> Array2<f64> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-images/tow-truck")
        .join(name);
    let pixels = Pixels::Linear {
        step: 0.01,
        zero: 0.0,
    };
    let wanted = Wanted {
        pixels: Some(&pixels),
        ..Wanted::default()
    };
    let image = load::read(&std::fs::read(path).unwrap(), wanted).unwrap();
    Array2::from_shape_fn((image.height(), image.width()), |(y, x)| {
        image.shown(x, y).unwrap() - 273.15
    })
}

/// Where the sample's tanks can be read: the moulded ones themselves, and the tape on the bare ones; the inlet's first.
const MOULDED: [&[[usize; 4]]; 2] = [&[[36, 30, 26, 118]], &[[178, 30, 26, 118]]];
const TAPE: [&[[usize; 4]]; 2] = [
    &[[40, 52, 18, 24], [40, 102, 18, 24]],
    &[[182, 52, 18, 24], [182, 102, 18, 24]],
];

/// Proposals in a picture that `turned` makes of a sample's, by column and row, and that `back` leads back to it.
fn right(
    name: &str,
    readable: [&[[usize; 4]]; 2],
    image: &ThermalImage,
    back: impl Fn([usize; 2]) -> [usize; 2],
) {
    let found = regions(image);
    for (tank, boxes) in Tank::BOTH.iter().zip(readable) {
        let own: Vec<_> = found.iter().filter(|found| found.tank == *tank).collect();
        assert!(!own.is_empty(), "{name}: {found:?}");
        for Proposal {
            rectangle: [x, y, width, height],
            ..
        } in own
        {
            for corner in [[*x, *y], [x + width - 1, y + height - 1]] {
                let [x, y] = back(corner);
                assert!(
                    boxes.iter().any(|area| within(x, y, *area)),
                    "{name}: {found:?}"
                );
            }
        }
    }
}

/// The bare tanks cannot be read; their tape can. Whichever way the camera was held, however fine its picture and in more
/// noise than the sample's.
#[test]
fn moulded_tanks_and_tape_are_found_however_the_picture_is_taken() {
    for (name, readable) in [("original-1.tiff", MOULDED), ("replacement-1.tiff", TAPE)] {
        let sample = sample(name);
        let same = |at: [usize; 2]| at;
        right(
            name,
            readable,
            &picture(240, 180, |x, y| sample[[y, x]]),
            same,
        );
        let mirrored = |[x, y]: [usize; 2]| [239 - x, y];
        right(
            name,
            readable,
            &picture(240, 180, |x, y| sample[[y, 239 - x]]),
            mirrored,
        );
        let turned = |[x, y]: [usize; 2]| [y, 179 - x];
        right(
            name,
            readable,
            &picture(180, 240, |x, y| sample[[179 - x, y]]),
            turned,
        );
        let large = |[x, y]: [usize; 2]| [x / 3, y / 3];
        right(
            name,
            readable,
            &picture(720, 540, |x, y| sample[[y / 3, x / 3]]),
            large,
        );
        let noise =
            |x: usize, y: usize| 0.6 * (((x * 31 + y * 57 + x * y) % 101) as f64 / 101.0 - 0.5);
        right(
            name,
            readable,
            &picture(240, 180, |x, y| sample[[y, x]] + noise(x, y)),
            same,
        );
        // Only differences matter.
        right(
            name,
            readable,
            &picture(240, 180, |x, y| 400.0 + 3.0 * sample[[y, x]]),
            same,
        );
    }
}

#[test]
fn tape_is_proposed_in_several_pieces() {
    let sample = sample("replacement-1.tiff");
    let found = regions(&picture(240, 180, |x, y| sample[[y, x]]));
    assert_eq!(found.len(), 4, "{found:?}");
}
