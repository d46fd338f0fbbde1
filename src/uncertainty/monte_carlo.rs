//! The Monte Carlo: many draws of the whole model at once.

use std::ops::Range as Span;
use std::sync::Mutex;

use rayon::prelude::*;

use super::draw::Stream;
use super::scatter::{Draws, Pool};
use super::tally::{Histogram, Moments, Range};
use crate::model::{Model, Needed, Slot};

/// Draws that are evaluated together: enough to spread the cost of a step, few enough for the caches.
pub(super) const BLOCK: usize = 256;

/// Draws of the first look, from which the histograms' ends are found; the same draws are counted again later.
const FIRST_LOOK: usize = 8 * BLOCK;

/// Into at most so many portions the blocks are dealt, for threads to take. Their number depends on the draws alone,
/// because sums of floats depend on how they are grouped, and the results must not depend on the number of threads.
const PORTIONS: u64 = 64;

/// A portion has at least so many blocks, so that few draws do not pay for many histograms.
const LEAST_BLOCKS: u64 = 6;

/// Ends of the 95 % interval, as shares of the draws (JCGM 101:2008, 7.7: the probabilistically symmetric one).
const ENDS: (f64, f64) = (0.025, 0.975);

/// How many draws, which, and for what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Number of draws.
    pub draws: u64,
    /// Seed of the random numbers.
    pub seed: u64,
    /// Whether to ask what would change a verdict and what would narrow an interval, which takes further draws.
    pub what_ifs: bool,
}

/// A figure whose doubt is asked for: a slot, or the difference of two, with the scatter between runs where there is one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figure {
    /// The slot.
    pub slot: Slot,
    /// What is taken off it.
    pub less: Option<Slot>,
    /// Scatter of the slot: index of the pool, and of its term.
    pub scatter: Option<(usize, usize)>,
    /// Scatter of what is taken off.
    pub less_scatter: Option<(usize, usize)>,
}

/// How sure a figure is, in the unit of its slot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Ends of the 95 % interval; `None` where draws without a solution reach into its lower tail.
    pub ends: Option<(f64, f64)>,
    /// Standard deviation of the draws without the scatter, with the scatter's own added in quadrature.
    pub standard: f64,
    /// Share of the draws that have no solution.
    pub unsolved: f64,
}

impl Interval {
    /// How far it reaches to either side: half of its width; `None` where it has no ends.
    #[must_use]
    pub fn reach(&self) -> Option<f64> {
        self.ends.map(|(low, high)| 0.5 * (high - low))
    }
}

/// Draws the model and tells how sure each figure is.
///
/// The result depends on the model, the figures and the settings, not on the number of threads.
#[must_use]
pub fn simulate(
    model: &Model,
    pools: &[Pool],
    figures: &[Figure],
    settings: Settings,
) -> Vec<Interval> {
    let simulation = Simulation::new(model, pools, figures, settings.seed);
    let centres = simulation.centres();
    let ranges = simulation.ranges(settings.draws);
    let blocks = settings.draws.div_ceil(BLOCK as u64);
    let histograms: Mutex<Vec<Histogram>> =
        Mutex::new(ranges.iter().map(|&range| Histogram::new(range)).collect());
    let portions = (blocks / LEAST_BLOCKS).clamp(1, PORTIONS);
    let moments: Vec<Vec<Moments>> = (0..portions)
        .into_par_iter()
        .map(|portion| {
            let share = blocks * portion / portions..blocks * (portion + 1) / portions;
            let (counted, moments) = simulation.portion(share, settings.draws, &ranges, &centres);
            // A poisoned lock holds counts that are still sound: counting cannot stop half way through a histogram.
            let mut all = histograms
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            all.iter_mut()
                .zip(&counted)
                .for_each(|(all, part)| all.merge(part));
            moments
        })
        .collect();
    let histograms = histograms
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    figures
        .iter()
        .zip(&histograms)
        .enumerate()
        .map(|(index, (figure, histogram))| {
            let mut sums = Moments::default();
            moments
                .iter()
                .filter_map(|portion| portion.get(index))
                .for_each(|part| sums.merge(part));
            interval(&sums, histogram, pools, *figure)
        })
        .collect()
}

/// The draws of some figures themselves, without the scatter between runs: for what cannot be told from an interval. NaN
/// stands for a draw without a solution. They are all in memory, so `settings.draws` should be few.
#[must_use]
pub fn draws(model: &Model, figures: &[Figure], settings: Settings) -> Vec<Vec<f64>> {
    let simulation = Simulation::new(model, &[], figures, settings.seed);
    let wanted = usize::try_from(settings.draws).unwrap_or(usize::MAX);
    let mut all: Vec<Vec<f64>> = vec![Vec::new(); figures.len()];
    let mut columns = simulation.columns();
    for block in 0..settings.draws.div_ceil(BLOCK as u64) {
        simulation.draw(block, &mut columns);
        for (&figure, draws) in figures.iter().zip(&mut all) {
            Simulation::plain(figure, &mut columns);
            draws.extend_from_slice(&columns.figure);
        }
    }
    all.iter_mut().for_each(|draws| draws.truncate(wanted));
    all
}

/// Standard deviation of the scatter between runs of a figure; 0 where it has none.
pub fn scatter_of(pools: &[Pool], figure: Figure) -> f64 {
    let term = |(pool, term): (usize, usize)| pools.get(pool)?.terms.get(term);
    let less = figure.less_scatter.and_then(term);
    match figure.scatter.and_then(term) {
        Some(own) => own.standard_less(less),
        None => less.map_or(0.0, |less| less.standard_less(None)),
    }
}

fn interval(sums: &Moments, histogram: &Histogram, pools: &[Pool], figure: Figure) -> Interval {
    let scatter = scatter_of(pools, figure);
    Interval {
        ends: histogram.quantile(ENDS.0).zip(histogram.quantile(ENDS.1)),
        standard: sums.deviation().hypot(scatter),
        unsolved: histogram.unsolved_share(),
    }
}

/// A model with everything that is drawn for it.
pub(super) struct Simulation<'a> {
    pub(super) model: &'a Model,
    pub(super) figures: &'a [Figure],
    /// What the figures rest on: the rest of the model is not drawn.
    needed: Needed,
    /// One for each of the model's inputs.
    streams: Vec<Stream>,
    pools: Vec<Draws>,
    /// For each pool the first of its columns.
    first_column: Vec<usize>,
    scatter_columns: usize,
}

/// The columns of one block; made once for a thread's portion and used again for each block.
pub(super) struct Columns {
    pub(super) inputs: Vec<f64>,
    slots: Vec<f64>,
    scatter: Vec<f64>,
    pub(super) figure: Vec<f64>,
}

impl<'a> Simulation<'a> {
    pub(super) fn new(model: &'a Model, pools: &[Pool], figures: &'a [Figure], seed: u64) -> Self {
        let mut first_column = Vec::new();
        let mut scatter_columns = 0;
        for pool in pools {
            first_column.push(scatter_columns);
            scatter_columns += pool.terms.len();
        }
        let slots: Vec<Slot> = figures
            .iter()
            .flat_map(|figure| [Some(figure.slot), figure.less])
            .flatten()
            .collect();
        Self {
            model,
            figures,
            needed: model.needed(&slots),
            streams: model
                .inputs()
                .iter()
                .map(|input| Stream::new(seed, &input.place))
                .collect(),
            pools: pools.iter().map(|pool| Draws::new(pool, seed)).collect(),
            first_column,
            scatter_columns,
        }
    }

    pub(super) fn columns(&self) -> Columns {
        Columns {
            inputs: vec![0.0; self.model.inputs().len() * BLOCK],
            slots: vec![0.0; self.model.slots() * BLOCK],
            scatter: vec![0.0; self.scatter_columns * BLOCK],
            figure: vec![0.0; BLOCK],
        }
    }

    /// Draws a block and evaluates the model on it.
    pub(super) fn draw(&self, block: u64, columns: &mut Columns) {
        for &index in &self.needed.inputs {
            let column = &mut columns.inputs[index * BLOCK..(index + 1) * BLOCK];
            self.streams[index]
                .block(block)
                .fill(&self.model.inputs()[index], column);
        }
        let steps = self.needed.steps.iter().copied();
        self.model
            .evaluate_steps(steps, &columns.inputs, BLOCK, &mut columns.slots);
        for (pool, &first) in self.pools.iter().zip(&self.first_column) {
            pool.fill(block, BLOCK, &mut columns.scatter[first * BLOCK..]);
        }
    }

    /// A figure's draws of the block, without the scatter.
    pub(super) fn plain(figure: Figure, columns: &mut Columns) {
        let of = |slot: Slot| slot.index() * BLOCK..(slot.index() + 1) * BLOCK;
        columns
            .figure
            .copy_from_slice(&columns.slots[of(figure.slot)]);
        if let Some(less) = figure.less {
            for (value, less) in columns.figure.iter_mut().zip(&columns.slots[of(less)]) {
                *value -= less;
            }
        }
    }

    /// Adds the scatter to a figure's draws of the block.
    fn scatter(&self, figure: Figure, columns: &mut Columns) {
        for (scatter, sign) in [(figure.scatter, 1.0), (figure.less_scatter, -1.0)] {
            if let Some((pool, term)) = scatter {
                let column = self.first_column[pool] + term;
                let scatter = &columns.scatter[column * BLOCK..(column + 1) * BLOCK];
                for (value, scatter) in columns.figure.iter_mut().zip(scatter) {
                    *value += sign * scatter;
                }
            }
        }
    }

    /// Central values of the figures, about which sums are taken; 0 where there is none.
    pub(super) fn centres(&self) -> Vec<f64> {
        let central = self.model.central();
        let value = |slot| central.get(slot).unwrap_or(0.0);
        self.figures
            .iter()
            .map(|figure| value(figure.slot) - figure.less.map_or(0.0, value))
            .collect()
    }

    /// The histograms' ends, from a first look.
    fn ranges(&self, draws: u64) -> Vec<Range> {
        let blocks = draws
            .div_ceil(BLOCK as u64)
            .min((FIRST_LOOK / BLOCK) as u64);
        let mut first: Vec<Vec<f64>> = vec![Vec::with_capacity(FIRST_LOOK); self.figures.len()];
        let mut columns = self.columns();
        for block in 0..blocks {
            self.draw(block, &mut columns);
            for (&figure, draws) in self.figures.iter().zip(&mut first) {
                Self::plain(figure, &mut columns);
                self.scatter(figure, &mut columns);
                draws.extend_from_slice(&columns.figure);
            }
        }
        first.iter().map(|draws| Range::of(draws)).collect()
    }

    /// Counts the blocks of one portion.
    fn portion(
        &self,
        blocks: Span<u64>,
        draws: u64,
        ranges: &[Range],
        centres: &[f64],
    ) -> (Vec<Histogram>, Vec<Moments>) {
        let mut histograms: Vec<Histogram> =
            ranges.iter().map(|&range| Histogram::new(range)).collect();
        let mut moments = vec![Moments::default(); ranges.len()];
        let mut columns = self.columns();
        for block in blocks {
            self.draw(block, &mut columns);
            // The last block may be wanted only in part.
            let wanted = draws.saturating_sub(block * BLOCK as u64).min(BLOCK as u64) as usize;
            for (index, &figure) in self.figures.iter().enumerate() {
                Self::plain(figure, &mut columns);
                moments[index].add(&columns.figure[..wanted], centres[index]);
                self.scatter(figure, &mut columns);
                let histogram = &mut histograms[index];
                columns.figure[..wanted]
                    .iter()
                    .for_each(|&draw| histogram.add(draw));
            }
        }
        (histograms, moments)
    }
}
