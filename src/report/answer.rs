//! The answer to the customer's question in a sentence or two, from the primary quantity.

use super::flip;
use super::number::{self, Kind};
use super::words::words;
use crate::caution::CautionId;
use crate::outcome::{Comparison, Outcome, Q, Verdict};
use crate::quantity::QuantityId;

/// Stands below the answer as long as no interval has been worked out.
pub const NO_INTERVALS: &str =
    "How sure this is has not been worked out in this version; do not rely on small differences.";

/// What people call a cooler; its key where it has no label.
#[must_use]
pub fn label<'a>(outcome: &'a Outcome, key: &'a str) -> &'a str {
    outcome
        .results
        .coolers
        .iter()
        .find(|cooler| cooler.cooler == key)
        .map_or(key, |cooler| cooler.label.as_str())
}

/// Keys of the coolers that are compared with the baseline, in the order of the session.
#[must_use]
pub fn candidates(outcome: &Outcome) -> Vec<&str> {
    outcome
        .results
        .coolers
        .iter()
        .map(|cooler| cooler.cooler.as_str())
        .filter(|key| *key != outcome.results.baseline)
        .collect()
}

/// The quantity that the answer about a candidate speaks of: the primary one, or what is left of it where walls differ.
#[must_use]
pub fn leading(outcome: &Outcome, candidate: &str) -> QuantityId {
    let rows = || {
        let rows = outcome.results.comparison.iter();
        rows.filter(|row| row.candidate == candidate)
    };
    let of = |quantity| rows().find(|row| row.quantity == quantity);
    let primary = outcome.results.primary;
    match (of(primary), of(QuantityId::OutletNormalised)) {
        (Some(row), Some(wider)) if outrun(outcome, candidate, row, wider) => wider.quantity,
        _ => primary,
    }
}

/// The rows of one candidate, what the answer speaks of first, the others in the order of reports.
#[must_use]
pub fn rows<'a>(outcome: &'a Outcome, candidate: &str) -> Vec<&'a Comparison> {
    let leading = leading(outcome, candidate);
    let mut rows: Vec<_> = outcome
        .results
        .comparison
        .iter()
        .filter(|row| row.candidate == candidate)
        .collect();
    rows.sort_by_key(|row| (row.quantity != leading, row.quantity));
    rows
}

/// The figures of the only cooler of a session: what, the value, and its 95 % interval in brackets; none where there are others to
/// compare it with.
#[must_use]
pub fn alone(outcome: &Outcome) -> Vec<[String; 3]> {
    let [only] = outcome.results.coolers.as_slice() else {
        return Vec::new();
    };
    let figure = |(&id, q): (&QuantityId, &Q)| {
        let kind = number::kind(id);
        let interval =
            number::interval(q, kind).map_or_else(String::new, |ends| format!("({ends})"));
        [id.label().to_owned(), number::value(q, kind), interval]
    };
    only.quantities.iter().map(figure).collect()
}

/// The answer, a paragraph per candidate; without mark-up, numbers and units held together by no-break spaces.
#[must_use]
pub fn answer(outcome: &Outcome) -> Vec<String> {
    let candidates = candidates(outcome);
    if candidates.is_empty() {
        let only = label(outcome, &outcome.results.baseline);
        return vec![format!(
            "The session has one cooler, {only}: there is nothing to compare it with."
        )];
    }
    candidates
        .into_iter()
        .map(|candidate| of_candidate(outcome, candidate))
        .collect()
}

fn of_candidate(outcome: &Outcome, candidate: &str) -> String {
    let primary = outcome.results.primary;
    let of = |quantity| {
        let mut rows = rows(outcome, candidate).into_iter();
        rows.find(|row: &&Comparison| row.quantity == quantity)
    };
    let row = of(primary);
    if let (Some(row), Some(wider)) = (row, of(QuantityId::OutletNormalised))
        && outrun(outcome, candidate, row, wider)
    {
        return by_different_walls(outcome, candidate, row, wider);
    }
    let (ours, theirs) = (
        label(outcome, candidate),
        label(outcome, &outcome.results.baseline),
    );
    match row {
        Some(row) => format!(
            "{} {}{}{}",
            statement(row, ours, theirs),
            certainty(outcome, candidate, row),
            flip::sentence(outcome, row).map_or_else(String::new, |sentence| format!(
                " {}",
                sentence.replace('`', "")
            )),
            by_skins(outcome, candidate, row)
                + &by_sensor(outcome, candidate, row)
                + limited(outcome, candidate, row)
        ),
        None => format!(
            "There is no answer for {ours}: “{}” is not known for both it and {theirs}. \
             The other figures and the cautions follow.",
            primary.label()
        ),
    }
}

/// Whether the skins answer with more than they can: their walls differ, and what remains when these may be a tenth nearer
/// to the air behind them, or farther from it, is another verdict.
fn outrun(outcome: &Outcome, candidate: &str, row: &Comparison, wider: &Comparison) -> bool {
    row.quantity == QuantityId::OutletSurfaceNormalised
        && matches!(row.verdict, Some(Verdict::Higher | Verdict::Lower))
        && has(outcome, candidate, CautionId::SkinsDiffer)
        && wider.verdict != Some(Verdict::NotComparable)
        && wider.verdict != row.verdict
}

fn has(outcome: &Outcome, cooler: &str, id: CautionId) -> bool {
    let mut coolers = outcome.results.coolers.iter();
    coolers.any(|known| known.cooler == cooler && known.cautions.contains(&id))
}

/// The answer where the walls differ too much for the skins' own.
fn by_different_walls(
    outcome: &Outcome,
    candidate: &str,
    row: &Comparison,
    wider: &Comparison,
) -> String {
    let (ours, theirs) = (
        label(outcome, candidate),
        label(outcome, &outcome.results.baseline),
    );
    let skins = either_way(row).unwrap_or_default();
    let undone = format!(
        "By the skins alone it would be {skins}, but the two coolers' walls are not alike, and if the ratio of skin to air behind it \
         differs by a tenth nothing is left of that: probes in the air, or walls and films in the session, would tell."
    );
    format!(
        "{} {} {undone}{}{}",
        statement(wider, ours, theirs),
        certainty(outcome, candidate, wider),
        by_sensor(outcome, candidate, wider),
        limited(outcome, candidate, wider)
    )
}

/// What the measurements do not show of a candidate, in a sentence; `None` where they show all that they compare.
#[must_use]
pub fn not_shown(outcome: &Outcome, candidate: &str) -> Option<String> {
    let rows = rows(outcome, candidate);
    let with = |verdict: Verdict| -> Vec<String> {
        let rows = rows.iter().filter(|row| row.verdict == Some(verdict));
        rows.map(|row| format!("“{}”", row.quantity.label()))
            .collect()
    };
    let mut parts = Vec::new();
    for (verdict, why) in [
        (
            Verdict::NotDistinguishable,
            "the difference could be chance",
        ),
        (Verdict::NeedsRepeats, "the runs were not repeated"),
        (Verdict::NotComparable, "the coolers do not compare in this"),
    ] {
        let labels = with(verdict);
        if !labels.is_empty() {
            parts.push(format!("{} ({why})", labels.join(", ")));
        }
    }
    if parts.is_empty() {
        return None;
    }
    let whose = label(outcome, candidate);
    Some(format!(
        "For {whose} no difference is established in: {}.",
        parts.join("; ")
    ))
}

/// What remains where the skins themselves answer, and may differ in how near they are to the air behind them.
fn by_skins(outcome: &Outcome, candidate: &str, row: &Comparison) -> String {
    let wider = rows(outcome, candidate).into_iter().find(|row| {
        row.quantity == QuantityId::OutletNormalised && row.verdict != Some(Verdict::NotComparable)
    });
    let interval = wider.and_then(|row| Some((row, either_way(row)?)));
    match (row.quantity, interval) {
        (QuantityId::OutletSurfaceNormalised, Some((wider, interval))) => format!(
            " This takes the ratio of skin to air behind it to be the same in both coolers; if that may differ by a tenth the answer is \
             {interval}: {}.",
            wider.verdict.map_or(number::UNKNOWN, Verdict::words)
        ),
        _ => String::new(),
    }
}

/// What the engine's own sensor says where that is not what the answer says.
fn by_sensor(outcome: &Outcome, candidate: &str, row: &Comparison) -> String {
    let of_outlet = matches!(
        row.quantity,
        QuantityId::OutletNormalised
            | QuantityId::OutletSurfaceNormalised
            | QuantityId::OutletCharge
            | QuantityId::OutletSurface
    );
    let sensor = rows(outcome, candidate)
        .into_iter()
        .find(|row| row.quantity == QuantityId::IntakeAir);
    let shown = [Some(Verdict::Higher), Some(Verdict::Lower)];
    match sensor {
        Some(sensor)
            if of_outlet
                && row.verdict != Some(Verdict::NotComparable)
                && shown.contains(&sensor.verdict)
                && sensor.verdict != row.verdict =>
        {
            let way = if sensor.difference.value < 0.0 {
                "cooler"
            } else {
                "warmer"
            };
            format!(
                " The engine's own intake-air sensor says otherwise: {} {way} with {}, as read. Look at both before you rely on \
                 either.",
                number::size(&sensor.difference),
                label(outcome, candidate)
            )
        }
        _ => String::new(),
    }
}

/// Points at the cautions where some concern the comparison itself.
fn limited(outcome: &Outcome, candidate: &str, row: &Comparison) -> &'static str {
    let coolers = [candidate, outcome.results.baseline.as_str()];
    let concerned = outcome
        .results
        .coolers
        .iter()
        .any(|cooler| coolers.contains(&cooler.cooler.as_str()) && !cooler.cautions.is_empty());
    // Where nothing can be compared the sentence names the cautions already.
    if concerned && row.verdict != Some(Verdict::NotComparable) {
        " Read it together with the cautions."
    } else {
        ""
    }
}

/// "the outlet skin of A is 6.1 K cooler than that of B (31.0 °C against 37.1 °C)."
fn statement(row: &Comparison, ours: &str, theirs: &str) -> String {
    let words = words(row.quantity);
    let kind = number::kind(row.quantity);
    let values = format!(
        "({} against {})",
        number::value(&row.candidate_value, kind),
        number::value(&row.baseline_value, kind)
    );
    let subject = format!("{} of {ours}", words.subject);
    match row.verdict {
        Some(Verdict::NotComparable) => {
            format!("{subject} cannot be compared with that of {theirs}.")
        }
        Some(Verdict::NotDistinguishable) => {
            format!("{subject} cannot be told from that of {theirs} {values}.")
        }
        Some(Verdict::Equal) => {
            format!("{subject} equals that of {theirs} for the customer's purpose {values}.")
        }
        _ if number::rounds_to_zero(&row.difference) => {
            format!(
                "{subject} is the same as that of {theirs} in the digits that are worth writing {values}."
            )
        }
        _ => {
            let way = if row.difference.value < 0.0 {
                words.less
            } else {
                words.more
            };
            let size = number::size(&row.difference);
            format!("{subject} is {size} {way} than that of {theirs} {values}.")
        }
    }
}

/// How sure the statement is.
fn certainty(outcome: &Outcome, candidate: &str, row: &Comparison) -> String {
    if row.verdict == Some(Verdict::NotComparable) {
        return why_not(outcome, candidate);
    }
    let Some(interval) = either_way(row) else {
        return NO_INTERVALS.to_owned();
    };
    match row.verdict {
        Some(Verdict::Higher | Verdict::Lower) => {
            format!("The measurements support this: {interval}.")
        }
        Some(Verdict::NotDistinguishable) => format!("No difference is shown: {interval}."),
        Some(Verdict::NeedsRepeats) => format!(
            "This is not a verdict yet, because the runs were not repeated: {interval}, \
             without the scatter between holds."
        ),
        Some(Verdict::Equal) => {
            format!("The whole interval is smaller than what matters: {interval}.")
        }
        Some(Verdict::NotComparable) | None => {
            format!("As far as the doubt has been worked out, {interval}.")
        }
    }
}

/// "3.0 to 9.3 K cooler (95 % interval)", or "from 1.2 K cooler to 3.4 K warmer": the interval of a difference in words.
fn either_way(row: &Comparison) -> Option<String> {
    let q = &row.difference;
    let (low, high) = (q.low?, q.high?);
    number::interval(q, Kind::Difference)?;
    let words = words(row.quantity);
    let decimals = number::decimals(q, Kind::Difference);
    let bare = |value: f64| number::typeset(value.abs(), decimals);
    let whole = |value: f64| number::with_unit(&bare(value), q.unit);
    let said = if low >= 0.0 {
        format!("{} to {} {}", bare(low), whole(high), words.more)
    } else if high <= 0.0 {
        format!("{} to {} {}", bare(high), whole(low), words.less)
    } else {
        format!(
            "from {} {} to {} {}",
            whole(low),
            words.less,
            whole(high),
            words.more
        )
    };
    Some(format!("{said} (95\u{a0}% interval)"))
}

/// Why a temperature does not compare, as far as the cautions about either cooler tell.
fn why_not(outcome: &Outcome, candidate: &str) -> String {
    let reasons = [
        (
            CautionId::OutletHotter,
            "the outlet reads hotter than the inlet, which cannot be under load: are the two tanks swapped?",
        ),
        (
            CautionId::BeyondAmbient,
            "something reads colder than the cooling air, which cannot be",
        ),
        (CautionId::NotMeasurable, "a skin is not known well enough"),
        (
            CautionId::UnsteadySkin,
            "a skin was read too early to tell where it was going",
        ),
        (
            CautionId::Clipped,
            "a reading lies at the end of its picture's scale",
        ),
    ];
    let either = [candidate, outcome.results.baseline.as_str()];
    let told = reasons
        .into_iter()
        .find(|(id, _)| either.iter().any(|cooler| has(outcome, cooler, *id)));
    told.map_or_else(
        || "The cautions say why.".to_owned(),
        |(_, reason)| {
            let ending = if reason.ends_with('?') { "" } else { "." };
            format!("The reason: {reason}{ending} The cautions say where.")
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    fn said(outcome: &Outcome) -> String {
        answer(outcome).join("\n").replace('\u{a0}', " ")
    }

    #[test]
    fn without_intervals_the_answer_says_so() {
        assert_eq!(
            said(&fixture::outcome(false)),
            "Worked out for the same inlet skin and cooling air, the outlet skin of Welded replacement is 6.1 K cooler than that of Original, moulded tanks \
             (31.0 °C against 37.1 °C). How sure this is has not been worked out in this version; do not rely on small \
             differences. Read it together with the cautions."
        );
    }

    #[test]
    fn each_verdict_is_put_into_words() {
        let mut outcome = fixture::outcome(true);
        let mut answers = String::new();
        for row in fixture::outcome(true).results.comparison {
            outcome.results.primary = row.quantity;
            answers.push_str(&said(&outcome));
            answers.push('\n');
        }
        insta::assert_snapshot!(answers);
    }

    #[test]
    fn no_difference_is_not_called_a_direction() {
        let mut outcome = fixture::outcome(false);
        for row in &mut outcome.results.comparison {
            row.difference.value = -0.0004;
        }
        assert!(
            said(&outcome).contains("is the same as"),
            "{}",
            said(&outcome)
        );
    }

    #[test]
    fn skins_that_do_not_compare_need_no_interval_to_say_so() {
        let mut outcome = fixture::outcome(false);
        for row in &mut outcome.results.comparison {
            row.verdict = Some(Verdict::NotComparable);
        }
        let said = said(&outcome);
        assert!(
            said.ends_with("that of Original, moulded tanks. The cautions say why."),
            "{said}"
        );
    }

    #[test]
    fn one_cooler_has_nothing_to_be_compared_with() {
        let figures = alone(&fixture::alone());
        assert_eq!(
            figures.len(),
            fixture::alone().results.coolers[0].quantities.len()
        );
        assert!(
            figures
                .iter()
                .any(|[label, value, _]| { label == "Inlet tank skin" && value.ends_with("°C") })
        );
        assert!(alone(&fixture::outcome(true)).is_empty());
        assert_eq!(
            said(&fixture::alone()),
            "The session has one cooler, Original, moulded tanks: there is nothing to compare it with."
        );
    }

    #[test]
    fn a_primary_quantity_that_is_not_known_is_no_answer() {
        let mut outcome = fixture::outcome(false);
        outcome.results.primary = QuantityId::Effectiveness;
        assert!(
            said(&outcome)
                .starts_with("There is no answer for Welded replacement: “Effectiveness”")
        );
    }

    /// The walls differ, and a tenth undoes what the skins say: the answer and the starred row are those of what is left.
    #[test]
    fn skins_of_different_walls_do_not_lead_where_a_tenth_undoes_them() {
        let mut outcome = fixture::outcome(true);
        let rows = &mut outcome.results.comparison;
        let at = rows
            .iter()
            .position(|row| row.quantity == QuantityId::OutletSurfaceNormalised)
            .unwrap();
        rows[at].verdict = Some(Verdict::Lower);
        let mut wider = rows[at].clone();
        wider.quantity = QuantityId::OutletNormalised;
        wider.verdict = Some(Verdict::NotDistinguishable);
        (wider.difference.low, wider.difference.high) = (Some(-13.0), Some(0.8));
        rows.push(wider);
        let candidate = rows[at].candidate.clone();
        let cooler = outcome.results.coolers.iter_mut();
        for cooler in cooler.filter(|cooler| cooler.cooler == candidate) {
            cooler.cautions.push(CautionId::SkinsDiffer);
        }
        assert_eq!(leading(&outcome, &candidate), QuantityId::OutletNormalised);
        let said = said(&outcome);
        assert!(
            said.contains("from 13.0 K cooler to 0.8 K warmer"),
            "{said}"
        );
        assert!(
            said.contains("By the skins alone it would be 3.5 to 8.7 K cooler"),
            "{said}"
        );
        assert!(!said.contains("  "), "{said}");
        // Where they are not undone they lead.
        let rows = &mut outcome.results.comparison;
        rows.last_mut().unwrap().verdict = Some(Verdict::Lower);
        assert_eq!(
            leading(&outcome, &candidate),
            QuantityId::OutletSurfaceNormalised
        );
    }
}
