//! What a region of a palette picture has beside its temperatures: pixels without one, and how far off it may be.

use super::Palette;
use super::invert::Mark;
use crate::load::ThermalImage;
use crate::locate::Mask;

/// What a region of a palette picture has beside its temperatures.
#[derive(Debug, Clone, PartialEq)]
pub struct PaletteReading {
    /// Half-width of what the shown mean may be off by, K: the bar, the compression and the limits.
    pub half_width: f64,
    /// Pixels whose colours are not the bar's.
    pub off_bar: usize,
    /// Pixels that could have two temperatures and have none.
    pub ambiguous: usize,
    /// Pixels that could have two temperatures, of which the neighbours decided.
    pub decided: usize,
    /// Pixels in the colour of an end of the bar.
    pub clipped: usize,
    /// The temperatures that look alike, where there are any, in words.
    pub alike: Option<String>,
    /// How many colours the bar tells apart.
    pub colours: usize,
    /// K between two of them, on average.
    pub resolution: f64,
}

impl Palette {
    /// Looks at a region of the picture.
    #[must_use]
    pub fn reading(&self, image: &ThermalImage, mask: &Mask) -> PaletteReading {
        let mut counts = [0_usize; 4];
        let (mut clipped, mut limits, mut rate) = (0, 0.0, 0.0);
        let mut spread = Spread::default();
        let mut places: Vec<(f64, usize)> = Vec::new();
        for run in mask.runs() {
            for column in run.start..run.end {
                let Some(&mark) = self.marks.get([run.row, column]) else {
                    continue;
                };
                counts[mark as usize] += 1;
                let Some(kelvin) = image.shown(column, run.row) else {
                    continue;
                };
                let place = self.ladder.place(kelvin);
                clipped += usize::from(place <= self.clipped[0] || place >= self.clipped[1]);
                limits += self.ladder.of_limits(place);
                rate += self.ladder.rate(place);
                spread.add(kelvin);
                places.push((place, 1));
            }
        }
        let count = places.len().max(1) as f64;
        let colours = self.doubt.of_mean(places.into_iter()) * rate / count;
        PaletteReading {
            half_width: colours
                .hypot(limits / count)
                .hypot(spread.shift(counts[Mark::Ambiguous as usize])),
            off_bar: counts[Mark::OffBar as usize],
            ambiguous: counts[Mark::Ambiguous as usize],
            decided: counts[Mark::Decided as usize],
            clipped,
            alike: self.alike_words(),
            colours: self.colours,
            resolution: self.span() / self.colours.saturating_sub(1).max(1) as f64,
        }
    }
}

/// How far the temperatures of a region lie apart.
#[derive(Default)]
struct Spread {
    count: f64,
    mean: f64,
    squares: f64,
}

impl Spread {
    /// One more, K (B. P. Welford, 1962, from memory).
    fn add(&mut self, kelvin: f64) {
        self.count += 1.0;
        let before = kelvin - self.mean;
        self.mean += before / self.count;
        self.squares += before * (kelvin - self.mean);
    }

    /// How far the mean may have moved, K, where so many more were left out for what they are: of any numbers, a share of
    /// which is left out, the rest's mean moves by no more than their standard deviation times the root of the odds.
    fn shift(&self, left_out: usize) -> f64 {
        if self.count == 0.0 {
            return 0.0;
        }
        (self.squares / self.count * left_out as f64 / self.count).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Two values as far apart as can be: without the ones, the zeros' mean is off by all that the bound allows.
    #[test]
    fn what_is_left_out_moves_a_mean_by_no_more_than_is_said() {
        let mut spread = Spread::default();
        for kelvin in [300.0, 300.0, 304.0, 304.0] {
            spread.add(kelvin);
        }
        // 2 K of standard deviation; of eight, half are left out, of five a fifth.
        assert_relative_eq!(spread.shift(0), 0.0);
        assert_relative_eq!(spread.shift(4), 2.0, epsilon = 1e-9);
        assert_relative_eq!(spread.shift(1), 1.0, epsilon = 1e-9);
        assert_relative_eq!(Spread::default().shift(3), 0.0);
    }
}
