//! Networks that differ in a few elements from one already solved, by compensation.
//!
//! A [`Base`] holds the operating point `x₀` of a network and the inverse `Z` of its slopes there. In a neighbour, each
//! element that is gone, new or in another state carries a current `y` on top of what the base's slopes say, and the
//! voltages are `x₀ − Σ Z u y` with `u` its two nodes. The few `y` are found from a small system (Sherman, Morrison and
//! Woodbury; compensation, as Tinney described it for power networks in 1972; from memory). The states are made to fit
//! as [`Network::solve`] does. Where anything is in doubt, that is what solves the neighbour instead ([`Way::Plain`]).
//!
//! ```
//! use voltwright_circuit::{Base, Edit, Law, Network, Resistor, Source, Workspace};
//! let mut net = Network::new();
//! let (com, top, middle) = (net.node("com"), net.node("top"), net.node("middle"));
//! net.add("supply", Law::Source(Source::ideal(top, com, 12.0, 1e-4)));
//! net.add("upper", Law::Resistor(Resistor { a: top, b: middle, ohms: 1e3 }));
//! let lower = net.add("lower", Law::Resistor(Resistor { a: middle, b: com, ohms: 2e3 }));
//! let base = Base::new(net.clone(), &net.ordering())?;
//! let mut workspace = Workspace::new();
//! let edits = [Edit::Remove(lower)];
//! let open = workspace.solve(&base, &edits)?;
//! assert!((open.volts[middle] - 12.0).abs() < 1e-4);
//! # Ok::<(), voltwright_circuit::Unsolved>(())
//! ```

mod afresh;
mod bends;
mod fallen;
mod hunting;
mod inverse;
mod links;
mod parts;
mod ports;
mod reading;
mod refine;
mod resistance;
mod scan;
mod settling;
mod system;
mod watches;
mod workspace;

pub use reading::{Neighbour, Way};
pub use workspace::{Doubt, Workspace};

use crate::network::{Draws, Law, Network, Overload, Resistor};
use crate::newton::{BORDER, DEAD, highest_potential};
use crate::ordering::Ordering;
use crate::potentials::Potentials;
use crate::solution::{Solution, State, Unsolved};
use bends::Bends;
use inverse::Inverse;
use links::{Kind, Links};
use std::sync::{Arc, OnceLock};
use watches::Watches;

/// One change of a network. An element is replaced by removing it and adding another.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// The element at this index is gone.
    Remove(usize),
    /// One more element.
    Add(Law),
}

impl Network {
    /// The network with edits made, the plain way. Indexes stay: a removed element stays as a resistor from a node to
    /// itself, which carries nothing; added ones follow.
    pub fn edited(&self, edits: &[Edit]) -> Network {
        let mut net = self.clone();
        for edit in edits {
            match edit {
                Edit::Remove(e) => {
                    if let Some(element) = net.elements.get_mut(*e) {
                        let node = self.datum;
                        element.law = Law::Resistor(Resistor { a: node, b: node, ohms: 1.0 });
                    }
                }
                Edit::Add(law) => {
                    net.add(format!("added {}", net.elements.len() - self.elements.len() + 1), law.clone());
                }
            }
        }
        net
    }
}

/// A network solved once, from which its neighbours are solved by small corrections.
#[derive(Debug)]
pub struct Base {
    net: Arc<Network>,
    solution: Solution,
    states: Vec<State>,
    at: Potentials,
    /// First state and first link of each element, and one past the last.
    places: Vec<[u32; 2]>,
    /// Elements that are not resistors.
    devices: Vec<usize>,
    /// Sources that may trip, and converters.
    switching: Vec<usize>,
    /// Devices that are off and begin on in a neighbour, as they do in a network solved from nothing.
    restarted: Vec<usize>,
    watches: Watches,
    ordering: Ordering,
    /// For where little changes. Nothing if the base point itself is in doubt: then every neighbour is solved plainly.
    leaning: Option<View>,
    /// For where much does; made when it is first needed.
    steady: OnceLock<Option<View>>,
    /// What is left once everything that can trip has; made when it is first needed.
    fallen: OnceLock<Option<Box<Base>>>,
    /// Amperes, volts: the largest current here, the most that any potential can be, the largest potential.
    scale: f64,
    bound: f64,
    highest: f64,
}

impl Base {
    /// Solves a network and prepares it for neighbours.
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn new(net: impl Into<Arc<Network>>, ordering: &Ordering) -> Result<Self, Unsolved> {
        let net: Arc<Network> = net.into();
        let settled = net.settled(ordering)?;
        let (states, at) = (settled.states, settled.at);
        let mut places = vec![[0, 0]];
        for element in &net.elements {
            let [k, link] = places[places.len() - 1];
            let links = if let Law::Converter(c) = &element.law { 1 + c.outputs.len() } else { 1 };
            places.push([k + element.law.states() as u32, link + links as u32]);
        }
        let ordering = net.fitting(ordering).into_owned();
        let leaning = View::of(&net, &ordering, (&states, &at), &places, Kind::Leaning);
        let leaning = leaning.filter(|_| !doubtful(&net, &at));
        let flows = settled.solution.elements.iter().flat_map(|flow| {
            std::iter::once(flow.current).chain(flow.outputs.iter().map(|output| output.current))
        });
        let scale = flows.fold(net.leak, |most: f64, amps| most.max(amps.abs()));
        let watches = Watches::of(&net, &states, &at, BORDER * 10.0 * scale);
        let is_device = |e: &usize| !matches!(net.elements[*e].law, Law::Resistor(_));
        let devices: Vec<usize> = (0..net.elements.len()).filter(is_device).collect();
        let switches = |e: &usize| switches(&net.elements[*e].law);
        let switching = devices.iter().copied().filter(switches).collect();
        let begins_anew = |e: &usize| begins_anew(&net.elements[*e].law, &states[places[*e][0] as usize..]);
        let restarted = devices.iter().copied().filter(begins_anew).collect();
        let (bound, highest) =
            (highest_potential(&net), at.main.iter().fold(0.0, |h: f64, v| h.max(v.abs())));
        let solution = settled.solution;
        Ok(Self {
            net,
            solution,
            states,
            at,
            places,
            devices,
            switching,
            restarted,
            watches,
            ordering,
            leaning,
            steady: OnceLock::new(),
            fallen: OnceLock::new(),
            scale,
            bound,
            highest,
        })
    }

    /// The network.
    pub fn network(&self) -> &Network {
        &self.net
    }

    /// Its operating point.
    pub fn solution(&self) -> &Solution {
        &self.solution
    }

    /// The neighbour with these edits as a base of its own, prepared anew.
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn corrected(&self, edits: &[Edit]) -> Result<Self, Unsolved> {
        let net = self.net.edited(edits);
        let ordering = net.ordering();
        Self::new(net, &ordering)
    }

    /// Resistance seen between two nodes at the base point with the sources replaced by their slopes, ohms: infinite
    /// where nothing but the leak joins them. Not a number if the base point is in doubt.
    pub fn between(&self, a: usize, b: usize) -> f64 {
        let Some(View { z, .. }) = &self.leaning else { return f64::NAN };
        if z.island[a] != z.island[b] {
            return f64::INFINITY;
        }
        let (of_a, of_b) = (z.column(a), z.column(b));
        (of_a[a] - of_a[b]) - (of_b[a] - of_b[b])
    }

    fn steady(&self) -> Option<&View> {
        let point = (self.states.as_slice(), &self.at);
        let made = || View::of(&self.net, &self.ordering, point, &self.places, Kind::Steady);
        self.steady.get_or_init(made).as_ref()
    }

    fn states_of(&self, element: usize) -> std::ops::Range<usize> {
        self.places[element][0] as usize..self.places[element + 1][0] as usize
    }

    fn links_of(&self, element: usize) -> std::ops::Range<usize> {
        self.places[element][1] as usize..self.places[element + 1][1] as usize
    }

    fn law(&self, element: usize) -> &Law {
        &self.net.elements[element].law
    }
}

/// The base point, linear.
#[derive(Debug)]
struct View {
    links: Links,
    z: Inverse,
    bends: Bends,
}

impl View {
    fn of(
        net: &Network,
        ordering: &Ordering,
        (states, at): (&[State], &Potentials),
        places: &[[u32; 2]],
        kind: Kind,
    ) -> Option<Self> {
        let mut links = Links::default();
        let (mut k, mut its_states) = (0, states.to_vec());
        for element in &net.elements {
            let next = k + element.law.states();
            links.read_steady(&element.law, &mut its_states[k..next], at, kind);
            k = next;
        }
        let z = Inverse::of(net, ordering, states, at, &links, kind)?;
        let bends = Bends::of(net, states, at, &links, places, &z);
        Some(Self { links, z, bends })
    }
}

/// Whether a constant-power load lives below its knee: there may be another point.
fn doubtful(net: &Network, at: &Potentials) -> bool {
    net.elements.iter().any(|element| sags(&element.law, at))
}

/// Whether a constant-power load is below its knee but not dead.
fn sags(law: &Law, at: &Potentials) -> bool {
    let Law::Load(l) = law else { return false };
    let volts = at.across(l.plus, l.minus).volts();
    l.draws == Draws::Power && volts < l.knee && volts > DEAD * l.knee
}

/// Whether a device may trip or be switched.
fn switches(law: &Law) -> bool {
    match law {
        Law::Source(s) => s.overload == Overload::Trip || s.group.is_some(),
        Law::Converter(_) => true,
        _ => false,
    }
}

/// Whether a device is off or tripped at the base: a network solved from nothing begins with it on, which may decide
/// what trips.
fn begins_anew(law: &Law, states: &[State]) -> bool {
    let states = &states[..law.states()];
    states.contains(&State::Tripped) || (matches!(law, Law::Converter(_)) && states[0] != State::On)
}
