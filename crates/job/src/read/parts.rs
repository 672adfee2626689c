//! Parts, kind by kind.

use super::{check_name, supplies};
use crate::document::*;
use crate::fields::Fields;
use std::collections::BTreeMap;
use voltwright_quantity::{Basis, Resistance, Spread, Temperature, Voltage, parse};

pub(super) fn read(fields: &Fields<'_, '_>, job: &mut Job) {
    let mut taken: BTreeMap<String, &'static str> =
        job.loads.iter().map(|l| (l.key.text.clone(), "a load")).collect();
    for (key, part) in fields.named("part") {
        check_name(fields, &key, &mut taken, "a part");
        let basis = part.basis(Basis::DataSheet);
        let Some((kind, terminals)) = kind(&part, basis) else { continue };
        job.parts.push(Part {
            key,
            kind,
            terminals,
            size: part.parsed("size", parse::size).map(|(size, _, _)| size),
            full_to: part.given::<Temperature>("full-to", Basis::Chosen),
            nothing_at: part.given::<Temperature>("nothing-at", Basis::Chosen),
        });
    }
}

fn named(names: &[&str]) -> Vec<String> {
    names.iter().map(|n| (*n).to_owned()).collect()
}

fn kind(part: &Fields<'_, '_>, basis: Basis) -> Option<(PartKind, Vec<String>)> {
    let chosen = Basis::Chosen;
    Some(match part.kind()? {
        "inlet" => {
            let terminals = part.texts("terminals").map(|t| t.into_iter().map(|e| e.text).collect());
            (PartKind::Inlet, terminals.unwrap_or_else(|| named(&["line", "neutral", "earth"])))
        }
        "fuse" => (PartKind::Fuse(fuse(part, basis)?), named(&["1", "2"])),
        "switch" => switch(part, basis)?,
        "mains supply" => supplies::mains(part, basis),
        "converter" => supplies::converter(part, basis),
        "raw supply" => supplies::raw(part, basis)?,
        "regulator" => (PartKind::Regulator(regulator(part, basis)?), named(&["in", "ref", "out"])),
        "diode" => {
            let drop = part.given("drop", basis)?;
            let diode = Diode { drop, rated: part.positive("rated", chosen), reverse: part.positive("reverse", chosen) };
            (PartKind::Diode(diode), named(&["anode", "cathode"]))
        }
        "clamp" => (PartKind::Clamp(clamp(part, basis)?), named(&["anode", "cathode"])),
        "resistor" => {
            let resistor = Resistor { value: part.positive("value", chosen)?, power: part.positive("power", chosen) };
            (PartKind::Resistor(resistor), named(&["1", "2"]))
        }
        "capacitor" => capacitor(part)?,
        "varistor" => (PartKind::Varistor(mains_part(part, basis)?), named(&["1", "2"])),
        "fan" => (PartKind::Fan(mains_part(part, basis)?), named(&["1", "2"])),
        "lamp" => (PartKind::Lamp(mains_part(part, basis)?), named(&["1", "2"])),
        "interlock" => (PartKind::Interlock(interlock(part, basis)?), named(&["in", "out", "sense.plus", "sense.minus"])),
        "strip" => {
            let (ways, _) = part.whole("ways", 1..=200)?;
            (PartKind::Strip, (1..=ways).map(|n| n.to_string()).collect())
        }
        _ => return None,
    })
}

fn fuse(part: &Fields<'_, '_>, basis: Basis) -> Option<Fuse> {
    Some(Fuse {
        rating: part.positive("rating", Basis::Chosen)?,
        speed: part.choice("speed").map(|(word, span)| Entered { text: word.into(), span }),
        breaks: part.parsed("breaks", parse::rating).map(|(r, _, _)| r),
        resistance: part.positive("resistance", basis),
        melting: part.positive("melting", basis),
    })
}

fn switch(part: &Fields<'_, '_>, basis: Basis) -> Option<(PartKind, Vec<String>)> {
    let (poles, _) = part.whole("poles", 1..=8)?;
    let rated = part.values("rated", parse::rating).into_iter().map(|(r, _, _)| r).collect();
    let switch = Switch {
        poles: poles as usize,
        rated,
        inrush: part.positive("inrush", basis),
        rated_span: part.key_span("rated"),
    };
    let terminals = (1..=poles).flat_map(|n| [format!("{n}a"), format!("{n}b")]).collect();
    Some((PartKind::Switch(switch), terminals))
}

fn regulator(part: &Fields<'_, '_>, basis: Basis) -> Option<Regulator> {
    // 2 V is what a three-terminal regulator needs; common practice.
    let headroom = Given::ours(&format!("{}.headroom", part.path), Spread::exact(Voltage::volts(2.0)));
    Some(Regulator {
        volts: part.given("volts", Basis::Chosen)?,
        headroom: part.positive("headroom", Basis::Chosen).unwrap_or(headroom),
        limit: part.positive("limit", Basis::Chosen),
        heat: part.positive("heat", basis),
        junction_limit: part.given("junction-limit", Basis::Chosen),
        ready: part.bounds("ready"),
    })
}

fn clamp(part: &Fields<'_, '_>, basis: Basis) -> Option<Clamp> {
    Some(Clamp {
        breakdown: part.positive("breakdown", basis)?,
        at_current: part.positive("at-current", basis),
        power: part.positive("power", Basis::Chosen),
        latches: part.flag("latches").unwrap_or(false),
    })
}

fn capacitor(part: &Fields<'_, '_>) -> Option<(PartKind, Vec<String>)> {
    let class = part.choice("class").map(|(word, span)| Entered { text: word.into(), span });
    let terminals = if class.is_some() { named(&["1", "2"]) } else { named(&["plus", "minus"]) };
    let value = part.positive("value", Basis::Chosen)?;
    let capacitor = Capacitor { value, rated: part.positive("rated", Basis::Chosen), class };
    Some((PartKind::Capacitor(capacitor), terminals))
}

fn mains_part(part: &Fields<'_, '_>, basis: Basis) -> Option<MainsPart> {
    Some(MainsPart {
        rated: part.positive("rated", Basis::Chosen)?,
        power: part.positive("power", basis),
        series: part.positive("series", Basis::Chosen),
    })
}

fn interlock(part: &Fields<'_, '_>, basis: Basis) -> Option<Interlock> {
    // A small relay's closed contact; common practice.
    let closed = Given::ours(&format!("{}.resistance", part.path), Spread::exact(Resistance::ohms(0.05)));
    Some(Interlock {
        closes_at: part.positive("closes-at", Basis::Chosen)?,
        resistance: part.positive("resistance", basis).unwrap_or(closed),
    })
}
