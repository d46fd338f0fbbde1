//! Numbers printed in the picture: they check the bar, its limits and its law.

use super::super::LoadError;
use super::invert::{Mark, Places};
use super::ladder::{Ladder, half_width};
use super::{Doubt, Scale};
use crate::session::{BarLaw, Printed};
use crate::units::temperature::ZERO_CELSIUS;

/// Pixels to each side of a printed number's own that are looked at: a mark may be drawn over it.
const AROUND: usize = 3;

/// Fewest sound pixels there for a check.
const FEWEST: usize = 5;

/// Beyond all half-widths a picture may differ by this share of its span, since a number is often rounded from, or
/// averaged over, other pixels than are shown (judgement).
const SLACK: f64 = 0.01;

/// Compares every printed number with what the picture says there.
///
/// # Errors
/// All numbers that the picture contradicts, with the difference, or that stand where it has no colours of its bar.
pub(super) fn check(
    scale: &Scale<'_>,
    places: &Places,
    ladder: &Ladder,
    doubt: &Doubt,
) -> Result<(), LoadError> {
    let other = other_law(scale);
    let mut wrong = Vec::new();
    let mut explained = 0;
    let mut beside = Vec::new();
    for printed in scale.printed {
        let [x, y] = printed.at;
        let Some([low, middle, high]) = around(printed, places) else {
            beside.push(format!("[{x}, {y}]"));
            continue;
        };
        let wanted = printed.reading.value;
        let differs = |ladder: &Ladder| {
            let half = doubt.of_mean(std::iter::once((middle, 1))) * ladder.rate(middle).abs();
            let spread = 0.5 * (ladder.kelvin(high) - ladder.kelvin(low));
            let allowed = half.hypot(ladder.of_limits(middle))
                + spread
                + half_width(&printed.reading)
                + SLACK * ladder.span();
            let difference = ladder.kelvin(middle) - wanted;
            (difference.abs() > allowed).then_some(difference)
        };
        let Some(difference) = differs(ladder) else {
            continue;
        };
        explained += usize::from(other.as_ref().is_some_and(|other| differs(other).is_none()));
        wrong.push(format!(
            "{:.1} °C at [{x}, {y}], where {} is printed ({difference:+.1} K)",
            ladder.kelvin(middle) - ZERO_CELSIUS,
            printed.reading.written
        ));
    }
    if !wrong.is_empty() {
        let all = explained == wrong.len();
        return Err(contradicted(scale, &wrong, all));
    }
    if beside.is_empty() {
        return Ok(());
    }
    Err(LoadError::new(
        format!(
            "the picture has no colours of its bar at {}, where a number is printed for",
            beside.join(", ")
        ),
        "Write the pixel that the number stands for (the spot, not the text), or leave it out.",
    ))
}

fn contradicted(scale: &Scale<'_>, wrong: &[String], by_law: bool) -> LoadError {
    let what = format!(
        "the picture contradicts its printed numbers: it reads {}",
        wrong.join("; ")
    );
    if by_law {
        let other = match scale.law {
            BarLaw::Temperature => "signal",
            BarLaw::Signal => "temperature",
        };
        return LoadError::new(
            what,
            format!(
                "Write bar-law = \"{other}\" on the instrument: the numbers agree with a bar that is even in {other}."
            ),
        );
    }
    LoadError::new(
        what,
        "Check `low` and `high` against the picture, the bar's box and its cold end. Where they are right the colours are not \
         evenly spread over the bar (equalised for contrast) and the picture cannot be read: set the camera to a linear palette.",
    )
}

/// The law that the session does not state, where it can be tried.
fn other_law(scale: &Scale<'_>) -> Option<Ladder> {
    let other = match scale.law {
        BarLaw::Temperature => BarLaw::Signal,
        BarLaw::Signal => BarLaw::Temperature,
    };
    Ladder::new(scale.low, scale.high, other, scale.detector).ok()
}

/// The lower quartile, the median and the upper quartile of the places around a pixel.
fn around(printed: &Printed, places: &Places) -> Option<[f64; 3]> {
    let (rows, columns) = places.places.dim();
    let [x, y] = printed.at;
    if x < 0.0 || y < 0.0 {
        return None;
    }
    // Coordinates of a session are at most a million.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (column, row) = (x as usize, y as usize);
    let mut found: Vec<f64> = Vec::new();
    for row in row.saturating_sub(AROUND)..(row + AROUND + 1).min(rows) {
        for column in column.saturating_sub(AROUND)..(column + AROUND + 1).min(columns) {
            let mark = places.marks.get([row, column])?;
            if matches!(mark, Mark::Sound | Mark::Decided) {
                found.push(places.places.get([row, column]).copied()?.into());
            }
        }
    }
    if found.len() < FEWEST {
        return None;
    }
    found.sort_unstable_by(f64::total_cmp);
    let at = |share: f64| {
        // A share of a short list.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let index = (share * (found.len() - 1) as f64).round() as usize;
        found.get(index).copied()
    };
    Some([at(0.25)?, at(0.5)?, at(0.75)?])
}
