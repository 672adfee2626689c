//! Plugs and wires.

use super::check_name;
use crate::Diagnostic;
use crate::document::{Entered, Given, Job, Plug, Terminal, Wire};
use crate::fields::Fields;
use crate::near::nearest;
use crate::sheet::Name;
use std::collections::BTreeMap;
use voltwright_quantity::{Basis, Temperature, parse};

pub(super) fn plugs(fields: &Fields<'_, '_>, job: &mut Job) {
    let mut taken: BTreeMap<String, &'static str> =
        job.loads.iter().map(|l| (l.key.text.clone(), "a load")).collect();
    taken.extend(job.parts.iter().map(|p| (p.key.text.clone(), "a part")));
    let mut twins: Vec<Option<Entered>> = Vec::new();
    for (key, plug) in fields.named("plug") {
        check_name(fields, &key, &mut taken, "a plug");
        let ways = plug.whole("ways", 1..=200);
        let mates = plug.text("mates").and_then(|t| socket(&plug, job, &t));
        if let (Some((load, socket)), Some((ways, span))) = (mates, &ways) {
            let there = job.loads[load].sockets[socket].ways.len();
            if there != *ways as usize {
                let name =
                    format!("{}.{}", job.loads[load].key.text, job.loads[load].sockets[socket].name.text);
                let message = format!("this plug has {ways} ways, but {name} has {there}");
                fields.sheet.report(Diagnostic::error(span.clone(), message));
            }
        }
        let twin = plug.text("twin");
        // A contact's rating is a limit, not a value with a spread.
        let basis = plug.basis(Basis::Chosen);
        let keyed = plug.flag("keyed").unwrap_or(false);
        let look_alike = plug.whole("look-alike", 4..=200);
        if let (Some((like, span)), Some((ways, _))) = (&look_alike, &ways)
            && (like >= ways || like % 2 + ways % 2 > 0)
        {
            let message =
                "the look-alike of a plug with two rows has fewer ways, and both have an even number";
            fields.sheet.report(Diagnostic::error(span.clone(), message));
        }
        let look_alike = look_alike.map(|(ways, _)| ways as usize);
        let contact = plug.positive("contact", basis);
        let Some((ways, _)) = ways else {
            fields.sheet.note_unread(Name::Owner, key.text);
            continue;
        };
        twins.push(twin);
        job.plugs.push(Plug { key, mates, ways: ways as usize, keyed, twin: None, look_alike, contact });
    }
    for (i, twin) in twins.into_iter().enumerate() {
        let Some(name) = twin else { continue };
        job.plugs[i].twin = job.plug(&name.text);
        if job.plugs[i].twin == Some(i) {
            let message = "a plug cannot be exchanged with itself";
            fields.sheet.report(Diagnostic::error(name.span.clone(), message).hint("name the other plug"));
        } else if job.plugs[i].twin.is_none() && !fields.sheet.is_unread(Name::Owner, &name.text) {
            report_unknown(fields, &name, "plug", job.plugs.iter().map(|p| p.key.text.as_str()));
        }
    }
}

fn report_unknown<'a>(
    fields: &Fields<'_, '_>,
    name: &Entered,
    what: &str,
    known: impl Iterator<Item = &'a str>,
) {
    let hint = nearest(&name.text, known).map(|near| format!("did you mean `{near}`?"));
    let message = format!("there is no {what} `{}`", name.text);
    fields.sheet.report_missing(Diagnostic::error(name.span.clone(), message).maybe_hint(hint));
}

/// `board.j1`: the load and its socket.
fn socket(fields: &Fields<'_, '_>, job: &Job, name: &Entered) -> Option<(usize, usize)> {
    let found = name.text.split_once('.').and_then(|(load, socket)| {
        let load = job.load(load)?;
        Some((load, job.loads[load].sockets.iter().position(|s| s.name.text == socket)?))
    });
    if found.is_none() && !fields.sheet.is_unread(Name::Owner, &name.text) {
        let all: Vec<String> = job
            .loads
            .iter()
            .flat_map(|l| l.sockets.iter().map(|s| format!("{}.{}", l.key.text, s.name.text)))
            .collect();
        report_unknown(fields, name, "socket", all.iter().map(String::as_str));
    }
    found
}

pub(super) fn wires(fields: &Fields<'_, '_>, job: &mut Job) {
    let names = all_terminals(job);
    for wire in fields.table("wiring").tables("wires") {
        let from = wire.text("from").and_then(|t| Some((terminal(&wire, job, &names, &t)?, t)));
        let to = wire.text("to").and_then(|t| Some((terminal(&wire, job, &names, &t)?, t)));
        let colour = wire.text("colour");
        check_colour(&wire, colour.as_ref());
        let size = wire.parsed("size", parse::conductor);
        let length = wire.positive("length", Basis::Chosen);
        let bundle = wire.whole("bundle", 1..=1000).map_or(1, |(n, _)| n as usize);
        let insulation: Option<Given<Temperature>> = wire.given("insulation", Basis::Chosen);
        if let (Some((from, _)), Some((to, text))) = (&from, &to)
            && from == to
        {
            let message = "this wire begins and ends at the same terminal";
            fields.sheet.report(Diagnostic::error(text.span.clone(), message));
            continue;
        }
        let (Some((from, from_text)), Some((to, to_text)), Some((size, place, size_span)), Some(length)) =
            (from, to, size, length)
        else {
            continue;
        };
        let size_text = Entered { text: place.text, span: size_span };
        let span = wire.span.clone();
        job.wires.push(Wire {
            from,
            to,
            from_text,
            to_text,
            colour,
            size,
            size_text,
            length,
            bundle,
            insulation,
            span,
        });
    }
}

fn check_colour(fields: &Fields<'_, '_>, colour: Option<&Entered>) {
    let Some(colour) = colour else { return };
    if voltwright_tables::colours::parse(&colour.text).is_none() {
        let hint = voltwright_tables::colours::near(&colour.text)
            .map(|code| format!("did you mean \"{code}\"?"))
            .unwrap_or_else(|| "colours are written as IEC 60757 codes: `voltwright tables colours`".into());
        let message = format!("\"{}\" is not a colour code", colour.text);
        fields.sheet.report(Diagnostic::error(colour.span.clone(), message).hint(hint));
    }
}

/// Every terminal of the job by its name in wires.
fn all_terminals(job: &Job) -> BTreeMap<String, Terminal> {
    let mut all = BTreeMap::from([("chassis".to_owned(), Terminal::Chassis)]);
    for (p, part) in job.parts.iter().enumerate() {
        for (t, name) in part.terminals.iter().enumerate() {
            all.insert(format!("{}.{name}", part.key.text), Terminal::Part(p, t));
        }
    }
    for (p, plug) in job.plugs.iter().enumerate() {
        all.extend((0..plug.ways).map(|w| (format!("{}.{}", plug.key.text, w + 1), Terminal::Plug(p, w))));
    }
    for (l, load) in job.loads.iter().enumerate() {
        for (s, socket) in load.sockets.iter().enumerate() {
            let name = |w: usize| format!("{}.{}.{}", load.key.text, socket.name.text, w + 1);
            all.extend((0..socket.ways.len()).map(|w| (name(w), Terminal::Socket(l, s, w))));
        }
    }
    all
}

fn terminal(
    fields: &Fields<'_, '_>,
    job: &Job,
    names: &BTreeMap<String, Terminal>,
    name: &Entered,
) -> Option<Terminal> {
    if let Some(found) = names.get(&name.text) {
        return Some(*found);
    }
    if fields.sheet.is_unread(Name::Owner, &name.text) {
        return None;
    }
    let hint = terminal_hint(job, names, &name.text);
    let message = format!("there is no terminal \"{}\"", name.text);
    fields.sheet.report_missing(Diagnostic::error(name.span.clone(), message).hint(hint));
    None
}

/// What was probably meant: another terminal of the same owner, or the same terminal of another.
fn terminal_hint(job: &Job, names: &BTreeMap<String, Terminal>, name: &str) -> String {
    if name == "com" {
        return "com is where the supply's 0 V is: name the terminal, such as supply.v1.minus".to_owned();
    }
    let (owner, rest) = name.split_at(name.find('.').unwrap_or(name.len()));
    let start = format!("{owner}.");
    let of_owner = names.range(start.clone()..).map(|(n, _)| n.as_str());
    let its: Vec<&str> = of_owner.take_while(|n| n.starts_with(&start)).collect();
    if !its.is_empty() {
        return match nearest(name, its.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("`{owner}` has: {}", its[..its.len().min(12)].join(", ")),
        };
    }
    let parts = job.parts.iter().map(|p| &p.key.text);
    let plugs = job.plugs.iter().map(|p| &p.key.text);
    let loads = job.loads.iter().map(|l| &l.key.text);
    let owners = parts.chain(plugs).chain(loads).map(String::as_str).chain(["chassis"]);
    match nearest(owner, owners) {
        Some(near) if names.contains_key(&format!("{near}{rest}")) => {
            format!("did you mean \"{near}{rest}\"?")
        }
        Some(near) => format!("did you mean `{near}`?"),
        None => "a terminal is written as part.terminal, plug.way or load.socket.way".to_owned(),
    }
}
