//! A time, as the caller's clock gave it.

use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use serde::{Deserialize, Serialize};

/// Milliseconds since the Unix epoch, 1970-01-01 00:00 UTC. The file holds up to `i64::MAX` of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Moment(pub u64);

impl ToSql for Moment {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        let millis =
            i64::try_from(self.0).map_err(|e| rusqlite::Error::ToSqlConversionFailure(Box::new(e)))?;
        Ok(millis.into())
    }
}

impl FromSql for Moment {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let millis = i64::column_result(value)?;
        u64::try_from(millis).map(Self).map_err(|_| FromSqlError::OutOfRange(millis))
    }
}
