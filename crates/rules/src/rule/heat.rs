//! How warm does it get in the case, and is every part within what it may still do there?
//!
//! Steady heat, with every draw at its upper end and efficiencies at their lower. Dissipation inside: loads take
//! `Σ U·I`, supplies `P_out·(1/η − 1)`, regulators and wires what the solved circuit says. The rise of the air inside solves `P = k·A·ΔT + ρ·c·V̇·ΔT`:
//! - walls: `A = 1.8·H·(W + D) + 1.4·W·D` (m², case free all round, VDE 0660-500, from memory) and `k` = 5.5 W/m²K for
//!   painted steel (stainless 3.7, aluminium 12, plastic 3.5: published; wood 2.5: common practice);
//! - vents: half their area in, half out, `V̇ = 0.6·(A_v/2)/√2 · √(2·g·H·ΔT/T)` (stack effect, discharge 0.6, `T` = 300 K, handbook);
//! - a fan moves what is entered; `ρ·c` = 1.2 kJ/m³K.
//!
//! Both are given: as it is, and without the fan. Each part with `full-to` and `nothing-at` may be used in full up to
//! the one and not at all at the other, linearly between.
//!
//! ```
//! // A box of 0.15 × 0.4 × 0.3 m with 60 W and 5.5 W/m²K: 30.6 K.
//! use voltwright_rules::rule::heat::{rise, Walls};
//! let walls = Walls { width: 0.4, depth: 0.3, height: 0.15, transfer: 5.5, vents: 0.0, fan: 0.0 };
//! assert!((rise(60.0, &walls) - 30.6).abs() < 0.1);
//! ```

use crate::demand::demands;
use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, below};
use voltwright_circuit::Law;
use voltwright_job::{Case, PartKind, Supply, Wall};
use voltwright_model::{Solved, ambient_high};
use voltwright_quantity::{
    AirFlow, Area, Length, Power, Quantity, Ratio, Source, Temperature, TemperatureRise, Working,
};

static HOT: Code =
    Code::new("case-hot", Stretch::Case, "A part is used above what it may do at the air inside.");
static AIR: Code = Code::new("air-inside", Stretch::Case, "How warm the air inside the case gets.");
static ASSUMED: Code = Code::new(
    "air-warmer-than-assumed",
    Stretch::Case,
    "The air inside is warmer than the other rules take it.",
);

/// The codes of this rule.
pub static CODES: &[&Code] = &[&HOT, &AIR, &ASSUMED];

/// Heat that a cubic metre of air takes a kelvin, J.
const AIR_HEAT: f64 = 1200.0;
/// Share of an opening that flow uses: handbook value for a sharp edge.
const DISCHARGE: f64 = 0.6;

/// A case as heat sees it, metres and SI.
#[derive(Debug, Clone, Copy)]
pub struct Walls {
    /// Inside width.
    pub width: f64,
    /// Inside depth.
    pub depth: f64,
    /// Inside height.
    pub height: f64,
    /// Heat transfer of the walls, W/m²K.
    pub transfer: f64,
    /// Free area of all vents, m².
    pub vents: f64,
    /// Air moved by a fan, m³/s.
    pub fan: f64,
}

/// Effective area of a case free all round, m².
pub fn effective_area(w: &Walls) -> f64 {
    1.8 * w.height * (w.width + w.depth) + 1.4 * w.width * w.depth
}

/// Air that rises through the vents at a rise of `dt` kelvin, m³/s.
fn draught(dt: f64, w: &Walls) -> f64 {
    DISCHARGE * w.vents / 2.0 / std::f64::consts::SQRT_2 * (2.0 * 9.81 * w.height * dt / 300.0).sqrt()
}

/// Rise of the air inside for so many watts, kelvin: the root of a rising function, by halving.
pub fn rise(watts: f64, w: &Walls) -> f64 {
    let carried = |dt: f64| w.transfer * effective_area(w) * dt + AIR_HEAT * (draught(dt, w) + w.fan) * dt;
    let (mut low, mut high) = (0.0, 1000.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if carried(middle) < watts { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

fn transfer(wall: Wall) -> (f64, Source) {
    let published = Source::seen("a maker's published note on enclosures");
    match wall {
        Wall::PaintedSteel => (5.5, published),
        Wall::StainlessSteel => (3.7, published),
        Wall::Aluminium => (12.0, published),
        Wall::Plastic => (3.5, published),
        Wall::Wood => (2.5, Source::practice("wood or board of 15 mm")),
    }
}

fn walls(case: &Case) -> Option<Walls> {
    let [width, depth, height] = case.inside?;
    Some(Walls {
        width: width.si(),
        depth: depth.si(),
        height: height.si(),
        transfer: transfer(case.wall).0,
        vents: case.vents.as_ref().map_or(0.0, |v| v.nominal().si()),
        fan: case.fan.as_ref().map_or(0.0, |f| f.spread.low.si()),
    })
}

/// Judges the air inside and every part in it.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    let Some(watts) = dissipated(solved) else { return };
    let Some((case, walls)) = job.machine.case.as_ref().and_then(|c| Some((c, walls(c)?))) else {
        return sink.missing(
            &AIR,
            "the case",
            "machine.case.inside",
            "how warm it gets inside, and whether the parts may be used in full there",
        );
    };
    let ambient = ambient_high(job);
    let dt = TemperatureRise::kelvins(rise(watts.si(), &walls));
    let inside = ambient + dt;
    sink.tell(&AIR, Severity::Note, || write_air(case, &walls, watts, ambient, dt));
    let assumed = job.assume.inside_rise.nominal();
    sink.judge(&ASSUMED, 0, Severity::Caution, below(dt.si(), assumed.si() + 1.0), || {
        let says = format!("The air inside rises by {dt}; wires and regulators were judged at {assumed} (assume.inside-rise).");
        Finding::new("the case", says).cure(format!("set assume.inside-rise = \"{:.0} K\"", dt.si().ceil()))
    });
    parts(solved, sink, inside);
}

/// The air inside, with the two ways in which the heat leaves.
fn write_air(case: &Case, walls: &Walls, watts: Power, ambient: Temperature, dt: TemperatureRise) -> Finding {
    let inside = ambient + dt;
    let (k, source) = transfer(case.wall);
    let moved = AirFlow::cubic_metres_per_second(draught(dt.si(), walls) + walls.fan);
    let sides = |i: usize| {
        Working::looked(
            ["W", "D", "H"][i],
            "inside",
            case.inside.map_or(Length::ZERO, |s| s[i]),
            Source::computed("machine.case.inside"),
        )
    };
    let area = Area::square_metres(effective_area(walls));
    let area = Working::formula(
        "A",
        "effective area of the case",
        area,
        "1.8 · H · (W + D) + 1.4 · W · D",
        (0..3).map(sides).collect(),
    )
    .from_source(Source::memory("VDE 0660-500, free all round"));
    let inputs = vec![
        Working::solved(
            "P",
            "heat inside",
            watts,
            "every draw at its upper end, efficiencies at their lower",
            vec![],
        ),
        area,
        Working::looked(
            "V",
            "air through the vents and the fan",
            moved,
            Source::computed("stack effect at this rise"),
        ),
        Working::looked("dT", "rise at which both carry P away", dt, Source::computed("by halving")),
    ];
    let carried = Working::formula(
        "P",
        "carried away by walls and air",
        watts,
        &format!("{k} W/m²K · A · dT + 1.2 kJ/m³K · V · dT"),
        inputs,
    )
    .from_source(source);
    let ambient_w = Working::looked("Tamb", "ambient, upper end", ambient, Source::computed("job.ambient"));
    let rise_w = Working::looked("dT", "rise", dt, Source::computed("as below"));
    let w = Working::formula("T", "air inside", inside, "Tamb + dT", vec![ambient_w, rise_w, carried]);
    let still = Walls { fan: 0.0, ..*walls };
    let without = match walls.fan > 0.0 {
        true => format!(
            " Without the fan it would be {}.",
            ambient + TemperatureRise::kelvins(rise(watts.si(), &still))
        ),
        false => String::new(),
    };
    let says = format!(
        "{watts} turn to heat inside; the air there reaches {inside} at an ambient of {ambient}.{without}"
    );
    Finding::new("the case", says).working(w).at(&case.span)
}

/// All that turns to heat inside: what the sources deliver, and what the supplies lose.
fn dissipated(solved: &Solved<'_>) -> Option<Power> {
    let point = solved.heavy_point()?;
    let delivered: f64 = (0..point.network.elements.len())
        .filter(|e| matches!(point.network.elements[*e].law, Law::Source(_)))
        .map(|e| point.solution.delivered(&point.network, e))
        .sum();
    let lost: f64 = (0..solved.job.parts.len())
        .map(|p| {
            let input = solved.input_watts(p, true);
            if input > 0.0 { input - solved.output_watts(p, true) } else { 0.0 }
        })
        .sum();
    let watts = delivered + lost;
    (watts > 0.0).then(|| Power::watts(watts))
}

fn parts(solved: &Solved<'_>, sink: &mut Sink, inside: Temperature) {
    let demands = demands(solved);
    for (p, part) in solved.job.parts.iter().enumerate() {
        let (PartKind::MainsSupply(s) | PartKind::Converter(s)) = &part.kind else { continue };
        let (Some(full), Some(nothing)) = (&part.full_to, &part.nothing_at) else {
            let enter = format!("part.{0}.full-to, part.{0}.nothing-at", part.key.text);
            sink.missing(&HOT, &part.key.text, enter, "whether it may be used in full at the air inside");
            continue;
        };
        let share = ((nothing.nominal() - inside) / (nothing.nominal() - full.nominal())).clamp(0.0, 1.0);
        let used = used_share(s, &demands, p);
        sink.judge(&HOT, p, Severity::Stop, below(used, share.max(1e-9)), || {
            let inputs = vec![
                Working::looked("T", "air inside", inside, Source::computed("this rule's air-inside")),
                full.working("Tfull", "may be used in full up to"),
                nothing.working("Tnone", "may not be used at"),
            ];
            let w = Working::formula(
                "share",
                "that it may still deliver",
                Ratio::new(share),
                "(Tnone − T) / (Tnone − Tfull)",
                inputs,
            );
            let says = format!(
                "At {inside} inside, {} may deliver {} of its rating; it is asked for {}.",
                part.key.text,
                Ratio::new(share),
                Ratio::new(used)
            );
            Finding::new(&part.key.text, says)
                .about(About::Part(p))
                .working(w)
                .cure("more vents, a fan, a larger supply, or one outside the case")
                .at(&part.key.span)
        });
    }
}

/// Share of its rating that a supply is asked for: of its power, or of its busiest output.
fn used_share(s: &Supply, demands: &[crate::demand::Demand], p: usize) -> f64 {
    let its = demands.iter().filter(|d| d.output.0 == p);
    let mut watts = 0.0;
    let mut busiest: f64 = 0.0;
    for d in its {
        let o = &s.outputs[d.output.1];
        watts += (o.volts.nominal().abs() * d.run_high).si();
        if let Some(limit) = &o.limit {
            busiest = busiest.max(d.run_high / limit.nominal());
        }
    }
    s.power.as_ref().map_or(busiest, |power| busiest.max(watts / power.nominal().si()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 500 W, 15 K, 5.5 W/m²K: 6.06 m² (a maker's published note on enclosures, read).
    #[test]
    fn published_enclosure_example() {
        assert!((500.0 / (5.5 * 15.0) - 6.06_f64).abs() < 0.005);
        let (k, _) = transfer(Wall::PaintedSteel);
        let side = (6.06_f64 / (3.6 + 1.4)).sqrt();
        let cube = Walls { width: side, depth: side, height: side, transfer: k, vents: 0.0, fan: 0.0 };
        assert!((rise(500.0, &cube) - 15.0).abs() < 0.02);
    }

    /// Air carries 1.2 kJ/m³K: 0.57 W a CFM and kelvin (handbook form, computed).
    #[test]
    fn fan_carries_heat() {
        let cfm = 0.3048_f64.powi(3) / 60.0;
        let closed =
            Walls { width: 1e-6, depth: 1e-6, height: 1e-6, transfer: 1e-9, vents: 0.0, fan: 10.0 * cfm };
        assert!((rise(57.0, &closed) - 10.0).abs() < 0.1);
    }
}
