//! The command line: a file a command. Only this module prints and decides the exit status.

mod annotate;
mod check;
mod compare;
mod completions;
mod demo;
mod draws;
mod man;
mod new;
mod new_files;
mod plan;
mod progress;
mod read;
mod scale;
mod surfaces;
mod table;
mod terminal;

use clap::{Parser, Subcommand};

/// How the program ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Done: 0.
    Done,
    /// The input is wrong or a file failed: 1.
    Failed,
}

impl From<Status> for std::process::ExitCode {
    fn from(status: Status) -> Self {
        match status {
            Status::Done => Self::SUCCESS,
            Status::Failed => Self::FAILURE,
        }
    }
}

/// Compares charge-air coolers from thermal pictures of their end tanks.
///
/// Corrects what the camera showed for each tank's material, works out what each cooler does, compares the candidates
/// with the baseline and writes annotated pictures, tables and a report into a results folder.
///
/// Exit status: 0 done; 1 the input is wrong or a file failed; 2 the command line is wrong.
#[derive(Debug, Parser)]
#[command(
    name = "endtank",
    version,
    max_term_width = 100,
    arg_required_else_help = true
)]
struct Cli {
    /// Print errors only.
    #[arg(long, short, global = true)]
    quiet: bool,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Compare(compare::Arguments),
    Annotate(annotate::Arguments),
    Read(Box<read::Arguments>),
    Check(check::Arguments),
    New(new::Arguments),
    Plan(plan::Arguments),
    Table(table::Arguments),
    Surfaces(surfaces::Arguments),
    Demo(demo::Arguments),
    Completions(completions::Arguments),
    Man(man::Arguments),
}

/// Runs the command line of this process.
#[must_use]
pub fn run() -> Status {
    let cli = Cli::parse();
    let terminal = terminal::Terminal::new(cli.quiet);
    match &cli.command {
        Command::Compare(arguments) => compare::run(arguments, &terminal),
        Command::Annotate(arguments) => annotate::run(arguments, &terminal),
        Command::Read(arguments) => read::run(arguments, &terminal),
        Command::Check(arguments) => check::run(arguments, &terminal),
        Command::New(arguments) => new::run(arguments, &terminal),
        Command::Plan(arguments) => plan::run(arguments, &terminal),
        Command::Table(arguments) => table::run(arguments, &terminal),
        Command::Surfaces(arguments) => surfaces::run(arguments, &terminal),
        Command::Demo(arguments) => demo::run(arguments, &terminal),
        Command::Completions(arguments) => completions::run(arguments),
        Command::Man(arguments) => man::run(arguments, &terminal),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn every_command_and_option_has_help() {
        let command = Cli::command().help_expected(true);
        command.debug_assert();
    }
}
