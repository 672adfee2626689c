//! The server as a process of its own, on a free port and a folder of its own.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

/// A fresh folder, removed with all in it at the end.
pub struct Folder(PathBuf);

impl Folder {
    /// One that nothing else has.
    pub fn new() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("voltwright-served-{}-{count}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// The workshop's file in it.
    pub fn file(&self) -> PathBuf {
        self.0.join("workshop.db")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A running server, killed at the end.
pub struct Server {
    child: Child,
    /// Where it listens on loopback.
    pub port: u16,
}

impl Server {
    /// Starts the binary on a folder.
    pub fn start(folder: &Path) -> Self {
        Self::spawned(&mut command(&binary(), folder))
    }

    /// Starts a command that becomes the server, and waits until it listens.
    pub fn spawned(command: &mut Command) -> Self {
        let mut child =
            command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::inherit()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().strip_prefix("The workshop is open at http://localhost:");
        let port = address.and_then(|a| a.strip_suffix('/')).and_then(|p| p.parse().ok());
        Self { port: port.unwrap_or_else(|| panic!("the server said `{line}`, {:?}", child.wait())), child }
    }

    /// Its process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Kills it at once (SIGKILL): it can finish nothing. What the system itself would lose without power is another matter.
    pub fn kill(mut self) -> ExitStatus {
        self.child.kill().unwrap();
        self.child.wait().unwrap()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The binary under test; `VOLTWRIGHT_BIN` names another, such as the one for release.
pub fn binary() -> PathBuf {
    std::env::var_os("VOLTWRIGHT_BIN").map_or_else(|| env!("CARGO_BIN_EXE_voltwright").into(), PathBuf::from)
}

/// The command that serves a folder on a free port.
pub fn command(binary: &Path, folder: &Path) -> Command {
    let mut command = Command::new(binary);
    command.args(["--port", "0", "--data"]).arg(folder);
    command
}
