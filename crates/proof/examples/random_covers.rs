//! Writes random cover problems, solved, for `oracle/cover.py` to solve again.
//!
//!     random_covers COUNT SEED DIRECTORY
//!
//! If the directory's name ends in `large`, each has 1500 rows and 6000 columns. If it begins with `time`, nothing is
//! written: size, work and milliseconds of each problem are printed.
#![allow(clippy::disallowed_methods, reason = "a tool reads its arguments and measures time")]

#[path = "../tests/cover/problems.rs"]
mod problems;

use std::fmt::Write as _;
use std::time::Instant;
use voltwright_proof::cover::{Column, Cover, least_cost};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [count, seed, directory] = &arguments[..] else {
        return Err("give a count, a seed and a directory".into());
    };
    let (count, seed): (u64, u64) = (count.parse()?, seed.parse()?);
    for i in 0..count {
        let seed_here = seed.wrapping_mul(1_000_003).wrapping_add(i);
        let (columns, rows) = match directory.as_str() {
            large if large.ends_with("large") => {
                problems::harness(&mut problems::Dice::new(seed_here), 80, 1500, 6000)
            }
            _ => problems::mixed(seed_here),
        };
        let start = Instant::now();
        let cover = least_cost(&columns, rows, EFFORT)?;
        let ms = start.elapsed().as_secs_f64() * 1e3;
        if directory.starts_with("time") {
            let Cover { cost, bound, explored, .. } = cover;
            let gap = cost - bound;
            println!(
                "{i:4}  {rows:5} rows  {:5} columns  cost {cost:5}  gap {gap:3}  explored {explored:6}  {ms:9.3} ms",
                columns.len()
            );
        } else {
            std::fs::write(format!("{directory}/cover-{seed}-{i:04}.json"), json(&columns, rows, &cover))?;
        }
    }
    Ok(())
}

/// Problems split at most.
const EFFORT: u64 = 1_000;

fn json(columns: &[Column], rows: usize, cover: &Cover) -> String {
    let mut text = format!("{{\"rows\": {rows}, \"cost\": {}, \"bound\": {}, ", cover.cost, cover.bound);
    let _ = write!(text, "\"chosen\": {:?}, \"columns\": [", cover.columns);
    for (j, column) in columns.iter().enumerate() {
        let comma = if j == 0 { "" } else { "," };
        let covered: Vec<usize> = column.rows.iter().collect();
        let _ = write!(text, "{comma}\n{{\"cost\": {}, \"rows\": {covered:?}}}", column.cost);
    }
    text + "\n]}\n"
}
