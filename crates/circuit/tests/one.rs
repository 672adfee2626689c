mod common;
#[test]
fn one() {
    let seed: u64 = std::env::var("SEED").unwrap().parse().unwrap();
    let net = common::random::anything(seed);
    let a = if std::env::var("PLAIN").is_ok() { net.solve_plainly() } else { net.solve() };
        for (i, x) in net.nodes.iter().enumerate() { print!("{i}={x} "); }
        println!();
        for (i,e) in net.elements.iter().enumerate() { println!("  {:?} {:?}", e.law, a.as_ref().ok().map(|s| &s.elements[i])); }
   println!("{:?} {:?}", net.groups, a.map(|s| s.volts));
}
