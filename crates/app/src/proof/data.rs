//! The proof as data: the shapes of schemas/prove.json, steps.json and judge.json.

use super::{judged, words};
use serde_json::{Value, json};
use voltwright_job::nets;
use voltwright_proof::continuity;
use voltwright_proof::cure::{Cure, TextEdit};
use voltwright_proof::diagnosis::{Diagnosis, Next, Taken};
use voltwright_proof::mistake::KINDS;
use voltwright_proof::network::cold::OPEN;
use voltwright_proof::pairs::Pairs;
use voltwright_proof::permutation;
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::Function;

/// Version of the shapes.
const FORMAT: u32 = 1;

/// A whole proof.
pub fn proof(proof: &Proof<'_>, cures: &[Cure], pairs: Option<&Pairs>) -> Value {
    let stages: Vec<Value> = (0..proof.setup.stages.len()).map(|s| stage(proof, s)).collect();
    let escapes: Vec<Value> = proof.escapes().into_iter().map(|m| mistake(proof, m)).collect();
    json!({
        "format": FORMAT,
        "job": proof.setup.job().title.text,
        "stages": stages,
        "kinds": kinds(proof),
        "mistakes": (0..proof.mistakes.len()).map(|m| mistake(proof, m)).collect::<Vec<_>>(),
        "plan": plan(proof),
        "escapes": escapes,
        "cures": cures.iter().map(cure).collect::<Vec<_>>(),
        "permutations": permutation::all(proof).iter().map(|p| permuted(proof, p)).collect::<Vec<_>>(),
        "pairs": pairs.map(|p| self::pairs(proof, p)),
        "operating_points": proof.points,
    })
}

fn stage(proof: &Proof<'_>, s: usize) -> Value {
    let stage = &proof.setup.stages[s];
    let caught = |m: &usize| proof.class(*m).caught_at == Some(s);
    let escapes = |m: &usize| {
        let class = proof.class(*m);
        class.caught_at.is_none() && class.outcome.harm.is_some_and(|(at, _)| at == s)
    };
    json!({
        "name": stage.name,
        "live": stage.live,
        "readings": proof.setup.readings_of(s).len(),
        "caught": (0..proof.mistakes.len()).filter(caught).count(),
        "escapes": (0..proof.mistakes.len()).filter(escapes).count(),
    })
}

fn kinds(proof: &Proof<'_>) -> Value {
    let one = |(k, kind): (usize, &&voltwright_proof::mistake::Kind)| {
        let of: Vec<usize> = (0..proof.mistakes.len()).filter(|m| proof.mistakes[*m].kind == k).collect();
        let harmful = |m: &&usize| proof.class(**m).is_harmful();
        let escapes = |m: &&usize| proof.class(**m).escapes();
        json!({
            "kind": kind.code, "about": kind.about, "weight": kind.weight, "tried": of.len(),
            "harmful": of.iter().filter(harmful).count(), "escapes": of.iter().filter(escapes).count(),
        })
    };
    KINDS.iter().enumerate().map(one).collect()
}

fn mistake(proof: &Proof<'_>, m: usize) -> Value {
    let (mistake, class) = (&proof.mistakes[m], proof.class(m));
    let name = |s: usize| &proof.setup.stages[s].name;
    json!({
        "kind": mistake.kind().code,
        "says": mistake.says,
        "look": mistake.look,
        "class": proof.class_of[m],
        "harm": class.outcome.harm.map(|(s, h)| json!({
            "stage": name(s), "says": words::harm(proof.setup.job(), &h), "value": h.value,
        })),
        "caught_at": class.caught_at.map(name),
        "hunting": class.outcome.hunting.iter().map(|s| name(*s)).collect::<Vec<_>>(),
    })
}

fn reading(proof: &Proof<'_>, r: usize) -> Value {
    let reading = &proof.setup.readings[r];
    let job = proof.setup.job();
    let end = |v: f64| if v.is_finite() { json!(v) } else { Value::Null };
    json!({
        "index": r,
        "stage": proof.setup.stages[reading.stage].name,
        "function": reading.function,
        "red": nets::name(job, reading.red),
        "black": nets::name(job, reading.black),
        "cost": reading.cost,
        "low": end(reading.window.low),
        "high": end(reading.window.high),
        "must_be": words::window(reading),
    })
}

fn plan(proof: &Proof<'_>) -> Value {
    json!({
        "readings": proof.plan.readings.iter().map(|r| reading(proof, *r)).collect::<Vec<_>>(),
        "cost": proof.plan.cost,
        "bound": proof.plan.bound,
        "proven": proof.plan.cost == proof.plan.bound,
    })
}

fn cure(cure: &Cure) -> Value {
    let edit = |e: &TextEdit| match e {
        TextEdit::Set(path, value) => json!({ "set": path, "to": value }),
        TextEdit::Flag(path, value) => json!({ "set": path, "to": value }),
        TextEdit::Remove(path) => json!({ "remove": path }),
        TextEdit::Append(path, entry) => json!({ "append": path, "entry": entry }),
    };
    json!({
        "says": cure.says, "edits": cure.edits.iter().map(edit).collect::<Vec<_>>(),
        "closes": cure.closes, "left": cure.left,
    })
}

fn permuted(proof: &Proof<'_>, p: &permutation::Permutation) -> Value {
    let job = proof.setup.job();
    let rail = |r: usize| job.rails[r].name.text.as_str();
    let way = |w: &permutation::Way| {
        json!({ "way": nets::name(job, w.at), "should": super::sieve::way(job, w.should),
                "gets": w.gets.map(|g| super::sieve::way(job, g)) })
    };
    json!({
        "mistake": p.mistake,
        "says": proof.mistakes[p.mistake].says,
        "load": job.loads[p.load].key.text,
        "ways": p.ways.iter().map(way).collect::<Vec<_>>(),
        "shorted": p.shorted.iter().map(|r| rail(*r)).collect::<Vec<_>>(),
        "across": p.across.iter().map(|(r, v)| json!({ "rail": rail(*r), "volts": v,
                    "past_limits": p.is_past_limits(job, (*r, *v)) })).collect::<Vec<_>>(),
    })
}

fn pairs(proof: &Proof<'_>, pairs: &Pairs) -> Value {
    let name = |s: usize| &proof.setup.stages[s].name;
    let first = |class: usize| proof.classes[class].mistakes[0];
    json!({
        "count": pairs.count,
        "caught": pairs.caught.iter().enumerate().map(|(s, n)| json!({ "stage": name(s), "caught": n })).collect::<Vec<_>>(),
        "escapes": pairs.escapes,
        "unnoticed": pairs.unnoticed,
        "operating_points": pairs.points,
        "likeliest": pairs.told.iter().map(|p| json!({
            "first": first(p.first), "second": first(p.second),
            "says": [proof.mistakes[first(p.first)].says, proof.mistakes[first(p.second)].says],
            "harm": p.harm.map(|(s, h)| json!({ "stage": name(s), "says": words::harm(proof.setup.job(), &h), "value": h.value })),
        })).collect::<Vec<_>>(),
    })
}

/// The sheet of steps.
pub fn steps(proof: &Proof<'_>) -> Value {
    let job = proof.setup.job();
    let of_stage = |s: usize| {
        let stage = &proof.setup.stages[s];
        json!({
            "name": stage.name, "live": stage.live,
            "cautions": words::cautions(job, &proof.setup.stages, s),
            "set_up": words::set_up(job, &proof.setup.stages, s),
            "readings": proof.asked_at(s).map(|r| reading(proof, r)).collect::<Vec<_>>(),
        })
    };
    let tables = continuity::of(&proof.setup).unwrap_or_default();
    let finite = |v: f64| if v < OPEN { json!(v) } else { Value::Null };
    json!({
        "format": FORMAT,
        "job": job.title.text,
        "stages": (0..proof.setup.stages.len()).map(of_stage).collect::<Vec<_>>(),
        "escapes": proof.escapes().len(),
        "connect": tables.connect.iter().map(|(net, most)| json!({
            "terminals": net.iter().map(|t| nets::name(job, *t)).collect::<Vec<_>>(), "most": finite(*most) })).collect::<Vec<_>>(),
        "between": tables.between.iter().map(|(a, b, least)| json!({ "conductors": [a, b], "least": least })).collect::<Vec<_>>(),
    })
}

/// What readings say.
pub fn judged(proof: &Proof<'_>, taken: &[Taken], diagnosis: &Diagnosis) -> Value {
    let one = |(t, verdict): (&Taken, &voltwright_proof::diagnosis::Verdict)| {
        let mut out = reading(proof, t.reading);
        out["value"] = match t.shown.low {
            _ if !words::is_value(t) => json!(words::shown(Function::Ohms, t)),
            v if v.is_finite() => json!(v),
            _ => json!("open"),
        };
        out["verdict"] = json!(verdict);
        out["says"] = json!(judged::word(*verdict));
        out
    };
    let suspect = |s: &voltwright_proof::diagnosis::Suspect| {
        json!({
            "share": s.share,
            "mistakes": s.classes.iter().map(|c| proof.classes[*c].mistakes.clone()).collect::<Vec<_>>(),
            "says": s.classes.iter().map(|c| &proof.mistakes[proof.classes[*c].mistakes[0]].says).collect::<Vec<_>>(),
            "look": s.classes.iter().map(|c| &proof.mistakes[proof.classes[*c].mistakes[0]].look).collect::<Vec<_>>(),
        })
    };
    let next = diagnosis.next.filter(|_| diagnosis.fails());
    let trace = |stage: usize, at| json!({ "stage": proof.setup.stages[stage].name, "at": nets::name(proof.setup.job(), at) });
    json!({
        "format": FORMAT,
        "job": proof.setup.job().title.text,
        "readings": taken.iter().zip(&diagnosis.verdicts).map(one).collect::<Vec<_>>(),
        "stop": diagnosis.fails(),
        "explained": !diagnosis.fails() || !diagnosis.suspects.is_empty(),
        "suspects": if diagnosis.fails() { diagnosis.suspects.iter().map(suspect).collect::<Vec<_>>() } else { Vec::new() },
        "next": match next { Some(Next::Reading(r)) => reading(proof, r), _ => Value::Null },
        "trace": match next { Some(Next::Trace { stage, at }) => trace(stage, at), _ => Value::Null },
    })
}
