//! `voltwright tables [NAME]`: the reference tables, each row with its source and how sure it is.

use crate::arguments::Tables;
use crate::failure::{Failure, Verdict};
use crate::terminal;
use crate::text::grid::grid;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_tables::Table;

/// Version of the JSON shape.
const FORMAT: u32 = 1;

#[derive(serde::Serialize)]
struct Data<'t> {
    format: u32,
    tables: &'t [Table],
}

/// Prints one table, the list of tables, or either as data.
pub fn run(arguments: &Tables) -> Result<Verdict, Failure> {
    let tables = match &arguments.name {
        Some(name) => vec![voltwright_tables::named(name).ok_or_else(|| unknown(name))?],
        None => voltwright_tables::all(),
    };
    let text = if arguments.json {
        super::json(&Data { format: FORMAT, tables: &tables }, true)?
    } else {
        let page = terminal::output();
        match arguments.name {
            Some(_) => tables.iter().map(|t| whole(t, &page)).collect(),
            None => list(&tables, &page),
        }
    };
    terminal::print(&text)?;
    Ok(Verdict::NoStop)
}

fn unknown(name: &str) -> Failure {
    let hint = voltwright_tables::near(name)
        .map_or("`voltwright tables` lists them".to_owned(), |near| format!("did you mean `{near}`?"));
    Failure::command_line(format!("there is no table `{name}`"), Some(hint))
}

fn whole(table: &Table, page: &Page) -> String {
    let title = wrap(&[Span(table.title, Style::Strong)], Indent(0, 0), page);
    format!("{title}\n{}", grid(table.columns, &table.rows, 0, page))
}

fn list(tables: &[Table], page: &Page) -> String {
    let rows: Vec<Vec<String>> = tables
        .iter()
        .map(|t| vec![t.name.to_owned(), t.title.to_owned(), t.rows.len().to_string()])
        .collect();
    let how = "`voltwright tables NAME` prints one. Each row says where it comes from and how sure that is: published, \
         computed, common practice, or from memory (confirm it before relying on it).";
    format!(
        "{}\n{}",
        grid(&["table", "what it holds", "rows"], &rows, 0, page),
        paragraph(how, Indent(0, 0), page)
    )
}
