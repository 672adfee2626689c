//! All mistakes tried, and the cheapest readings that catch every harmful one before it can do harm.

use crate::asked::asked;
use crate::bounds::{Bounds, NEVER, Unproved};
use crate::change::{Change, Hold};
use crate::cover::{self, Bits, Column, Cover};
use crate::harm::Threat;
use crate::mains_effect::{MainsEffect, MainsJudge};
use crate::mistake::{self, Mistake};
use crate::setup::Setup;
use crate::step::Step;
use crate::trial::{self, Outcome, Prepared, Room};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use voltwright_job::Job;

/// Nodes of the search for the plan before the gap is stated instead.
const EFFORT: u64 = 100;

/// All mistakes of a job with what came of them.
pub struct Proof<'j> {
    /// What they were tried on.
    pub setup: Setup<'j>,
    /// Every mistake.
    pub mistakes: Vec<Mistake>,
    /// For each mistake its class: mistakes that no reading could tell apart, since they change the same.
    pub class_of: Vec<usize>,
    /// The classes.
    pub classes: Vec<Class>,
    /// The readings to take, in order.
    pub plan: Plan,
    /// All readings that first power asks, in order: those of the plan, and what each output gives where the plan has none.
    pub asked: Vec<usize>,
    /// Operating points solved.
    pub points: u64,
}

/// Mistakes that come to the same circuit at every stage.
pub struct Class {
    /// The mistakes, by index.
    pub mistakes: Vec<usize>,
    /// What they come to.
    pub prepared: Prepared,
    /// What came of them.
    pub outcome: Outcome,
    /// The stage at which the plan catches them, if they are harmful.
    pub caught_at: Option<usize>,
}

impl Class {
    /// Whether it does harm.
    pub fn is_harmful(&self) -> bool {
        self.outcome.harm.is_some()
    }

    /// Whether it does harm before the plan shows it.
    pub fn escapes(&self) -> bool {
        self.is_harmful() && self.caught_at.is_none()
    }
}

/// The readings to take.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Plan {
    /// Readings by index, in the order of their stages.
    pub readings: Vec<usize>,
    /// What they cost together.
    pub cost: u64,
    /// What any plan costs at least; the same as the cost when it is proven that none is cheaper.
    pub bound: u64,
    /// Classes that no reading catches in time.
    pub escapes: Vec<usize>,
}

impl<'j> Proof<'j> {
    /// Tries every mistake, on so many threads; the result does not depend on their number.
    pub fn of(setup: Setup<'j>, threads: usize) -> Self {
        let mistakes = mistake::all(&setup.harness);
        let groups = grouped(&setup, &mistakes, threads, &NEVER);
        Self::tried(setup, mistakes, groups, threads, &NEVER)
    }

    /// The same of a job, within bounds.
    ///
    /// # Errors
    /// Why there is none: the plan itself has no steady state, or the bounds were met.
    pub fn within(job: &'j Job, threads: usize, bounds: Bounds<'_>) -> Result<Self, Unproved> {
        bounds.holds(job.wires.len(), Setup::expects(job))?;
        let setup = Setup::new(job)?;
        bounds.goes_on()?;
        let mistakes = mistake::all(&setup.harness);
        bounds.holds(0, setup.readings.len())?;
        let groups = grouped(&setup, &mistakes, threads, bounds.stop);
        bounds.goes_on()?;
        bounds.holds(groups.1.len(), setup.readings.len())?;
        let proof = Self::tried(setup, mistakes, groups, threads, bounds.stop);
        bounds.goes_on().map(|()| proof)
    }

    /// Of mistakes in their classes; whoever stops it throws it away.
    fn tried(
        setup: Setup<'j>,
        mistakes: Vec<Mistake>,
        (class_of, groups): Grouped,
        threads: usize,
        stop: &AtomicBool,
    ) -> Self {
        let (outcomes, points) =
            in_parallel(&groups, threads, stop, |room, (_, prepared): &(Vec<usize>, Prepared)| {
                trial::run(&setup, prepared, room)
            });
        let mut classes: Vec<Class> = groups
            .into_iter()
            .zip(outcomes)
            .map(|((mistakes, prepared), outcome)| Class { mistakes, prepared, outcome, caught_at: None })
            .collect();
        let plan = plan(&setup, &classes);
        for class in &mut classes {
            class.caught_at = caught_at(&setup, &plan, &class.outcome);
        }
        let asked = asked(&setup, &plan);
        Self { setup, mistakes, class_of, classes, plan, asked, points }
    }

    /// Bytes that it takes, about.
    pub fn weight(&self) -> usize {
        let steps =
            |class: &Class| class.prepared.steps.iter().map(|s| 24 + size_of_val(&**s)).sum::<usize>();
        let classes: usize = self.classes.iter().map(|c| c.outcome.caught.weight() + steps(c)).sum();
        let said: usize = self.mistakes.iter().map(|m| size_of_val(m) + m.says.len()).sum();
        classes + said + size_of_val(&*self.setup.readings) + size_of_val(&*self.classes)
    }

    /// The class of a mistake.
    pub fn class(&self, mistake: usize) -> &Class {
        &self.classes[self.class_of[mistake]]
    }

    /// How common a class is: its mistakes together.
    pub fn class_weight(&self, class: usize) -> f64 {
        self.classes[class].mistakes.iter().map(|m| self.mistakes[*m].weight()).sum()
    }

    /// The readings that first power asks at a stage.
    pub fn asked_at(&self, stage: usize) -> impl Iterator<Item = usize> + '_ {
        self.asked.iter().copied().filter(move |r| self.setup.readings[*r].stage == stage)
    }

    /// What they cost together: about seconds.
    pub fn asked_cost(&self) -> u64 {
        self.asked.iter().map(|r| u64::from(self.setup.readings[*r].cost)).sum()
    }

    /// Mistakes that escape, by index.
    pub fn escapes(&self) -> Vec<usize> {
        let mut all: Vec<usize> =
            self.plan.escapes.iter().flat_map(|c| self.classes[*c].mistakes.clone()).collect();
        all.sort_unstable();
        all
    }
}

/// The first stage at which the plan catches a mistake.
fn caught_at(setup: &Setup<'_>, plan: &Plan, outcome: &Outcome) -> Option<usize> {
    outcome.harm?;
    plan.readings.iter().find(|r| outcome.caught.contains(**r)).map(|r| setup.readings[*r].stage)
}

/// The class of each mistake; the mistakes of each class, and what they come to.
type Grouped = (Vec<usize>, Vec<(Vec<usize>, Prepared)>);

/// Mistakes put together that come to the same steps at every stage and the same effect on the mains side.
fn grouped(setup: &Setup<'_>, mistakes: &[Mistake], threads: usize, stop: &AtomicBool) -> Grouped {
    let judge = MainsJudge::new(&setup.harness, setup.mains.as_ref());
    let (all, _) = in_parallel(mistakes, threads, stop, |_, mistake| {
        let prepared = Prepared::of(setup, &mistake.changes, &judge);
        (key(&prepared), prepared)
    });
    let mut known: BTreeMap<Key, usize> = BTreeMap::new();
    let mut groups: Vec<(Vec<usize>, Prepared)> = Vec::new();
    let mut class_of = Vec::new();
    for (m, (key, prepared)) in all.into_iter().enumerate() {
        let class = *known.entry(key).or_insert_with(|| {
            groups.push((Vec::new(), prepared));
            groups.len() - 1
        });
        groups[class].0.push(m);
        class_of.push(class);
    }
    (class_of, groups)
}

/// What a prepared mistake is: steps as numbers, what it harms and opens on the mains side.
type Key = (Vec<u64>, Vec<Threat>);

/// Equal only for the same.
fn key(prepared: &Prepared) -> Key {
    let mut key = Vec::new();
    for steps in &prepared.steps {
        key.push(u64::MAX);
        for step in steps {
            let part: [u64; 4] = match *step {
                Step::Remove(e) => [0, e as u64, 0, 0],
                Step::Rewire { element, ends: [a, b] } => {
                    [1, element as u64, a.min(b) as u64, a.max(b) as u64]
                }
                Step::Join { ends: [a, b], ohms, .. } => {
                    [2, a.min(b) as u64, a.max(b) as u64, ohms.to_bits()]
                }
                Step::Turn(e) => [3, e as u64, 0, 0],
                Step::Raise(e, o, volts) => [4, e as u64, o as u64, volts.to_bits()],
                Step::Kill(e, o) => [5, e as u64, o as u64, 0],
                Step::Stick(p) => [6, p as u64, 0, 0],
                Step::Flip(p) => [7, p as u64, 0, 0],
            };
            key.extend(part);
        }
    }
    let MainsEffect { harms, opens, dead, crossing } = &prepared.mains;
    key.extend([u64::MAX, u64::from(*crossing), u64::from(prepared.touches_mains)]);
    key.extend(harms.iter().map(|h| h.value.to_bits()));
    key.extend(dead.iter().map(|p| *p as u64));
    (key, harms.iter().map(|h| h.threat).chain(opens.iter().copied()).collect())
}

/// Items that a thread takes at a time.
const HANDFUL: usize = 8;

/// Does work on every item, on so many threads; results in the order of the items, and the operating points solved. Told to
/// stop, it leaves items out.
pub(crate) fn in_parallel<T: Sync, R: Send>(
    items: &[T],
    threads: usize,
    stop: &AtomicBool,
    work: impl Fn(&mut Room, &T) -> R + Sync,
) -> (Vec<R>, u64) {
    let next = AtomicUsize::new(0);
    let one = || {
        let (mut room, mut done) = (Room::new(), Vec::new());
        while !stop.load(Ordering::Relaxed) {
            let start = next.fetch_add(HANDFUL, Ordering::Relaxed);
            let Some(rest) = items.get(start..).filter(|rest| !rest.is_empty()) else { break };
            let handful = &rest[..HANDFUL.min(rest.len())];
            done.push((start, handful.iter().map(|item| work(&mut room, item)).collect::<Vec<R>>()));
        }
        (done, room.points())
    };
    let mut shares = if threads <= 1 || items.len() <= HANDFUL {
        vec![one()]
    } else {
        std::thread::scope(|scope| {
            let workers: Vec<_> = (0..threads).map(|_| scope.spawn(one)).collect();
            let ended =
                workers.into_iter().map(|w| w.join().unwrap_or_else(|p| std::panic::resume_unwind(p)));
            ended.collect()
        })
    };
    let points = shares.iter().map(|(_, points)| points).sum();
    let mut done: Vec<(usize, Vec<R>)> =
        shares.iter_mut().flat_map(|(done, _)| std::mem::take(done)).collect();
    done.sort_by_key(|(start, _)| *start);
    (done.into_iter().flat_map(|(_, results)| results).collect(), points)
}

/// The cheapest readings that catch every harmful mistake in time, then, for the same cost, those that tell most mistakes
/// apart.
fn plan(setup: &Setup<'_>, classes: &[Class]) -> Plan {
    let harmful: Vec<usize> = (0..classes.len()).filter(|c| classes[*c].outcome.harm.is_some()).collect();
    let (rows, escapes): (Vec<usize>, Vec<usize>) =
        harmful.into_iter().partition(|c| classes[*c].outcome.caught.iter().next().is_some());
    let columns = columns(setup, classes, &rows);
    let Ok(cover) = cover::least_cost(&columns, rows.len(), EFFORT) else {
        return Plan { escapes, ..Plan::default() };
    };
    let score = |chosen: &[usize]| {
        let mut syndromes: Vec<Vec<bool>> =
            (0..rows.len()).map(|r| chosen.iter().map(|c| columns[*c].rows.contains(r)).collect()).collect();
        syndromes.sort_unstable();
        syndromes.dedup();
        syndromes.len() as u64
    };
    let Cover { columns: readings, cost, bound, .. } =
        cover::more_telling(&columns, rows.len(), cover, score);
    Plan { readings, cost, bound, escapes }
}

/// The cover problem: a column a reading, a row a harmful class that some reading catches.
pub fn columns(setup: &Setup<'_>, classes: &[Class], rows: &[usize]) -> Vec<Column> {
    let mut columns: Vec<Column> =
        setup.readings.iter().map(|r| Column { cost: r.cost, rows: Bits::new(rows.len()) }).collect();
    for (row, class) in rows.iter().enumerate() {
        classes[*class].outcome.caught.iter().for_each(|r| columns[r].rows.insert(row));
    }
    columns
}

/// Whether two mistakes can be there together as two: they take hold of different things.
pub fn can_be_together(a: &[Change], b: &[Change]) -> bool {
    let holds = |changes: &[Change]| changes.iter().filter_map(Change::hold).collect::<Vec<Hold>>();
    let theirs = holds(b);
    holds(a).iter().all(|hold| !theirs.contains(hold))
}
