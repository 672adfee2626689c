//! Names of one's own choosing: what is new gets one, what is there may get another.

use super::apply::at;
use super::last::{Fields, Refusal, value};
use super::written::Written;
use toml::Table;
use voltwright_job::edit::can_be;

/// Before the path of something in the name of the field that holds its short name.
pub const NAME: &str = "name:";
/// Before the path of a table in the name of the field that holds the short name of something new in it.
pub const NEW: &str = "new:";

/// Whether what has such a name can have fields: other characters mean something else in their paths.
pub fn in_forms(name: &str) -> bool {
    !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || c == '-' || c == '_')
}

/// What is said in place of fields of what has another name.
pub const NO_FORM: &str = "Its name has characters that forms cannot take: change it on the Text page.";

/// The path that a form is about, with the names that its text has for things now.
pub fn about(fields: &Fields) -> String {
    let at = value(fields, "at").unwrap_or_default();
    landed(&real(at, fields).unwrap_or_else(|_| at.to_owned()), fields)
}

/// A path with the names that were chosen for what is new; the field of a name that is missing.
pub fn real(path: &str, fields: &Fields) -> Result<String, String> {
    path.match_indices(".*").try_fold(path.to_owned(), |real, (star, _)| {
        let field = format!("{NEW}{}", &path[..star]);
        match value(fields, &field).map(str::trim) {
            Some(chosen) if !chosen.is_empty() => Ok(real.replacen('*', chosen, 1)),
            _ => Err(field),
        }
    })
}

/// A path with the names that were chosen for what is there.
pub fn landed(path: &str, fields: &Fields) -> String {
    let (mut before, mut after) = (String::new(), String::new());
    for (i, step) in path.split('.').enumerate() {
        let point = if i > 0 { "." } else { "" };
        before = format!("{before}{point}{step}");
        let new = value(fields, &format!("{NAME}{before}")).map(str::trim).filter(|new| !new.is_empty());
        after = format!("{after}{point}{}", new.unwrap_or(step));
    }
    after
}

/// The other name that is chosen for what stands at a path.
///
/// # Errors
/// The name was taken away.
pub fn chosen(path: &str, typed: &str) -> Result<Option<String>, Refusal> {
    let (own, typed) = (path.rsplit('.').next().unwrap_or_default(), typed.trim());
    if typed.is_empty() {
        let says = format!("It needs a short name, so that the file can hold it; it was “{own}”.");
        return Err(Refusal::of(&format!("{NAME}{path}"), says));
    }
    Ok(Some(typed.to_owned()).filter(|typed| typed != own))
}

/// Whatever is new has a name of its own, and a name is given to something.
pub fn new_names(held: &Table, fields: &Fields) -> Result<(), Refusal> {
    let typed = |name: &str, value: &str| {
        Written::of(name).filter(|_| !value.trim().is_empty()).map(|(_, path)| path.to_owned())
    };
    let typed: Vec<String> = fields.iter().filter_map(|(name, value)| typed(name, value)).collect();
    if let Some(field) = typed.iter().find_map(|path| real(path, fields).err()) {
        let says = "What is entered here needs a short name, so that the file can hold it.";
        return Err(Refusal::early(&field, says));
    }
    let names = fields.iter().filter(|(field, chosen)| field.starts_with(NEW) && !chosen.trim().is_empty());
    for (field, chosen) in names {
        let fresh = format!("{}.*", &field[NEW.len()..]);
        let is_there = real(&fresh, fields).is_ok_and(|path| at(held, &path).is_some());
        let is_filled = typed.iter().any(|path| path.starts_with(&fresh));
        let refusal = wrong_name(&fresh, chosen.trim(), is_there, is_filled);
        if let Some((says, is_early)) = refusal {
            return Err(Refusal { is_early, ..Refusal::of(field, says) });
        }
    }
    Ok(())
}

/// What is wrong with a new name, and whether it is only that nothing is entered for it yet.
fn wrong_name(path: &str, chosen: &str, is_there: bool, is_filled: bool) -> Option<(String, bool)> {
    if let Err(says) = can_be(path, chosen) {
        Some((says.to_string(), false))
    } else if is_there {
        Some((format!("“{chosen}” is there already: change it there, or choose another name."), false))
    } else if !is_filled {
        Some((format!("Nothing is entered for “{chosen}” yet: fill in a field below."), true))
    } else {
        None
    }
}
