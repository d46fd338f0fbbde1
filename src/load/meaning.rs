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
