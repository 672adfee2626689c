//! The README shows real output: every line of a console block is printed by the command above it, in that order.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::path::Path;
use std::process::Command;

#[test]
fn console_blocks_are_real() {
    let root = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let blocks: Vec<&str> =
        readme.split("```console\n").skip(1).map(|b| b.split("```").next().unwrap()).collect();
    assert!(blocks.len() >= 3);
    for block in blocks {
        let (command, shown) = block.split_once('\n').unwrap();
        let arguments: Vec<&str> = command.strip_prefix("$ voltwright ").unwrap().split(' ').collect();
        let output = Command::new(env!("CARGO_BIN_EXE_voltwright"))
            .args(&arguments)
            .current_dir(root)
            .env("COLUMNS", "80")
            .env("NO_COLOR", "1")
            .output()
            .unwrap();
        let printed = String::from_utf8(output.stdout).unwrap();
        let mut rest = printed.lines();
        for line in shown.lines().filter(|l| *l != "...") {
            assert!(rest.any(|l| l == line), "{command}: no line {line:?} after those before it");
        }
    }
}
