//! Devices that act on a voltage elsewhere: interlocks, and supplies with a strap to their enable terminal.

use voltwright_circuit::{Law, Source};
use voltwright_job::{Job, Level, PartKind};
use voltwright_model::LowVoltage;
use voltwright_quantity::Quantity;

/// Level between low and high of an enable input, volts: TTL, common practice.
const LOGIC_THRESHOLD: f64 = 1.4;
/// What pulls an open enable input up, ohms, to 5 V: common practice.
const PULL_UP: (f64, f64) = (5.0, 1000.0);

/// A device that conducts only while a voltage elsewhere is on the right side of its threshold.
#[derive(Debug, Clone, PartialEq)]
pub struct Follower {
    /// The part.
    pub part: usize,
    /// Its elements.
    pub elements: Vec<usize>,
    /// Positive end of what it senses.
    pub plus: usize,
    /// Negative end.
    pub minus: usize,
    /// Volts.
    pub threshold: f64,
    /// Whether it conducts at or above the threshold, else at or below.
    pub above: bool,
}

impl Follower {
    /// Whether it conducts at these voltages.
    #[inline]
    pub fn conducts(&self, volts: &[f64]) -> bool {
        let sensed = volts[self.plus] - volts[self.minus];
        if self.above { sensed >= self.threshold } else { sensed <= self.threshold }
    }
}

/// All of a job, on its low-voltage network.
pub(super) fn followers(job: &Job, low: &mut LowVoltage) -> Vec<Follower> {
    let mut followers = Vec::new();
    for (p, part) in job.parts.iter().enumerate() {
        let node = |low: &LowVoltage, name: &str| low.part_node(job, p, name);
        match &part.kind {
            PartKind::Interlock(i) => {
                let sensed = node(low, "sense.plus").zip(node(low, "sense.minus"));
                if let Some((plus, minus)) = sensed.filter(|_| !low.parts[p].is_empty()) {
                    let threshold = i.closes_at.nominal().si();
                    followers.push(Follower {
                        part: p,
                        elements: low.parts[p].clone(),
                        plus,
                        minus,
                        threshold,
                        above: true,
                    });
                }
            }
            PartKind::MainsSupply(s) => {
                let Some((level, _)) = &s.enable else { continue };
                let Some(plus) = node(low, "enable").filter(|_| strapped(job, p)) else { continue };
                let first = s.outputs.first().map(|o| format!("{}.minus", o.name));
                let Some(minus) = first.and_then(|name| node(low, &name)) else { continue };
                let law = Source::ideal(plus, minus, PULL_UP.0, PULL_UP.1);
                low.network.add(format!("{} pull-up", part.key), Law::Source(law));
                followers.push(Follower {
                    part: p,
                    elements: low.parts[p].clone(),
                    plus,
                    minus,
                    threshold: LOGIC_THRESHOLD,
                    above: *level == Level::High,
                });
            }
            _ => {}
        }
    }
    followers
}

/// Whether a wire goes to the enable terminal of a supply.
fn strapped(job: &Job, p: usize) -> bool {
    let enable = job.terminal(p, "enable");
    job.wires.iter().any(|w| Some(w.from) == enable || Some(w.to) == enable)
}
