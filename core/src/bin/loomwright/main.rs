//! The native command `loomwright`: checks, computes, draws and prints a project file. It reads a file,
//! calls the core and writes the answer.

mod ask;
mod check;
mod compare;
mod files;
mod fix;
mod report;
mod run;
mod schema;
mod sheet;
mod swap;
mod tidy;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    run::run(&ask::Ask::parse().command).unwrap_or_else(|problem| {
        eprintln!("error: {problem}");
        // The command could not do its work.
        ExitCode::from(2)
    })
}
