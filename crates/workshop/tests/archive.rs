//! A job out of the store and into it again: all of it, to the last byte.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use common::{Folder, full_job, png};
use voltwright_workshop::{Hash, Moment, archive};

/// The files of a zip, by path.
fn files(bytes: &[u8]) -> BTreeMap<String, Vec<u8>> {
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

fn manifest(bytes: &[u8]) -> serde_json::Value {
    serde_json::from_slice(&files(bytes)["manifest.json"]).unwrap()
}

#[test]
fn an_archive_holds_all_of_the_job() {
    let folder = Folder::new();
    let store = folder.store();
    let made = full_job(&store).0;
    let bytes = archive::export(&store, made.job, "voltwright 0.1.0", Moment(100)).unwrap();
    let files = files(&bytes);
    let (front, other) = (png(b"a"), b"\xff\xd8\xff\xe0rest".to_vec());
    let pictures =
        [format!("pictures/{}.png", Hash::of(&front)), format!("pictures/{}.jpg", Hash::of(&other))];
    let mut paths =
        vec!["history/0001.toml", "history/0002.toml", "job.toml", "manifest.json", "readings.csv"];
    paths.extend(pictures.iter().map(String::as_str));
    paths.sort_unstable();
    assert_eq!(files.keys().collect::<Vec<_>>(), paths);
    assert_eq!(files["job.toml"], "title = 'two'\r\n# Ω\n".as_bytes());
    assert_eq!(files["history/0001.toml"], b"title = 'one'\n");
    assert_eq!((&files[&pictures[0]], &files[&pictures[1]]), (&front, &other));
    let expected = "run,revision,key,taken_ms,received_ms,stage,kind,red,black,function,value,answer,note,instrument,device\r\n\
        1,1,\"odd\",5,50,\"cold\",\"reading\",\"P1.4\",\"P1.1\",\"V DC\",-0.0,\"\",\"=HYPERLINK(\"\"x\"\"),\r\n\
        \"\"quoted\"\" 'Ω' \0 end\",\"bench meter\",\"tablet\"\r\n\
        1,1,\"third\",5,50,\"cold\",\"reading\",\"P1.4\",\"P1.1\",\"V DC\",0.3333333333333333,,\"\",\"bench meter\",\"tablet\"\r\n\
        2,2,\"over\",5,60,\"cold\",\"reading\",\"P1.4\",\"P1.1\",\"V DC\",inf,,\"\",\"bench meter\",\"tablet\"\r\n\
        1,1,\"event\",5,70,\"cold\",\"reading\",\"P1.4\",\"P1.1\",\"V DC\",,\"yes, off\",\"\",\"bench meter\",\"tablet\"\r\n";
    assert_eq!(String::from_utf8(files["readings.csv"].clone()).unwrap(), expected);
    let manifest = manifest(&bytes);
    assert_eq!((&manifest["format"], &manifest["exported"]), (&1.into(), &100.into()));
    assert_eq!((&manifest["name"], &manifest["title"]), (&"tape-deck-1-1".into(), &"Tape deck".into()));
    let listed = manifest["files"].as_array().unwrap();
    assert_eq!(listed.len(), files.len() - 1);
    for row in listed {
        let file = &files[row["path"].as_str().unwrap()];
        assert_eq!(row["bytes"], file.len());
        assert_eq!(row["sha256"], Hash::of(file).to_string());
    }
    assert!(manifest["about"].as_str().unwrap().contains("formula"));
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let (here, there) = (Folder::new(), Folder::new());
    let export = |folder: &Folder| {
        let store = folder.store();
        let made = full_job(&store).0;
        let first = archive::export(&store, made.job, "1", Moment(100)).unwrap();
        assert_eq!(archive::export(&store, made.job, "1", Moment(100)).unwrap(), first);
        first
    };
    assert_eq!(export(&here), export(&there));
}

#[test]
fn out_and_in_and_out_again() {
    let (here, there) = (Folder::new(), Folder::new());
    let store = here.store();
    let made = full_job(&store).0;
    let first = archive::export(&store, made.job, "1", Moment(100)).unwrap();
    // In another workshop it keeps even its name, so the archive is the same to the last byte.
    let other = there.store();
    other.create("Other", "", "first", Moment(1)).unwrap();
    let arrived = archive::import(&other, &first, Moment(200)).unwrap();
    assert_eq!(arrived.name, made.name);
    assert_eq!(archive::export(&other, arrived.job, "1", Moment(100)).unwrap(), first);
    assert_eq!(other.jobs("").unwrap()[0].touched, Moment(200));
    other.check().unwrap();
    // In its own it gets a number, and is the same but for that.
    let again = archive::import(&store, &first, Moment(300)).unwrap();
    assert_eq!(again.name, format!("{}-2", made.name));
    let second = archive::export(&store, again.job, "1", Moment(400)).unwrap();
    let (mut one, mut two) = (manifest(&first), manifest(&second));
    for manifest in [&mut one, &mut two] {
        for key in ["name", "exported"] {
            assert!(manifest.as_object_mut().unwrap().remove(key).is_some());
        }
    }
    assert_eq!(one, two);
    let but_manifest = |bytes| {
        let mut files = files(bytes);
        files.remove("manifest.json");
        files
    };
    assert_eq!(but_manifest(&first), but_manifest(&second));
    let whats =
        |job| store.entries(job).unwrap().into_iter().map(|e| (e.received, e.what)).collect::<Vec<_>>();
    assert_eq!(whats(made.job), whats(again.job));
    store.check().unwrap();
}

/// The least a job can be.
#[test]
fn a_bare_job_passes() {
    let folder = Folder::new();
    let store = folder.store();
    let made = store.create("", "", "", Moment(0)).unwrap();
    let bytes = archive::export(&store, made.job, "", Moment(0)).unwrap();
    let again = archive::import(&store, &bytes, Moment(0)).unwrap();
    assert_eq!(again.name, "job-2");
    assert_eq!(store.newest(again.job).unwrap(), store.newest(made.job).unwrap());
}

/// Another program may have packed the files anew: other order, other times, not compressed.
#[test]
fn an_archive_packed_anew_is_taken() {
    let folder = Folder::new();
    let store = folder.store();
    let made = full_job(&store).0;
    let bytes = archive::export(&store, made.job, "1", Moment(1)).unwrap();
    let mut anew = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (path, content) in files(&bytes).iter().rev() {
        let stored =
            zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
        anew.start_file(path, stored).unwrap();
        std::io::Write::write_all(&mut anew, content).unwrap();
    }
    let anew = anew.finish().unwrap().into_inner();
    assert_ne!(anew, bytes);
    let again = archive::import(&store, &anew, Moment(2)).unwrap();
    assert_eq!(store.entries(again.job).unwrap().len(), 4);
}

/// More history than an archive may hold is said when it is made, not when it is needed.
#[test]
fn a_job_can_outgrow_an_archive() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    for number in 1..=33 {
        let text = format!("{number:02}").repeat(4 << 20);
        store.save(job, number, "A", &text, "saved", Moment(2)).unwrap();
    }
    let refused = archive::export(&store, job, "1", Moment(3)).unwrap_err();
    assert!(
        matches!(&refused, archive::ArchiveError::Outgrown { path, .. } if path.starts_with("history/")),
        "{refused}"
    );
    assert!(refused.to_string().contains("backup"), "{refused}");
}
