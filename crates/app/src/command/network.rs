//! `voltwright network JOB`: the solved networks as plain data, for any other solver to check.

use crate::arguments;
use crate::failure::{Failure, Verdict};
use crate::proof::problem;
use crate::{source, terminal};
use serde::Serialize;
use voltwright_circuit::{Network, Solution, Unsolved};
use voltwright_job::near::nearest;
use voltwright_job::{Job, PartKind};
use voltwright_model::mains_side::MainsSide;
use voltwright_model::sample::Dice;
use voltwright_model::{Loading, Solved, Stage, stage};
use voltwright_proof::pairs;

/// Version of the shape of `schemas/network.json`.
const FORMAT: u32 = 1;

#[derive(Serialize)]
struct Data<'j> {
    format: u32,
    job: &'j str,
    networks: Vec<One>,
}

/// One network with its operating point, or why it has none.
#[derive(Serialize)]
struct One {
    stage: String,
    /// Names of the loads that are connected.
    connected: Vec<String>,
    side: &'static str,
    loading: Loading,
    #[serde(flatten)]
    network: Network,
    solution: Option<Solution>,
    unsolved: Option<Reason>,
}

#[derive(Serialize)]
struct Reason {
    kind: &'static str,
    says: String,
}

/// Prints the networks of all stages, or of one.
pub fn run(arguments: &arguments::Network) -> Result<Verdict, Failure> {
    let source = source::open(&arguments.job)?;
    if arguments.mistakes {
        return mistakes(&source.job, arguments);
    }
    let stages = chosen(&source.job, arguments.stage.as_deref())?;
    let networks = stages.into_iter().flat_map(|s| at(&source.job, s)).collect();
    let data = Data { format: FORMAT, job: &source.job.title.text, networks };
    terminal::print(&super::json(&data, !arguments.json)?)?;
    Ok(Verdict::NoStop)
}

/// The networks of the proof with every mistake and what came of it, and so many pairs.
fn mistakes(job: &Job, arguments: &arguments::Network) -> Result<Verdict, Failure> {
    let proof = super::proof_of(job)?;
    let (mut dice, mut wanted) = (Dice::new(1), Vec::new());
    let n = proof.classes.len() as f64;
    let mut draw = || (dice.uniform() * n) as usize;
    for _ in 0..arguments.pairs.unwrap_or(0) {
        wanted.push((draw(), draw()));
    }
    let pairs: Vec<_> = pairs::some(&proof, &wanted, super::threads()).into_iter().flatten().collect();
    terminal::print(&super::json(&problem::of(&proof, &pairs), !arguments.json)?)?;
    Ok(Verdict::NoStop)
}

fn chosen(job: &Job, name: Option<&str>) -> Result<Vec<Stage>, Failure> {
    let all = stage::stages(job);
    let Some(name) = name else { return Ok(all) };
    let names = || all.iter().map(|s| s.name.as_str());
    if let Some(found) = all.iter().find(|s| s.name == name) {
        return Ok(vec![found.clone()]);
    }
    let hint = nearest(name, names()).map_or_else(
        || format!("the stages are: {}", names().collect::<Vec<_>>().join(", ")),
        |near| format!("did you mean `{near}`?"),
    );
    Err(Failure::command_line(format!("there is no stage `{name}`"), Some(hint)))
}

/// The low-voltage network of a stage with each loading, then its mains side.
fn at(job: &Job, stage: Stage) -> Vec<One> {
    let whole = stage.connected.iter().all(|c| *c);
    let loadings: &[Loading] = if whole { &Loading::ALL } else { &[Loading::Run] };
    let name = stage.name.clone();
    let with = job.loads.iter().zip(&stage.connected).filter(|(_, c)| **c);
    let connected: Vec<String> = with.map(|(load, _)| load.key.text.clone()).collect();
    let mut solved = Solved::new(job);
    solved.stage = stage;
    let low = loadings.iter().map(|loading| {
        let outcome = solved.point(*loading).map(|p| p.solution.clone()).map_err(Clone::clone);
        let network = solved.low_voltage(*loading).network.clone();
        one((&name, &connected), "low-voltage", *loading, network, outcome)
    });
    // A job without wiring has no network: nothing to solve, nothing to check.
    let mut out: Vec<One> = low.filter(|one| !one.network.elements.is_empty()).collect();
    out.extend(mains_side(job, &solved).map(|network| {
        let outcome = network.solve();
        one((&name, &connected), "mains", Loading::Run, network, outcome)
    }));
    out
}

/// The mains network at nominal voltage and draws; none without a country or an inlet.
fn mains_side(job: &Job, solved: &Solved<'_>) -> Option<Network> {
    solved.mains.as_ref()?;
    job.parts.iter().position(|p| matches!(p.kind, PartKind::Inlet))?;
    let drawn: Vec<f64> = (0..job.parts.len()).map(|p| solved.input_volt_amps(p, false)).collect();
    MainsSide::build(job, &solved.nominal_sample(), &drawn).map(|side| side.network)
}

fn one(
    (stage, connected): (&str, &[String]),
    side: &'static str,
    loading: Loading,
    network: Network,
    outcome: Result<Solution, Unsolved>,
) -> One {
    let (solution, unsolved) = match outcome {
        Ok(solution) => (Some(solution), None),
        Err(u) => (None, Some(reason(&u))),
    };
    One { stage: stage.to_owned(), connected: connected.to_vec(), side, loading, network, solution, unsolved }
}

fn reason(unsolved: &Unsolved) -> Reason {
    let kind = match unsolved {
        Unsolved::Hunting { .. } => "hunting",
        Unsolved::Unbalanced { .. } => "unbalanced",
        Unsolved::NotFinite { .. } => "not finite",
        Unsolved::Unsettled { .. } => "unsettled",
        Unsolved::Faulty { .. } => "faulty",
    };
    Reason { kind, says: unsolved.to_string() }
}
