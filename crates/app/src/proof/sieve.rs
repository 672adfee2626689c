//! The sieve as text: how many mistakes were tried, what catches them, what escapes and what would cure it.

use super::groups::groups;
use super::words;
use crate::caution;
use crate::report::heading;
use crate::text::grid::grid;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_job::{Job, WayUse, nets};
use voltwright_proof::cure::Cure;
use voltwright_proof::mistake::KINDS;
use voltwright_proof::pairs::Pairs;
use voltwright_proof::permutation;
use voltwright_proof::proof::Proof;
use voltwright_quantity::Voltage;

/// What a proof is worth.
const WORTH: &str = "Tried were the mistakes of these kinds, one at a time, on the circuit as entered, over its spreads. What nobody \
     entered could not be tried: other mistakes, parts that differ from their sheets, faults inside a load. How common a mistake is, and what \
     a reading costs, are our own estimates.";

/// Groups of escapes that are told.
const TOLD: usize = 12;

/// Mistakes of a group that are told one by one.
const EXAMPLES: usize = 3;

/// All of it.
pub fn whole(proof: &Proof<'_>, cures: &[Cure], pairs: Option<&Pairs>, page: &Page) -> String {
    let job = proof.setup.job();
    let mut parts = vec![crate::report::head(job, page)];
    if proof.mistakes.is_empty() {
        parts.push(paragraph(words::NOTHING_WIRED, Indent(0, 0), page));
        return parts.join("\n");
    }
    let escapes = !proof.plan.escapes.is_empty();
    parts.extend(escapes.then(|| caution::of(job, true, page)).flatten());
    parts.extend([summary(proof, page), stages(proof, page), kinds(proof, page)]);
    parts.push(plan(proof, page));
    parts.push(self::escapes(proof, page));
    parts.push(self::cures(proof, cures, page));
    parts.push(permutations(proof, page));
    parts.extend(pairs.map(|p| self::pairs(proof, p, page)));
    parts.push(paragraph(WORTH, Indent(0, 0), page));
    parts.retain(|p| !p.is_empty());
    parts.join("\n")
}

fn summary(proof: &Proof<'_>, page: &Page) -> String {
    let harmful = (0..proof.mistakes.len()).filter(|m| proof.class(*m).is_harmful()).count();
    let escapes = proof.escapes().len();
    let fate = match (harmful, escapes) {
        (0, _) => "none of them does harm".to_owned(),
        (_, 0) => format!("{harmful} would do harm, and a reading shows every one of them before it can"),
        (_, 1) => format!(
            "{harmful} would do harm; a reading shows {} of them before they can, 1 escapes",
            harmful - 1
        ),
        _ => format!(
            "{harmful} would do harm; a reading shows {} of them before they can, {escapes} escape",
            harmful - escapes
        ),
    };
    let (mistakes, stages) =
        (words::count(proof.mistakes.len(), "mistake"), words::count(proof.setup.stages.len(), "stage"));
    let says = format!("{mistakes} tried at {stages}: {fate}.");
    let style = if escapes > 0 { Style::Stop } else { Style::Plain };
    wrap(&[Span(&says, style)], Indent(0, 0), page)
}

/// A line a stage: harmful mistakes that arrive there, how many of them its readings catch, how many do harm there.
fn stages(proof: &Proof<'_>, page: &Page) -> String {
    let harmful: Vec<usize> = (0..proof.mistakes.len()).filter(|m| proof.class(*m).is_harmful()).collect();
    let mut arrive = harmful.len();
    let mut rows = Vec::new();
    for (s, stage) in proof.setup.stages.iter().enumerate() {
        let planned = proof.plan.readings.iter().filter(|r| proof.setup.readings[**r].stage == s).count();
        let caught = harmful.iter().filter(|m| proof.class(**m).caught_at == Some(s)).count();
        let harm = |m: &&usize| {
            let class = proof.class(**m);
            class.caught_at.is_none() && class.outcome.harm.is_some_and(|(at, _)| at == s)
        };
        let escape = harmful.iter().filter(harm).count();
        let number = |n: usize| if n == 0 { "–".to_owned() } else { n.to_string() };
        rows.push(vec![
            stage.name.clone(),
            arrive.to_string(),
            number(planned),
            number(caught),
            number(escape),
        ]);
        arrive -= caught + escape;
    }
    let says =
        "Harmful mistakes that come as far as each stage, readings of the plan there, and what these catch.";
    heading("The sieve", page)
        + &paragraph(says, Indent(2, 2), page)
        + &grid(&["stage", "arrive", "readings", "caught", "do harm"], &rows, 2, page)
}

fn kinds(proof: &Proof<'_>, page: &Page) -> String {
    let mut rows = Vec::new();
    for (k, kind) in KINDS.iter().enumerate() {
        let of: Vec<usize> = (0..proof.mistakes.len()).filter(|m| proof.mistakes[*m].kind == k).collect();
        if of.is_empty() {
            continue;
        }
        let harmful = of.iter().filter(|m| proof.class(**m).is_harmful()).count();
        let escape = of.iter().filter(|m| proof.class(**m).escapes()).count();
        let number = |n: usize| if n == 0 { "–".to_owned() } else { n.to_string() };
        rows.push(vec![kind.about.to_owned(), of.len().to_string(), number(harmful), number(escape)]);
    }
    heading("By kind", page) + &grid(&["mistake", "tried", "harmful", "escape"], &rows, 2, page)
}

fn plan(proof: &Proof<'_>, page: &Page) -> String {
    let plan = &proof.plan;
    if plan.readings.is_empty() {
        return String::new();
    }
    let less = if plan.cost == plan.bound {
        "less".into()
    } else {
        format!("less than {}", words::minutes(plan.bound))
    };
    let as_many = if plan.escapes.is_empty() { "them all" } else { "as many" };
    let says = format!(
        "{}, about {} at the bench; no choice of readings that catches {as_many} costs {less}. `voltwright steps` prints them as a sheet.",
        words::count(plan.readings.len(), "reading"),
        words::minutes(plan.cost)
    );
    heading("The plan", page) + &paragraph(&says, Indent(2, 2), page)
}

fn escapes(proof: &Proof<'_>, page: &Page) -> String {
    let groups = groups(proof);
    if groups.is_empty() {
        return String::new();
    }
    let job = proof.setup.job();
    let mut out = heading("What escapes", page);
    for group in groups.iter().take(TOLD) {
        let says = format!("at {}, {}.", proof.setup.stages[group.stage].name, group.says(job));
        let mistakes = &group.mistakes;
        out.push_str(&wrap(&[Span("STOP", Style::Stop), Span(&says, Style::Strong)], Indent(2, 7), page));
        for m in mistakes.iter().take(EXAMPLES) {
            out.push_str(&paragraph(&format!("– {}", proof.mistakes[*m].says), Indent(7, 9), page));
        }
        if mistakes.len() > EXAMPLES {
            out.push_str(&paragraph(
                &format!("– and {} more", mistakes.len() - EXAMPLES),
                Indent(7, 9),
                page,
            ));
        }
    }
    let rest: usize = groups.iter().skip(TOLD).map(|g| g.mistakes.len()).sum();
    if rest > 0 {
        out.push_str(&paragraph(
            &format!("and {} of other kinds.", words::count(rest, "escape")),
            Indent(2, 2),
            page,
        ));
    }
    let of = proof.escapes().len();
    if of > EXAMPLES {
        out.push_str(&paragraph(&format!("`--json` has all {of} one by one."), Indent(2, 2), page));
    }
    out
}

fn cures(proof: &Proof<'_>, cures: &[Cure], page: &Page) -> String {
    let escapes = proof.escapes().len();
    if escapes == 0 {
        return String::new();
    }
    let mut out = heading("Cures, each tried in the model", page);
    if cures.is_empty() {
        let says = "None that the program knows closes an escape: order the stages otherwise, rewire, or look at the point in question with a magnifier before power.";
        return out + &paragraph(says, Indent(2, 2), page);
    }
    for cure in cures {
        let made = cure.left.saturating_sub(escapes - cure.closes.len());
        let made = if made == 0 { String::new() } else { format!(", makes {made} new") };
        let left = if cure.left == 0 { "none is left".to_owned() } else { format!("{} left", cure.left) };
        let says = format!("– {}: closes {} of {escapes}{made}; {left}.", cure.says, cure.closes.len());
        out.push_str(&paragraph(&says, Indent(2, 4), page));
    }
    out
}

/// What a way carries, as in the job file.
pub fn way(job: &Job, way: WayUse) -> String {
    match way {
        WayUse::Rail(r) => job.rails[r].name.text.clone(),
        WayUse::Com => "com".into(),
        WayUse::Chassis => "chassis".into(),
        WayUse::Nothing => "–".into(),
    }
}

fn permutations(proof: &Proof<'_>, page: &Page) -> String {
    let job = proof.setup.job();
    let all = permutation::all(proof);
    if all.is_empty() {
        return String::new();
    }
    let says = "If a plug were put in otherwise, or wired by other numbers. A dash is a way that nothing is wired to, \
         `nothing` one that no contact touches.";
    let mut out = heading("What each way would receive", page) + &paragraph(says, Indent(2, 2), page) + "\n";
    let mut ways: Vec<(usize, Vec<voltwright_job::Terminal>)> = Vec::new();
    for p in &all {
        let key = (p.load, p.ways.iter().map(|w| w.at).collect::<Vec<_>>());
        if !ways.contains(&key) {
            ways.push(key);
        }
    }
    for (load, at) in ways {
        let of: Vec<_> = all
            .iter()
            .filter(|p| p.load == load && p.ways.iter().map(|w| w.at).eq(at.iter().copied()))
            .collect();
        let mut rows = Vec::new();
        for (k, terminal) in at.iter().enumerate() {
            let mut row = vec![nets::name(job, *terminal), way(job, of[0].ways[k].should)];
            row.extend(of.iter().map(|p| p.ways[k].gets.map_or("nothing".into(), |g| way(job, g))));
            rows.push(row);
        }
        let names: Vec<String> = of.iter().enumerate().map(|(i, _)| format!("({})", i + 1)).collect();
        let headings: Vec<&str> =
            ["way", "should be"].into_iter().chain(names.iter().map(String::as_str)).collect();
        out.push_str(&grid(&headings, &rows, 2, page));
        for (i, p) in of.iter().enumerate() {
            let says = format!("({}) {}: {}", i + 1, proof.mistakes[p.mistake].says, consequences(job, p));
            out.push_str(&paragraph(&says, Indent(2, 6), page));
        }
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out + "\n"
}

fn consequences(job: &Job, p: &permutation::Permutation) -> String {
    if p.is_harmless() {
        return "every way gets its own or nothing.".into();
    }
    let rails =
        |of: &[usize]| of.iter().map(|r| job.rails[*r].name.text.as_str()).collect::<Vec<_>>().join(", ");
    let shorted = match p.shorted.as_slice() {
        [] => "no rail shorted".to_owned(),
        some => format!(
            "{} shorted: {}",
            if some.len() == 1 { "1 rail".into() } else { format!("{} rails", some.len()) },
            rails(some)
        ),
    };
    let past = p.across.iter().filter(|a| p.is_past_limits(job, **a));
    let past: Vec<String> =
        past.map(|(r, v)| format!("{} {}", job.rails[*r].name, Voltage::volts(*v))).collect();
    if past.is_empty() {
        format!("{shorted}.")
    } else {
        format!("{shorted}; if nothing limits, rails see: {}.", past.join(", "))
    }
}

fn pairs(proof: &Proof<'_>, pairs: &Pairs, page: &Page) -> String {
    let caught: u64 = pairs.caught.iter().sum();
    let says = format!(
        "{} pairs tried at nominal values: {caught} are shown by a reading of the plan before they can do harm, {} do no harm and are not \
         shown, {} do harm first.{}",
        pairs.count,
        pairs.unnoticed,
        pairs.escapes,
        if pairs.told.is_empty() { "" } else { " The likeliest of these:" }
    );
    let mut out = heading("Pairs of mistakes", page) + &paragraph(&says, Indent(2, 2), page);
    for pair in &pairs.told {
        let one = |class: usize| proof.mistakes[proof.classes[class].mistakes[0]].says.clone();
        let Some((stage, harm)) = pair.harm else { continue };
        let says = format!(
            "– {}, and {}; at {}: {}.",
            one(pair.first),
            one(pair.second),
            proof.setup.stages[stage].name,
            words::harm(proof.setup.job(), &harm)
        );
        out.push_str(&paragraph(&says, Indent(2, 4), page));
    }
    out
}
