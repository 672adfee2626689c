//! The sieve: stages as trays, harmful mistakes falling through them; how many arrive at each, how many its readings catch,
//! how many do harm there.

use crate::canvas::{Anchor, Canvas, Path};
use crate::lettering::cut;
use crate::{Drawing, PHONE};
use voltwright_proof::proof::Proof;

/// Middle and greatest width of what falls, the trays' ends, from one tray to the next.
const MIDDLE: f64 = 196.0;
const WIDEST: f64 = 72.0;
const TRAY: (f64, f64) = (150.0, 242.0);
const ROW: f64 = 46.0;
const TOP: f64 = 44.0;

/// What happens at one stage.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Tray {
    stage: String,
    readings: usize,
    arrive: usize,
    caught: usize,
    harm: usize,
}

/// The sieve of a proof.
pub fn sieve(proof: &Proof<'_>, id_prefix: &str) -> Drawing {
    let trays = trays(proof);
    let text = text(proof, &trays);
    let title = "Sieve: harmful mistakes and what catches them";
    let mut canvas = Canvas::new();
    let first = trays.first().map_or(0, |t| t.arrive);
    let head = format!("{} harmful of {}", first, count(proof.mistakes.len(), "mistake"));
    canvas.text("d-strong", (MIDDLE, 16.0), Anchor::Middle, &head);
    let width = |n: usize| if n == 0 { 0.0 } else { (WIDEST * n as f64 / first.max(1) as f64).max(1.5) };
    stream(&mut canvas, (24.0, TOP), width(first));
    let told = told(&trays);
    for (i, tray) in trays.iter().take(told).enumerate() {
        let y = TOP + ROW * i as f64;
        draw(&mut canvas, tray, y);
        let left = tray.arrive - tray.caught - tray.harm;
        if i + 1 < told {
            stream(&mut canvas, (y, y + ROW), width(left));
        }
    }
    let mut y = TOP + ROW * told.saturating_sub(1) as f64 + 34.0;
    if told < trays.len() {
        let rest = format!("{} more stages, nothing left to catch", trays.len() - told);
        canvas.text("d-small", (8.0, y), Anchor::Start, &rest);
        y += 22.0;
    }
    let harm: usize = trays.iter().map(|t| t.harm).sum();
    let (class, end) = match harm {
        0 => ("d-strong", "none escapes this plan".to_owned()),
        1 => ("d-strong d-stop-text", "STOP: 1 escapes".to_owned()),
        n => ("d-strong d-stop-text", format!("STOP: {n} escape")),
    };
    canvas.text(class, (MIDDLE, y), Anchor::Middle, &end);
    Drawing { svg: canvas.finish((PHONE, y + 12.0), id_prefix, title, &text), text }
}

/// How many stages are told one by one: of those at the end where nothing arrives and nothing is read, only a single one.
fn told(trays: &[Tray]) -> usize {
    let is_idle = |t: &&Tray| t.arrive == 0 && t.readings == 0;
    match trays.iter().rev().take_while(is_idle).count() {
        0 | 1 => trays.len(),
        idle => trays.len() - idle,
    }
}

/// What falls from one height to another.
fn stream(canvas: &mut Canvas, (top, bottom): (f64, f64), width: f64) {
    if width > 0.0 {
        canvas.rect("d-level", (MIDDLE - width / 2.0, top), (width, bottom - top), 0.0);
    }
}

fn draw(canvas: &mut Canvas, tray: &Tray, y: f64) {
    let name = cut(&tray.stage, 12.0, TRAY.0 - 14.0);
    canvas.text("d-label", (8.0, y - 2.0), Anchor::Start, &name);
    canvas.text("d-small", (8.0, y + 12.0), Anchor::Start, &count(tray.readings, "reading"));
    let class = if tray.readings > 0 { "d-tray" } else { "d-dash" };
    canvas.line(class, (TRAY.0, y), (TRAY.1, y));
    if tray.arrive > 0 {
        canvas.text("d-code d-halo", (MIDDLE, y - 8.0), Anchor::Middle, &tray.arrive.to_string());
    }
    let x = TRAY.1 + 8.0;
    if tray.caught > 0 {
        canvas.text("d-label", (x, y + 4.0), Anchor::Start, &format!("{} caught", tray.caught));
    }
    if tray.harm > 0 {
        let (x, y) = (x + 4.0, y + if tray.caught > 0 { 16.0 } else { 0.0 });
        let cross = Path::at((x - 4.0, y - 4.0)).to((x + 4.0, y + 4.0));
        canvas.path("d-line d-stop", &cross.jump((x - 4.0, y + 4.0)).to((x + 4.0, y - 4.0)));
        let says = if tray.harm == 1 { "1 does harm".into() } else { format!("{} do harm", tray.harm) };
        canvas.text("d-label d-stop-text", (x + 9.0, y + 4.0), Anchor::Start, &says);
    }
}

/// Harmful mistakes stage by stage, as the plan catches them.
fn trays(proof: &Proof<'_>) -> Vec<Tray> {
    let harmful: Vec<usize> = (0..proof.mistakes.len()).filter(|m| proof.class(*m).is_harmful()).collect();
    let mut arrive = harmful.len();
    let one = |(s, stage): (usize, &voltwright_proof::stage::Stage)| {
        let readings = proof.plan.readings.iter().filter(|r| proof.setup.readings[**r].stage == s).count();
        let caught = harmful.iter().filter(|m| proof.class(**m).caught_at == Some(s)).count();
        let harms = |m: &&usize| {
            let class = proof.class(**m);
            class.escapes() && class.outcome.harm.is_some_and(|(at, _)| at == s)
        };
        let harm = harmful.iter().filter(harms).count();
        let tray = Tray { stage: stage.name.clone(), readings, arrive, caught, harm };
        arrive -= caught + harm;
        tray
    };
    proof.setup.stages.iter().enumerate().map(one).collect()
}

fn text(proof: &Proof<'_>, trays: &[Tray]) -> String {
    let first = trays.first().map_or(0, |t| t.arrive);
    let mut text = format!("{} tried, {first} of them harmful.", count(proof.mistakes.len(), "mistake"));
    for t in trays {
        text.push_str(&format!(
            " At {}: {} arrive, {} of the plan, {} caught, {} do harm.",
            t.stage,
            t.arrive,
            count(t.readings, "reading"),
            t.caught,
            t.harm
        ));
    }
    let harm: usize = trays.iter().map(|t| t.harm).sum();
    let end = if harm == 0 {
        " None escapes this plan.".into()
    } else {
        format!(" STOP: {harm} in all escape this plan.")
    };
    text + &end
}

fn count(n: usize, thing: &str) -> String {
    if n == 1 { format!("1 {thing}") } else { format!("{n} {thing}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stages_with_nothing_to_do_are_one_line() {
        let tray = |arrive, readings| Tray { stage: "board".into(), readings, arrive, caught: 0, harm: 0 };
        assert_eq!(told(&[tray(4, 2), tray(0, 0), tray(0, 1), tray(0, 0), tray(0, 0)]), 3);
        assert_eq!(told(&[tray(4, 2), tray(0, 0)]), 2, "one is told as it is");
        assert_eq!(told(&[tray(4, 0)]), 1);
    }
}
