//! Requests under a wrong name, from other sites, and without the token of their visit.

use crate::case::Case;
use crate::common::http::request;
use crate::world::{JOB, World};

const NOT_OURS: &str = "not a name of this workshop";
const NOT_PLAIN: &str = "does not say once";
const FOREIGN: &str = "not asked by a page of this workshop";
const STALE: &str = "not of this visit";

/// All of them.
pub fn cases(world: &World) -> Vec<Case> {
    [hosts(world), targets(world), origins(world), fetches(world), tokens(world), cookies(world)]
        .into_iter()
        .flatten()
        .collect()
}

fn hosts(world: &World) -> Vec<Case> {
    let port = world.visit.port;
    let one = |name: &str, host: String| {
        Case::new(format!("host {name} `{host}`"), request("GET /", &[("host", &host)], b""), &[421])
            .says(NOT_OURS)
    };
    vec![
        one("of another site", "evil.example".into()),
        one("of another site with our port", format!("evil.example:{port}")),
        one("with a trailing dot", format!("localhost.:{port}")),
        one("that begins like ours", format!("localhost.evil.example:{port}")),
        one("that ends like ours", format!("evil-localhost:{port}")),
        one("that was rebound to our address", format!("127.0.0.1.evil.example:{port}")),
        one("that carries our address in its name", format!("7f000001.evil.example:{port}")),
        one("that is another address of ours", format!("127.0.0.2:{port}")),
        one("that is no address at all", format!("0.0.0.0:{port}")),
        one("of the other protocol", format!("[::1]:{port}")),
        one("as a mapped address", format!("[::ffff:127.0.0.1]:{port}")),
        one("of a private network", format!("192.168.1.20:{port}")),
        one("as one decimal number", format!("2130706433:{port}")),
        one("in hexadecimal", format!("0x7f000001:{port}")),
        one("in short", format!("127.1:{port}")),
        one("with a user before it", format!("evil@localhost:{port}")),
        one("with us as user", format!("localhost:{port}@evil.example")),
        one("with two ports", format!("localhost:{port}:80")),
        one("with a path", format!("localhost:{port}/evil")),
        one("with a comma", format!("localhost:{port}, evil.example")),
        one("that is empty", String::new()),
        one("that is a port alone", format!(":{port}")),
    ]
}

fn targets(world: &World) -> Vec<Case> {
    let (port, ours) = (world.visit.port, format!("localhost:{}", world.visit.port));
    let host = |line: &str, headers: &[(&str, &str)]| request(line, headers, b"");
    let plain = |name: &str, bytes: Vec<u8>| Case::new(name, bytes, &[400]).says(NOT_PLAIN);
    vec![
        plain("no host", host("GET /", &[])),
        plain("no host in HTTP/1.0", b"GET / HTTP/1.0\r\n\r\n".to_vec()),
        plain("two hosts, ours first", host("GET /", &[("host", &ours), ("host", "evil.example")])),
        plain("two hosts, ours last", host("GET /", &[("host", "evil.example"), ("host", &ours)])),
        plain("two hosts, both ours", host("GET /", &[("host", &ours), ("host", &ours)])),
        plain("a target with another name", host("GET http://evil.example/", &[("host", &ours)])),
        plain(
            "a target with our name, a host without",
            host(&format!("GET http://{ours}/"), &[("host", "evil.example")]),
        ),
        plain("a target with our name", host(&format!("GET http://{ours}/"), &[("host", &ours)])),
        Case::new("a host that is not ASCII", host("GET /", &[("host", "löcalhost")]), &[400]),
        Case::new(
            "another host by X-Forwarded-Host",
            host("GET /", &[("host", "evil.example"), ("x-forwarded-host", &ours)]),
            &[421],
        ),
        Case::new(
            "another host by Forwarded",
            host("GET /", &[("host", "evil.example"), ("forwarded", &format!("host=localhost:{port}"))]),
            &[421],
        ),
    ]
}

fn origins(world: &World) -> Vec<Case> {
    let port = world.visit.port;
    let foreign = [
        ("another site", Some("http://evil.example".to_owned())),
        ("null", Some("null".to_owned())),
        ("no", None),
        ("another port of this PC", Some(format!("http://localhost:{}", port ^ 1))),
        ("our address under its other name", Some(format!("http://127.0.0.1:{port}"))),
        ("ours but https", Some(format!("https://localhost:{port}"))),
    ];
    let mut cases = Vec::new();
    for route in World::routes() {
        for (name, origin) in &foreign {
            let header: Vec<(&str, &str)> = origin.iter().map(|o| ("origin", o.as_str())).collect();
            let bytes = world.sent(&route, &world.visit.cookie, &world.visit.token, &header);
            cases.push(
                Case::new(format!("POST {} with {name} origin", route.path), bytes, &[403]).says(FOREIGN),
            );
        }
    }
    cases
}

fn fetches(world: &World) -> Vec<Case> {
    let job = format!("/job/{JOB}");
    let asked = |path: &str, site: &str, mode: &str, dest: &str| {
        let headers = [("sec-fetch-site", site), ("sec-fetch-mode", mode), ("sec-fetch-dest", dest)];
        let bytes = world.visit.request(&format!("GET {path}"), &headers, b"");
        Case::new(format!("{path} asked {site} by {mode} for {dest}"), bytes, &[403]).says(FOREIGN)
    };
    let mut cases = vec![
        asked("/", "cross-site", "no-cors", "image"),
        asked("/", "cross-site", "navigate", "iframe"),
        asked("/", "cross-site", "navigate", "frame"),
        asked("/", "cross-site", "navigate", "object"),
        asked(&job, "cross-site", "cors", "empty"),
        asked(&format!("{job}/export"), "cross-site", "no-cors", "script"),
        asked(&format!("{job}/sheet"), "same-site", "no-cors", "image"),
        asked(&format!("{job}/first-power/1/now"), "same-site", "cors", "empty"),
        asked("/live?about=devices", "cross-site", "cors", "empty"),
        asked("/static/style.css", "cross-site", "no-cors", "style"),
    ];
    let origin = format!("http://localhost:{}", world.visit.port);
    for route in World::routes() {
        let headers = [
            ("origin", origin.as_str()),
            ("sec-fetch-site", "cross-site"),
            ("sec-fetch-mode", "navigate"),
            ("sec-fetch-dest", "document"),
        ];
        let bytes = world.sent(&route, &world.visit.cookie, &world.visit.token, &headers);
        cases.push(
            Case::new(format!("POST {} as a link of another site", route.path), bytes, &[403]).says(FOREIGN),
        );
    }
    let read = world.visit.request("GET /", &[("origin", "http://evil.example")], b"");
    cases.push(Case::new("a page read by another site's script", read, &[403]).says(FOREIGN));
    cases
}

fn tokens(world: &World) -> Vec<Case> {
    let origin = format!("http://localhost:{}", world.visit.port);
    let other = crate::common::visit::Visit::begin(world.visit.port).unwrap();
    assert!(other.token.len() == 64 && other.token != world.visit.token, "two visits have the same token");
    let wrong = [
        ("no", String::new()),
        ("another visit's", other.token.clone()),
        ("a cut", world.visit.token[..63].to_owned()),
        ("a guessed", "0".repeat(64)),
    ];
    let mut cases = Vec::new();
    // Pairing has the code for a token.
    for route in World::routes().iter().filter(|r| r.path != "/pair") {
        for (name, token) in &wrong {
            let bytes = world.sent(route, &world.visit.cookie, token, &[("origin", &origin)]);
            cases
                .push(Case::new(format!("POST {} with {name} token", route.path), bytes, &[403]).says(STALE));
        }
    }
    cases
}

fn cookies(world: &World) -> Vec<Case> {
    let (port, origin) = (world.visit.port, format!("http://localhost:{}", world.visit.port));
    let route = &World::routes()[0];
    let value = world.visit.cookie.split_once('=').unwrap().1;
    let with = |name: &str, cookie: String| {
        let bytes = world.sent(route, &cookie, &world.visit.token, &[("origin", &origin)]);
        Case::new(name, bytes, &[403]).says(STALE)
    };
    vec![
        with("our token without its cookie", String::new()),
        with("our token with a newer visit's cookie", format!("voltwright-{port}={}", "a".repeat(32))),
        with("our cookie under another port's name", format!("voltwright-{}={value}", port ^ 1)),
        with("our cookie under another name", format!("session={value}")),
        with(
            "another cookie before ours",
            format!("voltwright-{port}={}; voltwright-{port}={value}", "b".repeat(32)),
        ),
        with("our cookie with more behind", format!("voltwright-{port}={value}0")),
        with("a cookie in letters that are no digits", format!("voltwright-{port}={}", "z".repeat(32))),
    ]
}
