mod common;
use common::edits::*;
use common::random::*;
use voltwright_circuit::*;
#[test]
fn debug() {
    let kind = if std::env::var("KIND").unwrap_or_default() == "w" { Kind::Wild } else { Kind::Orderly };
    let seed: u64 = std::env::var("SEED").unwrap().parse().unwrap();
    let want = std::env::var("WANT").unwrap_or_default();
    let floating = std::env::var("FLOAT").is_ok();
    let mut dice = Dice::new(seed ^ 0xabcd);
    let mut net = network(kind, seed);
    if floating {
        with_floating_parts(&mut net, &mut dice);
    }
    let base = Base::new(net.clone(), &net.ordering()).unwrap();
    for (e, el) in net.elements.iter().enumerate() {
        println!("{e} {} {:?} -> {:?}", el.name, el.law, base.solution().elements[e]);
    }
    println!("{:?} groups {:?}", base.solution().volts, net.groups);
    let mut room = Workspace::new();
    for _ in 0..30 {
        let edits = edits(&net, &mut dice);
        let text = format!("{edits:?}");
        if want.is_empty() {
            match room.solve(&base, &edits) {
                Ok(f) => println!("{:?} {text}", f.doubt),
                Err(e) => println!("{e} {text}"),
            }
        } else if text.starts_with(&want) {
            println!("EDITS {text}");
            let n2 = net.edited(&edits);
            let p = n2.solve();
            let f = room.solve(&base, &edits).unwrap();
            println!("{:?} {}", f.doubt, f.debug());
            println!("mine {:?}\nhis {:?}", f.volts, p.as_ref().map(|p| p.volts.clone()));
            for e in 0..n2.elements.len() {
                println!(
                    "{e} {:?} {} his {:?}",
                    f.state(e),
                    f.current(e),
                    p.as_ref().map(|p| p.elements[e].clone())
                );
            }
            break;
        }
    }
}
