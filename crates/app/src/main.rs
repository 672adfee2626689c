//! Voltwright on the command line.
//!
//! - [`arguments`]: what may be asked.
//! - [`command`]: one file a command.
//! - [`proof`]: mistakes, steps and readings as text and as data.
//! - [`report`]: the findings of a check as text and as data.
//! - [`source`] and [`terminal`]: the edges: files, streams, environment.
//! - [`text`]: pure layout.
//! - [`web`]: the workshop as pages.
//! - [`failure`]: what went wrong, by whose fault, and the exit status.

mod arguments;
mod caution;
mod clock;
mod command;
mod failure;
mod proof;
mod report;
mod source;
mod terminal;
mod text;
mod web;

use arguments::{Arguments, Command};
use clap::Parser;
use failure::{Failure, Verdict, guarded};
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(e) => return ExitCode::from(not_understood(&e)),
    };
    match guarded(|| run(&arguments)) {
        Ok(verdict) => ExitCode::from(verdict.status()),
        Err(failure) => {
            terminal::complain(&failure.render(&terminal::errors()));
            ExitCode::from(failure.status())
        }
    }
}

fn run(arguments: &Arguments) -> Result<Verdict, Failure> {
    let Some(command) = &arguments.command else { return command::workshop::run(&arguments.workshop) };
    match command {
        Command::Check(a) => command::check::run(a),
        Command::Prove(a) => command::prove::run(a),
        Command::Steps(a) => command::steps::run(a),
        Command::Judge(a) => command::judge::run(a),
        Command::Network(a) => command::network::run(a),
        Command::Schema => command::schema::run(),
        Command::Tables(a) => command::tables::run(a),
        Command::New(a) => command::new::run(a),
        Command::Export(a) => command::export::run(a),
        Command::Import(a) => command::import::run(a),
        Command::Completions(a) => command::completions::run(a),
        Command::Man(a) => command::man::run(a),
    }
}

/// Help and version that were asked for go to standard output; the rest is a mistake in the command line.
fn not_understood(error: &clap::Error) -> u8 {
    let text = error.render().to_string();
    if error.use_stderr() {
        terminal::complain(&text);
        2
    } else {
        terminal::print(&text).map_or(2, |()| 0)
    }
}
