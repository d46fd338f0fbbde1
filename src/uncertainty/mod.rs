//! How sure the figures are: one Monte Carlo over the whole session (JCGM 101), in which what two coolers share is drawn
//! once and cancels in their difference, and what they do not share stays.

mod budget;
mod draw;
mod monte_carlo;
mod scatter;
mod tally;

pub use budget::{Shares, shares};
pub use draw::{Generator, Stream};
pub use monte_carlo::{Figure, Interval, Settings, draws, scatter_of, simulate};
pub use scatter::{Pool, Term, pooled};
