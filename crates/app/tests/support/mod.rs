//! Running the built binary, and what its tests share.

#![allow(dead_code)] // each test file uses its own part
#![allow(clippy::panic, clippy::unwrap_used)] // nothing here is production code

pub mod schema;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What a run of the binary gave.
pub struct Run {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Run {
    /// Whether an error says this; where its lines were broken for the page is no matter.
    pub fn complains(&self, text: &str) -> bool {
        self.err.split_whitespace().collect::<Vec<_>>().join(" ").contains(text)
    }
}

/// The root of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The main example.
pub fn example() -> String {
    root().join("examples/desk-computer/finished.toml").display().to_string()
}

/// The binary with an environment of its own, so that no variable of the tester's decides.
pub fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_voltwright"));
    command.args(arguments).current_dir(root());
    for variable in ["COLUMNS", "NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "TERM"] {
        command.env_remove(variable);
    }
    command
}

/// Runs the binary with `input` on standard input.
pub fn run_in(mut command: Command, input: &[u8]) -> Run {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary runs");
    // A command that does not read its input has closed it: no matter.
    let _ = child.stdin.take().expect("piped").write_all(input);
    let output = child.wait_with_output().expect("the binary ends");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("what is printed is UTF-8");
    Run {
        status: output.status.code().expect("not killed"),
        out: text(output.stdout),
        err: text(output.stderr),
    }
}

/// Runs the binary.
pub fn run(arguments: &[&str]) -> Run {
    run_in(command(arguments), b"")
}

/// Checks a job given as text.
pub fn check(job: &str, more: &[&str]) -> Run {
    let arguments = [&["check", "-"], more].concat();
    run_in(command(&arguments), job.as_bytes())
}

/// A job of a nameplate only: 100 V at the mains of the country.
pub fn nameplate(country: &str) -> String {
    format!(
        "format = 1\n[job]\ntitle = \"A plotter\"\ncountry = \"{country}\"\n[machine]\n\
         nameplate = {{ voltage = \"100 V\", frequency = \"50..60 Hz\", power = \"95 W\" }}\n"
    )
}

/// A generated page must be what is committed; `VOLTWRIGHT_UPDATE=1` writes it instead.
pub fn same_as_committed(file: &str, generated: &str) {
    let path = root().join(file);
    if std::env::var_os("VOLTWRIGHT_UPDATE").is_some() {
        std::fs::create_dir_all(path.parent().expect("within the repository")).expect("it can be made");
        std::fs::write(&path, generated).expect("it can be written");
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        committed == generated,
        "{file} is not what the program gives: run the tests with VOLTWRIGHT_UPDATE=1"
    );
}
