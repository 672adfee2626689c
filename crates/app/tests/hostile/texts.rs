//! Job files that were made to wear a reader out: each is kept as a text with errors, or refused, and the server lives.

use crate::case::judged;
use crate::world::World;

/// Brings each in, and looks at what came of it.
pub fn run(world: &mut World) -> Vec<String> {
    let repeated = |before: &str, piece: &str, count: usize, after: &str| {
        format!("{before}{}{after}\n", piece.repeat(count))
    };
    let texts = [
        ("brackets without end", repeated("x = ", "[", 1 << 20, "")),
        ("brackets that close", repeated("x = ", "[", 1 << 19, &"]".repeat(1 << 19))),
        ("tables within tables", repeated("x = ", "{a=", 1 << 18, "1")),
        (
            "tables within tables that close",
            repeated("x = ", "{a=", 1 << 17, &format!("1{}", "}".repeat(1 << 17))),
        ),
        ("a key of 200,000 parts", repeated("a", ".a", 200_000, " = 1")),
        ("a table of 200,000 parts", repeated("[a", ".a", 200_000, "]\nx = 1")),
        ("a table of tables of 200,000 parts", repeated("[[a", ".a", 200_000, "]]\nx = 1")),
        ("100,000 tables", (0..100_000).map(|i| format!("[part.p{i}]\n")).collect()),
        ("a million line ends", "\n".repeat(1 << 20)),
        ("a text that never ends", format!("title = \"{}", "x".repeat(1 << 20))),
        ("a number of a million digits", format!("format = {}\n", "9".repeat(1 << 20))),
        (
            "a value of a million digits",
            format!("format = 1\n[rail]\np5 = {{ nominal = \"{} V\" }}\n", "9".repeat(1 << 20)),
        ),
        (
            "letters that turn the direction",
            "format = 1\n[job]\ntitle = \"\u{202e}drowssap\u{2066}\u{200b}\u{feff}\"\n".to_owned(),
        ),
        ("a NUL", "format = 1\n[job]\ntitle = \"a\0b\"\n".to_owned()),
    ];
    let mut told = Vec::new();
    for (name, text) in texts {
        let bytes = world.visit.uploaded("x.toml", text.as_bytes());
        let answer =
            world.visit.ask(&bytes).unwrap_or_else(|e| panic!("a job file of {name}: the server ended: {e}"));
        told.push(judged(&format!("a job file of {name}"), Some(&answer), &[303, 400], ""));
        if let Some(at) = answer.header("location") {
            let page = world.visit.get(&format!("{at}/first-power")).unwrap();
            told.push(judged(&format!("first power of {name}"), Some(&page), &[200, 422], ""));
        }
    }
    told
}
