//! `floorbell serve`: the house, until it is told to stop.

use std::fmt::Write as _;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;
use floorbell_client::terminal;
use tokio::signal::unix::{SignalKind, signal};

use super::{Trouble, addresses, log_to_stderr, say};
use crate::access::Token;
use crate::http;
use crate::start::{self, Started};

/// How long work on threads of its own may go on after everything else has ended: one hash of a
/// passphrase on a slow machine.
const THREADS_END_WITHIN: Duration = Duration::from_millis(200);

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The data folder, made where there is none [default: ~/.local/share/floorbell, or where the
    /// XDG variables say]
    #[arg(long, value_name = "DIR", verbatim_doc_comment)]
    data: Option<PathBuf>,
    /// Where to listen
    #[arg(long, value_name = "ADDR:PORT", default_value = "0.0.0.0:7600")]
    listen: SocketAddr,
    /// A name by which others reach this machine, beside its addresses. May be repeated; the first
    /// stands in the codes that phones scan
    #[arg(long = "name", value_name = "HOST", value_parser = host_name, verbatim_doc_comment)]
    names: Vec<String>,
}

/// A host's name and nothing else: no scheme, port or path.
fn host_name(text: &str) -> Result<String, String> {
    let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '.');
    if text.is_empty() || !text.chars().all(fits) {
        return Err("a name alone, such as floor.example".into());
    }
    Ok(text.to_owned())
}

/// Serves the house.
pub(super) fn run(options: &Options) -> Result<(), Trouble> {
    log_to_stderr("info");
    // First the address: a second start on the same one then touches no data.
    let listener = listen(options.listen)?;
    let data = options.data.clone().map_or_else(default_data, Ok)?;
    in_runtime(serve(listener, &data, &options.names))
}

/// Runs to the end on threads that are then given up.
pub(super) fn in_runtime<T>(work: impl Future<Output = Result<T, Trouble>>) -> Result<T, Trouble> {
    let runtime = tokio::runtime::Runtime::new()
        .map_err(|error| format!("The system gives no threads ({error})."))?;
    let outcome = runtime.block_on(work);
    runtime.shutdown_timeout(THREADS_END_WITHIN);
    outcome
}

async fn serve(listener: TcpListener, data: &Path, names: &[String]) -> Result<(), Trouble> {
    let stop = stop_signal()?;
    let bound = listener.local_addr()?;
    let bases = bases(bound, names);
    let listener = tokio::net::TcpListener::from_std(listener)?;
    let Started { app, set_up, .. } = start::start(data, &bases[0], names).await?;
    say(format_args!("{}", where_to_go(&bases, set_up.as_ref())));
    http::run(listener, app, stop).await;
    Ok(())
}

/// The house's addresses, the best first; never empty.
pub(super) fn bases(bound: SocketAddr, names: &[String]) -> Vec<String> {
    let hosts = addresses::hosts(bound.ip(), names, &addresses::of_machine());
    let port = match bound.port() {
        80 => String::new(),
        port => format!(":{port}"),
    };
    hosts.into_iter().map(|host| format!("http://{host}{port}")).collect()
}

/// Takes an address to listen on.
pub(super) fn listen(address: SocketAddr) -> Result<TcpListener, Trouble> {
    let taken = |error: io::Error| match error.kind() {
        io::ErrorKind::AddrInUse => format!(
            "Port {} is in use, perhaps by another floorbell: stop that program, or choose another \
             port with --listen.",
            address.port()
        ),
        io::ErrorKind::AddrNotAvailable => {
            format!("This machine has no address {}: choose one with --listen.", address.ip())
        }
        io::ErrorKind::PermissionDenied => format!(
            "Port {} takes rights that this user has not: choose one above 1023 with --listen.",
            address.port()
        ),
        _ => format!("{address} cannot be listened on ({error}): choose another with --listen."),
    };
    let listener = TcpListener::bind(address).map_err(taken)?;
    listener.set_nonblocking(true)?;
    Ok(listener)
}

/// Resolves when the program is told to stop, by Ctrl-C or by whoever runs it as a service.
pub(super) fn stop_signal() -> Result<impl Future<Output = ()>, Trouble> {
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut terminate = signal(SignalKind::terminate())?;
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
    })
}

/// The user's own data folder.
fn default_data() -> Result<PathBuf, Trouble> {
    user_folder("XDG_DATA_HOME", ".local/share")
}

/// A folder of the user's for one kind of files, by the XDG base directory specification: where the
/// variable says, or else under the home folder.
pub(super) fn user_folder(variable: &str, under_home: &str) -> Result<PathBuf, Trouble> {
    let folder = |name| std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    folder(variable)
        .or_else(|| folder("HOME").map(|home| home.join(under_home)))
        .map(|base| base.join("floorbell"))
        .ok_or_else(|| "This user has no home folder: name a data folder with --data.".into())
}

/// What is printed once the house is ready.
fn where_to_go(bases: &[String], set_up: Option<&Token>) -> String {
    let base = &bases[0];
    let mut text = format!(
        "The house is open.\n\n  coach   {base}/coach\n  wall    {base}/wall\n  tally   {base}/tally\n  \
         phones  {base}\n"
    );
    if bases.len() > 1 {
        let _ = writeln!(text, "\nAlso at {}", bases[1..].join(", "));
    }
    let link = match set_up {
        Some(token) => {
            let link = format!("{base}/coach#set-up={token}");
            let _ = write!(
                text,
                "\nSet the coach's passphrase first. This link works once, until the server is \
                 started again:\n\n  {link}\n"
            );
            link
        }
        None => format!("{base}/coach"),
    };
    let _ = write!(text, "\n{}\n\nCtrl-C stops the server.\n", terminal::code(&link));
    text
}
