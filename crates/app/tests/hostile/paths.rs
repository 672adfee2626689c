//! Paths that lead elsewhere, numbers that are none, SQL, and methods that no page uses.

use crate::case::{CLOSED, Case};
use crate::common::http::escaped;
use crate::world::{JOB, World};

/// All of them.
pub fn cases(world: &World) -> Vec<Case> {
    [traversal(world), numbers(world), sql(world), methods(world)].into_iter().flatten().collect()
}

fn traversal(world: &World) -> Vec<Case> {
    let steps = [
        ("up", "../../etc/passwd"),
        ("up, encoded", "%2e%2e%2f%2e%2e%2fetc%2fpasswd"),
        ("up, encoded twice", "%252e%252e%252f%252e%252e%252fetc%252fpasswd"),
        ("up by backslashes", "..\\..\\etc\\passwd"),
        ("up by encoded backslashes", "..%5c..%5cetc%5cpasswd"),
        ("up in overlong UTF-8", "%c0%ae%c0%ae%c0%af%c0%ae%c0%ae%c0%afetc"),
        ("to a root", "%2fetc%2fpasswd"),
        ("to the workshop's file", "..%2fworkshop.db"),
        ("with a NUL", "style.css%00.html"),
        ("that is no UTF-8", "%ff%fe"),
        ("with a line end", "x%0d%0aset-cookie:%20evil=1"),
    ];
    let places = [
        "/static/PATH",
        "/picture/PATH",
        "/job/PATH",
        "/job/PATH/text",
        "/job/PATH/export",
        "/job/PATH/sheet",
        "/job/PATH/first-power",
        "/job/PATH/first-power/1",
        "/job/PATH/first-power/1/now",
    ];
    let get = |path: &str| world.visit.request(&format!("GET {path}"), &[], b"");
    let mut cases = Vec::new();
    for place in places {
        for (name, step) in steps {
            cases.push(Case::new(format!("{place} {name}"), get(&place.replace("PATH", step)), &[400, 404]));
        }
    }
    for path in [
        "/static/../",
        "/static/..",
        "/static/",
        "/static/./style.css",
        "/static//style.css",
        "/../Cargo.toml",
        "//evil.example/",
        "/job//text",
        "/job/../devices",
    ] {
        cases.push(Case::new(path, get(path), &[404]));
    }
    // The job is there, its name is written otherwise.
    for name in [
        format!("{JOB}%00"),
        format!("{JOB}%20"),
        format!("./{JOB}"),
        JOB.to_uppercase(),
        format!("{JOB}%2f"),
    ] {
        cases.push(Case::new(format!("the job as {name}"), get(&format!("/job/{name}")), &[404]));
    }
    cases
}

fn numbers(world: &World) -> Vec<Case> {
    let get = |path: String, right| {
        Case::new(path.clone(), world.visit.request(&format!("GET {path}"), &[], b""), right)
    };
    let mut cases = Vec::new();
    for number in [
        "-1",
        "0",
        "2",
        "4294967295",
        "4294967296",
        "99999999999999999999999",
        "1e0",
        "1.0",
        "0x1",
        "NaN",
        "Infinity",
        "1%00",
        "%201",
        "1;2",
        "١",
    ] {
        cases.push(get(format!("/job/{JOB}/first-power/{}", number.replace('١', "%D9%A1")), &[400, 404]));
    }
    for number in [
        "-1",
        "0",
        "3",
        "4294967295",
        "4294967296",
        "18446744073709551616",
        "1e9",
        "NaN",
        "",
        "1+OR+1=1",
        "1%00",
    ] {
        cases.push(get(format!("/job/{JOB}/text?revision={number}"), &[400, 404]));
    }
    cases.push(get(format!("/job/{JOB}/text?revision=1&revision=2"), &[400]));
    cases.push(get(format!("/job/{JOB}/sheet?paper=../../a4"), &[400]));
    cases.push(get("/live".into(), &[400]));
    let post = |what: &str, path: &str, fields: &[(&str, &str)]| {
        Case::new(what, world.visit.posted(&format!("/job/{JOB}{path}"), fields), &[400, 404, 409])
    };
    cases.extend([
        post("back to a revision below zero", "/back", &[("number", "-1"), ("upon", "2")]),
        post("back to a revision that is not there", "/back", &[("number", "4294967295"), ("upon", "2")]),
        post("back to a revision beyond all numbers", "/back", &[("number", "4294967296"), ("upon", "2")]),
        post("back upon a revision to come", "/back", &[("number", "1"), ("upon", "4294967295")]),
        post("saved upon a revision below zero", "/text", &[("text", "x"), ("upon", "-1")]),
        post("saved upon a revision to come", "/text", &[("text", "x"), ("upon", "4294967295")]),
        post("saved upon no number", "/text", &[("text", "x"), ("upon", "NaN")]),
        post("begun with a revision that is not there", "/first-power", &[("revision", "0")]),
        post("begun with a revision below zero", "/first-power", &[("revision", "-2")]),
        post("begun with a revision beyond all numbers", "/first-power", &[("revision", "1e300")]),
    ]);
    cases
}

fn sql(world: &World) -> Vec<Case> {
    let texts = [
        "' OR 1=1 --",
        "'; DROP TABLE job; --",
        "\" OR \"\"=\"",
        "1) UNION SELECT value FROM setting --",
        "%' OR name LIKE '%",
    ];
    let mut cases = Vec::new();
    for text in texts {
        let there = escaped(text);
        for path in [
            format!("/job/{there}"),
            format!("/job/{there}/export"),
            format!("/job/{JOB}/first-power/{there}"),
            format!("/job/{JOB}/text?revision={there}"),
        ] {
            cases.push(Case::new(
                format!("SQL {path}"),
                world.visit.request(&format!("GET {path}"), &[], b""),
                &[400, 404],
            ));
        }
        let shelf = world.visit.request(&format!("GET /shelf?search={there}&kind={there}"), &[], b"");
        cases.push(Case::new(format!("SQL on the shelf: {text}"), shelf, &[200]).says("parts is so"));
        let search = world.visit.request(&format!("GET /?search={there}"), &[], b"");
        cases.push(
            Case::new(format!("SQL searched for: {text}"), search, &[200])
                .says("No job has all of these words"),
        );
        cases.push(Case::new(
            format!("SQL as an example: {text}"),
            world.visit.posted("/new/example", &[("example", text)]),
            &[404],
        ));
        cases.push(Case::new(
            format!("SQL as a country: {text}"),
            world.visit.posted("/new/empty", &[("title", "x"), ("country", text)]),
            &[422],
        ));
        cases.push(Case::new(
            format!("SQL as a device: {text}"),
            world.visit.posted("/devices/revoke", &[("device", text)]),
            &[400],
        ));
    }
    cases
}

fn methods(world: &World) -> Vec<Case> {
    let own = [("sec-fetch-site", "same-origin")];
    let mut cases = Vec::new();
    for method in ["PUT", "DELETE", "PATCH", "TRACE", "OPTIONS", "PROPFIND", "BREW", "get"] {
        for path in ["/", "/job/JOB/text", "/static/style.css"] {
            let path = path.replace("JOB", JOB);
            cases.push(Case::new(
                format!("{method} {path}"),
                world.visit.request(&format!("{method} {path}"), &own, b""),
                &[405],
            ));
        }
    }
    for path in ["/", "/devices", "/job/JOB/export", "/live"] {
        cases.push(Case::new(
            format!("POST {path} that is only read"),
            world.visit.posted(&path.replace("JOB", JOB), &[]),
            &[405],
        ));
    }
    let connect = format!("CONNECT localhost:{}", world.visit.port);
    cases.push(Case::new("CONNECT", world.visit.request(&connect, &own, b""), &[400]));
    cases.push(Case::new("OPTIONS *", world.visit.request("OPTIONS *", &own, b""), &[400, 404, 405]));
    cases.push(Case::new(
        "a method of symbols",
        world.visit.request("<script> /", &own, b""),
        &[400, CLOSED],
    ));
    cases
}
