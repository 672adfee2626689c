mod common;
use common::random;
#[test]
fn probe() {
    let mut found: Vec<_> = (0..4000u64).map(|s| (s, random::anything(s))).filter(|(_, n)| matches!(n.solve_plainly(), Err(voltwright_circuit::Unsolved::Unsettled{..}))).collect();
    found.sort_by_key(|(_, n)| n.elements.len());
    for (s, n) in found.iter().take(8) {
        println!("--- {s} {:?}", n.solve_plainly().err());
        for (i, x) in n.nodes.iter().enumerate() { print!("{i}={x} "); }
        println!();
        for e in &n.elements { println!("  {:?}", e.law); }
    }
    println!("kinds: {:?}", found.iter().map(|(_, n)| n.elements.len()).collect::<Vec<_>>());
}
