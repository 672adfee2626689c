//! What was found, the old supply, batteries, the meter, and values of ours that the job replaces.

use super::{check_letters, find_rail};
use crate::Diagnostic;
use crate::document::*;
use crate::fields::Fields;
use crate::near::nearest;
use crate::sheet::Name;
use voltwright_quantity::{Basis, Current, Place, Quantity, Voltage, parse};

pub(super) fn read(fields: &Fields<'_, '_>, job: &mut Job) {
    job.batteries =
        fields.named("battery").into_iter().filter_map(|(key, b)| battery(job, key, &b)).collect();
    job.found = fields.tables("found").iter().filter_map(found).collect();
    job.old_supply = old_supply(job, &fields.table("old-supply"));
    job.stages = fields.table("first-power").texts("stages").map(|names| stages(fields, job, names));
    let meter = fields.table("meter");
    job.meter = Meter {
        dc_volts: meter.parsed("dc-volts", parse::accuracy).map(|(a, _, _)| a),
        ac_volts: meter.parsed("ac-volts", parse::accuracy).map(|(a, _, _)| a),
        ohms: meter.parsed("ohms", parse::accuracy).map(|(a, _, _)| a),
        dc_amps: meter.parsed("dc-amps", parse::accuracy).map(|(a, _, _)| a),
    };
    assume(&fields.table("assume"), &mut job.assume);
}

/// `cold`, `cold fuse open`, `source`, `cold drive-a`, `drive-a`.
fn stages(fields: &Fields<'_, '_>, job: &Job, names: Vec<Entered>) -> Vec<GivenStage> {
    let stage = |name: Entered| {
        let words: Vec<&str> = name.text.split(' ').collect();
        let stage = |live, adds, open| Some(GivenStage { live, adds, open, span: name.span.clone() });
        let missing = match words[..] {
            ["cold"] => return stage(false, None, None),
            ["source"] => return stage(true, None, None),
            ["cold", part, "open"] => match job.part(part).filter(|p| opens(&job.parts[*p].kind)) {
                Some(p) => return stage(false, None, Some(p)),
                None => part,
            },
            ["cold", load] | [load] => match job.load(load) {
                Some(l) => return stage(words.len() == 1, Some(l), None),
                None => load,
            },
            _ => name.text.as_str(),
        };
        if fields.sheet.is_unread(Name::Owner, missing) {
            return None;
        }
        let loads = job.loads.iter().map(|l| l.key.text.as_str());
        let parts = job.parts.iter().filter(|p| opens(&p.kind)).map(|p| p.key.text.as_str());
        let hint = nearest(missing, loads.chain(parts).chain(["source", "cold"])).map_or_else(
            || "a stage is \"cold\", \"cold FUSE open\", \"source\", \"cold LOAD\" or \"LOAD\"".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        let message = format!("there is no stage `{}`", name.text);
        fields.sheet.report_missing(Diagnostic::error(name.span.clone(), message).hint(hint));
        None
    };
    names.into_iter().filter_map(stage).collect()
}

/// Whether a part can be opened by hand: a fuse taken out, a switch turned off.
fn opens(kind: &PartKind) -> bool {
    matches!(kind, PartKind::Fuse(_) | PartKind::Switch(_))
}

fn found(fields: &Fields<'_, '_>) -> Option<Found> {
    let (what, place, danger) = (fields.text("what"), fields.text("where"), fields.text("danger"));
    Some(Found { what: what?, place, danger })
}

fn chemistry(fields: &Fields<'_, '_>, key: &str) -> Option<Chemistry> {
    Some(match fields.choice(key)?.0 {
        "lithium primary" => Chemistry::LithiumPrimary,
        "alkaline" => Chemistry::Alkaline,
        "nickel-cadmium" => Chemistry::NickelCadmium,
        "nickel-metal hydride" => Chemistry::NickelMetalHydride,
        "lithium rechargeable" => Chemistry::LithiumRechargeable,
        _ => Chemistry::LeadAcid,
    })
}

fn battery(job: &Job, key: Entered, fields: &Fields<'_, '_>) -> Option<Battery> {
    check_letters(fields, &key, "a battery");
    let basis = fields.basis(Basis::DataSheet);
    let rail = fields.text("rail").and_then(|name| find_rail(fields, job, &name));
    let (made_for, volts) = (chemistry(fields, "made-for"), fields.positive("volts", Basis::Chosen));
    let (through, blocked) = (fields.positive("through", basis), fields.flag("blocked").unwrap_or(false));
    let state = match fields.choice("state").map(|(word, _)| word) {
        Some("sound") => BatteryState::Sound,
        Some("leaking") => BatteryState::Leaking,
        _ => BatteryState::Unknown,
    };
    let keeps = fields.text("keeps");
    let chemistry = chemistry(fields, "chemistry");
    Some(Battery { key, chemistry: chemistry?, made_for, volts, rail, through, blocked, state, keeps })
}

fn old_supply(job: &Job, fields: &Fields<'_, '_>) -> Option<OldSupply> {
    if !fields.is_present() {
        return None;
    }
    let kind = match fields.choice("kind").map(|(word, _)| word) {
        Some("linear") => OldKind::Linear,
        _ => OldKind::OffLine,
    };
    let fate = match fields.choice("fate").map(|(word, _)| word) {
        Some("in use") => Fate::InUse,
        Some("removed") => Fate::Removed,
        Some(_) => Fate::Disconnected,
        // Without a new supply the old one is what the machine will run on.
        None if job.parts.iter().any(|p| matches!(p.kind, PartKind::MainsSupply(_))) => Fate::Disconnected,
        None => Fate::InUse,
    };
    let basis = fields.basis(Basis::Nameplate);
    let primaries = fields.positives("primaries");
    let outputs = fields
        .named_values("outputs")
        .into_iter()
        .filter_map(|(rail, text)| output(job, fields, basis, &rail, text));
    Some(OldSupply {
        kind,
        fate,
        primaries,
        winding_power: fields.positive("winding-power", Basis::Chosen),
        phase_proven: fields.flag("phase-proven").unwrap_or(false),
        outputs: outputs.collect(),
        parts: fields.named("part").into_iter().filter_map(|(key, p)| old_part(key, &p)).collect(),
        span: fields.span.clone(),
    })
}

/// `5 V 4 A`: what one old output delivered.
fn output(
    job: &Job,
    fields: &Fields<'_, '_>,
    basis: Basis,
    rail: &Entered,
    entered: Entered,
) -> Option<(usize, Voltage, Option<Given<Current>>)> {
    let index = find_rail(fields, job, rail);
    match parse::pair::<Voltage, Current>(&entered.text) {
        Ok((volts, amps)) => {
            let place = Place {
                path: format!("old-supply.outputs.{}", rail.text),
                line: fields.sheet.lines.line(entered.span.start),
                text: entered.text,
            };
            let given =
                amps.map(|a| Given::new(a.or_factors(basis.implied_factors()), basis, place, entered.span));
            Some((index?, volts.nominal, given))
        }
        Err(error) => {
            fields.sheet.report_in_text(&entered.span, &entered.text, error);
            None
        }
    }
}

fn old_part(key: Entered, fields: &Fields<'_, '_>) -> Option<OldPart> {
    check_letters(fields, &key, "a part");
    let basis = fields.basis(Basis::Chosen);
    let kind = fields.choice("kind").map(|(word, _)| match word {
        "electrolytic" => OldPartKind::Electrolytic,
        "doubler electrolytic" => OldPartKind::DoublerElectrolytic,
        "rectifier" => OldPartKind::Rectifier,
        "X capacitor" => OldPartKind::XCapacitor,
        "Y capacitor" => OldPartKind::YCapacitor,
        "varistor" => OldPartKind::Varistor,
        "fan" => OldPartKind::Fan,
        "neon" => OldPartKind::Neon,
        "fuse" => OldPartKind::Fuse,
        "switch" => OldPartKind::Switch,
        _ => OldPartKind::Filter,
    });
    let _ = fields.text("state");
    // "400 V 2 A" is how bridges are marked: the volts are what the mains side asks for.
    let rated = fields.parsed("rated", parse::pair::<Voltage, Current>).map(|((volts, _), place, span)| {
        Given::new(volts.or_factors(basis.implied_factors()), basis, place, span)
    });
    let rated = rated.and_then(|given| fields.above_zero(given));
    let (value, series) = (fields.positive("value", basis), fields.positive("series", basis));
    let (power, current) = (fields.positive("power", basis), fields.positive("current", basis));
    let resistor_power = fields.positive("resistor-power", basis);
    let across_half = fields.flag("across-half").unwrap_or(false);
    Some(OldPart { key, rated, value, series, power, resistor_power, current, across_half, kind: kind? })
}

fn assume(fields: &Fields<'_, '_>, assume: &mut Assume) {
    fn replace<Q: Quantity>(of: &mut Given<Q>, given: Option<Given<Q>>) {
        if let Some(given) = given {
            *of = given;
        }
    }
    let chosen = Basis::Chosen;
    replace(&mut assume.contact, fields.positive("contact", chosen));
    replace(&mut assume.joint, fields.positive("joint", chosen));
    replace(&mut assume.continuous, fields.share("continuous", chosen));
    replace(&mut assume.power_factor, fields.share("power-factor", chosen));
    replace(&mut assume.ground_lift, fields.positive("ground-lift", chosen));
    replace(&mut assume.junction, fields.positive("junction", chosen));
    replace(&mut assume.inside_rise, fields.positive("inside-rise", chosen));
    replace(&mut assume.mains_loop, fields.positive("mains-loop", chosen));
}
