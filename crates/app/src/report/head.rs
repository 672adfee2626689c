//! What was checked: the job's title, the country and its mains.

use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_job::Job;
use voltwright_model::LocalMains;

/// Title, and one line with country and mains.
pub fn of(job: &Job, page: &Page) -> String {
    let title = wrap(&[Span(&job.title.text, Style::Strong)], Indent(0, 0), page);
    title + &paragraph(&place(LocalMains::of(job).as_ref()), Indent(0, 0), page)
}

fn place(mains: Option<&LocalMains>) -> String {
    let Some(m) = mains else {
        return "Country not entered: nothing that hangs on the mains could be judged.".into();
    };
    let hertz: Vec<String> = m.hertz.iter().map(ToString::to_string).collect();
    let measured = if m.measured.is_some() { "measured " } else { "" };
    let others = match m.others.as_slice() {
        [] => String::new(),
        others => {
            let list: Vec<String> = others.iter().map(ToString::to_string).collect();
            format!(" (also {} in this country)", list.join(", "))
        }
    };
    format!(
        "{}: mains {}, {measured}{} to {}, {} Hz{others}",
        m.country,
        m.nominal,
        m.low,
        m.high,
        hertz.join(" or ")
    )
}
