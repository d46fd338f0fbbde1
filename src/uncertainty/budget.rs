//! Where the doubt of a figure comes from: each input's share of its variance.
//!
//! A share is the squared correlation of the input's draws with the figure's (Saltelli et al., Global Sensitivity
//! Analysis, 2008, section 1.2.5, from memory): what of the variance a straight line in that input explains. Where inputs act together or along a
//! curve the shares add up to less than 1; the rest belongs to no single input.

use rayon::prelude::*;

use super::monte_carlo::{BLOCK, Columns, Figure, Settings, Simulation, scatter_of};
use super::scatter::Pool;
use crate::model::{Model, Slot};
use crate::units::Law;

/// Most draws that shares are worked out from: a share of one half is then steady to ± 0.01.
const DRAWS: u64 = 16_384;

/// Blocks that are summed together before the sums are added in order, so that the number of threads plays no part.
const BLOCKS_TOGETHER: u64 = 8;

/// The shares of one figure's variance.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// Indices of the model's inputs with their shares, the largest first.
    pub inputs: Vec<(usize, f64)>,
    /// The share of the scatter between runs.
    pub scatter: f64,
}

/// The shares of the variance of each figure, whose square root is its standard uncertainty: of every input that is drawn,
/// and of the scatter between runs.
///
/// The result depends on the model, the figures and the settings, not on the number of threads.
#[must_use]
pub fn shares(
    model: &Model,
    pools: &[Pool],
    figures: &[Figure],
    settings: Settings,
) -> Vec<Shares> {
    let simulation = Simulation::new(model, pools, figures, settings.seed);
    let sought: Vec<Vec<usize>> = figures.iter().map(|figure| drawn(model, figure)).collect();
    let draws = settings.draws.min(DRAWS);
    let blocks = draws.div_ceil(BLOCK as u64);
    let portions: Vec<Vec<Sums>> = (0..blocks.div_ceil(BLOCKS_TOGETHER))
        .into_par_iter()
        .map(|portion| {
            let first = portion * BLOCKS_TOGETHER;
            let blocks = first..(first + BLOCKS_TOGETHER).min(blocks);
            portion_sums(&simulation, blocks, draws, &sought)
        })
        .collect();
    figures
        .iter()
        .zip(&sought)
        .enumerate()
        .map(|(index, (&figure, inputs))| {
            let mut sums = Sums::new(inputs.len());
            portions
                .iter()
                .for_each(|portion| sums.merge(&portion[index]));
            of_figure(&sums, inputs, scatter_of(pools, figure))
        })
        .collect()
}

/// The inputs that a figure rests on and that are drawn at all.
fn drawn(model: &Model, figure: &Figure) -> Vec<usize> {
    let slots: Vec<Slot> = std::iter::once(figure.slot).chain(figure.less).collect();
    let mut inputs = model.needed(&slots).inputs;
    inputs.retain(|&input| model.inputs()[input].law != Law::Exact);
    inputs
}

fn of_figure(sums: &Sums, inputs: &[usize], scatter: f64) -> Shares {
    let variance = sums.variance();
    let whole = variance + scatter * scatter;
    if whole <= 0.0 {
        return Shares {
            inputs: Vec::new(),
            scatter: 0.0,
        };
    }
    let mut shares: Vec<(usize, f64)> = inputs
        .iter()
        .zip(&sums.inputs)
        .map(|(&input, of_input)| (input, sums.squared_correlation(of_input) * variance / whole))
        .collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    Shares {
        inputs: shares,
        scatter: scatter * scatter / whole,
    }
}

fn portion_sums(
    simulation: &Simulation<'_>,
    blocks: std::ops::Range<u64>,
    draws: u64,
    sought: &[Vec<usize>],
) -> Vec<Sums> {
    let centres = simulation.centres();
    let mut columns = simulation.columns();
    let mut all: Vec<Sums> = sought
        .iter()
        .map(|inputs| Sums::new(inputs.len()))
        .collect();
    for block in blocks {
        simulation.draw(block, &mut columns);
        // The last block may be wanted only in part.
        let wanted = draws.saturating_sub(block * BLOCK as u64).min(BLOCK as u64) as usize;
        for (index, (sums, inputs)) in all.iter_mut().zip(sought).enumerate() {
            Simulation::plain(simulation.figures[index], &mut columns);
            sums.add(simulation.model, inputs, &columns, centres[index], wanted);
        }
    }
    all
}

/// Sums over a figure's solved draws, about its central value and those of its inputs, which keeps their digits.
#[derive(Debug, Clone)]
struct Sums {
    count: f64,
    sum: f64,
    squares: f64,
    inputs: Vec<OfInput>,
}

/// Sums of one input over the same draws.
#[derive(Debug, Clone, Copy, Default)]
struct OfInput {
    sum: f64,
    squares: f64,
    products: f64,
}

impl Sums {
    fn new(inputs: usize) -> Self {
        Self {
            count: 0.0,
            sum: 0.0,
            squares: 0.0,
            inputs: vec![OfInput::default(); inputs],
        }
    }

    fn add(
        &mut self,
        model: &Model,
        inputs: &[usize],
        columns: &Columns,
        centre: f64,
        draws: usize,
    ) {
        let figure = &columns.figure[..draws];
        for value in figure.iter().filter(|value| value.is_finite()) {
            let value = value - centre;
            self.count += 1.0;
            self.sum += value;
            self.squares += value * value;
        }
        for (sums, &input) in self.inputs.iter_mut().zip(inputs) {
            let about = model.inputs()[input].value;
            let column = &columns.inputs[input * BLOCK..][..draws];
            for (input, value) in column.iter().zip(figure) {
                if value.is_finite() {
                    let (input, value) = (input - about, value - centre);
                    sums.sum += input;
                    sums.squares += input * input;
                    sums.products += input * value;
                }
            }
        }
    }

    fn merge(&mut self, other: &Self) {
        self.count += other.count;
        self.sum += other.sum;
        self.squares += other.squares;
        for (own, other) in self.inputs.iter_mut().zip(&other.inputs) {
            own.sum += other.sum;
            own.squares += other.squares;
            own.products += other.products;
        }
    }

    fn variance(&self) -> f64 {
        if self.count < 2.0 {
            return 0.0;
        }
        ((self.squares - self.sum * self.sum / self.count) / (self.count - 1.0)).max(0.0)
    }

    /// r² of an input with the figure; 0 where either does not vary.
    fn squared_correlation(&self, input: &OfInput) -> f64 {
        let about_mean = |products: f64, a: f64, b: f64| products - a * b / self.count;
        let own = about_mean(self.squares, self.sum, self.sum);
        let others = about_mean(input.squares, input.sum, input.sum);
        let both = about_mean(input.products, input.sum, self.sum);
        let share = both * both / (own * others);
        if share.is_finite() {
            share.min(1.0)
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Builder, Domain};
    use crate::uncertainty::Term;
    use approx::assert_abs_diff_eq;

    const SETTINGS: Settings = Settings {
        draws: 100_000,
        seed: 5,
        what_ifs: false,
    };

    fn normal(standard: f64) -> Law {
        Law::Normal { standard }
    }

    /// 3 a − b with equal laws: nine tenths and one tenth; c is not in it, d is exact.
    #[test]
    fn shares_of_a_sum_go_by_the_variances() {
        let mut builder = Builder::default();
        let a = builder.input("a", 10.0, normal(1.0), Domain::Any);
        let b = builder.input("b", -2.0, normal(1.0), Domain::Any);
        builder.input("c", 1.0, normal(1.0), Domain::Any);
        let exact = builder.input("d", 3.0, Law::Exact, Domain::Any);
        let threefold = builder.product(exact, a);
        let model_slot = builder.difference(threefold, b);
        let model = builder.build();
        let figure = Figure {
            slot: model_slot,
            less: None,
            scatter: None,
            less_scatter: None,
        };
        let found = shares(&model, &[], &[figure], SETTINGS).remove(0);
        assert_eq!(found.inputs.len(), 2);
        assert_eq!(found.inputs[0].0, 0);
        assert_abs_diff_eq!(found.inputs[0].1, 0.9, epsilon = 0.01);
        assert_abs_diff_eq!(found.inputs[1].1, 0.1, epsilon = 0.01);
        assert_eq!(found.scatter, 0.0);
    }

    /// What a difference shares cancels; the scatter between runs takes its part by its standard deviation.
    #[test]
    fn the_scatter_has_its_share_and_what_is_shared_has_none() {
        let mut builder = Builder::default();
        let shared = builder.input("shared", 0.0, normal(5.0), Domain::Any);
        let own = builder.input("own", 0.0, normal(1.0), Domain::Any);
        let slot = builder.sum(shared, own);
        let model = builder.build();
        let pool = Pool {
            name: "x".into(),
            freedom: 4.0,
            terms: vec![Term {
                name: "a".into(),
                parts: vec![("a".into(), 2.0)],
            }],
        };
        let figure = Figure {
            slot,
            less: Some(shared),
            scatter: Some((0, 0)),
            less_scatter: None,
        };
        let found = shares(&model, &[pool], &[figure], SETTINGS).remove(0);
        assert_abs_diff_eq!(found.scatter, 0.8, epsilon = 0.005);
        assert_eq!(found.inputs[0].0, 1);
        assert_abs_diff_eq!(found.inputs[0].1, 0.2, epsilon = 0.005);
        assert_abs_diff_eq!(found.inputs[1].1, 0.0, epsilon = 0.001);
    }

    #[test]
    fn what_does_not_vary_has_no_shares() {
        let mut builder = Builder::default();
        let slot = builder.input("a", 10.0, Law::Exact, Domain::Any);
        let figure = Figure {
            slot,
            less: None,
            scatter: None,
            less_scatter: None,
        };
        let found = shares(&builder.build(), &[], &[figure], SETTINGS).remove(0);
        assert!(found.inputs.is_empty() && found.scatter == 0.0);
    }
}
