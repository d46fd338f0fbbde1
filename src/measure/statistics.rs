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
    fn median_and_greatest_take_signals() {
        let two = tallies(&[(20.0, 1), (60.0, 1)]);
        let squared = |tally: &Tally| tally.number * tally.number;
        assert_relative_eq!(signal(&two, Use::Mean, squared), 2000.0);
        assert_relative_eq!(signal(&two, Use::Median, squared), 2000.0);
        assert_relative_eq!(signal(&two, Use::Max, squared), 3600.0);
    }
}
