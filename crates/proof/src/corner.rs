//! A mistake on a live stage at one corner: followers and fuses act one after another, as they would.

use crate::harm::{Harm, Threat, Watch, Watched};
use crate::mains_effect::MainsEffect;
use crate::reading::Function;
use crate::setup::{Follower, Live, Setup};
use crate::step::{Step, edits};
use crate::trial::{AtStage, Room};
use std::borrow::Cow;
use voltwright_circuit::{Base, Edit, Law, Neighbour, Overload, State, Unsolved};
use voltwright_job::Job;

/// What a mistake made before adds to the trial of another.
#[derive(Debug, Clone, Default)]
pub(crate) struct Extra {
    /// Wires in new places.
    pub watched: Vec<Watched>,
    /// Steps that are no edits.
    pub flags: Vec<Step>,
    /// Sources and converters with another in their place.
    pub replaced: Vec<(usize, usize)>,
}

/// A mistake on a live stage, ready for its corners.
pub(crate) struct Trial<'a> {
    setup: &'a Setup<'a>,
    live: &'a Live,
    steps: Cow<'a, [Step]>,
    extra: &'a Extra,
    /// Elements without power, whatever the low-voltage side does.
    dead: Vec<usize>,
    /// Wires in new places.
    added: Vec<Watched>,
}

/// What has acted so far: a bit a follower that was taken away, a bit a fuse that has opened.
#[derive(Default)]
struct Acted {
    followers: u64,
    fuses: u64,
}

fn bit(i: usize) -> u64 {
    1 << (i % 64)
}

/// Nothing made before.
static NOTHING: Extra = Extra { watched: Vec::new(), flags: Vec::new(), replaced: Vec::new() };

impl<'a> Trial<'a> {
    /// Of the steps of one mistake alone.
    pub fn alone(setup: &'a Setup<'_>, live: &'a Live, steps: &'a [Step], mains: &MainsEffect) -> Self {
        Self::new(setup, live, steps, &NOTHING, mains, live.view.network.elements.len())
    }

    /// Of steps, with what they do on the mains side; `elements` is how many the network has without them.
    pub fn new(
        setup: &'a Setup<'_>,
        live: &'a Live,
        steps: &'a [Step],
        extra: &'a Extra,
        mains: &MainsEffect,
        elements: usize,
    ) -> Self {
        let is_dead = |e: &usize| mains.dead.iter().any(|p| live.view.parts[*p].contains(e));
        // A supply without mains stays dead, however it failed.
        let powered = |step: &Step| !matches!(step, Step::Raise(e, ..) | Step::Kill(e, _) if is_dead(e));
        let steps = match steps.iter().all(powered) {
            true => Cow::Borrowed(steps),
            false => steps.iter().copied().filter(powered).collect(),
        };
        let mut dead: Vec<usize> = mains.dead.iter().flat_map(|p| live.view.parts[*p].clone()).collect();
        dead.extend(extra.replaced.iter().filter(|(old, _)| is_dead(old)).map(|(_, new)| *new));
        let added = added_watches(setup, live, elements, &steps).collect();
        Self { setup, live, steps, extra, dead, added }
    }

    /// Tries it on a network, and on the same with supplies that hold where they would trip.
    pub fn run(&self, (base, holding): (&Base, Option<&Base>), room: &mut Room) -> Result<AtStage, Unsolved> {
        let Room { workspace, edits: made, ranges, points, volts, .. } = room;
        edits(base.network(), &self.steps, made);
        self.dead.iter().for_each(|e| remove(made, *e));
        let (mut at, mut acted) = (AtStage::default(), Acted::default());
        loop {
            *points += 1;
            let point = workspace.solve(base, made)?;
            let current = |e: usize| if made.contains(&Edit::Remove(e)) { 0.0 } else { point.current(e) };
            let wrong = self.misfit(&acted, point.volts);
            let opens = self.opening(&acted, current);
            // Off it would come on, on it would go off: what it passes through on the way counts.
            at.hunting = wrong.is_some_and(|(i, _)| acted.followers & bit(i) != 0);
            if wrong.is_none() || at.hunting {
                let settled = wrong.is_none() && opens.is_none();
                self.look(&mut at, point.volts, settled, current);
                if settled {
                    let readings = &self.setup.readings[self.live.readings.clone()];
                    for (range, reading) in ranges.iter_mut().zip(readings) {
                        let (a, b) = reading.nodes;
                        range.take(match reading.function {
                            Function::Amps => current(a),
                            _ => point.volts[a] - point.volts[b],
                        });
                    }
                    if let Some(volts) = volts.as_mut() {
                        volts.clear();
                        volts.extend_from_slice(point.volts);
                    }
                }
            }
            let holding = holding.filter(|_| has_tripped(self.live, base, made, &point));
            if let Some(holding) = holding {
                *points += 1;
                let held = held_edits(made);
                if let Ok(before) = workspace.solve(holding, &held)
                    && self.misfit(&acted, before.volts).is_none()
                {
                    self.look(&mut at, before.volts, false, |_| 0.0);
                }
            }
            match (wrong, opens) {
                _ if at.hunting => return Ok(at),
                (Some((i, follower)), _) => {
                    acted.followers |= bit(i);
                    follower.elements.iter().for_each(|e| remove(made, *e));
                }
                (None, Some((i, amps))) => {
                    let (part, element, _) = self.live.fuses[i];
                    at.note(self.setup.job(), Threat::Fuse(part), Some((amps, 1.0)));
                    acted.fuses |= bit(i);
                    remove(made, element);
                }
                (None, None) => return Ok(at),
            }
        }
    }

    fn is(&self, step: Step) -> bool {
        self.steps.contains(&step) || self.extra.flags.contains(&step)
    }

    /// The first follower that does not fit its voltage.
    fn misfit(&self, acted: &Acted, volts: &[f64]) -> Option<(usize, &'a Follower)> {
        let away = |i: usize| acted.followers & bit(i) != 0;
        let fits = |(i, f): (usize, &Follower)| self.is(Step::Stick(f.part)) || f.conducts(volts) != away(i);
        self.live.followers.iter().enumerate().find(|f| !fits(*f))
    }

    /// The first fuse that opens, with its current.
    fn opening(&self, acted: &Acted, current: impl Fn(usize) -> f64) -> Option<(usize, f64)> {
        let closed = |i: &usize| acted.fuses & bit(*i) == 0;
        let fuses = self.live.fuses.iter().enumerate().filter(|(i, _)| closed(i));
        fuses
            .map(|(i, (_, e, most))| (i, current(*e), *most))
            .find(|(_, amps, most)| amps.abs() > *most)
            .map(|(i, amps, _)| (i, amps))
    }

    /// Looks at everything watched; at currents only once nothing more acts.
    fn look(&self, at: &mut AtStage, volts: &[f64], settled: bool, current: impl Fn(usize) -> f64 + Copy) {
        let all = self.live.watched.iter().chain(&self.added).chain(&self.extra.watched);
        for watched in all.filter(|w| settled || !matches!(w.watch, Watch::Amps { .. })) {
            let watch = match watched.threat {
                Threat::Capacitor(p) if self.is(Step::Flip(p)) => turned(watched.watch),
                _ => watched.watch,
            };
            at.note(self.setup.job(), watched.threat, watch.harm(volts, current));
        }
    }
}

/// Whether a source or converter has tripped at a point.
fn has_tripped(live: &Live, base: &Base, made: &[Edit], point: &Neighbour<'_>) -> bool {
    let tripped = |e: usize, outputs: usize| {
        point.state(e) == State::Tripped || (0..outputs).any(|o| point.output_state(e, o) == State::Tripped)
    };
    let outputs = |law: &Law| if let Law::Converter(c) = law { c.outputs.len() } else { 0 };
    let first = base.network().elements.len();
    let mut added =
        made.iter().filter_map(|e| if let Edit::Add(law) = e { Some(law) } else { None }).enumerate();
    let in_place = |e: &&usize| !made.contains(&Edit::Remove(**e));
    live.tripping.iter().filter(in_place).any(|e| tripped(*e, outputs(&base.network().elements[*e].law)))
        || added.any(|(i, law)| {
            matches!(law, Law::Source(_) | Law::Converter(_)) && tripped(first + i, outputs(law))
        })
}

/// Edits whose sources hold at their limits where they would trip.
fn held_edits(made: &[Edit]) -> Cow<'_, [Edit]> {
    let sources = |e: &Edit| matches!(e, Edit::Add(Law::Source(_) | Law::Converter(_)));
    if !made.iter().any(sources) {
        return Cow::Borrowed(made);
    }
    let mut held = made.to_vec();
    for edit in &mut held {
        match edit {
            Edit::Add(Law::Source(s)) => s.overload = Overload::Hold,
            Edit::Add(Law::Converter(c)) => c.outputs.iter_mut().for_each(|o| o.overload = Overload::Hold),
            _ => {}
        }
    }
    Cow::Owned(held)
}

impl AtStage {
    pub(crate) fn note(&mut self, job: &Job, threat: Threat, found: Option<(f64, f64)>) {
        let Some((value, excess)) = found else { return };
        if !threat.is_worth_protecting(job) {
            if !self.lost.contains(&threat) {
                self.lost.push(threat);
            }
        } else if self.harm.is_none_or(|known| excess > known.excess) {
            self.harm = Some(Harm { threat, value, excess });
        }
    }
}

fn remove(edits: &mut Vec<Edit>, element: usize) {
    if !edits.contains(&Edit::Remove(element)) {
        edits.push(Edit::Remove(element));
    }
}

fn turned(watch: Watch) -> Watch {
    match watch {
        Watch::Volts { plus, minus, low, high } => Watch::Volts { plus: minus, minus: plus, low, high },
        other => other,
    }
}

/// Sources and converters that steps replace, with the index of what is in their place.
pub(crate) fn replaced(first: usize, steps: &[Step]) -> Vec<(usize, usize)> {
    let adds = steps.iter().filter(|s| !matches!(s, Step::Remove(_) | Step::Stick(_) | Step::Flip(_)));
    let replaced = adds.enumerate().filter_map(|(i, step)| match step {
        Step::Raise(e, ..) | Step::Kill(e, _) => Some((*e, first + i)),
        _ => None,
    });
    replaced.collect()
}

/// Wires in new places burn like the others: what to watch of the elements that steps add, the first of them numbered so.
pub(crate) fn added_watches<'a>(
    setup: &'a Setup<'_>,
    live: &'a Live,
    first: usize,
    steps: &'a [Step],
) -> impl Iterator<Item = Watched> + 'a {
    let mut element = first;
    steps.iter().filter_map(move |step| {
        let wire = match step {
            Step::Rewire { element: old, .. } => live.view.wires.iter().position(|e| *e == Some(*old)),
            Step::Join { wire, .. } => *wire,
            Step::Turn(_) | Step::Raise(..) | Step::Kill(..) => None,
            Step::Remove(_) | Step::Stick(_) | Step::Flip(_) => return None,
        };
        let here = element;
        element += 1;
        let wire = wire?;
        let most = setup.survives[wire];
        Some(Watched { threat: Threat::Wire(wire), watch: Watch::Amps { element: here, most } })
    })
}
