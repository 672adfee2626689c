//! One field of a form: its label in words and as the file has it, its help, what it shows, and what is wrong with that.

use super::notes::Weight;
use crate::web::frame::marked;
use maud::{Markup, html};

/// A field.
pub struct Field<'f> {
    /// Its name, and its id.
    pub name: String,
    /// What it is called.
    pub label: &'f str,
    /// As the file calls it; empty if it is no key.
    pub code: &'f str,
    /// Its help, a sentence.
    pub about: &'f str,
    /// What it shows.
    pub shown: String,
    /// The group within the form.
    pub group: &'f str,
    /// What is wrong.
    pub wrong: Option<Wrong>,
}

/// What is wrong with what a field shows.
#[derive(Debug, Clone)]
pub struct Wrong {
    /// How grave it is.
    pub weight: Weight,
    /// What was expected, and what to do.
    pub says: String,
    /// Whether the form was refused for it: then the field has the focus.
    pub is_refused: bool,
}

impl Field<'_> {
    /// The ids of what describes it: its key, what is wrong, its help. An id that others refer to has no spaces; a name in the
    /// file may.
    fn ids(&self) -> [String; 2] {
        ["key", "about"].map(|what| format!("{what}:{}", self.name).replace(char::is_whitespace, "_"))
    }

    fn described(&self) -> String {
        let [key, about] = self.ids();
        if self.code.is_empty() { about } else { format!("{key} {about}") }
    }

    fn invalid(&self) -> Option<&'static str> {
        self.wrong.as_ref().filter(|wrong| wrong.weight == Weight::Error).map(|_| "true")
    }

    fn is_refused(&self) -> bool {
        self.wrong.as_ref().is_some_and(|wrong| wrong.is_refused)
    }

    fn framed(&self, control: &Markup) -> Markup {
        let [key, about] = self.ids();
        html! {
            div.field {
                div.called {
                    label for=(self.name) { @if !self.group.is_empty() { span.hidden { (self.group) ": " } } (self.label) }
                    @if !self.code.is_empty() { code.key id=(key) { span.hidden { "in the file: " } (self.code) } }
                }
                (control)
                div id=(about) {
                    @if let Some(wrong) = &self.wrong { p.problem.(wrong.weight.key()) { (wrong.says) } }
                    @if !self.about.is_empty() { p.help { (marked(self.about)) } }
                }
            }
        }
    }

    /// A short name.
    pub fn named(&self) -> Markup {
        self.framed(&html! {
            input id=(self.name) name=(self.name) value=(self.shown) maxlength="40" aria-describedby=(self.described()) aria-invalid=[self.invalid()] autofocus[self.is_refused()];
        })
    }

    /// One line.
    pub fn line(&self, example: &str, list: Option<&str>) -> Markup {
        self.framed(&html! {
            input id=(self.name) name=(self.name) value=(self.shown) placeholder=(example) list=[list] aria-describedby=(self.described()) aria-invalid=[self.invalid()] autofocus[self.is_refused()];
        })
    }

    /// A line an entry.
    pub fn lines(self, example: &str) -> Markup {
        let rows = self.shown.lines().count().max(2);
        let about = format!("{} One a line.", self.about);
        let field = Field { about: &about, ..self };
        field.framed(&html! {
            // A browser takes the first line end away.
            textarea id=(field.name) name=(field.name) rows=(rows) placeholder=(example) aria-describedby=(field.described()) aria-invalid=[field.invalid()] autofocus[field.is_refused()] { "\n" (field.shown) }
        })
    }

    /// One of these.
    pub fn choice(&self, all: &[&str]) -> Markup {
        self.options(all.iter().map(|one| (*one, spoken(one))))
    }

    /// One of these, each with what it is called.
    pub fn options<'o>(&self, all: impl Iterator<Item = (&'o str, &'o str)>) -> Markup {
        let all: Vec<(&str, &str)> = all.collect();
        let is_known = self.shown.is_empty() || all.iter().any(|(value, _)| *value == self.shown);
        self.framed(&html! {
            select id=(self.name) name=(self.name) aria-describedby=(self.described()) aria-invalid=[self.invalid()] autofocus[self.is_refused()] {
                option value="" { "–" }
                @for (value, says) in &all { option value=(value) selected[*value == self.shown] { (says) } }
                // What the file holds and no choice knows is kept in sight.
                @if !is_known { option value=(self.shown) selected { (self.shown) } }
            }
        })
    }
}

fn spoken(choice: &str) -> &str {
    match choice {
        "true" => "yes",
        "false" => "no",
        other => other,
    }
}
