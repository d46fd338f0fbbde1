//! The `endtank` command.

fn main() -> std::process::ExitCode {
    endtank::cli::run().into()
}
