//! The steps of the model: each makes one column from earlier ones.

use std::sync::Arc;

use super::function::{self, Function};
use crate::radiometry::Detector;
use crate::radiometry::equation::{arriving, path_removed, skin_signal, solved_emissivity};

/// A column of the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Slot(pub(super) usize);

impl Slot {
    pub(crate) const fn index(self) -> usize {
        self.0
    }
}

/// One step. Constants are kept by their bits so that equal steps can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Step {
    Input(usize),
    Constant(u64),
    /// The central value of another slot, whatever its draws.
    Frozen {
        of: Slot,
        value: u64,
    },
    Sum(Slot, Slot),
    Difference(Slot, Slot),
    Product(Slot, Slot),
    Quotient(Slot, Slot),
    /// Arithmetic mean of a stretch of the arguments: from, count.
    Mean(usize, usize),
    /// S(T): detector, kelvin.
    Signal(usize, Slot),
    /// S⁻¹: detector, signal.
    Temperature(usize, Slot),
    /// An apparent temperature with its instrument's error: two shares, each with its weight's bits, and the drift.
    Erring {
        apparent: Slot,
        shares: [(Slot, u64); 2],
        drift: Slot,
    },
    /// What arrives at the instrument.
    Arriving {
        own: Slot,
        reflected: Slot,
        emissivity: Slot,
        ambient: Slot,
        transmittance: Slot,
    },
    /// What leaves the skin, from what arrives at the instrument.
    PathRemoved {
        arriving: Slot,
        ambient: Slot,
        transmittance: Slot,
    },
    /// What the skin would give as a black body, from what leaves it.
    SkinSignal {
        leaving: Slot,
        reflected: Slot,
        emissivity: Slot,
    },
    /// Emissivity from a patch of known temperature beside it.
    SolvedEmissivity {
        leaving: Slot,
        patch: Slot,
        reflected: Slot,
    },
    /// A function of a stretch of the arguments: from, count.
    Call(Function, usize, usize),
}

/// What a step reads from.
pub(super) struct Sources<'a> {
    pub(super) inputs: &'a [f64],
    pub(super) columns: &'a [f64],
    pub(super) draws: usize,
    pub(super) arguments: &'a [Slot],
    pub(super) detectors: &'a [Arc<Detector>],
}

impl<'a> Sources<'a> {
    fn column(&self, slot: Slot) -> &'a [f64] {
        &self.columns[slot.0 * self.draws..][..self.draws]
    }
}

impl Step {
    /// The input that it brings in.
    pub(super) const fn input(&self) -> Option<usize> {
        match *self {
            Self::Input(index) => Some(index),
            _ => None,
        }
    }

    /// Names every slot that it reads.
    pub(super) fn sources(&self, arguments: &[Slot], mut name: impl FnMut(Slot)) {
        match *self {
            Self::Input(_) | Self::Constant(_) | Self::Frozen { .. } => {}
            Self::Sum(a, b)
            | Self::Difference(a, b)
            | Self::Product(a, b)
            | Self::Quotient(a, b) => [a, b].into_iter().for_each(name),
            Self::Mean(start, count) | Self::Call(_, start, count) => {
                arguments[start..][..count].iter().copied().for_each(name);
            }
            Self::Signal(_, slot) | Self::Temperature(_, slot) => name(slot),
            Self::Erring {
                apparent,
                shares: [(low, _), (high, _)],
                drift,
            } => [apparent, low, high, drift].into_iter().for_each(name),
            Self::Arriving {
                own,
                reflected,
                emissivity,
                ambient,
                transmittance,
            } => [own, reflected, emissivity, ambient, transmittance]
                .into_iter()
                .for_each(name),
            Self::PathRemoved {
                arriving,
                ambient,
                transmittance,
            } => [arriving, ambient, transmittance]
                .into_iter()
                .for_each(name),
            Self::SkinSignal {
                leaving,
                reflected,
                emissivity,
            } => [leaving, reflected, emissivity].into_iter().for_each(name),
            Self::SolvedEmissivity {
                leaving,
                patch,
                reflected,
            } => [leaving, patch, reflected].into_iter().for_each(name),
        }
    }

    pub(super) fn apply(&self, from: &Sources<'_>, to: &mut [f64]) {
        match *self {
            Self::Input(index) => {
                to.copy_from_slice(&from.inputs[index * from.draws..][..from.draws])
            }
            Self::Constant(bits) | Self::Frozen { value: bits, .. } => {
                to.fill(f64::from_bits(bits))
            }
            Self::Sum(a, b) => pairwise(from, to, a, b, |a, b| a + b),
            Self::Difference(a, b) => pairwise(from, to, a, b, |a, b| a - b),
            Self::Product(a, b) => pairwise(from, to, a, b, |a, b| a * b),
            Self::Quotient(a, b) => pairwise(from, to, a, b, |a, b| a / b),
            Self::Mean(start, count) => mean(from, to, &from.arguments[start..][..count]),
            Self::Signal(detector, kelvin) => each(from, to, kelvin, |kelvin| {
                from.detectors[detector].signal(kelvin)
            }),
            Self::Temperature(detector, signal) => {
                each(from, to, signal, |signal| {
                    from.detectors[detector].temperature(signal)
                });
            }
            Self::Erring {
                apparent,
                shares,
                drift,
            } => {
                let [low, high] =
                    shares.map(|(slot, weight)| (from.column(slot), f64::from_bits(weight)));
                let (apparent, drift) = (from.column(apparent), from.column(drift));
                for (draw, to) in to.iter_mut().enumerate() {
                    *to =
                        apparent[draw] + low.0[draw] * low.1 + high.0[draw] * high.1 + drift[draw];
                }
            }
            Self::Arriving {
                own,
                reflected,
                emissivity,
                ambient,
                transmittance,
            } => {
                let columns = [own, reflected, emissivity, ambient, transmittance]
                    .map(|slot| from.column(slot));
                for (draw, to) in to.iter_mut().enumerate() {
                    let [own, reflected, emissivity, ambient, transmittance] =
                        columns.map(|column| column[draw]);
                    *to = arriving(own, reflected, emissivity, ambient, transmittance);
                }
            }
            Self::PathRemoved {
                arriving,
                ambient,
                transmittance,
            } => {
                threefold(from, to, [arriving, ambient, transmittance], path_removed);
            }
            Self::SkinSignal {
                leaving,
                reflected,
                emissivity,
            } => {
                threefold(from, to, [leaving, reflected, emissivity], skin_signal);
            }
            Self::SolvedEmissivity {
                leaving,
                patch,
                reflected,
            } => {
                threefold(from, to, [leaving, patch, reflected], solved_emissivity);
            }
            Self::Call(function, start, count) => {
                call(from, to, function, &from.arguments[start..][..count]);
            }
        }
    }
}

fn each(from: &Sources<'_>, to: &mut [f64], a: Slot, function: impl Fn(f64) -> f64) {
    for (to, &a) in to.iter_mut().zip(from.column(a)) {
        *to = function(a);
    }
}

fn pairwise(
    from: &Sources<'_>,
    to: &mut [f64],
    a: Slot,
    b: Slot,
    function: impl Fn(f64, f64) -> f64,
) {
    for ((to, &a), &b) in to.iter_mut().zip(from.column(a)).zip(from.column(b)) {
        *to = function(a, b);
    }
}

fn threefold(
    from: &Sources<'_>,
    to: &mut [f64],
    slots: [Slot; 3],
    function: impl Fn(f64, f64, f64) -> f64,
) {
    let [a, b, c] = slots.map(|slot| from.column(slot));
    for (((to, &a), &b), &c) in to.iter_mut().zip(a).zip(b).zip(c) {
        *to = function(a, b, c);
    }
}

/// Gathers each draw's arguments; a builder lays out no more of them than there is room for.
fn call(from: &Sources<'_>, to: &mut [f64], function: Function, slots: &[Slot]) {
    let mut arguments = [0.0; function::ROOM];
    let slots = &slots[..slots.len().min(function::ROOM)];
    for (draw, to) in to.iter_mut().enumerate() {
        for (argument, &slot) in arguments.iter_mut().zip(slots) {
            *argument = from.column(slot)[draw];
        }
        *to = function.value(&arguments[..slots.len()]);
    }
}

fn mean(from: &Sources<'_>, to: &mut [f64], slots: &[Slot]) {
    to.fill(0.0);
    for &slot in slots {
        for (to, &value) in to.iter_mut().zip(from.column(slot)) {
            *to += value;
        }
    }
    let count = slots.len() as f64;
    for to in to {
        *to /= count;
    }
}
