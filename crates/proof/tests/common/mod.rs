//! Jobs of the repository, for tests.

#![allow(dead_code)] // each test file uses its own part
#![allow(clippy::unwrap_used, clippy::panic)] // nothing here is production code

use std::path::{Path, PathBuf};
use voltwright_job::Job;

/// The root of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The text of a file of the repository.
pub fn text(file: &str) -> String {
    std::fs::read_to_string(root().join(file)).unwrap_or_else(|e| panic!("{file}: {e}"))
}

/// The job in a text.
pub fn job(text: &str) -> Job {
    let reading = voltwright_job::read(text);
    assert!(reading.is_usable(), "{:?}", reading.diagnostics);
    reading.job
}

/// Every example of which there is a finished job and a first draft.
pub const EXAMPLES: [&str; 3] = ["desk-computer", "synthesizer-rack", "plotter"];

/// All jobs with wiring: examples and the suite of the proof.
pub fn all() -> Vec<String> {
    let mut files: Vec<String> = EXAMPLES
        .iter()
        .flat_map(|e| ["finished", "first-draft"].map(|f| format!("examples/{e}/{f}.toml")))
        .collect();
    files.extend(suite());
    files
}

/// The suite of the proof.
pub fn suite() -> Vec<String> {
    let mut files: Vec<String> = std::fs::read_dir(root().join("suite/proof"))
        .unwrap()
        .map(|e| format!("suite/proof/{}", e.unwrap().file_name().to_str().unwrap()))
        .filter(|f| f.ends_with(".toml"))
        .collect();
    files.sort();
    assert!(!files.is_empty());
    files
}
