//! The layout of the file and the steps that lead to it, each in a transaction of its own.

use rusqlite::{Connection, Transaction, TransactionBehavior};

use crate::StoreError;

/// Marks a file as ours: "Vltw".
pub(crate) const APPLICATION: i32 = 0x566C_7477;

/// Step n leads from layout n to layout n + 1. Steps that were ever released are not altered.
const STEPS: [&str; 2] = [include_str!("schema/1-record.sql"), include_str!("schema/2-house.sql")];

/// The newest layout.
pub(crate) const NEWEST: i64 = STEPS.len().cast_signed() as i64;

/// The layout's number in the file; refuses a file that is not ours or that is newer than this program.
///
/// A file with nothing in it is layout 0. Nothing is written.
pub(crate) fn layout(connection: &mut Connection) -> Result<i64, StoreError> {
    of(&connection.transaction()?)
}

/// As one sees it in a transaction: another program may be making the file at this moment.
fn of(connection: &Transaction<'_>) -> Result<i64, StoreError> {
    let number = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, i64>(0));
    let application = number("PRAGMA application_id")?;
    let found = number("PRAGMA user_version")?;
    let is_bare = application == 0 && found == 0 && number("SELECT count(*) FROM sqlite_schema")? == 0;
    if application != i64::from(APPLICATION) && !is_bare {
        return Err(StoreError::Foreign);
    }
    if (0..=NEWEST).contains(&found) { Ok(found) } else { Err(StoreError::Newer { found, known: NEWEST }) }
}

/// Brings the file to the newest layout.
pub(crate) fn bring_up(connection: &mut Connection) -> Result<(), StoreError> {
    while layout(connection)? < NEWEST {
        step(connection)?;
    }
    Ok(())
}

/// One step. Another program may have taken it while we waited for our turn, so the layout is read anew.
fn step(connection: &mut Connection) -> Result<(), StoreError> {
    let turn = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let from = of(&turn)?;
    if let Some(sql) = usize::try_from(from).ok().and_then(|from| STEPS.get(from)) {
        turn.execute_batch(sql)?;
        turn.pragma_update(None, "application_id", APPLICATION)?;
        turn.pragma_update(None, "user_version", from + 1)?;
    }
    Ok(turn.commit()?)
}
