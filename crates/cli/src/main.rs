//! The command line of Coatwright. Reads the clock, the environment and files; computes nothing.

mod args;
mod commands;
mod files;
mod out;

use clap::Parser;
use std::process::ExitCode;

/// Populations grow on whichever thread follows them: an allocator without locks between threads halves the time of
/// many dogs at once.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let args = args::Args::parse();
    let out = out::Out::stdout();
    match commands::run(args, out) {
        Ok(()) => ExitCode::SUCCESS,
        Err(end) => end.report(),
    }
}
