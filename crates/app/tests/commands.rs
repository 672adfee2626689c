//! The other commands, and the command line itself.

mod support;

use std::path::PathBuf;
use support::{command, run, run_in};

/// A directory of its own that is gone afterwards.
struct Directory(PathBuf);

impl Directory {
    fn new(name: &str) -> Self {
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).expect("it can be made");
        Self(path)
    }
    fn file(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }
}

impl Drop for Directory {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn a_new_job_can_be_checked_and_is_never_written_over() {
    let directory = Directory::new("new");
    let file = directory.file("plotter.toml");
    let made = run(&["new", &file, "--country", "IE", "--title", "A \"plotter\""]);
    assert_eq!(made.status, 0, "{}", made.err);
    let checked = run(&["check", &file]);
    assert_eq!(checked.status, 0, "{}", checked.err);
    assert!(checked.out.starts_with("A \"plotter\"\nIreland: mains 230 V"), "{}", checked.out);
    let before = std::fs::read_to_string(&file).unwrap();
    let again = run(&["new", &file]);
    assert!(again.status == 2 && again.complains("exists already"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), before);
    let nowhere = run(&["new", &directory.file("no/such/place.toml")]);
    assert!(nowhere.status == 2 && nowhere.complains("directory must exist"), "{}", nowhere.err);
}

#[test]
fn a_new_job_without_a_file_is_printed() {
    let printed = run(&["new"]).out;
    assert_eq!(support::check(&printed, &[]).status, 0);
    let slip = run(&["new", "--country", "UK"]);
    assert!(slip.status == 2 && slip.complains("did you mean GB (United Kingdom)?"), "{}", slip.err);
}

#[test]
fn every_table_can_be_printed_and_keeps_to_the_page() {
    for table in voltwright_tables::all() {
        for wanted in ["40", "80", "200"] {
            let mut c = command(&["tables", table.name]);
            c.env("COLUMNS", wanted);
            let out = run_in(c, b"").out;
            let most: usize = wanted.parse().unwrap();
            assert!(out.lines().all(|l| l.chars().count() <= most), "{} at {wanted}", table.name);
        }
        let mut c = command(&["tables", table.name]);
        c.env("COLUMNS", "4000");
        let out = run_in(c, b"").out;
        let cells = |row: &Vec<String>| {
            row.iter().map(|c| c.split_whitespace().collect::<Vec<_>>().join(" ")).collect::<Vec<_>>()
        };
        for row in &table.rows {
            // On a page wide enough every row is one line with all its cells.
            let whole = |line: &str| cells(row).iter().all(|cell| line.contains(cell.as_str()));
            assert!(out.lines().any(whole), "{}: {row:?}", table.name);
        }
    }
    let slip = run(&["tables", "colors"]);
    assert!(slip.status == 2 && slip.complains("did you mean `colours`?"), "{}", slip.err);
}

#[test]
fn completions_and_man_pages_know_every_command() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = run(&["completions", shell]);
        assert!(
            script.status == 0 && script.out.contains("network") && script.out.contains("why"),
            "{shell}"
        );
    }
    assert_eq!(run(&["completions", "abacus"]).status, 2);
    let page = run(&["man"]).out;
    assert!(page.contains(".TH voltwright") && page.contains("completions"), "{page}");
    let check = run(&["man", "check"]).out;
    assert!(check.contains("voltwright\\-check") && check.contains("\\-\\-why"), "{check}");
    let slip = run(&["man", "chek"]);
    assert!(slip.status == 2 && slip.complains("did you mean `check`?"), "{}", slip.err);
}

/// Shells that are here read the scripts without complaint.
#[test]
fn bash_accepts_its_script() {
    use std::process::Command;
    let script = run(&["completions", "bash"]).out;
    if let Ok(output) = Command::new("bash").args(["-n", "-c", &script]).output() {
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    }
}

#[test]
fn a_command_line_that_is_wrong_has_status_two() {
    for arguments in [
        &["chek"][..],
        &["--prot", "1"],
        &["--port", "x"],
        &["--address", "127.0.0.1"],
        &["check"],
        &["check", "a", "b"],
        &["check", "-", "--wy", "x"],
    ] {
        let run = run(arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(!run.err.is_empty());
    }
    for arguments in [&["--help"][..], &["--version"], &["check", "--help"], &["check", "-h"]] {
        let run = run(arguments);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{arguments:?}");
    }
}
