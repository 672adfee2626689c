//! What is attacked: a workshop with honest work in it.

use crate::common::http::{form, request};
use crate::common::server::Folder;
use crate::common::visit::{MULTIPART, Visit, multipart};
use std::path::Path;
use voltwright_workshop::{Entry, Listed, Picture, Revision, Run, Store};

/// The name of the honest job.
pub const JOB: &str = "larkfield-2100-desk-computer-from-100-v-japan-to-230-v-irela";

/// The honest picture: a PNG of one grey dot (ISO/IEC 15948), its compressed data stored as they are.
pub const DOT: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0:~\x9bU\0\0\0\r\
    IDATx\x01\x01\x02\0\xfd\xff\0\x80\0\x82\0\x81\xc3n%\xe0\0\0\0\0IEND\xaeB`\x82";

/// An honest visit to a workshop with a job, two revisions, a first power and its readings, a picture.
pub struct World {
    pub visit: Visit,
}

/// Everything that people entered.
pub type Everything = Vec<(Listed, Vec<Revision>, Vec<Run>, Vec<Entry>, Vec<Picture>)>;

/// What a route takes from a page of ours.
pub struct Route {
    pub path: String,
    pub kind: Kind,
    /// The statuses that an honest request has, were it sent.
    pub honest: &'static [u16],
}

/// How a route is sent to.
pub enum Kind {
    Form(Vec<(&'static str, &'static str)>),
    Json(&'static str),
    File(&'static str),
    /// Of the honest job.
    Picture(&'static [u8]),
}

impl World {
    /// Honest work, all of it through the pages.
    pub fn begin(port: u16) -> Self {
        let mut visit = Visit::begin(port).unwrap();
        let made = visit.post("/new/example", &[("example", "desk-computer")]).unwrap();
        assert_eq!(made.header("location"), Some(format!("/job/{JOB}").as_str()), "{}", made.text());
        let text = include_str!("../../../../examples/desk-computer/finished.toml").replace("1983", "1984");
        let saved = visit.post(&format!("/job/{JOB}/text"), &[("upon", "1"), ("text", &text)]).unwrap();
        assert_eq!(saved.status, 303, "{}", saved.text());
        let begun = visit.post(&format!("/job/{JOB}/first-power"), &[("revision", "2")]).unwrap();
        assert_eq!(begun.status, 303, "{}", begun.text());
        let mut world = Self { visit };
        for i in 0..3 {
            let value = format!("{}.5", 4 + i);
            let told = world.log(&[vec![
                ("key", &format!("honest-{i}")),
                ("kind", "reading"),
                ("stage", "source"),
                ("red", "p1.3"),
                ("black", "p1.1"),
                ("function", "volts"),
                ("answer", "value"),
                ("amount", &value),
                ("unit", "V"),
            ]]);
            assert_eq!(told, 200);
        }
        let words = ["The plug before it was pulled", "mating face", "at upper left"];
        let picture = world.visit.pictured(JOB, words, "IMG_0001.png", DOT);
        assert_eq!(world.visit.ask(&picture).unwrap().status, 303);
        world
    }

    /// Sends answers to the log of the honest first power; tells the status.
    pub fn log(&mut self, answers: &[Vec<(&str, &str)>]) -> u16 {
        let sent: Vec<_> =
            answers.iter().map(|fields| serde_json::json!({"taken": 1, "fields": fields})).collect();
        let body = serde_json::json!({ "sent": sent }).to_string();
        self.visit.script(&format!("/job/{JOB}/first-power/1/log"), body.as_bytes()).unwrap().status
    }

    /// Every route that changes something, with what a page of ours sends to it. What it sends would change the honest job.
    pub fn routes() -> Vec<Route> {
        let post = |path: &str, fields: &[(&'static str, &'static str)], honest| Route {
            path: path.replace("JOB", JOB),
            kind: Kind::Form(fields.to_vec()),
            honest,
        };
        let json = |path: &str, body, honest| Route {
            path: path.replace("JOB", JOB),
            kind: Kind::Json(body),
            honest,
        };
        let read =
            r#"{"sent":[{"taken":1,"fields":[["key","honest-9"],["kind","off"],["stage","source"]]}]}"#;
        vec![
            post("/new/empty", &[("title", "Made by another"), ("country", "")], &[303]),
            post("/new/example", &[("example", "plotter")], &[303]),
            Route {
                path: "/new/file".into(),
                kind: Kind::File("format = 1\n[job]\ntitle = \"Brought by another\"\n"),
                honest: &[303],
            },
            post("/job/JOB/back", &[("number", "1"), ("upon", "2")], &[303]),
            post("/job/JOB/text", &[("upon", "3"), ("text", "format = 1\n")], &[303]),
            post("/job/JOB/first-power", &[("revision", "1")], &[303]),
            json("/job/JOB/first-power/1/log", read, &[200]),
            post(
                "/job/JOB/first-power/1/answer",
                &[("key", "honest-8"), ("kind", "off"), ("stage", "source")],
                &[303],
            ),
            // Written upon a revision that is not the newest, and a cure of a job without escapes.
            post(
                "/job/JOB/edit?page=survey",
                &[("upon", "1"), ("at", "job"), ("t:job.country", "DE")],
                &[409],
            ),
            post("/job/JOB/cures", &[("upon", "1"), ("number", "0")], &[404]),
            json("/job/JOB/try?page=survey", r#"{"upon":1,"fields":[["t:job.country","DE"]]}"#, &[200]),
            Route { path: format!("/job/{JOB}/picture"), kind: Kind::Picture(DOT), honest: &[303] },
            post("/shelf/part", &[("job", JOB), ("part", "fuse"), ("revision", "1"), ("into", JOB)], &[303]),
            // No meter is connected.
            json("/job/JOB/first-power/1/meter", r#"{"function":"volts"}"#, &[404]),
            // Nobody was let in: no other device can reach this workshop.
            post("/devices/invite", &[], &[403]),
            post("/devices/revoke", &[("device", "1")], &[303]),
            post("/pair", &[("code", "ABCDE23456"), ("name", "Phone")], &[403]),
        ]
    }

    /// A route's honest request, but with another cookie, token and headers.
    pub fn sent(&self, route: &Route, cookie: &str, token: &str, headers: &[(&str, &str)]) -> Vec<u8> {
        let (line, host) = (format!("POST {}", route.path), format!("localhost:{}", self.visit.port));
        let mut all = vec![("host", host.as_str()), ("cookie", cookie)];
        all.extend(headers);
        let (kind, body) = match &route.kind {
            Kind::Form(fields) => {
                let fields = [&[("token", token)][..], fields].concat();
                ("application/x-www-form-urlencoded", form(&fields))
            }
            Kind::Json(body) => ("application/json", body.as_bytes().to_vec()),
            Kind::File(text) => (MULTIPART, multipart(token, &[], "x.toml", text.as_bytes())),
            Kind::Picture(bytes) => (MULTIPART, multipart(token, &[("view", "other")], "x.png", bytes)),
        };
        all.push(("content-type", kind));
        if matches!(route.kind, Kind::Json(_)) {
            all.push(("x-voltwright-token", token));
        }
        request(&line, &all, &body)
    }

    /// What was entered honestly is as it was; jobs made since are no matter. The file is sound.
    pub fn is_unharmed(&mut self, folder: &Folder, before: &Everything) {
        assert_eq!(self.visit.get("/").unwrap().status, 200, "the server answers no more");
        let now = everything(folder.path());
        for (job, revisions, runs, entries, pictures) in before {
            let kept = now.iter().find(|(j, ..)| j.name == job.name).unwrap();
            let (kept, was) = ((&kept.1, &kept.2, &kept.3, &kept.4), (revisions, runs, entries, pictures));
            assert_eq!(kept, was, "{} was changed", job.name);
        }
        Store::open(&folder.file()).unwrap().check().unwrap();
    }

    /// The requests that were refused are taken from a page of ours: so they were refused for what was wrong with them.
    pub fn honest_routes_work(&mut self) {
        let origin = format!("http://localhost:{}", self.visit.port);
        for route in Self::routes() {
            let bytes = self.sent(&route, &self.visit.cookie, &self.visit.token, &[("origin", &origin)]);
            let answer = self.visit.ask(&bytes).unwrap();
            assert!(
                route.honest.contains(&answer.status),
                "{}: {} {}",
                route.path,
                answer.status,
                answer.text()
            );
        }
    }
}

/// Reads everything from the file itself, beside the server.
pub fn everything(folder: &Path) -> Everything {
    let store = Store::open(&folder.join("workshop.db")).unwrap();
    assert!(store.devices().unwrap().is_empty());
    let mut jobs = store.jobs("").unwrap();
    jobs.sort_by_key(|job| job.job);
    let all = jobs.into_iter().map(|job| {
        let revisions = store.revisions(job.job).unwrap();
        let revisions = revisions.iter().map(|made| store.revision(job.job, made.number).unwrap()).collect();
        let (runs, entries) = (store.runs(job.job).unwrap(), store.entries(job.job).unwrap());
        let pictures = store.pictures(job.job).unwrap();
        (job, revisions, runs, entries, pictures)
    });
    all.collect()
}
