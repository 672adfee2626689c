//! ARCHITECTURE.md and the crates say the same: the table of edges is compared with `cargo metadata` both ways.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

type Edges = BTreeMap<String, BTreeSet<String>>;

fn root() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
}

/// Folder names of our crates, and which of ours each uses in its build.
fn built() -> Edges {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--no-deps", "--format-version", "1", "--offline"])
        .current_dir(root())
        .output()
        .unwrap();
    let data: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let short = |name: &str| {
        if name == "voltwright" { "app".into() } else { name.strip_prefix("voltwright-").unwrap().to_owned() }
    };
    let packages = data["packages"].as_array().unwrap();
    let uses = |package: &serde_json::Value| -> BTreeSet<String> {
        let ours = |d: &&serde_json::Value| {
            d["kind"].is_null() && d["name"].as_str().unwrap().starts_with("voltwright")
        };
        package["dependencies"]
            .as_array()
            .unwrap()
            .iter()
            .filter(ours)
            .map(|d| short(d["name"].as_str().unwrap()))
            .collect()
    };
    packages.iter().map(|p| (short(p["name"].as_str().unwrap()), uses(p))).collect()
}

/// The rows of the table under "Edges".
fn written() -> Edges {
    let text = std::fs::read_to_string(root().join("ARCHITECTURE.md")).unwrap();
    let section = text.split("## Edges").nth(1).unwrap().split("\n## ").next().unwrap();
    let names = |cell: &str| cell.split('`').skip(1).step_by(2).map(str::to_owned).collect::<BTreeSet<_>>();
    let rows = section.lines().filter(|l| l.starts_with("| `"));
    rows.map(|row| {
        let cells: Vec<&str> = row.trim_matches('|').split('|').collect();
        (names(cells[0]).pop_first().unwrap(), names(cells[1]))
    })
    .collect()
}

#[test]
fn the_table_of_edges_is_true() {
    assert_eq!(written(), built());
}

/// Each direct dependency has its reason in ARCHITECTURE.md.
#[test]
fn every_dependency_has_a_reason() {
    let text = std::fs::read_to_string(root().join("ARCHITECTURE.md")).unwrap();
    let reasons = text.split("## Dependencies").nth(1).unwrap();
    for entry in std::fs::read_dir(root().join("crates")).unwrap() {
        let manifest = std::fs::read_to_string(entry.unwrap().path().join("Cargo.toml")).unwrap();
        let sections = manifest
            .split("\n[")
            .filter(|s| s.starts_with("dependencies]") || s.starts_with("dev-dependencies]"));
        for line in sections.flat_map(|s| s.lines().skip(1)) {
            let Some((name, _)) = line.split_once([' ', '.', '=']) else { continue };
            let is_ours = name.starts_with("voltwright") || name.starts_with('#') || name.is_empty();
            assert!(
                is_ours || reasons.contains(&format!("`{name}`")),
                "`{name}` has no reason in ARCHITECTURE.md"
            );
        }
    }
}
