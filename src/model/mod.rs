//! One model of plain numbers, from *correct* on: the physics is written once and serves the value by hand, every draw
//! of a Monte Carlo and every what-if.
//!
//! A [`Model`] is a list of steps, each of which makes one column of numbers (a [`Slot`]) from earlier ones; a column
//! holds one number a draw. [`Builder`] lays the steps out, giving the same step only once, so an input that several
//! runs inherit is one column and is drawn once. Evaluation reads no files, handles no text and allocates nothing.
//!
//! What has no solution is NaN inside the model, and only there: whoever reads a slot must say what it means.

mod builder;
mod function;
mod step;

pub use builder::{Builder, DetectorSlot};
pub use function::{Function, ROOM};
pub use step::Slot;

use std::sync::Arc;

use crate::radiometry::Detector;
use crate::units::{Dimension, Law};
use step::Step;

/// A quantity that the technician declared: what it is, how sure it is, and where it stands in the session.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Its place in the session.
    pub place: String,
    /// The central value, in the base unit of its dimension.
    pub value: f64,
    /// How the truth may lie about it.
    pub law: Law,
    /// Where the truth must lie, whatever the law says.
    pub domain: Domain,
    /// What it is a value of.
    pub dimension: Dimension,
}

/// Where the truth of an input must lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Domain {
    /// Anywhere.
    #[default]
    Any,
    /// Above 0: thicknesses, conductivities, coefficients.
    Positive,
    /// Above 0 and at most 1: emissivities, transmittances.
    Share,
}

/// Steps from inputs to every figure of a session.
#[derive(Debug, Clone, Default)]
pub struct Model {
    inputs: Vec<Input>,
    steps: Vec<Step>,
    /// Arguments of the steps that take any number of them.
    arguments: Vec<Slot>,
    detectors: Vec<Arc<Detector>>,
}

/// What some slots rest on.
#[derive(Debug, Clone)]
pub struct Needed {
    /// Indices of steps, in order.
    pub steps: Vec<usize>,
    /// Indices of inputs, in order.
    pub inputs: Vec<usize>,
}

/// One number for every slot.
#[derive(Debug, Clone)]
pub struct Values(Vec<f64>);

impl Values {
    /// The number in a slot; `None` where the model has no solution.
    #[must_use]
    pub fn get(&self, slot: Slot) -> Option<f64> {
        self.0
            .get(slot.index())
            .copied()
            .filter(|value| value.is_finite())
    }
}

impl Model {
    /// What the model rests on, in the order of first use.
    #[must_use]
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// One of its detectors.
    #[must_use]
    pub fn detector(&self, slot: DetectorSlot) -> Option<&Detector> {
        self.detectors.get(slot.index()).map(AsRef::as_ref)
    }

    /// How many slots it has.
    #[must_use]
    pub fn slots(&self) -> usize {
        self.steps.len()
    }

    /// The model at the central values of its inputs: what a calculation by hand gives.
    #[must_use]
    pub fn central(&self) -> Values {
        let mut columns = vec![0.0; self.steps.len()];
        self.evaluate(&self.central_inputs(), 1, &mut columns);
        Values(columns)
    }

    fn central_inputs(&self) -> Vec<f64> {
        self.inputs.iter().map(|input| input.value).collect()
    }

    /// The steps that some slots rest on, those slots' own included, in order; and the inputs among them.
    #[must_use]
    pub fn needed(&self, slots: &[Slot]) -> Needed {
        let mut needed = vec![false; self.steps.len()];
        slots.iter().for_each(|slot| needed[slot.index()] = true);
        let mut inputs = Vec::new();
        for (index, step) in self.steps.iter().enumerate().rev() {
            if !needed[index] {
                continue;
            }
            step.sources(&self.arguments, |slot| needed[slot.index()] = true);
            inputs.extend(step.input());
        }
        inputs.sort_unstable();
        let steps = (0..needed.len()).filter(|&index| needed[index]);
        Needed {
            steps: steps.collect(),
            inputs,
        }
    }

    /// The model with one of its inputs elsewhere: its law is moved along, and what is frozen is frozen anew.
    ///
    /// It is the model that the session would give if it stated that value, but for the size of an instrument's limits,
    /// which go by what was read.
    #[must_use]
    pub fn moved(&self, input: usize, value: f64) -> Self {
        let mut moved = self.clone();
        if let Some(input) = moved.inputs.get_mut(input) {
            input.law = input.law.moved(value - input.value);
            input.value = value;
        }
        // One pass: what is frozen stands behind what it is frozen from.
        let inputs = moved.central_inputs();
        let mut columns = vec![0.0_f64; moved.steps.len()];
        for index in 0..moved.steps.len() {
            if let Step::Frozen { of, .. } = moved.steps[index] {
                let value = columns[of.index()].to_bits();
                moved.steps[index] = Step::Frozen { of, value };
            }
            moved.evaluate_steps([index], &inputs, 1, &mut columns);
        }
        moved
    }

    /// The model as it would be if the inputs at some places were known exactly.
    #[must_use]
    pub fn knowing(&self, places: &[String]) -> Self {
        let mut knowing = self.clone();
        for input in &mut knowing.inputs {
            if places.contains(&input.place) {
                input.law = Law::Exact;
            }
        }
        knowing
    }

    /// Evaluates a block of draws.
    ///
    /// `inputs` holds a column of `draws` numbers for each of [`Self::inputs`], one column after the other; `columns`
    /// takes a column for each slot in the same way and must have room for all of them.
    ///
    /// # Panics
    /// Where either slice is shorter than that.
    pub fn evaluate(&self, inputs: &[f64], draws: usize, columns: &mut [f64]) {
        self.evaluate_steps(0..self.steps.len(), inputs, draws, columns);
    }

    /// Evaluates only some of the steps of a block of draws, in their order; columns of others stay as they are.
    ///
    /// # Panics
    /// As [`Self::evaluate`].
    pub fn evaluate_steps(
        &self,
        steps: impl IntoIterator<Item = usize>,
        inputs: &[f64],
        draws: usize,
        columns: &mut [f64],
    ) {
        for index in steps {
            let (earlier, rest) = columns.split_at_mut(index * draws);
            let sources = step::Sources {
                inputs,
                columns: earlier,
                draws,
                arguments: &self.arguments,
                detectors: &self.detectors,
            };
            self.steps[index].apply(&sources, &mut rest[..draws]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::radiometry::Band;

    /// Ten draws at once give what ten evaluations of one give.
    #[test]
    fn blocks_agree_with_single_draws() {
        let mut builder = Builder::default();
        let detector = builder.detector(Arc::new(Detector::band(&Band::flat(8.0, 14.0).unwrap())));
        let emissivity = builder.input("emissivity", 0.3, Law::Exact, Domain::Share);
        let reflected = builder.input("reflected", 295.0, Law::Exact, Domain::Any);
        let apparent = builder.input("apparent", 320.0, Law::Exact, Domain::Any);
        let leaving = builder.signal(detector, apparent);
        let reflected_signal = builder.signal(detector, reflected);
        let skin = builder.skin_signal(leaving, reflected_signal, emissivity);
        let skin = builder.temperature(detector, skin);
        let mean = builder.mean(&[skin, apparent]);
        let model = builder.build();
        let draws = 10;
        let inputs: Vec<f64> = (0..draws)
            .map(|draw| 0.2 + 0.05 * draw as f64)
            .chain((0..draws).map(|draw| 290.0 + draw as f64))
            .chain((0..draws).map(|draw| 310.0 + draw as f64))
            .collect();
        let mut block = vec![0.0; model.steps.len() * draws];
        model.evaluate(&inputs, draws, &mut block);
        for draw in 0..draws {
            let single: Vec<f64> = (0..3).map(|input| inputs[input * draws + draw]).collect();
            let mut columns = vec![0.0; model.steps.len()];
            model.evaluate(&single, 1, &mut columns);
            assert_eq!(columns[mean.index()], block[mean.index() * draws + draw]);
        }
    }

    #[test]
    fn the_same_input_and_step_are_there_only_once() {
        let mut builder = Builder::default();
        let first = builder.input("conditions.ambient", 291.0, Law::Exact, Domain::Any);
        let again = builder.input("conditions.ambient", 291.0, Law::Exact, Domain::Any);
        assert_eq!(first, again);
        let other = builder.input(
            "run.hold 2.conditions.ambient",
            291.0,
            Law::Exact,
            Domain::Any,
        );
        assert_ne!(first, other);
        assert_eq!(
            builder.difference(first, other),
            builder.difference(first, other)
        );
        assert_eq!(builder.build().inputs().len(), 2);
    }

    /// Twice a value less its frozen self is the value, wherever the value is put.
    #[test]
    fn a_moved_model_is_what_the_moved_session_would_give() {
        let mut builder = Builder::default();
        let law = Law::Rectangular {
            low: 2.0,
            high: 4.0,
        };
        let input = builder.input("a", 3.0, law, Domain::Any);
        let other = builder.input("b", 5.0, Law::Exact, Domain::Any);
        let frozen = builder.frozen(input);
        let twice = builder.sum(input, input);
        let rest = builder.difference(twice, frozen);
        let apart = builder.sum(other, other);
        let model = builder.build();
        assert_eq!(model.central().get(rest), Some(3.0));
        let moved = model.moved(0, 7.0);
        assert_eq!(moved.central().get(rest), Some(7.0));
        assert_eq!(
            moved.inputs()[0].law,
            Law::Rectangular {
                low: 6.0,
                high: 8.0
            }
        );
        let needed = model.needed(&[rest]);
        assert_eq!(needed.inputs, [0]);
        assert!(!needed.steps.contains(&apart.index()) && needed.steps.contains(&frozen.index()));
        assert_eq!(model.needed(&[apart]).inputs, [1]);
    }

    #[test]
    fn no_solution_is_none_outside_the_model() {
        let mut builder = Builder::default();
        let detector = builder.detector(Arc::new(Detector::band(&Band::flat(8.0, 14.0).unwrap())));
        // Reads 20 °C while mirroring 60 °C with nine tenths: nothing is left for the skin.
        let leaving = builder.constant(293.15);
        let leaving = builder.signal(detector, leaving);
        let reflected = builder.constant(333.15);
        let reflected = builder.signal(detector, reflected);
        let emissivity = builder.constant(0.1);
        let skin = builder.skin_signal(leaving, reflected, emissivity);
        let skin = builder.temperature(detector, skin);
        assert_eq!(builder.build().central().get(skin), None);
    }
}
