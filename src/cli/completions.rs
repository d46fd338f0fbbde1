//! `endtank completions`: completion scripts for shells.

use std::io::Write;

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::{Cli, Status};

/// Print a completion script for a shell
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The shell.
    shell: Shell,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Cli::command(), "endtank", &mut script);
    // A reader that has gone away is not an error.
    let _ = std::io::stdout().lock().write_all(&script);
    Status::Done
}
