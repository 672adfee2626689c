//! Readings as a person writes them down: a line a reading, `stage; red; black; value`, with `open` for no connection.

use crate::failure::Failure;
use voltwright_job::near::nearest;
use voltwright_job::{Terminal, nets};
use voltwright_proof::diagnosis::Taken;
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::Function;
use voltwright_quantity::{Current, Quantity, Resistance, Voltage, parse};

/// Reads all lines; empty lines and those that begin with `#` are passed over, and so is a heading.
pub fn read(proof: &Proof<'_>, file: &str, text: &str) -> Result<Vec<Taken>, Failure> {
    let mut taken: Vec<Taken> = Vec::new();
    let mut wrong = Vec::new();
    for (n, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') || (n == 0 && line.starts_with("stage")) {
            continue;
        }
        match one(proof, line) {
            // A reading that was repeated counts as it was last.
            Ok(t) => match taken.iter_mut().find(|known| known.reading == t.reading) {
                Some(known) => known.value = t.value,
                None => taken.push(t),
            },
            Err((message, hint)) => wrong.push(format!("{file}:{}: {message}{}", n + 1, hint.map_or(String::new(), |h| format!(" – {h}")))),
        }
    }
    match wrong.len() {
        0 => Ok(taken),
        _ => Err(Failure::command_line(
            wrong.join("; "),
            Some("a line is `stage; red probe; black probe; value`, such as `source; p1.3; supply.v1.minus; 5.02 V` or `cold; p1.1; p1.2; open`".into()),
        )),
    }
}

type Wrong = (String, Option<String>);

fn one(proof: &Proof<'_>, line: &str) -> Result<Taken, Wrong> {
    let cells: Vec<&str> = line.split(';').map(str::trim).collect();
    let [stage, red, black, value] = cells[..] else {
        return Err((format!("`{line}` has {} fields, not 4", cells.len()), None));
    };
    let names = || proof.setup.stages.iter().map(|s| s.name.as_str());
    let Some(s) = names().position(|name| name == stage) else {
        let hint = nearest(stage, names()).map_or_else(
            || format!("the stages are: {}", names().collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        return Err((format!("there is no stage `{stage}`"), Some(hint)));
    };
    let (red, black) = (terminal(proof, red)?, terminal(proof, black)?);
    let (function, value) = parsed(value, proof.setup.stages[s].live)?;
    let start = proof.setup.first_reading(s);
    let of = proof.setup.readings_of(s);
    let same = |r: &voltwright_proof::reading::Reading, a: Terminal, b: Terminal| {
        proof.setup.is_same_point(s, r.red, a) && (function == Function::Amps || proof.setup.is_same_point(s, r.black, b))
    };
    let found = of.iter().position(|r| r.function == function && same(r, red, black));
    if let Some(k) = found {
        return Ok(Taken { reading: start + k, value });
    }
    // Probes exchanged: a resistance is the same, a voltage has the other sign.
    let turned = of.iter().position(|r| r.function == function && function != Function::Amps && same(r, black, red));
    let value = if function == Function::Volts { -value } else { value };
    turned.map(|k| Taken { reading: start + k, value }).ok_or_else(|| {
        let hint = if proof.setup.stages[s].live {
            "at a live stage voltages are read against the return of the first source".to_owned()
        } else {
            "these two are one point".to_owned()
        };
        (format!("`{line}` is no reading of stage `{stage}`"), Some(hint))
    })
}

fn terminal(proof: &Proof<'_>, name: &str) -> Result<Terminal, Wrong> {
    let job = proof.setup.job();
    // A colour in brackets, as the sheet has it, is for the eye.
    let name = name.split(" (").next().unwrap_or(name);
    let all = nets::all(job);
    let names: Vec<String> = all.iter().map(|t| nets::name(job, *t)).collect();
    match names.iter().position(|n| n == name) {
        Some(i) => Ok(all[i]),
        None => {
            let near = nearest(name, names.iter().map(String::as_str));
            Err((format!("there is no terminal `{name}`"), near.map(|n| format!("did you mean `{n}`?"))))
        }
    }
}

fn parsed(text: &str, live: bool) -> Result<(Function, f64), Wrong> {
    let unit = |what: &str| Err((format!("`{text}` is no {what}"), None));
    if text == "open" || text == "OL" {
        return if live { unit("voltage or current") } else { Ok((Function::Ohms, f64::INFINITY)) };
    }
    if live {
        if let Ok(v) = parse::quantity::<Voltage>(text) {
            return Ok((Function::Volts, v.si()));
        }
        if let Ok(a) = parse::quantity::<Current>(text) {
            return Ok((Function::Amps, a.si()));
        }
        return unit("voltage or current: write it with its unit, such as 5.02 V");
    }
    match parse::quantity::<Resistance>(text) {
        Ok(r) if r.si() >= 0.0 => Ok((Function::Ohms, r.si())),
        _ => unit("resistance: write it with its unit, such as 0.3 Ω, or `open`"),
    }
}
