//! Where the doubt of a figure comes from, in words.

use super::number::{self, NO_BREAK_SPACE};
use super::{answer, places};
use crate::outcome::{Budget, BudgetAdvice, Outcome, Q, SCATTER, Verdict};
use crate::place::kind;
use crate::quantity::QuantityId;

/// Kinds with a smaller share are told together.
const LEAST: f64 = 0.02;

/// So many parts are told of a figure that is not the answer.
pub const FEW: usize = 3;

/// What inputs of one kind have of a figure's variance.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What they are.
    pub words: String,
    /// Their share.
    pub share: f64,
}

/// The parts of a budget by kind, the largest first; what is small, and what no single input explains, stands last.
#[must_use]
pub fn parts(outcome: &Outcome, budget: &Budget) -> Vec<Part> {
    let kinds = budget.by_kind().into_iter();
    let (large, small): (Vec<_>, Vec<_>) = kinds.partition(|(_, share)| *share >= LEAST);
    let mut parts: Vec<Part> = large
        .iter()
        .map(|(inputs, share)| Part {
            words: words(outcome, inputs),
            share: *share,
        })
        .collect();
    let rest = 1.0 - parts.iter().map(|part| part.share).sum::<f64>();
    if rest >= 0.005 {
        let words = match small.len() {
            0 => "what acts together".to_owned(),
            1 => "one more, and what acts together".to_owned(),
            count => format!("{count} others, and what acts together"),
        };
        parts.push(Part { words, share: rest });
    }
    parts
}

/// Inputs of one kind, in words.
#[must_use]
pub fn words(outcome: &Outcome, inputs: &[&str]) -> String {
    let Some(first) = inputs.first() else {
        return String::new();
    };
    let of = kind(first);
    if of == SCATTER {
        return "the scatter between holds".to_owned();
    }
    match of.as_str() {
        "run.* drift" => "the instrument's drift from reading to reading".to_owned(),
        "run.* palette" => "what colours tell of temperatures".to_owned(),
        "run.*.pistol.reading" => "the last digit that the pistol shows".to_owned(),
        "run.*.start-skin" => "the skins before the load came on".to_owned(),
        "repeatability.temperature" => {
            "the stated scatter of temperatures between holds".to_owned()
        }
        "repeatability.pressure" => "the stated scatter of pressures between holds".to_owned(),
        _ if inputs.len() == 1 => places::words(outcome, first),
        run if run.starts_with("run.*.") => {
            let key = places::spoken(run.trim_start_matches("run.*."));
            format!("the {key} of {} runs", inputs.len())
        }
        _ if of.starts_with("instrument.") => {
            let name = of.trim_start_matches("instrument.");
            format!("the error of `{}`", name.trim_end_matches(".accuracy"))
        }
        _ => places::words(outcome, &of),
    }
}

/// A share in whole per cent.
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{:.0}{NO_BREAK_SPACE}%", 100.0 * share)
}

/// The budget of the primary's difference of a candidate.
#[must_use]
pub fn of_primary<'a>(outcome: &'a Outcome, candidate: &str) -> Option<&'a Budget> {
    of_difference(outcome, candidate, outcome.results.primary)
}

/// The budget of a difference of a candidate.
#[must_use]
pub fn of_difference<'a>(
    outcome: &'a Outcome,
    candidate: &str,
    quantity: QuantityId,
) -> Option<&'a Budget> {
    let mut budgets = outcome.results.budget.iter();
    budgets.find(|budget| {
        budget.candidate.as_deref() == Some(candidate) && budget.quantity == quantity
    })
}

/// The budgets of a candidate's differences that are not the answer, in the order of reports.
#[must_use]
pub fn others<'a>(outcome: &'a Outcome, candidate: &str) -> Vec<&'a Budget> {
    answer::rows(outcome, candidate)
        .into_iter()
        .filter(|row| row.quantity != outcome.results.primary)
        .filter_map(|row| of_difference(outcome, candidate, row.quantity))
        .collect()
}

/// What would narrow the answer about a candidate, in two or three sentences.
#[must_use]
pub fn advice(outcome: &Outcome, candidate: &str) -> Option<String> {
    if answer::leading(outcome, candidate) != outcome.results.primary {
        return None;
    }
    let budget = of_primary(outcome, candidate)?;
    let advice = budget.advice.as_ref()?;
    let mut rows = outcome.results.comparison.iter();
    let row =
        rows.find(|row| row.candidate == candidate && row.quantity == outcome.results.primary)?;
    if row.verdict == Some(Verdict::NotComparable) {
        return None;
    }
    let inputs: Vec<&str> = advice.inputs.iter().map(String::as_str).collect();
    Some(sentences(
        &words(outcome, &inputs),
        advice,
        reach(&row.difference)?,
    ))
}

fn sentences(what: &str, advice: &BudgetAdvice, now: String) -> String {
    let known = reach(&advice.known_exactly)
        .map(|then| format!(" Without that the answer's {now} would be {then}."));
    let action = advice.action.as_ref().zip(advice.with_action.as_ref());
    let action =
        action.and_then(|(action, q)| Some(format!(" With {action} it would be {}.", reach(q)?)));
    format!(
        "The largest part of the answer's doubt, {} of its variance, comes from {what}.{}{}",
        percent(advice.share),
        known.unwrap_or_default(),
        action.unwrap_or_default()
    )
}

/// "± 2.3 K": half the width of an interval, with two significant digits.
#[must_use]
pub fn reach(q: &Q) -> Option<String> {
    let reach = q.reach()?;
    let number = number::typeset(reach, number::two_digits(reach));
    Some(format!(
        "±{NO_BREAK_SPACE}{}",
        number::with_unit(&number, q.unit)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Share;
    use crate::quantity::Unit;
    use crate::report::fixture;

    fn budget(shares: &[(&str, f64)]) -> Budget {
        Budget {
            cooler: None,
            candidate: Some("welded".to_owned()),
            quantity: QuantityId::OutletSurfaceNormalised,
            shares: shares
                .iter()
                .map(|&(input, share)| Share {
                    input: input.to_owned(),
                    share,
                })
                .collect(),
            advice: None,
        }
    }

    #[test]
    fn inputs_of_a_kind_are_told_together() {
        let outcome = fixture::outcome(true);
        let budget = budget(&[
            ("instrument.camera.accuracy at 120 °C", 0.3),
            (SCATTER, 0.25),
            ("instrument.camera.accuracy at 20 °C", 0.2),
            ("run.hold 1.snapshot 1 drift", 0.08),
            ("run.hold 2.snapshot 1 drift", 0.07),
            ("run.hold 1.inlet-pressure", 0.03),
            ("run.hold 2.inlet-pressure", 0.03),
            ("conditions.barometer", 0.01),
            ("conditions.ambient", 0.01),
        ]);
        let told: Vec<(String, String)> = parts(&outcome, &budget)
            .into_iter()
            .map(|part| (part.words, percent(part.share).replace('\u{a0}', " ")))
            .collect();
        let expected = [
            ("the error of `camera`", "50 %"),
            ("the scatter between holds", "25 %"),
            ("the instrument's drift from reading to reading", "15 %"),
            ("the inlet pressure of 2 runs", "6 %"),
            ("2 others, and what acts together", "4 %"),
        ];
        assert_eq!(told.len(), expected.len());
        for (told, expected) in told.iter().zip(expected) {
            assert_eq!((told.0.as_str(), told.1.as_str()), expected);
        }
    }

    #[test]
    fn the_advice_names_what_the_interval_would_become() {
        let q = |reach: f64| Q {
            value: -6.0,
            unit: Unit::Kelvin,
            low: Some(-6.0 - reach),
            high: Some(-6.0 + reach),
            standard_uncertainty: Some(reach / 2.0),
        };
        let advice = BudgetAdvice {
            inputs: vec!["surface.bare.emissivity (welded)".to_owned()],
            share: 0.812,
            known_exactly: q(2.04),
            action: Some("matt tape".to_owned()),
            with_action: Some(q(2.31)),
        };
        let said = sentences("the emissivity of `bare`", &advice, reach(&q(9.4)).unwrap());
        assert_eq!(
            said.replace('\u{a0}', " "),
            "The largest part of the answer's doubt, 81 % of its variance, comes from the emissivity of `bare`. Without that the \
             answer's ± 9.4 K would be ± 2.0 K. With matt tape it would be ± 2.3 K."
        );
    }
}
