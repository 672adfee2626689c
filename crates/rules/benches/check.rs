//! How the time of a whole check grows with the number of wires: prints milliseconds, and the ratio to the main example.
//!
//! `cargo bench -p voltwright-rules`. Times are of this machine at this moment; compare ratios within one run.

#![allow(clippy::disallowed_methods, reason = "a benchmark reads the clock")]

use std::fmt::Write;
use std::path::Path;
use std::time::{Duration, Instant};

/// A rack of `loads` boards on one supply, six wires each.
fn rack(loads: usize) -> String {
    let mut t = String::from("format = 1\n[job]\ntitle = \"rack\"\ncountry = \"IE\"\n[rail]\n");
    t += "p5 = { nominal = \"5 V\", tolerance = \"5 %\", harm = \"-0.5..7 V\" }\n";
    t += "p12 = { nominal = \"12 V\", tolerance = \"5 %\", harm = \"-0.5..15 V\" }\n";
    t += "m12 = { nominal = \"-12 V\", tolerance = \"10 %\", harm = \"-15..0.5 V\" }\n";
    for l in 0..loads {
        // Writing to a String cannot fail.
        let _ = writeln!(
            t,
            "[load.b{l}]\nworth = \"hard to find\"\ndraws.p5 = {{ run = \"0.4 A\", basis = \"typical\" }}\n\
             draws.p12 = {{ run = \"60 mA\", basis = \"typical\" }}\ndraws.m12 = {{ run = \"30 mA\", basis = \"guess\" }}\n\
             sockets.j = [\"com\", \"com\", \"p5\", \"p5\", \"p12\", \"m12\"]\n[plug.q{l}]\nmates = \"b{l}.j\"\nways = 6\ncontact = \"5 A\""
        );
    }
    let (a, b, c) = (0.8 * loads as f64 + 2.0, 0.12 * loads as f64 + 1.0, 0.1 * loads as f64 + 1.0);
    let _ = writeln!(
        t,
        "[part.supply]\nkind = \"mains supply\"\ninput = {{ voltage = \"90..264 V\", inrush = \"20 A\" }}\nefficiency = \"80 %\"\n\
         output.v1 = {{ volts = \"5 V ± 2 %\", limit = \"{a} A\" }}\noutput.v2 = {{ volts = \"12 V ± 3 %\", limit = \"{b} A\" }}\n\
         output.v3 = {{ volts = \"-12 V ± 3 %\", limit = \"{c} A\" }}\njoined = [\"v1.minus\", \"v2.minus\", \"v3.minus\"]\n[wiring]\nwires = ["
    );
    for l in 0..loads {
        for (way, from) in
            [(1, "v1.minus"), (2, "v1.minus"), (3, "v1.plus"), (4, "v1.plus"), (5, "v2.plus"), (6, "v3.plus")]
        {
            let _ = writeln!(
                t,
                "  {{ from = \"supply.{from}\", to = \"q{l}.{way}\", size = \"0.75 mm²\", length = \"{} mm\" }},",
                300 + l % 50
            );
        }
    }
    t += "]\n";
    t
}

/// The shortest of several runs: reading and checking.
fn shortest(text: &str) -> Duration {
    let once = || {
        let start = Instant::now();
        let reading = voltwright_job::read(text);
        assert!(reading.diagnostics.is_empty(), "{:?}", reading.diagnostics);
        std::hint::black_box(voltwright_rules::check(&reading.job));
        start.elapsed()
    };
    (0..5).map(|_| once()).min().unwrap_or_default()
}

fn main() {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/desk-computer/finished.toml");
    let main_example = std::fs::read_to_string(example).unwrap_or_else(|_| rack(4));
    let base = shortest(&main_example);
    println!("{:>6} wires  {:>9.2} ms", 27, base.as_secs_f64() * 1e3);
    for loads in [5, 21, 42, 84, 167, 334] {
        let time = shortest(&rack(loads));
        let ratio = time.as_secs_f64() / base.as_secs_f64();
        println!(
            "{:>6} wires  {:>9.2} ms  {ratio:>7.1} times the main example",
            loads * 6,
            time.as_secs_f64() * 1e3
        );
    }
}
