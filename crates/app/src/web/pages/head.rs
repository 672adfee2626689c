//! The head of a job's pages: its name, one step back and one on, the way from page to page.

use super::steps::Step;
use super::{Of, Page};
use crate::web::digest::Mark;
use maud::{Markup, html};

/// The job's pages in order: as they stand in addresses, and as they are called.
const WAYS: [(&str, &str); 8] = [
    (Page::Survey.key(), Page::Survey.name()),
    (Page::Needs.key(), Page::Needs.name()),
    (Page::Options.key(), Page::Options.name()),
    (Page::Wiring.key(), Page::Wiring.name()),
    (Page::Proof.key(), Page::Proof.name()),
    ("first-power", "First power"),
    (Page::Record.key(), Page::Record.name()),
    ("text", "Text"),
];

/// Its name, and the steps.
pub fn title(of: &Of, title: &str) -> Markup {
    html! {
        div.job-title {
            p { a href=(format!("/job/{}", of.name)) { (title) } span.faint { " · revision " (of.revision) } }
            (step(of, "Undo", of.steps.back.as_ref()))
            (step(of, "Redo", of.steps.on.as_ref()))
        }
    }
}

fn step(of: &Of, word: &str, step: Option<&Step>) -> Markup {
    html! {
        @if let Some(step) = step {
            form.inline method="post" action=(format!("/job/{}/back", of.name)) {
                input type="hidden" name="token" value=(of.token);
                input type="hidden" name="number" value=(step.to);
                input type="hidden" name="upon" value=(of.revision);
                button type="submit" { (word) ": " (step.deed) }
            }
        }
    }
}

/// The way from page to page of a job; `here` is the one that is shown, as it stands in addresses.
pub fn tabs(job: &str, here: &str) -> Markup {
    html! {
        nav.tabs aria-label="Job" {
            @for (key, name) in WAYS { a href=(format!("/job/{job}/{key}")) aria-current=[(key == here).then_some("page")] { (name) } }
        }
    }
}

/// The same with how far each page is, and what the marks mean.
pub fn tabs_with_marks(job: &str, marks: &[Mark]) -> Markup {
    html! {
        nav.tabs aria-label="Job" {
            @for (i, (key, name)) in WAYS.iter().enumerate() {
                a href=(format!("/job/{job}/{key}")) {
                    @if let Some(mark) = marks.get(i) { (mark.sign()) } (name)
                    @if let Some(mark) = marks.get(i) { span.hidden { ", " (mark.says()) } }
                }
            }
        }
        (Mark::legend())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::digest::MARKS;

    #[test]
    fn marks_stand_in_the_order_of_the_pages() {
        let names: Vec<&str> = WAYS.iter().map(|(_, name)| *name).collect();
        assert_eq!(names[..MARKS.len()], MARKS);
        assert!(Page::ALL.iter().all(|page| WAYS.contains(&(page.key(), page.name()))));
    }

    #[test]
    fn the_page_that_is_shown_is_marked_and_no_other() {
        let shown = tabs("rack", "first-power").into_string();
        assert_eq!(shown.matches("aria-current").count(), 1);
        assert!(shown.contains("/job/rack/first-power\" aria-current=\"page\""), "{shown}");
    }
}
