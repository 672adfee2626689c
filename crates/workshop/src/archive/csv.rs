//! Comma-separated values as RFC 4180 has them: rows end in CR LF, a quote within quotes is doubled.
//!
//! One thing beyond it: whether a field stands in quotes is kept, since `""` is an empty text and nothing is nothing.

/// A field of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Field {
    /// Without quotes: a number, a heading, or nothing.
    Bare(String),
    /// A text in quotes: any characters at all.
    Quoted(String),
}

/// Writes a row.
pub(crate) fn write(row: &[Field], to: &mut String) {
    for (i, field) in row.iter().enumerate() {
        if i > 0 {
            to.push(',');
        }
        match field {
            Field::Bare(text) => to.push_str(text),
            Field::Quoted(text) => {
                to.push('"');
                to.push_str(&text.replace('"', "\"\""));
                to.push('"');
            }
        }
    }
    to.push_str("\r\n");
}

/// Reads the first row of `text`: the row and what is after it.
pub(crate) fn read(text: &str) -> Result<(Vec<Field>, &str), &'static str> {
    let mut row = Vec::new();
    let mut rest = text;
    loop {
        let (field, after) = match rest.strip_prefix('"') {
            Some(inside) => quoted(inside)?,
            None => bare(rest)?,
        };
        row.push(field);
        if let Some(after) = after.strip_prefix("\r\n") {
            return Ok((row, after));
        }
        rest =
            after.strip_prefix(',').ok_or("a comma or the row's end (CR LF) was expected after a field")?;
    }
}

fn bare(text: &str) -> Result<(Field, &str), &'static str> {
    let end = text.find([',', '\r', '\n', '"']).ok_or("the row does not end in CR LF")?;
    let (field, after) = text.split_at(end);
    Ok((Field::Bare(field.to_owned()), after))
}

fn quoted(text: &str) -> Result<(Field, &str), &'static str> {
    let mut field = String::new();
    let mut rest = text;
    loop {
        let (before, after) = rest.split_once('"').ok_or("a quote is not closed")?;
        field.push_str(before);
        match after.strip_prefix('"') {
            Some(more) => {
                field.push('"');
                rest = more;
            }
            None => return Ok((Field::Quoted(field), after)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Field, read, write};

    fn text(text: &str) -> Field {
        Field::Quoted(text.to_owned())
    }

    fn bare(text: &str) -> Field {
        Field::Bare(text.to_owned())
    }

    #[test]
    fn rows_are_written_as_the_rfc_has_them() {
        let row = [bare("1"), text("a \"b\""), text("two\r\nlines, one field"), bare(""), text("")];
        let mut written = String::new();
        write(&row, &mut written);
        assert_eq!(written, "1,\"a \"\"b\"\"\",\"two\r\nlines, one field\",,\"\"\r\n");
        assert_eq!(read(&written), Ok((row.to_vec(), "")));
    }

    #[test]
    fn broken_rows_are_refused() {
        for broken in ["", "1", "1\n", "\"a\r\n", "\"a\"b\r\n", "a\"b\"\r\n", "1,\"a\"", "1\rb\r\n"] {
            assert!(read(broken).is_err(), "{broken:?}");
        }
    }
}
