//! What all pages share: the store, the proofs that are kept ready, who may pair, what has changed.

use super::desk::Desks;
use super::live::Changes;
use super::pairing::Pairing;
use super::problem::Problem;
use super::secret;
use super::visitor::Visitor;
use crate::clock;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use voltwright_meter::{Address, Meter, Way};
use voltwright_workshop::{Listed, Store, StoreError};

/// The setting that holds the secret of this workshop.
const SECRET: &str = "secret";

/// As handlers have it.
pub type Shared = Arc<Site>;

/// All of it.
pub struct Site {
    store: Arc<Store>,
    /// Proofs kept ready.
    pub desks: Desks,
    /// Who changed what, for whoever looks on.
    pub changes: Changes,
    /// The code that is open for one device, if one is.
    pub pairing: Mutex<Pairing>,
    /// The port that is listened on.
    pub port: u16,
    /// The address for other devices, if they are let in.
    pub lan: Option<SocketAddr>,
    /// The meter that is asked for readings, if there is one.
    pub meter: Option<(Address, Way)>,
    /// The meter as it was last spoken to: it knows whether an earlier answer may still come.
    pub spoken: Mutex<Option<Meter>>,
    secret: [u8; 32],
}

impl Site {
    /// A site over a store.
    ///
    /// # Errors
    /// The store cannot be read or written, or the system gives no random numbers.
    pub fn new(
        store: Store,
        threads: usize,
        (port, lan): (u16, Option<SocketAddr>),
        meter: Option<(Address, Way)>,
    ) -> Result<Self, String> {
        let secret = kept_secret(&store)?;
        Ok(Self {
            store: Arc::new(store),
            desks: Desks::new(threads),
            changes: Changes::new(),
            pairing: Mutex::new(Pairing::default()),
            port,
            lan,
            meter,
            spoken: Mutex::new(None),
            secret,
        })
    }

    /// Does something with the store, on a thread where it may wait.
    ///
    /// # Errors
    /// What the store says.
    pub async fn store<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Store) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<T, Problem> {
        let store = Arc::clone(&self.store);
        let done = tokio::task::spawn_blocking(move || work(&store)).await;
        Ok(done.map_err(|_| Problem::ours("the store's work ended early"))??)
    }

    /// A job by its name.
    ///
    /// # Errors
    /// There is none of this name.
    pub async fn job(&self, name: &str) -> Result<Listed, Problem> {
        let name = name.to_owned();
        self.store(move |store| store.named(&name)).await?.ok_or_else(|| Problem::missing("job of this name"))
    }

    /// The token that forms of a visitor carry.
    pub fn token(&self, visitor: &Visitor) -> String {
        secret::token(&self.secret, visitor.visit())
    }

    /// Opens a code for one device; nothing where no device is let in.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn open_pairing(&self) -> Result<(), Problem> {
        let code = secret::code::<10>().map_err(|why| Problem::ours(&why))?;
        self.pairing().open(code, clock::now());
        Ok(())
    }

    /// The code that is open.
    pub fn pairing(&self) -> std::sync::MutexGuard<'_, Pairing> {
        self.pairing.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

/// The secret of this workshop: kept, so that what waits in a phone is still welcome after a restart.
fn kept_secret(store: &Store) -> Result<[u8; 32], String> {
    let kept = store.setting(SECRET).map_err(|e| e.to_string())?;
    if let Some(kept) = kept.and_then(|bytes| <[u8; 32]>::try_from(bytes).ok()) {
        return Ok(kept);
    }
    let fresh = secret::random()?;
    store.put_setting(SECRET, &fresh).map_err(|e| e.to_string())?;
    Ok(fresh)
}
