//! The picture as a field of temperatures on which areas are looked for.

use ndarray::Array2;

use crate::load::ThermalImage;

/// The longest side on which areas are looked for, pixels: larger pictures are averaged down to it.
const LONGEST: usize = 480;

/// The smallest picture that is looked at, pixels a side.
const SMALLEST: usize = 16;

/// Classes of temperature among which the commonest is the background.
const CLASSES: usize = 64;

/// Warm is what stands out from the background by this share of what the hottest does.
const WARM: f64 = 0.10;

/// Even is where neighbours differ by at most this share of it.
const EVEN: f64 = 0.02;

/// … or by at most so many times what they differ by in the quietest part of the picture.
const NOISES: f64 = 3.0;

/// The quietest part of the picture: the share of pixels with the least differences.
const QUIET: f64 = 0.2;

/// Temperatures with what is known of them. Not a number where a pixel has none.
pub(super) struct Field {
    /// Averaged over 3 × 3, rows × columns.
    pub smooth: Array2<f64>,
    /// Pixels of the picture a side of one of the field.
    pub reduced: usize,
    /// Whether a pixel is warm and even.
    pub candidate: Array2<bool>,
    /// From the background to the hottest, K.
    pub span: f64,
    /// Neighbours in an even area differ by at most this, K.
    pub tolerance: f64,
    /// Columns and rows of the colour bar, first and one past the last.
    pub bar: Option<[[usize; 2]; 2]>,
}

impl Field {
    /// `None` where the picture is too small or all of one temperature.
    pub fn of(image: &ThermalImage) -> Option<Self> {
        if image.width().min(image.height()) < SMALLEST {
            return None;
        }
        let reduced = image.width().max(image.height()).div_ceil(LONGEST).max(1);
        let smooth = smoothed(&averaged(image, reduced));
        let (background, hottest) = ends(&smooth)?;
        let span = hottest - background;
        let differences = differences(&smooth);
        let mut sorted = finite(&differences);
        let quiet = share(&mut sorted, QUIET)?;
        let tolerance = (EVEN * span).max(NOISES * quiet);
        let warm = background + WARM * span;
        if span <= 0.0 || tolerance >= span {
            return None;
        }
        let candidate = Array2::from_shape_fn(smooth.dim(), |at| {
            smooth[at] > warm && differences[at] < tolerance
        });
        let bar = image.palette.as_ref().map(|palette| {
            let [x, y, width, height] = palette.bar.rectangle();
            [
                [x / reduced, y / reduced],
                [
                    (x + width).div_ceil(reduced),
                    (y + height).div_ceil(reduced),
                ],
            ]
        });
        Some(Self {
            smooth,
            reduced,
            candidate,
            span,
            tolerance,
            bar,
        })
    }

    /// Columns and rows.
    pub fn size(&self) -> [usize; 2] {
        [self.smooth.ncols(), self.smooth.nrows()]
    }
}

/// Means of square blocks of pixels; a block that runs over the edge is left out.
fn averaged(image: &ThermalImage, reduced: usize) -> Array2<f64> {
    let shape = (image.height() / reduced, image.width() / reduced);
    Array2::from_shape_fn(shape, |(row, column)| {
        let rows = row * reduced..(row + 1) * reduced;
        let columns = column * reduced..(column + 1) * reduced;
        mean(rows.flat_map(|y| columns.clone().filter_map(move |x| image.shown(x, y))))
    })
}

fn smoothed(field: &Array2<f64>) -> Array2<f64> {
    Array2::from_shape_fn(field.dim(), |at| {
        if field[at].is_nan() {
            return f64::NAN;
        }
        mean(around(field, at).filter(|value| !value.is_nan()))
    })
}

/// The greatest less the least of each 3 × 3; not a number where one of them is none.
fn differences(field: &Array2<f64>) -> Array2<f64> {
    Array2::from_shape_fn(field.dim(), |at| {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in around(field, at) {
            if value.is_nan() {
                return f64::NAN;
            }
            (low, high) = (low.min(value), high.max(value));
        }
        high - low
    })
}

/// The values of the 3 × 3 around a pixel, as far as they lie in the picture.
fn around(field: &Array2<f64>, (row, column): (usize, usize)) -> impl Iterator<Item = f64> + '_ {
    let (rows, columns) = field.dim();
    let (bottom, right) = ((row + 2).min(rows), (column + 2).min(columns));
    (row.saturating_sub(1)..bottom)
        .flat_map(move |y| (column.saturating_sub(1)..right).map(move |x| field[[y, x]]))
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    sum / f64::from(count)
}

fn finite(field: &Array2<f64>) -> Vec<f64> {
    field
        .iter()
        .copied()
        .filter(|value| value.is_finite())
        .collect()
}

/// The value below which a share of them lies.
fn share(values: &mut [f64], share: f64) -> Option<f64> {
    let last = values.len().checked_sub(1)?;
    // A share of a length lies between 0 and it.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let at = (share * last as f64).round() as usize;
    Some(
        *values
            .select_nth_unstable_by(at.min(last), f64::total_cmp)
            .1,
    )
}

/// The temperature of the background, the commonest one, and the hottest but for single pixels.
fn ends(field: &Array2<f64>) -> Option<(f64, f64)> {
    let mut values = finite(field);
    // Dead pixels lie far off.
    let low = share(&mut values, 0.01)?;
    let high = share(&mut values, 0.995)?;
    let step = (high - low) / CLASSES as f64;
    if step <= 0.0 {
        return None;
    }
    let mut counts = [0_usize; CLASSES];
    for value in values.iter().filter(|value| (low..=high).contains(*value)) {
        // Between 0 and the number of classes.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let class = ((value - low) / step) as usize;
        counts[class.min(CLASSES - 1)] += 1;
    }
    let three = |class: usize| -> usize {
        let from = class.saturating_sub(1);
        counts[from..(class + 2).min(CLASSES)].iter().sum()
    };
    let commonest = (0..CLASSES).max_by_key(|&class| three(class))?;
    Some((low + (commonest as f64 + 0.5) * step, high))
}
