//! Supplies and converters with their outputs.

use super::loads::{level, power_good};
use crate::Diagnostic;
use crate::document::*;
use crate::fields::Fields;
use voltwright_quantity::{Basis, Voltage};

pub(super) fn mains(part: &Fields<'_, '_>, basis: Basis) -> (PartKind, Vec<String>) {
    let supply = supply(part, basis);
    let mut terminals = vec!["line".to_owned(), "neutral".to_owned()];
    if supply.earthed {
        terminals.push("earth".to_owned());
    }
    terminals.extend(output_terminals(supply.outputs.iter().map(|o| &o.name)));
    check_joined(part, &supply.joined, &terminals);
    (PartKind::MainsSupply(supply), terminals)
}

pub(super) fn converter(part: &Fields<'_, '_>, basis: Basis) -> (PartKind, Vec<String>) {
    let supply = supply(part, basis);
    let mut terminals = vec!["in.plus".to_owned(), "in.minus".to_owned()];
    if supply.enable.is_some() {
        terminals.push("enable".to_owned());
    }
    terminals.extend(output_terminals(supply.outputs.iter().map(|o| &o.name)));
    check_joined(part, &supply.joined, &terminals);
    (PartKind::Converter(supply), terminals)
}

fn output_terminals<'a>(names: impl Iterator<Item = &'a Entered>) -> Vec<String> {
    names.flat_map(|name| [format!("{}.plus", name.text), format!("{}.minus", name.text)]).collect()
}

fn check_joined(part: &Fields<'_, '_>, joined: &[Entered], terminals: &[String]) {
    for entered in joined.iter().filter(|j| !terminals.contains(&j.text)) {
        let near = crate::near::nearest(&entered.text, terminals.iter().map(String::as_str));
        let hint = near.map(|n| format!("did you mean \"{n}\"?"));
        let message = format!("there is no terminal \"{}\" to be joined", entered.text);
        part.sheet.report(Diagnostic::error(entered.span.clone(), message).maybe_hint(hint));
    }
}

fn supply(part: &Fields<'_, '_>, basis: Basis) -> Supply {
    let input = part.table("input");
    let is_converter = part.kind() == Some("converter");
    Supply {
        input_voltage: input.bounds("voltage"),
        input_frequency: input.bounds("frequency"),
        input_current: input.positive("current", Basis::Chosen),
        inrush: input.positive("inrush", Basis::Chosen),
        power: part.positive("power", Basis::Chosen),
        efficiency: part.positive("efficiency", basis),
        power_factor: (!is_converter).then(|| part.positive("power-factor", basis)).flatten(),
        idle: part.positive("idle", basis),
        overload: match part.choice("overload").map(|(word, _)| word) {
            Some("hiccup") => Overload::Hiccup,
            Some("latch") => Overload::Latch,
            Some("fold back") => Overload::FoldBack,
            _ => Overload::Hold,
        },
        outputs: part.named("output").into_iter().filter_map(|(name, o)| output(name, &o)).collect(),
        joined: part.texts("joined").unwrap_or_default(),
        earthed: is_converter || part.flag("earthed").unwrap_or(true),
        enable: level(part, "enable"),
        power_good: power_good(&part.table("power-good")),
    }
}

fn output(name: Entered, fields: &Fields<'_, '_>) -> Option<Output> {
    let volts = fields.given::<Voltage>("volts", Basis::Chosen)?;
    Some(Output {
        name,
        volts,
        limit: fields.positive("limit", Basis::Chosen),
        trips_at: fields.positive("trips-at", Basis::Chosen),
        peak: fields.lasting("peak", Basis::Chosen),
        least: fields.positive("least", Basis::Chosen),
        without_least: fields.bounds("without-least"),
        cuts_off_at: fields.bounds("cuts-off-at"),
        capacitance: fields.positive("capacitance", Basis::Chosen),
        ready: fields.bounds("ready"),
    })
}

pub(super) fn raw(part: &Fields<'_, '_>, basis: Basis) -> Option<(PartKind, Vec<String>)> {
    let earthed = part.flag("earthed").unwrap_or(true);
    let outputs: Vec<RawOutput> =
        part.named("output").into_iter().filter_map(|(name, o)| raw_output(name, &o, basis)).collect();
    let mut terminals = vec!["line".to_owned(), "neutral".to_owned()];
    if earthed {
        terminals.push("earth".to_owned());
    }
    terminals.extend(output_terminals(outputs.iter().map(|o| &o.name)));
    let joined = part.texts("joined").unwrap_or_default();
    check_joined(part, &joined, &terminals);
    let frequency = part.bounds("frequency");
    let power = part.positive("power", Basis::Chosen);
    let primary = part.positive("primary", Basis::Chosen)?;
    Some((PartKind::RawSupply(RawSupply { primary, frequency, power, outputs, joined, earthed }), terminals))
}

fn raw_output(name: Entered, fields: &Fields<'_, '_>, basis: Basis) -> Option<RawOutput> {
    let rectifier = match fields.choice("rectifier").map(|(word, _)| word)? {
        "bridge" => Rectifier::Bridge,
        "centre-tap" => Rectifier::CentreTap,
        _ => Rectifier::HalfWave,
    };
    let (winding, regulation) = (fields.positive("winding", Basis::Chosen), fields.positive("regulation", Basis::Chosen));
    let (current, reservoir) = (fields.positive("current", basis), fields.positive("reservoir", Basis::Chosen));
    let (reservoir_rated, negative) =
        (fields.positive("reservoir-rated", Basis::Chosen), fields.flag("negative").unwrap_or(false));
    Some(RawOutput {
        name,
        winding: winding?,
        regulation: regulation?,
        current: current?,
        rectifier,
        reservoir: reservoir?,
        reservoir_rated,
        negative,
    })
}
