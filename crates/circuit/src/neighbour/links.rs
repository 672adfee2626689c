//! Elements as straight links: what each carries at a point, and its slopes there.

use crate::network::Law;
use crate::potentials::Potentials;
use crate::solution::State;
use crate::walk::{Collector, Moves, Walk};
use std::ops::Range;

/// A current between two nodes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    pub from: usize,
    pub to: usize,
    /// Amperes at the point.
    pub flow: f64,
    first: u32,
    last: u32,
}

/// Slope of a link's current in the voltage between two nodes, siemens.
#[derive(Debug, Clone, Copy)]
pub(super) struct Term {
    pub plus: usize,
    pub minus: usize,
    pub slope: f64,
}

/// Links of some elements, in the order of a walk.
#[derive(Debug, Clone, Default)]
pub(super) struct Links {
    pub all: Vec<Link>,
    terms: Vec<Term>,
    /// Terms of the element being read, by the ends of their link.
    loose: Vec<(usize, usize, Term)>,
}

impl Links {
    pub fn clear(&mut self) {
        self.all.clear();
        self.terms.clear();
    }

    /// Reads an element at a point; gives the places of its links, the same for any state.
    pub fn read(&mut self, law: &Law, states: &mut [State], at: &Potentials, loaded: bool) -> Range<usize> {
        let start = self.all.len();
        let mut walk = Walk::new(Moves::None, 0.0);
        walk.loaded = loaded;
        walk.element(law, states, at, self);
        self.close(start)
    }

    /// The same, with constant power taken as the constant current that it is at the point.
    pub fn read_steady(&mut self, law: &Law, states: &mut [State], at: &Potentials, kind: Kind) {
        let start = self.all.len();
        steadily(law, states, at, kind, self);
        self.close(start);
    }

    /// Gives each new link its terms.
    fn close(&mut self, start: usize) -> Range<usize> {
        let Self { all, terms, loose } = self;
        for link in &mut all[start..] {
            link.first = terms.len() as u32;
            loose.retain(|(from, to, term)| {
                let its = *from == link.from && *to == link.to;
                if its {
                    terms.push(*term);
                }
                !its
            });
            link.last = terms.len() as u32;
        }
        start..self.all.len()
    }

    #[inline]
    pub fn terms(&self, link: usize) -> &[Term] {
        let link = &self.all[link];
        &self.terms[link.first as usize..link.last as usize]
    }
}

impl Term {
    #[inline]
    pub fn volts(&self, by_node: &[f64]) -> f64 {
        by_node[self.plus] - by_node[self.minus]
    }
}

impl Collector for Links {
    fn flow(&mut self, from: usize, to: usize, flow: f64) {
        self.all.push(Link { from, to, flow, first: 0, last: 0 });
    }

    fn conduct(&mut self, a: usize, b: usize, slope: f64) {
        self.control(a, b, a, b, slope);
    }

    fn control(&mut self, from: usize, to: usize, plus: usize, minus: usize, slope: f64) {
        if slope.abs() > 0.0 && from != to && plus != minus {
            self.loose.push((from, to, Term { plus, minus, slope }));
        }
    }
}

/// What a base takes constant power as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// For loads, the tangent at the point: where little changes, that is enough.
    Leaning,
    /// A constant current.
    Steady,
}

/// Walks over an element with constant power taken as the constant current that it is at the point: what is fed by a
/// single wire then hangs on that wire alone, and nothing is unstable.
pub(super) fn steadily(
    law: &Law,
    states: &mut [State],
    at: &Potentials,
    kind: Kind,
    to: &mut impl Collector,
) {
    let leaning = kind == Kind::Leaning && matches!(law, Law::Load(_));
    let bent = super::scan::bent(law, states) && !leaning;
    let slopes = match law {
        Law::Converter(c) if bent => c.outputs.len(),
        _ if bent => 0,
        _ => usize::MAX,
    };
    Walk::new(Moves::None, 0.0).element(law, states, at, &mut Steady { to, slopes, controls: !bent });
}

/// Passes on the first slopes only.
struct Steady<'a, C> {
    to: &'a mut C,
    slopes: usize,
    controls: bool,
}

impl<C: Collector> Collector for Steady<'_, C> {
    fn flow(&mut self, from: usize, to: usize, amps: f64) {
        self.to.flow(from, to, amps);
    }

    fn conduct(&mut self, a: usize, b: usize, slope: f64) {
        let passes = self.slopes > 0;
        self.slopes = self.slopes.saturating_sub(1);
        self.to.conduct(a, b, if passes { slope } else { 0.0 });
    }

    fn control(&mut self, from: usize, to: usize, plus: usize, minus: usize, slope: f64) {
        self.to.control(from, to, plus, minus, if self.controls { slope } else { 0.0 });
    }
}

/// Takes nothing: for a walk that only settles states.
pub(super) struct Nothing;

impl Collector for Nothing {
    fn flow(&mut self, _: usize, _: usize, _: f64) {}

    fn conduct(&mut self, _: usize, _: usize, _: f64) {}

    fn control(&mut self, _: usize, _: usize, _: usize, _: usize, _: f64) {}
}
