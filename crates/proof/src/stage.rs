//! The stages of first power: what is plugged in, whether power is on. They grow outward from the wall, one thing at a time,
//! the least replaceable last, and before power comes to anything new it is plugged in cold.

use crate::harness::Harness;
use voltwright_job::{PartKind, Terminal};
use voltwright_model::stage;

/// A moment of first power.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// Its name: `cold`, `source`, `cold board`, `board`.
    pub name: String,
    /// Whether power is on.
    pub live: bool,
    /// For each load, whether its plugs are in.
    pub mated: Vec<bool>,
    /// The load that is new at this stage or at the cold one before it.
    pub adds: Option<usize>,
    /// The fuse that is out, or the switch that is off, at this stage only.
    pub open: Option<usize>,
}

/// The stages of a job, as it gives them or derived.
pub fn stages(h: &Harness<'_>) -> Vec<Stage> {
    match &h.job.stages {
        Some(given) => listed(h, given.iter().map(|s| (s.live, s.adds, s.open))),
        None => derived(h),
    }
}

/// The stages that the program makes for a job.
pub fn derived(h: &Harness<'_>) -> Vec<Stage> {
    let mut list = vec![(false, None, None)];
    list.extend(opened(h).into_iter().map(|p| (false, None, Some(p))));
    list.push((true, None, None));
    list.extend(
        stage::order(h.job).into_iter().flat_map(|l| [(false, Some(l), None), (true, Some(l), None)]),
    );
    listed(h, list.into_iter())
}

/// Power on or off, what is added, what is open.
type Listed = (bool, Option<usize>, Option<usize>);

fn listed(h: &Harness<'_>, list: impl Iterator<Item = Listed>) -> Vec<Stage> {
    let job = h.job;
    let mut mated = vec![false; job.loads.len()];
    let mut stages = Vec::new();
    let mut push = |live: bool, adds: Option<usize>, open: Option<usize>| {
        if let Some(l) = adds {
            mated[l] = true;
        }
        let name = match (live, adds.map(|l| &job.loads[l].key), open.map(|p| &job.parts[p].key)) {
            (_, _, Some(key)) => format!("cold {key} open"),
            (false, None, _) => "cold".to_owned(),
            (true, None, _) => "source".to_owned(),
            (false, Some(key), _) => format!("cold {key}"),
            (true, Some(key), _) => key.text.clone(),
        };
        stages.push(Stage { name, live, mated: mated.clone(), adds, open });
    };
    list.for_each(|(live, adds, open)| push(live, adds, open));
    stages
}

/// Fuses and switches of the mains: that they open what they should is seen only when they are open.
fn opened(h: &Harness<'_>) -> Vec<usize> {
    let opens = |p: &usize| {
        matches!(h.job.parts[*p].kind, PartKind::Fuse(_) | PartKind::Switch(_))
            && h.wiring.is_on_mains(Terminal::Part(*p, 0))
    };
    (0..h.job.parts.len()).filter(opens).collect()
}

#[cfg(test)]
mod tests {
    use super::stages;
    use crate::harness::Harness;

    #[test]
    fn they_are_derived_or_given() {
        let text = "format = 1\n[job]\ntitle = \"T\"\n[rail]\np5 = { nominal = \"5 V\" }\n\
            [load.a]\nworth = \"irreplaceable\"\nsockets.j = [\"p5\", \"com\"]\n[load.b]\nsockets.j = [\"p5\", \"com\"]\n";
        let names = |text: &str| {
            stages(&Harness::new(&voltwright_job::read(text).job))
                .into_iter()
                .map(|s| s.name)
                .collect::<Vec<_>>()
        };
        assert_eq!(names(text), ["cold", "source", "cold b", "b", "cold a", "a"]);
        let given = format!("{text}[first-power]\nstages = [\"source\", \"cold a\", \"a\"]\n");
        assert_eq!(names(&given), ["source", "cold a", "a"]);
    }
}
