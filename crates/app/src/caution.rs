//! The usual cautions of work on mains equipment, in one place; they stand before anything that asks to do something.

use crate::text::wrap::{Indent, Span, wrap};
use crate::text::{Page, Style};
use voltwright_job::{Job, nets};
use voltwright_model::Wiring;

/// What holds of any work on mains wiring.
const MAINS: &str = "Mains can kill. Work with the plug pulled and in sight; a switch or a fuse taken out is not enough. \
     Rules of your country may ask for licensed practice for this work, and they come before anything said here.";

/// What holds where capacitors sit behind a rectifier.
const RESERVOIRS: &str = "Reservoir capacitors stay charged after the plug is pulled: measure each one, discharge it \
     through a resistor, and measure again before touching anything.";

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
