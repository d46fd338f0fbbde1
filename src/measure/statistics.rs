//! Statistics over pixels that are given as values with how often each occurs.

use super::types::Shown;
use crate::session::Use;
use crate::units::temperature::ZERO_CELSIUS;

/// A stored number, the temperature it means, and how many pixels of the region hold it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tally {
    pub(super) number: f64,
    pub(super) kelvin: f64,
    pub(super) count: usize,
}

/// Statistics in °C of tallies that rise in temperature; `None` where there are none.
pub(super) fn shown(tallies: &[Tally]) -> Option<Shown> {
    let (first, last) = (tallies.first()?, tallies.last()?);
    let total: usize = tallies.iter().map(|tally| tally.count).sum();
    let count = total as f64;
    let weighted = |value: &dyn Fn(f64) -> f64| -> f64 {
        tallies
            .iter()
            .map(|tally| value(tally.kelvin - ZERO_CELSIUS) * tally.count as f64)
            .sum::<f64>()
            / count
    };
    let mean = weighted(&|celsius| celsius);
    let variance = weighted(&|celsius| (celsius - mean) * (celsius - mean));
    let at = |share| percentile(tallies, total, share, |tally| tally.kelvin - ZERO_CELSIUS);
    Some(Shown {
        mean,
        min: first.kelvin - ZERO_CELSIUS,
        max: last.kelvin - ZERO_CELSIUS,
        median: at(0.5),
        std: variance.max(0.0).sqrt(),
        p05: at(0.05),
        p95: at(0.95),
    })
}

/// The signal that stands for the region: the mean of the pixels' signals, their median or the greatest.
pub(super) fn signal(tallies: &[Tally], statistic: Use, signal: impl Fn(&Tally) -> f64) -> f64 {
    let total: usize = tallies.iter().map(|tally| tally.count).sum();
    match statistic {
        Use::Mean => {
            let sum: f64 = tallies
                .iter()
                .map(|tally| signal(tally) * tally.count as f64)
                .sum();
            sum / total as f64
        }
        Use::Median => percentile(tallies, total, 0.5, signal),
        Use::Max => tallies.last().map_or(f64::NAN, signal),
    }
}

/// A percentile by linear interpolation between the ranks (n − 1) × share: R's type 7, Hyndman & Fan (1996)
/// definition 7, the one numpy uses unless told otherwise.
fn percentile(tallies: &[Tally], total: usize, share: f64, value: impl Fn(&Tally) -> f64) -> f64 {
    let rank = share * (total.saturating_sub(1)) as f64;
    let below = rank.floor();
    let lower = at_rank(tallies, below as usize).map_or(f64::NAN, &value);
    if rank > below {
        let upper = at_rank(tallies, below as usize + 1).map_or(f64::NAN, &value);
        lower + (rank - below) * (upper - lower)
    } else {
        lower
    }
}

/// How many pixels there are, and the sum of their temperatures, K.
pub(super) fn count_and_sum(tallies: &[Tally]) -> (usize, f64) {
    tallies.iter().fold((0, 0.0), |(count, sum), tally| {
        (count + tally.count, sum + tally.kelvin * tally.count as f64)
    })
}

/// Median and spread, K: half of what lies between the 16th and the 84th percentile, which is the standard deviation of a
/// normal law and does not see a few pixels that are far off.
pub(super) fn middle_and_spread(tallies: &[Tally]) -> (f64, f64) {
    let (total, _) = count_and_sum(tallies);
    let at = |share| percentile(tallies, total, share, |tally| tally.kelvin);
    (at(0.5), 0.5 * (at(0.84) - at(0.16)))
}

/// Fewest pixels at one value that are taken for the end of a range.
const HEAPED: usize = 9;

/// How many pixels lie at the end of a range: at an end of the stored numbers, or heaped on the hottest or coldest value,
/// which then holds at least 9 pixels and more than three times as many as the value next to it.
pub(super) fn clipped(tallies: &[Tally], ends: Option<(f64, f64)>) -> usize {
    let (Some(coldest), Some(hottest)) = (tallies.first(), tallies.last()) else {
        return 0;
    };
    let at_end = |tally: &Tally, next: Option<&Tally>| {
        let stored = ends.is_some_and(|(low, high)| tally.number == low || tally.number == high);
        // Of a handful of values, as in a picture of coarse steps, any may be the most frequent.
        let heaped = tallies.len() > 5
            && tally.count >= HEAPED
            && next.is_some_and(|next| tally.count > 3 * next.count);
        if stored || heaped { tally.count } else { 0 }
    };
    let cold = at_end(coldest, tallies.get(1));
    let hot = at_end(
        hottest,
        tallies
            .len()
            .checked_sub(2)
            .and_then(|index| tallies.get(index)),
    );
    if tallies.len() == 1 { hot } else { cold + hot }
}

/// The tally that holds the pixel of a rank, from 0.
fn at_rank(tallies: &[Tally], rank: usize) -> Option<&Tally> {
    let mut seen = 0;
    tallies.iter().find(|tally| {
        seen += tally.count;
        rank < seen
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn tallies(celsius: &[(f64, usize)]) -> Vec<Tally> {
        celsius
            .iter()
            .map(|&(c, count)| Tally {
                number: c,
                kelvin: c + ZERO_CELSIUS,
                count,
            })
            .collect()
    }

    #[test]
    fn statistics_of_a_handful_agree_with_numpy() {
        // numpy 2.1: mean, population std, median, percentiles 5 and 95 of [20, 20, 20, 21.5, 23, 30].
        let shown = shown(&tallies(&[(20.0, 3), (21.5, 1), (23.0, 1), (30.0, 1)])).unwrap();
        assert_relative_eq!(shown.mean, 22.416_666_666_667, max_relative = 1e-12);
        assert_relative_eq!(shown.std, 3.563_900_796_723_85, max_relative = 1e-12);
        assert_relative_eq!(shown.median, 20.75, max_relative = 1e-12);
        assert_relative_eq!(shown.p05, 20.0, max_relative = 1e-12);
        assert_relative_eq!(shown.p95, 28.25, max_relative = 1e-12);
        assert_eq!((shown.min, shown.max), (20.0, 30.0));
    }

    #[test]
    fn one_pixel_is_all_its_statistics() {
        let one = shown(&tallies(&[(31.0, 1)])).unwrap();
        assert_eq!((one.mean, one.median, one.std), (31.0, 31.0, 0.0));
        assert!(shown(&[]).is_none());
    }

    #[test]
    fn pixels_at_the_end_of_a_range_are_counted() {
        let ramp: Vec<(f64, usize)> = (0..20).map(|step| (20.0 + f64::from(step), 3)).collect();
        assert_eq!(clipped(&tallies(&ramp), None), 0);
        let mut heaped = ramp.clone();
        heaped.push((40.0, 30));
        assert_eq!(clipped(&tallies(&heaped), None), 30);
        assert_eq!(clipped(&tallies(&ramp), Some((20.0, 255.0))), 3);
        assert_eq!(clipped(&tallies(&[(255.0, 50)]), Some((0.0, 255.0))), 50);
        assert_eq!(
            clipped(&tallies(&[(31.0, 50)]), None),
            0,
            "a flat region is not clipped"
        );
    }

    #[test]
    fn median_and_greatest_take_signals() {
        let two = tallies(&[(20.0, 1), (60.0, 1)]);
        let squared = |tally: &Tally| tally.number * tally.number;
        assert_relative_eq!(signal(&two, Use::Mean, squared), 2000.0);
        assert_relative_eq!(signal(&two, Use::Median, squared), 2000.0);
        assert_relative_eq!(signal(&two, Use::Max, squared), 3600.0);
    }
}
