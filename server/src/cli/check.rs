//! `floorbell check`: what the house makes of a session sheet.

use std::io::{Read, Write};
use std::path::PathBuf;

use clap::Args;
use floorbell_core::session::report::report;
use floorbell_core::sheet;

use super::{Trouble, say};

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The session sheet, a Markdown file
    #[arg(value_name = "SHEET")]
    sheet: PathBuf,
}

/// Prints the time line and totals; problems go to the error output.
pub(super) fn run(options: &Options) -> Result<(), Trouble> {
    let name = options.sheet.display();
    let unreadable = |error| format!("{name} cannot be read ({error}): check the file's name.");
    let mut bytes = Vec::new();
    std::fs::File::open(&options.sheet)
        // A byte more than a sheet may have is enough for its reader to say that it is too long.
        .and_then(|file| file.take(sheet::BYTES_MAX as u64 + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    let text = String::from_utf8(bytes)
        .map_err(|_| format!("{name} is not UTF-8 text: save the sheet as UTF-8."))?;
    let reading = sheet::read(&text);
    let problems = sheet::render(&reading.problems, &text);
    // Where nobody can read them, the exit code has to do.
    let _ = std::io::stderr().write_all(problems.as_bytes());
    let Some(session) = reading.session else {
        return Err(format!("{name} is not a session sheet yet: mend the errors above.").into());
    };
    say(format_args!("{}", report(&session)));
    Ok(())
}
