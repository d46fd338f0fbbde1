//! What is printed where: results to standard output, messages to standard error.

use std::io::{IsTerminal, Write};

use super::Status;
use crate::diagnostics::Problems;
use crate::pipeline::DrawError;
use crate::report::WriteError;

/// Columns of a page where the terminal's own are not known.
const WIDTH: usize = 100;

/// Standard output and standard error, and what may be sent to them.
#[derive(Debug)]
pub(super) struct Terminal {
    pub(super) quiet: bool,
    out_colour: bool,
    error_colour: bool,
}

impl Terminal {
    pub(super) fn new(quiet: bool) -> Self {
        // https://no-color.org: set and not empty means no colour.
        let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|value| value == "dumb");
        Self {
            quiet,
            out_colour: !plain && !dumb && std::io::stdout().is_terminal(),
            error_colour: !plain && !dumb && std::io::stderr().is_terminal(),
        }
    }

    /// Whether results are printed in colour.
    pub(super) fn colour(&self) -> bool {
        self.out_colour
    }

    /// Columns to print in.
    pub(super) fn width(&self) -> usize {
        std::env::var("COLUMNS")
            .ok()
            .and_then(|columns| columns.parse().ok())
            .unwrap_or(WIDTH)
    }

    /// Prints results, unless quiet. A reader that has gone away is not an error.
    pub(super) fn print(&self, text: &str) {
        if !self.quiet {
            let _ = std::io::stdout().lock().write_all(text.as_bytes());
        }
    }

    /// Prints problems with the input.
    pub(super) fn problems(&self, problems: &Problems) -> Status {
        let _ = std::io::stderr()
            .lock()
            .write_all(problems.render(self.error_colour).as_bytes());
        Status::Failed
    }

    /// Prints a message that is no result.
    pub(super) fn note(&self, text: &str) {
        let _ = std::io::stderr().lock().write_all(text.as_bytes());
    }

    /// Prints why something could not be written.
    pub(super) fn failure(&self, what: &str, mend: &str) -> Status {
        let _ = writeln!(std::io::stderr().lock(), "error: {what}\nhelp: {mend}");
        Status::Failed
    }

    /// Prints why pictures could not be drawn.
    pub(super) fn draw_error(&self, error: &DrawError) -> Status {
        match error {
            DrawError::Problems(problems) => self.problems(problems),
            DrawError::Write(error) => self.write_error(error),
        }
    }

    /// Prints why results could not be written.
    pub(super) fn write_error(&self, error: &WriteError) -> Status {
        self.failure(&error.what, &error.mend)
    }
}
