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

    fn finds(&self) -> String {
        let says = if self.stops.len() == 1 { "says" } else { "say" };
        format!("{} of the check {says}:", words::count(self.stops.len(), "finding"))
    }

    /// As it stands before anything is begun; `at` is the job's address.
    pub fn told(&self, at: &str) -> Markup {
        html! {
            @if !self.stops.is_empty() {
                div.problem {
                    p { strong.stops { "STOP." } " " (self.finds()) " do not energise." }
                    ul { @for (subject, says) in self.stops.iter().take(TOLD) { li { strong { (subject) } ": " (says) } } }
                    p {
                        a href=(format!("{at}/record")) {
                            @match self.stops.len().saturating_sub(TOLD) {
                                0 => "All of them, with their cures",
                                more => { "And " (more) " more; all of them, with their cures" },
                            }
                        }
                    }
                }
            }
            @if self.escapes > 0 {
                p.problem {
                    strong.stops { "STOP." } " " (words::count(self.escapes, "mistake")) " no reading of the plan catches in time. "
                    a href=(format!("{at}/proof")) { "See them" } " before any power; a cure closes them, going on does not."
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(stops: usize) -> String {
        let stops = (0..stops).map(|n| (format!("rail {n}"), "It is too low".to_owned())).collect();
        Standing { stops, escapes: 0 }.told("/job/x").into_string()
    }

    #[test]
    fn how_many_stops_are_not_told_one_by_one_is_said() {
        assert!(
            told(1).contains("1 finding of the check says: do not energise") && !told(1).contains("more")
        );
        assert!(told(12).contains("12 findings of the check say: do not energise"));
        assert!(told(12).contains("And 6 more;") && told(12).matches("<li>").count() == 6);
        assert!(!told(6).contains("more"));
    }
}
