//! Flip points: which single input would have to be where for a verdict to change.
//!
//! An input is moved with its limits, everything else staying as the session states it, until the interval of the
//! difference no longer carries the verdict; the input that needs the least move, in its own standard uncertainties, is
//! the verdict's flip point. A first look at central values tells which inputs come near; the Monte Carlo of the moved
//! model, with the same random numbers, then tells where.

use rayon::prelude::*;

use super::intervals::difference;
use super::{Evidence, verdict};
use crate::correct::instrument_of;
use crate::model::{Domain, Input};
use crate::outcome::{Comparison, Flip, FlipSide, Verdict};
use crate::quantity::QuantityId;
use crate::uncertainty::Settings;
use crate::units::Law;

/// How far an input is moved at most, in its standard uncertainties.
pub const FARTHEST: f64 = 20.0;

/// How far an instrument's error is moved at most, in its limits: one that errs further is broken.
const BEYOND_LIMITS: f64 = 3.0;

/// How far it is moved for the first look.
const FIRST_LOOK: f64 = 2.0;

/// The ways that come nearest by the first look; of so many at a time the Monte Carlo decides.
const NEAREST: usize = 2;

/// Most ways that are tried where the nearest lead nowhere: the first look does not see that moving one reading of
/// repeated holds widens their scatter, and with it the interval.
const MOST_WAYS: usize = 12;

/// Draws of one moved model. The same random numbers as in the main run make the margins comparable, so few will do.
const DRAWS: u64 = 1024;

/// How near to the edge of the verdict a found place lies, as a share of the margin that the verdict has.
const CLOSE: f64 = 0.02;

/// Most moved models that one search draws.
const TRIES: usize = 8;

/// The flip point of every row of the comparison, in its order; `None` where its verdict has none within reach.
pub(super) fn points(evidence: &Evidence<'_>, rows: &[(usize, Comparison)]) -> Vec<Option<Flip>> {
    if !evidence.settings.what_ifs {
        return vec![None; rows.len()];
    }
    let questions: Vec<Option<Question<'_>>> = rows
        .iter()
        .map(|(candidate, row)| Question::of(evidence, *candidate, row))
        .collect();
    let ways = ways(evidence, &questions);
    questions
        .par_iter()
        .enumerate()
        .map(|(index, question)| question.as_ref()?.answer(&near(&ways, index)))
        .collect()
}

/// An input and the side to which it is moved: −1 or 1.
#[derive(Debug, Clone, Copy)]
struct Way {
    input: usize,
    side: f64,
}

/// A way with the moves, by question, that the first look makes of it.
struct Look {
    way: Way,
    moves: Vec<f64>,
}

/// The ways that may change a question's verdict, the nearest first.
fn near(looks: &[Look], question: usize) -> Vec<(Way, f64)> {
    let mut ways: Vec<(Way, f64)> = looks
        .iter()
        .map(|look| (look.way, look.moves[question]))
        .filter(|(_, moved)| *moved <= 1.5 * FARTHEST && moved.is_finite())
        .collect();
    ways.sort_by(|a, b| a.1.total_cmp(&b.1));
    ways.truncate(MOST_WAYS);
    ways
}

/// Looks at every input's two sides, at central values: how far it would have to move for each question if the interval
/// went along with the difference and the difference in proportion to the input.
fn ways(evidence: &Evidence<'_>, questions: &[Option<Question<'_>>]) -> Vec<Look> {
    if questions.iter().all(Option::is_none) {
        return Vec::new();
    }
    let inputs = evidence.model.inputs().iter().enumerate();
    let ways: Vec<Way> = inputs
        .filter(|(_, input)| input.law != Law::Exact && !is_chance(input))
        .flat_map(|(input, _)| [-1.0, 1.0].map(|side| Way { input, side }))
        .collect();
    ways.into_par_iter()
        .filter_map(|way| {
            let input = &evidence.model.inputs()[way.input];
            let first = FIRST_LOOK.min(farthest(input, way.side));
            let value = place(input, way.side, first)?;
            let central = evidence.model.moved(way.input, value).central();
            let moves = questions.iter().map(|question| {
                question
                    .as_ref()
                    .and_then(|question| question.moved_by(&central, first))
                    .unwrap_or(f64::INFINITY)
            });
            Some(Look {
                way,
                moves: moves.collect(),
            })
        })
        .collect()
}

/// The scatter between holds and an instrument's drift are chance, nothing that could be looked up or measured again.
fn is_chance(input: &Input) -> bool {
    input.place.starts_with("repeatability.")
        || input.place.ends_with(" drift")
        || input.place.ends_with("(scatter about the fit)")
}

/// How far an input can be moved to a side, in its standard uncertainties, without leaving where the truth must lie.
fn farthest(input: &Input, side: f64) -> f64 {
    let standard = input.law.standard(input.value);
    let (floor, ceiling) = input.domain.ends();
    let room = match (input.law, side < 0.0) {
        // A factor never takes a value below 0.
        (Law::Factor { .. }, true) => f64::INFINITY,
        (_, true) => 0.99 * (input.value - floor),
        (_, false) if input.domain == Domain::Share => ceiling - input.value,
        (_, false) => f64::INFINITY,
    };
    let reach = if instrument_of(&input.place).is_some() {
        BEYOND_LIMITS / standard
    } else {
        FARTHEST
    };
    (room / standard).min(reach)
}

/// The value of an input moved to a side by so many standard uncertainties; `None` where there is nowhere to go.
fn place(input: &Input, side: f64, moved: f64) -> Option<f64> {
    let by = side * moved * input.law.standard(input.value);
    let value = match input.law {
        Law::Factor { .. } => input.value * (by / input.value).exp(),
        _ => input.value + by,
    };
    (value != input.value && value.is_finite()).then_some(value)
}

/// A row whose verdict might change.
struct Question<'a> {
    evidence: &'a Evidence<'a>,
    candidate: usize,
    quantity: QuantityId,
    verdict: Verdict,
    /// Central difference, in the base unit, as are all that follow.
    central: f64,
    ends: (f64, f64),
    matters: Option<f64>,
    /// How far the interval is from losing the verdict.
    margin: f64,
    /// What the margin of few draws lacks.
    offset: f64,
}

impl<'a> Question<'a> {
    fn of(evidence: &'a Evidence<'a>, candidate: usize, row: &Comparison) -> Option<Self> {
        let verdict = row.verdict?;
        if matches!(verdict, Verdict::NeedsRepeats | Verdict::NotComparable) {
            return None;
        }
        let quantity = row.quantity;
        let baseline = evidence.session.baseline;
        let ends = evidence
            .intervals
            .of_difference(candidate, quantity)?
            .ends?;
        let matters = verdict::matters(evidence, quantity);
        let margin = verdict::margin(verdict, ends, matters);
        let mut question = Self {
            evidence,
            candidate,
            quantity,
            verdict,
            central: evidence.central(candidate, quantity)?
                - evidence.central(baseline, quantity)?,
            ends,
            matters,
            margin,
            offset: 0.0,
        };
        let few = question.ends_of(evidence.model)?;
        question.offset = margin - verdict::margin(verdict, few, matters);
        (margin > 0.0).then_some(question)
    }

    /// How far the first look's move would have to go, in standard uncertainties; `None` where it leads away.
    fn moved_by(&self, central: &crate::model::Values, moved: f64) -> Option<f64> {
        let slot = |cooler| {
            let slots = self.evidence.quantities.of_cooler(cooler)?;
            central.get(*slots.get(&self.quantity)?)
        };
        let (Some(ours), Some(theirs)) =
            (slot(self.candidate), slot(self.evidence.session.baseline))
        else {
            return Some(moved);
        };
        let by = ours - theirs - self.central;
        let ends = (self.ends.0 + by, self.ends.1 + by);
        let lost = self.margin - verdict::margin(self.verdict, ends, self.matters);
        (lost > 1e-9 * self.margin).then(|| moved * self.margin / lost)
    }

    /// The interval of few draws of a moved model.
    fn ends_of(&self, model: &crate::model::Model) -> Option<(f64, f64)> {
        let settings = Settings {
            draws: DRAWS.min(self.evidence.settings.draws),
            ..self.evidence.settings
        };
        let evidence = self.evidence;
        difference(
            evidence.session,
            evidence.quantities,
            model,
            (self.candidate, self.quantity),
            settings,
        )?
        .ends
    }

    /// The margin and the verdict with an input elsewhere; a difference without an interval has lost any verdict.
    fn at(&self, way: Way, moved: f64) -> Option<(f64, Verdict)> {
        let model = &self.evidence.model;
        let value = place(&model.inputs()[way.input], way.side, moved)?;
        let lost = (f64::NEG_INFINITY, Verdict::NotComparable);
        Some(
            self.ends_of(&model.moved(way.input, value))
                .map_or(lost, |ends| {
                    let margin = verdict::margin(self.verdict, ends, self.matters) + self.offset;
                    // A margin that few draws have just lost may still carry the verdict in name.
                    let verdict = match verdict::by_interval(ends, self.matters) {
                        same if same == self.verdict => verdict::beyond(same, ends, self.matters),
                        other => other,
                    };
                    (margin, verdict)
                }),
        )
    }

    fn answer(&self, ways: &[(Way, f64)]) -> Option<Flip> {
        let nearest = |ways: &[(Way, f64)]| {
            ways.iter()
                .filter_map(|&(way, guess)| {
                    let (moved, verdict) = self.search(way, guess)?;
                    Some((way, moved, verdict))
                })
                .min_by(|a, b| a.1.total_cmp(&b.1))
        };
        let (way, moved, verdict) = ways.chunks(NEAREST).find_map(nearest)?;
        let input = &self.evidence.model.inputs()[way.input];
        let (unit, scale, zero) = input.dimension.face();
        let face = |value: f64| scale * value + zero;
        Some(Flip {
            input: input.place.clone(),
            stated: face(input.value),
            side: if way.side < 0.0 {
                FlipSide::Below
            } else {
                FlipSide::Above
            },
            value: face(place(input, way.side, moved)?),
            standard_uncertainty: scale * input.law.standard(input.value),
            unit: unit.to_owned(),
            verdict,
        })
    }

    /// How far an input has to be moved, and what the verdict is beyond; `None` where it keeps its verdict all the way.
    ///
    /// Brackets the place outwards from a guess, then closes in by false position, with the end that stays put weighed
    /// down (the Illinois rule; Dowell and Jarratt 1971, doi:10.1007/BF01934364, from memory).
    fn search(&self, way: Way, guess: f64) -> Option<(f64, Verdict)> {
        let limit = farthest(&self.evidence.model.inputs()[way.input], way.side);
        let (mut holds, mut margin) = (0.0, self.margin);
        let mut fails = guess.max(0.05).min(limit);
        let (mut beyond, mut verdict) = self.at(way, fails)?;
        let mut tries = 1;
        while beyond > 0.0 {
            if fails >= limit || tries >= TRIES {
                return None;
            }
            (holds, margin) = (fails, beyond);
            fails = (1.5 * fails).min(limit);
            (beyond, verdict) = self.at(way, fails)?;
            tries += 1;
        }
        let mut weighed = (margin, beyond);
        while tries < TRIES && (fails - holds) > CLOSE * fails && -beyond > CLOSE * self.margin {
            let share = if weighed.1.is_finite() {
                (weighed.0 / (weighed.0 - weighed.1)).clamp(0.02, 0.98)
            } else {
                0.5
            };
            let middle = holds + share * (fails - holds);
            let (here, there) = self.at(way, middle)?;
            if here > 0.0 {
                holds = middle;
                weighed = (here, 0.5 * weighed.1);
            } else {
                (fails, beyond, verdict) = (middle, here, there);
                weighed = (0.5 * weighed.0, here);
            }
            tries += 1;
        }
        Some((fails, verdict))
    }
}
