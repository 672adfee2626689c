//! Supplies and converters with their outputs.

use super::check_letters;
use super::loads::{level, power_good};
use crate::Diagnostic;
use crate::document::*;
use crate::fields::Fields;
use crate::sheet::Name;
use voltwright_quantity::{Basis, Spread, Voltage};

pub(super) fn mains(part: &Fields<'_, '_>, key: &Entered, basis: Basis) -> (PartKind, Vec<String>) {
    let supply = supply(part, key, basis);
    let mut terminals = vec!["line".to_owned(), "neutral".to_owned()];
    if supply.earthed {
        terminals.push("earth".to_owned());
    }
    if part.holds("enable") {
        terminals.push("enable".to_owned());
    }
    terminals.extend(output_terminals(supply.outputs.iter().map(|o| &o.name)));
    check_joined(part, key, &supply.joined, &terminals);
    (PartKind::MainsSupply(supply), terminals)
}

pub(super) fn converter(part: &Fields<'_, '_>, key: &Entered, basis: Basis) -> (PartKind, Vec<String>) {
    let supply = supply(part, key, basis);
    let mut terminals = vec!["in.plus".to_owned(), "in.minus".to_owned()];
    if part.holds("enable") {
        terminals.push("enable".to_owned());
    }
    terminals.extend(output_terminals(supply.outputs.iter().map(|o| &o.name)));
    check_joined(part, key, &supply.joined, &terminals);
    (PartKind::Converter(supply), terminals)
}

fn output_terminals<'a>(names: impl Iterator<Item = &'a Entered>) -> Vec<String> {
    names.flat_map(|name| [format!("{}.plus", name.text), format!("{}.minus", name.text)]).collect()
}

fn check_joined(part: &Fields<'_, '_>, key: &Entered, joined: &[Entered], terminals: &[String]) {
    for mains in joined.iter().filter(|j| matches!(j.text.as_str(), "line" | "neutral")) {
        let message = "this would join the mains to the outputs inside the supply";
        part.sheet.report(
            Diagnostic::error(mains.span.clone(), message)
                .hint("only terminals of outputs, and earth, are joined"),
        );
    }
    let unread = |j: &Entered| part.sheet.is_unread(Name::Owner, &format!("{}.{}", key.text, j.text));
    for entered in joined.iter().filter(|j| !unread(j) && !terminals.contains(&j.text)) {
        let near = crate::near::nearest(&entered.text, terminals.iter().map(String::as_str));
        let hint = near.map(|n| format!("did you mean \"{n}\"?"));
        let message = format!("there is no terminal \"{}\" to be joined", entered.text);
        part.sheet.report_missing(Diagnostic::error(entered.span.clone(), message).maybe_hint(hint));
    }
}

fn supply(part: &Fields<'_, '_>, key: &Entered, basis: Basis) -> Supply {
    let input = part.table("input");
    let is_converter = part.kind() == Some("converter");
    Supply {
        input_voltage: input.bounds_from_zero("voltage"),
        input_frequency: input.bounds_from_zero("frequency"),
        input_current: input.positive("current", Basis::Chosen),
        inrush: input.positive("inrush", Basis::Chosen),
        power: part.positive("power", Basis::Chosen),
        efficiency: part.share("efficiency", basis),
        power_factor: (!is_converter).then(|| part.share("power-factor", basis)).flatten(),
        idle: part.positive("idle", basis),
        overload: match part.choice("overload").map(|(word, _)| word) {
            Some("hiccup") => Overload::Hiccup,
            Some("latch") => Overload::Latch,
            Some("fold back") => Overload::FoldBack,
            _ => Overload::Hold,
        },
        outputs: outputs(part, key, output),
        joined: part.texts("joined").unwrap_or_default(),
        earthed: is_converter || part.flag("earthed").unwrap_or(true),
        enable: level(part, "enable"),
        power_good: power_good(&part.table("power-good")),
    }
}

/// The outputs that can be read; the others are noted, so that wires to them are not blamed.
fn outputs<O>(
    part: &Fields<'_, '_>,
    key: &Entered,
    read: impl Fn(Entered, &Fields<'_, '_>) -> Option<O>,
) -> Vec<O> {
    let one = |(name, fields): (Entered, Fields<'_, '_>)| {
        check_letters(part, &name, "an output");
        let path = format!("{}.{}", key.text, name.text);
        let output = read(name, &fields);
        if output.is_none() {
            part.sheet.note_unread(Name::Owner, path);
        }
        output
    };
    let named = part.named("output");
    if named.is_empty() {
        part.sheet.note_unread(Name::Owner, key.text.as_str());
    }
    named.into_iter().filter_map(one).collect()
}

fn output(name: Entered, fields: &Fields<'_, '_>) -> Option<Output> {
    let volts = fields.volts("volts");
    let output = |volts| Output {
        name,
        volts,
        limit: fields.positive("limit", Basis::Chosen),
        trips_at: fields.positive("trips-at", Basis::Chosen),
        peak: fields.lasting("peak", Basis::Chosen),
        least: fields.positive("least", Basis::Chosen),
        without_least: fields.bounds("without-least"),
        cuts_off_at: fields.bounds("cuts-off-at"),
        capacitance: fields.positive("capacitance", Basis::Chosen),
        ready: fields.bounds_from_zero("ready"),
    };
    // Without volts the rest is read all the same, for its mistakes.
    let known = volts.is_some();
    let output = output(volts.unwrap_or_else(|| Given::ours("", Spread::exact(Voltage::ZERO))));
    known.then_some(output)
}

pub(super) fn raw(part: &Fields<'_, '_>, key: &Entered, basis: Basis) -> Option<(PartKind, Vec<String>)> {
    let earthed = part.flag("earthed").unwrap_or(true);
    let outputs = outputs(part, key, |name, o| raw_output(name, o, basis));
    let mut terminals = vec!["line".to_owned(), "neutral".to_owned()];
    if earthed {
        terminals.push("earth".to_owned());
    }
    terminals.extend(output_terminals(outputs.iter().map(|o| &o.name)));
    let joined = part.texts("joined").unwrap_or_default();
    check_joined(part, key, &joined, &terminals);
    let frequency = part.bounds_from_zero("frequency");
    let power = part.positive("power", Basis::Chosen);
    let primary = part.positive("primary", Basis::Chosen);
    Some((
        PartKind::RawSupply(RawSupply { primary: primary?, frequency, power, outputs, joined, earthed }),
        terminals,
    ))
}

fn raw_output(name: Entered, fields: &Fields<'_, '_>, basis: Basis) -> Option<RawOutput> {
    let rectifier = fields.choice("rectifier").map(|(word, _)| match word {
        "bridge" => Rectifier::Bridge,
        "centre-tap" => Rectifier::CentreTap,
        _ => Rectifier::HalfWave,
    });
    let (winding, regulation) =
        (fields.positive("winding", Basis::Chosen), fields.positive("regulation", Basis::Chosen));
    let (current, reservoir) =
        (fields.positive("current", basis), fields.positive("reservoir", Basis::Chosen));
    let (reservoir_rated, negative) =
        (fields.positive("reservoir-rated", Basis::Chosen), fields.flag("negative").unwrap_or(false));
    Some(RawOutput {
        name,
        winding: winding?,
        regulation: regulation?,
        current: current?,
        rectifier: rectifier?,
        reservoir: reservoir?,
        reservoir_rated,
        negative,
    })
}
