//! Archives that are not as they should be: each is refused, the refusal names the file and what is wrong with it, and
//! nothing of it is in the store.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../common/mod.rs"]
mod common;
mod files;

use std::io::Write;

use common::{Folder, full_job, png};
use files::{Files, patched};
use serde_json::{Value, json};
use voltwright_workshop::{ArchiveError, Moment, archive};
use zip::write::SimpleFileOptions;

/// Tries each archive; the sentence of its refusal must name the file and say what is wrong.
fn all_refused(cases: &[(&str, Vec<u8>, &str, &str)]) {
    let folder = Folder::new();
    let store = folder.store();
    full_job(&store);
    let before = store.jobs("").unwrap();
    for (label, bytes, file, wrong) in cases {
        let refused = archive::import(&store, bytes, Moment(500)).err();
        let refused = refused.unwrap_or_else(|| panic!("{label}: was taken"));
        let sentence = refused.to_string();
        assert!(sentence.contains(file) && sentence.contains(wrong), "{label}: {sentence}");
        assert!(sentence.to_lowercase().contains("nothing was changed"), "{label}: {sentence}");
        assert!(!matches!(refused, ArchiveError::Store(_)), "{label}: {sentence}");
        assert_eq!(store.jobs("").unwrap(), before, "{label}");
    }
    store.check().unwrap();
    // The store still takes the good one.
    archive::import(&store, &Files::good().zip(), Moment(501)).unwrap();
}

#[test]
fn what_is_no_zip() {
    let good = Files::good().zip();
    all_refused(&[
        ("nothing", Vec::new(), "", "not an archive"),
        ("a picture", png(b"x"), "", "not an archive"),
        ("cut off", good[..good.len() - 30].to_vec(), "", "not an archive"),
        ("a zip of nothing", Files(Vec::new()).zip(), "manifest.json", "is missing"),
    ]);
}

#[test]
fn paths_that_lead_elsewhere() {
    let good = Files::good();
    let with = |path: &str| good.clone().with("x-x/evil.txt", b"x").sealed().zip_with_path(path);
    all_refused(&[
        ("a step up", with("../evil.txt!"), "../evil.txt!", "path"),
        ("a step up within", with("a/../evil.tx"), "a/../evil.tx", "path"),
        ("absolute", with("/etc/evil.tx"), "/etc/evil.tx", "path"),
        ("backslash", with("..\\evil.txt!"), "evil.txt!", "path"),
        ("a drive", with("C:/evil.txt!"), "C:/evil.txt!", "path"),
        ("an empty part", with("a//evil.txt!"), "a//evil.txt!", "path"),
        (
            "no text",
            good.clone().with("x-x/evil.txt", b"x").sealed().zip_with_bytes(b"a/\xff\xfeevil.txt"),
            "evil.tx",
            "path",
        ),
    ]);
}

#[test]
fn what_a_zip_can_hide() {
    let good = Files::good();
    let plain = SimpleFileOptions::default();
    let twice = patched(good.clone().with("job.tomX", b"other").sealed().zip(), b"job.tomX", b"job.toml");
    let folder = good.zip_and(|zip| zip.add_directory("history/", plain).unwrap());
    let link = good.zip_and(|zip| zip.add_symlink("link", "/etc/passwd", plain).unwrap());
    let many = good.zip_and(|zip| {
        for i in 0..20_001 - good.0.len() {
            zip.start_file(format!("many/{i}"), plain).unwrap();
        }
    });
    all_refused(&[
        ("two of one name", twice, "a file of the archive", "there twice"),
        ("a folder", folder, "history/", "path"),
        ("a link", link, "link", "not a plain file"),
        ("encrypted", encrypted(good.zip()), "manifest.json", "not a plain file"),
        ("too many", many, "many/19993", "too many (at most 20000)"),
        ("the same bytes for two", overlapping(&good), "a file of the archive", "lies over another"),
        ("a packing unknown", other_method(good.zip()), "manifest.json", "cannot be unpacked"),
        ("a wrong check sum", patched_body(&good), "history/0001.toml", "cannot be unpacked"),
    ]);
}

/// The places in a zip where a header of this kind begins (PKWARE's APPNOTE, 4.3.7 and 4.3.12, from memory).
fn headers(bytes: &[u8], kind: [u8; 4]) -> Vec<usize> {
    (0..bytes.len() - 4).filter(|&i| bytes[i..].starts_with(&kind)).collect()
}

const LOCAL: [u8; 4] = *b"PK\x03\x04";
const CENTRAL: [u8; 4] = *b"PK\x01\x02";

/// Each file's flag says that it is encrypted.
fn encrypted(mut bytes: Vec<u8>) -> Vec<u8> {
    for (kind, flags) in [(LOCAL, 6), (CENTRAL, 8)] {
        headers(&bytes, kind).into_iter().for_each(|at| bytes[at + flags] |= 1);
    }
    bytes
}

/// Each file is packed in a way nobody knows.
fn other_method(mut bytes: Vec<u8>) -> Vec<u8> {
    for (kind, method) in [(LOCAL, 8), (CENTRAL, 10)] {
        headers(&bytes, kind).into_iter().for_each(|at| bytes[at + method] = 77);
    }
    bytes
}

/// The last two entries of the list point to the bytes of one file.
fn overlapping(good: &Files) -> Vec<u8> {
    let mut bytes = good.clone().with("x1", b"same").with("x2", b"same").sealed().zip();
    let central = headers(&bytes, CENTRAL);
    let [.., one, two] = central[..] else { panic!("{central:?}") };
    let offset: [u8; 4] = bytes[one + 42..one + 46].try_into().unwrap();
    bytes[two + 42..two + 46].copy_from_slice(&offset);
    bytes
}

/// One byte of a file that is stored as it is, changed.
fn patched_body(good: &Files) -> Vec<u8> {
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    let text = good.get("history/0001.toml").to_vec();
    let bytes = good.clone().without("history/0001.toml").zip_and(|zip| {
        zip.start_file("history/0001.toml", stored).unwrap();
        zip.write_all(&text).unwrap();
    });
    patched(bytes, b"title = 'one'\n", b"title = 'One'\n")
}

#[test]
fn more_than_it_says() {
    let good = Files::good();
    let zeros = vec![b' '; (32 << 20) + 1];
    let says = |bytes: u64| {
        move |manifest: &mut Value| {
            let rows = manifest["files"].as_array_mut().unwrap();
            rows.iter_mut().find(|row| row["path"] == "job.toml").unwrap()["bytes"] = bytes.into();
        }
    };
    let bomb = good.clone().with("job.toml", &zeros);
    let lying = lying_header(bomb.clone().manifest(says(10)).zip());
    // Were it unpacked to its end, its check sum would be found to be wrong.
    let wrong_end = wrong_sum(bomb.clone().manifest(says(10)).zip());
    let listed: Vec<Value> =
        (0..9).map(|i| json!({"path": format!("big/{i}"), "bytes": 32 << 20, "sha256": ""})).collect();
    let too_much = good.clone().manifest(|m| m["files"] = listed.into());
    let long: Vec<Value> =
        (0..20_001).map(|i| json!({"path": format!("n/{i}"), "bytes": 0, "sha256": ""})).collect();
    all_refused(&[
        (
            "a bomb",
            bomb.clone().manifest(says(10)).zip(),
            "job.toml",
            "has 11 bytes, where the manifest says 10",
        ),
        ("a bomb whose header lies", lying, "job.toml", "cannot be unpacked"),
        ("a bomb with a wrong end", wrong_end, "job.toml", "has 11 bytes, where the manifest says 10"),
        ("a large file, listed", bomb.sealed().zip(), "job.toml", "too large (at most 33554432 bytes)"),
        ("an endless size", good.clone().manifest(says(u64::MAX)).zip(), "job.toml", "too large"),
        ("too much in all", too_much.zip(), "big/7", "too much (at most 268435456 bytes in all)"),
        (
            "a list of too many",
            good.clone().manifest(|m| m["files"] = long.into()).zip(),
            "n/19999",
            "too many",
        ),
        ("a large manifest", good.with("manifest.json", &zeros).zip(), "manifest.json", "too large"),
    ]);
}

/// The headers of `job.toml` say that it unpacks to 10 bytes.
fn lying_header(bytes: Vec<u8>) -> Vec<u8> {
    with_field(bytes, [22, 24], 10)
}

/// The headers of `job.toml` have another check sum.
fn wrong_sum(bytes: Vec<u8>) -> Vec<u8> {
    with_field(bytes, [14, 16], 0x1234_5678)
}

/// A field of both headers of `job.toml`, at these places in them, is this number.
fn with_field(mut bytes: Vec<u8>, places: [usize; 2], number: u32) -> Vec<u8> {
    let mut changed = 0;
    for (kind, place, name) in [(LOCAL, places[0], 30), (CENTRAL, places[1], 46)] {
        for at in headers(&bytes, kind) {
            if bytes[at + name..].starts_with(b"job.toml") {
                bytes[at + place..at + place + 4].copy_from_slice(&number.to_le_bytes());
                changed += 1;
            }
        }
    }
    assert_eq!(changed, 2);
    bytes
}

#[test]
fn a_manifest_that_does_not_read() {
    let good = Files::good();
    let edit = |change: fn(&mut Value)| good.clone().manifest(change).zip();
    let cases = [
        ("absent", good.clone().without("manifest.json").zip(), "is missing"),
        ("no JSON", good.clone().with("manifest.json", b"{").zip(), "cannot be read"),
        ("deep", good.clone().with("manifest.json", "[".repeat(100_000).as_bytes()).zip(), "cannot be read"),
        ("a newer format", edit(|m| m["format"] = 2.into()), "format 2"),
        ("no format", edit(|m| m["format"] = Value::Null), "cannot be read"),
        ("a key unknown", edit(|m| m["extra"] = 1.into()), "extra"),
        ("no name", edit(|m| m["name"] = "".into()), "name"),
        ("a name that is a path", edit(|m| m["name"] = "../x".into()), "name"),
        ("no revision", edit(|m| m["revisions"] = json!([])), "numbered"),
        ("a revision left out", edit(|m| m["revisions"][0]["number"] = 3.into()), "numbered"),
        ("a run left out", edit(|m| m["runs"][0]["number"] = 2.into()), "numbered"),
        ("a run from nowhere", edit(|m| m["runs"][1]["revision"] = 3.into()), "run 2"),
        ("a time beyond all", edit(|m| m["created"] = u64::MAX.into()), "time"),
        ("another title", edit(|m| m["title"] = "other".into()), "does not fit"),
        ("a hash that is none", edit(|m| m["pictures"][0]["hash"] = "../x".into()), "hash"),
        ("a picture twice", edit(|m| m["pictures"][1] = m["pictures"][0].clone()), "twice"),
        ("a long note", edit(|m| m["pictures"][0]["note"] = "n".repeat(65_537).into()), "too large"),
    ];
    let named = cases.map(|(label, bytes, wrong)| (label, bytes, "manifest.json", wrong));
    all_refused(&named);
}

#[test]
fn files_that_do_not_fit() {
    let good = Files::good();
    let (png_path, jpg_path) = (good.picture(".png"), good.picture(".jpg"));
    let twice = |m: &mut Value| {
        let row = m["files"][0].clone();
        m["files"].as_array_mut().unwrap().push(row);
    };
    let renamed = png_path.replace(".png", ".jpg");
    let text = good.clone().with(&png_path, b"<script>").sealed();
    all_refused(&[
        (
            "changed",
            good.clone().with("job.toml", "title = 'TWO'\r\n# Ω\n".as_bytes()).zip(),
            "job.toml",
            "was changed: its SHA-256",
        ),
        ("shorter", good.clone().with("job.toml", b"x").zip(), "job.toml", "has 1 bytes"),
        ("absent", good.clone().without("history/0001.toml").zip(), "history/0001.toml", "is missing"),
        (
            "absent everywhere",
            good.clone().without("history/0002.toml").sealed().zip(),
            "history/0002.toml",
            "is missing",
        ),
        ("no readings", good.clone().without("readings.csv").sealed().zip(), "readings.csv", "is missing"),
        ("no newest text", good.clone().without("job.toml").sealed().zip(), "job.toml", "is missing"),
        ("a picture absent", good.clone().without(&png_path).sealed().zip(), "picture", "is missing"),
        ("not listed", good.clone().with("evil.sh", b"x").zip(), "evil.sh", "is not in the manifest"),
        ("listed, of no use", good.clone().with("evil.sh", b"x").sealed().zip(), "evil.sh", "does not fit"),
        ("listed twice", good.clone().manifest(twice).zip(), "history/0001.toml", "is there twice"),
        (
            "the newest text is another",
            good.clone().with("job.toml", b"x").sealed().zip(),
            "job.toml",
            "does not fit",
        ),
        (
            "no text",
            good.clone().with("history/0001.toml", b"\xff").sealed().zip(),
            "history/0001.toml",
            "cannot be read",
        ),
        (
            "a text too long",
            good.clone().with("history/0001.toml", &vec![b'x'; (8 << 20) + 1]).sealed().zip(),
            "history/0001.toml",
            "too large",
        ),
        (
            "another picture",
            good.clone().with(&jpg_path, b"\xff\xd8\xffother").sealed().zip(),
            &jpg_path,
            "does not fit",
        ),
        ("no picture", text.zip(), &png_path, "not a JPEG, PNG or WebP"),
        (
            "a wrong ending",
            good.clone().without(&png_path).with(&renamed, good.get(&png_path)).sealed().zip(),
            &png_path,
            "is missing",
        ),
    ]);
}

#[test]
fn readings_that_do_not_read() {
    let edit = |from: &str, to: &str| Files::good().readings(from, to).zip();
    let cases = [
        ("other headings", edit("run,revision", "revision,run"), "row 1"),
        ("a field less", edit(",\"odd\"", ""), "row 2"),
        ("a field more", edit("\"third\"", "\"third\",\"x\""), "row 3"),
        ("a quote open", edit("\"tablet\"", "\"tablet"), "row"),
        ("line ends of another kind", edit("\"tablet\"\r\n", "\"tablet\"\n"), "row 2"),
        ("a number otherwise written", edit("0.3333333333333333", "0.33333333333333330"), "row 3"),
        ("no number", edit(",inf,", ",NaN,"), "row 4"),
        ("a run from nowhere", edit("2,2,\"over\"", "3,2,\"over\""), "row 4: its run"),
        ("a revision from nowhere", edit("2,2,\"over\"", "2,9,\"over\""), "row 4: its revision"),
        ("a number with a sign", edit("1,1,\"odd\"", "+1,1,\"odd\""), "row 2"),
        ("a time beyond all", edit("\"odd\",5,", "\"odd\",18446744073709551615,"), "row 2"),
        ("a key twice", edit("\"third\"", "\"odd\""), "row 3: its key"),
        ("no key", edit("\"third\"", "\"\""), "row 3"),
        ("a text without quotes", edit("\"third\"", "third"), "row 3"),
        ("an end too early", edit("\"tablet\"\r\n1,1,\"third\"", "\"tablet\"1,1,\"third\""), "row 2"),
        ("empty", Files::good().with("readings.csv", b"").sealed().zip(), "row 1"),
    ];
    let named = cases.map(|(label, bytes, wrong)| (label, bytes, "readings.csv", wrong));
    all_refused(&named);
}

/// Any byte of an archive changed: it is refused, or the job in it is the same as before; and a change in what is
/// packed is always refused.
#[test]
fn any_byte_changed() {
    let folder = Folder::new();
    let store = folder.store();
    let made = full_job(&store).0;
    let good = archive::export(&store, made.job, "1", Moment(100)).unwrap();
    let packed = packed(&good);
    let entries =
        |job| store.entries(job).unwrap().into_iter().map(|e| (e.received, e.what)).collect::<Vec<_>>();
    for place in 0..good.len() {
        let mut bytes = good.clone();
        bytes[place] ^= 0x41;
        let Ok(again) = archive::import(&store, &bytes, Moment(500)) else { continue };
        assert!(!packed.iter().any(|range| range.contains(&place)), "byte {place}");
        assert_eq!(store.newest(again.job).unwrap(), store.newest(made.job).unwrap(), "byte {place}");
        assert_eq!(store.revisions(again.job).unwrap(), store.revisions(made.job).unwrap(), "byte {place}");
        assert_eq!(entries(again.job), entries(made.job), "byte {place}");
        assert_eq!(store.pictures(again.job).unwrap(), store.pictures(made.job).unwrap(), "byte {place}");
    }
}

/// Where the packed bytes of each file are.
fn packed(bytes: &[u8]) -> Vec<std::ops::Range<usize>> {
    let number = |at: usize, size: usize| (0..size).rev().fold(0, |n, i| n << 8 | usize::from(bytes[at + i]));
    let of = |at: usize| {
        let start = at + 30 + number(at + 26, 2) + number(at + 28, 2);
        start..start + number(at + 18, 4)
    };
    let ranges: Vec<_> = headers(bytes, LOCAL).into_iter().map(of).collect();
    assert!(ranges.len() == 7 && ranges.iter().all(|range| !range.is_empty()));
    ranges
}
