//! `voltwright man [COMMAND]`: a man page.

use crate::arguments::{Man, definition};
use crate::failure::{Failure, Verdict};
use crate::terminal;
use voltwright_job::near::nearest;

/// Prints the page.
pub fn run(arguments: &Man) -> Result<Verdict, Failure> {
    let mut page = Vec::new();
    clap_mangen::Man::new(described(arguments.command.as_deref())?)
        .render(&mut page)
        .map_err(|e| Failure::Ours(format!("the page could not be made: {e}")))?;
    terminal::print(&String::from_utf8_lossy(&page))?;
    Ok(Verdict::NoStop)
}

/// The program, or one of its commands under its whole name.
fn described(command: Option<&str>) -> Result<clap::Command, Failure> {
    let program = definition();
    let Some(name) = command else { return Ok(program) };
    let names = || program.get_subcommands().map(clap::Command::get_name);
    let found = program.find_subcommand(name).ok_or_else(|| {
        let hint = nearest(name, names()).map_or_else(
            || format!("the commands are: {}", names().collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        Failure::command_line(format!("there is no command `{name}`"), Some(hint))
    })?;
    // The page is named as pages of commands are: voltwright-check.
    Ok(found.clone().display_name(format!("voltwright-{name}")).bin_name(format!("voltwright {name}")))
}
