//! What every page has around its own content.

use maud::{DOCTYPE, Markup, html};

/// A page.
pub fn page(title: &str, body: &Markup) -> Markup {
    framed(title, None, &[], body)
}

/// A page that is printed, with a style of its own.
pub fn with_style(title: &str, style: &str, body: &Markup) -> Markup {
    framed(title, Some(style), &[], body)
}

/// A page with a script of its own.
pub fn with_script(title: &str, script: &str, body: &Markup) -> Markup {
    with_scripts(title, &[script], body)
}

/// A page with several.
pub fn with_scripts(title: &str, scripts: &[&str], body: &Markup) -> Markup {
    framed(title, None, scripts, body)
}

/// A text in which what a file has stands between backticks, with these as what they mean.
pub fn marked(text: &str) -> Markup {
    let is_whole = text.matches('`').count().is_multiple_of(2);
    html! {
        @if is_whole { @for (i, part) in text.split('`').enumerate() { @if i % 2 == 1 { code { (part) } } @else { (part) } } }
        @else { (text) }
    }
}

fn framed(title: &str, style: Option<&str>, scripts: &[&str], body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " – Voltwright" }
                link rel="stylesheet" href="/static/style.css";
                link rel="stylesheet" href="/static/drawing.css";
                @if let Some(style) = style { link rel="stylesheet" href=(style); }
                link rel="icon" href="/static/icon.svg" type="image/svg+xml";
                @for script in scripts { script type="module" src=(script) {} }
            }
            body {
                a.skip href="#main" { "To the content" }
                header {
                    nav aria-label="Workshop" {
                        a.brand href="/" { "Voltwright" }
                        a href="/" { "Workshop" }
                        a href="/shelf" { "Shelf" }
                        a href="/tables" { "Tables" }
                        a href="/devices" { "Devices" }
                    }
                }
                main #main { (body) }
                footer { p { "Voltwright computes from what was entered. It does not replace local codes, licensed practice or a meter." } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_between_backticks_is_marked() {
        let shown = |text| marked(text).into_string();
        assert_eq!(shown("level at `enable`, `a<b`"), "level at <code>enable</code>, <code>a&lt;b</code>");
        assert_eq!(shown("5` long"), "5` long");
        assert_eq!(shown("plain"), "plain");
    }
}
