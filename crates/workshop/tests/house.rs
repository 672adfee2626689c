//! Pictures, paired devices, settings, digests, backups.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{Folder, full_job, png, raw};
use voltwright_workshop::{Digest, Hash, JobId, Media, Moment, Store, StoreError};

#[test]
fn a_picture_is_known_by_its_bytes() {
    let folder = Folder::new();
    let store = folder.store();
    let [one, two] = ["A", "B"].map(|title| store.create(title, "", "first", Moment(1)).unwrap().job);
    let bytes = png(b"front");
    for (job, name) in [(one, "front.jpg"), (two, "front.jpg"), (one, "again"), (one, "again")] {
        assert_eq!(store.add_picture(job, &bytes, name, "", "", Moment(2)).unwrap(), Hash::of(&bytes));
    }
    let image = store.picture(Hash::of(&bytes)).unwrap().unwrap();
    assert_eq!((image.media, image.bytes), (Media::Png, bytes));
    let names = |job| store.pictures(job).unwrap().into_iter().map(|p| p.name).collect::<Vec<_>>();
    assert_eq!(
        (names(one), names(two)),
        (vec!["front.jpg".into(), "again".into()], vec!["front.jpg".into()])
    );
    let contents: i64 =
        raw(&folder.file()).query_row("SELECT count(*) FROM image", [], |r| r.get(0)).unwrap();
    assert_eq!(contents, 1);
    assert!(store.picture(Hash::of(b"other")).unwrap().is_none());
}

#[test]
fn what_is_no_picture_is_refused() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    for (bytes, media) in [
        (&b"\xff\xd8\xff\xe0"[..], Media::Jpeg),
        (b"\x89PNG\r\n\x1a\n", Media::Png),
        (b"RIFF\x01\x02\x03\x04WEBPVP8 ", Media::Webp),
    ] {
        assert_eq!(Media::of(bytes), Some(media));
    }
    for bytes in
        [&b""[..], b"GIF89a", b"<svg onload=\"x\">", b"RIFF\0\0\0\0WAVE", b"\x89PNG\n\x1a\n", b"\xff\xd8"]
    {
        let refused = store.add_picture(job, bytes, "front.png", "", "", Moment(2));
        assert!(matches!(refused, Err(StoreError::NotAPicture)), "{bytes:?}");
    }
    let large = png(&vec![0; (20 << 20) - 7]);
    let refused = store.add_picture(job, &large, "", "", "", Moment(2)).unwrap_err();
    assert!(matches!(refused, StoreError::PictureTooLarge { bytes: 20_971_521, .. }), "{refused:?}");
    store.add_picture(job, &large[..20 << 20], "", "", "", Moment(2)).unwrap();
    let none = store.add_picture(JobId(9), &png(b""), "", "", "", Moment(2));
    assert!(matches!(none, Err(StoreError::NoJob(_))));
    assert_eq!(store.pictures(job).unwrap().len(), 1);
}

#[test]
fn a_device_comes_in_by_its_token_until_it_is_shut_out() {
    let folder = Folder::new();
    let store = folder.store();
    let tablet = store.pair("tablet", b"token one", Moment(1)).unwrap();
    let phone = store.pair("phone", b"token two", Moment(2)).unwrap();
    assert!(store.pair("thief", b"token one", Moment(3)).is_err());
    store.seen(tablet, Moment(9)).unwrap();
    let by = |token: &[u8]| store.device_by_token(token).unwrap();
    assert_eq!(by(b"token one").map(|d| (d.id, d.seen)), Some((tablet, Moment(9))));
    assert_eq!(by(b"token three"), None);
    store.revoke(tablet, Moment(10)).unwrap();
    store.revoke(tablet, Moment(11)).unwrap();
    assert_eq!(by(b"token one"), None);
    assert_eq!(by(b"token two").map(|d| d.id), Some(phone));
    let all = store.devices().unwrap();
    assert_eq!(all.iter().map(|d| d.revoked).collect::<Vec<_>>(), [Some(Moment(10)), None]);
    // The token itself is nowhere in the files.
    drop(store);
    for file in std::fs::read_dir(folder.path()).unwrap() {
        let bytes = std::fs::read(file.unwrap().path()).unwrap();
        assert!(!bytes.windows(9).any(|window| window == b"token one"));
    }
}

#[test]
fn settings_and_digests_are_replaced() {
    let folder = Folder::new();
    let store = folder.store();
    assert_eq!(store.setting("secret").unwrap(), None);
    store.put_setting("secret", &[0, 255]).unwrap();
    store.put_setting("secret", &[1, 0]).unwrap();
    assert_eq!(store.setting("secret").unwrap(), Some(vec![1, 0]));
    let job = store.create("A", "one", "first", Moment(1)).unwrap().job;
    store.put_digest(job, 1, "0.1", "old").unwrap();
    store.put_digest(job, 1, "0.2", "new").unwrap();
    let digest = Some(Digest { version: "0.2".into(), text: "new".into() });
    assert_eq!(store.digest(job, 1).unwrap(), digest);
    assert_eq!(store.listed(job).unwrap().digest, digest);
    // A digest belongs to its revision: the next one has none yet.
    store.save(job, 1, "A", "two", "saved", Moment(2)).unwrap();
    assert_eq!(store.jobs("").unwrap()[0].digest, None);
    assert_eq!(store.digest(job, 1).unwrap(), digest);
}

#[test]
fn a_backup_is_a_workshop() {
    let folder = Folder::new();
    let store = folder.store();
    let (made, run) = full_job(&store);
    let to = folder.join("backup.db");
    store.back_up(&to).unwrap();
    let copy = Store::open(&to).unwrap();
    copy.check().unwrap();
    assert_eq!(copy.jobs("").unwrap(), store.jobs("").unwrap());
    assert_eq!(copy.entries(made.job).unwrap(), store.entries(made.job).unwrap());
    assert_eq!(copy.pictures(made.job).unwrap(), store.pictures(made.job).unwrap());
    // The copy is its own file, and as append-only as the first.
    copy.write(made.job, run.id, &[common::reading("later", 1.0)], Moment(99)).unwrap();
    assert_ne!(copy.log(run.id).unwrap(), store.log(run.id).unwrap());
    assert!(raw(&to).execute("DELETE FROM entry", []).is_err());
    let before = std::fs::read(&to).unwrap();
    assert!(matches!(store.back_up(&to), Err(StoreError::Exists(_))));
    assert_eq!(std::fs::read(&to).unwrap(), before);
    assert!(matches!(store.back_up(&folder.join("no/such/folder/x.db")), Err(StoreError::CannotOpen(_))));
}
