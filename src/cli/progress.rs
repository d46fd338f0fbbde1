//! A progress bar on standard error, where someone is watching and it lasts.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::terminal::Terminal;

/// Work that is done sooner than this shows no bar.
const PATIENCE: Duration = Duration::from_secs(1);

/// Counts pictures; hidden unless standard error is a terminal and the work has lasted over a second.
#[derive(Debug)]
pub(super) struct Progress {
    bar: ProgressBar,
    start: Instant,
}

impl Progress {
    pub(super) fn new(steps: usize, terminal: &Terminal) -> Self {
        let bar = ProgressBar::with_draw_target(Some(steps as u64), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template("{msg} {bar:40} {pos}/{len}") {
            bar.set_style(style);
        }
        bar.set_message("pictures");
        let start = if terminal.quiet {
            Instant::now() + Duration::from_secs(86_400)
        } else {
            Instant::now()
        };
        Self { bar, start }
    }

    /// One step done.
    pub(super) fn step(&self) {
        if self.bar.is_hidden() && Instant::now().saturating_duration_since(self.start) > PATIENCE {
            // The target hides itself where standard error is no terminal.
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar.inc(1);
    }

    /// Takes the bar away.
    pub(super) fn clear(&self) {
        self.bar.finish_and_clear();
    }
}
