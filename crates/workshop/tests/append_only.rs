//! The file itself refuses to change or delete what was entered, whatever program asks.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{Folder, full_job, raw};

const KEPT: [(&str, &str); 5] =
    [("revision", "text"), ("run", "begun"), ("entry", "value"), ("picture", "note"), ("image", "bytes")];

fn rows(connection: &rusqlite::Connection, table: &str) -> Vec<Vec<rusqlite::types::Value>> {
    let mut all = connection.prepare(&format!("SELECT rowid, * FROM {table} ORDER BY rowid")).unwrap();
    let columns = all.column_count();
    all.query_map([], |row| (0..columns).map(|i| row.get(i)).collect()).unwrap().map(Result::unwrap).collect()
}

#[test]
fn nothing_entered_can_be_changed_or_deleted() {
    let folder = Folder::new();
    full_job(&folder.store());
    let file = raw(&folder.file());
    // The triggers are to hold by themselves, not by the references.
    file.pragma_update(None, "foreign_keys", false).unwrap();
    for (table, column) in KEPT {
        let before = rows(&file, table);
        assert!(!before.is_empty(), "{table}");
        for attempt in [
            format!("UPDATE {table} SET {column} = {column}"),
            format!("UPDATE OR REPLACE {table} SET rowid = rowid + 1"),
            format!("DELETE FROM {table}"),
            format!("DELETE FROM {table} WHERE rowid = (SELECT max(rowid) FROM {table})"),
            format!("INSERT OR REPLACE INTO {table} SELECT * FROM {table} LIMIT 1"),
            format!("INSERT OR REPLACE INTO {table} SELECT * FROM {table} ORDER BY rowid DESC LIMIT 1"),
        ] {
            let refused = file.execute(&attempt, []).unwrap_err().to_string();
            assert!(refused.contains("are kept"), "{attempt}: {refused}");
            assert_eq!(rows(&file, table), before, "{attempt}");
        }
    }
    drop(file);
    folder.store().check().unwrap();
}

/// Would the test above notice? Without its triggers, a table takes every change.
#[test]
fn without_the_triggers_it_can() {
    let folder = Folder::new();
    full_job(&folder.store());
    let file = raw(&folder.file());
    file.pragma_update(None, "foreign_keys", false).unwrap();
    file.execute_batch("DROP TRIGGER entry_kept; DROP TRIGGER entry_stays; DROP TRIGGER entry_once").unwrap();
    assert!(file.execute("UPDATE entry SET value = value", []).unwrap() > 0);
    assert_eq!(file.execute("INSERT OR REPLACE INTO entry SELECT * FROM entry LIMIT 1", []).unwrap(), 1);
    assert!(file.execute("DELETE FROM entry", []).unwrap() > 0);
    drop(file);
    assert!(folder.store().check().unwrap_err().to_string().contains("counters"));
}
