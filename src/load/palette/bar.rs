//! The colours along a bar, averaged across it so that ticks, borders and compression have little say.

use ndarray::Array2;

use super::super::LoadError;
use super::lab::{self, LEVEL, Lab, Levels, Space};
use super::loss::Loss;
use super::smooth::{Course, MIXED, smoothed};
use crate::session::LowEnd;

/// Shortest bar that is read, pixels: fewer are fewer colours.
pub(super) const SHORTEST: usize = 16;

/// Narrowest bar that is read, pixels.
pub(super) const NARROWEST: usize = 3;

/// Longest bar that is read, pixels.
pub(super) const LONGEST: usize = 20_000;

/// Where a bar is, in whole pixels: columns and rows `from` (inclusive) to `to` (exclusive).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BarBox {
    /// First column and row.
    pub from: [usize; 2],
    /// One past the last column and row.
    pub to: [usize; 2],
}

impl BarBox {
    /// x, y, width and height in pixels.
    #[must_use]
    pub fn rectangle(&self) -> [usize; 4] {
        let [x, y] = self.from;
        [x, y, self.to[0] - x, self.to[1] - y]
    }

    /// Whether it stands upright.
    #[must_use]
    pub fn upright(&self) -> bool {
        let [_, _, width, height] = self.rectangle();
        height >= width
    }

    /// Pixels along and across.
    pub(super) fn size(&self) -> (usize, usize) {
        let [_, _, width, height] = self.rectangle();
        (width.max(height), width.min(height))
    }
}

/// The colours along a bar, from its cold to its hot end.
#[derive(Debug, Clone)]
pub(super) struct Profile {
    /// The space in which its colours are compared.
    pub(super) space: Space,
    /// One colour a pixel along the bar.
    pub(super) levels: Vec<Levels>,
    /// How far a single pixel of the bar lies from the smoothed profile (standard deviation, in that space).
    pub(super) pixel_noise: f32,
    /// How far the profile itself may lie from the true colours (standard deviation, in that space).
    pub(super) noise: f32,
}

/// Noise of single pixels beyond which a strip is no bar: six times that of usual palettes at the worst compression tried, and
/// just above that of one made of stripes.
const UNEVEN: f32 = 0.05;

impl Profile {
    /// Whether colours differ so much across that this is no bar.
    pub(super) fn is_uneven(&self) -> bool {
        self.pixel_noise > UNEVEN
    }
}

/// Whole pixels from the coordinates of a session.
///
/// # Errors
/// A box that lies outside the picture or is too small.
pub(super) fn whole_pixels(
    [x, y, width, height]: [f64; 4],
    shape: (usize, usize),
) -> Result<BarBox, LoadError> {
    let (rows, columns) = shape;
    // From 0, cut at what fits.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let pixel = |at: f64| at.round().max(0.0) as usize;
    // A number that is none is in no order.
    let inside = x >= -0.5
        && y >= -0.5
        && width >= 0.0
        && height >= 0.0
        && pixel(x + width) <= columns
        && pixel(y + height) <= rows;
    if !inside {
        return Err(LoadError::new(
            format!(
                "the colour bar [{x}, {y}, {width}, {height}] lies outside the picture of {columns} × {rows} pixels"
            ),
            "Write colour-bar = [x, y, width, height] in pixels of the picture, x to the right and y downward.",
        ));
    }
    let found = BarBox {
        from: [pixel(x), pixel(y)],
        to: [pixel(x + width), pixel(y + height)],
    };
    let (length, breadth) = found.size();
    if length < SHORTEST || breadth < NARROWEST {
        return Err(LoadError::new(
            format!(
                "the colour bar is {length} pixels long and {breadth} across, too few to tell colours apart"
            ),
            format!(
                "A bar must be at least {SHORTEST} pixels long and {NARROWEST} across: check the box, or save the picture larger."
            ),
        ));
    }
    if length > LONGEST {
        return Err(LoadError::new(
            format!(
                "the colour bar at {:?} is longer than {LONGEST} pixels",
                found.rectangle()
            ),
            "Check its box, or save the picture smaller.",
        ));
    }
    Ok(found)
}

/// Which end is cold: as stated, else the bottom or the left.
///
/// # Errors
/// An end that the bar does not have.
pub(super) fn cold_end(bar: BarBox, stated: Option<LowEnd>) -> Result<LowEnd, LoadError> {
    let upright = bar.upright();
    let end = stated.unwrap_or(if upright {
        LowEnd::Bottom
    } else {
        LowEnd::Left
    });
    if matches!(end, LowEnd::Bottom | LowEnd::Top) == upright {
        return Ok(end);
    }
    let (lies, ends) = if upright {
        ("stands upright", "\"bottom\" or \"top\"")
    } else {
        ("lies flat", "\"left\" or \"right\"")
    };
    Err(LoadError::new(
        format!("the colour bar {lies}: its cold end cannot be where `low-end` says"),
        format!("Write low-end = {ends}, or check the bar's box."),
    ))
}

/// Compression mostly stores colours for blocks of four pixels and in coarser steps than brightness, so that they say less of a place.
/// By trial: from 0.5 to 0.8 readings come out alike, below more colours look alike.
const COARSE: Space = Space::Stored(0.65);

/// Reads the colours along a bar from those that are compared.
pub(super) fn profile(
    pixels: &Array2<[u8; 3]>,
    bar: BarBox,
    cold: LowEnd,
    loss: Option<Loss>,
) -> Profile {
    let space = if loss.is_some() { COARSE } else { Space::Plain };
    let (length, breadth) = bar.size();
    let reversed = matches!(cold, LowEnd::Bottom | LowEnd::Right);
    let margin = margin(breadth);
    let across: Vec<Vec<[u8; 3]>> = (0..length)
        .map(|step| {
            let step = if reversed { length - 1 - step } else { step };
            let at = |side: usize| {
                let place = if bar.upright() {
                    [bar.from[1] + step, bar.from[0] + side]
                } else {
                    [bar.from[1] + side, bar.from[0] + step]
                };
                pixels.get(place).copied().unwrap_or_default()
            };
            (margin..breadth - margin).map(at).collect()
        })
        .collect();
    let middles: Vec<Levels> = across
        .iter()
        .map(|row| middle(row, loss.is_some()))
        .collect();
    let bridged = bridged(space, &middles);
    let levels = match loss {
        Some(loss) => {
            let axis = usize::from(bar.upright());
            let course = Course::new(&loss, axis, bar.from[axis], length, reversed);
            smoothed(&bridged, course)
        }
        None => bridged,
    };
    let (pixel_noise, noise) = noise(space, &across, &middles, &levels, loss.is_some());
    Profile {
        space,
        levels,
        pixel_noise,
        noise,
    }
}

/// Pixels left out at each side: borders, and what compression mixes over them.
const fn margin(breadth: usize) -> usize {
    if breadth >= 5 { 1 } else { 0 }
}

/// What the greatest lean of a column counts as noise of the whole: by trial with bars of 3 to 9 pixels.
const LEAN: f32 = 1.5;

/// Columns from which on those at the sides have no say in their middle.
const MANY: usize = 12;

/// How far at most one of the columns of a bar lies from their middle, on average along it, in the space.
fn lean(space: Space, across: &[Vec<[u8; 3]>], middles: &[Levels]) -> f32 {
    let columns = across.first().map_or(0, Vec::len);
    let leans = (0..columns).map(|column| {
        let mut sum = [0.0_f32; 3];
        for (row, &middle) in across.iter().zip(middles) {
            let Some(&pixel) = row.get(column) else {
                continue;
            };
            let away = lab::minus(space.of(pixel), space.of_levels(middle));
            for (sum, part) in sum.iter_mut().zip(away) {
                *sum += part;
            }
        }
        let count = across.len().max(1) as f32;
        lab::dot(sum, sum).sqrt() / count
    });
    leans.fold(0.0, f32::max)
}

/// The mean of each channel without its extremes, ticks and dust. Of a picture without loss a quarter at each side costs
/// nothing; of a compressed one an eighth must do: the more blocks have a part in the mean the less one of them can shift it.
fn middle(row: &[[u8; 3]], lossy: bool) -> Levels {
    let parts = if lossy { 8 } else { 4 };
    let channel = |index: usize| {
        let mut levels: Vec<u8> = row.iter().map(|pixel| pixel[index]).collect();
        levels.sort_unstable();
        let skip = levels.len() / parts;
        let kept = levels.get(skip..levels.len() - skip).unwrap_or_default();
        kept.iter().map(|level| f32::from(*level)).sum::<f32>() / kept.len().max(1) as f32
    };
    [channel(0), channel(1), channel(2)]
}

/// A step that stands out from neighbours that agree is a tick drawn across the whole bar: bridged.
fn bridged(space: Space, levels: &[Levels]) -> Vec<Levels> {
    let labs: Vec<Lab> = levels
        .iter()
        .map(|&levels| space.of_levels(levels))
        .collect();
    let mut steps: Vec<f32> = labs.windows(2).map(|w| lab::distance(w[0], w[1])).collect();
    steps.sort_unstable_by(f32::total_cmp);
    let usual = steps.get(steps.len() * 3 / 4).copied().unwrap_or(0.0);
    let limit = 20.0 * LEVEL + 4.0 * usual;
    let mut bridged = levels.to_vec();
    for width in 1..=2_usize {
        for start in 1..labs.len().saturating_sub(width) {
            let (Some(&before), Some(&after)) = (labs.get(start - 1), labs.get(start + width))
            else {
                continue;
            };
            let apart = lab::distance(before, after);
            let out = |lab: &Lab| {
                lab::distance(*lab, before).min(lab::distance(*lab, after)) > limit.max(2.0 * apart)
            };
            if !labs[start..start + width].iter().all(out) {
                continue;
            }
            let (from, to) = (levels[start - 1], levels[start + width]);
            for (place, slot) in bridged[start..start + width].iter_mut().enumerate() {
                let share = (place + 1) as f32 / (width + 1) as f32;
                *slot = lab::between(from, to, share);
            }
        }
    }
    bridged
}

/// Noise of single pixels and of the profile, from what they differ from the smoothed profile by; of a picture without loss
/// the rounding to whole levels.
fn noise(
    space: Space,
    across: &[Vec<[u8; 3]>],
    middles: &[Levels],
    levels: &[Levels],
    lossy: bool,
) -> (f32, f32) {
    let rounding = 0.29 * LEVEL;
    if !lossy {
        return (rounding, rounding);
    }
    let labs: Vec<Lab> = levels
        .iter()
        .map(|&levels| space.of_levels(levels))
        .collect();
    // The middle nine tenths along: the ends are mixed with what lies beyond.
    let skip = levels.len() / 20 + MIXED;
    let inner = skip..levels.len().saturating_sub(skip).max(skip);
    let mut pixels: Vec<f32> = Vec::new();
    let mut whole: Vec<f32> = Vec::new();
    for at in inner {
        let (Some(row), Some(&middle), Some(&lab)) =
            (across.get(at), middles.get(at), labs.get(at))
        else {
            continue;
        };
        pixels.extend(row.iter().map(|&pixel| lab::distance(space.of(pixel), lab)));
        whole.push(lab::distance(space.of_levels(middle), lab));
    }
    // Ticks and marks are no noise: the middle four fifths by size, root of the mean square.
    let spread = |list: &mut Vec<f32>| {
        list.sort_unstable_by(f32::total_cmp);
        list.truncate(list.len() * 9 / 10);
        let squares: f32 = list.iter().map(|x| x * x).sum();
        (squares / list.len().max(1) as f32).sqrt().max(rounding)
    };
    // Columns that differ all along are mixed with what lies beside the bar, and of few the middle is too.
    let few = across.first().is_some_and(|row| row.len() < MANY);
    let mixed = if few {
        LEAN * lean(space, across, middles)
    } else {
        0.0
    };
    (spread(&mut pixels), spread(&mut whole).hypot(mixed))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_tick_across_the_bar_is_bridged_and_a_border_left_out() {
        let pixels = Array2::from_shape_fn((100, 12), |(row, column)| match (row, column) {
            (40, _) | (_, 0 | 11) => [255, 255, 255],
            (60, 0..3) => [0, 0, 0],
            _ => [row as u8, 30, 2 * row as u8],
        });
        let bar = BarBox {
            from: [0, 0],
            to: [12, 100],
        };
        let profile = profile(&pixels, bar, LowEnd::Top, None);
        for (row, levels) in profile.levels.iter().enumerate() {
            assert_abs_diff_eq!(levels[0], row as f32, epsilon = 1e-3);
            assert_abs_diff_eq!(levels[2], 2.0 * row as f32, epsilon = 1e-3);
        }
    }

    #[test]
    fn boxes_that_make_no_bar_are_refused() {
        let shape = (100, 200);
        assert!(whole_pixels([190.0, 0.0, 12.0, 90.0], shape).is_err());
        assert!(whole_pixels([-3.0, 0.0, 12.0, 90.0], shape).is_err());
        assert!(whole_pixels([0.0, 0.0, 2.0, 90.0], shape).is_err());
        assert!(whole_pixels([0.0, 0.0, 10.0, 12.0], shape).is_err());
        assert!(whole_pixels([0.0, 0.0, 10.0, 1.0], shape).is_err());
        assert!(whole_pixels([5.0, 0.0, f64::NAN, 90.0], shape).is_err());
        assert!(whole_pixels([50.0, 0.0, -20.0, 90.0], shape).is_err());
        assert!(whole_pixels([0.0, 0.0, 1e300, 90.0], shape).is_err());
        let long = whole_pixels([0.0, 0.0, 30_000.0, 3.0], (3, 30_000)).unwrap_err();
        assert!(long.what.contains("longer than"), "{long:?}");
        let flat = whole_pixels([0.0, 0.0, 100.0, 10.0], shape).unwrap();
        assert_eq!(flat.rectangle(), [0, 0, 100, 10]);
        assert_eq!(cold_end(flat, None), Ok(LowEnd::Left));
        assert!(cold_end(flat, Some(LowEnd::Top)).is_err());
    }
}
