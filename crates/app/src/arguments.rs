//! The command line: every command and its arguments, defined once for help, man pages and completions.

use clap::{Args, CommandFactory, Parser, Subcommand};
use std::net::IpAddr;

/// Plans, proves and records the power restoration of old mains-powered electronics, from the wall to the board.
///
/// Without a command it opens the workshop: pages for a browser on this PC, and with --lan for paired phones at the bench.
///
/// Exit status: 0 done and no stop; 1 something says stop; 2 the input or the command line is wrong; 3 a mistake of ours.
/// Results go to standard output, errors to standard error. Text is set to the width of the terminal (or COLUMNS);
/// NO_COLOR and CLICOLOR_FORCE are respected.
#[derive(Debug, Parser)]
#[command(name = "voltwright", version, max_term_width = 100, disable_help_subcommand = true)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Arguments {
    /// What to do; without it the workshop is opened.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// How the workshop is opened.
    #[command(flatten)]
    pub workshop: Workshop,
}

/// How the workshop is opened.
#[derive(Debug, Args)]
pub struct Workshop {
    /// Let paired phones and tablets of the network in
    #[arg(long)]
    pub lan: bool,
    /// This PC's address in its network, if it has several
    #[arg(long, value_name = "IP", requires = "lan")]
    pub address: Option<IpAddr>,
    /// Port to listen at; 0 takes a free one
    #[arg(long, value_name = "PORT", default_value_t = 8230)]
    pub port: u16,
    /// Folder where everything is kept; else VOLTWRIGHT_DATA, else your own for data
    #[arg(long, value_name = "FOLDER")]
    pub data: Option<String>,
    /// A meter that speaks SCPI: tcp:192.168.1.40:5025 or serial:/dev/ttyUSB0@9600
    #[arg(long, value_name = "METER")]
    pub meter: Option<String>,
    /// The meter's function is set by hand: ask which it is and read, instead of setting it
    #[arg(long, requires = "meter")]
    pub meter_set_by_hand: bool,
}

/// What to do; each command is described at its arguments.
#[derive(Debug, Subcommand)]
pub enum Command {
    Check(Check),
    Prove(Prove),
    Steps(Steps),
    Judge(Judge),
    Network(Network),
    /// Print the JSON Schema of job files, so that editors complete and check them
    Schema,
    Tables(Tables),
    New(New),
    Export(Export),
    Import(Import),
    Completions(Completions),
    Man(Man),
}

/// Check a job: findings along the path from the wall to the board.
///
/// Prints what was found, what could not be judged and what to enter for it, and the assumed values that the verdict
/// hangs on with the value at which it would turn. Mistakes in the job's text are shown at their place instead.
#[derive(Debug, Args)]
pub struct Check {
    /// Job file, or - for standard input
    pub job: String,
    /// Show only the findings of this code, each with its working down to its sources
    #[arg(long, value_name = "CODE", conflicts_with = "json")]
    pub why: Option<String>,
    /// Print as JSON (shape: schemas/check.json)
    #[arg(long)]
    pub json: bool,
}

/// Try every wiring mistake before power is: what does harm, which readings catch it in time, what escapes.
///
/// Exit status 1 if a mistake escapes: does harm before any reading of the plan shows it. Cures are offered that closed
/// escapes when they were tried in the model.
#[derive(Debug, Args)]
pub struct Prove {
    /// Job file, or - for standard input
    pub job: String,
    /// Try all pairs of mistakes as well; this takes a while
    #[arg(long)]
    pub pairs: bool,
    /// Print as JSON (shape: schemas/prove.json)
    #[arg(long)]
    pub json: bool,
}

/// Print the first power as a sheet: stage by stage what to set up, where the probes go, what must be read.
///
/// With the tables of what must connect and what must not. Exit status 1 if a mistake escapes the plan.
#[derive(Debug, Args)]
pub struct Steps {
    /// Job file, or - for standard input
    pub job: String,
    /// Print as JSON (shape: schemas/steps.json)
    #[arg(long)]
    pub json: bool,
}

/// Judge readings: inside or outside their windows, what explains them, the next reading to take.
///
/// A line of the readings is `stage; red probe; black probe; value`, such as `source; p1.3; supply.v1.minus; 5.02 V` or
/// `cold; p1.1; p1.2; open`; `voltwright steps` has them. A trace is `cold; p1.3; connects; p1.4, pa.4`: all that the meter
/// shows below 5 Ω from there. Exit status 1 if a reading is outside its window.
#[derive(Debug, Args)]
pub struct Judge {
    /// Job file, or - for standard input
    pub job: String,
    /// File of readings, or - for standard input
    pub readings: String,
    /// Print as JSON (shape: schemas/judge.json)
    #[arg(long)]
    pub json: bool,
}

/// Print the solved networks of a job as plain data, for any other solver to check.
///
/// Every stage of first power with each loading, at nominal values: nodes, elements with their laws, and the operating
/// point found, in SI units with full precision (shape: schemas/network.json).
#[derive(Debug, Args)]
pub struct Network {
    /// Job file, or - for standard input
    pub job: String,
    /// Only this stage: source, or the load that it adds
    #[arg(long, value_name = "STAGE")]
    pub stage: Option<String>,
    /// The networks of the proof instead, every mistake and what came of it (shape: docs/mistakes.md)
    #[arg(long, conflicts_with = "stage")]
    pub mistakes: bool,
    /// With --mistakes: so many random pairs of mistakes as well
    #[arg(long, value_name = "N", requires = "mistakes")]
    pub pairs: Option<usize>,
    /// Print on one line; the data are JSON with or without it
    #[arg(long)]
    pub json: bool,
}

/// Print the reference tables, each row with its source and how sure it is.
///
/// A row is published, computed, common practice, or from memory; confirm the last before relying on it.
#[derive(Debug, Args)]
pub struct Tables {
    /// Table to print; without it, the list of tables
    pub name: Option<String>,
    /// Print as JSON (shape: schemas/tables.json)
    #[arg(long)]
    pub json: bool,
}

/// Write a new job file with comments to fill in.
///
/// It reads without errors as it stands; every line that is commented out works when it is taken up.
#[derive(Debug, Args)]
pub struct New {
    /// File to write, never over an existing one; without it, standard output
    pub file: Option<String>,
    /// Country whose mains the machine will live on, as ISO 3166 code
    #[arg(long, value_name = "CODE")]
    pub country: Option<String>,
    /// What the job is called
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
}

/// Write a job of the workshop as an archive: job file, readings, pictures, history, and a manifest with their hashes.
#[derive(Debug, Args)]
pub struct Export {
    /// Name of the job, as its address in the workshop has it
    pub job: String,
    /// File to write, never over an existing one; without it, NAME.zip
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<String>,
    /// Folder of the workshop; else VOLTWRIGHT_DATA, else your own for data
    #[arg(long, value_name = "FOLDER")]
    pub data: Option<String>,
}

/// Bring the archive of a job into the workshop; every file in it is checked first.
#[derive(Debug, Args)]
pub struct Import {
    /// The archive
    pub archive: String,
    /// Folder of the workshop; else VOLTWRIGHT_DATA, else your own for data
    #[arg(long, value_name = "FOLDER")]
    pub data: Option<String>,
}

/// Print a script that completes commands in a shell.
///
/// For bash: voltwright completions bash > ~/.local/share/bash-completion/completions/voltwright
#[derive(Debug, Args)]
pub struct Completions {
    /// The shell
    #[arg(value_parser = clap::builder::PossibleValuesParser::new(["bash", "elvish", "fish", "powershell", "zsh"]))]
    pub shell: String,
}

/// Print the man page of the program or of a command.
#[derive(Debug, Args)]
pub struct Man {
    /// Command to describe; without it, the program
    pub command: Option<String>,
}

/// The definition that help, man pages and completions are made from.
pub fn definition() -> clap::Command {
    Arguments::command()
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_definition_is_consistent() {
        super::definition().debug_assert();
    }
}
