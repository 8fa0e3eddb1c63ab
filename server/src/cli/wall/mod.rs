//! `floorbell wall`: a wall in a terminal, or in plain lines where the output is none.
//!
//! It waits for whatever happens first: news from the house, the next instant at which something shown
//! changes, a key, another size of the terminal. Then it shows the wall as it is at that instant. All
//! that is shown is worked out in [`floorbell_client::terminal`].

mod keep;
mod screen;

use std::future::pending;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::pin::Pin;
use std::time::Duration;

use clap::Args;
use floorbell_client::api::{self, Address, ApiError};
use floorbell_client::follow::{As, Follower, News};
use floorbell_client::showing::when_shown;
use floorbell_client::terminal::{Lines, Wall};
use floorbell_core::time::HouseTime;

use self::keep::{Keep, Kept};
use self::screen::{Input, Terminal};
use super::serve::{in_runtime, stop_signal};
use super::{Trouble, log_to_stderr};

/// The wait before a wall that was not taken in asks again: it changes little within seconds.
const ASK_AGAIN_AFTER: Duration = Duration::from_secs(5);
/// The house turned the token away: it is not known, or not let in any longer.
const NOT_KNOWN: [u16; 2] = [401, 403];

/// What stands under the options in the help.
pub(super) const AFTER_HELP: &str = "It shows a number: let that wall in on the coach device. q or \
     Ctrl-C ends it, Ctrl-L draws it anew.\nWhere the output is no terminal, it prints a line for each \
     change, with house time.";

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The house's address, as its server prints it
    #[arg(value_name = "URL", value_parser = house)]
    house: Address,
    /// Where the wall keeps what the house knows it by [default:
    /// ~/.local/state/floorbell, or where the XDG variables say]
    #[arg(long, value_name = "DIR", verbatim_doc_comment)]
    data: Option<PathBuf>,
    /// Ring the terminal's bell at each bell of the class clock
    #[arg(long)]
    bell: bool,
}

/// The house's address, or that of its wall page, which the server prints.
fn house(text: &str) -> Result<Address, ApiError> {
    text.strip_suffix("/wall").unwrap_or(text).parse()
}

/// Shows the wall until it is told to end.
pub(super) fn run(options: &Options) -> Result<(), Trouble> {
    // A warning would stand in the middle of the picture.
    log_to_stderr("error");
    let keep = Keep::new(options.data.clone(), &options.house)?;
    in_runtime(show(options, keep))
}

async fn show(options: &Options, keep: Keep) -> Result<(), Trouble> {
    let told = stop_signal()?;
    tokio::pin!(told);
    // A wall that was never let in here asks before it shows anything, so that a wrong address is said
    // at once. One that was waits for its house as long as it takes: it may have been switched on first.
    let kept = match keep.read()? {
        Some(kept) => kept,
        None => keep.keep(&api::wall(&options.house).await?)?,
    };
    let mut member = Member::new(options.house.clone(), keep, kept);
    let mut face = if io::stdout().is_terminal() {
        Face::Terminal(Terminal::enter()?)
    } else {
        Face::Lines(Lines::default())
    };
    let mut rung: Option<HouseTime> = None;
    loop {
        let now = floorbell_client::now();
        let sync = member.follower.device().sync();
        let at = sync.shown(now).map(|shown| shown.time);
        let wall = member.wall(at);
        let rings = rung.zip(at).is_some_and(|(rung, at)| wall.rang(rung, at));
        rung = at;
        match face.show(&wall, options.bell && rings) {
            // Whoever read the output has gone.
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => return Ok(()),
            shown => shown?,
        }
        let due = wall.next_change().and_then(|change| when_shown(sync, now, change));
        let wait = due.map(|due| Duration::from_micros((due - now).as_micros().max(0) as u64));
        tokio::select! {
            () = &mut told => return Ok(()),
            ended = member.next() => ended?,
            () = passes(wait) => {}
            input = face.input() => match input {
                Input::Leave => return Ok(()),
                Input::Changed => {}
            },
        }
    }
}

/// Resolves after a time; without one, never.
async fn passes(wait: Option<Duration>) {
    match wait {
        Some(wait) => tokio::time::sleep(wait).await,
        None => pending().await,
    }
}

type Asking = Pin<Box<dyn Future<Output = Result<api::Wall, ApiError>>>>;

/// The wall as a member of its house: it follows the class, and asks to be let in where the house does
/// not know it.
struct Member {
    house: Address,
    keep: Keep,
    follower: Follower,
    /// Asks to be let in.
    asking: Option<Asking>,
    /// Why the house did not take the wall in.
    problem: Option<String>,
}

impl Member {
    fn new(house: Address, keep: Keep, kept: Kept) -> Self {
        let follower = follower(&house, kept);
        Self { house, keep, follower, asking: None, problem: None }
    }

    fn wall(&self, at: Option<HouseTime>) -> Wall<'_> {
        Wall::of(self.follower.device(), self.problem.as_deref(), at)
    }

    /// Waits for news. May be dropped half-way and called again.
    async fn next(&mut self) -> Result<(), Trouble> {
        let asked = async {
            match &mut self.asking {
                Some(asking) => asking.await,
                None => pending().await,
            }
        };
        tokio::select! {
            news = self.follower.next() => match news {
                News::TurnedAway(status) if NOT_KNOWN.contains(&status) => {
                    self.ask(Duration::ZERO);
                }
                News::TurnedAway(status) => return Err(format!(
                    "{} turned this wall away ({status}): use the floorbell of the same version.",
                    self.house
                ).into()),
                News::Connected | News::Lost(_) | News::Heard(_) => {}
            },
            asked = asked => match asked {
                Ok(wall) => {
                    (self.asking, self.problem) = (None, None);
                    self.follower = follower(&self.house, self.keep.keep(&wall)?);
                }
                Err(problem) => {
                    self.problem = Some(problem.to_string());
                    self.ask(ASK_AGAIN_AFTER);
                }
            },
        }
        Ok(())
    }

    fn ask(&mut self, after: Duration) {
        let house = self.house.clone();
        self.asking = Some(Box::pin(async move {
            tokio::time::sleep(after).await;
            api::wall(&house).await
        }));
    }
}

fn follower(house: &Address, Kept { device, token }: Kept) -> Follower {
    Follower::new(house.clone(), token, As::Wall).known_as(device)
}

/// What the wall is shown on.
enum Face {
    Terminal(Terminal),
    /// Plain lines on the output.
    Lines(Lines),
}

impl Face {
    fn show(&mut self, wall: &Wall<'_>, rings: bool) -> io::Result<()> {
        match self {
            Self::Terminal(terminal) => terminal.show(wall, rings),
            Self::Lines(lines) => {
                let mut out = io::stdout().lock();
                for line in lines.of(wall) {
                    writeln!(out, "{line}")?;
                }
                out.flush()
            }
        }
    }

    async fn input(&mut self) -> Input {
        match self {
            Self::Terminal(terminal) => terminal.input().await,
            Self::Lines(_) => pending().await,
        }
    }
}
