//! `floorbell demo`: a house with nobody in it, and a class that simulated people do. They are real
//! devices on real connections; only the people are made up.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::{Args, ValueEnum};
use floorbell_client::api::{self, Address, ApiError};
use floorbell_client::athletes::{self, Crowd};
use floorbell_client::coach::{self, Led};
use floorbell_client::follow::{As, Follower};
use floorbell_client::terminal;
use floorbell_core::name::Name;
use tokio::sync::watch;

use super::serve::{bases, in_runtime, listen, stop_signal};
use super::{Trouble, board, log_to_stderr, say};
use crate::access::{ClassCode, random_id};
use crate::house::Settings;
use crate::http;
use crate::start::{Started, start};

const HOUSE: &str = "Quayside Hall";
const EMERGENCY: &str = "Call the emergency number.\nFirst-aid kit and defibrillator: by the door.";

/// Where the demonstration listens unless it is told otherwise; taken already, any free port does.
const LISTEN: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::UNSPECIFIED), 7600);

/// How many people do the class.
const PEOPLE: usize = 16;

/// How long after the last bell the board is printed: most have entered their extra reps by then,
/// and phones that were away have come back.
const BOARD_AFTER: Duration = Duration::from_secs(10);

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The session that the class does
    #[arg(long, value_name = "NAME", default_value = "harbour-evening")]
    session: Session,
    /// Run harbour-short, so that a whole class passes in under three minutes
    #[arg(long, conflicts_with = "session")]
    quick: bool,
    /// End after the class instead of going on until Ctrl-C
    #[arg(long)]
    exit: bool,
    /// Where to listen [default: 0.0.0.0:7600, or any free port]
    #[arg(long, value_name = "ADDR:PORT")]
    listen: Option<SocketAddr>,
    /// A new data folder that is kept [default: one that is removed at the end]
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
}

/// A session that can be shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Session {
    /// As many rounds as possible, then intervals for calories
    HarbourEvening,
    /// A heavy set of three, then a ladder
    BreakwaterStrength,
    /// Two pieces in pairs
    CrewOfTwo,
    /// Four windows of one piece, then one for time
    FourTides,
    /// Every minute, intervals, and the most metres
    LighthouseEngine,
    /// Two short windows, in two and a half minutes
    HarbourShort,
}

impl Session {
    const fn sheet(self) -> &'static str {
        match self {
            Self::HarbourEvening => include_str!("../../../demo-sessions/harbour-evening.md"),
            Self::BreakwaterStrength => {
                include_str!("../../../demo-sessions/breakwater-strength.md")
            }
            Self::CrewOfTwo => include_str!("../../../demo-sessions/crew-of-two.md"),
            Self::FourTides => include_str!("../../../demo-sessions/four-tides.md"),
            Self::LighthouseEngine => include_str!("../../../demo-sessions/lighthouse-engine.md"),
            Self::HarbourShort => include_str!("../../../demo-sessions/harbour-short.md"),
        }
    }

    fn name(self) -> String {
        self.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default()
    }

    /// At its own pace, where only what has no end of its own is cut short; the short one all in a
    /// hurry.
    const fn led(self) -> Led {
        let (gather, open_most, wait) = match self {
            Self::HarbourShort => (6, 5, 2),
            _ => (20, 20, 5),
        };
        Led {
            gather: Duration::from_secs(gather),
            open_most: Duration::from_secs(open_most),
            wait: Duration::from_secs(wait),
        }
    }

    /// How much faster than life people work.
    const fn hurry(self) -> f64 {
        match self {
            Self::HarbourShort => 3.0,
            _ => 1.0,
        }
    }
}

/// Shows a class.
pub(super) fn run(options: &Options) -> Result<(), Trouble> {
    log_to_stderr("warn");
    let listener = match options.listen {
        Some(address) => listen(address)?,
        None => listen(LISTEN).or_else(|_| listen(SocketAddr::new(LISTEN.ip(), 0)))?,
    };
    let session = if options.quick { Session::HarbourShort } else { options.session };
    if let Some(data) = &options.data {
        return in_runtime(demo(listener, data, session, options.exit));
    }
    let data = Passing(std::env::temp_dir().join(format!("floorbell-{}", random_id())));
    in_runtime(demo(listener, &data.0, session, options.exit))
}

/// A folder that goes when this does.
struct Passing(PathBuf);

impl Drop for Passing {
    fn drop(&mut self) {
        // What cannot be removed stays in the folder for such things.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

async fn demo(
    listener: TcpListener,
    data: &Path,
    session: Session,
    exit: bool,
) -> Result<(), Trouble> {
    let told = stop_signal()?;
    let bound = listener.local_addr()?;
    let bases = bases(bound, &[]);
    let listener = tokio::net::TcpListener::from_std(listener)?;
    let Started { app, house, set_up } = start(data, &bases[0], &[]).await?;
    let Some(set_up) = set_up else {
        return Err(format!(
            "The data folder {} is a house that was set up already: name a new folder with --data.",
            data.display()
        )
        .into());
    };
    let name = Name::new(HOUSE)?;
    let settings = Settings { house: name, emergency: EMERGENCY.into(), places: true };
    house.set_settings(settings).await?;

    let (stop, mut stopped) = watch::channel(false);
    let own: Address = format!("http://{}", reached_at(bound)).parse()?;
    let set_up = set_up.to_string();
    let class = class(&own, &bases[0], &set_up, session, stopped.clone(), exit);
    let ending = async move {
        // An error says that nobody can tell any more, which is an end as well.
        let _ = stopped.wait_for(|&stop| stop).await;
    };
    let served = tokio::spawn(http::run(listener, app, ending));
    let outcome = tokio::select! {
        () = told => Ok(()),
        outcome = class => outcome,
    };
    stop.send_replace(true);
    served.await?;
    outcome
}

/// The address under which this machine itself reaches what listens on `bound`.
fn reached_at(bound: SocketAddr) -> SocketAddr {
    let ip = match bound.ip() {
        ip if !ip.is_unspecified() => ip,
        IpAddr::V4(_) => Ipv4Addr::LOCALHOST.into(),
        IpAddr::V6(_) => std::net::Ipv6Addr::LOCALHOST.into(),
    };
    SocketAddr::new(ip, bound.port())
}

/// Sets the house up, opens a class and has it done; then prints the board. Goes on for good unless
/// it is to `exit`.
async fn class(
    house: &Address,
    base: &str,
    set_up: &str,
    session: Session,
    stop: watch::Receiver<bool>,
    exit: bool,
) -> Result<(), Trouble> {
    let passphrase = ClassCode::random().to_string();
    let coach = api::set_up(house, set_up, &passphrase).await?;
    let name = session.name();
    api::put_sheet(house, &coach, &name, session.sheet()).await?;
    let class = api::open_class(house, &coach, &name).await?;
    say(format_args!("{}", where_to_go(base, &passphrase, &class.code)));
    // The same people in the same class each time.
    let crowd = Crowd { people: PEOPLE, seed: 1, hurry: session.hurry() };
    let athletes = athletes::run(house, &class.code, crowd, stop.clone());
    let led = async {
        coach::run(house, coach.clone(), session.led(), stop).await;
        tokio::time::sleep(BOARD_AFTER).await;
        say(format_args!("\nThe class is over.\n{}\n", board(house, coach.clone()).await));
        if !exit {
            std::future::pending::<()>().await;
        }
        Ok::<_, ApiError>(())
    };
    tokio::select! {
        ended = athletes => ended?,
        ended = led => ended?,
    }
    Ok(())
}

/// The board, as another device that follows the class is told it.
async fn board(house: &Address, coach: String) -> String {
    let mut follower = Follower::new(house.clone(), coach, As::Coach);
    loop {
        if let Some(state) = follower.device().state() {
            return board::text(state);
        }
        follower.next().await;
    }
}

fn where_to_go(base: &str, passphrase: &str, code: &str) -> String {
    let phone = format!("{base}/#c={code}");
    format!(
        "{HOUSE} is open, and {PEOPLE} simulated athletes come in for a class.\n\n  \
         coach   {base}/coach   passphrase {passphrase}\n  \
         wall    {base}/wall   (the simulated coach lets it in)\n  \
         phone   {phone}\n\n{}\n\nCtrl-C ends it.\n",
        terminal::code(&phone)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_demo_session_can_be_shown() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-sessions");
        let mut files: Vec<(String, String)> = std::fs::read_dir(folder)
            .unwrap()
            .map(|file| {
                let path = file.unwrap().path();
                let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
                (name, std::fs::read_to_string(path).unwrap())
            })
            .collect();
        files.sort();
        let sessions = Session::value_variants().iter();
        let mut shown: Vec<_> = sessions.map(|it| (it.name(), it.sheet().to_owned())).collect();
        shown.sort();
        assert_eq!(shown, files);
    }
}
