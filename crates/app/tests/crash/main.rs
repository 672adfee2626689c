//! The server is killed at random moments: what it said was kept is there, what it did not say is there wholly or not at all.
//!
//!     VOLTWRIGHT_BIN=target/release/voltwright VOLTWRIGHT_CRASHES=1000 cargo test --package voltwright --test crash

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]
#![cfg(unix)]

#[path = "../common/mod.rs"]
mod common;

mod bench;
mod dice;
mod disk;
mod kept;

use bench::Bench;
use common::http::Answer;
use common::server::{Folder, Server};
use dice::Dice;
use kept::{Kept, Op};
use std::time::Duration;

/// Crashes without `VOLTWRIGHT_CRASHES`.
const CRASHES: usize = 60;
/// Crashes on the same file before a new one is begun.
const SAME_FILE: usize = 100;
/// Folders at a time.
const THREADS: usize = 2;

#[test]
fn what_was_said_to_be_kept_is_there_after_every_crash() {
    let asked = std::env::var("VOLTWRIGHT_CRASHES").ok();
    let crashes = asked.map_or(CRASHES, |n| n.parse().unwrap());
    let share = crashes.div_ceil(THREADS);
    let tallies: Vec<Tally> = std::thread::scope(|scope| {
        let start =
            |thread| scope.spawn(move || crash_often(thread as u64, share.min(crashes - share * thread)));
        let threads: Vec<_> = (0..THREADS).map(start).collect();
        threads.into_iter().map(|t| t.join().unwrap()).collect()
    });
    let all = tallies.into_iter().fold(Tally::default(), Tally::plus);
    println!("{all:?}");
    assert_eq!(all.crashes, crashes);
    if crashes >= CRASHES {
        // The moments were of every kind, or this would prove little.
        assert!(
            all.answered_at_the_end > 0 && all.unanswered_yet_kept + all.unanswered_and_not_kept > 0,
            "{all:?}"
        );
        assert!(all.resent > 0, "{all:?}");
    }
}

/// What happened in all crashes.
#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    crashes: usize,
    /// Requests before the last, each answered.
    answered: usize,
    /// Batches sent again with the same keys.
    resent: usize,
    /// Last requests whose answer came before the kill.
    answered_at_the_end: usize,
    /// Last requests without answer whose work is there.
    unanswered_yet_kept: usize,
    /// Last requests without answer whose work is not there.
    unanswered_and_not_kept: usize,
}

impl Tally {
    fn plus(self, other: Self) -> Self {
        Self {
            crashes: self.crashes + other.crashes,
            answered: self.answered + other.answered,
            resent: self.resent + other.resent,
            answered_at_the_end: self.answered_at_the_end + other.answered_at_the_end,
            unanswered_yet_kept: self.unanswered_yet_kept + other.unanswered_yet_kept,
            unanswered_and_not_kept: self.unanswered_and_not_kept + other.unanswered_and_not_kept,
        }
    }
}

fn crash_often(seed: u64, crashes: usize) -> Tally {
    let mut dice = Dice::new(seed);
    let mut tally = Tally::default();
    while tally.crashes < crashes {
        let folder = Folder::new();
        let (mut server, mut bench, mut kept) = Bench::begin(&folder);
        for _ in 0..SAME_FILE.min(crashes - tally.crashes) {
            let last = crash(server, bench, &mut kept, &mut dice, &mut tally);
            // Who mends the file after the crash: the store as it is opened here, or the server as it starts.
            let check_first = dice.below(2) == 0;
            if check_first {
                check(&folder, &mut kept, &last, &mut tally);
            }
            server = Server::start(folder.path());
            if !check_first {
                check(&folder, &mut kept, &last, &mut tally);
            }
            bench = Bench::again(&server, &kept);
            tally.crashes += 1;
        }
        drop(server);
    }
    tally
}

/// The last request of a server that was killed.
struct Last {
    op: Op,
    is_answered: bool,
}

/// Some requests that are answered; one more, and the kill.
fn crash(server: Server, mut bench: Bench, kept: &mut Kept, dice: &mut Dice, tally: &mut Tally) -> Last {
    for _ in 0..dice.below(6) {
        let op = kept.next(dice);
        tally.resent += usize::from(kept.knows_some(&op));
        let answer = bench.ask(kept, &op);
        assert!(is_done(&op, &answer), "{op:?}: {} {}", answer.status, answer.text());
        kept.take(&op);
        tally.answered += 1;
    }
    let op = kept.next(dice);
    bench.send(kept, &op);
    // Half of the kills come while the request is on its way or being written, half when it may be answered.
    let longest = if dice.below(2) == 0 { 3001 } else { 25_001 };
    std::thread::sleep(Duration::from_micros(dice.below(longest)));
    server.kill();
    // What the server wrote before the kill still comes.
    let is_answered = bench.answer().is_ok_and(|answer| is_done(&op, &answer));
    Last { op, is_answered }
}

fn is_done(op: &Op, answer: &Answer) -> bool {
    answer.status == if matches!(op, Op::Read { .. }) { 200 } else { 303 }
}

/// What the file has must be what was answered, with the last request wholly or, if it was not answered, not at all.
fn check(folder: &Folder, kept: &mut Kept, last: &Last, tally: &mut Tally) {
    let found = Kept::found(folder, kept);
    let mut with_last = kept.clone();
    with_last.take(&last.op);
    let has_last = found == with_last;
    assert!(has_last || !last.is_answered, "{:?} was answered and is not there", last.op);
    assert!(
        has_last || found == *kept,
        "neither with the last nor without: {found:?}\n{kept:?}\n{:?}",
        last.op
    );
    match (last.is_answered, has_last) {
        (true, _) => tally.answered_at_the_end += 1,
        (false, true) => tally.unanswered_yet_kept += 1,
        (false, false) => tally.unanswered_and_not_kept += 1,
    }
    *kept = found;
}
