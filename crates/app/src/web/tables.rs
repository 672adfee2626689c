//! The reference tables, each row with its source and how sure it is.

use super::frame;
use super::problem::Problem;
use axum::extract::Path;
use axum::response::Html;
use maud::html;

/// The list of tables.
pub async fn list() -> Html<String> {
    let body = html! {
        h1 { "Tables" }
        p {
            "Everything that is not computed from your entries comes from these. Each row says where it comes from and how sure that is: "
            "published, computed, common practice, or from memory – confirm the last before relying on it."
        }
        ul.within { @for table in voltwright_tables::all() { li { a href=(format!("/tables/{}", table.name)) { (table.title) } " – " (table.rows.len()) "\u{a0}rows" } } }
    };
    Html(frame::page("Tables", &body).into_string())
}

/// One of them.
pub async fn one(Path(name): Path<String>) -> Result<Html<String>, Problem> {
    let table = voltwright_tables::named(&name).ok_or_else(|| Problem::missing("table of this name"))?;
    let body = html! {
        p.crumbs { a href="/tables" { "Tables" } }
        h1 { (table.title) }
        div.scroll tabindex="0" role="region" aria-label=(table.title) {
            table.cards.dense {
                thead { tr { @for column in table.columns { th scope="col" { (column) } } } }
                tbody { @for row in &table.rows { tr { @for (column, cell) in table.columns.iter().zip(row) { td data-label=(column) { (cell) } } } } }
            }
        }
    };
    Ok(Html(frame::page(table.title, &body).into_string()))
}
