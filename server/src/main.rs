//! The floorbell program.

use std::process::ExitCode;

fn main() -> ExitCode {
    floorbell_server::cli::main()
}
