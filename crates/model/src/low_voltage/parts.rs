//! Parts of the low-voltage side as elements.

use super::{Builder, ElementLaw, Field, Resistor};
use crate::SOURCE_OHMS;
use crate::raw::Averaged;
use voltwright_circuit as circuit;
use voltwright_job::nets::through;
use voltwright_job::{Given, Level, Output, PartKind, RawSupply, Regulator, Supply, Terminal};
use voltwright_quantity::Quantity;
use voltwright_tables::fuses;

/// Stands for "no limit is stated", amperes.
const UNLIMITED: f64 = 1e3;
/// Inner resistance of a diode and of a clamp, ohms: common practice.
const DIODE_OHMS: f64 = 0.02;
/// Forward drop of a clamp used as a diode, volts.
const CLAMP_FORWARD: f64 = 0.7;
/// Level between low and high of an enable input, volts: TTL, common practice.
const LOGIC_THRESHOLD: f64 = 1.4;

impl Builder<'_, '_> {
    pub(super) fn part(&mut self, p: usize) {
        let part = &self.job.parts[p];
        let elements = match &part.kind {
            PartKind::MainsSupply(s) => self.supply(p, s),
            PartKind::RawSupply(s) => self.raw(p, s),
            PartKind::Converter(s) => vec![self.converter(p, s)],
            PartKind::Regulator(r) => vec![self.regulator(p, r)],
            PartKind::Diode(d) => {
                let (anode, cathode) = (self.node(Terminal::Part(p, 0)), self.node(Terminal::Part(p, 1)));
                let forward = self.setting.sample.of(&d.drop);
                let law = circuit::Diode { anode, cathode, forward, ohms: DIODE_OHMS };
                let e = self.add(|| part.key.text.clone(), ElementLaw::Diode(law));
                self.link(e, Field::Forward, d.drop.id, 1.0);
                vec![e]
            }
            PartKind::Clamp(c) => {
                let (anode, cathode) = (self.node(Terminal::Part(p, 0)), self.node(Terminal::Part(p, 1)));
                let breakdown = self.setting.sample.of(&c.breakdown);
                let law =
                    circuit::Clamp { cathode, anode, breakdown, forward: CLAMP_FORWARD, ohms: DIODE_OHMS };
                let e = self.add(|| part.key.text.clone(), ElementLaw::Clamp(law));
                self.link(e, Field::Breakdown, c.breakdown.id, 1.0);
                vec![e]
            }
            PartKind::Resistor(r) => {
                let ohms = self.setting.sample.of(&r.value);
                self.through(p, 0, 1, ohms, Some(&r.value)).into_iter().collect()
            }
            PartKind::Interlock(i) => {
                let ohms = self.setting.sample.of(&i.resistance);
                self.through(p, 0, 1, ohms, Some(&i.resistance)).into_iter().collect()
            }
            PartKind::Fuse(f) => {
                let ohms = match &f.resistance {
                    Some(given) => self.setting.sample.of(given),
                    None => fuses::cold_resistance(f.rating.nominal()).0.si(),
                };
                self.through(p, 0, 1, ohms, f.resistance.as_ref()).into_iter().collect()
            }
            PartKind::Switch(s) => {
                let contact = self.job.assume.contact.clone();
                let ohms = self.setting.sample.of(&contact);
                let poles = through(&part.kind);
                debug_assert_eq!(poles.len(), s.poles);
                poles.into_iter().filter_map(|(a, b)| self.through(p, a, b, ohms, Some(&contact))).collect()
            }
            PartKind::Inlet
            | PartKind::Capacitor(_)
            | PartKind::Varistor(_)
            | PartKind::Fan(_)
            | PartKind::Lamp(_)
            | PartKind::Strip => Vec::new(),
        };
        self.out.parts[p] = elements;
    }

    /// A resistance between two terminals of a part, if it lies on this side.
    fn through(
        &mut self,
        p: usize,
        a: usize,
        b: usize,
        ohms: f64,
        given: Option<&Given<voltwright_quantity::Resistance>>,
    ) -> Option<usize> {
        let (ta, tb) = (Terminal::Part(p, a), Terminal::Part(p, b));
        if !self.is_low(ta) || !self.is_low(tb) {
            return None;
        }
        let (a, b) = (self.node(ta), self.node(tb));
        let part = &self.job.parts[p];
        let e = self.add(|| part.key.text.clone(), ElementLaw::Resistor(Resistor { a, b, ohms }));
        if let Some(given) = given {
            self.link(e, Field::Ohms, given.id, 1.0);
        }
        Some(e)
    }

    /// The two nodes of an output by its name.
    fn output_nodes(&mut self, p: usize, name: &str) -> (usize, usize) {
        let find = |end: &str| {
            let whole = format!("{name}.{end}");
            self.job.parts[p].terminals.iter().position(|t| *t == whole).unwrap_or_default()
        };
        let (plus, minus) = (find("plus"), find("minus"));
        (self.node(Terminal::Part(p, plus)), self.node(Terminal::Part(p, minus)))
    }

    fn group(&mut self, p: usize, s: &Supply) -> usize {
        let name = if self.named { self.job.parts[p].key.text.clone() } else { String::new() };
        let trips = s.overload.trips();
        // A supply that switches off is taken to do so above its rated power; one with peak ratings is not.
        let peaks = s.outputs.iter().any(|o| o.peak.is_some());
        let power_limit = s.power.as_ref().filter(|_| trips && !peaks).map(|w| w.nominal().si());
        self.out.network.groups.push(circuit::Group { name, power_limit, trips });
        self.out.network.groups.len() - 1
    }

    fn supply(&mut self, p: usize, s: &Supply) -> Vec<usize> {
        let group = self.group(p, s);
        let overload = if s.overload.trips() { circuit::Overload::Trip } else { circuit::Overload::Hold };
        s.outputs
            .iter()
            .map(|o| {
                let (plus, minus) = self.output_nodes(p, &o.name.text);
                let law = circuit::Source {
                    plus,
                    minus,
                    volts: self.setting.sample.of(&o.volts),
                    ohms: SOURCE_OHMS,
                    limit: limit(o),
                    overload,
                    group: Some(group),
                };
                let name = || format!("{}.{}", self.job.parts[p].key.text, o.name.text);
                let named = if self.named { name() } else { String::new() };
                let e = self.out.network.add(named, ElementLaw::Source(law));
                self.link(e, Field::Volts, o.volts.id, 1.0);
                e
            })
            .collect()
    }

    fn converter(&mut self, p: usize, s: &Supply) -> usize {
        let group = self.group(p, s);
        let overload = if s.overload.trips() { circuit::Overload::Trip } else { circuit::Overload::Hold };
        let (in_plus, in_minus) = (self.node(Terminal::Part(p, 0)), self.node(Terminal::Part(p, 1)));
        let enable = s.enable.as_ref().map(|(level, _)| circuit::Enable {
            plus: self.node(Terminal::Part(p, 2)),
            minus: in_minus,
            threshold: LOGIC_THRESHOLD,
            on_when: if *level == Level::High { circuit::OnWhen::Above } else { circuit::OnWhen::Below },
        });
        let outputs = s
            .outputs
            .iter()
            .map(|o| {
                let (plus, minus) = self.output_nodes(p, &o.name.text);
                let volts = self.setting.sample.of(&o.volts);
                circuit::Output { plus, minus, volts, ohms: SOURCE_OHMS, limit: limit(o), overload }
            })
            .collect();
        let efficiency = s.efficiency.as_ref().map_or(EFFICIENCY, |g| self.setting.sample.of(g));
        let law = circuit::Converter {
            in_plus,
            in_minus,
            low: s.input_voltage.as_ref().map_or(1.0, |b| b.low.si()),
            high: s.input_voltage.as_ref().map_or(1e6, |b| b.high.si()),
            efficiency,
            idle: s.idle.as_ref().map_or(0.0, |g| self.setting.sample.of(g)),
            group: Some(group),
            enable,
            outputs,
        };
        let part = &self.job.parts[p];
        let e = self.add(|| part.key.text.clone(), ElementLaw::Converter(law));
        for (i, o) in s.outputs.iter().enumerate() {
            self.link(e, Field::OutputVolts(i), o.volts.id, 1.0);
        }
        if let Some(g) = &s.efficiency {
            self.link(e, Field::Efficiency, g.id, 1.0);
        }
        if let Some(g) = &s.idle {
            self.link(e, Field::Idle, g.id, 1.0);
        }
        e
    }

    fn regulator(&mut self, p: usize, r: &Regulator) -> usize {
        let [input, reference, output] = [0, 1, 2].map(|t| self.node(Terminal::Part(p, t)));
        let law = circuit::Regulator {
            input,
            reference,
            output,
            volts: self.setting.sample.of(&r.volts),
            ohms: SOURCE_OHMS,
            headroom: r.headroom.nominal().si(),
            limit: r.limit.as_ref().map_or(UNLIMITED, |g| self.setting.sample.of(g)),
        };
        let part = &self.job.parts[p];
        let e = self.add(|| part.key.text.clone(), ElementLaw::Regulator(law));
        self.link(e, Field::Volts, r.volts.id, 1.0);
        if let Some(g) = &r.limit {
            self.link(e, Field::Limit, g.id, 1.0);
        }
        e
    }

    fn raw(&mut self, p: usize, s: &RawSupply) -> Vec<usize> {
        let sample = self.setting.sample;
        let ratio = if sample.mains() > 0.0 { sample.mains() / s.primary.nominal().si() } else { 1.0 };
        let mut elements = Vec::new();
        for o in &s.outputs {
            let (plus, minus) = self.output_nodes(p, &o.name.text);
            let values = [
                sample.of(&o.winding),
                sample.of(&o.regulation),
                sample.of(&o.current),
                sample.of(&o.reservoir),
                ratio,
            ];
            let a = |[winding, regulation, rated, reservoir, ratio]: [f64; 5]| {
                Averaged::of(winding, regulation, rated, o.rectifier, reservoir, ratio, self.setting.hertz)
            };
            let now = a(values);
            let law = circuit::Source {
                plus,
                minus,
                volts: now.unloaded,
                ohms: now.ohms,
                limit: None,
                overload: circuit::Overload::Hold,
                group: None,
            };
            let part = &self.job.parts[p];
            let e = self.add(|| format!("{}.{}", part.key.text, o.name.text), ElementLaw::Source(law));
            // Both parameters follow all five values; slopes by central difference.
            let inputs = [
                o.winding.id,
                o.regulation.id,
                o.current.id,
                o.reservoir.id,
                crate::Sample::mains_input(self.job),
            ];
            for (k, input) in inputs.into_iter().enumerate() {
                let value = if k == 4 { sample.mains() } else { values[k] };
                let h = 1e-4;
                let moved = |factor: f64| {
                    let mut moved = values;
                    moved[k] *= factor;
                    a(moved)
                };
                if value > 0.0 && self.linked {
                    let (up, down, per) = (moved(1.0 + h), moved(1.0 - h), 2.0 * h * value);
                    self.link(e, Field::Volts, input, (up.unloaded - down.unloaded) / per);
                    self.link(e, Field::Ohms, input, (up.ohms - down.ohms) / per);
                }
            }
            elements.push(e);
        }
        elements
    }
}

/// Efficiency of a converter whose sheet is not at hand: common practice.
pub const EFFICIENCY: f64 = 0.8;

fn limit(o: &Output) -> Option<f64> {
    o.ceiling().map(|g| g.nominal().si())
}
