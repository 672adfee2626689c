//! What stands against switching a job on: stops among its findings, mistakes that no reading catches in time.

use crate::proof::words;
use crate::web::desk::Sight;
use maud::{Markup, html};
use voltwright_rules::Severity;

/// Stops that are told one by one.
const TOLD: usize = 6;

/// What stands against it.
pub struct Standing {
    /// The stops, each as subject and first sentence.
    pub stops: Vec<(String, String)>,
    /// Mistakes that escape.
    pub escapes: usize,
}

impl Standing {
    /// Of a job.
    ///
    /// # Errors
    /// Why it cannot be proved.
    pub fn of<'p>(sight: &mut Sight<'p, '_>) -> Result<Self, &'p str> {
        sight.compute();
        let escapes = sight.bench()?.proof.escapes().len();
        let stops = sight.report().findings.iter().filter(|f| f.severity == Severity::Stop);
        Ok(Self {
            stops: stops.map(|f| (f.subject.clone(), words::first_sentence(&f.says).to_owned())).collect(),
            escapes,
        })
    }

    /// Whether nothing does.
    pub fn is_clear(&self) -> bool {
        self.stops.is_empty() && self.escapes == 0
    }

    /// In a few words: `12 stops and 3 escapes`.
    pub fn words(&self) -> String {
        let parts = [(self.stops.len(), "stop"), (self.escapes, "escape")];
        let parts: Vec<String> =
            parts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| words::count(*n, what)).collect();
        parts.join(" and ")
    }

    /// As it stands before anything is begun; `at` is the job's address.
    pub fn told(&self, at: &str) -> Markup {
        html! {
            @if !self.stops.is_empty() {
                div.caution {
                    p { strong { "STOP." } " " (words::count(self.stops.len(), "finding")) " of the check say: do not energise." }
                    ul { @for (subject, says) in self.stops.iter().take(TOLD) { li { strong { (subject) } ": " (says) } } }
                    p { a href=(format!("{at}/record")) { "All of them, with their cures" } }
                }
            }
            @if self.escapes > 0 {
                p.caution {
                    strong { "STOP." } " " (words::count(self.escapes, "mistake")) " no reading of the plan catches in time. "
                    a href=(format!("{at}/proof")) { "See them" } " before any power; a cure closes them, going on does not."
                }
            }
        }
    }
}
