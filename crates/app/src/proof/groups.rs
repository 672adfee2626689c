//! Mistakes that escape, put together by what they would harm and at which stage: the harm is told once, the worst first.

use super::words;
use std::cmp::Reverse;
use voltwright_job::Job;
use voltwright_proof::harm::{Harm, Threat};
use voltwright_proof::proof::Proof;

/// Mistakes that come to the same harm at the same stage.
#[derive(Debug, Clone)]
pub struct Group {
    /// The stage at which it is done.
    pub stage: usize,
    /// The worst of them.
    pub harm: Harm,
    /// Whether others of them are less bad.
    pub varies: bool,
    /// Which.
    pub mistakes: Vec<usize>,
}

impl Group {
    /// How many, and what comes of them: "8 mistakes, at worst: …"
    pub fn says(&self, job: &Job) -> String {
        format!(
            "{}{}: {}",
            words::count(self.mistakes.len(), "mistake"),
            self.at_worst(),
            words::harm(job, &self.harm)
        )
    }

    /// Stands behind their number, where not all do the same.
    pub fn at_worst(&self) -> &'static str {
        if self.varies { ", at worst" } else { "" }
    }

    /// Why no reading comes in time: what is there when the harm is done, and what could be read before.
    pub fn why(&self, proof: &Proof<'_>) -> String {
        let (setup, s) = (&proof.setup, self.stage);
        let stage = &setup.stages[s];
        let adds = stage.adds.map(|l| &setup.job().loads[l].name);
        let there = match adds {
            Some(load) => format!("At stage “{}” the power is on and {load} is connected", stage.name),
            None => format!("At stage “{}” the power comes on", stage.name),
        };
        match setup.readings.iter().filter(|r| r.stage < s).count() {
            0 => format!("{there}, and nothing is read before it."),
            1 => format!("{there}; the one reading that can be taken before it is not sure to show it."),
            n => format!("{there}; none of the {n} readings that can be taken before it is sure to show it."),
        }
    }
}

/// The groups of what escapes: what harms people first, then boards, then the rest; of each the largest first.
pub fn groups(proof: &Proof<'_>) -> Vec<Group> {
    let job = proof.setup.job();
    let mut groups: Vec<Group> = Vec::new();
    for m in proof.escapes() {
        let Some((stage, harm)) = proof.class(m).outcome.harm else { continue };
        match groups.iter_mut().find(|g| g.stage == stage && g.harm.threat == harm.threat) {
            Some(group) => {
                group.mistakes.push(m);
                group.varies |= words::harm(job, &harm) != words::harm(job, &group.harm);
                if harm.excess > group.harm.excess {
                    group.harm = harm;
                }
            }
            None => groups.push(Group { stage, harm, varies: false, mistakes: vec![m] }),
        }
    }
    groups.sort_by_key(|g| (rank(g.harm.threat), Reverse(g.mistakes.len()), g.stage));
    groups
}

/// How far ahead a threat is told.
fn rank(threat: Threat) -> u8 {
    match threat {
        Threat::Touch | Threat::NoEarth | Threat::StaysLive => 0,
        Threat::Rail(..) | Threat::Order(..) | Threat::Contact(..) => 1,
        Threat::Input(_) | Threat::Capacitor(_) | Threat::Wire(_) | Threat::Fuse(_) => 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use voltwright_proof::setup::Setup;

    fn with<T>(text: &str, what: impl Fn(&Proof<'_>) -> T) -> T {
        let reading = voltwright_job::read(text);
        what(&Proof::of(Setup::new(&reading.job).ok().unwrap(), 2))
    }

    #[test]
    fn every_escape_is_in_one_group_of_its_own_harm() {
        with(include_str!("../../../../examples/desk-computer/first-draft.toml"), |proof| {
            let groups = groups(proof);
            let mut all: Vec<usize> = groups.iter().flat_map(|g| g.mistakes.clone()).collect();
            all.sort_unstable();
            assert_eq!(all, proof.escapes());
            assert!(
                groups.len() > 1 && groups.len() < all.len() / 3,
                "{} groups of {}",
                groups.len(),
                all.len()
            );
            for group in &groups {
                let harms = group.mistakes.iter().map(|m| proof.class(*m).outcome.harm.unwrap());
                let worst = harms.map(|(s, h)| {
                    assert_eq!((s, h.threat), (group.stage, group.harm.threat));
                    h.excess
                });
                assert!(worst.fold(0.0, f64::max) <= group.harm.excess);
            }
        });
    }

    #[test]
    fn people_come_before_boards_and_more_before_fewer() {
        with(include_str!("../../../../examples/desk-computer/first-draft.toml"), |proof| {
            let order: Vec<(u8, usize)> =
                groups(proof).iter().map(|g| (rank(g.harm.threat), g.mistakes.len())).collect();
            assert!(order.is_sorted_by(|a, b| (a.0, Reverse(a.1)) <= (b.0, Reverse(b.1))), "{order:?}");
            assert_eq!(order[0].0, 0);
            assert!(order.iter().any(|o| o.0 == 1));
        });
    }

    #[test]
    fn a_group_says_what_could_be_read_before() {
        with(include_str!("../../../../examples/desk-computer/first-draft.toml"), |proof| {
            for group in groups(proof) {
                let before = proof.setup.readings.iter().filter(|r| r.stage < group.stage).count();
                let why = group.why(proof);
                assert!(why.contains(&proof.setup.stages[group.stage].name), "{why}");
                assert_eq!(why.contains("nothing is read before"), before == 0, "{why}");
            }
        });
    }
}
