//! Which places of the elevation have a stop among the findings: they speak of the worst case, the elevation shows nominal values.

use super::chart::Chart;
use super::slots::Slot;
use super::strands::Strand;
use crate::canvas::Spot;
use std::collections::BTreeMap;
use voltwright_job::{Job, PartKind, Terminal, nets};
use voltwright_quantity::Quantity;
use voltwright_rules::demand::live_terminal;
use voltwright_rules::{About, Finding, Severity};

/// The word on a flag.
pub(super) const WORD: &str = "STOP";

/// What a stop is about, and of a part with outputs which terminal.
pub(super) type Place = (About, Option<Terminal>);

/// Places with a stop, and how many stops have no place here.
#[derive(Debug, Clone, Default)]
pub(super) struct Flags {
    /// Each once, with the codes of its findings in their order.
    pub places: BTreeMap<Place, Vec<&'static str>>,
    pub elsewhere: usize,
}

impl Flags {
    /// Of the findings on a job, so far as what they are about stands in the drawing.
    pub fn of(job: &Job, slots: &[Slot], findings: &[Finding]) -> Self {
        let mut flags = Self::default();
        for finding in findings.iter().filter(|f| f.severity == Severity::Stop) {
            match finding.about.filter(|about| is_here(job, slots, *about)) {
                Some(about) => {
                    let place = (about, output(job, about, &finding.subject));
                    let codes = flags.places.entry(place).or_default();
                    if !codes.contains(&finding.code) {
                        codes.push(finding.code);
                    }
                }
                None => flags.elsewhere += 1,
            }
        }
        flags
    }

    /// What each flag says, in words.
    pub fn words(&self, job: &Job) -> Vec<String> {
        let one = |(place, codes): (&Place, &Vec<&str>)| {
            format!("STOP in the worst case: {} ({}), see the findings", name(job, *place), codes.join(", "))
        };
        let elsewhere = (self.elsewhere > 0).then(|| self.legend_of_others());
        self.places.iter().map(one).chain(elsewhere).collect()
    }

    /// Lines below the drawing.
    pub fn legend(&self) -> Vec<String> {
        let flag = "Flag STOP: in the worst case, see the findings".to_owned();
        let of_flags = (!self.places.is_empty()).then_some(flag);
        of_flags.into_iter().chain((self.elsewhere > 0).then(|| self.legend_of_others())).collect()
    }

    fn legend_of_others(&self) -> String {
        match self.elsewhere {
            1 => "1 stop has no place here: see the findings".into(),
            n => format!("{n} stops have no place here: see the findings"),
        }
    }
}

fn is_here(job: &Job, slots: &[Slot], about: About) -> bool {
    match about {
        About::Part(p) => slots.contains(&Slot::Part(p)),
        About::Plug(p) => slots.contains(&of_plug(job, p)),
        About::Load(l) => slots.contains(&Slot::Load(l)),
        About::Rail { load, .. } => slots.contains(&Slot::Load(load)),
        About::Wire(w) => w < job.wires.len(),
    }
}

fn of_plug(job: &Job, p: usize) -> Slot {
    job.plugs[p].mates.map_or(Slot::Plug(p), |(l, _)| Slot::Load(l))
}

/// The live terminal of the output that a finding on a part names: `supply.v2`.
fn output(job: &Job, about: About, subject: &str) -> Option<Terminal> {
    let About::Part(p) = about else { return None };
    let name = subject.strip_prefix(job.parts[p].key.text.as_str())?.strip_prefix('.')?;
    let name: &str = name.split(|c: char| !c.is_alphanumeric() && c != '-' && c != '_').next()?;
    let outputs = match &job.parts[p].kind {
        PartKind::MainsSupply(s) => &s.outputs,
        PartKind::Converter(s) => &s.outputs,
        _ => return None,
    };
    let output = outputs.iter().position(|o| o.name.text == name)?;
    Some(Terminal::Part(p, live_terminal(job, p, output)?))
}

fn name(job: &Job, (about, at): Place) -> String {
    match about {
        About::Part(_) if at.is_some() => at.map_or(String::new(), |at| nets::name(job, at)),
        About::Part(p) => job.parts[p].key.text.clone(),
        About::Plug(p) => format!("plug {}", job.plugs[p].key.text),
        About::Load(l) => job.loads[l].name.clone(),
        About::Rail { load, rail } => format!("{} at {}", job.rails[rail].name.text, job.loads[load].name),
        About::Wire(w) => format!("wire {}", job.wires[w].name()),
    }
}

impl Chart<'_> {
    /// Where each flag hangs: one for a node and a rail, and one for a bundle, whatever number of findings.
    pub fn hung(&self, strands: &[Strand]) -> Vec<Spot> {
        let mut spots: Vec<Spot> = Vec::new();
        for place in self.flags.places.keys() {
            let Some(spot) = self.spot(*place, strands) else { continue };
            let is_same = |(x, y): &Spot| (x - spot.0).abs() < 1.0 && (y - spot.1).abs() < 1.0;
            if !spots.iter().any(is_same) {
                spots.push(spot);
            }
        }
        spots
    }

    fn spot(&self, (about, at): Place, strands: &[Strand]) -> Option<Spot> {
        let com = |slot: Slot| match slot {
            Slot::Load(l) => self.potentials.com(l).unwrap_or(0.0),
            _ => 0.0,
        };
        Some(match about {
            About::Part(p) => {
                let slot = Slot::Part(p);
                (self.x(slot), at.map_or(self.span(slot)?.0, |at| self.y(self.potentials.at(at))))
            }
            About::Plug(p) => {
                let slot = of_plug(self.job, p);
                (self.x(slot), self.heights.at(com(slot)))
            }
            About::Load(l) => (self.x(Slot::Load(l)), self.heights.at(com(Slot::Load(l)))),
            About::Rail { load, rail } => {
                let landing = self.landings.iter().find(|l| l.load == load && l.rail == rail);
                let nominal = self.job.rails[rail].nominal.nominal().si();
                (self.x(Slot::Load(load)), self.heights.at(landing.map_or(nominal, |l| l.volts)))
            }
            About::Wire(w) => {
                let bundle = self.bundles.iter().position(|b| b.wires.contains(&w))?;
                let [_, from, to, _] = strands[bundle];
                // Its letters stand in the middle.
                let at = |share: f64| (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1));
                at(0.15)
            }
        })
    }
}
