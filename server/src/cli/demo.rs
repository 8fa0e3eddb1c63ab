//! `floorbell demo`: a house with nobody in it, and a class that simulated people do. They are real
//! devices on real connections; only the people are made up.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;
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
    /// Run a short session, so that a whole class passes in under three minutes
    #[arg(long)]
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

/// A session and how it is led.
struct Show {
    name: &'static str,
    sheet: &'static str,
    led: Led,
    hurry: f64,
}

/// A whole evening at its own pace; only what has no end of its own is cut short.
const EVENING: Show = Show {
    name: "harbour-evening",
    sheet: include_str!("../../../demo-sessions/harbour-evening.md"),
    led: Led {
        gather: Duration::from_secs(20),
        open_most: Duration::from_secs(20),
        wait: Duration::from_secs(5),
    },
    hurry: 1.0,
};

/// Two and a half minutes.
const SHORT: Show = Show {
    name: "harbour-short",
    sheet: include_str!("../../../demo-sessions/harbour-short.md"),
    led: Led {
        gather: Duration::from_secs(6),
        open_most: Duration::from_secs(5),
        wait: Duration::from_secs(2),
    },
    hurry: 3.0,
};

/// Shows a class.
pub(super) fn run(options: &Options) -> Result<(), Trouble> {
    log_to_stderr("warn");
    let listener = match options.listen {
        Some(address) => listen(address)?,
        None => listen(LISTEN).or_else(|_| listen(SocketAddr::new(LISTEN.ip(), 0)))?,
    };
    let show = if options.quick { &SHORT } else { &EVENING };
    if let Some(data) = &options.data {
        return in_runtime(demo(listener, data, show, options.exit));
    }
    let data = Passing(std::env::temp_dir().join(format!("floorbell-{}", random_id())));
    in_runtime(demo(listener, &data.0, show, options.exit))
}

/// A folder that goes when this does.
struct Passing(PathBuf);

impl Drop for Passing {
    fn drop(&mut self) {
        // What cannot be removed stays in the folder for such things.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

async fn demo(listener: TcpListener, data: &Path, show: &Show, exit: bool) -> Result<(), Trouble> {
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
    let class = class(&own, &bases[0], &set_up, show, stopped.clone(), exit);
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
    show: &Show,
    stop: watch::Receiver<bool>,
    exit: bool,
) -> Result<(), Trouble> {
    let passphrase = ClassCode::random().to_string();
    let coach = api::set_up(house, set_up, &passphrase).await?;
    api::put_sheet(house, &coach, show.name, show.sheet).await?;
    let class = api::open_class(house, &coach, show.name).await?;
    say(format_args!("{}", where_to_go(base, &passphrase, &class.code)));
    // The same people in the same class each time.
    let crowd = Crowd { people: PEOPLE, seed: 1, hurry: show.hurry };
    let athletes = athletes::run(house, &class.code, crowd, stop.clone());
    let led = async {
        coach::run(house, coach.clone(), show.led, stop).await;
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
