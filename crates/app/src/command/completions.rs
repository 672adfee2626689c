//! `voltwright completions SHELL`: a script that completes commands.

use crate::arguments::{Completions, definition};
use crate::failure::{Failure, Verdict};
use crate::terminal;
use clap_complete::{Shell, generate};

/// Prints the script.
pub fn run(arguments: &Completions) -> Result<Verdict, Failure> {
    let unknown = |_| Failure::Ours(format!("no script is made for the shell {}", arguments.shell));
    let shell: Shell = arguments.shell.parse().map_err(unknown)?;
    let mut script = Vec::new();
    generate(shell, &mut definition(), "voltwright", &mut script);
    terminal::print(&String::from_utf8_lossy(&script))?;
    Ok(Verdict::NoStop)
}
