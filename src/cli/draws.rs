//! How the intervals are worked out: options that every command with a Monte Carlo has.

use clap::Args;

use super::compare::SEED;
use crate::uncertainty::Settings;

/// Draws (so many unless asked otherwise, and at most), seed and threads.
#[derive(Debug, Args)]
pub(super) struct Draws<const USUAL: u64, const MOST: u64> {
    /// Random draws that the intervals are worked out from.
    #[arg(long, value_name = "N", default_value_t = USUAL, value_parser = clap::value_parser!(u64).range(1000..=MOST))]
    draws: u64,
    /// Seed of the random draws.
    #[arg(long, value_name = "N", default_value_t = SEED)]
    seed: u64,
    /// Threads; default: one for each processor. The results are the same for any number.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(super) jobs: Option<u16>,
}

impl<const USUAL: u64, const MOST: u64> Draws<USUAL, MOST> {
    /// What is asked of the Monte Carlo; `what_ifs` as of [`Settings`].
    pub(super) const fn settings(&self, what_ifs: bool) -> Settings {
        Settings {
            draws: self.draws,
            seed: self.seed,
            what_ifs,
        }
    }
}
