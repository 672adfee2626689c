//! What is not straight even within a piece: constant power, drawn by loads and by the inputs of converters.
//!
//! The base takes it as the constant current that it is there. What it changes by is small beside what its wires can
//! carry, so it is found by repetition beside the exact system of the edits.

use super::inverse::Inverse;
use super::links::Links;
use crate::network::{Draws, Law, Network};
use crate::potentials::Potentials;
use crate::solution::State;
use crate::walk::amps_per_watt;

/// Share of a voltage that is a far way to move.
const FAR: f64 = 0.3;

/// A voltage that a bend depends on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Probe {
    pub plus: usize,
    pub minus: usize,
    /// At the base point.
    volts: f64,
    /// Current of the output there, plus to minus, and its slope.
    flow: f64,
    slope: f64,
}

/// One bent current.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bend {
    pub element: usize,
    pub link: usize,
    pub from: usize,
    pub to: usize,
    /// Most volts anywhere for an ampere of it.
    pub reach: f64,
    first: u32,
    last: u32,
    /// For a load, its amperes; else that of no load.
    load: Option<f64>,
    leans: bool,
}

/// All bends of a base.
#[derive(Debug, Default)]
pub(super) struct Bends {
    pub all: Vec<Bend>,
    pub probes: Vec<Probe>,
    /// Volts everywhere for an ampere of each.
    pub columns: Vec<f64>,
    /// Volts at each probe for an ampere of each bend, probe by probe.
    pub ohms: Vec<f64>,
}

impl Bends {
    pub fn of(
        net: &Network,
        states: &[State],
        at: &Potentials,
        links: &Links,
        of: &[[u32; 2]],
        z: &Inverse,
    ) -> Self {
        let mut bends = Self::default();
        for (e, element) in net.elements.iter().enumerate() {
            let [k, link] = of[e].map(|index| index as usize);
            match &element.law {
                Law::Load(l) if l.draws == Draws::Power && states[k] == State::Normal => {
                    let volts = at.across(l.plus, l.minus).volts();
                    let (plus, minus) = (l.plus, l.minus);
                    bends.probes.push(Probe { plus, minus, volts, flow: 0.0, slope: 0.0 });
                    bends.push(e, link, links, Some(l.amount / volts), 1, z);
                }
                Law::Converter(c) if states[k] == State::On => {
                    let input = link + c.outputs.len();
                    for (o, out) in c.outputs.iter().enumerate() {
                        let (plus, minus) = (out.plus, out.minus);
                        let slope = links.terms(link + o).iter().map(|t| t.slope).sum();
                        let (volts, flow) = (at.across(plus, minus).volts(), links.all[link + o].flow);
                        bends.probes.push(Probe { plus, minus, volts, flow, slope });
                    }
                    let (plus, minus) = (c.in_plus, c.in_minus);
                    let (volts, flow) = (at.across(plus, minus).volts(), links.all[input].flow);
                    bends.probes.push(Probe { plus, minus, volts, flow, slope: 0.0 });
                    bends.push(e, input, links, None, c.outputs.len() + 1, z);
                }
                _ => {}
            }
        }
        for probe in &bends.probes {
            let rows = bends.columns.chunks_exact(z.nodes.max(1));
            bends.ohms.extend(rows.map(|column| column[probe.plus] - column[probe.minus]));
        }
        bends
    }

    fn push(
        &mut self,
        element: usize,
        link: usize,
        links: &Links,
        load: Option<f64>,
        probes: usize,
        z: &Inverse,
    ) {
        let (from, to) = (links.all[link].from, links.all[link].to);
        let column = z.column(from).iter().zip(z.column(to)).map(|(a, b)| a - b);
        let start = self.columns.len();
        self.columns.extend(column);
        let reach = self.columns[start..].iter().fold(0.0, |most: f64, v| most.max(v.abs()));
        let last = self.probes.len() as u32;
        let first = last - probes as u32;
        self.all.push(Bend {
            element,
            link,
            from,
            to,
            reach,
            first,
            last,
            load,
            leans: load.is_some() && !links.terms(link).is_empty(),
        });
    }

    /// What a bend's current changes by where the probes' voltages moved by these.
    #[inline]
    pub fn amps(&self, net: &Network, bend: usize, moved: &[f64]) -> f64 {
        let bend = &self.all[bend];
        let (first, last) = (bend.first as usize, bend.last as usize);
        match bend.load {
            Some(amps) => {
                let (volts, by) = (self.probes[first].volts, moved[first]);
                if bend.leans { amps * by * by / (volts * (volts + by)) } else { -amps * by / (volts + by) }
            }
            None => self.converter(net, bend.element, first..last, moved),
        }
    }

    /// Whether a bend's voltages move far.
    #[inline]
    pub fn far(&self, bend: usize, moved: &[f64]) -> bool {
        let (first, last) = (self.all[bend].first as usize, self.all[bend].last as usize);
        let mut pairs = self.probes[first..last].iter().zip(&moved[first..last]);
        pairs.any(|(probe, by)| by.is_nan() || by.abs() > FAR * probe.volts.abs().max(1e-3))
    }

    fn converter(&self, net: &Network, element: usize, probes: std::ops::Range<usize>, moved: &[f64]) -> f64 {
        let Law::Converter(c) = &net.elements[element].law else { return 0.0 };
        let input = probes.end - 1;
        let mut delivered = 0.0;
        for p in probes {
            let probe = &self.probes[p];
            if p < input {
                delivered -= ((probe.volts + moved[p]) * (probe.flow + probe.slope * moved[p])).min(0.0);
            }
        }
        let per_watt = amps_per_watt(c, self.probes[input].volts + moved[input]).flow;
        (c.idle + delivered / c.efficiency) * per_watt - self.probes[input].flow
    }
}
