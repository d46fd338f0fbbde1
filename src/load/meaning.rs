//! What stored numbers mean where the session does not say.

use super::{LoadError, Sample, Samples};
use crate::session::Pixels;
use crate::units::temperature::ZERO_CELSIUS;
use crate::with_samples;

/// From here on a median is kelvin: 200 K is colder than any weather, 200 °C hotter than a charge-air cooler.
const KELVIN_FROM: f64 = 200.0;

/// A median above this is no temperature in a workshop, in K or in °C: the numbers are counts written as decimals.
const COUNTS_FROM: f64 = 1500.0;

/// Temperatures, °C, between which a reading of counts is worth proposing.
const PLAUSIBLE: std::ops::RangeInclusive<f64> = -60.0..=700.0;

/// A way in which counts are commonly meant (common practice, no source).
struct Reading {
    words: &'static str,
    step: f64,
    /// °C at count 0.
    zero: f64,
    step_words: &'static str,
    zero_words: &'static str,
}

const READINGS: [Reading; 5] = [
    reading("0.01 K", 0.01, "0.01 K", false),
    reading("0.04 K", 0.04, "0.04 K", false),
    reading("0.1 K", 0.1, "0.1 K", false),
    reading("0.1 °C", 0.1, "0.1 K", true),
    reading("0.01 °C", 0.01, "0.01 K", true),
];

const fn reading(
    words: &'static str,
    step: f64,
    step_words: &'static str,
    from_celsius: bool,
) -> Reading {
    Reading {
        words,
        step,
        zero: if from_celsius { 0.0 } else { -ZERO_CELSIUS },
        step_words,
        zero_words: if from_celsius { "0 °C" } else { "0 K" },
    }
}

/// What the numbers mean, and in a sentence how that was inferred.
///
/// # Errors
/// Whole numbers, whose meaning cannot be told; the error proposes readings that fit them.
pub(super) fn infer(samples: &Samples) -> Result<(Pixels, Option<String>), LoadError> {
    match samples {
        Samples::F32(_) | Samples::F64(_) => {
            with_samples!(samples, array => decimals(array.iter().map(|n| n.number())))
        }
        Samples::U8(_) => Err(LoadError::new(
            "the picture holds only 256 grey levels and the session does not say what they mean",
            "Such a picture usually holds the brightness on a screen, scaled anew for each picture: export a radiometric TIFF or a CSV matrix instead. If the levels are temperatures, state it on the instrument: pixels = { step = \"…\", zero = \"…\" }.",
        )),
        Samples::U16(array) => Err(counts(array.iter(), &[0, u16::MAX])),
        Samples::I16(array) => Err(counts(array.iter(), &[0, i16::MIN, i16::MAX])),
        Samples::U32(array) => Err(counts(array.iter(), &[0, u32::MAX])),
        Samples::I32(array) => Err(counts(array.iter(), &[0, i32::MIN, i32::MAX])),
    }
}

/// K or °C, by whether at least half of the valid numbers reach [`KELVIN_FROM`]: the upper median does, then.
///
/// Zeros and numbers below −273.15 mark invalid pixels in many files, so they have no say.
fn decimals(numbers: impl Iterator<Item = f64>) -> Result<(Pixels, Option<String>), LoadError> {
    let (mut valid, mut warm, mut huge) = (0_u64, 0_u64, 0_u64);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for number in numbers.filter(|n| n.is_finite() && *n >= -ZERO_CELSIUS && *n != 0.0) {
        valid += 1;
        warm += u64::from(number >= KELVIN_FROM);
        huge += u64::from(number >= COUNTS_FROM);
        low = low.min(number);
        high = high.max(number);
    }
    if valid == 0 {
        return Err(LoadError::new(
            "no pixel of the picture holds a temperature",
            "Check the export; if 0 is a temperature here, state it on the instrument: pixels = { unit = \"°C\" }.",
        ));
    }
    if 2 * huge >= valid {
        return Err(unknown(low, high, "numbers"));
    }
    let (unit, zero, why) = if 2 * warm >= valid {
        ("K", 0.0, "at least half of them are 200 or more")
    } else {
        ("°C", ZERO_CELSIUS, "more than half of them are below 200")
    };
    Ok((
        Pixels::Linear { step: 1.0, zero },
        Some(format!(
            "The numbers of the picture, from {low:.1} to {high:.1}, were taken as {unit} because {why}"
        )),
    ))
}

fn counts<'a, T: Sample + PartialEq + 'a>(
    numbers: impl Iterator<Item = &'a T>,
    marks: &[T],
) -> LoadError {
    let mut range: Option<(T, T)> = None;
    for &number in numbers {
        if !marks.contains(&number) {
            let (low, high) = range.unwrap_or((number, number));
            range = Some((
                if number < low { number } else { low },
                if number > high { number } else { high },
            ));
        }
    }
    match range {
        Some((low, high)) => unknown(low.number(), high.number(), "whole numbers"),
        None => LoadError::new(
            "every pixel of the picture is at an end of its range: it holds no temperatures",
            "Check the export, and take the picture again with a wider range.",
        ),
    }
}

fn unknown(low: f64, high: f64, kind: &str) -> LoadError {
    let proposals: Vec<_> = READINGS
        .iter()
        .filter_map(|reading| {
            let celsius = |count: f64| reading.step * count + reading.zero;
            let (cold, hot) = (celsius(low), celsius(high));
            (PLAUSIBLE.contains(&cold) && PLAUSIBLE.contains(&hot)).then(|| {
                format!(
                    "as counts of {} this spans {cold:.1} to {hot:.1} °C: pixels = {{ step = \"{}\", zero = \"{}\" }}",
                    reading.words, reading.step_words, reading.zero_words
                )
            })
        })
        .collect();
    LoadError::new(
        format!(
            "the picture holds {kind} from {low} to {high} and the session does not say what they mean"
        ),
        if proposals.is_empty() {
            "No common step gives plausible temperatures: the numbers may be raw signal, which needs the camera's constants: pixels = { sakuma-hattori = { a = …, b = …, c = … } }. Or export temperatures instead.".to_owned()
        } else {
            format!(
                "State it on the instrument, choosing what fits the picture: {}.",
                proposals.join("; ")
            )
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::{Array2, array};

    fn assumed(numbers: Array2<f32>) -> (Pixels, String) {
        let (pixels, assumed) = infer(&Samples::F32(numbers)).unwrap();
        (pixels, assumed.unwrap())
    }

    fn mend(samples: Samples) -> String {
        infer(&samples).unwrap_err().mend
    }

    #[test]
    fn decimals_are_kelvin_where_half_of_them_reach_200() {
        let kelvin = Pixels::Linear {
            step: 1.0,
            zero: 0.0,
        };
        let celsius = Pixels::Linear {
            step: 1.0,
            zero: 273.15,
        };
        let (pixels, words) = assumed(array![[291.5, 309.0, 330.0]]);
        assert_eq!(pixels, kelvin);
        assert!(
            words.contains("from 291.5 to 330.0, were taken as K"),
            "{words}"
        );
        assert_eq!(assumed(array![[20.0, 30.0, 230.0]]).0, celsius);
        assert_eq!(assumed(array![[199.9]]).0, celsius);
        assert_eq!(assumed(array![[200.0]]).0, kelvin);
    }

    #[test]
    fn marks_of_invalid_pixels_have_no_say() {
        let marked = array![[0.0, 0.0, f32::NAN, -9999.0, f32::INFINITY, 0.0, 300.0]];
        assert_eq!(
            assumed(marked).0,
            Pixels::Linear {
                step: 1.0,
                zero: 0.0
            }
        );
        let none = infer(&Samples::F64(array![[f64::NAN, 0.0]])).unwrap_err();
        assert!(none.what.contains("no pixel"), "{none}");
    }

    /// 29135 and 34455 in steps of 0.01 K are 291.35 and 344.55 K, 18.2 and 71.4 °C.
    #[test]
    fn whole_numbers_get_proposals_from_their_own_range() {
        let mend = mend(Samples::U16(array![[0, 29135], [34455, 65535]]));
        let wanted = "as counts of 0.01 K this spans 18.2 to 71.4 °C: pixels = { step = \"0.01 K\", zero = \"0 K\" }";
        assert!(mend.contains(wanted), "{mend}");
        assert!(
            mend.contains("counts of 0.01 °C this spans 291.4 to 344.6 °C"),
            "{mend}"
        );
        assert!(!mend.contains("0.04 K") && !mend.contains("0.1 "), "{mend}");
    }

    /// 7300 × 0.04 K = 292 K = 18.85 °C, 8600 × 0.04 K = 344 K = 70.85 °C; 3000 × 0.1 K = 300 K = 26.85 °C; 250 × 0.1 °C = 25 °C.
    #[test]
    fn each_common_step_is_proposed_where_plausible() {
        let fine = mend(Samples::U16(array![[7300, 8600]]));
        assert!(
            fine.contains("counts of 0.04 K this spans 18.9 to 70.9 °C"),
            "{fine}"
        );
        assert!(
            fine.contains("counts of 0.01 °C this spans 73.0 to 86.0 °C"),
            "{fine}"
        );
        let coarse = mend(Samples::U32(array![[3000, 3400]]));
        assert!(
            coarse.contains("counts of 0.1 K this spans 26.9 to 66.9 °C"),
            "{coarse}"
        );
        let signed = mend(Samples::I16(array![[-100, 250]]));
        assert!(signed.contains("counts of 0.1 °C this spans -10.0 to 25.0 °C: pixels = { step = \"0.1 K\", zero = \"0 °C\" }"), "{signed}");
        assert!(!signed.contains("zero = \"0 K\""), "{signed}");
    }

    #[test]
    fn implausible_numbers_may_be_raw_signal() {
        let wide = mend(Samples::U32(array![[1_000_000, 4_000_000]]));
        assert!(
            wide.contains("raw signal") && wide.contains("sakuma-hattori"),
            "{wide}"
        );
        let text = infer(&Samples::F64(array![[1_000_000.0, 2_000_000.0]])).unwrap_err();
        assert!(text.mend.contains("raw signal"), "{text}");
        let counts = infer(&Samples::F64(array![[29135.0, 34455.0]])).unwrap_err();
        assert!(counts.mend.contains("0.01 K"), "{counts:?}");
    }

    #[test]
    fn pictures_without_temperatures_say_so() {
        let error = infer(&Samples::U16(array![[0, 65535]])).unwrap_err();
        assert!(error.what.contains("end of its range"), "{error}");
        let grey = infer(&Samples::U8(array![[20, 200]])).unwrap_err();
        assert!(grey.what.contains("256 grey levels"), "{grey}");
    }
}
