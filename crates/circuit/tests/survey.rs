mod common;
use common::{oracle::Judged, random};
#[test]
fn survey() {
    let mut kinds = std::collections::BTreeMap::<String, usize>::new();
    let mut bump = |s: &str| *kinds.entry(s.to_owned()).or_default() += 1;
    for seed in 0..20000u64 {
        let net = random::anything(seed);
        let a = net.solve();
        let b = net.solve_plainly();
        match (&a, &b) {
            (Ok(x), Ok(y)) => {
                bump("ok");
                let w = Judged::of(&net, x).worst();
                let scale = x.elements.iter().fold(1e-9, |m: f64, f| m.max(f.current.abs()));
                if w > 1e-9 * scale { bump("judge"); println!("{seed} judged {w:e}"); }
                let d = x.volts.iter().zip(&y.volts).fold(0.0, |m: f64, (a, b)| m.max((a - b).abs()));
                if d > 1e-9 { bump("differ"); println!("{seed} differ {d:e} {} nodes {} el; states differ {}", net.nodes.len(), net.elements.len(), x.elements.iter().zip(&y.elements).filter(|(a,b)| a.state!=b.state).count()); }
            }
            (Err(x), Err(y)) => { bump(&format!("both {}", format!("{x:?}").split(' ').next().unwrap())); if x != y {println!("{seed} {x:?} / {y:?}");} }
            (x, y) => { bump("mixed"); println!("{seed} {:?} / {:?}", x.as_ref().err(), y.as_ref().err()); }
        }
    }
    println!("{kinds:?}");
}
