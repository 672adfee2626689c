//! A page as its elements: enough of HTML to tell a tag and an attribute from text.

/// An element's beginning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tag {
    /// In small letters.
    pub name: String,
    pub attributes: Vec<(String, String)>,
}

/// Every tag that opens, in order. What stands in a script, a style or a title is text up to its end, as in browsers.
pub fn tags(page: &str) -> Vec<Tag> {
    let mut tags = Vec::new();
    let mut rest = page;
    while let Some(start) = rest.find('<') {
        rest = &rest[start + 1..];
        if !rest.starts_with(|c: char| c.is_ascii_alphabetic()) {
            continue;
        }
        let (tag, after) = tag(rest);
        rest = after;
        if matches!(tag.name.as_str(), "script" | "style" | "title" | "textarea") {
            let end = format!("</{}", tag.name);
            rest = rest.to_ascii_lowercase().find(&end).map_or("", |at| &rest[at..]);
        }
        tags.push(tag);
    }
    tags
}

/// The tag that begins here, and what follows it.
fn tag(text: &str) -> (Tag, &str) {
    let end = text.find(|c: char| c.is_ascii_whitespace() || c == '/' || c == '>').unwrap_or(text.len());
    let mut tag = Tag { name: text[..end].to_ascii_lowercase(), attributes: Vec::new() };
    let mut rest = &text[end..];
    loop {
        rest = rest.trim_start_matches(|c: char| c.is_ascii_whitespace() || c == '/');
        if rest.is_empty() {
            return (tag, rest);
        }
        if let Some(after) = rest.strip_prefix('>') {
            return (tag, after);
        }
        let end = rest[1..]
            .find(|c: char| c.is_ascii_whitespace() || "/>=".contains(c))
            .map_or(rest.len(), |i| i + 1);
        let name = rest[..end].to_ascii_lowercase();
        rest = rest[end..].trim_start();
        let (value, after) = match rest.strip_prefix('=') {
            Some(after) => value(after.trim_start()),
            None => ("", rest),
        };
        tag.attributes.push((name, value.to_owned()));
        rest = after;
    }
}

fn value(text: &str) -> (&str, &str) {
    for quote in ['"', '\''] {
        if let Some(inner) = text.strip_prefix(quote) {
            return inner.split_once(quote).unwrap_or((inner, ""));
        }
    }
    let end = text.find(|c: char| c.is_ascii_whitespace() || c == '>').unwrap_or(text.len());
    text.split_at(end)
}

/// What in a page could do something that we did not write; nothing is as it should be. `mark` is in every hostile text.
pub fn foreign(page: &str, mark: &str) -> Option<String> {
    tags(page).into_iter().find(|tag| is_foreign(tag, mark)).map(|tag| format!("{tag:?}"))
}

fn is_foreign(tag: &Tag, mark: &str) -> bool {
    let source = tag.attributes.iter().find(|(name, _)| name == "src").map(|(_, value)| value.as_str());
    let own = ["/static/bench.js", "/static/fold.js", "/static/job.js", "/static/live.js", "/static/text.js"];
    let own_script = source.is_some_and(|source| own.contains(&source));
    let own_picture = source.and_then(|s| s.strip_prefix("/picture/")).is_some_and(is_hash);
    let never = ["iframe", "object", "embed", "base", "audio", "video", "math", "style"];
    tag.name.contains(mark)
        || never.contains(&tag.name.as_str())
        || tag.name == "script" && !own_script
        || tag.name == "img" && !own_picture
        || tag.attributes.iter().any(|(name, value)| {
            let leads = matches!(name.as_str(), "href" | "src" | "action" | "formaction" | "xlink:href");
            let within = value.starts_with(['/', '#']) && !value.starts_with("//");
            name.contains(mark)
                || name.starts_with("on")
                || name == "srcdoc"
                || name == "style"
                || leads && !within && !value.is_empty()
        })
}

/// The one form in which a picture's address names it.
fn is_hash(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_foreign_is_seen() {
        for page in [
            "<p>a<xevil>b",
            "<p class=\"a\" evil=1>",
            "<p title='x'onclick='evil()'>",
            "<script>evil()</script>",
            "<SCRIPT SRC=//evil.example>",
            "<title>a</title><script src=\"https://evil.example/x.js\"></script>",
            "<a href=\"javascript:1\">",
            "<a href='//evil.example'>",
            "<svg/onload=1>",
            "<img src=x>",
            "<img src=/picture/x>",
            "<img src=//evil.example/picture/0>",
            "<p\nstyle\n=\n\"a\">",
        ] {
            assert!(foreign(page, "evil").is_some(), "{page}");
        }
    }

    #[test]
    fn what_is_text_is_none() {
        for page in [
            "<p>a &lt;evil&gt; b</p>",
            "<input value=\"&quot; evil=1\">",
            "<textarea>\n<evil></textarea><p>",
            "<title><evil></title><p>",
            "<script type=\"module\" src=\"/static/bench.js\"></script>",
            "a < evil > b",
            "<a href=\"/job/evil\">evil</a>",
        ] {
            assert_eq!(foreign(page, "evil"), None, "{page}");
        }
    }
}
