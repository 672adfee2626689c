//! The drawings byte for byte: whatever changes one is looked at. `VOLTWRIGHT_UPDATE=1` rewrites the files.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{JOBS, drawings, job, path, proved};
use std::collections::BTreeSet;
use voltwright_drawing::Drawing;

/// Jobs of which pictures are kept.
const KEPT: [(&str, &str); 3] = [("desk", JOBS[0]), ("plotter", JOBS[3]), ("crowded", JOBS[8])];

/// Of a proof, the sieve and the first readings, which are cold, and the last, which are live.
const PROVED: (usize, usize) = (6, 3);

/// Lets a browser show a snapshot with the style sheet as it is.
const STYLED: &str = "<?xml-stylesheet type=\"text/css\" href=\"../../src/style.css\"?>\n";

fn all() -> Vec<(String, Drawing)> {
    let mut all = Vec::new();
    for (short, file) in KEPT {
        let job = job(file);
        let mut proved = proved(&job);
        let last = proved.len().saturating_sub(PROVED.1).max(PROVED.0);
        proved.drain(PROVED.0.min(proved.len())..last.min(proved.len()));
        let drawn = drawings(&job).into_iter().chain(proved);
        all.extend(drawn.map(|(name, drawing)| (format!("{short}-{name}.svg"), drawing)));
    }
    all
}

#[test]
fn drawings_are_as_they_were() {
    let folder = path("crates/drawing/tests/snapshots");
    let update = std::env::var_os("VOLTWRIGHT_UPDATE").is_some();
    let mut changed = Vec::new();
    let mut names = BTreeSet::new();
    for (name, drawing) in all() {
        let (now, file) = (format!("{STYLED}{}\n", drawing.svg), folder.join(&name));
        if update {
            std::fs::write(&file, &now).unwrap();
        } else if std::fs::read_to_string(&file).ok().as_ref() != Some(&now) {
            changed.push(name.clone());
        }
        assert!(names.insert(name.clone()), "{name} twice");
    }
    for entry in std::fs::read_dir(&folder).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        match (names.contains(&name), update) {
            (true, _) => {}
            (false, true) => std::fs::remove_file(entry.path()).unwrap(),
            (false, false) => changed.push(format!("{name} is drawn no more")),
        }
    }
    assert!(changed.is_empty(), "look at them, then VOLTWRIGHT_UPDATE=1: {changed:#?}");
}
