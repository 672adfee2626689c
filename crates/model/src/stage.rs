//! Which loads are connected at a stage of first power, and how they draw.

use voltwright_job::Job;

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
    /// Its name: `source`, a load's name, or `all`.
    pub name: String,
    /// For each load of the job, whether its plugs are in.
    pub connected: Vec<bool>,
}

/// The stages of a job, growing outward from the source: the source alone, each load alone with the most easily
/// replaced first, all loads.
pub fn stages(job: &Job) -> Vec<Stage> {
    let none = vec![false; job.loads.len()];
    let mut stages = vec![Stage { name: "source".into(), connected: none.clone() }];
    let mut order: Vec<usize> = (0..job.loads.len()).collect();
    order.sort_by_key(|l| job.loads[*l].worth);
    if order.len() > 1 {
        for l in order {
            let mut connected = none.clone();
            connected[l] = true;
            stages.push(Stage { name: job.loads[l].key.text.clone(), connected });
        }
    }
    if !job.loads.is_empty() {
        stages.push(all(job));
    }
    stages
}

/// The stage with everything connected.
pub fn all(job: &Job) -> Stage {
    Stage { name: "all".into(), connected: vec![true; job.loads.len()] }
}
