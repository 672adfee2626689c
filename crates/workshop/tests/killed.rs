//! The program is killed in the midst of writing: what was said to be written is there, and the file is sound.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]
#![cfg(unix)]

mod common;

use std::io::{BufRead, BufReader, Write};
use std::path::PathBuf;
use std::process::{Command, Stdio};

use common::{Folder, reading};
use voltwright_workshop::{JobId, Moment, RunId, Store};

const WHERE: &str = "VOLTWRIGHT_TEST_KILLED";

/// In the child: writes pairs of entries without end, and says each pair's number once the store has it.
#[test]
fn child() {
    let Some(path) = std::env::var_os(WHERE) else { return };
    let store = Store::open(&PathBuf::from(path)).unwrap();
    let (job, run) = (JobId(1), RunId(1));
    let from = store.log(run).unwrap().len() / 2;
    for i in from.. {
        let batch = [reading(&format!("{i}a"), 1.0), reading(&format!("{i}b"), 2.0)];
        store.write(job, run, &batch, Moment(3)).unwrap();
        println!("\ndone {i}");
        std::io::stdout().flush().unwrap();
    }
}

#[test]
fn what_was_said_to_be_written_is_there() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    let run = store.begin(job, 1, Moment(2)).unwrap().id;
    assert_eq!((job, run), (JobId(1), RunId(1)));
    drop(store);
    let mut said = 0;
    for lines in [1, 2, 5, 11, 17, 23] {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "child", "--nocapture"])
            .env(WHERE, folder.file())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let heard = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
        let mut done =
            heard.filter_map(|line| line.strip_prefix("done ").map(|n| n.parse::<usize>().unwrap()));
        said = done.nth(lines).unwrap();
        child.kill().unwrap();
        child.wait().unwrap();
        let store = folder.store();
        store.check().unwrap();
        let log = store.log(run).unwrap();
        assert_eq!(log.len() % 2, 0, "a batch was written by half");
        assert!(log.len() / 2 > said, "{} pairs there, pair {said} was said to be written", log.len() / 2);
        let expected = (0..log.len() / 2).flat_map(|i| [format!("{i}a"), format!("{i}b")]);
        assert!(log.into_iter().map(|entry| entry.what.key).eq(expected));
    }
    assert!(said > 50);
}
