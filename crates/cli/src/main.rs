//! The command line of Coatwright. Reads the clock, the environment and files; computes nothing.

mod args;
mod commands;
mod files;
mod out;

use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    let args = args::Args::parse();
    let out = out::Out::stdout();
    match commands::run(args, out) {
        Ok(()) => ExitCode::SUCCESS,
        Err(end) => end.report(),
    }
}
