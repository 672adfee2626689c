//! One step back and one step on through the revisions of a job, each as often as there is one.
//!
//! Going back adds a revision as well, with an older one's text; what it says of itself, "back to revision 3", tells which. So
//! each change was made upon a change before it, and stepping back follows these, past whatever was gone back to in between.

use std::iter::successors;
use voltwright_workshop::Made;

/// A step: the revision whose text it brings, and the change that it takes back or makes again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The revision.
    pub to: u32,
    /// The change, in words.
    pub deed: String,
}

/// The steps that there are.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Steps {
    /// To what the newest change was made upon.
    pub back: Option<Step>,
    /// To the change that was taken back last.
    pub on: Option<Step>,
}

impl Steps {
    /// After these revisions, which are all of them up to some, the oldest first.
    pub fn of(history: &[Made]) -> Self {
        let mut origins: Vec<usize> = Vec::new();
        for (i, made) in history.iter().enumerate() {
            let old = brought_back(&made.why).filter(|old| *old < i);
            origins.push(old.map_or(i, |old| origins[old]));
        }
        let parent = |i: usize| i.checked_sub(1).map(|before| origins[before]);
        let Some(here) = origins.last().copied() else { return Self::default() };
        let newest = (0..origins.len()).rev().find(|i| origins[*i] == *i);
        let step = |to: usize, change: usize| Step { to: number(to), deed: deed(&history[change].why) };
        Self {
            back: parent(here).map(|to| step(to, here)),
            on: successors(newest, |i| parent(*i)).find(|i| parent(*i) == Some(here)).map(|to| step(to, to)),
        }
    }
}

/// Revisions are counted from 1.
fn number(i: usize) -> u32 {
    u32::try_from(i + 1).unwrap_or(u32::MAX)
}

/// The place in the history of the revision whose text was brought back.
fn brought_back(why: &str) -> Option<usize> {
    why.strip_prefix("back to revision ")?.parse::<usize>().ok()?.checked_sub(1)
}

/// Why a revision was made, as the name of what was done.
fn deed(why: &str) -> String {
    match (why, why.strip_prefix("cure: ")) {
        (_, Some(cure)) => format!("the cure “{cure}”"),
        ("saved", _) => "a change of the text".into(),
        _ => why.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use voltwright_workshop::Moment;

    fn steps(whys: &[&str]) -> Steps {
        let made = |(i, why): (usize, &&str)| Made {
            number: number(i),
            made: Moment(0),
            why: (*why).into(),
            title: String::new(),
        };
        Steps::of(&whys.iter().enumerate().map(made).collect::<Vec<_>>())
    }

    type Told = Option<(u32, String)>;

    fn told(whys: &[&str]) -> (Told, Told) {
        let Steps { back, on } = steps(whys);
        (back.map(|s| (s.to, s.deed)), on.map(|s| (s.to, s.deed)))
    }

    fn step(to: u32, deed: &str) -> Told {
        Some((to, deed.into()))
    }

    #[test]
    fn back_goes_on_back_and_on_comes_again() {
        let mut whys = vec!["begun", "added a", "added b"];
        assert_eq!(told(&whys), (step(2, "added b"), None));
        whys.push("back to revision 2");
        assert_eq!(told(&whys), (step(1, "added a"), step(3, "added b")));
        whys.push("back to revision 1");
        assert_eq!(told(&whys), (None, step(2, "added a")));
        whys.push("back to revision 2");
        assert_eq!(told(&whys), (step(1, "added a"), step(3, "added b")));
        whys.push("back to revision 3");
        assert_eq!(told(&whys), (step(2, "added b"), None));
    }

    #[test]
    fn a_change_after_a_step_back_is_made_upon_what_was_brought_back() {
        let mut whys = vec!["begun", "added a", "back to revision 1", "added c"];
        assert_eq!(told(&whys), (step(1, "added c"), None));
        whys.push("back to revision 1");
        assert_eq!(told(&whys), (None, step(4, "added c")));
        // From the history: another branch has its own step back, and nothing to come again.
        whys.push("back to revision 2");
        assert_eq!(told(&whys), (step(1, "added a"), None));
    }

    #[test]
    fn a_history_that_names_no_older_revision_is_a_change_like_others() {
        assert_eq!(told(&["begun", "back to revision 2"]), (step(1, "back to revision 2"), None));
        assert_eq!(told(&["begun", "back to revision 0"]).0, step(1, "back to revision 0"));
        assert_eq!(told(&[]), (None, None));
        assert_eq!(told(&["begun"]), (None, None));
    }

    #[test]
    fn a_cure_is_told_as_what_was_done() {
        assert_eq!(told(&["begun", "cure: swap them"]).0, step(1, "the cure “swap them”"));
    }
}
