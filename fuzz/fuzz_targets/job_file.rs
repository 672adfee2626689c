//! Any text can be read: no panic, every place lies in the text, and what is wrong stands in the file's order.
#![no_main]

use libfuzzer_sys::fuzz_target;
use voltwright_job::{Lines, read};

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let reading = read(text);
    let lines = Lines::new(text);
    for d in &reading.diagnostics {
        assert!(text.get(d.span.clone()).is_some(), "{:?} is no part of the text: {}", d.span, d.message);
        assert!(!d.message.is_empty());
        assert!(lines.line(d.span.start) >= 1 && lines.column(d.span.start) >= 1);
    }
    assert!(reading.diagnostics.is_sorted_by_key(|d| (d.span.start, d.span.end)));
    // A job that may be computed with has all its terminals where its wires say they are.
    if reading.is_usable() {
        let nets = voltwright_job::nets::Nets::of_paths(&reading.job);
        for terminal in voltwright_job::nets::all(&reading.job) {
            assert!(nets.net(terminal) < nets.terminals.count);
        }
    }
});
