//! First power as a walk through the plan: what is to be done now, given what happened so far.
//!
//! A stage is set up, its readings are taken one by one, and a live one ends with the plug out. What lies outside its window
//! stops the walk until it is measured anew, overruled with a reason, or something was mended; after a mend everything is
//! measured again, since a wire that was moved may now be wrong in another way. The walk is a fold over events: the same
//! events, the same place, whoever kept them.

use crate::diagnosis::{Taken, Verdict, connection, verdict};
use crate::proof::Proof;
use crate::reading::{Function, Interval, Reading};
use std::collections::BTreeSet;

/// What is to be done now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    /// Set a stage up; for a live one this ends with the power on.
    SetUp(usize),
    /// Take a reading, by index.
    Read(usize),
    /// Switch off and pull the plug, at a stage.
    Off(usize),
    /// Wait, measure the reservoirs, discharge them, measure again, before anything is touched.
    Discharge,
    /// Stopped at a reading: nothing goes on before it is dealt with.
    Stopped(Stop),
    /// Everything of the plan is done.
    Done,
}

/// Why the walk stands still.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stop {
    /// The reading, by index.
    pub reading: usize,
    /// What is wrong with it.
    pub why: Why,
}

/// What is wrong with a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Below its window.
    Low,
    /// Above its window.
    High,
    /// It does not stand still.
    Jumps,
    /// It could not be taken.
    NotMeasured,
}

/// Whether there is power, as far as the events tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Power {
    /// The plug is out.
    Off,
    /// Power is on.
    Live,
    /// The plug is out since power was on: reservoirs may still be charged.
    Discharging,
}

/// What a person says that the meter shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Answer {
    /// A value in ohms, volts or amperes; infinite for an open circuit.
    Value(f64),
    /// In the window, without a number.
    Inside,
    /// Below it.
    Low,
    /// Above it.
    High,
    /// Whether there is a connection, as a trace tells.
    Connected(bool),
    /// It does not stand still.
    Jumps,
    /// It could not be taken.
    NotMeasured,
}

/// What happened at the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A stage is set up, with the power on if it is a live one.
    Ready(usize),
    /// A reading was taken.
    Taken(usize, Answer),
    /// The power is off and the plug out.
    Off,
    /// The reservoirs were measured, discharged and measured again.
    Discharged,
    /// The stop is passed over, for a reason that the log keeps.
    Overruled,
    /// Something was mended: everything is measured again.
    Mended,
    /// The stop is left to take the same reading again.
    Again,
}

/// Where first power stands.
#[derive(Clone)]
pub struct Walk<'p, 'j> {
    proof: &'p Proof<'j>,
    steps: Vec<Ask>,
    at: usize,
    power: Power,
    stop: Option<Stop>,
    at_the_edge: bool,
    taken: Vec<Taken>,
    gaps: Vec<usize>,
    mends: usize,
}

impl<'p, 'j> Walk<'p, 'j> {
    /// At its beginning.
    pub fn new(proof: &'p Proof<'j>) -> Self {
        Self {
            proof,
            steps: steps(proof),
            at: 0,
            power: Power::Off,
            stop: None,
            at_the_edge: false,
            taken: Vec::new(),
            gaps: Vec::new(),
            mends: 0,
        }
    }

    /// Everything that is asked when nothing goes wrong, in order, the end included.
    pub fn steps(&self) -> &[Ask] {
        &self.steps
    }

    /// The step at which the walk is, among [`Walk::steps`].
    pub fn at(&self) -> usize {
        self.at
    }

    /// What is to be done now.
    pub fn ask(&self) -> Ask {
        if let Some(stop) = self.stop {
            return Ask::Stopped(stop);
        }
        let step = self.steps[self.at];
        match (step, self.stage_of(step), self.power) {
            // A live stage too is set up with the plug out.
            (Ask::SetUp(stage), _, Power::Live) => Ask::Off(stage),
            (Ask::SetUp(_), _, Power::Discharging) => Ask::Discharge,
            (Ask::Read(_), Some((stage, false)), Power::Live) => Ask::Off(stage),
            (Ask::Read(_), Some((_, false)), Power::Discharging) => Ask::Discharge,
            (Ask::Read(_), Some((stage, true)), Power::Off | Power::Discharging) => Ask::SetUp(stage),
            _ => step,
        }
    }

    /// Whether there is power.
    pub fn power(&self) -> Power {
        self.power
    }

    /// Whether the reading that is asked for was at the edge of its window a moment ago.
    pub fn is_at_the_edge(&self) -> bool {
        self.at_the_edge
    }

    /// What was read since the last mend, each reading as it was last.
    pub fn taken(&self) -> &[Taken] {
        &self.taken
    }

    /// Readings that were passed over since the last mend.
    pub fn gaps(&self) -> &[usize] {
        &self.gaps
    }

    /// How often something was mended.
    pub fn mends(&self) -> usize {
        self.mends
    }

    /// Takes an event in; tells whether it was its turn. What was not is kept by the log all the same, and changes nothing
    /// here but what is known of a reading.
    pub fn take(&mut self, event: Event) -> bool {
        let ask = self.ask();
        match (event, ask) {
            (Event::Taken(reading, answer), _) => self.read(reading, answer, ask),
            (Event::Ready(stage), Ask::SetUp(asked)) if stage == asked => self.set_up(stage),
            // Out of turn or not: power that somebody says is on, is on, until somebody says that it is off.
            (Event::Ready(stage), _) if self.proof.setup.stages[stage].live => {
                self.power = Power::Live;
                false
            }
            (Event::Off, _) if self.power == Power::Live => self.off(),
            (Event::Discharged, _) if self.power == Power::Discharging => self.discharged(),
            (Event::Overruled, Ask::Stopped(stop)) => {
                self.gaps.push(stop.reading);
                self.go_on();
                true
            }
            (Event::Again, Ask::Stopped(_)) => {
                self.stop = None;
                true
            }
            (Event::Mended, Ask::Stopped(_) | Ask::Done) => {
                (self.at, self.stop, self.at_the_edge) = (0, None, false);
                self.taken.clear();
                self.gaps.clear();
                self.mends += 1;
                true
            }
            _ => false,
        }
    }

    /// Harmful mistakes that would no longer be seen in time if a reading of the plan were passed over as well, by class.
    pub fn unseen_without(&self, reading: usize) -> Vec<usize> {
        let given_up: BTreeSet<usize> = self.gaps.iter().copied().chain([reading]).collect();
        self.unseen(&given_up)
    }

    /// Harmful mistakes that were not seen in time since readings were passed over, by class.
    pub fn left_unseen(&self) -> Vec<usize> {
        self.unseen(&self.gaps.iter().copied().collect())
    }

    fn unseen(&self, given_up: &BTreeSet<usize>) -> Vec<usize> {
        let plan = &self.proof.plan.readings;
        let is_unseen = |c: &usize| {
            let class = &self.proof.classes[*c];
            let mut catching = plan.iter().filter(|r| class.outcome.caught.contains(**r));
            class.is_harmful() && !class.escapes() && catching.all(|r| given_up.contains(r))
        };
        (0..self.proof.classes.len()).filter(is_unseen).collect()
    }

    /// The stage of a reading, and whether it is taken with the power on.
    fn stage_of(&self, step: Ask) -> Option<(usize, bool)> {
        let Ask::Read(r) = step else { return None };
        let stage = self.proof.setup.readings[r].stage;
        Some((stage, self.proof.setup.stages[stage].live))
    }

    fn set_up(&mut self, stage: usize) -> bool {
        if self.proof.setup.stages[stage].live {
            self.power = Power::Live;
        }
        if self.steps[self.at] == Ask::SetUp(stage) {
            self.at += 1;
        }
        true
    }

    fn off(&mut self) -> bool {
        self.power = Power::Discharging;
        if self.stop.is_none() && matches!(self.steps[self.at], Ask::Off(_)) {
            self.at += 1;
        }
        true
    }

    fn discharged(&mut self) -> bool {
        self.power = Power::Off;
        if self.stop.is_none() && self.steps[self.at] == Ask::Discharge {
            self.at += 1;
        }
        true
    }

    fn read(&mut self, index: usize, answer: Answer, ask: Ask) -> bool {
        let reading = &self.proof.setup.readings[index];
        let judged = judge(reading, answer);
        if let Some(shown) = shown(reading, answer) {
            self.taken.retain(|t| t.reading != index);
            self.taken.push(Taken { reading: index, shown });
        }
        match ask {
            Ask::Read(asked) if asked == index => self.judged(index, judged),
            // With the power off it can be measured again where one stands.
            Ask::Stopped(stop) if stop.reading == index && !self.proof.setup.stages[reading.stage].live => {
                self.stop = None;
                self.judged(index, judged);
            }
            // A reading that was suggested to tell what is wrong.
            Ask::Stopped(_) => {}
            _ => return false,
        }
        true
    }

    fn judged(&mut self, reading: usize, judged: Result<Verdict, Why>) {
        match judged {
            Ok(Verdict::Inside) => self.go_on(),
            // The second time it is what it is.
            Ok(Verdict::Edge) if self.at_the_edge => self.go_on(),
            Ok(Verdict::Edge) => self.at_the_edge = true,
            Ok(Verdict::Low) => self.stop = Some(Stop { reading, why: Why::Low }),
            Ok(Verdict::High) => self.stop = Some(Stop { reading, why: Why::High }),
            Err(why) => self.stop = Some(Stop { reading, why }),
        }
    }

    fn go_on(&mut self) {
        self.at += 1;
        self.stop = None;
        self.at_the_edge = false;
        // After a stop the plug may be out already, and the reservoirs discharged.
        if self.power != Power::Live && matches!(self.steps[self.at], Ask::Off(_)) {
            self.at += 1;
        }
        if self.power == Power::Off && self.steps[self.at] == Ask::Discharge {
            self.at += 1;
        }
    }
}

/// The stages that are set up, in order.
pub fn set_up(proof: &Proof<'_>) -> Vec<usize> {
    let stage = |ask: &Ask| if let Ask::SetUp(s) = ask { Some(*s) } else { None };
    steps(proof).iter().filter_map(stage).collect()
}

/// Everything that is asked when nothing goes wrong. A stage with something open is there for its readings alone.
fn steps(proof: &Proof<'_>) -> Vec<Ask> {
    let mut steps = Vec::new();
    for (s, stage) in proof.setup.stages.iter().enumerate() {
        let readings: Vec<usize> = proof.asked_at(s).collect();
        if readings.is_empty() && stage.open.is_some() {
            continue;
        }
        steps.push(Ask::SetUp(s));
        steps.extend(readings.into_iter().map(Ask::Read));
        if stage.live {
            steps.push(Ask::Off(s));
            steps.push(Ask::Discharge);
        }
    }
    steps.push(Ask::Done);
    steps
}

/// What an answer says by itself.
///
/// # Errors
/// An answer that is no value: what is wrong with it.
pub fn judge(reading: &Reading, answer: Answer) -> Result<Verdict, Why> {
    match answer {
        Answer::Value(value) => Ok(verdict(reading, Interval { low: value, high: value })),
        Answer::Inside => Ok(Verdict::Inside),
        Answer::Low => Ok(Verdict::Low),
        Answer::High => Ok(Verdict::High),
        Answer::Connected(is) => Ok(verdict(reading, connection(is))),
        Answer::Jumps => Err(Why::Jumps),
        Answer::NotMeasured => Err(Why::NotMeasured),
    }
}

/// What an answer tells of the value; nothing if it tells nothing.
fn shown(reading: &Reading, answer: Answer) -> Option<Interval> {
    let Interval { low, high } = reading.window;
    match answer {
        Answer::Value(value) => Some(Interval { low: value, high: value }),
        Answer::Inside => Some(reading.window),
        Answer::Connected(is) => Some(connection(is)),
        Answer::Low => Some(Interval { low: least(reading.function), high: low.next_down() }),
        Answer::High => Some(Interval { low: high.next_up(), high: f64::INFINITY }),
        Answer::Jumps | Answer::NotMeasured => None,
    }
}

fn least(function: Function) -> f64 {
    if function == Function::Ohms { 0.0 } else { f64::NEG_INFINITY }
}
