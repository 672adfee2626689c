//! scratch
use voltwright_proof::{mistake::KINDS, proof::Proof, setup::Setup};
fn main() {
    let path = std::env::args().nth(1).unwrap();
    let r = voltwright_job::read(&std::fs::read_to_string(path).unwrap());
    for d in &r.diagnostics { println!("{}", d.message); }
    let setup = match Setup::new(&r.job) { Ok(s) => s, Err(e) => { println!("{e:?}"); return } };
    for (s, t) in setup.stages.iter().zip(&setup.tables) { match t {
        voltwright_proof::setup::Table::Cold(c) => println!("{}: cold {} nodes {} elements {} readings", s.name, c.view.network.nodes.len(), c.view.network.elements.len(), c.readings.len()),
        voltwright_proof::setup::Table::Live(c) => println!("{}: live {} nodes {} elements {} readings {} corners {} watched", s.name, c.view.network.nodes.len(), c.view.network.elements.len(), c.readings.len(), c.corners.len(), c.watched.len()),
    } }
    let proof = Proof::of(setup, 2);
    println!("{} mistakes, {} classes, {} points", proof.mistakes.len(), proof.classes.len(), proof.points);
    for (k, kind) in KINDS.iter().enumerate() {
        let of: Vec<usize> = (0..proof.mistakes.len()).filter(|m| proof.mistakes[*m].kind == k).collect();
        let harmful = of.iter().filter(|m| proof.class(**m).outcome.harm.is_some()).count();
        let esc = of.iter().filter(|m| proof.class(**m).outcome.harm.is_some() && proof.class(**m).caught_at.is_none()).count();
        println!("{:20} {:5} harmful {:5} escapes {:4}", kind.code, of.len(), harmful, esc);
    }
    println!("hunting {}", proof.classes.iter().filter(|c| !c.outcome.hunting.is_empty()).count());
    println!("plan cost {} bound {}", proof.plan.cost, proof.plan.bound);
    for r in &proof.plan.readings { let r = &proof.setup.readings[*r]; println!("  {} {:?} {} to {}: {:?}", proof.setup.stages[r.stage].name, r.function, proof.setup.harness.name(r.red), proof.setup.harness.name(r.black), r.window); }
    for m in proof.escapes().iter().take(60) { let c = proof.class(*m); println!("ESCAPE {} -> {:?}", proof.mistakes[*m].says, c.outcome.harm); }
}
