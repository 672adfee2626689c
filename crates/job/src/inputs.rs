//! All values with a spread, one after the other: to be moved, sampled, or listed as assumptions.

use crate::document::{Draw, Given, Job, OldPart, Output, Part, PartKind, Supply};
use voltwright_quantity::{Basis, Place, Quantity, Spread};

/// A nominal value and its bounds as bare SI numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Si {
    /// Nominal.
    pub nominal: f64,
    /// Algebraically lowest.
    pub low: f64,
    /// Algebraically highest.
    pub high: f64,
}

/// A value with a spread, whatever its quantity.
pub trait Input {
    /// Nominal and bounds.
    fn si(&self) -> Si;
    /// Replaces nominal and bounds.
    fn set(&mut self, to: Si);
    /// Gives it its number.
    fn set_id(&mut self, id: usize);
    /// Where it comes from.
    fn basis(&self) -> Basis;
    /// Where it stands.
    fn place(&self) -> &Place;
    /// A value of its quantity as shown.
    fn show(&self, si: f64) -> String;
    /// A value of its quantity as it would be written in the file.
    fn write(&self, si: f64) -> String;
}

impl<Q: Quantity> Input for Given<Q> {
    fn si(&self) -> Si {
        let Spread { nominal, low, high } = self.spread;
        Si { nominal: nominal.si(), low: low.si(), high: high.si() }
    }
    fn set(&mut self, to: Si) {
        let of = Q::from_si;
        self.spread = Spread { nominal: of(to.nominal), low: of(to.low), high: of(to.high) };
    }
    fn set_id(&mut self, id: usize) {
        self.id = id;
    }
    fn basis(&self) -> Basis {
        self.basis
    }
    fn place(&self) -> &Place {
        &self.place
    }
    fn show(&self, si: f64) -> String {
        Q::from_si(si).to_string()
    }
    fn write(&self, si: f64) -> String {
        format!("{:.15}", Q::from_si(si)).replace('\u{2212}', "-")
    }
}

impl Si {
    /// Nominal and bounds multiplied.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        let (a, b) = (self.low * factor, self.high * factor);
        Self { nominal: self.nominal * factor, low: a.min(b), high: a.max(b) }
    }
}

impl Job {
    /// Gives every value in [`Job::inputs`] its number and notes its spread.
    pub(crate) fn number_inputs(&mut self) {
        let number = |(id, input): (usize, &mut dyn Input)| {
            input.set_id(id);
            input.si()
        };
        self.spreads = self.inputs().into_iter().enumerate().map(number).collect();
    }

    /// Moves the value of a number: nominal and bounds.
    pub fn move_input(&mut self, id: usize, to: Si) {
        if let Some(input) = self.inputs().into_iter().nth(id) {
            input.set(to);
            self.spreads[id] = to;
        }
    }

    /// Every value with a spread that enters a computation, always in the same order.
    pub fn inputs(&mut self) -> Vec<&mut dyn Input> {
        let mut all: Vec<&mut dyn Input> = Vec::new();
        if let Some(plate) = &mut self.machine.nameplate {
            push(&mut all, &mut plate.power);
            push(&mut all, &mut plate.current);
        }
        for load in &mut self.loads {
            load.draws.iter_mut().for_each(|d| draw(&mut all, d));
        }
        for p in &mut self.parts {
            part(&mut all, p);
        }
        for wire in &mut self.wires {
            all.push(&mut wire.length);
        }
        for battery in &mut self.batteries {
            push(&mut all, &mut battery.volts);
            push(&mut all, &mut battery.through);
        }
        if let Some(old) = &mut self.old_supply {
            old.parts.iter_mut().for_each(|p| old_part(&mut all, p));
        }
        let assume = &mut self.assume;
        all.push(&mut assume.contact);
        all.push(&mut assume.joint);
        all.push(&mut assume.power_factor);
        all.push(&mut assume.mains_loop);
        all
    }
}

fn push<'a, Q: Quantity>(all: &mut Vec<&'a mut dyn Input>, given: &'a mut Option<Given<Q>>) {
    if let Some(given) = given {
        all.push(given);
    }
}

fn draw<'a>(all: &mut Vec<&'a mut dyn Input>, d: &'a mut Draw) {
    all.push(&mut d.run);
    if let Some((start, _)) = &mut d.start {
        all.push(start);
    }
    push(all, &mut d.idle);
    push(all, &mut d.capacitance);
}

fn part<'a>(all: &mut Vec<&'a mut dyn Input>, part: &'a mut Part) {
    match &mut part.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => supply(all, s),
        PartKind::RawSupply(s) => {
            for o in &mut s.outputs {
                all.push(&mut o.winding);
                all.push(&mut o.regulation);
                all.push(&mut o.current);
                all.push(&mut o.reservoir);
            }
        }
        PartKind::Regulator(r) => {
            all.push(&mut r.volts);
            push(all, &mut r.limit);
            push(all, &mut r.heat);
        }
        PartKind::Fuse(f) => {
            push(all, &mut f.resistance);
            push(all, &mut f.melting);
        }
        PartKind::Diode(d) => all.push(&mut d.drop),
        PartKind::Clamp(c) => {
            all.push(&mut c.breakdown);
            push(all, &mut c.at_current);
        }
        PartKind::Resistor(r) => all.push(&mut r.value),
        PartKind::Varistor(m) | PartKind::Fan(m) | PartKind::Lamp(m) => push(all, &mut m.power),
        PartKind::Interlock(i) => all.push(&mut i.resistance),
        PartKind::Inlet | PartKind::Switch(_) | PartKind::Capacitor(_) | PartKind::Strip => {}
    }
}

fn supply<'a>(all: &mut Vec<&'a mut dyn Input>, s: &'a mut Supply) {
    push(all, &mut s.efficiency);
    push(all, &mut s.power_factor);
    push(all, &mut s.idle);
    for Output { volts, .. } in &mut s.outputs {
        all.push(volts);
    }
}

fn old_part<'a>(all: &mut Vec<&'a mut dyn Input>, p: &'a mut OldPart) {
    push(all, &mut p.rated);
    push(all, &mut p.power);
    push(all, &mut p.series);
}
