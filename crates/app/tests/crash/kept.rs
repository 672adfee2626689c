//! A plain model of what the workshop keeps of one job, and what can be asked of it.

use crate::common::server::Folder;
use crate::dice::Dice;
use std::collections::BTreeMap;
use voltwright_workshop::Store;

/// The text of the first revision: a job with few parts, so that saving is quick.
pub const TEXT: &str = include_str!("small.toml");

/// What is asked of the server.
#[derive(Debug, Clone)]
pub enum Op {
    /// A new text upon the newest revision.
    Save { text: String },
    /// A first power of a revision.
    Begin { revision: usize },
    /// Readings for a first power: keys and what was typed.
    Read { run: usize, batch: Vec<(String, String)> },
}

/// What is kept: all of it in order.
#[derive(Debug, Clone, Default)]
pub struct Kept {
    /// Texts, from revision 1.
    pub texts: Vec<String>,
    /// First powers, from number 1: the revision, and the readings by key and value.
    pub runs: Vec<(usize, Vec<(String, f64)>)>,
    /// Names given out so far, kept or not.
    given: u64,
    /// Batches that were sent, to be sent again.
    sent: Vec<(usize, Vec<(String, String)>)>,
}

impl PartialEq for Kept {
    fn eq(&self, other: &Self) -> bool {
        self.texts == other.texts && self.runs == other.runs
    }
}

impl Kept {
    /// Nothing but the first revision.
    pub fn begun() -> Self {
        Self { texts: vec![TEXT.to_owned()], ..Self::default() }
    }

    /// Something to ask; readings most of all.
    pub fn next(&mut self, dice: &mut Dice) -> Op {
        self.given += 1;
        match dice.below(10) {
            0..=1 => Op::Save {
                text: format!("{TEXT}# saved as {}\n{}", self.given, "#\n".repeat(dice.below(400) as usize)),
            },
            2 => Op::Begin { revision: 1 + dice.below(self.texts.len() as u64) as usize },
            _ if self.runs.is_empty() => Op::Begin { revision: 1 },
            3..=5 if !self.sent.is_empty() => self.again(dice),
            _ => self.fresh(dice),
        }
    }

    /// A batch that was sent before, all of it or its end, with something new behind.
    fn again(&mut self, dice: &mut Dice) -> Op {
        let back = dice.below(self.sent.len().min(4) as u64) as usize;
        let (run, mut batch) = self.sent[self.sent.len() - 1 - back].clone();
        if dice.below(2) == 0 {
            batch.push((format!("again-{}", self.given), "1.25".to_owned()));
            batch.drain(..batch.len().saturating_sub(5));
        }
        Op::Read { run, batch }
    }

    fn fresh(&mut self, dice: &mut Dice) -> Op {
        let run = 1 + dice.below(self.runs.len() as u64) as usize;
        let count = 1 + dice.below(5);
        let mut one =
            |i| (format!("key-{}-{i}", self.given), format!("{}.{:03}", dice.below(20), dice.below(1000)));
        let batch: Vec<_> = (0..count).map(&mut one).collect();
        self.sent.push((run, batch.clone()));
        Op::Read { run, batch }
    }

    /// Whether some key of it is kept already.
    pub fn knows_some(&self, op: &Op) -> bool {
        matches!(op, Op::Read { batch, .. } if batch.iter().any(|(key, _)| self.knows(key)))
    }

    fn knows(&self, key: &str) -> bool {
        self.runs.iter().any(|(_, readings)| readings.iter().any(|(k, _)| k == key))
    }

    /// What it is after this was done.
    pub fn take(&mut self, op: &Op) {
        match op {
            Op::Save { text } => self.texts.push(text.clone()),
            Op::Begin { revision } => self.runs.push((*revision, Vec::new())),
            Op::Read { run, batch } => {
                for (key, typed) in batch {
                    if !self.knows(key) {
                        self.runs[run - 1].1.push((key.clone(), typed.parse().unwrap()));
                    }
                }
            }
        }
    }

    /// What the file has, read from the file itself; what is not in the file is taken over from `known`. The file must be sound,
    /// and every entry a whole one.
    pub fn found(folder: &Folder, known: &Self) -> Self {
        let store = Store::open(&folder.file()).unwrap();
        store.check().unwrap();
        let jobs = store.jobs("").unwrap();
        assert_eq!(jobs.len(), 1);
        let job = jobs[0].job;
        let revisions = store.revisions(job).unwrap();
        let texts = revisions.iter().map(|made| store.revision(job, made.number).unwrap().text).collect();
        let mut keys = BTreeMap::new();
        let runs = store.runs(job).unwrap().into_iter().map(|run| {
            let readings = store.log(run.id).unwrap().into_iter().map(|entry| {
                assert!(
                    keys.insert(entry.what.key.clone(), run.number).is_none(),
                    "{} is there twice",
                    entry.what.key
                );
                assert_eq!(
                    (entry.what.kind.as_str(), entry.what.stage.as_str(), entry.what.red.as_str()),
                    ("reading", "source", "p.1")
                );
                (entry.what.key, entry.what.value.unwrap())
            });
            (run.revision as usize, readings.collect())
        });
        Self { texts, runs: runs.collect(), ..known.clone() }
    }
}
