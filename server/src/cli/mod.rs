//! The command line. Exit codes: 0 done; 1 a problem in what was given, said in one sentence on the
//! error output; 2 a command that was not understood (clap's own).

mod addresses;
mod board;
mod check;
mod demo;
mod serve;
mod wall;

use std::fmt::{self, Display};
use std::io::Write;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use tracing_subscriber::EnvFilter;

/// Runs a group-fitness class from a session sheet: one clock for the coach, the wall and the
/// athletes' phones, and a board that moves with every round.
#[derive(Debug, Parser)]
#[command(
    name = "floorbell",
    version,
    verbatim_doc_comment,
    after_help = "The first time: start `floorbell serve` and open the set-up link that it shows."
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the house: its pages, its clock and its classes
    Serve(serve::Options),
    /// Show the class clock and the board in this terminal
    #[command(after_help = wall::AFTER_HELP)]
    Wall(wall::Options),
    /// Show a class that simulated athletes do, in a house of its own
    Demo(demo::Options),
    /// Read a session sheet, and show its problems, its time line and its totals
    Check(check::Options),
}

/// Why a command could not do what was asked: one sentence that says what to do.
#[derive(Debug)]
struct Trouble(String);

impl<T: Display> From<T> for Trouble {
    fn from(problem: T) -> Self {
        Self(problem.to_string())
    }
}

/// Runs the command that was given.
pub fn main() -> ExitCode {
    let outcome = match Arguments::parse().command {
        Command::Serve(options) => serve::run(&options),
        Command::Wall(options) => wall::run(&options),
        Command::Demo(options) => demo::run(&options),
        Command::Check(options) => check::run(&options),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(Trouble(text)) => {
            // Where nobody can read it, the exit code has to do.
            let _ = writeln!(std::io::stderr(), "floorbell: {text}");
            ExitCode::FAILURE
        }
    }
}

/// Sends the log to the error output. `FLOORBELL_LOG` says how much of it, for example `debug`;
/// without it, `level`.
fn log_to_stderr(level: &str) {
    let filter = EnvFilter::try_from_env("FLOORBELL_LOG").unwrap_or_else(|_| level.into());
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_target(false)
        .init();
}

/// Prints for whoever started the program. Where the output is closed nobody reads it, which is no
/// reason to stop.
fn say(text: fmt::Arguments<'_>) {
    let mut out = std::io::stdout().lock();
    let _ = out.write_fmt(text).and_then(|()| out.flush());
}
