//! The temperature scale of a picture: its ends and its ticks.

use super::grid::Grid;
use crate::load::ThermalImage;

/// The ends of a temperature scale, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The cold end, °C.
    pub low: f64,
    /// The hot end, °C; above `low` in every scale made here.
    pub high: f64,
}

/// The narrowest scale, K: below that, colours would show the instrument's noise.
const NARROWEST: f64 = 1.0;

impl Scale {
    /// The scale that holds two others.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    /// The scale, made to hold another too; its ends are round again where they had to move.
    #[must_use]
    pub fn stretched(self, to: Self) -> Self {
        let all = self.union(to);
        if all == self {
            self
        } else {
            Self::around(all.low, all.high)
        }
    }

    /// The scale of a picture's shown temperatures; `None` where no pixel has one.
    #[must_use]
    pub fn of_picture(image: &ThermalImage) -> Option<Self> {
        Self::of(&Grid::of(image).celsius)
    }

    /// From the 0.5th to the 99.5th percentile of temperatures in °C, rounded outward to whole steps.
    ///
    /// The percentiles keep one dead or glaring pixel from flattening all others. Numbers that are not finite count as
    /// absent; `None` where none is left.
    #[must_use]
    pub fn of(celsius: &[f32]) -> Option<Self> {
        let mut valid: Vec<f32> = celsius.iter().copied().filter(|t| t.is_finite()).collect();
        let last = valid.len().checked_sub(1)?;
        let cut = last / 200;
        let high = *valid.select_nth_unstable_by(last - cut, f32::total_cmp).1;
        let low = *valid.select_nth_unstable_by(cut, f32::total_cmp).1;
        Some(Self::around(f64::from(low), f64::from(high)))
    }

    /// Rounded outward to a step of about a twentieth of the span, and at least 1 K wide.
    fn around(low: f64, high: f64) -> Self {
        let missing = (NARROWEST - (high - low)).max(0.0) / 2.0;
        let (low, high) = (low - missing, high + missing);
        let step = round_step((high - low) / 20.0);
        // A value that differs from a whole step by the rounding of f32 alone is that step.
        let whole = |value: f64| {
            let nearest = value.round();
            ((value - nearest).abs() < 1e-3).then_some(nearest)
        };
        let (low, high) = (low / step, high / step);
        Self {
            low: whole(low).unwrap_or(low.floor()) * step,
            high: whole(high).unwrap_or(high.ceil()) * step,
        }
    }

    /// A scale that can be drawn, whatever was asked for: finite ends, the hot one above the cold one.
    pub(super) fn usable(self) -> Self {
        let sane = |value: f64| {
            if value.is_finite() {
                value.clamp(-1e4, 1e6)
            } else {
                0.0
            }
        };
        let (low, high) = (sane(self.low), sane(self.high));
        let (low, high) = (low.min(high), low.max(high));
        if high - low < 0.01 {
            Self::around(low, high)
        } else {
            Self { low, high }
        }
    }

    /// Where a temperature in °C lies on the scale: 0 at its cold end, 1 at its hot end.
    pub(super) fn position(&self, celsius: f64) -> f64 {
        (celsius - self.low) / (self.high - self.low)
    }

    /// The ends and round values between them that are at least a share of the scale off the ends, with their text; at
    /// most `most` round values. Ends are written to a hundredth at most.
    pub(super) fn marks(&self, most: usize, off: f64) -> Vec<(f64, String)> {
        let end = |value: f64| {
            let whole = |decimals: i32| {
                let scaled = value * 10.0_f64.powi(decimals);
                (scaled - scaled.round()).abs() < 5e-3
            };
            let decimals = (0..2).find(|&decimals| whole(decimals)).unwrap_or(2) as usize;
            (value, number(value, decimals))
        };
        let between =
            |(value, _): &(f64, String)| (off..=1.0 - off).contains(&self.position(*value));
        let mut marks = vec![end(self.low)];
        marks.extend(self.ticks(most).into_iter().filter(between));
        marks.push(end(self.high));
        marks
    }

    /// Round values within the scale, at most `most` of them (and at least one), with their text.
    pub(super) fn ticks(&self, most: usize) -> Vec<(f64, String)> {
        let span = self.high - self.low;
        let step = round_step(span / most.max(2) as f64);
        let decimals = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        let (first, last) = (
            (self.low / step - 1e-6).ceil() as i64,
            (self.high / step + 1e-6).floor() as i64,
        );
        (first..=last)
            .map(|count| {
                let value = count as f64 * step;
                (value, number(value, decimals))
            })
            .collect()
    }
}

/// A number with a proper minus sign, and none before a nought.
fn number(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let nought = text.chars().all(|character| matches!(character, '0' | '.'));
    let sign = if value < 0.0 && !nought { "−" } else { "" };
    format!("{sign}{text}")
}

/// The least of 1, 2 and 5 times a power of ten that is not below a positive number.
fn round_step(at_least: f64) -> f64 {
    let power = 10.0_f64.powf(at_least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .map(|digit| digit * power)
        .into_iter()
        .find(|&step| step >= at_least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_glaring_pixel_does_not_stretch_the_scale() {
        let mut celsius: Vec<f32> = (0..1000).map(|i| 20.0 + 0.05 * i as f32).collect();
        celsius.push(900.0);
        celsius.push(f32::NAN);
        let scale = Scale::of(&celsius).unwrap();
        assert_eq!(
            scale,
            Scale {
                low: 20.0,
                high: 70.0
            }
        );
    }

    #[test]
    fn rounding_goes_outward() {
        let scale = Scale::around(20.3, 66.1);
        assert!(scale.low <= 20.3 && scale.high >= 66.1);
        assert_eq!(
            scale,
            Scale {
                low: 20.0,
                high: 70.0
            }
        );
    }

    #[test]
    fn a_constant_picture_still_has_a_scale() {
        let scale = Scale::of(&[21.4; 50]).unwrap();
        assert!(scale.low < 21.4 && scale.high > 21.4 && scale.high - scale.low >= 1.0);
        assert_eq!(Scale::of(&[f32::NAN; 3]), None);
        assert_eq!(Scale::of(&[]), None);
    }

    #[test]
    fn any_scale_becomes_usable() {
        for (low, high) in [
            (f64::NAN, 1.0),
            (70.0, 20.0),
            (5.0, 5.0),
            (f64::NEG_INFINITY, f64::INFINITY),
            (-1e300, 1e300),
        ] {
            let scale = Scale { low, high }.usable();
            assert!(scale.low < scale.high, "{scale:?}");
            assert!(!scale.ticks(8).is_empty(), "{scale:?}");
        }
    }

    #[test]
    fn the_ends_are_written_and_nothing_close_to_them() {
        let texts = |low, high| -> Vec<String> {
            let marks = Scale { low, high }.marks(12, 0.05);
            marks.into_iter().map(|(_, text)| text).collect()
        };
        assert_eq!(
            texts(16.0, 58.0),
            ["16", "20", "25", "30", "35", "40", "45", "50", "55", "58"]
        );
        assert_eq!(
            texts(19.5, 70.25),
            [
                "19.5", "25", "30", "35", "40", "45", "50", "55", "60", "65", "70.25"
            ]
        );
        assert_eq!(texts(-5.0, 5.0).first().map(String::as_str), Some("−5"));
        assert_eq!(texts(-0.001, 40.0).first().map(String::as_str), Some("0"));
    }

    #[test]
    fn stretching_keeps_a_scale_that_holds_the_other_and_rounds_one_that_does_not() {
        let scale = Scale {
            low: 15.0,
            high: 30.0,
        };
        let inside = Scale {
            low: 20.1,
            high: 22.4,
        };
        assert_eq!(scale.stretched(inside), scale);
        let hot = Scale {
            low: 63.6,
            high: 64.3,
        };
        assert_eq!(
            scale.stretched(hot),
            Scale {
                low: 15.0,
                high: 65.0
            }
        );
    }

    #[test]
    fn ticks_are_round_and_inside() {
        let scale = Scale {
            low: -12.0,
            high: 33.0,
        };
        let texts: Vec<String> = scale.ticks(6).into_iter().map(|(_, text)| text).collect();
        assert_eq!(texts, ["−10", "0", "10", "20", "30"]);
        let scale = Scale {
            low: 20.8,
            high: 22.0,
        };
        for (value, text) in scale.ticks(6) {
            assert!((20.8..=22.0).contains(&value));
            assert_eq!(text.len(), 4, "{text}");
        }
    }
}
