//! Requests that disagree with themselves about where they end, and heads beyond measure.

use crate::case::{CLOSED, Case};
use crate::world::{JOB, World};

/// All of them.
pub fn cases(world: &World) -> Vec<Case> {
    [lengths(world), smuggled(world), heads(world), lines(world)].into_iter().flatten().collect()
}

/// A head with our names, and whatever else.
fn head(world: &World, line: &str, more: &str) -> String {
    let port = world.visit.port;
    format!(
        "{line}\r\nhost: localhost:{port}\r\norigin: http://localhost:{port}\r\ncookie: {}\r\n{more}",
        world.visit.cookie
    )
}

fn lengths(world: &World) -> Vec<Case> {
    let post = head(world, "POST /new/empty HTTP/1.1", "content-type: application/x-www-form-urlencoded\r\n");
    let of = |length: &str| {
        let bytes = format!("{post}content-length: {length}\r\n\r\ntitle=x");
        Case::new(format!("content-length {length}"), bytes.into_bytes(), &[400, 413, 431, CLOSED])
    };
    let two = format!("{post}content-length: 7\r\ncontent-length: 3\r\n\r\ntitle=x");
    let list = format!("{post}content-length: 7, 3\r\n\r\ntitle=x");
    // The rest is then a request of its own, and no request.
    let short = format!("{post}content-length: 3\r\n\r\ntitle=x");
    vec![
        of("-1"),
        of("-7"),
        of("+7"),
        of("7x"),
        of("0x7"),
        of("7.0"),
        of("NaN"),
        of("99999999999999999999999999"),
        of("18446744073709551615"),
        Case::new("two content-lengths that differ", two.into_bytes(), &[400, CLOSED]),
        Case::new("a list of content-lengths", list.into_bytes(), &[400, CLOSED]),
        Case::new("a content-length shorter than what comes", short.into_bytes(), &[403]),
    ]
}

/// Both lengths, and codings that are not: whatever end is believed, the hidden request has no token.
fn smuggled(world: &World) -> Vec<Case> {
    let hidden = head(
        world,
        "POST /new/example HTTP/1.1",
        "content-type: application/x-www-form-urlencoded\r\ncontent-length: 15\r\n\r\nexample=plotter",
    );
    let post = head(world, "POST /new/empty HTTP/1.1", "content-type: application/x-www-form-urlencoded\r\n");
    let with = |name: &str, lengths: &str, body: &str| {
        Case::new(name, format!("{post}{lengths}\r\n{body}{hidden}").into_bytes(), &[400, 403, CLOSED])
    };
    vec![
        with(
            "content-length and chunked",
            "content-length: 6\r\ntransfer-encoding: chunked\r\n",
            "0\r\n\r\n",
        ),
        with(
            "chunked and content-length",
            "transfer-encoding: chunked\r\ncontent-length: 6\r\n",
            "0\r\n\r\n",
        ),
        with("a coding that is none", "content-length: 5\r\ntransfer-encoding: xchunked\r\n", "0\r\n\r\n"),
        with("chunked after identity", "transfer-encoding: identity, chunked\r\n", "0\r\n\r\n"),
        with("chunked before another", "transfer-encoding: chunked, gzip\r\n", "0\r\n\r\n"),
        with("chunked twice", "transfer-encoding: chunked\r\ntransfer-encoding: chunked\r\n", "0\r\n\r\n"),
        with(
            "chunked by a folded line",
            "transfer-encoding:\r\n chunked\r\ncontent-length: 6\r\n",
            "0\r\n\r\n",
        ),
        with(
            "chunked with a space before the colon",
            "transfer-encoding : chunked\r\ncontent-length: 6\r\n",
            "0\r\n\r\n",
        ),
        with("chunked with a tab", "transfer-encoding:\tchunked\r\ncontent-length: 6\r\n", "0\r\n\r\n"),
        with("a chunk of a negative size", "transfer-encoding: chunked\r\n", "-1\r\n\r\n"),
        with("a chunk of a size that is none", "transfer-encoding: chunked\r\n", "zz\r\n\r\n"),
        with("a chunk of a size beyond all", "transfer-encoding: chunked\r\n", "fffffffffffffffff\r\n\r\n"),
        with("a chunk shorter than it says", "transfer-encoding: chunked\r\n", "5\r\nab\r\n0\r\n\r\n"),
        with(
            "a chunk with an endless extension",
            "transfer-encoding: chunked\r\n",
            &format!("1;{}\r\na\r\n0\r\n\r\n", "e".repeat(100_000)),
        ),
        with(
            "trailers without end",
            "transfer-encoding: chunked\r\n",
            &format!("0\r\n{}\r\n", "t: t\r\n".repeat(20_000)),
        ),
    ]
}

fn heads(world: &World) -> Vec<Case> {
    let get = |more: &str| format!("{}\r\n", head(world, "GET / HTTP/1.1", more)).into_bytes();
    let long = |count: usize| {
        format!("GET /?search={} HTTP/1.1\r\nhost: localhost:{}\r\n\r\n", "s".repeat(count), world.visit.port)
            .into_bytes()
    };
    vec![
        Case::new("a header of 1 MB", get(&format!("x: {}\r\n", "h".repeat(1 << 20))), &[400, 431, CLOSED]),
        Case::new(
            "a header's name of 100 KB",
            get(&format!("{}: x\r\n", "n".repeat(100_000))),
            &[400, 431, CLOSED],
        ),
        Case::new(
            "5,000 headers",
            get(&(0..5000).map(|i| format!("x-{i}: y\r\n")).collect::<String>()),
            &[431, CLOSED],
        ),
        Case::new(
            "a cookie of 1 MB",
            get(&format!("cookie: {}\r\n", "c=d; ".repeat(200_000))),
            &[400, 431, CLOSED],
        ),
        Case::new("a target of 100 KB", long(100_000), &[400, 414, 431, CLOSED]),
        Case::new("a target of 5 MB", long(5 << 20), &[400, 414, 431, CLOSED]),
        Case::new(
            "headers without end",
            [head(world, "GET / HTTP/1.1", "").into_bytes(), b"x: y\r\n".repeat(500_000)].concat(),
            &[431, CLOSED],
        ),
    ]
}

fn lines(world: &World) -> Vec<Case> {
    let raw = |name: &str, bytes: &[u8]| Case::new(name, bytes.to_vec(), &[400, 403, 405, 421, 505, CLOSED]);
    let port = world.visit.port;
    let named =
        |line: &str, more: &str| format!("{line}\r\nhost: localhost:{port}\r\n{more}\r\n").into_bytes();
    vec![
        raw(
            "random bytes",
            &(0..4096_u32)
                .map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8)
                .chain(*b"\r\n\r\n")
                .collect::<Vec<_>>(),
        ),
        raw("the beginning of TLS", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n\r\n\r\n"),
        raw("the beginning of HTTP/2", b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"),
        raw("the beginning of mail", b"EHLO evil.example\r\n\r\n"),
        raw("HTTP/0.9", b"GET /\r\n\r\n"),
        raw("HTTP/9.9", &named("GET / HTTP/9.9", "")),
        raw("a target with a space", &named("GET /job /x HTTP/1.1", "")),
        raw("a target with a NUL", &named("GET /\0 HTTP/1.1", "")),
        raw("a target without a slash", &named("GET job HTTP/1.1", "")),
        raw("a target of another protocol", &named("GET file:///etc/passwd HTTP/1.1", "")),
        raw("a header with a NUL", &named("GET / HTTP/1.1", "x: a\0b\r\n")),
        raw("a header with a bare return", &named("GET / HTTP/1.1", "x: a\rb: c\r\n")),
        raw("a header without a colon", &named("GET / HTTP/1.1", "evil\r\n")),
        raw("a header without a name", &named("GET / HTTP/1.1", ": evil\r\n")),
        raw("a header's name with spaces", &named("GET / HTTP/1.1", "evil one: x\r\n")),
        raw("a host after a space", format!("GET / HTTP/1.1\r\n host: localhost:{port}\r\n\r\n").as_bytes()),
        Case::new(
            "an upgrade to a socket",
            named(
                &format!("GET /job/{JOB} HTTP/1.1"),
                "connection: upgrade\r\nupgrade: websocket\r\nsec-websocket-key: eA==\r\nsec-websocket-version: 13\r\norigin: http://evil.example\r\n",
            ),
            &[403],
        ),
    ]
}
