//! The signal of a band and its inverse as tables of cubic pieces, a few nanoseconds a call.

use super::planck::{Band, Quadrature};

/// The temperatures that the table covers, K; outside, the quadrature itself answers.
pub(super) const TABLE_RANGE: (f64, f64) = (200.0, 1500.0);

/// The forward pieces are made so narrow that their relative error stays below this.
const FORWARD_ERROR: f64 = 1e-7;

/// Bits of the mantissa that index the inverse: 32 pieces from each power of two to the next. The error of a cubic
/// Hermite piece over a ratio of 1/32 is below 3e-5 K even at 1500 K.
const MANTISSA_BITS: u32 = 5;

/// Bits of an `f64` mantissa that do not index the inverse.
const SHIFT: u32 = 52 - MANTISSA_BITS;

/// S(T) of a band and T(S), by table from 200 to 1500 K and by quadrature outside.
///
/// Relative error of S at most 1e-6 and |S⁻¹(S(T)) − T| at most 1 mK over the range, against adaptive quadrature
/// (`tests/radiometry.rs`).
#[derive(Debug, Clone)]
pub struct SignalTable {
    quadrature: Quadrature,
    forward: Vec<[f64; 4]>,
    forward_step: f64,
    inverse: Vec<InversePiece>,
    inverse_first: u64,
    signal_range: (f64, f64),
}

/// T as a cubic in (S − start).
#[derive(Debug, Clone, Copy)]
struct InversePiece {
    start: f64,
    cubic: [f64; 4],
}

impl SignalTable {
    /// Builds both tables for a band; takes some milliseconds.
    #[must_use]
    pub fn new(band: &Band) -> Self {
        let quadrature = Quadrature::over(band);
        let (forward, forward_step) = forward_pieces(&quadrature);
        let signal_range = (
            quadrature.signal(TABLE_RANGE.0),
            quadrature.signal(TABLE_RANGE.1),
        );
        let inverse_first = signal_range.0.to_bits() >> SHIFT;
        let inverse_last = signal_range.1.to_bits() >> SHIFT;
        let inverse = inverse_pieces(&quadrature, inverse_first, inverse_last);
        Self {
            quadrature,
            forward,
            forward_step,
            inverse,
            inverse_first,
            signal_range,
        }
    }

    /// The signal of a black body at `kelvin`, W m⁻² sr⁻¹; NaN at or below 0 K.
    #[must_use]
    pub fn signal(&self, kelvin: f64) -> f64 {
        let position = (kelvin - TABLE_RANGE.0) / self.forward_step;
        // A negative or NaN position becomes 0 in the cast and is caught by the range test.
        let index = position as usize;
        match self.forward.get(index) {
            Some(cubic) if position >= 0.0 => horner(cubic, position - index as f64),
            _ if kelvin > 0.0 => self.quadrature.signal(kelvin),
            _ => f64::NAN,
        }
    }

    /// The temperature, K, of a black body with this signal; NaN where the signal is not above zero.
    #[must_use]
    pub fn temperature(&self, signal: f64) -> f64 {
        if signal >= self.signal_range.0 && signal <= self.signal_range.1 {
            let index = (signal.to_bits() >> SHIFT).wrapping_sub(self.inverse_first) as usize;
            if let Some(piece) = self.inverse.get(index) {
                return horner(&piece.cubic, signal - piece.start);
            }
        }
        if signal > 0.0 {
            self.quadrature.temperature(signal)
        } else {
            f64::NAN
        }
    }
}

fn horner(cubic: &[f64; 4], x: f64) -> f64 {
    cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3]))
}

/// The cubic through two values with two slopes, over a unit interval.
fn hermite(value: [f64; 2], slope: [f64; 2]) -> [f64; 4] {
    let rise = value[1] - value[0];
    [
        value[0],
        slope[0],
        3.0 * rise - 2.0 * slope[0] - slope[1],
        slope[0] + slope[1] - 2.0 * rise,
    ]
}

/// Cubic pieces of S over equal steps of T, with the step that keeps to [`FORWARD_ERROR`].
fn forward_pieces(quadrature: &Quadrature) -> (Vec<[f64; 4]>, f64) {
    let mut step = 2.0;
    loop {
        // The relative error is greatest where the curve bends most for its height: at the cold end.
        let ends =
            [TABLE_RANGE.0, TABLE_RANGE.0 + step].map(|kelvin| quadrature.signal_and_slope(kelvin));
        let exact = quadrature.signal(TABLE_RANGE.0 + 0.5 * step);
        if (horner(&forward_piece(ends[0], ends[1], step), 0.5) / exact - 1.0).abs()
            <= FORWARD_ERROR
            || step < 0.05
        {
            break;
        }
        step *= 0.5;
    }
    let count = ((TABLE_RANGE.1 - TABLE_RANGE.0) / step).ceil() as usize;
    let knots: Vec<(f64, f64)> = (0..=count)
        .map(|index| quadrature.signal_and_slope(TABLE_RANGE.0 + step * index as f64))
        .collect();
    (
        knots
            .windows(2)
            .map(|pair| forward_piece(pair[0], pair[1], step))
            .collect(),
        step,
    )
}

/// The cubic between two knots of signal and slope.
fn forward_piece(from: (f64, f64), to: (f64, f64), step: f64) -> [f64; 4] {
    hermite([from.0, to.0], [step * from.1, step * to.1])
}

/// Cubic pieces of T(S), each between two floats that share their exponent and top mantissa bits, from the index of
/// `first` to that of `last`.
fn inverse_pieces(quadrature: &Quadrature, first: u64, last: u64) -> Vec<InversePiece> {
    let mut kelvin = TABLE_RANGE.0;
    let mut knot = |index: u64| {
        let signal = f64::from_bits(index << SHIFT);
        // The knot before is near enough for the search to need two or three steps.
        kelvin = quadrature.temperature_from(signal, kelvin);
        (signal, kelvin, 1.0 / quadrature.signal_and_slope(kelvin).1)
    };
    let knots: Vec<(f64, f64, f64)> = (first..=last + 1).map(&mut knot).collect();
    knots
        .windows(2)
        .map(|pair| inverse_piece(pair[0], pair[1]))
        .collect()
}

/// The cubic between two knots of signal, temperature and slope dT/dS.
fn inverse_piece(from: (f64, f64, f64), to: (f64, f64, f64)) -> InversePiece {
    let width = to.0 - from.0;
    let [value, slope, square, cube] = hermite([from.1, to.1], [width * from.2, width * to.2]);
    InversePiece {
        start: from.0,
        cubic: [
            value,
            slope / width,
            square / (width * width),
            cube / (width * width * width),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn table_agrees_with_its_quadrature_for_every_band() {
        for (low, high) in [
            (8.0, 14.0),
            (7.5, 13.0),
            (3.0, 5.0),
            (0.9, 1.7),
            (2.0, 20.0),
        ] {
            let table = SignalTable::new(&Band::flat(low, high).unwrap());
            let mut kelvin = TABLE_RANGE.0;
            while kelvin <= TABLE_RANGE.1 {
                let exact = table.quadrature.signal(kelvin);
                assert!(
                    (table.signal(kelvin) / exact - 1.0).abs() < 1e-6,
                    "S of {low}–{high} µm at {kelvin} K"
                );
                assert_abs_diff_eq!(table.temperature(exact), kelvin, epsilon = 1e-4);
                kelvin += 0.37;
            }
        }
    }

    #[test]
    fn signal_rises_with_temperature_across_the_table_ends() {
        let table = SignalTable::new(&Band::flat(8.0, 14.0).unwrap());
        let mut last = 0.0;
        for tenth in 1_900..16_000 {
            let signal = table.signal(f64::from(tenth) / 10.0);
            assert!(signal > last, "at {tenth} tenths of a kelvin");
            last = signal;
        }
    }

    #[test]
    fn nonsense_gives_nan_not_a_number() {
        let table = SignalTable::new(&Band::flat(8.0, 14.0).unwrap());
        for kelvin in [0.0, -3.0, f64::NAN, f64::NEG_INFINITY] {
            assert!(table.signal(kelvin).is_nan(), "{kelvin}");
        }
        for signal in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(table.temperature(signal).is_nan(), "{signal}");
        }
    }
}
