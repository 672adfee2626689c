fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let r = voltwright_job::read(&text);
    for d in &r.diagnostics { println!("{:?} {} {:?} [{}]", d.span, d.message, d.hint, text.get(d.span.clone()).unwrap_or("")); }
    let t = std::time::Instant::now();
    let report = voltwright_rules::check(&r.job);
    let el = t.elapsed();
    for f in &report.findings { println!("{:?} {} | {} | {}\n    cure {:?} like {:?}", f.severity, f.code, f.subject, f.says, f.cure, f.likelihood);
      if std::env::args().len() > 2 { if let Some(w) = &f.working { println!("{}", w.by_hand()); } } }
    for u in &report.unjudged { println!("? {} {} enter {} tells {}", u.code, u.subject, u.enter, u.tells); }
    for a in &report.assumptions.followed { println!("A {} {} {:?} {:?} {:?}", a.path, a.shown, a.basis, a.below.as_ref().map(|b| (b.factor, b.code)), a.above.as_ref().map(|b| (b.factor, b.code))); }
    for j in &report.judged { println!("{} {} {}", j.number, j.name, j.judgements); }
    println!("{:?}", el);
}
