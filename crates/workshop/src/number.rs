//! What was read, as text that reads back to the very number.

use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ValueRef};

/// A number as the shortest decimal that reads back to the same number; also infinity and the sign of zero.
pub(crate) fn write(value: f64) -> String {
    format!("{value:?}")
}

/// Reads what [`write`] writes, and nothing else.
pub(crate) fn read(text: &str) -> Option<f64> {
    text.parse().ok().filter(|value: &f64| !value.is_nan() && write(*value) == text)
}

/// A number as the file has it.
pub(crate) struct Stored(pub f64);

impl FromSql for Stored {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        read(value.as_str()?).map(Self).ok_or(FromSqlError::InvalidType)
    }
}

#[cfg(test)]
mod tests {
    use super::{read, write};

    #[test]
    fn numbers_survive_to_the_last_bit() {
        for value in
            [0.0, -0.0, 4.97, 1e-12, f64::MAX, f64::MIN_POSITIVE, f64::INFINITY, f64::NEG_INFINITY, 0.1 + 0.2]
        {
            assert_eq!(read(&write(value)).map(f64::to_bits), Some(value.to_bits()), "{value}");
        }
    }

    #[test]
    fn only_the_one_way_of_writing_is_read() {
        for text in ["", "NaN", "5", "+5.0", "infinity", "1e0", " 5.0", "0x1"] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
