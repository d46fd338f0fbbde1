//! The colours along a bar of a compressed picture without the noise of compression.
//!
//! Compression shifts whole blocks of 8 rows, of the colour differences 16, by up to half a step of their means. A longer
//! stretch of the bar averages over several blocks, but bends are cut off by it. So each step takes a parabola through as
//! long a stretch as still agrees with all shorter ones within what compression may have done (intersection of confidence
//! intervals: A. Goldenshluger and A. Nemirovski, 1997, from memory).

use super::decode::Loss;
use super::lab::Levels;

/// Steps at each end whose colours compression mixes with what lies beyond.
pub(super) const MIXED: usize = 3;

/// Stretches to each side that are tried, steps.
const REACHES: [usize; 8] = [1, 2, 3, 5, 8, 12, 17, 24];

/// Standard deviations that estimates from two stretches may differ by.
const AGREE: f32 = 0.7;

/// Rows that compression shifts together: of brightness and of the colour differences.
const BLOCKS: [usize; 3] = [8, 16, 16];

/// The profile, brightness and colour differences, without the noise of compression.
pub(super) fn smoothed(levels: &[Levels], loss: Loss) -> Vec<Levels> {
    let mut ycc = levels.to_vec();
    if ycc.len() >= 12 * MIXED {
        mend_end(&mut ycc);
        ycc.reverse();
        mend_end(&mut ycc);
        ycc.reverse();
    }
    let noise = deviations(loss);
    let channels = [0, 1, 2].map(|index| {
        let values: Vec<f32> = ycc.iter().map(|levels| levels[index]).collect();
        channel(&values, noise[index], BLOCKS[index])
    });
    let [luma, blueness, redness] = channels;
    let joined = luma.iter().zip(&blueness).zip(&redness);
    joined
        .map(|((&luma, &blueness), &redness)| [luma, blueness, redness])
        .collect()
}

/// Standard deviations of a block's shift: even within half a step, and as much again by the next coefficients.
fn deviations(loss: Loss) -> [f32; 3] {
    let of = |half: f32| half * (2.0_f32 / 3.0).sqrt();
    [of(loss.brightness), of(loss.colour), of(loss.colour)]
}

/// Puts a line through the next steps in place of the colours (not the brightness) at the beginning.
fn mend_end(ycc: &mut [Levels]) {
    for channel in [1, 2] {
        let near: Vec<f32> = (MIXED..3 * MIXED)
            .filter_map(|at| ycc.get(at).map(|levels| levels[channel]))
            .collect();
        let (value, slope) = line(&near);
        for (at, levels) in ycc.iter_mut().take(MIXED).enumerate() {
            levels[channel] = value + slope * (at as f32 - MIXED as f32);
        }
    }
}

/// Least-squares line: its value at the first place, and its slope.
fn line(values: &[f32]) -> (f32, f32) {
    let count = values.len() as f32;
    let middle = (count - 1.0) / 2.0;
    let mean = values.iter().sum::<f32>() / count.max(1.0);
    let (mut up, mut down) = (0.0, 0.0);
    for (at, value) in values.iter().enumerate() {
        let from_middle = at as f32 - middle;
        up += from_middle * (value - mean);
        down += from_middle * from_middle;
    }
    let slope = if down > 0.0 { up / down } else { 0.0 };
    (mean - slope * middle, slope)
}

/// One channel along the bar, smoothed as far as its noise (standard deviation of a block) justifies.
fn channel(values: &[f32], noise: f32, block: usize) -> Vec<f32> {
    let at = |at: usize| {
        let (mut low, mut high) = (f32::NEG_INFINITY, f32::INFINITY);
        let mut best = values[at];
        for reach in REACHES {
            let from = at.saturating_sub(reach);
            let to = (at + reach + 1).min(values.len());
            let weights = parabola(at - from, to - from);
            let near = values.get(from..to).unwrap_or_default();
            let here: f32 = weights.iter().zip(near).map(|(w, value)| w * value).sum();
            let shared: f32 = weights
                .chunks(block)
                .map(|chunk| chunk.iter().sum::<f32>().powi(2))
                .sum();
            let half = AGREE * noise * shared.sqrt();
            low = low.max(here - half);
            high = high.min(here + half);
            if low > high {
                break;
            }
            best = here;
        }
        best
    };
    (0..values.len()).map(at).collect()
}

/// Weights of `count` values whose least-squares parabola (fewer than five: line) is asked for at one of them.
fn parabola(at: usize, count: usize) -> Vec<f32> {
    let middle = (count as f32 - 1.0) / 2.0;
    let (n, x) = (count as f32, at as f32 - middle);
    let places = (0..count).map(|place| place as f32 - middle);
    // Orthogonal polynomials of even steps: 1, u, u² − mean of u².
    let (mut square, mut fourth) = (0.0, 0.0);
    for u in places.clone() {
        square += u * u;
        fourth += u.powi(4);
    }
    let mean = square / n;
    let second = fourth - n * mean * mean;
    places
        .map(|u| {
            let mut weight = 1.0 / n;
            if square > 0.0 {
                weight += x * u / square;
            }
            if count >= 5 && second > 0.0 {
                weight += (x * x - mean) * (u * u - mean) / second;
            }
            weight
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_parabola_is_kept_and_a_line_continued() {
        let values: Vec<f32> = (0..60)
            .map(|at| 0.05 * (at * at) as f32 - at as f32)
            .collect();
        for (value, kept) in values.iter().zip(channel(&values, 1.0, 8)) {
            assert_abs_diff_eq!(*value, kept, epsilon = 2e-3);
        }
        assert_eq!(line(&[3.0, 5.0, 7.0]), (3.0, 2.0));
        // A single value, or two, are what they are.
        assert_eq!(channel(&[4.0], 1.0, 8), [4.0]);
        let two = channel(&[4.0, 6.0], 1.0, 8);
        assert_abs_diff_eq!(two[0], 4.0, epsilon = 1e-5);
        assert_abs_diff_eq!(two[1], 6.0, epsilon = 1e-5);
    }

    #[test]
    fn shifts_of_blocks_are_smoothed_and_a_bend_is_kept() {
        let truth = |at: usize| if at < 50 { at as f32 } else { 50.0 };
        let values: Vec<f32> = (0..100)
            .map(|at| truth(at) + [0.5, -0.5][at / 8 % 2])
            .collect();
        let smooth = channel(&values, 0.4, 8);
        let off = |list: &[f32]| {
            let squares: f32 = list
                .iter()
                .enumerate()
                .map(|(at, value)| (value - truth(at)).powi(2))
                .sum();
            (squares / 100.0).sqrt()
        };
        assert!(off(&smooth) < 0.7 * off(&values), "{}", off(&smooth));
        // A long stretch would cut the bend off by several levels.
        assert!((smooth[50] - 50.0).abs() < 1.2, "{}", smooth[50]);
    }
}
