//! Archives that are not as they should be, brought in as files. The store's own tests have more.

use crate::case::Case;
use crate::world::{JOB, World};
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;

/// The files of an archive in their order.
type Files = Vec<(String, Vec<u8>)>;

/// All of them.
pub fn cases(world: &World) -> Vec<Case> {
    let good = exported(world);
    let files = unpacked(&good);
    let one = |name: &str, bytes: &[u8], says: &'static str| {
        Case::new(format!("archive: {name}"), world.visit.uploaded("job.zip", bytes), &[400, 422]).says(says)
    };
    let with = |path: &str, content: &[u8]| {
        packed(&[files.clone(), vec![(path.to_owned(), content.to_vec())]].concat())
    };
    let changed = |path: &str, content: &[u8]| {
        let replaced =
            |(p, c): &(String, Vec<u8>)| (p.clone(), if p == path { content.to_vec() } else { c.clone() });
        packed(&files.iter().map(replaced).collect::<Files>())
    };
    let zeros = vec![0; 48 << 20];
    let manifest =
        String::from_utf8(files.iter().find(|(p, _)| p == "manifest.json").unwrap().1.clone()).unwrap();
    let many: Files = (0..20_001).map(|i| (format!("history/{i}"), Vec::new())).collect();
    vec![
        one("two letters", b"PK", "othing was changed"),
        one("cut in half", &good[..good.len() / 2], "othing was changed"),
        one("of nothing", &packed(&Vec::new()), "othing was changed"),
        one("with a file that leads up", &with("../../evil", b"x"), "othing was changed"),
        one("with a file at a root", &with("/etc/evil", b"x"), "othing was changed"),
        one("with a file by backslashes", &with("..\\evil", b"x"), "othing was changed"),
        one("with a file that is not listed", &with("evil", b"x"), "othing was changed"),
        one("with script in a file's name", &with("<script>evil()</script>", b"x"), "othing was changed"),
        one("a bomb as manifest", &changed("manifest.json", &zeros), "othing was changed"),
        one("a bomb that is not listed", &with("bomb", &zeros), "othing was changed"),
        one("a bomb in place of the readings", &changed("readings.csv", &zeros), "othing was changed"),
        one("of 20,001 files", &packed(&many), "othing was changed"),
        one("whose job is another", &changed("job.toml", b"format = 1\n"), "othing was changed"),
        one(
            "with a manifest of brackets",
            &changed("manifest.json", "[".repeat(1 << 20).as_bytes()),
            "othing was changed",
        ),
        one(
            "with a format to come",
            &changed(
                "manifest.json",
                manifest
                    .replacen("\"format\": 1", "\"format\": 2", 1)
                    .replacen("\"format\":1", "\"format\":2", 1)
                    .as_bytes(),
            ),
            "othing was changed",
        ),
    ]
}

fn exported(world: &World) -> Vec<u8> {
    let bytes = world.visit.request(&format!("GET /job/{JOB}/export"), &[], b"");
    let answer = crate::common::http::exchange(world.visit.port, &bytes).unwrap();
    assert_eq!(answer.header("content-type"), Some("application/zip"));
    answer.body
}

fn unpacked(bytes: &[u8]) -> Files {
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let count = zip.len();
    let read = |i| {
        let mut file = zip.by_index(i).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        (file.name().unwrap().into_owned(), bytes)
    };
    (0..count).map(read).collect()
}

fn packed(files: &Files) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (path, bytes) in files {
        zip.start_file(path.as_str(), SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}
