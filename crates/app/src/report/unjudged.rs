//! What could not be judged, and what to enter for it; one entry that serves several judgements stands once.

use super::heading;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_rules::Unjudged;

/// One paragraph for each entry that is missing.
pub fn of(unjudged: &[Unjudged], page: &Page) -> String {
    if unjudged.is_empty() {
        return String::new();
    }
    let mut out = heading("What could not be judged", page) + "\n";
    for (enter, all) in merged(unjudged) {
        out.push_str(&wrap(&[Span("Enter", Style::Plain), Span(enter, Style::Strong)], Indent(2, 8), page));
        for (subject, tells) in all {
            let tell = format!("to tell {tells} ({subject})");
            out.push_str(&paragraph(&tell, Indent(8, 8), page));
        }
    }
    out
}

/// An entry that is missing, and what it would tell of which subjects.
type Missing<'u> = (&'u str, Vec<(String, &'u str)>);

/// By entry, in the order of the judgements; subjects of which the same would be told share a line.
fn merged(unjudged: &[Unjudged]) -> Vec<Missing<'_>> {
    let mut out: Vec<Missing<'_>> = Vec::new();
    for u in unjudged {
        let known = out.iter().position(|(enter, _)| *enter == u.enter).unwrap_or_else(|| {
            out.push((&u.enter, Vec::new()));
            out.len() - 1
        });
        let told = &mut out[known].1;
        match told.iter_mut().find(|(_, tells)| *tells == u.tells) {
            Some((subjects, _)) if !subjects.split(", ").any(|s| s == u.subject) => {
                subjects.push_str(", ");
                subjects.push_str(&u.subject);
            }
            Some(_) => {}
            None => told.push((u.subject.clone(), &u.tells)),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn missing(subject: &str, enter: &str, tells: &str) -> Unjudged {
        Unjudged { code: "x", subject: subject.into(), enter: enter.into(), tells: tells.into() }
    }

    #[test]
    fn an_entry_that_serves_several_stands_once() {
        let list = [
            missing("fuse", "job.country", "whether it breaks"),
            missing("reg", "part.reg.heat", "how hot it gets"),
            missing("supply", "job.country", "whether it may be fed"),
            missing("spare fuse", "job.country", "whether it breaks"),
            missing("fuse", "job.country", "whether it breaks"),
        ];
        let set = of(&list, &Page { columns: 80, colour: false });
        assert_eq!(
            set,
            "What could not be judged\n\n  Enter job.country\n        to tell whether it breaks (fuse, spare fuse)\n        \
             to tell whether it may be fed (supply)\n  Enter part.reg.heat\n        to tell how hot it gets (reg)\n"
        );
        assert_eq!(of(&[], &Page { columns: 80, colour: false }), "");
    }
}
