//! Does every wire carry its current cool enough, and what does it cost in volts?
//!
//! - Temperature: `T = T_air + I² · r′ / (π · d · h)` with the current `I` (A), the resistance per metre at 70 °C `r′`
//!   (Ω/m), the outer diameter `d` = conductor diameter + 1.6 mm of insulation, and the heat transfer of thin wires in
//!   still air `h` = 23 W/m²K (it reproduces the single-core currents of DIN VDE 0298-4, from memory, within a tenth of
//!   the rise). In a bundle the rise grows by `1/k²` with the bundle factor `k` of MIL-W-5088L.
//! - Current against the table of small wires (`voltwright tables ampacity`): a caution, since it holds for bundles of
//!   hot wires in vacuum and is kept as a comfortable figure.
//!
//! ```
//! // 1.0 mm² at 19 A in 30 °C air: about 70 °C, the rating of its insulation.
//! use voltwright_rules::rule::wires::rise;
//! let t = 30.0 + rise(19.0, 1.0e-6, 0.0195, 1);
//! assert!((t - 70.0).abs() < 6.0);
//! ```
//!
//! Not covered: wires wound up, in foam, or beside hot parts.

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, below};
use voltwright_job::Wire;
use voltwright_model::solved::MainsEnd;
pub use voltwright_model::wire_heat::{PLAIN_INSULATION, rise};
use voltwright_model::wire_heat::{bundle_factor, outside};
use voltwright_model::{Loading, Solved, air_inside};
use voltwright_quantity::{
    Area, Current, Length, Quantity, Ratio, Resistance, Source, Temperature, TemperatureRise, Working,
};
use voltwright_tables::{ampacity, conductors, copper};

static HOT: Code = Code::new("wire-hot", Stretch::Wiring, "A wire gets hotter than its insulation stands.");
static CURRENT: Code =
    Code::new("wire-current", Stretch::Wiring, "A wire carries more than its comfortable current.");
static WARMEST: Code = Code::new("wire-warmest", Stretch::Wiring, "The warmest of all wires.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&HOT, &CURRENT, &WARMEST];

/// Judges every wire.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    if !sink.wants_any(CODES) {
        return;
    }
    let currents = currents(solved);
    warmest(solved, sink, &currents);
    for (w, wire) in solved.job.wires.iter().enumerate() {
        let Some(amps) = currents[w].map(Current::amps) else { continue };
        let key = w;
        temperature(solved, sink, key, wire, amps);
        if sink.wants_cautions() {
            comfortable(sink, key, wire, amps);
        }
    }
}

/// The temperature of a wire with its working.
fn warmth(solved: &Solved<'_>, key: usize, amps: Current) -> (Temperature, Working) {
    let wire = &solved.job.wires[key];
    let air = air_inside(solved.job);
    let (per_metre, area, source) = conductors::per_metre(wire.size);
    let hot = air + TemperatureRise::kelvins(rise(amps.si(), area.si(), per_metre, wire.bundle));
    let inputs = vec![
        Working::looked("Tair", "air inside", air, Source::practice("ambient and assume.inside-rise")),
        Working::solved("I", "its current", amps, "every draw at its upper end", vec![]),
        Working::looked("r", "resistance of a metre at 20 °C", Resistance::ohms(per_metre), source),
        Working::looked(
            "kt",
            "at 70 °C",
            Ratio::new(copper::resistance_factor(Temperature::celsius(PLAIN_INSULATION))),
            copper::SOURCE,
        ),
        Working::looked(
            "d",
            "conductor and 1.6 mm of insulation",
            Length::metres(outside(area.si())),
            Source::practice("thin wires"),
        ),
        Working::looked(
            "k",
            "factor of its bundle",
            Ratio::new(bundle_factor(wire.bundle)),
            ampacity::BUNDLE_SOURCE,
        ),
    ];
    let w = Working::formula("T", "the wire", hot, "Tair + I² · r · kt / (π · d · 23 W/m²K) / k²", inputs)
        .from_source(Source::practice("23 W/m²K for thin wires in still air"));
    (hot, w)
}

/// The warmest wire, named even where all are cool.
fn warmest(solved: &Solved<'_>, sink: &mut Sink, currents: &[Option<f64>]) {
    let rises = currents.iter().enumerate().filter_map(|(w, amps)| {
        let (per_metre, area) = solved.wiring().metres[w];
        amps.map(|amps| (w, amps, rise(amps, area, per_metre, solved.job.wires[w].bundle)))
    });
    let Some((w, amps, _)) = rises.max_by(|a, b| a.2.total_cmp(&b.2)).filter(|(.., rise)| *rise > 0.0) else {
        return;
    };
    sink.tell(&WARMEST, Severity::Note, || {
        let wire = &solved.job.wires[w];
        let (hot, working) = warmth(solved, w, Current::amps(amps));
        let says = format!(
            "The warmest wire is {} ({}): {hot} at {}.",
            wire.name(),
            wire.size_text.text,
            Current::amps(amps)
        );
        Finding::new(wire.name(), says).working(working).at(&wire.span)
    });
}

/// Current of each wire, without sign: low-voltage wires with every draw at its upper end, mains wires at the lowest
/// mains; nothing where the wire is in neither network.
pub fn currents(solved: &Solved<'_>) -> Vec<Option<f64>> {
    let low = solved.low_voltage(Loading::Run);
    // With limits lifted: where a supply would trip, its wires are still judged by what is asked of them.
    let heavy = solved.demand(Loading::Run, Some(true));
    let mains = solved.mains_point(MainsEnd::Low);
    (0..solved.job.wires.len())
        .map(|w| match (low.wires[w], &heavy, &mains) {
            (Some(e), Some(point), _) => Some(point.solution.elements[e].current.abs()),
            (None, _, Some(mains)) => mains.0.wires[w].map(|e| mains.1.elements[e].current.abs()),
            _ => None,
        })
        .collect()
}

/// The temperature that a wire's insulation stands.
pub fn stands(wire: &Wire) -> Temperature {
    wire.insulation.as_ref().map_or(Temperature::celsius(PLAIN_INSULATION), |g| g.nominal())
}

fn temperature(solved: &Solved<'_>, sink: &mut Sink, key: usize, wire: &Wire, amps: Current) {
    let (air, limit) = (air_inside(solved.job), stands(wire));
    let (per_metre, area) = solved.wiring().metres[key];
    let rise = TemperatureRise::kelvins(rise(amps.si(), area, per_metre, wire.bundle));
    let margin = below(rise.si(), (limit - air).si().max(1e-6));
    sink.judge(&HOT, key, Severity::Stop, margin, || {
        let (hot, w) = warmth(solved, key, amps);
        let area = Area::square_metres(area);
        let says =
            format!("{} carries {amps} and reaches {hot}; its insulation stands {limit}.", wire.name());
        let finding = Finding::new(wire.name(), says).about(About::Wire(key)).working(w).at(&wire.span);
        let fits = |a: &Area| {
            let (r, ..) = conductors::per_metre(voltwright_quantity::parse::Conductor::Metric(*a));
            air.si() + self::rise(amps.si(), a.si(), r, wire.bundle) <= limit.si()
        };
        match conductors::next_larger(area).find(fits) {
            Some(size) => finding.cure(format!(
                "{size}, the smallest standard size that stays below {limit}; or a second wire beside it"
            )),
            None => finding.cure("several wires in parallel"),
        }
    });
}

fn comfortable(sink: &mut Sink, key: usize, wire: &Wire, amps: Current) {
    let (_, area, _) = conductors::per_metre(wire.size);
    let table = |area: Area| {
        let row = ampacity::ampacity(area);
        (if wire.bundle >= 15 { row.bundled } else { row.single }, row.source)
    };
    let (most, source) = table(area);
    sink.judge(&CURRENT, key, Severity::Caution, below(amps.si(), most.si()), || {
        let w = Working::formula(
            "room",
            "left of the table's current",
            most - amps,
            "most − I",
            vec![
                Working::looked("most", "for this size", most, source),
                Working::solved("I", "its current", amps, "every draw at its upper end", vec![]),
            ],
        );
        let larger = conductors::next_larger(area).find(|a| table(*a).0 >= amps);
        let says = format!(
            "{} ({}) carries {amps}; the table gives {most} for it.",
            wire.name(),
            wire.size_text.text
        );
        let finding = Finding::new(wire.name(), says).about(About::Wire(key)).working(w).at(&wire.span);
        match larger {
            Some(size) => finding.cure(format!("{size}, the smallest standard size that would do")),
            None => finding,
        }
    });
}
