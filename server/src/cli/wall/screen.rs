//! The terminal itself: taken over at the start, given back at the end, also when the program panics.
//!
//! Keys come one by one and unseen. Ctrl-C still comes as a signal; suspending is switched off, for it
//! would leave a shell in the middle of the picture.

use std::io::{self, IsTerminal, Read, Write};
use std::panic;

use floorbell_client::terminal::{Screen, Size, Wall, paint, picture};
use rustix::termios::{
    LocalModes, OptionalActions, SpecialCodeIndex, Termios, tcgetattr, tcgetwinsize, tcsetattr,
};
use tokio::signal::unix::{Signal, SignalKind, signal};
use tokio::sync::mpsc;

/// Another screen than the shell's, no cursor, no going on to the next line at the edge.
const ENTER: &str = "\x1b[?1049h\x1b[?25l\x1b[?7l";
const LEAVE: &str = "\x1b[0m\x1b[?7h\x1b[?25h\x1b[?1049l";
const BELL: &str = "\x07";
/// Where a terminal does not tell its size: that of the oldest ones.
const SIZE: Size = Size { columns: 80, rows: 24 };
/// The control code of Ctrl-L, which has the screen drawn anew.
const CTRL_L: u8 = 0x0c;
/// What a terminal that was set to "no such key" has as a control code (POSIX).
const NO_KEY: u8 = 0;
/// Keys that wait to be looked at; nobody types ahead of a wall.
const KEYS_MAX: usize = 16;

/// What the person at the terminal wants.
pub(super) enum Input {
    /// To end.
    Leave,
    /// To see the picture in another size, or drawn anew.
    Changed,
}

/// A terminal that shows a wall until this is dropped.
pub(super) struct Terminal {
    size: Size,
    /// What it shows.
    shown: Option<Screen>,
    resized: Signal,
    keys: mpsc::Receiver<u8>,
    /// How its keys were before.
    modes: Option<Termios>,
}

impl Terminal {
    /// Takes the terminal over.
    pub(super) fn enter() -> io::Result<Self> {
        let resized = signal(SignalKind::window_change())?;
        let modes = if io::stdin().is_terminal() { Some(tcgetattr(io::stdin())?) } else { None };
        let given_back = modes.clone();
        let said_before = panic::take_hook();
        panic::set_hook(Box::new(move |panic| {
            give_back(given_back.as_ref());
            said_before(panic);
        }));
        if let Some(modes) = &modes {
            let mut own = modes.clone();
            own.local_modes -= LocalModes::ICANON | LocalModes::ECHO;
            own.special_codes[SpecialCodeIndex::VSUSP] = NO_KEY;
            tcsetattr(io::stdin(), OptionalActions::Flush, &own)?;
        }
        let keys = if modes.is_some() { keys() } else { mpsc::channel(1).1 };
        let terminal = Self { size: size(), shown: None, resized, keys, modes };
        send(ENTER)?;
        Ok(terminal)
    }

    /// Makes it show a wall, and rings.
    pub(super) fn show(&mut self, wall: &Wall<'_>, rings: bool) -> io::Result<()> {
        let screen = picture(wall, self.size);
        let mut text = paint(self.shown.as_ref(), &screen);
        if rings {
            text.push_str(BELL);
        }
        send(&text)?;
        self.shown = Some(screen);
        Ok(())
    }

    /// Waits for what the person wants.
    pub(super) async fn input(&mut self) -> Input {
        loop {
            tokio::select! {
                Some(()) = self.resized.recv() => {
                    self.size = size();
                    return Input::Changed;
                }
                Some(key) = self.keys.recv() => match key {
                    b'q' | b'Q' => return Input::Leave,
                    CTRL_L => {
                        self.shown = None;
                        return Input::Changed;
                    }
                    _ => {}
                },
                else => std::future::pending().await,
            }
        }
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // The hook has given it back before the panic was told; once more would take the cursor back
        // to before what was told.
        if !std::thread::panicking() {
            give_back(self.modes.as_ref());
        }
    }
}

/// Gives the terminal back as it was. Where that fails the terminal has gone.
fn give_back(modes: Option<&Termios>) {
    let _ = send(LEAVE);
    if let Some(modes) = modes {
        let _ = tcsetattr(io::stdin(), OptionalActions::Flush, modes);
    }
}

fn send(text: &str) -> io::Result<()> {
    if text.is_empty() {
        return Ok(());
    }
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}

fn size() -> Size {
    match tcgetwinsize(io::stdout()) {
        Ok(size) if size.ws_col > 0 && size.ws_row > 0 => {
            Size { columns: size.ws_col.into(), rows: size.ws_row.into() }
        }
        _ => SIZE,
    }
}

/// Reads keys on a thread of its own, which ends with the program: a read cannot be called off.
fn keys() -> mpsc::Receiver<u8> {
    let (sender, keys) = mpsc::channel(KEYS_MAX);
    std::thread::spawn(move || {
        for key in io::stdin().lock().bytes().map_while(Result::ok) {
            if sender.blocking_send(key).is_err() {
                return;
            }
        }
    });
    keys
}
