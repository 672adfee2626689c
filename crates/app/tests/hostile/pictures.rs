//! Pictures that are none, or came without their token, and addresses that are no picture's; parts that are copied from nowhere.

use crate::case::{Case, WRONG, judged};
use crate::common::visit::{file, part};
use crate::world::{DOT, JOB, World};
use voltwright_workshop::Hash;

/// What the honest picture's form says.
const WORDS: [&str; 3] = ["a note", "wire side", ""];

/// All of them.
pub fn cases(world: &World) -> Vec<Case> {
    [content(world), parts(world), addresses(world), shelf(world)].into_iter().flatten().collect()
}

/// What is no picture, whatever it is called.
fn content(world: &World) -> Vec<Case> {
    let sent = |name: &str, bytes: &[u8]| {
        let sent = world.visit.pictured(JOB, WORDS, "plug.png", bytes);
        Case::new(format!("as a picture: {name}"), sent, &[400]).says("not a JPEG, PNG or WebP picture")
    };
    let svg = br#"<svg xmlns="http://www.w3.org/2000/svg" onload="evil()"><script>evil()</script></svg>"#;
    let large = [DOT, &vec![0; 21 << 20]].concat();
    let large = world.visit.pictured(JOB, WORDS, "plug.png", &large);
    vec![
        sent("SVG", svg),
        sent("SVG behind a declaration", &[b"<?xml version=\"1.0\"?>\n", &svg[..]].concat()),
        sent("HTML", b"<!doctype html><script>evil()</script>"),
        sent("HTML with a PNG behind it", &[b"<script>evil()</script>", DOT].concat()),
        sent("a PNG behind a blank", &[b" ", DOT].concat()),
        sent("a PNG whose line ends were changed", &[b"\x89PNG\n\x1a\n", &DOT[8..]].concat()),
        sent("GIF", b"GIF89a\x01\0\x01\0\0\0\0;"),
        sent("PDF", b"%PDF-1.7\n"),
        sent("a program", b"\x7fELF\x02\x01\x01"),
        sent("an archive", b"PK\x03\x04"),
        sent("the head of a JPEG, cut short", &[0xff, 0xd8]),
        sent("a container that is no WebP", b"RIFF\x04\0\0\0WAVE"),
        sent("an empty file", b""),
        Case::new("a picture of 21 MiB", large, &[400]).says("too large"),
    ]
}

/// Forms of a picture with something amiss.
fn parts(world: &World) -> Vec<Case> {
    let token = part("token", &world.visit.token);
    let (view, picture, end) = (part("view", "label"), file("plug.png", DOT), b"--cut--\r\n");
    let sent = |name: &str, pieces: &[&[u8]], right, says: &'static str| {
        let bytes = world.visit.sent_parts(&format!("/job/{JOB}/picture"), &pieces.concat());
        Case::new(format!("a picture {name}"), bytes, right).says(says)
    };
    let worded = |name: &str, words: [&str; 3], says: &'static str| {
        Case::new(format!("a picture with {name}"), world.visit.pictured(JOB, words, "x.png", DOT), &[400])
            .says(says)
    };
    let (token, view) = (token.as_bytes(), view.as_bytes());
    let stale = "not of this visit";
    vec![
        sent("without a token", &[view, &picture, end], &[403], stale),
        sent("with the token last", &[view, &picture, token, end], &[403], stale),
        sent("with the token in the file's name", &[&file(&world.visit.token, DOT), end], &[403], stale),
        sent("without a file", &[token, view, end], &[400], "No picture was chosen"),
        sent("with two files", &[token, view, &picture, &picture, end], &[400], "More than one"),
        sent(
            "that is cut off",
            &[token, view, &picture[..picture.len() - 9]],
            &[400],
            "did not arrive whole",
        ),
        sent("without a view", &[token, &picture, end], &[400], "choose its view"),
        worded("a view of its own", ["", "from above", ""], "choose its view"),
        worded("a view with more behind", ["", "label, pin 1 here", ""], "choose its view"),
        worded("too much of pin 1", ["", "label", &"x".repeat(61)], "letters at most"),
        worded("a note of 70,000 letters", [&"n".repeat(70_000), "label", ""], "too l"),
        Case::new("a picture of no job", world.visit.pictured("nothing", WORDS, "x.png", DOT), &[404]),
        Case::new("a picture of a job above", world.visit.pictured("..", WORDS, "x.png", DOT), &[404]),
    ]
}

/// The honest picture under other names than its own.
fn addresses(world: &World) -> Vec<Case> {
    let hash = Hash::of(DOT).to_string();
    let others = [
        hash.to_uppercase(),
        format!("{hash}.png"),
        format!("{hash}0"),
        format!("{hash}%00"),
        format!("{hash}%20"),
        format!("./{hash}"),
        format!("{hash}/"),
        format!("{hash}/../../workshop.db"),
        hash[1..].to_owned(),
        "0".repeat(64),
        "%30".repeat(64),
        "*".repeat(64),
        String::new(),
    ];
    let one = |name: &String| {
        let bytes = world.visit.request(&format!("GET /picture/{name}"), &[], b"");
        Case::new(format!("GET /picture/{name}"), bytes, &[404])
    };
    others.iter().map(one).collect()
}

/// Parts of no job, of no revision, into no job.
fn shelf(world: &World) -> Vec<Case> {
    let get = |query: &str, right| {
        let path = format!("/shelf/part{}", query.replace("JOB", JOB));
        Case::new(format!("GET {path}"), world.visit.request(&format!("GET {path}"), &[], b""), right)
    };
    let copied = |name: &str, [job, part, revision, into]: [&str; 4]| {
        let fields = [("job", job), ("part", part), ("revision", revision), ("into", into)];
        Case::new(format!("copied {name}"), world.visit.posted("/shelf/part", &fields), &[400, 404])
    };
    vec![
        get("", &[400]),
        get("?job=JOB", &[400]),
        get("?job=JOB&part=", &[404]),
        get("?job=JOB&part=nothing", &[404]),
        get("?job=JOB&part=fuse%00", &[404]),
        get("?job=JOB&part=fuse.rating", &[404]),
        get("?job=..%2f..&part=fuse", &[404]),
        get("?job=nothing&part=fuse", &[404]),
        copied("from no job", ["nothing", "fuse", "1", JOB]),
        copied("into no job", [JOB, "fuse", "1", "nothing"]),
        copied("into nothing", [JOB, "fuse", "1", ""]),
        copied("what is no part", [JOB, "job", "1", JOB]),
        copied("from a revision to come", [JOB, "fuse", "4294967295", JOB]),
        copied("from a revision below zero", [JOB, "fuse", "-1", JOB]),
        copied("from a revision that is no number", [JOB, "fuse", "NaN", JOB]),
    ]
}

/// A picture that is a page to whoever guesses: it is taken, since it begins as a picture does, and given back as that alone.
pub fn guessed(world: &mut World, job: &str) -> String {
    let name = "a picture with script in it is a picture";
    let bytes = [DOT, b"<html><script>evil()</script></html>"].concat();
    let sent = world.visit.pictured(job, WORDS, "page.html", &bytes);
    assert_eq!(world.visit.ask(&sent).unwrap().status, 303);
    let answer = world.visit.get(&format!("/picture/{}", Hash::of(&bytes))).unwrap();
    let line = judged(name, Some(&answer), &[200], "");
    let is_picture = answer.header("content-type") == Some("image/png") && answer.body == bytes;
    let is_kept = answer.header("cache-control") == Some("private, max-age=31536000, immutable");
    if is_picture && is_kept { line } else { format!("{WRONG} {line}: {:?}", answer.headers) }
}
