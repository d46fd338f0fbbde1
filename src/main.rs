//! The `endtank` command.

fn main() {}
