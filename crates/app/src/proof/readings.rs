//! Readings as a person writes them down: a line a reading, `stage; red; black; value`, with `open` for no connection, or
//! a trace, `stage; probe; connects; all that it is connected to`.

use super::words;
use voltwright_job::near::nearest;
use voltwright_job::{Diagnostic, Terminal, nets};
use voltwright_proof::diagnosis::{Taken, traced};
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::{Function, Reading};
use voltwright_proof::stage::Stage;
use voltwright_quantity::{Current, Quantity, Resistance, Voltage, parse};

/// What a line of readings is, for whoever wrote one otherwise.
const FORM: &str = "a line is `stage; red probe; black probe; value`, such as `source; p1.3; supply.v1.minus; 5.02 V` or `cold; p1.1; p1.2; open`, or for a trace `cold; p1.1; connects; p1.2, p2.1`";

/// Stands for the black probe where the last field lists what is connected.
pub const CONNECTS: &str = "connects";
/// Stands in the last field of a trace where nothing is connected.
const NOTHING: &str = "nothing";

/// What is wrong with a field, and what was probably meant.
type Wrong = (String, Option<String>);

/// Reads all lines; empty lines and those that begin with `#` are passed over, and so is a heading.
///
/// # Errors
/// Every line that is no reading, at its place.
pub fn read(proof: &Proof<'_>, text: &str) -> Result<Vec<Taken>, Vec<Diagnostic>> {
    let mut taken: Vec<Taken> = Vec::new();
    let mut wrong = Vec::new();
    let mut start = 0;
    for (n, whole) in text.split_inclusive('\n').enumerate() {
        let line = Field::of(whole, start);
        start += whole.len();
        if line.text.is_empty() || line.text.starts_with('#') || (n == 0 && line.text.starts_with("stage;")) {
            continue;
        }
        match one(proof, &line) {
            Ok(new) => new.into_iter().for_each(|t| put(&mut taken, t)),
            Err(diagnostic) => wrong.push(diagnostic),
        }
    }
    if wrong.is_empty() { Ok(taken) } else { Err(wrong) }
}

/// A reading that was repeated counts as it was last; a trace tells less than a value and never takes its place.
fn put(taken: &mut Vec<Taken>, new: Taken) {
    match taken.iter_mut().find(|known| known.reading == new.reading) {
        Some(known) if words::is_value(known) && !words::is_value(&new) => {}
        Some(known) => *known = new,
        None => taken.push(new),
    }
}

/// A piece of a line and where it stands in the file, white space (and the mark that some editors begin a file with) left out.
struct Field<'t> {
    text: &'t str,
    start: usize,
}

impl<'t> Field<'t> {
    fn of(text: &'t str, start: usize) -> Self {
        let blank = |c: char| c.is_whitespace() || c == '\u{feff}';
        let before = text.len() - text.trim_start_matches(blank).len();
        Self { text: text.trim_matches(blank), start: start + before }
    }

    fn wrong(&self, (message, hint): Wrong) -> Diagnostic {
        Diagnostic::error(self.start..self.start + self.text.len(), message).maybe_hint(hint)
    }
}

fn fields<'t>(line: &Field<'t>) -> Vec<Field<'t>> {
    let mut start = line.start;
    let field = |text: &'t str| {
        let field = Field::of(text, start);
        start += text.len() + 1;
        field
    };
    line.text.split(';').map(field).collect()
}

fn one(proof: &Proof<'_>, line: &Field<'_>) -> Result<Vec<Taken>, Diagnostic> {
    let all = fields(line);
    let [stage, red, black, value] = all.as_slice() else {
        let fields = words::count(all.len(), "field");
        return Err(line.wrong((format!("{fields} where 4 are expected"), Some(FORM.into()))));
    };
    let s = self::stage(proof, stage.text).map_err(|e| stage.wrong(e))?;
    let a = terminal(proof, red.text).map_err(|e| red.wrong(e))?;
    if black.text == CONNECTS {
        return trace(proof, s, (red, a), value);
    }
    let b = terminal(proof, black.text).map_err(|e| black.wrong(e))?;
    let (function, value) = parsed(value.text, &proof.setup.stages[s]).map_err(|e| value.wrong(e))?;
    found(proof, s, (a, b), (function, value)).map(|t| vec![t]).ok_or_else(|| {
        let what = format!(
            "{} cannot be read between these two at stage `{}`",
            words::function(function),
            proof.setup.stages[s].name
        );
        line.wrong((what, Some(readable(proof, s, function))))
    })
}

/// A trace: the terminals in the last field are those to which one is connected.
fn trace(
    proof: &Proof<'_>,
    s: usize,
    (field, at): (&Field<'_>, Terminal),
    list: &Field<'_>,
) -> Result<Vec<Taken>, Diagnostic> {
    let stage = &proof.setup.stages[s];
    if stage.live {
        let what = format!("stage `{}` is read with the power on: nothing can be traced there", stage.name);
        return Err(field.wrong((what, None)));
    }
    let mut connected = Vec::new();
    for name in list.text.split(',').map(str::trim).filter(|name| *name != NOTHING) {
        connected.push(terminal(proof, name).map_err(|e| list.wrong(e))?);
    }
    traced(&proof.setup, s, at, &connected).map_err(|lost| {
        let lost = nets::name(proof.setup.job(), lost);
        list.wrong((format!("{lost} is not probed at stage `{}`", stage.name), None))
    })
}

fn stage(proof: &Proof<'_>, name: &str) -> Result<usize, Wrong> {
    let names = || proof.setup.stages.iter().map(|s| s.name.as_str());
    names().position(|known| known == name).ok_or_else(|| {
        let hint = match nearest(name, names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("the stages are: {}", names().collect::<Vec<_>>().join(", ")),
        };
        (format!("there is no stage `{name}`"), Some(hint))
    })
}

/// The reading with these probes; with the probes exchanged a resistance is the same, and a voltage has the other sign.
fn found(
    proof: &Proof<'_>,
    s: usize,
    (red, black): (Terminal, Terminal),
    (function, value): (Function, f64),
) -> Option<Taken> {
    let start = proof.setup.first_reading(s);
    let of = proof.setup.readings_of(s);
    let at = |a: Terminal, b: Terminal| {
        let is = |r: &Reading| {
            let same = |x, y| proof.setup.is_same_point(s, x, y);
            r.function == function && same(r.red, a) && (function == Function::Amps || same(r.black, b))
        };
        of.iter().position(is).map(|k| start + k)
    };
    if let Some(reading) = at(red, black) {
        return Some(Taken::value(reading, value));
    }
    let value = if function == Function::Volts { -value } else { value };
    at(black, red).filter(|_| function != Function::Amps).map(|reading| Taken::value(reading, value))
}

/// What can be read at a stage, for whoever asked for something else.
fn readable(proof: &Proof<'_>, s: usize, function: Function) -> String {
    let job = proof.setup.job();
    let of = || proof.setup.readings_of(s).iter().filter(|r| r.function == function);
    match function {
        Function::Ohms => "they are one point, or are not probed at this stage".into(),
        Function::Volts => of().next().map_or("no voltage is read there".into(), |r| {
            format!("voltages are read against {}: put the black probe there", nets::name(job, r.black))
        }),
        Function::Amps => {
            let leads: Vec<String> = of().map(|r| nets::name(job, r.red)).collect();
            format!("currents are read in the leads of: {}", leads.join(", "))
        }
    }
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

fn parsed(text: &str, stage: &Stage) -> Result<(Function, f64), Wrong> {
    let is_open = ["open", "OL", "O.L"].iter().any(|word| word.eq_ignore_ascii_case(text));
    let name = &stage.name;
    if stage.live {
        let volts = parse::quantity::<Voltage>(text).map(|v| (Function::Volts, v.si()));
        let amps = || parse::quantity::<Current>(text).map(|a| (Function::Amps, a.si()));
        let hint = format!(
            "stage `{name}` is read with the power on: write the value with its unit, such as 5.02 V or 0.35 A"
        );
        return volts
            .or_else(|_| amps())
            .map_err(|_| (format!("`{text}` is no voltage and no current"), Some(hint)));
    }
    match parse::quantity::<Resistance>(text) {
        _ if is_open => Ok((Function::Ohms, f64::INFINITY)),
        Ok(r) if r.si() >= 0.0 => Ok((Function::Ohms, r.si())),
        _ => {
            let hint = format!(
                "stage `{name}` is read with the power off: write ohms with their unit, such as 0.3 Ω, or `open`"
            );
            Err((format!("`{text}` is no resistance"), Some(hint)))
        }
    }
}
