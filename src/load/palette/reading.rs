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
    /// How far at most the mean would lie from what it is if the ambiguous pixels had either of their temperatures, K.
    pub undecided: f64,
    /// Pixels whose colours are not the bar's.
    pub off_bar: usize,
    /// Pixels that could have two temperatures and have none.
    pub ambiguous: usize,
    /// Pixels that could have two temperatures, of which the surroundings decided.
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
        let (mut clipped, mut limits, mut rate, mut sum) = (0, 0.0, 0.0, 0.0);
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
                sum += kelvin;
                places.push((place, 1));
            }
        }
        let undecided = moved(sum, places.len(), &self.open_in(mask));
        let count = places.len().max(1) as f64;
        let colours = self.doubt.of_mean(places.into_iter()) * rate / count;
        PaletteReading {
            half_width: colours
                .hypot(limits / count)
                .hypot(self.ends * rate / count),
            undecided,
            off_bar: counts[Mark::OffBar as usize],
            ambiguous: counts[Mark::Ambiguous as usize],
            decided: counts[Mark::Decided as usize],
            clipped,
            alike: self.alike_words(),
            colours: self.colours,
            resolution: self.span() / self.colours.saturating_sub(1).max(1) as f64,
        }
    }

    /// The two temperatures, K, of each of a region's ambiguous pixels.
    fn open_in(&self, mask: &Mask) -> Vec<[f64; 2]> {
        let runs = mask.runs().iter();
        let open = runs.flat_map(|run| {
            let place = |column| self.open.partition_point(|one| one.at < [run.row, column]);
            let of_run = self.open.get(place(run.start)..place(run.end));
            of_run.unwrap_or_default()
        });
        open.map(|one| one.places.map(|place| self.ladder.kelvin(place.into())))
            .collect()
    }
}

/// How far a mean of so many numbers with this sum moves at most once others join it, each of which is one of two.
fn moved(sum: f64, count: usize, others: &[[f64; 2]]) -> f64 {
    if count == 0 || others.is_empty() {
        return 0.0;
    }
    let mean = sum / count as f64;
    let [lowest, highest] = [f64::min, f64::max].map(|of| {
        let joined: f64 = others.iter().map(|&[one, other]| of(one, other)).sum();
        (sum + joined) / (count + others.len()) as f64
    });
    (mean - lowest).max(highest - mean).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Whichever of their two numbers the ones left out are, the mean of all is no farther off; one choice is that far.
    #[test]
    fn what_is_left_out_moves_a_mean_by_no_more_than_is_said() {
        let known = [300.0, 300.2, 299.8, 300.0];
        let others = [[310.0, 299.0], [298.0, 305.0], [300.0, 312.0]];
        let sum: f64 = known.iter().sum();
        let said = moved(sum, known.len(), &others);
        let off = (0..8_usize).map(|choice| {
            let joined: f64 = (0..3).map(|at| others[at][choice >> at & 1]).sum();
            ((sum + joined) / 7.0 - 300.0).abs()
        });
        assert_relative_eq!(off.fold(0.0, f64::max), said, epsilon = 1e-9);
        assert_relative_eq!(moved(sum, 4, &[]), 0.0);
        assert_relative_eq!(moved(0.0, 0, &others), 0.0);
    }
}
