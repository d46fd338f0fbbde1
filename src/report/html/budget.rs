//! Where the doubt of the answer comes from.

use maud::{Markup, html};

use super::{table, ticked};
use crate::outcome::{Budget, Outcome};
use crate::report::{answer, budget, number};

/// The section; nothing where no budget was worked out.
pub fn section(outcome: &Outcome) -> Markup {
    let known: Vec<(&str, &Budget)> = answer::candidates(outcome)
        .into_iter()
        .filter_map(|candidate| Some((candidate, budget::of_primary(outcome, candidate)?)))
        .collect();
    html! {
        @if !known.is_empty() {
            section {
                h2 { "Where the doubt comes from" }
                @for (index, (candidate, primary)) in known.iter().enumerate() {
                    (of_candidate(outcome, candidate, primary, index))
                }
            }
        }
    }
}

fn of_candidate(outcome: &Outcome, candidate: &str, primary: &Budget, index: usize) -> Markup {
    let label = answer::label(outcome, candidate);
    let caption =
        html! { (primary.quantity.label()) ", difference of " (label) ": share of the variance" };
    let rows = html! { tbody { @for part in budget::parts(outcome, primary) {
        tr {
            th scope="row" { (ticked(&part.words)) }
            td.number { (budget::percent(part.share)) }
            td.bar {
                svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true" {
                    rect width=(number::typeset(100.0 * part.share.clamp(0.0, 1.0), 1)) height="10" {}
                }
            }
        }
    } } };
    let others = budget::others(outcome, candidate);
    html! {
        (table(&format!("budget-{}", index + 1), "budget", &caption, &rows))
        @if !others.is_empty() {
            h3 { "The largest parts of the other differences" }
            dl.pairs { @for other in others {
                dt { (other.quantity.label()) }
                dd { (ticked(&largest(outcome, other))) }
            } }
        }
    }
}

/// "58 % from the error of `camera`, 21 % from the scatter between holds".
fn largest(outcome: &Outcome, of: &Budget) -> String {
    let parts: Vec<String> = budget::parts(outcome, of)
        .into_iter()
        .take(budget::FEW)
        .map(|part| format!("{} from {}", budget::percent(part.share), part.words))
        .collect();
    parts.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_parts_stand_with_their_shares() {
        let page = section(&fixture::outcome(true)).into_string();
        assert!(
            page.contains("71\u{a0}%") && page.contains("the scatter between holds"),
            "{page}"
        );
        assert!(!page.contains("<i>"), "{page}");
    }

    #[test]
    fn without_a_budget_there_is_no_section() {
        assert_eq!(section(&fixture::outcome(false)).into_string(), "");
    }
}
