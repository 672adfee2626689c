//! Paired devices. Of a token the store keeps the hash alone.

use rusqlite::{OptionalExtension, Row, params};

use crate::{DeviceId, Hash, Moment, Store, StoreError, limits};

/// A paired device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Its number.
    pub id: DeviceId,
    /// What the person calls it.
    pub name: String,
    /// When it was paired.
    pub paired: Moment,
    /// When it last came.
    pub seen: Moment,
    /// When it was shut out again, if it was.
    pub revoked: Option<Moment>,
}

const DEVICE: &str = "SELECT id, name, paired, seen, revoked FROM device";

impl Store {
    /// Pairs a device that will show this token.
    ///
    /// # Errors
    /// The token is another device's; the file cannot be written.
    pub fn pair(&self, name: &str, token: &[u8], at: Moment) -> Result<DeviceId, StoreError> {
        limits::text("The device's name", name, limits::FIELD)?;
        self.transact(|turn| {
            let sql = "INSERT INTO device (name, token, paired, seen) VALUES (?1, ?2, ?3, ?3)";
            turn.execute(sql, params![name, Hash::of(token), at])?;
            Ok(DeviceId(turn.last_insert_rowid()))
        })
    }

    /// Every device that was ever paired, the oldest first.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn devices(&self) -> Result<Vec<Device>, StoreError> {
        self.read(|view| {
            let mut rows = view.prepare(&format!("{DEVICE} ORDER BY id"))?;
            Ok(rows.query_map([], device)?.collect::<Result<_, _>>()?)
        })
    }

    /// The device that has this token, unless it was shut out.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn device_by_token(&self, token: &[u8]) -> Result<Option<Device>, StoreError> {
        self.read(|view| {
            let sql = format!("{DEVICE} WHERE token = ?1 AND revoked IS NULL");
            Ok(view.query_row(&sql, params![Hash::of(token)], device).optional()?)
        })
    }

    /// Notes that a device came.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn seen(&self, device: DeviceId, at: Moment) -> Result<(), StoreError> {
        self.transact(|turn| {
            turn.execute("UPDATE device SET seen = max(seen, ?2) WHERE id = ?1", params![device, at])?;
            Ok(())
        })
    }

    /// Shuts a device out. The first time stands.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn revoke(&self, device: DeviceId, at: Moment) -> Result<(), StoreError> {
        self.transact(|turn| {
            let sql = "UPDATE device SET revoked = ?2 WHERE id = ?1 AND revoked IS NULL";
            turn.execute(sql, params![device, at])?;
            Ok(())
        })
    }
}

fn device(row: &Row<'_>) -> rusqlite::Result<Device> {
    Ok(Device {
        id: row.get(0)?,
        name: row.get(1)?,
        paired: row.get(2)?,
        seen: row.get(3)?,
        revoked: row.get(4)?,
    })
}
