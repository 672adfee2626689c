//! `voltwright check`, as it is run.

mod support;

use support::{check, command, example, nameplate, run, run_in};

/// Columns of a line; what these tests print is narrow.
fn columns(line: &str) -> usize {
    line.chars().count()
}

#[test]
fn the_exit_status_says_whether_anything_stops() {
    let stop = check(&nameplate("IE"), &[]);
    assert_eq!(stop.status, 1, "{}", stop.out);
    assert!(stop.out.contains("STOP") && stop.err.is_empty(), "{}", stop.err);
    let none = check(&nameplate("JP"), &[]);
    assert_eq!(none.status, 0, "{}", none.out);
    assert!(!none.out.contains("STOP"));
    let wrong = check("format = 1\n[job]\ntitle = 1\n", &[]);
    assert_eq!((wrong.status, wrong.out.as_str()), (2, ""));
    assert!(wrong.complains("standard input:3:9:"), "{}", wrong.err);
}

#[test]
fn all_mistakes_of_a_file_are_shown_at_their_characters() {
    let job = "format = 1\n[job]\ntitle = \"電源\"\ncuontry = \"IE\"\n[rail]\n\tp5 = { nominal = \"5 A\" }\n";
    let told = check(job, &[]).err;
    assert!(
        told.contains("    4 │ cuontry = \"IE\"\n      │ ^^^^^^^\n    hint: did you mean `country`?\n"),
        "{told}"
    );
    // The tab is shown as four columns.
    let under = format!(
        "    6 │     p5 = {{ nominal = \"5 A\" }}\n      │ {}^\n",
        " ".repeat("    p5 = { nominal = \"5 ".len())
    );
    assert!(told.contains(&under), "{told}");
    assert!(told.ends_with("2 errors in standard input; nothing was computed.\n"), "{told}");
}

#[test]
fn the_main_example_is_set_to_the_page() {
    for wanted in ["30", "40", "80", "100", "200"] {
        let mut c = command(&["check", &example()]);
        c.env("COLUMNS", wanted);
        let run = run_in(c, b"");
        assert!(matches!(run.status, 0 | 1), "{}", run.err);
        let most = wanted.parse::<usize>().unwrap().min(100);
        for line in run.out.lines() {
            assert!(columns(line) <= most, "{wanted}: {line:?}");
        }
        assert!(!run.out.contains('\x1b'));
    }
    let piped = run(&["check", &example()]).out;
    assert!(piped.lines().all(|l| columns(l) <= 80), "{piped}");
    assert!(piped.lines().any(|l| columns(l) > 70), "{piped}");
}

#[test]
fn cautions_stand_before_the_findings_and_nothing_is_called_safe() {
    let out = run(&["check", &example()]).out;
    let caution = out.find("Mains can kill").expect("a caution");
    assert!(caution < out.find("At the wall").expect("findings"), "{out}");
    assert!(caution < out.find("Cure:").expect("a cure"));
    assert!(!out.to_lowercase().split(|c: char| !c.is_alphabetic()).any(|w| w == "safe"), "{out}");
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("does not replace local codes"), "{out}");
}

#[test]
fn colour_is_written_only_where_it_is_wanted() {
    let coloured = |set: &[(&str, &str)]| {
        let mut c = command(&["check", "-"]);
        c.envs(set.iter().copied());
        run_in(c, nameplate("IE").as_bytes()).out.contains("\x1b[")
    };
    assert!(!coloured(&[]));
    assert!(coloured(&[("CLICOLOR_FORCE", "1")]));
    assert!(!coloured(&[("CLICOLOR_FORCE", "0")]));
    assert!(!coloured(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
}

#[test]
fn colour_changes_nothing_but_colour() {
    let mut c = command(&["check", &example()]);
    c.env("CLICOLOR_FORCE", "1");
    let mut plain = String::new();
    let coloured = run_in(c, b"").out;
    let mut rest = coloured.as_str();
    while let Some((before, after)) = rest.split_once('\x1b') {
        plain.push_str(before);
        rest = after.split_once('m').expect("a style ends with m").1;
    }
    plain.push_str(rest);
    assert_eq!(plain, run(&["check", &example()]).out);
}

#[test]
fn why_opens_the_working_down_to_its_sources() {
    let run = check(&nameplate("IE"), &["--why", "mains-peak"]);
    assert_eq!(run.status, 1, "the verdict is the job's, whatever is shown");
    assert!(run.out.contains("√2") && run.out.contains("EN 50160"), "{}", run.out);
    assert!(!run.out.contains("STOP"), "only that code is shown: {}", run.out);
}

#[test]
fn why_answers_for_a_code_without_a_finding_and_asks_for_a_near_one() {
    let codes: Vec<&str> =
        voltwright_rules::rule::RULES.iter().flat_map(|r| r.codes).map(|c| c.name).collect();
    let job = "format = 1\n[job]\ntitle = \"T\"\n";
    for code in codes {
        let run = check(job, &["--why", code]);
        assert_eq!(run.status, 0, "{code}: {}", run.err);
        assert!(run.out.contains(code), "{}", run.out);
    }
    let slip = check(job, &["--why", "mains-paek"]);
    assert_eq!((slip.status, slip.out.as_str()), (2, ""));
    assert!(slip.complains("did you mean `mains-peak`?"), "{}", slip.err);
    let nonsense = check(job, &["--why", "xyzzy"]);
    assert!(nonsense.status == 2 && nonsense.complains("docs/codes.md"), "{}", nonsense.err);
}

#[test]
fn what_is_missing_is_asked_for() {
    let run = check("format = 1\n[job]\ntitle = \"T\"\n", &[]);
    assert!(run.out.contains("What could not be judged") && run.out.contains("job.country"), "{}", run.out);
    assert!(run.out.contains("Country not entered"), "{}", run.out);
}

#[test]
fn a_file_that_cannot_be_read_is_told_with_what_to_do() {
    let run = run(&["check", "examples/desk-computer/finshed.toml"]);
    assert_eq!(run.status, 2);
    assert!(run.complains("no such file"), "{}", run.err);
    assert!(run.complains("did you mean `examples/desk-computer/finished.toml`?"), "{}", run.err);
    assert_eq!(support::run(&["check", "examples"]).status, 2);
    let binary = run_in(command(&["check", "-"]), b"format = 1\n\xff\xfe");
    assert!(binary.status == 2 && binary.complains("line 2 is not UTF-8"), "{}", binary.err);
    let zero = run_in(command(&["check", "-"]), b"format = 1\n\0");
    assert!(zero.status == 2 && zero.complains("zero byte"), "{}", zero.err);
}

#[test]
fn nothing_in_a_job_steers_the_terminal() {
    let run = check("format = 1\n[job]\ntitle = \"a\\u001b[2Jb\"\nmade = 1\n\"\\u001b[2J\" = 2\n", &[]);
    assert!(!run.err.contains('\x1b') && !run.out.contains('\x1b'), "{:?}", run.err);
    let run = check("format = 1\n[job]\ntitle = \"a\\u001b[2Jb\"\n", &[]);
    assert!(run.status == 0 && !run.out.contains('\x1b') && run.out.contains('\u{FFFD}'), "{:?}", run.out);
}

/// The reader has gone away before anything was written.
#[test]
fn a_broken_pipe_is_no_error() {
    use std::process::Stdio;
    for arguments in [&["tables", "mains"][..], &["network", "examples/desk-computer/finished.toml"]] {
        let mut child = command(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(0));
        assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    }
}

/// Whatever stands in a file, the answer is an exit status of ours and never a panic.
#[test]
fn a_file_that_ends_anywhere_is_read_or_refused() {
    let text = std::fs::read_to_string(example()).unwrap();
    for part in 0..40 {
        let end = text.floor_char_boundary(text.len() * part / 40);
        let run = check(&text[..end], &[]);
        assert!(matches!(run.status, 0..=2), "{end}: {}", run.err);
    }
}
