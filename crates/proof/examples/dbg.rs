//! scratch
use voltwright_proof::{proof::Proof, setup::*};
fn main() {
    let r = voltwright_job::read(&std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap());
    let t = std::time::Instant::now();
    let setup = Setup::new(&r.job).unwrap();
    println!("setup {:?}", t.elapsed());
    let t = std::time::Instant::now();
    let proof = Proof::of(setup, 2);
    println!("proof {:?} points {}", t.elapsed(), proof.points);
    for c in proof.classes.iter().filter(|c| !c.outcome.hunting.is_empty()).step_by(7) { println!("{} {:?} {:?}", proof.mistakes[c.mistakes[0]].says, c.outcome.hunting, c.prepared.mains.dead); }
}
