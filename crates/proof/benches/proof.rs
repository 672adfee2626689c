//! How long a proof takes, and how many operating points a second: by compensation, and the plain way (each network rebuilt and
//! factored) with the same linear algebra.
//!
//!     cargo bench -p voltwright-proof --bench proof [-- --pairs]
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a benchmark fails by panicking")]

use std::fmt::Write as _;
use std::time::Instant;
use voltwright_circuit::{Base, Edit, Workspace};
use voltwright_job::Job;
use voltwright_proof::pairs;
use voltwright_proof::proof::{Class, Proof};
use voltwright_proof::setup::{Setup, Table};
use voltwright_proof::step::edits;

/// The best of some runs, seconds.
fn best<R>(runs: usize, mut work: impl FnMut() -> R) -> (f64, R) {
    let mut best = (f64::INFINITY, None);
    for _ in 0..runs {
        let start = Instant::now();
        let result = work();
        let seconds = start.elapsed().as_secs_f64();
        if seconds < best.0 {
            best = (seconds, Some(result));
        }
    }
    (best.0, best.1.unwrap())
}

/// A rack of some boards, each with three plugs of eight ways, on a supply of four outputs: about 120 nodes and eight stages with
/// three boards.
fn rack(boards: usize) -> String {
    let mut text = "format = 1\n[job]\ntitle = \"Rack\"\ncountry = \"IE\"\n[rail]\np5 = { nominal = \"5 V\", tolerance = \"5 %\", harm = \"-0.5..7 V\" }\n\
        p12 = { nominal = \"12 V\", tolerance = \"5 %\", harm = \"-0.5..15 V\" }\nm12 = { nominal = \"-12 V\", tolerance = \"10 %\", harm = \"-15..0.5 V\" }\n\
        p24 = { nominal = \"24 V\", tolerance = \"10 %\", harm = \"-0.5..32 V\" }\n"
        .to_owned();
    let ways = ["p5", "p5", "com", "com", "p12", "com", "m12", "p24"];
    let outputs = ["v1.plus", "v1.plus", "v1.minus", "v1.minus", "v2.plus", "v2.minus", "v3.plus", "v4.plus"];
    let mut wires = String::new();
    let mut plugs = String::new();
    for b in 0..boards {
        let _ = write!(text, "[load.b{b}]\nworth = \"irreplaceable\"\n");
        for (rail, amps, cold) in
            [("p5", 2.0, 12.0), ("p12", 0.5, 150.0), ("m12", 0.1, 700.0), ("p24", 0.3, 400.0)]
        {
            let _ =
                writeln!(text, "draws.{rail} = {{ run = \"{amps} A ± 20 %\", cold = \"{cold} Ω ± 20 %\" }}");
        }
        for s in 0..3 {
            let _ = writeln!(text, "sockets.j{s} = {ways:?}");
            let _ = write!(plugs, "[plug.q{b}{s}]\nmates = \"b{b}.j{s}\"\nways = 8\ncontact = \"5 A\"\n");
            for (w, output) in outputs.iter().enumerate() {
                let length = 300 + 40 * b + 10 * s;
                let _ = writeln!(
                    wires,
                    "{{ from = \"supply.{output}\", to = \"q{b}{s}.{}\", size = \"0.75 mm²\", length = \"{length} mm\" }},",
                    w + 1
                );
            }
        }
    }
    text + "[part.inlet]\nkind = \"inlet\"\nterminals = [\"line\", \"neutral\", \"earth\"]\n[part.fuse]\nkind = \"fuse\"\nrating = \"4 A\"\nspeed = \"T\"\n\
        [part.supply]\nkind = \"mains supply\"\ninput = { voltage = \"90..264 V\", frequency = \"47..63 Hz\", current = \"2 A\" }\noverload = \"hiccup\"\n\
        output.v1 = { volts = \"5 V ± 2 %\", limit = \"12 A\", cuts-off-at = \"5.7..6.5 V\" }\noutput.v2 = { volts = \"12 V ± 4 %\", limit = \"3 A\" }\n\
        output.v3 = { volts = \"-12 V ± 5 %\", limit = \"1 A\" }\noutput.v4 = { volts = \"24 V ± 5 %\", limit = \"2 A\" }\n\
        joined = [\"v1.minus\", \"v2.minus\", \"v3.minus\", \"v4.minus\"]\n"
        + &plugs
        + "[wiring]\nwires = [\n{ from = \"inlet.line\", to = \"fuse.1\", size = \"0.75 mm²\", length = \"80 mm\" },\n\
        { from = \"fuse.2\", to = \"supply.line\", size = \"0.75 mm²\", length = \"80 mm\" },\n\
        { from = \"inlet.neutral\", to = \"supply.neutral\", size = \"0.75 mm²\", length = \"80 mm\" },\n\
        { from = \"inlet.earth\", to = \"chassis\", size = \"1.0 mm²\", length = \"80 mm\" },\n\
        { from = \"chassis\", to = \"supply.earth\", size = \"1.0 mm²\", length = \"80 mm\" },\n"
        + &wires
        + "]\n"
}

fn job(text: &str) -> Job {
    let reading = voltwright_job::read(text);
    assert!(reading.is_usable(), "{:?}", reading.diagnostics);
    reading.job
}

/// Gives every so-manieth class at all live stages and corners, as a base with edits; tells how many points that are.
fn each_live_point(proof: &Proof<'_>, step: usize, mut work: impl FnMut(&Base, &[Edit])) -> u64 {
    let (mut edited, mut points) = (Vec::new(), 0);
    for class in proof.classes.iter().step_by(step) {
        for (s, table) in proof.setup.tables.iter().enumerate() {
            let Table::Live(live) = table else { continue };
            for base in live.corners.iter().filter(|_| !class.prepared.steps[s].is_empty()) {
                edits(base.network(), &class.prepared.steps[s], &mut edited);
                work(base, &edited);
                points += 1;
            }
        }
    }
    points
}

/// All classes at all live stages and corners: points solved, and seconds a point by compensation and the plain way.
fn by_the_point(proof: &Proof<'_>) -> (u64, f64, f64) {
    let mut room = Workspace::new();
    let (quick, points) = best(3, || {
        each_live_point(proof, 1, |base, edited| _ = std::hint::black_box(room.solve(base, edited)))
    });
    // The plain way on every seventh class: it takes long.
    let (plain, plainly) = best(1, || {
        each_live_point(proof, 7, |base, edited| {
            _ = std::hint::black_box(base.network().edited(edited).solve())
        })
    });
    (points, quick / points as f64, plain / plainly as f64)
}

/// All classes at all stages at nominal values (with the power off everything at its lowest), operating points alone, on so many
/// threads: points, seconds.
fn at_nominal(proof: &Proof<'_>, threads: usize) -> (u64, f64) {
    let share = proof.classes.len().div_ceil(threads);
    let (seconds, points) = best(5, || {
        std::thread::scope(|scope| {
            let of_share = |classes: &[Class]| {
                let (mut room, mut edited, mut points) = (Workspace::new(), Vec::new(), 0);
                for class in classes {
                    for (s, table) in proof
                        .setup
                        .tables
                        .iter()
                        .enumerate()
                        .filter(|(s, _)| !class.prepared.steps[*s].is_empty())
                    {
                        let base = match table {
                            Table::Cold(cold) => &cold.bases[0],
                            Table::Live(live) => &live.corners[0],
                        };
                        edits(base.network(), &class.prepared.steps[s], &mut edited);
                        let _ = std::hint::black_box(room.solve(base, &edited));
                        points += 1;
                    }
                }
                points
            };
            let workers: Vec<_> =
                proof.classes.chunks(share).map(|c| scope.spawn(move || of_share(c))).collect();
            workers.into_iter().map(|w| w.join().unwrap()).sum::<u64>()
        })
    });
    (points, seconds)
}

fn main() {
    let read =
        |file: &str| std::fs::read_to_string(format!("{}/../../{file}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let jobs = [
        ("desk computer", read("examples/desk-computer/finished.toml")),
        ("synthesizer rack", read("examples/synthesizer-rack/finished.toml")),
        ("plotter", read("examples/plotter/finished.toml")),
        ("rack of 3 boards", rack(3)),
    ];
    for (name, text) in &jobs {
        let job = job(text);
        let (making, _) = best(3, || Setup::new(&job).unwrap());
        let [one, two] = [1, 2].map(|threads| best(3, || Proof::of(Setup::new(&job).unwrap(), threads)));
        let proof = two.1;
        let nodes = proof.setup.tables.iter().map(|t| match t {
            Table::Cold(c) => c.view.network.nodes.len(),
            Table::Live(l) => l.view.network.nodes.len(),
        });
        println!(
            "{name}: {} mistakes ({} classes), {} stages, up to {} nodes, {} operating points",
            proof.mistakes.len(),
            proof.classes.len(),
            proof.setup.stages.len(),
            nodes.max().unwrap_or(0),
            proof.points
        );
        println!(
            "  making ready {:.1} ms; whole proof {:.1} ms on one thread, {:.1} ms on two",
            making * 1e3,
            one.0 * 1e3,
            two.0 * 1e3
        );
        for threads in [1, 2] {
            let (points, seconds) = at_nominal(&proof, threads);
            println!(
                "  every mistake at every stage at nominal values: {points} operating points in {:.1} ms on {threads} thread(s), {:.2} million a second",
                seconds * 1e3,
                points as f64 / seconds / 1e6
            );
        }
        let (points, quick, plain) = by_the_point(&proof);
        println!(
            "  {points} live points: {:.2} µs each by compensation ({:.2} million a second), {:.1} µs the plain way: {:.0} times",
            quick * 1e6,
            1e-6 / quick,
            plain * 1e6,
            plain / quick
        );
        if std::env::args().any(|a| a == "--pairs") && name.starts_with("desk") {
            let start = Instant::now();
            let all = pairs::all(&proof, 2, &|_, _| {});
            let seconds = start.elapsed().as_secs_f64();
            println!(
                "  {} pairs on two threads: {seconds:.2} s, {:.0} pairs a second, {:.2} million points a second ({} points)",
                all.count,
                all.count as f64 / seconds,
                all.points as f64 / seconds / 1e6,
                all.points
            );
        }
    }
}
