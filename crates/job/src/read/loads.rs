//! Rails and loads.

use super::{check_letters, check_name, find_rail};
use crate::Diagnostic;
use crate::document::{
    Bounds, Draw, Draws, Entered, Given, Job, Level, Load, Order, PowerGood, Rail, Socket, WayUse, Worth,
};
use crate::fields::Fields;
use crate::sheet::Name;
use std::collections::BTreeMap;
use std::ops::Range;
use voltwright_quantity::parse::ParseError;
use voltwright_quantity::{Basis, Current, Power, Quantity, Ratio, Resistance, Spread, Voltage, parse};

pub(super) fn rails(fields: &Fields<'_, '_>, job: &mut Job) {
    let mut taken = BTreeMap::new();
    for (name, rail) in fields.named("rail") {
        check_name(fields, &name, &mut taken, "a rail");
        let nominal = nominal(&rail);
        let volts = nominal.as_ref().map_or(Voltage::volts(1.0), Given::nominal);
        let (tolerance, harm) = (tolerance(&rail, volts), rail.bounds::<Voltage>("harm"));
        let Some(nominal) = nominal else {
            fields.sheet.note_unread(Name::Rail, name.text);
            continue;
        };
        for (bounds, what) in [(&tolerance, "tolerance"), (&harm, "harm limits")] {
            if let Some(b) = bounds
                && !(b.low <= nominal.nominal() && nominal.nominal() <= b.high)
            {
                let message =
                    format!("the {what} of `{}` must hold its nominal {}", name.text, nominal.nominal());
                fields.sheet.report(Diagnostic::error(b.span.clone(), message));
            }
        }
        job.rails.push(Rail { name, nominal, tolerance, harm });
    }
}

fn nominal(rail: &Fields<'_, '_>) -> Option<Given<Voltage>> {
    let nominal = rail.given::<Voltage>("nominal", Basis::Chosen)?;
    if nominal.nominal().si().abs() >= 1e-3 {
        return Some(nominal);
    }
    rail.sheet.report(Diagnostic::error(nominal.span, "a rail of 0 V is `com`"));
    None
}

/// A percentage about the nominal, or a range in volts.
fn tolerance(rail: &Fields<'_, '_>, nominal: Voltage) -> Option<Bounds<Voltage>> {
    let ((low, high), place, span) =
        rail.parsed("tolerance", |text| match parse::quantity::<Ratio>(text) {
            Ok(share) if share.si() < 0.0 => Err(ParseError {
                at: 0..text.len(),
                message: "a tolerance is written without a sign".into(),
                hint: None,
            }),
            Ok(share) => {
                let s = Spread::by_factors(nominal, (1.0 - share.si(), 1.0 + share.si()));
                Ok((s.low, s.high))
            }
            Err(_) if text.contains("..") => parse::range::<Voltage>(text),
            Err(error) => Err(error),
        })?;
    Some(Bounds { low, high, place, span })
}

pub(super) fn loads(fields: &Fields<'_, '_>, job: &mut Job) {
    let mut taken = BTreeMap::new();
    for (key, load) in fields.named("load") {
        check_name(fields, &key, &mut taken, "a load");
        if !load.is_present() {
            fields.sheet.note_unread(Name::Owner, key.text);
            continue;
        }
        let draws = load.named("draws").iter().filter_map(|(rail, d)| draw(job, rail, d)).collect();
        let order = load.tables("order").iter().filter_map(|o| order(job, o)).collect();
        let sockets = sockets(job, &load, &key);
        job.loads.push(Load {
            name: load.text("name").map_or_else(|| key.text.clone(), |t| t.text),
            worth: match load.choice("worth").map(|(word, _)| word) {
                Some("irreplaceable") => Worth::Irreplaceable,
                Some("easy to find") => Worth::EasyToFind,
                _ => Worth::HardToFind,
            },
            draws,
            order,
            sockets,
            power_good: power_good(&load.table("power-good")),
            control: level(&load, "control"),
            key,
        });
    }
}

fn sockets(job: &Job, load: &Fields<'_, '_>, key: &Entered) -> Vec<Socket> {
    let before = load.sheet.errors();
    let mut sockets = Vec::new();
    for (name, ways) in load.named_texts("sockets") {
        check_letters(load, &name, "a socket");
        match ways {
            Some(ways) => {
                let ways = ways.iter().map(|w| way(job, load, w.as_ref())).collect();
                sockets.push(Socket { name, ways });
            }
            None => load.sheet.note_unread(Name::Owner, format!("{}.{}", key.text, name.text)),
        }
    }
    if load.sheet.errors() > before {
        load.sheet.note_unread(Name::Ways, key.text.as_str());
        if sockets.is_empty() {
            load.sheet.note_unread(Name::Owner, key.text.as_str());
        }
    }
    sockets
}

fn draw(job: &Job, rail_name: &Entered, fields: &Fields<'_, '_>) -> Option<Draw> {
    let rail = find_rail(fields, job, rail_name);
    let basis = fields.basis(Basis::DataSheet);
    let volts = rail.map_or(Voltage::volts(1.0), |r| job.rails[r].nominal.nominal().abs());
    let run = running(fields, volts, basis);
    let start = fields.lasting::<Current>("start", basis);
    let idle = fields.unsigned::<Current>("idle", basis);
    let capacitance = fields.positive("capacitance", basis);
    // What a meter shows is measured, whatever the basis of the draw.
    let cold = fields.positive("cold", Basis::Measured);
    let (law, run) = run?;
    Some(Draw { rail: rail?, law, run, start, idle, capacitance, cold })
}

/// The running draw as a current at the nominal voltage; its unit tells how it follows the voltage.
fn running(fields: &Fields<'_, '_>, volts: Voltage, basis: Basis) -> Option<(Draws, Given<Current>)> {
    let ((law, spread), place, span) = fields.parsed("run", |text| {
        if let Ok(power) = parse::value::<Power>(text) {
            let p = power.or_factors(basis.implied_factors());
            let amps = |p: Power| p / volts;
            return Ok((
                Draws::Power,
                Spread { nominal: amps(p.nominal), low: amps(p.low), high: amps(p.high) },
            ));
        }
        if let Ok(ohms) = parse::value::<Resistance>(text) {
            let r = ohms.or_factors((1.0, 1.0));
            let amps = |r: Resistance| volts / r;
            return Ok((
                Draws::Resistance,
                Spread { nominal: amps(r.nominal), low: amps(r.high), high: amps(r.low) },
            ));
        }
        parse::value::<Current>(text).map(|c| (Draws::Current, c.or_factors(basis.implied_factors())))
    })?;
    let fine = spread.low.si() >= 0.0 && spread.high.si().is_finite();
    if !fine {
        let message = "a draw is written without sign and cannot be endless; the rail has the sign";
        fields.sheet.report(Diagnostic::error(span, message));
        return None;
    }
    Some((law, Given::new(spread, basis, place, span)))
}

fn order(job: &Job, fields: &Fields<'_, '_>) -> Option<Order> {
    let first = fields.text("first").and_then(|name| find_rail(fields, job, &name));
    let then = fields.text("then").and_then(|name| find_rail(fields, job, &name));
    let why = fields.text("why").map_or_else(String::new, |t| t.text);
    let (first, then) = (first?, then?);
    if first == then {
        let message = "a rail cannot wait for itself";
        fields.sheet.report(Diagnostic::error(fields.span.clone(), message));
        return None;
    }
    Some(Order { first, then, why, span: fields.span.clone() })
}

/// What a way is; one that cannot be read keeps its place, so that the ways behind it stay right.
fn way(job: &Job, fields: &Fields<'_, '_>, word: Option<&Entered>) -> (WayUse, Range<usize>) {
    let Some(word) = word else { return (WayUse::Nothing, 0..0) };
    let what = match word.text.as_str() {
        "com" => WayUse::Com,
        "chassis" => WayUse::Chassis,
        "-" => WayUse::Nothing,
        _ => find_rail(fields, job, word).map_or(WayUse::Nothing, WayUse::Rail),
    };
    (what, word.span.clone())
}

pub(super) fn level(fields: &Fields<'_, '_>, key: &str) -> Option<(Level, Entered)> {
    let (word, span) = fields.choice(key)?;
    let level = if word == "low" { Level::Low } else { Level::High };
    Some((level, Entered { text: word.into(), span }))
}

pub(super) fn power_good(fields: &Fields<'_, '_>) -> Option<PowerGood> {
    fields.is_present().then(|| PowerGood {
        level: level(fields, "level").map(|(level, _)| level),
        delay: fields.bounds_from_zero("delay"),
        span: fields.span.clone(),
    })
}
