//! The budget: what share of each figure's variance each input of the session has.

use super::intervals::{self, Asked};
use super::{Evidence, outcome, primary};
use crate::outcome::{Budget, BudgetAdvice, SCATTER, Share};
use crate::uncertainty::{Figure, Pool, Shares, shares, simulate};

/// Shares below this are left out: with the draws that they are worked out from, chance alone makes as much.
const LEAST: f64 = 0.0005;

/// The budget of every quantity of every cooler that has a value, and of every difference.
pub(super) fn of_session(evidence: &Evidence<'_>) -> Vec<Budget> {
    if !evidence.settings.what_ifs {
        return Vec::new();
    }
    let (pools, mut asked) =
        intervals::of_coolers(evidence.session, evidence.quantities, evidence.central);
    asked.retain(|(asked, _)| known(evidence, *asked));
    // Coolers first, differences behind them.
    asked.sort_by_key(|(asked, _)| matches!(asked, Asked::Difference(..)));
    let figures: Vec<_> = asked.iter().map(|(_, figure)| *figure).collect();
    shares(evidence.model, &pools, &figures, evidence.settings)
        .iter()
        .zip(&asked)
        .filter_map(|(shares, (asked, figure))| {
            let mut entry = entry(evidence, *asked, shares)?;
            if let Asked::Difference(candidate, id) = *asked
                && id == primary(evidence.session, evidence.quantities)
            {
                entry.advice = without_the_largest(evidence, &entry, candidate, &pools, *figure);
            }
            Some(entry)
        })
        .collect()
}

/// Whether the figure has a value in the results.
fn known(evidence: &Evidence<'_>, asked: Asked) -> bool {
    let of_cooler = |cooler, id| outcome::of_cooler(evidence, cooler, id).is_some();
    match asked {
        Asked::Slot(_) => false,
        Asked::Cooler(cooler, id) => of_cooler(cooler, id),
        Asked::Difference(cooler, id) => {
            of_cooler(cooler, id) && of_cooler(evidence.session.baseline, id)
        }
    }
}

fn entry(evidence: &Evidence<'_>, asked: Asked, shares: &Shares) -> Option<Budget> {
    let key = |cooler: usize| Some(evidence.session.coolers[cooler].key.clone());
    let (cooler, candidate, quantity) = match asked {
        Asked::Slot(_) => return None,
        Asked::Cooler(cooler, id) => (key(cooler), None, id),
        Asked::Difference(cooler, id) => (None, key(cooler), id),
    };
    let inputs = shares.inputs.iter().map(|&(input, share)| Share {
        input: evidence.model.inputs()[input].place.clone(),
        share,
    });
    let scatter = Share {
        input: SCATTER.to_owned(),
        share: shares.scatter,
    };
    let mut shares: Vec<Share> = inputs
        .chain([scatter])
        .filter(|share| share.share >= LEAST)
        .collect();
    shares.sort_by(|a, b| b.share.total_cmp(&a.share));
    Some(Budget {
        cooler,
        candidate,
        quantity,
        shares,
        advice: None,
    })
}

/// The inputs of one kind that have the largest share together, and the difference if they were known exactly.
fn without_the_largest(
    evidence: &Evidence<'_>,
    entry: &Budget,
    candidate: usize,
    pools: &[Pool],
    mut figure: Figure,
) -> Option<BudgetAdvice> {
    let (inputs, share) = entry.by_kind().into_iter().next()?;
    let inputs: Vec<String> = inputs.into_iter().map(str::to_owned).collect();
    if inputs.iter().any(|input| input == SCATTER) {
        figure.scatter = None;
        figure.less_scatter = None;
    }
    let model = evidence.model.knowing(&inputs);
    let interval = simulate(&model, pools, &[figure], evidence.settings).pop()?;
    let baseline = evidence.session.baseline;
    let value = |cooler| evidence.central(cooler, entry.quantity);
    let known_exactly = outcome::difference(
        entry.quantity.unit(),
        value(candidate)? - value(baseline)?,
        &interval,
    )?;
    Some(BudgetAdvice {
        inputs,
        share,
        known_exactly,
        action: None,
        with_action: None,
    })
}
