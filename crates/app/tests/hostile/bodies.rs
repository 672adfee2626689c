//! Bodies that are too large, or are not what their kind says.

use crate::case::{CLOSED, Case};
use crate::common::http::request;
use crate::common::visit::MULTIPART;
use crate::world::{JOB, Kind, Route, World};

/// All of them.
pub fn cases(world: &World) -> Vec<Case> {
    [oversized(world), endless(world), mistyped(world), parts(world)].into_iter().flatten().collect()
}

/// What a route takes at most, and a little more.
fn too_large(route: &Route) -> usize {
    let limit = match route.path.as_str() {
        "/new/file" => 64 << 20,
        path if path.ends_with("/text") => 25 << 20,
        path if path.ends_with("/picture") => 24 << 20,
        _ => 1 << 20,
    };
    limit + 4096
}

fn oversized(world: &World) -> Vec<Case> {
    let filler = |route: &Route| "x".repeat(too_large(route));
    let sent = |route: Route| {
        let bytes = match &route.kind {
            Kind::Form(fields) => {
                let large = filler(&route);
                let fields: Vec<(&str, &str)> =
                    fields.iter().copied().chain([("more", large.as_str())]).collect();
                world.visit.posted(&route.path, &fields)
            }
            Kind::Json(_) => world
                .visit
                .scripted(&route.path, format!("{{\"sent\":[],\"x\":\"{}\"}}", filler(&route)).as_bytes()),
            Kind::File(_) => world.visit.uploaded("x.toml", filler(&route).as_bytes()),
            Kind::Picture(_) => {
                world.visit.pictured(JOB, ["", "other", ""], "x.png", filler(&route).as_bytes())
            }
        };
        Case::new(format!("POST {} of {} bytes", route.path, bytes.len()), bytes, &[413])
    };
    let mut cases: Vec<Case> = World::routes().into_iter().map(sent).collect();
    let title = world.visit.posted("/new/empty", &[("title", &"t".repeat(70_000)), ("country", "")]);
    cases.push(Case::new("a title of 70,000 letters", title, &[400]).says("too l"));
    let text = format!("format = 1\n# {}", "x".repeat(9 << 20));
    let bytes = world.visit.posted(&format!("/job/{JOB}/text"), &[("upon", "2"), ("text", &text)]);
    cases.push(Case::new("a job of 9 MiB", bytes, &[400]).says("too l"));
    let head =
        format!("--cut\r\ncontent-disposition: form-data; name=\"token\"\r\n\r\n{}", "t".repeat(65 << 20));
    let bytes = world.visit.request("POST /new/file", &[("content-type", MULTIPART)], head.as_bytes());
    cases.push(Case::new("a token of 65 MiB", bytes, &[413]));
    cases
}

/// Chunks far beyond what a form may send; no end is said.
fn endless(world: &World) -> Vec<Case> {
    let origin = format!("http://localhost:{}", world.visit.port);
    let host = &origin[7..];
    let chunks = |path: &str, kind: &str, megabytes: usize| {
        let headers = [
            ("host", host),
            ("origin", &origin),
            ("cookie", &world.visit.cookie),
            ("content-type", kind),
            ("x-voltwright-token", &world.visit.token),
            ("transfer-encoding", "chunked"),
        ];
        let head = request(&format!("POST {path}"), &headers, b"");
        let head = String::from_utf8(head).unwrap().replace("content-length: 0\r\n", "");
        let chunk = format!("100000\r\n{}\r\n", "c".repeat(1 << 20));
        Case::new(
            format!("POST {path} of chunks without end"),
            [head.as_bytes(), chunk.repeat(megabytes).as_bytes()].concat(),
            &[413],
        )
    };
    vec![
        chunks("/new/empty", "application/x-www-form-urlencoded", 40),
        chunks("/pair", "application/x-www-form-urlencoded", 40),
        chunks("/devices/revoke", "application/x-www-form-urlencoded", 40),
        chunks(&format!("/job/{JOB}/text"), "application/x-www-form-urlencoded", 80),
        chunks(&format!("/job/{JOB}/first-power/1/log"), "application/json", 40),
    ]
}

/// A body of some type, with the token in the header.
fn raw(world: &World, name: &str, path: &str, kind: &str, body: &[u8], right: &'static [u16]) -> Case {
    let headers = [("content-type", kind), ("x-voltwright-token", world.visit.token.as_str())];
    Case::new(name, world.visit.request(&format!("POST {path}"), &headers, body), right)
}

const FORM: &str = "application/x-www-form-urlencoded";

fn mistyped(world: &World) -> Vec<Case> {
    let token = format!("token={}", world.visit.token);
    let empty = |name: &str, body: &str, right| raw(world, name, "/new/empty", FORM, body.as_bytes(), right);
    vec![
        empty("a form that is empty", "", &[403]),
        empty("a form with the token alone", &token, &[400]),
        empty("a form with two tokens", &format!("{token}&{token}&title=x&country="), &[400]),
        empty("a form with two titles", &format!("{token}&title=x&title=y&country="), &[400]),
        empty("a form with the token in a header", "title=x&country=", &[403]),
        empty("a title of nothing but spaces", &format!("{token}&title=+++&country="), &[422]),
        empty("a country that is none", &format!("{token}&title=x&country=XX"), &[422]),
        empty("a form with a million fields", &"a&".repeat(500_000), &[403]),
        raw(
            world,
            "a form with the token in the address",
            &format!("/new/empty?{token}"),
            FORM,
            b"title=x&country=",
            &[403],
        ),
        raw(world, "a form of bytes", "/new/empty", FORM, &[0xff, 0xfe, 0, 1, 2, b'=', b'&', 0x80], &[403]),
        raw(world, "JSON to a form", "/new/empty", "application/json", b"{\"title\":\"x\"}", &[403]),
        raw(world, "a form to what is only read", "/static/style.css", FORM, b"x", &[405, CLOSED]),
    ]
}

fn parts(world: &World) -> Vec<Case> {
    let (visit, token) = (&world.visit, &world.visit.token);
    let part =
        |name: &str, body: String, right| raw(world, name, "/new/file", MULTIPART, body.as_bytes(), right);
    let field = |name: &str, value: &str| {
        format!("--cut\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n")
    };
    let end = "--cut--\r\n";
    let long = format!("--cut\r\ncontent-disposition: form-data; name=\"{}\"\r\n\r\nx", "n".repeat(200_000));
    vec![
        raw(world, "a file without a boundary", "/new/file", "multipart/form-data", b"--cut", &[400]),
        raw(world, "a file that is a form", "/new/file", FORM, format!("token={token}").as_bytes(), &[400]),
        part("parts that end at once", end.into(), &[403]),
        part("parts without the token first", field("file", "x") + &field("token", token) + end, &[403]),
        part("parts with a wrong token", field("token", "no") + &field("file", "x") + end, &[403]),
        part("parts without a file", field("token", token) + end, &[400]),
        part(
            "parts that are cut off",
            field("token", token) + "--cut\r\ncontent-disposition: form-da",
            &[400],
        ),
        part("a part with a header of 200 KB", long, &[400, 403]),
        Case::new("a file that is no UTF-8", visit.uploaded("x.toml", &[0xff, 0xfe, 0x80, 0x00]), &[400])
            .says("neither a job file"),
    ]
}
