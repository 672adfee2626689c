//! What does harm: everything worth protecting that is connected at a stage, and how much it survives.
//!
//! - A rail of a load outside its harm limits. Where none are given: reversed by half a volt, or 1.4 times its nominal (7 V on
//!   a 5 V rail). Common practice.
//! - A rail that is there while the one that must come first is not, where the load has an order.
//! - A converter's input above its range or reversed.
//! - A polarised capacitor reversed by more than a volt (from memory: makers allow 1 to 1.5 V) or over its rating.
//! - A wire above the current that destroys its insulation (160 °C, from memory: IEC 60364-4-43), unless a fuse opens.
//! - A contact of a load above twice its rating: common practice.
//! - A touchable part at hazardous potential, and protective earth that does not reach the case.

use crate::harness::Harness;
use crate::network::View;
use voltwright_circuit::Law;
use voltwright_job::{Job, PartKind, Rail, Terminal, Worth};
use voltwright_model::{air_inside, wire_heat};
use voltwright_quantity::Quantity;

/// Times the nominal that a rail without harm limits survives.
const OVER: f64 = 1.4;
/// Volts by which anything may be reversed.
const REVERSED: f64 = 0.5;
/// Volts by which a polarised capacitor may be reversed.
const CAPACITOR_REVERSED: f64 = 1.0;
/// Times its rating that a contact survives.
const CONTACT: f64 = 2.0;
/// Share of its nominal above which a rail is there.
const THERE: f64 = 0.5;
/// Volts RMS at which a touchable part is hazardous: IEC 61140 and IEC 60364-4-41, 50 V AC.
pub const TOUCH: f64 = 50.0;

/// What would be harmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Threat {
    /// A rail of a load outside its limits: load, rail.
    Rail(usize, usize),
    /// A rail of a load that comes before the one that must be first: load, number of its order.
    Order(usize, usize),
    /// The input of a converter.
    Input(usize),
    /// A capacitor.
    Capacitor(usize),
    /// A wire.
    Wire(usize),
    /// A contact: plug, way.
    Contact(usize, usize),
    /// The case, or low voltage, at the mains.
    Touch,
    /// Protective earth does not reach the case.
    NoEarth,
    /// A pole that stays live behind an open fuse or switch.
    StaysLive,
    /// A fuse that opens: easy to replace.
    Fuse(usize),
}

/// A quantity of a network that is watched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Watch {
    /// A voltage between two nodes and the range that is survived.
    Volts {
        /// Positive end.
        plus: usize,
        /// Negative end.
        minus: usize,
        /// Lowest that is survived.
        low: f64,
        /// Highest that is survived.
        high: f64,
    },
    /// The current of an element, of either sign.
    Amps {
        /// The element.
        element: usize,
        /// What it survives.
        most: f64,
    },
    /// A voltage that may be there only while another is; both as shares of their nominal.
    Order {
        /// Rail that must be first: plus, minus, nominal.
        first: (usize, usize, f64),
        /// Rail that must wait.
        then: (usize, usize, f64),
    },
}

/// Something worth watching at a stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watched {
    /// What would be harmed.
    pub threat: Threat,
    /// How it is seen.
    pub watch: Watch,
}

/// Harm done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Harm {
    /// What is harmed.
    pub threat: Threat,
    /// The value that does it: volts or amperes.
    pub value: f64,
    /// How far past its limit it is, as a share of the limit's range: to tell the worst.
    pub excess: f64,
}

impl Threat {
    /// Whether it is worth protecting; what is easy to replace is listed only.
    pub fn is_worth_protecting(self, job: &Job) -> bool {
        match self {
            Threat::Rail(l, _) | Threat::Order(l, _) => job.loads[l].worth != Worth::EasyToFind,
            Threat::Contact(p, _) => {
                job.plugs[p].mates.is_some_and(|(l, _)| job.loads[l].worth != Worth::EasyToFind)
            }
            Threat::Fuse(_) => false,
            _ => true,
        }
    }
}

impl Watch {
    /// The value and how far it is past what is survived, if it is.
    #[inline]
    pub fn harm(&self, volts: &[f64], current: impl Fn(usize) -> f64) -> Option<(f64, f64)> {
        match *self {
            Watch::Volts { plus, minus, low, high } => {
                let v = volts[plus] - volts[minus];
                let over = (v - high).max(low - v);
                (over > 0.0).then(|| (v, over / (high - low).max(1e-9)))
            }
            Watch::Amps { element, most } => {
                let amps = current(element).abs();
                (amps > most).then(|| (amps, amps / most.max(1e-9) - 1.0))
            }
            Watch::Order { first, then } => {
                let share =
                    |(plus, minus, nominal): (usize, usize, f64)| (volts[plus] - volts[minus]) / nominal;
                let there = share(then);
                (there > THERE && share(first) < THERE).then_some((there * then.2, there))
            }
        }
    }
}

/// The limits of a rail's harm, volts against com.
pub fn limits(rail: &Rail) -> (f64, f64) {
    if let Some(harm) = &rail.harm {
        return (harm.low.si(), harm.high.si());
    }
    let nominal = rail.nominal.nominal().si();
    if nominal < 0.0 { (OVER * nominal, REVERSED) } else { (-REVERSED, OVER * nominal) }
}

/// Everything to watch on the low-voltage side of a stage.
pub fn watched(
    h: &Harness<'_>,
    view: &View,
    loads: &[voltwright_model::low_voltage::LoadNodes],
) -> Vec<Watched> {
    let mut all = Vec::new();
    rails(h, loads, &mut all);
    parts(h, view, &mut all);
    wires(h, view, &mut all);
    contacts(h, view, &mut all);
    all
}

fn rails(h: &Harness<'_>, loads: &[voltwright_model::low_voltage::LoadNodes], all: &mut Vec<Watched>) {
    for (l, nodes) in loads.iter().enumerate() {
        let Some(com) = nodes.com else { continue };
        for (r, plane) in nodes.rails.iter().enumerate() {
            let Some(plus) = *plane else { continue };
            let (low, high) = limits(&h.job.rails[r]);
            let watch = Watch::Volts { plus, minus: com, low, high };
            all.push(Watched { threat: Threat::Rail(l, r), watch });
        }
        for (k, order) in h.job.loads[l].order.iter().enumerate() {
            let rail = |r: usize| Some((nodes.rails[r]?, com, h.job.rails[r].nominal.nominal().si()));
            if let (Some(first), Some(then)) = (rail(order.first), rail(order.then)) {
                all.push(Watched { threat: Threat::Order(l, k), watch: Watch::Order { first, then } });
            }
        }
    }
}

fn parts(h: &Harness<'_>, view: &View, all: &mut Vec<Watched>) {
    for (p, part) in h.job.parts.iter().enumerate() {
        let node = |t: usize| view.at[h.wiring.terminals().index(Terminal::Part(p, t))];
        let (Some(plus), Some(minus)) = (node(0), node(usize::from(part.terminals.len() > 1))) else {
            continue;
        };
        match &part.kind {
            PartKind::Converter(c) => {
                if let Some(range) = &c.input_voltage {
                    let watch = Watch::Volts { plus, minus, low: -REVERSED, high: range.high.si() };
                    all.push(Watched { threat: Threat::Input(p), watch });
                }
            }
            PartKind::Capacitor(c) if c.class.is_none() => {
                let high = c.rated.as_ref().map_or(f64::INFINITY, |g| g.nominal().si());
                let watch = Watch::Volts { plus, minus, low: -CAPACITOR_REVERSED, high };
                all.push(Watched { threat: Threat::Capacitor(p), watch });
            }
            _ => {}
        }
    }
}

/// The current that destroys a wire, amperes.
pub fn wire_survives(h: &Harness<'_>, wire: usize) -> f64 {
    let (per_metre, area) = h.wiring.metres[wire];
    wire_heat::destroys(air_inside(h.job).si(), area, per_metre, h.job.wires[wire].bundle)
}

fn wires(h: &Harness<'_>, view: &View, all: &mut Vec<Watched>) {
    for (w, element) in view.wires.iter().enumerate() {
        let Some(element) = *element else { continue };
        if matches!(view.network.elements[element].law, Law::Resistor(_)) {
            let watch = Watch::Amps { element, most: wire_survives(h, w) };
            all.push(Watched { threat: Threat::Wire(w), watch });
        }
    }
}

fn contacts(h: &Harness<'_>, view: &View, all: &mut Vec<Watched>) {
    for (p, elements) in view.contacts.iter().enumerate() {
        let Some(rating) = h.job.plugs[p].contact.as_ref().map(|g| g.nominal().si()) else { continue };
        for (w, element) in elements.iter().enumerate() {
            if let Some(element) = *element {
                let watch = Watch::Amps { element, most: CONTACT * rating };
                all.push(Watched { threat: Threat::Contact(p, w), watch });
            }
        }
    }
}
