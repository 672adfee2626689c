//! The form that was sent last: what is typed in it comes back to the page where it was refused.

use crate::web::problem::Problem;

/// The fields of a form, in order.
pub type Fields = Vec<(String, String)>;

/// More fields than any form has: no request may keep the server at them.
pub const MOST: usize = 5000;

/// The fields, if a form can have so many.
///
/// # Errors
/// What to tell whoever sent them.
pub fn counted(fields: Fields) -> Result<Fields, Problem> {
    if fields.len() > MOST {
        return Err(Problem::unclear("The form has more fields than any of ours."));
    }
    Ok(fields)
}

/// Why a form was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The name of the field that is wrong; empty if it is the form as a whole.
    pub field: String,
    /// What is wrong, for a person.
    pub says: String,
    /// Whether it is only that not everything is typed yet.
    pub is_early: bool,
}

impl Refusal {
    /// Of a field.
    pub fn of(field: &str, says: impl Into<String>) -> Self {
        Self { field: field.to_owned(), says: says.into(), is_early: false }
    }

    /// Of a field, until more is typed.
    pub fn early(field: &str, says: impl Into<String>) -> Self {
        Self { is_early: true, ..Self::of(field, says) }
    }
}

/// The form that was sent last.
#[derive(Debug, Default)]
pub struct Last {
    /// What it is about; the entry there stands open.
    pub at: String,
    /// What was typed, where it was refused.
    pub fields: Fields,
    /// Why it was refused.
    pub refusal: Option<Refusal>,
}

impl Last {
    /// What was typed into a field.
    pub fn typed(&self, name: &str) -> Option<&str> {
        value(&self.fields, name)
    }

    /// What is wrong with a field.
    pub fn wrong(&self, name: &str) -> Option<&str> {
        self.refusal.as_ref().filter(|r| r.field == name).map(|r| r.says.as_str())
    }

    /// Whether anything was typed below a path.
    pub fn has_below(&self, path: &str) -> bool {
        let is_below = |name: &str| {
            let at = name.split_once(':').map_or("", |(_, at)| at);
            at.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        let is_named = |name: &str| {
            path.strip_suffix(".*").is_some_and(|owner| name.strip_prefix("new:") == Some(owner))
        };
        self.fields.iter().any(|(name, value)| !value.trim().is_empty() && (is_below(name) || is_named(name)))
    }
}

/// What a form says in a field.
pub fn value<'f>(fields: &'f Fields, name: &str) -> Option<&'f str> {
    fields.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_form_has_so_many_fields() {
        let fields = |count: usize| vec![("t:job.title".to_owned(), String::new()); count];
        assert!(counted(fields(MOST)).is_ok());
        assert!(counted(fields(MOST + 1)).is_err());
    }
}
