//! What would change a verdict, in a sentence.

use super::{number, places, verdict_words};
use crate::outcome::{Comparison, Flip, FlipSide, Outcome, Verdict};

/// The sentence of a row; `None` where it has no verdict that an input could change.
#[must_use]
pub fn sentence(outcome: &Outcome, row: &Comparison) -> Option<String> {
    let verdict = row.verdict?;
    if matches!(verdict, Verdict::NeedsRepeats | Verdict::NotComparable) {
        return None;
    }
    let Some(flip) = &row.flip else {
        return Some(
            "No single input would change that, not even 20 of its standard uncertainties away."
                .to_owned(),
        );
    };
    let place = place(outcome, flip);
    Some(if verdict == Verdict::NotDistinguishable {
        format!("It would be “{}” if {place}.", verdict_words(flip.verdict))
    } else {
        format!("That holds unless {place}.")
    })
}

/// "the emissivity of `bare` on Welded replacement were below 0.13 (stated: 0.20)".
fn place(outcome: &Outcome, flip: &Flip) -> String {
    let side = match flip.side {
        FlipSide::Below => "below",
        FlipSide::Above => "above",
    };
    let decimals = number::decimals_for(flip.standard_uncertainty);
    let input = places::words(outcome, &flip.input);
    if places::is_share_of_limits(&flip.input) {
        // Which way an instrument errs is of no use to who cannot know it.
        let times = number::typeset(flip.value.abs(), 1);
        return format!("{input} were {times} times its limits");
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
    format!("{input} were {side} {}{stated}", figure(flip.value))
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
                standard_uncertainty: 0.025,
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
        ]
        .map(|row| sentence(&outcome, &row));
        assert_eq!(said[0], None);
        assert!(said[1].as_deref().unwrap().starts_with("No single input"));
        assert_eq!(
            said[2].as_deref(),
            Some(
                "That holds unless the emissivity of `bare` on Welded were below 0.131 (taken: 0.200)."
            )
        );
        assert_eq!(
            said[3].as_deref(),
            Some(
                "It would be “lower” if the error of `camera` at 20 °C were 1.7 times its limits."
            )
        );
    }
}
