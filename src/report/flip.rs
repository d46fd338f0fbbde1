//! What would change a verdict, in a sentence.

use super::{number, places};
use crate::correct::instrument_of;
use crate::outcome::{Comparison, Flip, FlipSide, Outcome, Verdict};

/// From so many standard uncertainties on an input is not near to changing a verdict.
const FAR: f64 = 5.0;

/// The sentence of a row; `None` where it has no verdict that an input could change.
#[must_use]
pub fn sentence(outcome: &Outcome, row: &Comparison) -> Option<String> {
    let verdict = row.verdict.filter(|_| may_flip(row))?;
    let Some(flip) = &row.flip else {
        return Some("No single input comes near to changing that.".to_owned());
    };
    let input = places::words(outcome, &flip.input);
    let there = there(flip);
    let far = (flip.value - flip.stated).abs() >= FAR * flip.standard_uncertainty;
    Some(if far {
        format!(
            "No single input comes near to changing that: the nearest, {input}, would have to be {there}."
        )
    } else if verdict == Verdict::NotDistinguishable {
        let verdict = flip.verdict.words();
        format!("It would be “{verdict}” if {input} were {there}.")
    } else {
        format!("That holds unless {input} were {there}.")
    })
}

/// Whether a row has a verdict that an input could change.
#[must_use]
pub const fn may_flip(row: &Comparison) -> bool {
    !matches!(
        row.verdict,
        None | Some(Verdict::NeedsRepeats | Verdict::NotComparable)
    )
}

/// "below 0.13 (taken: 0.20)".
fn there(flip: &Flip) -> String {
    let side = match flip.side {
        FlipSide::Below => "below",
        FlipSide::Above => "above",
    };
    let decimals = number::decimals_for(flip.standard_uncertainty);
    if instrument_of(&flip.input).is_some() {
        // Which way an instrument errs is of no use to who cannot know it.
        let times = number::typeset(flip.value.abs(), 1);
        return format!("{times} times its limits");
    }
    let figure = |value: f64| {
        let number = number::typeset(value, decimals);
        match flip.unit.as_str() {
            "1" => number,
            unit => format!("{number}\u{a0}{unit}"),
        }
    };
    let stated = if flip.stated == 0.0 {
        String::new()
    } else {
        format!(" (taken: {})", figure(flip.stated))
    };
    format!("{side} {}{stated}", figure(flip.value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn flips_are_put_into_words() {
        let mut outcome = fixture::outcome(true);
        let row = |verdict, flip: Option<Flip>| {
            let mut row = fixture::outcome(true).results.comparison.remove(0);
            row.verdict = Some(verdict);
            row.flip = flip;
            row
        };
        let flip = |input: &str, stated, side, value, unit: &str, verdict| {
            Some(Flip {
                input: input.to_owned(),
                stated,
                side,
                value,
                standard_uncertainty: if unit == "°C" { 0.5 } else { 0.025 },
                unit: unit.to_owned(),
                verdict,
            })
        };
        outcome.results.coolers[1].label = "Welded".to_owned();
        let said = [
            row(Verdict::NeedsRepeats, None),
            row(Verdict::Lower, None),
            row(
                Verdict::Lower,
                flip(
                    "surface.bare.emissivity (welded)",
                    0.2,
                    FlipSide::Below,
                    0.1312,
                    "1",
                    Verdict::NotDistinguishable,
                ),
            ),
            row(
                Verdict::NotDistinguishable,
                flip(
                    "instrument.camera.accuracy at 20 °C",
                    0.0,
                    FlipSide::Above,
                    1.7,
                    "1",
                    Verdict::Lower,
                ),
            ),
            row(
                Verdict::Higher,
                flip(
                    "conditions.reflected",
                    20.0,
                    FlipSide::Above,
                    21.26,
                    "°C",
                    Verdict::NotDistinguishable,
                ),
            ),
        ]
        .map(|row| sentence(&outcome, &row));
        assert_eq!(said[0], None);
        assert_eq!(
            said[1].as_deref(),
            Some("No single input comes near to changing that.")
        );
        assert_eq!(
            said[2].as_deref(),
            Some(
                "That holds unless the emissivity of `bare` on Welded were below 0.131 (taken: 0.200)."
            )
        );
        assert_eq!(
            said[3].as_deref(),
            Some(
                "No single input comes near to changing that: the nearest, the error of `camera` at 20 °C, would have to be 1.7 times its limits."
            )
        );
        assert_eq!(
            said[4]
                .as_deref()
                .map(|said| said.replace('\u{a0}', " "))
                .as_deref(),
            Some(
                "That holds unless the reflected temperature were above 21.3 °C (taken: 20.0 °C)."
            )
        );
    }
}
