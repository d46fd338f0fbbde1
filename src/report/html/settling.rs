//! The charge air: what its figures rest on, what a denser charge means, and the series of readings that were fitted.

use maud::{Markup, html};

use super::{series, ticked};
use crate::outcome::{Comparison, Outcome, Verdict};
use crate::quantity::{QuantityId, Unit};
use crate::report::{answer, number};

/// The section; nothing where nothing is told of the charge air.
pub fn section(outcome: &Outcome) -> Markup {
    html! {
        @if !outcome.grounds.is_empty() || !outcome.results.settling.is_empty() {
            section {
                h2 { "Charge air" }
                @for row in &outcome.results.comparison {
                    @if row.quantity == QuantityId::DensityGain { p { (filling(outcome, row)) } }
                }
                @for sentence in &outcome.grounds { p { (ticked(sentence)) } }
                (series::figures(outcome))
            }
        }
    }
}

/// What the density says of filling the engine, and what it does not.
fn filling(outcome: &Outcome, row: &Comparison) -> String {
    let (ours, theirs) = (
        answer::label(outcome, &row.candidate),
        answer::label(outcome, &outcome.results.baseline),
    );
    if row.verdict == Some(Verdict::NotComparable) {
        return format!(
            "How {ours} fills the engine against {theirs} cannot be told: the figures it would follow from do not compare."
        );
    }
    // Told in per cent already, or a share.
    let scale = if row.difference.unit != Unit::One {
        1.0
    } else {
        100.0
    };
    let percent = |share: f64| number::typeset(scale * share, 1);
    let interval = match (row.difference.low, row.difference.high) {
        (Some(low), Some(high)) => format!(
            " (95\u{a0}% interval of the gain: {} to {}\u{a0}%)",
            percent(low),
            percent(high)
        ),
        _ => String::new(),
    };
    let less = row.difference.value < 0.0;
    format!(
        "From the same compressor outlet and into the same cooling air, the charge leaves {ours} {}\u{a0}% {}{interval} than it leaves \
         {theirs}. {}",
        percent(row.difference.value.abs()),
        if less { "less dense" } else { "denser" },
        told(row, if less { "less" } else { "more" })
    )
}

/// What follows for the engine, as far as the verdict goes.
fn told(row: &Comparison, more: &str) -> String {
    match row.verdict {
        Some(Verdict::Higher | Verdict::Lower) => format!(
            "At the same engine speed about so much {more} air fills the cylinders; what that does to power depends on fuel, \
             timing and the engine's limits, and is not told here."
        ),
        Some(Verdict::NeedsRepeats) => {
            "What that does to the filling of the engine waits for repeated holds.".to_owned()
        }
        _ => "That is no difference that these measurements show, and so none for the filling of the engine.".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Q;
    use crate::report::fixture;

    #[test]
    fn without_charge_air_there_is_no_section() {
        assert_eq!(section(&fixture::outcome(true)).into_string(), "");
    }

    #[test]
    fn filling_goes_no_further_than_the_verdict() {
        let outcome = fixture::outcome(true);
        let said = |gain: f64, verdict: Verdict| {
            let q = Q {
                value: gain,
                unit: Unit::One,
                low: Some(gain - 0.01),
                high: Some(gain + 0.01),
                standard_uncertainty: Some(0.005),
            };
            let row = Comparison {
                quantity: QuantityId::DensityGain,
                difference: q,
                verdict: Some(verdict),
                ..outcome.results.comparison[0].clone()
            };
            filling(&outcome, &row)
        };
        let lower = said(-0.05, Verdict::Lower);
        assert!(
            lower.contains("5.0\u{a0}% less dense") && lower.contains("so much less air"),
            "{lower}"
        );
        let higher = said(0.05, Verdict::Higher);
        assert!(
            higher.contains("5.0\u{a0}% denser") && higher.contains("so much more air"),
            "{higher}"
        );
        // Told in per cent already, it is not multiplied again.
        let mut told = outcome.clone();
        told.results.comparison[0] = Comparison {
            quantity: QuantityId::DensityGain,
            difference: Q {
                value: 0.05,
                unit: Unit::One,
                low: Some(0.04),
                high: Some(0.06),
                standard_uncertainty: Some(0.005),
            },
            verdict: Some(Verdict::Higher),
            ..outcome.results.comparison[0].clone()
        };
        let told = crate::report::noted::noted(&told);
        let said_in_percent = filling(&told, &told.results.comparison[0]);
        assert_eq!(said_in_percent, higher);
        for verdict in [
            Verdict::NotDistinguishable,
            Verdict::NeedsRepeats,
            Verdict::NotComparable,
        ] {
            let open = said(0.005, verdict);
            assert!(!open.contains("fills the cylinders"), "{open}");
        }
    }
}
