//! A real server process with a data folder of its own.

use std::env;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{ExitStatus, Stdio};

use floorbell_client::api::{self, Address, Opened};
use tempfile::TempDir;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::process::{Child, Command};

use crate::people::{Coach, Phone, Wall};
use crate::soon;

/// What the coach of every test house signs in with.
pub const PASSPHRASE: &str = "the tide waits for nobody";

/// A house whose server runs until this is dropped.
pub struct House {
    server: Child,
    data: TempDir,
    address: Address,
    coach: String,
}

/// The program under test.
pub fn program() -> PathBuf {
    let path = env::var_os("FLOORBELL_BIN").map(PathBuf::from).expect(
        "FLOORBELL_BIN names the program to test: run `make test-system`, or build it and set the variable.",
    );
    assert!(path.is_file(), "{} is not there: run `make test-system`.", path.display());
    path
}

/// The command that serves a data folder on an address.
pub fn serve(data: &Path, listen: &str) -> Command {
    let mut command = Command::new(program());
    command.arg("serve").arg("--data").arg(data).args(["--listen", listen]);
    command.env("FLOORBELL_LOG", env::var("FLOORBELL_LOG").unwrap_or_else(|_| "warn".into()));
    command.stdin(Stdio::null()).stdout(Stdio::piped()).kill_on_drop(true);
    command
}

impl House {
    /// Starts a house on a free port with an empty data folder, and sets its passphrase through the
    /// link that it prints.
    pub async fn start() -> Self {
        Self::start_in(&env::temp_dir()).await
    }

    /// The same, with the data folder in a folder that is given.
    pub async fn start_in(parent: &Path) -> Self {
        let data = TempDir::new_in(parent).expect("a folder for the house's data");
        // The port is free again before the server takes it; nothing else here asks for this one.
        let port = TcpListener::bind("127.0.0.1:0").and_then(|free| free.local_addr());
        let listen = port.expect("a free port").to_string();
        let address: Address = listen.parse().expect("an address");
        let (server, link) = come_up(data.path(), &listen).await;
        let token = link.expect("the first start prints a set-up link");
        let coach = api::set_up(&address, &token, PASSPHRASE).await.expect("the link sets up");
        Self { server, data, address, coach }
    }

    /// Ends the server at once, as a power cut does, and starts it again in the same place.
    pub async fn kill_and_restart(&mut self) {
        self.kill().await;
        self.start_again().await;
    }

    /// Ends the server at once, as a power cut does.
    pub async fn kill(&mut self) {
        self.server.kill().await.expect("the server can be killed");
    }

    /// Tells the server to stop, as a service manager does, and waits until it has ended.
    pub async fn stop(&mut self) -> ExitStatus {
        let pid = self.pid().expect("the server runs").to_string();
        let told = Command::new("kill").args(["-TERM", &pid]).status().await;
        assert!(told.expect("kill can be run").success());
        soon("the server ends", self.server.wait()).await.expect("it can be waited for")
    }

    /// Starts the server again in the same place, after it has ended.
    pub async fn start_again(&mut self) {
        let listen = self.address.authority().to_owned();
        let (server, link) = come_up(self.data.path(), &listen).await;
        assert_eq!(link, None, "a house that is set up prints no set-up link");
        self.server = server;
    }

    /// Opens a class of a sheet's text.
    pub async fn open(&self, sheet: &str) -> Opened {
        let kept = api::put_sheet(&self.address, &self.coach, "tonight", sheet).await;
        kept.expect("the sheet is kept");
        api::open_class(&self.address, &self.coach, "tonight").await.expect("the class opens")
    }

    /// A coach device that has heard the state of the open class.
    pub async fn coach(&self) -> Coach {
        Coach::sign_in(&self.address, &self.coach).await
    }

    /// A phone of somebody who has come in by the class code.
    pub async fn phone(&self, class: &Opened, name: &str) -> Phone {
        Phone::join(&self.address, &class.code, name, false).await
    }

    /// The same, of somebody who does the class scaled.
    pub async fn scaled_phone(&self, class: &Opened, name: &str) -> Phone {
        Phone::join(&self.address, &class.code, name, true).await
    }

    /// A wall that a coach has let in.
    pub async fn wall(&self, coach: &mut Coach) -> Wall {
        Wall::let_in(&self.address, coach).await
    }

    /// Where it is reached.
    pub fn address(&self) -> &Address {
        &self.address
    }

    /// The token of the coach who set it up.
    pub fn coach_token(&self) -> &str {
        &self.coach
    }

    /// Its data folder.
    pub fn data(&self) -> &Path {
        self.data.path()
    }

    /// The server's process id.
    pub fn pid(&self) -> Option<u32> {
        self.server.id()
    }
}

/// Starts a server and waits until it has printed where to go. Gives the token of the set-up link,
/// where it prints one.
async fn come_up(data: &Path, listen: &str) -> (Child, Option<String>) {
    let mut server = serve(data, listen).spawn().expect("the server starts");
    let mut output = BufReader::new(server.stdout.take().expect("its output is piped"));
    let mut token = None;
    soon("the server is ready", async {
        loop {
            let mut line = String::new();
            let read = output.read_line(&mut line).await.expect("its output can be read");
            assert!(read > 0, "the server has ended: {:?}", server.try_wait());
            if let Some((_, found)) = line.trim().split_once("#set-up=") {
                token = Some(found.to_owned());
            }
            if line.contains("Ctrl-C") {
                return;
            }
        }
    })
    .await;
    // Kept open: a server whose output is closed might mind. The pipe holds what it still prints.
    server.stdout = Some(output.into_inner());
    (server, token)
}
