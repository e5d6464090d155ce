//! The native command `loomwright`: checks, computes, draws and prints a project file. It reads a file,
//! calls the core and writes the answer.

mod ask;
mod check;
mod compare;
mod files;
mod fix;
mod schema;
mod swap;

use std::process::ExitCode;

use clap::Parser;

use self::ask::{Ask, Command};

fn main() -> ExitCode {
    match Ask::parse().command {
        Command::Check(ask) => check::run(&ask),
        Command::Merge {
            common,
            mine,
            other,
            output,
        } => compare::merge([&common, &mine, &other], output.as_deref()),
        command => match files::run(&command) {
            Ok(()) => ExitCode::SUCCESS,
            Err(problem) => fail(&problem),
        },
    }
}

/// Says what went wrong. Exit code 2: the command could not do its work.
fn fail(problem: &str) -> ExitCode {
    eprintln!("error: {problem}");
    ExitCode::from(2)
}
