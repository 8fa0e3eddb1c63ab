//! The routes, asked over real connections to a house of their own.

mod access;
mod client;
mod connections;
mod doors;
mod sheets;

use std::net::SocketAddr;
use std::sync::Arc;

use floorbell_core::ids::{AthleteId, ClassId, DeviceId};
use tempfile::TempDir;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use super::{App, accept, serve};
use crate::access::{Holder, Paired, PairedKind, Passphrase, PassphraseHash, Token, random_id};
use crate::start::start;
use crate::store::{Record, Setting};
use client::{Answer, Ask};

const PASSPHRASE: &str = "harbour wall at six";
/// A sheet with nothing to mend.
const SHEET: &str = "# Short tide\n\n## Tide: AMRAP 1 min\n\nAim: steady, 3 to 5 rounds.\n\n\
                     - 3 squat\n  - easier: 3 squat to box 45 cm\n";

/// A house that is served; gone when it is dropped.
struct Open {
    app: Arc<App>,
    address: SocketAddr,
    set_up: Token,
    _data: TempDir,
    shutdown: Option<oneshot::Sender<()>>,
    served: JoinHandle<()>,
}

impl Open {
    /// A house on its first start.
    async fn first() -> Self {
        Self::with_room_for(accept::CONNECTIONS_MAX).await
    }

    /// The same with another bound on its connections.
    async fn with_room_for(connections_max: u32) -> Self {
        let data = tempfile::tempdir().unwrap();
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let started = start(data.path(), &format!("http://{address}"), &[]).await.unwrap();
        let app = Arc::new(started.app);
        let (shutdown, told) = oneshot::channel();
        let serving = Arc::clone(&app);
        let served = tokio::spawn(async move {
            // Resolves as well when the test is over.
            let shutdown = async { drop(told.await) };
            serve(listener, &serving, connections_max, shutdown).await;
        });
        let set_up = started.set_up.unwrap();
        Self { app, address, set_up, _data: data, shutdown: Some(shutdown), served }
    }

    /// A house with a passphrase and a sheet named `short`.
    async fn set_up() -> Self {
        let open = Self::first().await;
        let passphrase = Passphrase::new(PASSPHRASE).unwrap();
        let records = vec![
            Record::Setting(Setting::Passphrase(PassphraseHash::of(&passphrase))),
            Record::Sheet {
                name: "short".into(),
                text: SHEET.into(),
                saved: open.app.clock.wall(),
            },
        ];
        open.app.store.write(records).await.unwrap();
        open
    }

    /// A token of a coach, as after signing in.
    async fn coach(&self) -> Token {
        self.app.let_in(Holder::Coach).await.unwrap()
    }

    /// A token of a wall or tally tablet that was let in.
    async fn paired(&self, kind: PairedKind) -> Token {
        let paired = Paired { kind, device: DeviceId(random_id()) };
        self.app.let_in(Holder::Paired(paired)).await.unwrap()
    }

    /// A token of a phone.
    async fn athlete(&self) -> Token {
        let (class, athlete) = (ClassId(random_id()), AthleteId(random_id()));
        self.app.let_in(Holder::Athlete { class, athlete }).await.unwrap()
    }

    /// Asks as a program.
    fn program(&self, method: &'static str, path: &str) -> Ask {
        Ask::new(self.address, method, path)
    }

    /// Asks as a page of the house does.
    fn page(&self, method: &'static str, path: &str) -> Ask {
        self.program(method, path).header("origin", &format!("http://{}", self.address))
    }

    /// Opens a class of the sheet and returns its code.
    async fn class(&self) -> String {
        let ask = self.program("POST", "/api/classes").bearer(&self.coach().await);
        let opened: Answer = ask.json(r#"{"sheet":"short"}"#).send().await;
        assert_eq!(opened.status, 200, "{}", opened.body);
        opened.value()["code"].as_str().unwrap().to_owned()
    }

    /// Stops serving and waits until that is done.
    async fn stop(mut self) {
        drop(self.shutdown.take());
        self.served.await.unwrap();
    }
}
