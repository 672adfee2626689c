//! What every page has around its own content.

use maud::{DOCTYPE, Markup, html};

/// A page.
pub fn page(title: &str, body: &Markup) -> Markup {
    framed(title, None, None, body)
}

/// A page that is printed, with a style of its own.
pub fn with_style(title: &str, style: &str, body: &Markup) -> Markup {
    framed(title, Some(style), None, body)
}

/// A page with a script of its own.
pub fn with_script(title: &str, script: &str, body: &Markup) -> Markup {
    framed(title, None, Some(script), body)
}

fn framed(title: &str, style: Option<&str>, script: Option<&str>, body: &Markup) -> Markup {
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
                @if let Some(script) = script { script type="module" src=(script) {} }
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
