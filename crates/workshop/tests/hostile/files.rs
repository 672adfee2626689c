//! A good archive taken apart, changed, and put together again.

use std::io::{Cursor, Read, Write};

use serde_json::{Value, json};
use voltwright_workshop::{Hash, Moment, archive};
use zip::write::SimpleFileOptions;

use crate::common::{Folder, full_job};

/// The files of an archive in their order, the manifest first.
#[derive(Clone)]
pub struct Files(pub Vec<(String, Vec<u8>)>);

impl Files {
    /// Those of a good archive.
    pub fn good() -> Self {
        let folder = Folder::new();
        let store = folder.store();
        let made = full_job(&store).0;
        let bytes = archive::export(&store, made.job, "1", Moment(100)).unwrap();
        let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
        let count = zip.len();
        let read = |i| {
            let mut file = zip.by_index(i).unwrap();
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).unwrap();
            (file.name().unwrap().into_owned(), bytes)
        };
        Self((0..count).map(read).collect())
    }

    pub fn get(&self, path: &str) -> &[u8] {
        &self.0.iter().find(|(p, _)| p == path).unwrap().1
    }

    /// The path of the picture that ends so.
    pub fn picture(&self, ending: &str) -> String {
        self.0
            .iter()
            .map(|(p, _)| p)
            .find(|p| p.starts_with("pictures/") && p.ends_with(ending))
            .unwrap()
            .clone()
    }

    pub fn with(mut self, path: &str, bytes: &[u8]) -> Self {
        match self.0.iter_mut().find(|(p, _)| p == path) {
            Some(file) => file.1 = bytes.to_vec(),
            None => self.0.push((path.to_owned(), bytes.to_vec())),
        }
        self
    }

    pub fn without(mut self, path: &str) -> Self {
        self.0.retain(|(p, _)| p != path);
        self
    }

    pub fn manifest(self, edit: impl FnOnce(&mut Value)) -> Self {
        let mut manifest: Value = serde_json::from_slice(self.get("manifest.json")).unwrap();
        edit(&mut manifest);
        self.with("manifest.json", &serde_json::to_vec(&manifest).unwrap())
    }

    /// The manifest lists the files as they are now: what is wrong must be found in them.
    pub fn sealed(self) -> Self {
        let row = |(path, bytes): &(String, Vec<u8>)| json!({"path": path, "bytes": bytes.len(), "sha256": Hash::of(bytes).to_string()});
        let rows: Vec<Value> = self.0.iter().filter(|(p, _)| p != "manifest.json").map(row).collect();
        self.manifest(|manifest| manifest["files"] = rows.into())
    }

    /// One row of `readings.csv` replaced, and sealed.
    pub fn readings(self, from: &str, to: &str) -> Self {
        let csv = String::from_utf8(self.get("readings.csv").to_vec()).unwrap();
        assert!(csv.contains(from), "{from}");
        self.with("readings.csv", csv.replacen(from, to, 1).as_bytes()).sealed()
    }

    pub fn zip(&self) -> Vec<u8> {
        self.zip_and(|_| {})
    }

    pub fn zip_and(&self, more: impl FnOnce(&mut zip::ZipWriter<Cursor<Vec<u8>>>)) -> Vec<u8> {
        let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (path, bytes) in &self.0 {
            zip.start_file(path.as_str(), SimpleFileOptions::default()).unwrap();
            zip.write_all(bytes).unwrap();
        }
        more(&mut zip);
        zip.finish().unwrap().into_inner()
    }

    /// The zip in which `x-x/evil.txt` has another path, in the manifest too.
    pub fn zip_with_path(self, path: &str) -> Vec<u8> {
        let named = self.manifest(|manifest| {
            let rows = manifest["files"].as_array_mut().unwrap();
            rows.iter_mut().find(|row| row["path"] == "x-x/evil.txt").unwrap()["path"] = path.into();
        });
        patched(named.zip(), b"x-x/evil.txt", path.as_bytes())
    }

    pub fn zip_with_bytes(self, path: &[u8]) -> Vec<u8> {
        patched(self.zip(), b"x-x/evil.txt", path)
    }
}

/// The bytes with each occurrence of a text replaced by one as long.
pub fn patched(mut bytes: Vec<u8>, from: &[u8], to: &[u8]) -> Vec<u8> {
    assert_eq!(from.len(), to.len());
    let places: Vec<_> = (0..=bytes.len() - from.len()).filter(|&i| bytes[i..].starts_with(from)).collect();
    assert!(!places.is_empty());
    places.iter().for_each(|&i| bytes[i..i + to.len()].copy_from_slice(to));
    bytes
}
