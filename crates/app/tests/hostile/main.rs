//! The workshop under attack: requests that no page of ours sends. Each is a named case with what must be answered; after all
//! of them the server still answers, the file is sound, and what was entered before is as it was.
//!
//! Devices of the network are attacked in process, beside the code: `src/web/tests.rs`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]
#![cfg(unix)]

#[path = "../common/mod.rs"]
mod common;

mod archives;
mod bodies;
mod case;
mod framing;
mod names;
mod pages;
mod paths;
mod pictures;
mod scripts;
mod slow;
mod texts;
mod values;
mod world;

use case::Case;
use common::server::{Folder, Server};
use world::World;

/// The fewest cases that count as an attack.
const FEWEST: usize = 100;

#[test]
fn hostile_requests_change_nothing_and_reveal_nothing() {
    let folder = Folder::new();
    let server = Server::start(folder.path());
    let mut world = World::begin(server.port);
    let before = world::everything(folder.path());

    let refused: [fn(&World) -> Vec<Case>; 7] = [
        names::cases,
        paths::cases,
        bodies::cases,
        framing::cases,
        values::cases,
        archives::cases,
        pictures::cases,
    ];
    // Those who take their time are waited for meanwhile.
    let mut told: Vec<String> = std::thread::scope(|scope| {
        let slow = scope.spawn(|| slow::run(server.port));
        let run = |case: Case| case.run(server.port);
        let told: Vec<String> = refused.iter().flat_map(|cases| cases(&world)).map(run).collect();
        told.into_iter().chain(slow.join().unwrap()).collect()
    });
    let after = world::everything(folder.path());
    world.visit.reconnect();
    told.extend(scripts::run(&mut world));
    told.extend(texts::run(&mut world));
    told.extend(values::taken_as_they_are(&mut world));

    println!("{}\n{} cases", told.join("\n"), told.len());
    let failed: Vec<&String> = told.iter().filter(|line| line.starts_with(case::WRONG)).collect();
    assert!(failed.is_empty(), "{failed:#?}");
    assert!(told.len() >= FEWEST, "{} cases", told.len());
    assert_eq!(after, before, "a request that was refused changed something");
    world.is_unharmed(&folder, &before);
    world.honest_routes_work();
}
