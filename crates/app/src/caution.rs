//! The usual cautions of work on mains equipment, in one place; they stand before anything that asks to do something.

use crate::text::wrap::{Indent, Span, wrap};
use crate::text::{Page, Style};
use voltwright_job::{Job, nets};
use voltwright_model::Wiring;
use voltwright_proof::stage::Stage;

/// What holds of any work on mains wiring.
pub const MAINS: &str = "Mains can kill. Work with the plug pulled and in sight; a switch or a fuse taken out is not enough. \
     Rules of your country may ask for licensed practice for this work, and they come before anything said here.";

/// What holds where capacitors sit behind a rectifier.
pub const RESERVOIRS: &str = "Reservoir capacitors stay charged after the plug is pulled: measure each one, discharge it \
     through a resistor, and measure again before touching anything.";

/// What holds before power comes on.
const POWER_ON: &str = "Mains are on from here. One hand behind your back, the black lead clipped, a probe with no more than 2 mm bare; touch nothing of \
     the mains side, the lid of the supply stays shut. Smoke, smell, noise: pull the plug first, look afterwards.";

/// What holds before the first plug goes in after power was on.
pub const POWER_OFF: &str = "Pull the mains plug and keep it in sight. A switch is not enough.";

/// What holds before protective earth and the mains side are measured.
const COLD_MAINS: &str = "Measure the mains side only with the mains plug pulled. Rules of your country may ask for licensed practice for work on it.";

/// What holds at every reading with the mains on.
pub const LIVE_READING: &str =
    "Mains are on: one hand, a probe with no more than 2 mm bare, and nothing of line or neutral is touched.";

/// What holds where a mistake that is suspected puts the mains where nobody expects them.
pub const MAINS_ASTRAY: &str = "One of these puts the mains on what you take for low voltage. Touch nothing with the plug in; look at it with the \
     plug out, and do not switch on again before it was found or ruled out.";

/// How reservoirs are dealt with.
pub const DISCHARGE: &str =
    "Wait, then measure each reservoir capacitor, discharge it through a resistor, and measure it again.";

/// What to do in the first moments of a stage with the power on.
pub const WATCH: &str =
    "Look, listen and smell for a minute before the first reading; a hand is kept on the switch.";

/// How long reservoirs are waited for once the plug is out, before they are measured. Common practice: bleeders of supplies are
/// sized for a minute or two, and equipment labels ask for up to five.
pub const DISCHARGE_SECONDS: u64 = 300;

/// What holds when that time is over.
pub const WAITED: &str = "Time is no proof: measure the reservoirs before touching anything.";

/// The cautions that stand before a stage of first power; every stage has some.
pub fn of_stage(job: &Job, stage: &Stage) -> Vec<&'static str> {
    match (stage.live, stage.adds) {
        (true, _) if job.inlet().is_some() => vec![POWER_ON],
        (true, _) => vec![LOW_POWER_ON],
        (false, None) => vec![COLD_MAINS],
        (false, Some(_)) => vec![POWER_OFF, RESERVOIRS],
    }
}

/// What holds before power comes on from a source that the job does not have.
pub const LOW_POWER_ON: &str = "Power is on from here. The black lead clipped, one hand on the red one. Smoke, smell, noise: switch off first, look afterwards.";

/// The cautions for a job, as a paragraph to print above its findings; nothing where neither mains wiring nor a stop
/// is in it.
pub fn of(job: &Job, stops: bool, page: &Page) -> Option<String> {
    (stops || job.old_supply.is_some() || has_mains_wiring(job)).then(|| {
        let spans = [
            Span("Before any work.", Style::Strong),
            Span(MAINS, Style::Plain),
            Span(RESERVOIRS, Style::Plain),
        ];
        wrap(&spans, Indent(0, 0), page)
    })
}

fn has_mains_wiring(job: &Job) -> bool {
    let wiring = Wiring::of(job);
    nets::all(job).into_iter().any(|t| wiring.is_on_mains(t))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: Page = Page { columns: 80, colour: false };

    fn job(text: &str) -> Job {
        voltwright_job::read(&format!("format = 1\n[job]\ntitle = \"T\"\n{text}")).job
    }

    #[test]
    fn cautions_stand_with_mains_wiring_or_a_stop() {
        assert!(of(&job(""), false, &PAGE).is_none());
        assert!(of(&job(""), true, &PAGE).is_some());
        let wired = job("[part.inlet]\nkind = \"inlet\"\nterminals = [\"line\", \"neutral\", \"earth\"]\n");
        let told = of(&wired, false, &PAGE).unwrap();
        assert!(told.contains("plug pulled") && told.contains("charged"), "{told}");
        assert!(of(&job("[old-supply]\nkind = \"linear\"\n"), false, &PAGE).is_some());
    }
}
