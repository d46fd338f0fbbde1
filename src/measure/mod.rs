//! Stage 3: what the pixels of a region say. After this the picture can be dropped.
//!
//! The mean is taken over the pixels' signals, not their temperatures, because the signal is what adds up: half 300 K
//! and half 400 K at 10 µm is 357.8 K, not 350.

mod statistics;
mod types;

pub use types::{Measurement, PictureMeasurement, Shown};

use ndarray::{Array2, CowArray, Ix2};

use crate::load::{Sample, Samples, ThermalImage};
use crate::locate::Mask;
use crate::radiometry::Detector;
use crate::session::{Pixels, Use};
use crate::with_samples;
use statistics::Tally;

/// Fewest valid pixels of a region that is not `small-region`.
pub const FEW_PIXELS: usize = 9;

/// A region narrower than this many pixels is `small-region`.
pub const NARROW: usize = 3;

/// Measures one region of a picture.
///
/// `detector` belongs to the instrument that took the picture; for raw pictures it must be the Sakuma–Hattori form
/// that the picture's own `pixels` name. Returns `None` where no pixel of the region is valid.
#[must_use]
pub fn region(
    image: &ThermalImage,
    mask: &Mask,
    statistic: Use,
    detector: &Detector,
) -> Option<Measurement> {
    let tallies = tally(image, mask);
    let total: usize = mask.count();
    let shown = statistics::shown(&tallies)?;
    let pixels: usize = tallies.iter().map(|tally| tally.count).sum();
    let palette = image
        .palette
        .as_ref()
        .map(|palette| palette.reading(image, mask));
    Some(Measurement {
        pixels,
        invalid_pixels: total - pixels,
        shown,
        signal: statistics::signal(&tallies, statistic, |tally| match image.pixels {
            Pixels::Linear { .. } => detector.signal(tally.kelvin),
            Pixels::SakumaHattori { .. } => tally.number,
        }),
        small: pixels < FEW_PIXELS || mask.is_narrower_than(NARROW),
        edge_shift: edge_shift(image, mask, &tallies),
        clipped: match &palette {
            Some(reading) => reading.clipped,
            None => statistics::clipped(&tallies, image.samples.ends()),
        },
        palette,
        cut: mask.is_cut(),
    })
}

/// A rim that differs from the inside by less than this is not spoken of, K: it is within what instruments resolve.
const RIM_LIMIT: f64 = 0.1;

/// How far the region's outermost ring moves its mean, K, where the ring differs from the inside by more than the inside's
/// own spread explains; `None` where it does not, or where there is too little inside to tell.
fn edge_shift(image: &ThermalImage, mask: &Mask, whole: &[Tally]) -> Option<f64> {
    let inside = tally(image, &mask.inside()?);
    let (inside_count, inside_sum) = statistics::count_and_sum(&inside);
    let (whole_count, whole_sum) = statistics::count_and_sum(whole);
    let rim_count = whole_count
        .checked_sub(inside_count)
        .filter(|&count| count > 0)? as f64;
    if inside_count < FEW_PIXELS {
        return None;
    }
    let (middle, spread) = statistics::middle_and_spread(&inside);
    let rim = (whole_sum - inside_sum) / rim_count;
    let shift = whole_sum / whole_count as f64 - middle;
    ((rim - middle).abs() > spread.max(RIM_LIMIT)).then_some(shift)
}

/// The region's valid pixels by value, from cold to hot.
fn tally(image: &ThermalImage, mask: &Mask) -> Vec<Tally> {
    let counted = match &image.samples {
        Samples::U8(array) => count_small(array, mask),
        Samples::U16(array) => count_small(array, mask),
        Samples::I16(array) => count_small(array, mask),
        other => with_samples!(other, array => count_large(array, mask)),
    };
    let mut tallies: Vec<Tally> = counted
        .into_iter()
        .filter_map(|(number, count)| {
            Some(Tally {
                number,
                kelvin: image.pixels.kelvin(number)?,
                count,
            })
        })
        .collect();
    // Counts rise with temperature, but a scale may be written the other way round.
    if tallies.first().map(|tally| tally.kelvin) > tallies.last().map(|tally| tally.kelvin) {
        tallies.reverse();
    }
    tallies
}

/// Numbers of at most 16 bits, rising, with how often each occurs: counted, not sorted, because a region has many more
/// pixels than different numbers.
fn count_small<T: Sample + Ord + Into<i32>>(array: &Array2<T>, mask: &Mask) -> Vec<(f64, usize)> {
    let array = array.as_standard_layout();
    let Some(&first) = rows(&array, mask).flatten().next() else {
        return Vec::new();
    };
    let (mut least, mut greatest) = (first, first);
    for row in rows(&array, mask) {
        for &value in row {
            least = least.min(value);
            greatest = greatest.max(value);
        }
    }
    let (least, greatest): (i32, i32) = (least.into(), greatest.into());
    let mut counts = vec![0_u32; least.abs_diff(greatest) as usize + 1];
    for row in rows(&array, mask) {
        for &value in row {
            if let Some(count) = counts.get_mut(least.abs_diff(value.into()) as usize) {
                *count += 1;
            }
        }
    }
    (least..)
        .zip(counts)
        .filter(|&(_, count)| count > 0)
        .map(|(value, count)| (value.into(), count as usize))
        .collect()
}

/// Numbers of any kind, rising, equal ones together; those that are not finite are left out.
fn count_large<T: Sample>(array: &Array2<T>, mask: &Mask) -> Vec<(f64, usize)> {
    let array = array.as_standard_layout();
    let mut numbers: Vec<f64> = rows(&array, mask)
        .flatten()
        .map(|sample| sample.number())
        .filter(|number| number.is_finite())
        .collect();
    numbers.sort_unstable_by(f64::total_cmp);
    numbers
        .chunk_by(|one, next| one == next)
        .filter_map(|equal| Some((*equal.first()?, equal.len())))
        .collect()
}

/// The stored numbers of a region, a stretch of a row at a time, from numbers that lie in memory row by row.
fn rows<'a, T>(
    array: &'a CowArray<'a, T, Ix2>,
    mask: &'a Mask,
) -> impl Iterator<Item = &'a [T]> + 'a {
    let (numbers, width) = (array.as_slice().unwrap_or_default(), array.ncols());
    mask.runs().iter().filter_map(move |run| {
        let start = run.row * width;
        numbers.get(start + run.start..start + run.end)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::locate::shape::Shape;
    use crate::radiometry::Band;
    use approx::assert_abs_diff_eq;

    const KELVIN: Pixels = Pixels::Linear {
        step: 1.0,
        zero: 0.0,
    };

    fn image(samples: Samples, pixels: Pixels) -> ThermalImage {
        ThermalImage {
            samples,
            pixels,
            ..ThermalImage::of_text()
        }
    }

    fn whole(image: &ThermalImage, statistic: Use, detector: &Detector) -> Option<Measurement> {
        let shape = Shape::Rectangle([0.0, 0.0, image.width() as f64, image.height() as f64]);
        let mask = Mask::new(&shape, &[], image.width(), image.height()).unwrap();
        region(image, &mask, statistic, detector)
    }

    #[test]
    fn mean_is_taken_over_signals() {
        // Half 300 K and half 400 K at 10 µm: 357.8 K, computed from Planck's law.
        let narrow = Detector::band(&Band::flat(9.999, 10.001).unwrap());
        let picture = image(
            Samples::F32(Array2::from_shape_fn((4, 4), |(row, _)| {
                if row < 2 { 300.0 } else { 400.0 }
            })),
            KELVIN,
        );
        let measured = whole(&picture, Use::Mean, &narrow).unwrap();
        assert_abs_diff_eq!(narrow.temperature(measured.signal), 357.8, epsilon = 0.05);
        assert_abs_diff_eq!(measured.shown.mean, 350.0 - 273.15, epsilon = 1e-9);
        let greatest = whole(&picture, Use::Max, &narrow).unwrap();
        assert_abs_diff_eq!(narrow.temperature(greatest.signal), 400.0, epsilon = 1e-6);
    }

    #[test]
    fn invalid_pixels_are_counted_and_never_averaged() {
        let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
        let mut numbers = Array2::from_elem((4, 4), 320.0);
        for (place, bad) in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 0.0]
            .into_iter()
            .enumerate()
        {
            numbers[[place / 4, place % 4]] = bad;
        }
        let measured = whole(&image(Samples::F64(numbers), KELVIN), Use::Mean, &detector).unwrap();
        assert_eq!((measured.pixels, measured.invalid_pixels), (11, 5));
        assert_abs_diff_eq!(measured.shown.mean, 46.85, epsilon = 1e-9);
        assert_eq!(measured.shown.std, 0.0);
        let none = image(Samples::F64(Array2::from_elem((2, 2), f64::NAN)), KELVIN);
        assert!(whole(&none, Use::Mean, &detector).is_none());
    }

    #[test]
    fn counts_of_every_kind_measure_the_same() {
        let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
        let at = |(row, column): (usize, usize)| 100 + (row * 7 + column * 3) % 40;
        let pixels = Pixels::Linear {
            step: 0.5,
            zero: 240.0,
        };
        let kinds = [
            Samples::U8(Array2::from_shape_fn((9, 11), |place| at(place) as u8)),
            Samples::U16(Array2::from_shape_fn((9, 11), |place| at(place) as u16)),
            Samples::I16(Array2::from_shape_fn((9, 11), |place| at(place) as i16)),
            Samples::U32(Array2::from_shape_fn((9, 11), |place| at(place) as u32)),
            Samples::F32(Array2::from_shape_fn((9, 11), |place| at(place) as f32)),
            Samples::F64(Array2::from_shape_fn((9, 11), |place| at(place) as f64)),
        ];
        let measured = kinds
            .map(|samples| whole(&image(samples, pixels.clone()), Use::Mean, &detector).unwrap());
        for other in &measured[1..] {
            assert_abs_diff_eq!(other.shown.mean, measured[0].shown.mean, epsilon = 1e-9);
            assert_abs_diff_eq!(other.shown.p95, measured[0].shown.p95, epsilon = 1e-9);
            assert_abs_diff_eq!(other.signal, measured[0].signal, epsilon = 1e-9);
        }
    }

    #[test]
    fn scale_that_falls_with_the_count_is_measured_alike() {
        let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
        let counts = Array2::from_shape_fn((5, 5), |(row, column)| (row * 5 + column) as u16);
        let falling = image(
            Samples::U16(counts.clone()),
            Pixels::Linear {
                step: -1.0,
                zero: 330.0,
            },
        );
        let rising = image(
            Samples::U16(counts),
            Pixels::Linear {
                step: 1.0,
                zero: 306.0,
            },
        );
        let measured =
            [falling, rising].map(|picture| whole(&picture, Use::Median, &detector).unwrap());
        assert_abs_diff_eq!(measured[0].shown.p05, measured[1].shown.p05, epsilon = 1e-9);
        assert_eq!(measured[0].shown.max, measured[1].shown.max);
    }

    #[test]
    fn small_and_narrow_regions_are_marked() {
        let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
        let picture = image(Samples::U16(Array2::from_elem((20, 20), 300)), KELVIN);
        let small = |shape: Shape| {
            let mask = Mask::new(&shape, &[], 20, 20).unwrap();
            region(&picture, &mask, Use::Mean, &detector).unwrap().small
        };
        assert!(small(Shape::Rectangle([1.0, 1.0, 2.0, 15.0])));
        assert!(small(Shape::Rectangle([1.0, 1.0, 4.0, 2.0])));
        assert!(!small(Shape::Point([5.0, 5.0])));
        assert!(!small(Shape::Rectangle([1.0, 1.0, 3.0, 3.0])));
    }

    /// A tank of 60 °C between columns 5 and 25 before a background of 20 °C, with a gradient (K a row) and a little noise.
    fn tank(gradient: f64) -> ThermalImage {
        let celsius = |row: usize, column: usize| {
            let noise = ((row * 7919 + column * 104_729) % 101) as f64 / 500.0 - 0.1;
            if (5..25).contains(&column) {
                60.0 + gradient * (row as f64 - 15.0) + noise
            } else {
                20.0 + noise
            }
        };
        let numbers =
            Array2::from_shape_fn((30, 30), |(row, column)| celsius(row, column) + 273.15);
        image(Samples::F64(numbers), KELVIN)
    }

    fn edge(picture: &ThermalImage, shape: Shape) -> Option<f64> {
        let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
        let mask = Mask::new(&shape, &[], 30, 30).unwrap();
        region(picture, &mask, Use::Mean, &detector)
            .unwrap()
            .edge_shift
    }

    #[test]
    fn a_region_that_overlaps_the_background_says_how_far_that_moves_it() {
        // One of eleven columns is background: 40 K / 11.
        let shift = edge(&tank(0.0), Shape::Rectangle([15.0, 5.0, 11.0, 20.0])).unwrap();
        assert_abs_diff_eq!(shift, -40.0 / 11.0, epsilon = 0.05);
        assert!(edge(&tank(0.3), Shape::Rectangle([4.0, 5.0, 12.0, 20.0])).is_some());
    }

    #[test]
    fn noise_and_gradients_are_no_mixed_edge() {
        assert_eq!(
            edge(&tank(0.0), Shape::Rectangle([6.0, 3.0, 18.0, 24.0])),
            None
        );
        assert_eq!(
            edge(&tank(0.5), Shape::Rectangle([6.0, 3.0, 18.0, 24.0])),
            None
        );
        assert_eq!(
            edge(&tank(0.0), Shape::Rectangle([4.0, 3.0, 3.0, 4.0])),
            None,
            "too little inside to tell"
        );
    }
}
