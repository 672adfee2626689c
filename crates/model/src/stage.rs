//! Which loads are connected at a stage of first power, and how they draw.

use voltwright_job::{Job, Terminal};

/// How the loads draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Loading {
    /// As little as they may while connected.
    Light,
    /// Running.
    Run,
    /// All start currents at once.
    Start,
}

impl Loading {
    /// All of them.
    pub const ALL: [Loading; 3] = [Loading::Light, Loading::Run, Loading::Start];

    /// As in "solved with all loads running".
    pub fn words(self) -> &'static str {
        match self {
            Loading::Light => "at light load",
            Loading::Run => "with the loads running",
            Loading::Start => "with all loads starting together",
        }
    }
}

/// A moment of first power: which loads are connected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// Its name: `source`, or the load that it adds.
    pub name: String,
    /// For each load of the job, whether its plugs are in.
    pub connected: Vec<bool>,
}

/// The stages of a job, growing outward from the source: the source alone, then one load more at each, the most easily
/// replaced first, what feeds another before it. The last has everything connected.
pub fn stages(job: &Job) -> Vec<Stage> {
    let mut connected = vec![false; job.loads.len()];
    let mut stages = vec![Stage { name: "source".into(), connected: connected.clone() }];
    for l in order(job) {
        connected[l] = true;
        stages.push(Stage { name: job.loads[l].key.text.clone(), connected: connected.clone() });
    }
    stages
}

/// The stage with everything connected.
pub fn all(job: &Job) -> Stage {
    let last = order(job).last().map_or("source", |l| &job.loads[*l].key.text);
    Stage { name: last.into(), connected: vec![true; job.loads.len()] }
}

/// The loads in the order in which they are connected.
pub fn order(job: &Job) -> Vec<usize> {
    let feeds = feeds(job);
    let mut left: Vec<usize> = (0..job.loads.len()).collect();
    left.sort_by_key(|l| job.loads[*l].worth);
    let mut order = Vec::new();
    while !left.is_empty() {
        // Loads that feed each other in a ring are taken as they come.
        let ready = |l: &usize| feeds[*l].iter().all(|f| order.contains(f));
        let next = left.iter().position(ready).unwrap_or(0);
        order.push(left.remove(next));
    }
    order
}

/// For each load, the loads that its plugs are wired from.
fn feeds(job: &Job) -> Vec<Vec<usize>> {
    let mut feeds = vec![Vec::new(); job.loads.len()];
    for wire in &job.wires {
        for (near, far) in [(wire.from, wire.to), (wire.to, wire.from)] {
            if let (Terminal::Plug(p, _), Terminal::Socket(feeder, ..)) = (near, far)
                && let Some((fed, _)) = job.plugs[p].mates
                && fed != feeder
            {
                feeds[fed].push(feeder);
            }
        }
    }
    feeds
}
