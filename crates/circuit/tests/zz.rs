mod common;
use common::*;
use voltwright_circuit::*;
use std::time::Instant;
fn t(name: &str, net: &Network) {
    let a = Instant::now(); let o = net.ordering(); let ob = a.elapsed();
    let a = Instant::now(); let s = net.solve_in(&o); let e = a.elapsed();
    println!("{name}: n {} el {} ordering {ob:?} solve {e:?} {:?}", net.nodes.len(), net.elements.len(), s.map(|s| (s.residual, s.power)));
}
#[test]
fn zz() {
    let mut net = Network::new(); let com = net.node("c");
    let n: Vec<usize> = (0..3600).map(|_| net.node("")).collect();
    for i in 0..60 { for j in 0..60 { let k = i*60+j; if j<59 {resistor(&mut net, n[k], n[k+1], 0.1);} if i<59 {resistor(&mut net, n[k], n[k+60], 0.1);} if k%7==0 {load(&mut net, n[k], com, Draws::Power, 0.5, 3.0);} } }
    source(&mut net, n[0], com, 12.0, None, Overload::Hold);
    t("grid", &net);
    let mut net = Network::new(); let com = net.node("c"); let hub = net.node("hub");
    source(&mut net, hub, com, 12.0, None, Overload::Hold);
    for _ in 0..4000 { let x = net.node(""); resistor(&mut net, hub, x, 0.01); load(&mut net, x, com, Draws::Current, 0.5, 3.0); }
    t("star", &net);
    let mut net = Network::new(); let com = net.node("c"); let mut at = net.node("hub");
    source(&mut net, at, com, 1200.0, None, Overload::Hold);
    for _ in 0..4000 { let x = net.node(""); resistor(&mut net, at, x, 0.001); load(&mut net, x, com, Draws::Current, 0.05, 3.0); at = x; }
    t("chain", &net);
    for nodes in [70, 100, 1000, 4000] {
        let mut net = harness(nodes);
        for e in &mut net.elements { if let Law::Source(s) = &mut e.law { s.overload = Overload::Hold; s.limit = Some(0.3 * (nodes / 12) as f64 ); } }
        t("brown-out", &net);
        for e in &mut net.elements { if let Law::Source(s) = &mut e.law { s.overload = Overload::Trip; } }
        t("tripped", &net);
        for e in &mut net.elements { if let Law::Source(s) = &mut e.law { s.overload = Overload::Hold; s.limit = None; s.ohms = 1.0 / nodes as f64 * 12.0; } }
        t("soft", &net);
    }
    // raw supply -> regulators -> loads, diode-or, clamps
    for k in [4, 40, 400] {
        let mut net = Network::new(); let com = net.node("c"); let top = net.node("raw"); let bus = net.node("bus");
        net.add("s", Law::Source(Source::ideal(top, com, 14.0, 0.2 / k as f64)));
        net.add("d", Law::Diode(Diode{anode: top, cathode: bus, forward: 0.7, ohms: 0.02 / k as f64}));
        for i in 0..k { let (a,b,o) = (net.node(""), net.node(""), net.node("")); resistor(&mut net, bus, a, 0.05);
          net.add("r", Law::Regulator(Regulator{input: a, reference: com, output: b, volts: 5.0, ohms: 1e-4, headroom: 2.0, limit: 1.0}));
          resistor(&mut net, b, o, 0.02); load(&mut net, o, com, Draws::Current, 0.3 + 0.9 * (i % 4 == 3) as u8 as f64, 2.5);
          net.add("z", Law::Clamp(Clamp{cathode: o, anode: com, breakdown: 5.6, forward: 0.7, ohms: 0.02})); }
        t("regulators", &net);
    }
}
