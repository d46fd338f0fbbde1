//! Lays out a model, step by step.

use std::collections::HashMap;
use std::sync::Arc;

use super::function::Function;
use super::step::{Slot, Step};
use super::{Domain, Input, Model, Values};
use crate::radiometry::Detector;
use crate::session::Declared;
use crate::units::{Dimension, Law};

/// A detector of the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DetectorSlot(usize);

impl DetectorSlot {
    pub(super) const fn index(self) -> usize {
        self.0
    }
}

/// A model in the making. Every method returns the slot of what it names; asking for the same again returns the same.
#[derive(Debug, Clone, Default)]
pub struct Builder {
    model: Model,
    places: HashMap<String, Slot>,
    known: HashMap<Step, Slot>,
    means: HashMap<Vec<Slot>, Slot>,
    calls: HashMap<(Function, Vec<Slot>), Slot>,
}

impl Builder {
    /// The finished model.
    #[must_use]
    pub fn build(self) -> Model {
        self.model
    }

    /// Central values of what has been laid out so far.
    #[must_use]
    pub fn central(&self) -> Values {
        self.model.central()
    }

    /// A detector; the same one is kept once.
    pub fn detector(&mut self, detector: Arc<Detector>) -> DetectorSlot {
        let known = self
            .model
            .detectors
            .iter()
            .position(|other| Arc::ptr_eq(other, &detector));
        DetectorSlot(known.unwrap_or_else(|| {
            self.model.detectors.push(detector);
            self.model.detectors.len() - 1
        }))
    }

    /// A pure number as an input, by its place in the session: the same place is the same input.
    pub fn input(&mut self, place: &str, value: f64, law: Law, domain: Domain) -> Slot {
        self.input_of(Dimension::Ratio, place, value, law, domain)
    }

    /// An input by its place in the session: the same place is the same input.
    pub fn input_of(
        &mut self,
        dimension: Dimension,
        place: &str,
        value: f64,
        law: Law,
        domain: Domain,
    ) -> Slot {
        if let Some(&slot) = self.places.get(place) {
            return slot;
        }
        self.model.inputs.push(Input {
            place: place.to_owned(),
            value,
            law,
            domain,
            dimension,
        });
        let slot = self.step(Step::Input(self.model.inputs.len() - 1));
        self.places.insert(place.to_owned(), slot);
        slot
    }

    /// A value as the session declares it, which may lie anywhere.
    pub fn declared(&mut self, declared: &Declared) -> Slot {
        self.declared_in(declared, Domain::Any)
    }

    /// A value as the session declares it, where the truth has limits of its own; with the error of its sensor where that is
    /// stated with it.
    pub fn declared_in(&mut self, declared: &Declared, domain: Domain) -> Slot {
        let noted = self.input_of(
            declared.dimension,
            &declared.place,
            declared.value,
            declared.law,
            domain,
        );
        match &declared.sensor {
            Some(sensor) => self.with_error(noted, &sensor.place, sensor.limit),
            None => noted,
        }
    }

    /// A reading plus M u: M is the limit of its sensor's error, u is even on [−1, 1] and one for all that stands at the
    /// error's place, so that it cancels in the difference of two readings of one sensor.
    pub fn with_error(&mut self, noted: Slot, place: &str, limit: f64) -> Slot {
        let law = Law::Rectangular {
            low: -1.0,
            high: 1.0,
        };
        let error = self.input(place, 0.0, law, Domain::Any);
        let limit = self.constant(limit);
        let error = self.product(limit, error);
        self.sum(noted, error)
    }

    /// A number that is not drawn.
    pub fn constant(&mut self, value: f64) -> Slot {
        self.step(Step::Constant(value.to_bits()))
    }

    /// The central value of a slot, which no draw changes; NaN where it has none.
    pub fn frozen(&mut self, of: Slot) -> Slot {
        let value = self.central().get(of).unwrap_or(f64::NAN).to_bits();
        self.step(Step::Frozen { of, value })
    }

    /// a + b.
    pub fn sum(&mut self, a: Slot, b: Slot) -> Slot {
        self.step(Step::Sum(a, b))
    }

    /// a − b.
    pub fn difference(&mut self, a: Slot, b: Slot) -> Slot {
        self.step(Step::Difference(a, b))
    }

    /// a · b.
    pub fn product(&mut self, a: Slot, b: Slot) -> Slot {
        self.step(Step::Product(a, b))
    }

    /// a / b.
    pub fn quotient(&mut self, a: Slot, b: Slot) -> Slot {
        self.step(Step::Quotient(a, b))
    }

    /// The arithmetic mean of at least one slot.
    pub fn mean(&mut self, slots: &[Slot]) -> Slot {
        if let [only] = slots {
            return *only;
        }
        if let Some(&slot) = self.means.get(slots) {
            return slot;
        }
        let start = self.model.arguments.len();
        self.model.arguments.extend_from_slice(slots);
        let slot = self.step(Step::Mean(start, slots.len()));
        self.means.insert(slots.to_vec(), slot);
        slot
    }

    /// The detector's signal of a black body, from K.
    pub fn signal(&mut self, detector: DetectorSlot, kelvin: Slot) -> Slot {
        self.step(Step::Signal(detector.0, kelvin))
    }

    /// The temperature, K, of a black body with a signal.
    pub fn temperature(&mut self, detector: DetectorSlot, signal: Slot) -> Slot {
        self.step(Step::Temperature(detector.0, signal))
    }

    /// An apparent temperature, K, with its instrument's error: two shares of it, each with its weight in K, and the drift.
    pub fn erring(&mut self, apparent: Slot, shares: [(Slot, f64); 2], drift: Slot) -> Slot {
        let shares = shares.map(|(slot, weight)| (slot, weight.to_bits()));
        self.step(Step::Erring {
            apparent,
            shares,
            drift,
        })
    }

    /// The signal that arrives at the instrument from a skin (the measurement equation; all but the shares are signals).
    pub fn arriving(
        &mut self,
        own: Slot,
        reflected: Slot,
        emissivity: Slot,
        ambient: Slot,
        transmittance: Slot,
    ) -> Slot {
        self.step(Step::Arriving {
            own,
            reflected,
            emissivity,
            ambient,
            transmittance,
        })
    }

    /// The signal that leaves the skin, from the one that arrives at the instrument through air of the ambient's
    /// temperature (`ambient` is that air's signal).
    pub fn path_removed(&mut self, arriving: Slot, ambient: Slot, transmittance: Slot) -> Slot {
        self.step(Step::PathRemoved {
            arriving,
            ambient,
            transmittance,
        })
    }

    /// The signal that the skin would give as a black body, from what leaves it and the signal of what it mirrors.
    pub fn skin_signal(&mut self, leaving: Slot, reflected: Slot, emissivity: Slot) -> Slot {
        self.step(Step::SkinSignal {
            leaving,
            reflected,
            emissivity,
        })
    }

    /// The emissivity of a skin from the blackbody signal of a patch that is as warm as it is.
    pub fn solved_emissivity(&mut self, leaving: Slot, patch: Slot, reflected: Slot) -> Slot {
        self.step(Step::SolvedEmissivity {
            leaving,
            patch,
            reflected,
        })
    }

    /// A function of several slots, in the function's own order, at most [`super::ROOM`] of them.
    pub fn call(&mut self, function: Function, arguments: &[Slot]) -> Slot {
        let key = (function, arguments.to_vec());
        if let Some(&slot) = self.calls.get(&key) {
            return slot;
        }
        let start = self.model.arguments.len();
        self.model.arguments.extend_from_slice(arguments);
        let slot = self.step(Step::Call(function, start, arguments.len()));
        self.calls.insert(key, slot);
        slot
    }

    fn step(&mut self, step: Step) -> Slot {
        if let Some(&slot) = self.known.get(&step) {
            return slot;
        }
        let slot = Slot(self.model.steps.len());
        self.model.steps.push(step);
        self.known.insert(step, slot);
        slot
    }
}
