//! The parts of a job as people list them: from the wall inwards, each with its kind and its ratings.

use crate::proof::words::count;
use voltwright_job::nets::Nets;
use voltwright_job::{Fuse, Given, Job, Output, Part, PartKind, Supply, Terminal};
use voltwright_quantity::Quantity;
use voltwright_quantity::parse::{CurrentKind, Rating};

/// Parts by index, in order from the wall: by how many parts lie between. Parts that nothing leads to come last, in the order of
/// the file. The case joins everything that is earthed, so it leads nowhere.
pub fn from_the_wall(job: &Job) -> Vec<usize> {
    let distance = distances(job);
    let mut order: Vec<usize> = (0..job.parts.len()).collect();
    order.sort_by_key(|p| distance[*p].unwrap_or(usize::MAX));
    order
}

fn distances(job: &Job) -> Vec<Option<usize>> {
    let nets = Nets::of_conductors(job);
    let case = nets.net(Terminal::Chassis);
    let of_part = |p: usize| (0..job.parts[p].terminals.len()).map(move |t| Terminal::Part(p, t));
    let touches = |p: usize| of_part(p).map(|t| nets.net(t)).filter(|net| *net != case).collect::<Vec<_>>();
    let touched: Vec<Vec<usize>> = (0..job.parts.len()).map(touches).collect();
    let mut distance = vec![None; job.parts.len()];
    let mut here = first(job);
    for steps in 0.. {
        here.retain(|p| distance[*p].is_none());
        if here.is_empty() {
            break;
        }
        here.iter().for_each(|p| distance[*p] = Some(steps));
        let reached: Vec<usize> = here.iter().flat_map(|p| touched[*p].clone()).collect();
        here = (0..job.parts.len()).filter(|p| touched[*p].iter().any(|net| reached.contains(net))).collect();
    }
    distance
}

/// Where the mains come in; without an inlet, whatever is fed from them.
fn first(job: &Job) -> Vec<usize> {
    let is_fed = |part: &Part| matches!(part.kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_));
    job.inlet().map_or_else(|| (0..job.parts.len()).filter(|p| is_fed(&job.parts[*p])).collect(), |p| vec![p])
}

/// Its ratings as they were entered; nothing for what has none.
pub fn rating(part: &Part) -> String {
    let all = match &part.kind {
        PartKind::Inlet => vec![part.terminals.join(", ")],
        PartKind::Strip => vec![format!("{} terminals, joined", part.terminals.len())],
        PartKind::Fuse(f) => fuse(f),
        PartKind::Switch(s) => {
            std::iter::once(count(s.poles, "pole")).chain(s.rated.iter().map(marking)).collect()
        }
        PartKind::MainsSupply(s) | PartKind::Converter(s) => supply(s),
        PartKind::RawSupply(s) => {
            let outputs =
                s.outputs.iter().map(|o| format!("{} {} {}", o.name, text(&o.winding), text(&o.current)));
            [text(&s.primary)].into_iter().chain(outputs).chain(given("", s.power.as_ref())).collect()
        }
        PartKind::Regulator(r) => {
            [Some(text(&r.volts)), given("", r.limit.as_ref())].into_iter().flatten().collect()
        }
        PartKind::Diode(d) => [given("", d.rated.as_ref()), given("reverse ", d.reverse.as_ref())]
            .into_iter()
            .flatten()
            .collect(),
        PartKind::Clamp(c) => {
            [Some(format!("draws above {}", text(&c.breakdown))), given("", c.power.as_ref())]
                .into_iter()
                .flatten()
                .collect()
        }
        PartKind::Resistor(r) => {
            [Some(text(&r.value)), given("", r.power.as_ref())].into_iter().flatten().collect()
        }
        PartKind::Capacitor(c) => {
            let class = c.class.as_ref().map(|class| class.text.clone());
            [Some(text(&c.value)), given("", c.rated.as_ref()), class].into_iter().flatten().collect()
        }
        PartKind::Varistor(m) | PartKind::Fan(m) | PartKind::Lamp(m) => {
            [Some(text(&m.rated)), given("", m.power.as_ref())].into_iter().flatten().collect()
        }
        PartKind::Interlock(i) => vec![format!("connects at {}", text(&i.closes_at))],
    };
    all.join("; ")
}

fn text<Q: Quantity>(given: &Given<Q>) -> String {
    given.place.text.clone()
}

fn given<Q: Quantity>(before: &str, given: Option<&Given<Q>>) -> Option<String> {
    given.map(|given| format!("{before}{}", text(given)))
}

fn marking(rating: &Rating) -> String {
    let kind = match rating.kind {
        Some(CurrentKind::Ac) => " AC",
        Some(CurrentKind::Dc) => " DC",
        None => "",
    };
    format!("{} at {}{kind}", rating.current, rating.voltage)
}

fn fuse(f: &Fuse) -> Vec<String> {
    let speed = f.speed.as_ref().map(|speed| speed.text.clone());
    let breaks = f.breaks.as_ref().map(|breaks| format!("breaks {}", marking(breaks)));
    [Some(text(&f.rating)), speed, breaks].into_iter().flatten().collect()
}

fn supply(s: &Supply) -> Vec<String> {
    let takes = s.input_voltage.as_ref().map(|input| format!("takes {}", input.place.text));
    let output = |o: &Output| {
        let limit = o.limit.as_ref().map_or_else(String::new, |limit| format!(" {}", text(limit)));
        format!("{} {}{limit}", o.name, text(&o.volts))
    };
    let power = given("together ", s.power.as_ref());
    takes.into_iter().chain(s.outputs.iter().map(output)).chain(power).collect()
}

/// The rules that look at a part of a kind, by the names that they have in a report.
pub fn rules(kind: &PartKind) -> &'static [&'static str] {
    match kind {
        PartKind::Inlet | PartKind::Strip => &[],
        PartKind::Fuse(_) => &["Fuses"],
        PartKind::Switch(_) => &["Switches and connectors"],
        PartKind::MainsSupply(_) => &["Mains against nameplate", "Rail budget", "Wrong output", "Heat"],
        PartKind::RawSupply(_) => &["Frequency", "Linear regulators", "Ratings of parts"],
        PartKind::Converter(_) => &["Rail budget", "Wrong output", "Heat"],
        PartKind::Regulator(_) => &["Linear regulators", "Wrong output"],
        PartKind::Diode(_) | PartKind::Resistor(_) => &["Ratings of parts"],
        PartKind::Capacitor(_) => &["Parts before the rectifier", "Ratings of parts"],
        PartKind::Clamp(_) => &["Guards"],
        PartKind::Varistor(_) | PartKind::Fan(_) | PartKind::Lamp(_) => &["Parts before the rectifier"],
        PartKind::Interlock(_) => &["Order and timing"],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job(text: &str) -> Job {
        let reading = voltwright_job::read(text);
        assert!(reading.is_usable(), "{:?}", reading.diagnostics);
        reading.job
    }

    #[test]
    fn parts_stand_from_the_wall_inwards_whatever_their_place_in_the_file() {
        let text = include_str!("../../../../../examples/desk-computer/finished.toml");
        let job = job(text);
        let order: Vec<&str> = from_the_wall(&job).iter().map(|p| job.parts[*p].key.text.as_str()).collect();
        let at = |name: &str| {
            order.iter().position(|n| *n == name).unwrap_or_else(|| panic!("{name} of {order:?}"))
        };
        assert_eq!(order[0], "inlet");
        assert!(
            at("fuse") < at("supply") && at("switch") < at("supply") && at("supply") < at("reg"),
            "{order:?}"
        );
        assert_eq!(order.len(), job.parts.len());
    }

    #[test]
    fn a_part_that_nothing_leads_to_comes_last() {
        let job = job(
            "format = 1\n[job]\ntitle = \"T\"\n[part.spare]\nkind = \"fuse\"\nrating = \"2 A\"\nspeed = \"T\"\nbreaks = \"1500 A at 250 V AC\"\n\
            [part.inlet]\nkind = \"inlet\"\nterminals = [\"line\", \"neutral\"]\n[part.fuse]\nkind = \"fuse\"\nrating = \"1 A\"\n\
            [wiring]\nwires = [{ from = \"inlet.line\", to = \"fuse.1\", size = \"0.75 mm²\", length = \"100 mm\" }]\n",
        );
        assert_eq!(from_the_wall(&job), [1, 2, 0]);
        assert_eq!(rating(&job.parts[0]), "2 A; T; breaks 1.5 kA at 250 V AC");
        assert_eq!((job.parts[1].kind.name(), rating(&job.parts[1]).as_str()), ("inlet", "line, neutral"));
    }

    #[test]
    fn the_rules_named_for_a_kind_are_rules() {
        let job = job(include_str!("../../../../../suite/every-key.toml"));
        let known: Vec<&str> = voltwright_rules::rule::RULES.iter().map(|rule| rule.name).collect();
        let named: Vec<&str> = job.parts.iter().flat_map(|part| rules(&part.kind)).copied().collect();
        assert!(named.len() > 8 && named.iter().all(|name| known.contains(name)), "{named:?}");
    }
}
