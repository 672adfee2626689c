//! Parts, kind by kind.

use super::{check_name, supplies};
use crate::Diagnostic;
use crate::document::*;
use crate::fields::Fields;
use crate::near::nearest;
use crate::sheet::Name;
use std::collections::BTreeMap;
use voltwright_quantity::{Basis, Resistance, Spread, Temperature, Voltage, parse};

pub(super) fn read(fields: &Fields<'_, '_>, job: &mut Job) {
    let mut taken: BTreeMap<String, &'static str> =
        job.loads.iter().map(|l| (l.key.text.clone(), "a load")).collect();
    for (key, part) in fields.named("part") {
        check_name(fields, &key, &mut taken, "a part");
        let basis = part.basis(Basis::DataSheet);
        let size = part.parsed("size", parse::size).map(|(size, _, _)| size);
        let full_to = part.given::<Temperature>("full-to", Basis::Chosen);
        let nothing_at = part.given::<Temperature>("nothing-at", Basis::Chosen);
        if let (Some(full), Some(nothing)) = (&full_to, &nothing_at)
            && nothing.nominal() <= full.nominal()
        {
            let message = "this must be above the temperature of `full-to`";
            fields.sheet.report(Diagnostic::error(nothing.span.clone(), message));
        }
        let Some((kind, terminals)) = kind(&part, &key, basis) else {
            fields.sheet.note_unread(Name::Owner, key.text);
            continue;
        };
        if has_twice(fields, &key, &terminals) {
            fields.sheet.note_unread(Name::Owner, key.text);
            continue;
        }
        job.parts.push(Part { key, kind, terminals, size, full_to, nothing_at });
    }
}

/// Reports two terminals of one name: a wire to it could mean either.
fn has_twice(fields: &Fields<'_, '_>, key: &Entered, terminals: &[String]) -> bool {
    let twice = terminals.iter().enumerate().find(|(i, t)| terminals[..*i].contains(t));
    if let Some((_, name)) = twice {
        let message = format!("`{}` has two terminals of the name {name}", key.text);
        fields
            .sheet
            .report(Diagnostic::error(key.span.clone(), message).hint("give one of them another name"));
    }
    twice.is_some()
}

fn named(names: &[&str]) -> Vec<String> {
    names.iter().map(|n| (*n).to_owned()).collect()
}

fn kind(part: &Fields<'_, '_>, key: &Entered, basis: Basis) -> Option<(PartKind, Vec<String>)> {
    let chosen = Basis::Chosen;
    Some(match part.kind()? {
        "inlet" => (PartKind::Inlet, inlet_terminals(part, key)),
        "fuse" => (PartKind::Fuse(fuse(part, basis)?), named(&["1", "2"])),
        "switch" => switch(part, basis)?,
        "mains supply" => supplies::mains(part, key, basis),
        "converter" => supplies::converter(part, key, basis),
        "raw supply" => supplies::raw(part, key, basis)?,
        "regulator" => (PartKind::Regulator(regulator(part, basis)?), named(&["in", "ref", "out"])),
        "diode" => {
            let (drop, rated) = (part.positive("drop", basis), part.positive("rated", chosen));
            let reverse = part.positive("reverse", chosen);
            (PartKind::Diode(Diode { drop: drop?, rated, reverse }), named(&["anode", "cathode"]))
        }
        "clamp" => (PartKind::Clamp(clamp(part, basis)?), named(&["anode", "cathode"])),
        "resistor" => {
            let (value, power) = (part.positive("value", chosen), part.positive("power", chosen));
            (PartKind::Resistor(Resistor { value: value?, power }), named(&["1", "2"]))
        }
        "capacitor" => capacitor(part)?,
        "varistor" => (PartKind::Varistor(mains_part(part, basis)?), named(&["1", "2"])),
        "fan" => (PartKind::Fan(mains_part(part, basis)?), named(&["1", "2"])),
        "lamp" => (PartKind::Lamp(mains_part(part, basis)?), named(&["1", "2"])),
        "interlock" => {
            (PartKind::Interlock(interlock(part, basis)?), named(&["in", "out", "sense.plus", "sense.minus"]))
        }
        "strip" => {
            let (ways, _) = part.whole("ways", 1..=200)?;
            (PartKind::Strip, (1..=ways).map(|n| n.to_string()).collect())
        }
        _ => return None,
    })
}

fn inlet_terminals(part: &Fields<'_, '_>, key: &Entered) -> Vec<String> {
    let all = named(&["line", "neutral", "earth"]);
    let before = part.sheet.errors();
    let terminals = part.texts("terminals");
    for name in terminals.iter().flatten().filter(|t| !all.contains(&t.text)) {
        let message = format!("an inlet has no terminal \"{}\"", name.text);
        let hint = nearest(&name.text, all.iter().map(String::as_str))
            .map_or("it may have: line, neutral, earth".to_owned(), |near| {
                format!("did you mean \"{near}\"?")
            });
        part.sheet.report(Diagnostic::error(name.span.clone(), message).hint(hint));
    }
    if part.sheet.errors() > before {
        part.sheet.note_unread(Name::Owner, key.text.as_str());
    }
    terminals.map_or(all, |t| t.into_iter().map(|e| e.text).collect())
}

// Every key is read before the first `?`, so that all mistakes of a part are told at once.

fn fuse(part: &Fields<'_, '_>, basis: Basis) -> Option<Fuse> {
    let rating = part.positive("rating", Basis::Chosen);
    let speed = part.choice("speed").map(|(word, span)| Entered { text: word.into(), span });
    let breaks = part.parsed("breaks", parse::rating).map(|(r, _, _)| r);
    let (resistance, melting) = (part.positive("resistance", basis), part.positive("melting", basis));
    Some(Fuse { rating: rating?, speed, breaks, resistance, melting })
}

fn switch(part: &Fields<'_, '_>, basis: Basis) -> Option<(PartKind, Vec<String>)> {
    let poles = part.whole("poles", 1..=8);
    let rated = part.values("rated", parse::rating).into_iter().map(|(r, _, _)| r).collect();
    let inrush = part.positive("inrush", basis);
    let (poles, _) = poles?;
    let switch = Switch { poles: poles as usize, rated, inrush, rated_span: part.key_span("rated") };
    let terminals = (1..=poles).flat_map(|n| [format!("{n}a"), format!("{n}b")]).collect();
    Some((PartKind::Switch(switch), terminals))
}

fn regulator(part: &Fields<'_, '_>, basis: Basis) -> Option<Regulator> {
    // 2 V is what a three-terminal regulator needs; common practice.
    let usual = || Given::ours(&format!("{}.headroom", part.path), Spread::exact(Voltage::volts(2.0)));
    let volts = part.volts("volts");
    let headroom = part.positive("headroom", Basis::Chosen).unwrap_or_else(usual);
    let (limit, heat) = (part.positive("limit", Basis::Chosen), part.positive("heat", basis));
    let junction_limit = part.given("junction-limit", Basis::Chosen);
    let ready = part.bounds_from_zero("ready");
    Some(Regulator { volts: volts?, headroom, limit, heat, junction_limit, ready })
}

fn clamp(part: &Fields<'_, '_>, basis: Basis) -> Option<Clamp> {
    let (breakdown, at_current) = (part.positive("breakdown", basis), part.positive("at-current", basis));
    let power = part.positive("power", Basis::Chosen);
    let latches = part.flag("latches").unwrap_or(false);
    Some(Clamp { breakdown: breakdown?, at_current, power, latches })
}

fn capacitor(part: &Fields<'_, '_>) -> Option<(PartKind, Vec<String>)> {
    let class = part.choice("class").map(|(word, span)| Entered { text: word.into(), span });
    let terminals = if part.holds("class") { named(&["1", "2"]) } else { named(&["plus", "minus"]) };
    let (value, rated) = (part.positive("value", Basis::Chosen), part.positive("rated", Basis::Chosen));
    Some((PartKind::Capacitor(Capacitor { value: value?, rated, class }), terminals))
}

fn mains_part(part: &Fields<'_, '_>, basis: Basis) -> Option<MainsPart> {
    let (rated, power) = (part.positive("rated", Basis::Chosen), part.positive("power", basis));
    let series = part.positive("series", Basis::Chosen);
    Some(MainsPart { rated: rated?, power, series })
}

fn interlock(part: &Fields<'_, '_>, basis: Basis) -> Option<Interlock> {
    // A small relay's closed contact; common practice.
    let closed = || Given::ours(&format!("{}.resistance", part.path), Spread::exact(Resistance::ohms(0.05)));
    let closes_at = part.positive("closes-at", Basis::Chosen);
    let resistance = part.positive("resistance", basis).unwrap_or_else(closed);
    Some(Interlock { closes_at: closes_at?, resistance })
}
