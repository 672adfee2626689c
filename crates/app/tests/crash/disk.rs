//! A disk that is full, and a folder that may only be read: a plain refusal, and nothing that was there is lost.

use crate::common::server::{Folder, Server, binary, command};
use crate::common::visit::Visit;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Output};
use voltwright_workshop::Store;

/// Blocks of a limit, bytes (POSIX, `ulimit -f`: 512; other shells count 1024, which the test does not mind).
const BLOCK: u64 = 512;

/// Every revision's text of the one job.
fn texts(folder: &Folder) -> Vec<String> {
    let store = Store::open(&folder.file()).unwrap();
    store.check().unwrap();
    let job = store.jobs("").unwrap().remove(0).job;
    let revisions = store.revisions(job).unwrap();
    revisions.iter().map(|made| store.revision(job, made.number).unwrap().text).collect()
}

fn text(number: usize) -> String {
    format!("format = 1\n[job]\ntitle = \"Rack\"\n# {number} {}\n", "x".repeat(20_000))
}

/// Makes the one job.
fn prepared() -> Folder {
    let folder = Folder::new();
    let server = Server::start(folder.path());
    let mut visit = Visit::begin(server.port).unwrap();
    let bytes = visit.uploaded("rack.toml", text(1).as_bytes());
    assert_eq!(visit.ask(&bytes).unwrap().header("location"), Some("/job/rack"));
    server.kill();
    assert_eq!(texts(&folder), [text(1)]);
    folder
}

fn save(visit: &mut Visit, upon: usize) -> (u16, String) {
    let answer =
        visit.post("/job/rack/text", &[("upon", &upon.to_string()), ("text", &text(upon + 1))]).unwrap();
    (answer.status, answer.text())
}

#[test]
fn a_full_disk_refuses_plainly_and_loses_nothing() {
    let folder = prepared();
    let now = std::fs::metadata(folder.file()).unwrap().len();
    let limit = (now + (400 << 10)).div_ceil(BLOCK);
    let line = format!("trap '' XFSZ; ulimit -f {limit}; exec \"$0\" \"$@\"");
    let mut shell = Command::new("sh");
    shell.arg("-c").arg(line).arg(binary()).args(command(&binary(), folder.path()).get_args());
    let server = Server::spawned(&mut shell);
    let mut visit = Visit::begin(server.port).unwrap();
    let mut saved = 1;
    let (status, says) = loop {
        match save(&mut visit, saved) {
            (303, _) => saved += 1,
            refused => break refused,
        }
        assert!(saved < 500, "the limit does not hold");
    };
    assert!(saved > 1, "nothing could be saved at all: the limit is too tight to show anything");
    assert!(matches!(status, 507 | 503), "{status} {says}");
    assert!(says.contains("nothing was changed") && says.contains("disk"), "{says}");
    // It is refused as long as the disk is full; what is there is shown.
    assert_eq!(save(&mut visit, saved).0, status);
    assert_eq!(visit.get("/job/rack/text").unwrap().status, 200);
    let expected: Vec<String> = (1..=saved).map(text).collect();
    server.kill();
    assert_eq!(texts(&folder), expected);

    let server = Server::start(folder.path());
    let mut visit = Visit::begin(server.port).unwrap();
    for upon in saved..saved + 20 {
        assert_eq!(save(&mut visit, upon).0, 303);
    }
    drop(server);
    assert_eq!(texts(&folder), (1..=saved + 20).map(text).collect::<Vec<_>>());
}

/// Starts the server as somebody who may only read, and waits until it ends.
fn as_a_reader(folder: &Folder) -> Output {
    let is_root = Command::new("id").arg("-u").output().unwrap().stdout == b"0\n";
    // Whoever that is must reach the binary.
    let copy = Folder::new();
    let program = copy.path().join("voltwright");
    std::fs::copy(binary(), &program).unwrap();
    let own = command(&program, folder.path());
    if !is_root {
        return Command::new(&program).args(own.get_args()).output().unwrap();
    }
    // Root may write everywhere; nobody (65534) may not.
    let mut nobody = Command::new("setpriv");
    nobody.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(&program).args(own.get_args());
    nobody.output().unwrap()
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let all = std::fs::read_dir(folder).unwrap().map(Result::unwrap);
    all.map(|file| (file.file_name().into_string().unwrap(), std::fs::read(file.path()).unwrap())).collect()
}

fn set_mode(path: &Path, mode: u32) {
    std::fs::set_permissions(path, std::os::unix::fs::PermissionsExt::from_mode(mode)).unwrap();
}

#[test]
fn a_folder_that_may_only_be_read_is_refused_and_left_as_it_is() {
    let (full, empty) = (prepared(), Folder::new());
    set_mode(&full.file(), 0o444);
    for folder in [&full, &empty] {
        let before = files(folder.path());
        set_mode(folder.path(), 0o555);
        let output = as_a_reader(folder);
        set_mode(folder.path(), 0o755);
        let says = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(output.status.code(), Some(2), "{says}");
        assert!(
            says.contains("cannot open") && says.contains("may only be read") && says.contains("hint:"),
            "{says}"
        );
        assert_eq!(output.stdout, b"");
        assert_eq!(files(folder.path()), before);
    }
    set_mode(&full.file(), 0o644);
    assert_eq!(texts(&full), [text(1)]);
}
