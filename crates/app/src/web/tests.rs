//! Devices of the network, asked in process: strangers, codes, devices that were put out. Both ends of each connection are told
//! as the listener would tell them.

use super::router;
use super::site::Site;
use super::visitor::Ends;
use axum::Router;
use axum::body::{Body, Bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use http_body_util::BodyExt;
use std::convert::Infallible;
use std::path::PathBuf;
use std::time::Duration;
use tower::ServiceExt;
use voltwright_workshop::{Moment, Store};

const PORT: u16 = 8230;
const HERE: (&str, &str, &str) = ("127.0.0.1:50000", "127.0.0.1:8230", "localhost:8230");
const PHONE: (&str, &str, &str) = ("192.168.1.30:50000", "192.168.1.20:8230", "192.168.1.20:8230");
const FORM: &str = "application/x-www-form-urlencoded";

/// What is only read; the job is there, its first power as well.
const READ: [&str; 17] = [
    "/",
    "/?search=rack",
    "/job/rack",
    "/job/rack/export",
    "/job/rack/text",
    "/job/rack/survey",
    "/picture/0000000000000000000000000000000000000000000000000000000000000000",
    "/shelf",
    "/shelf/part?job=rack&part=fuse",
    "/job/rack/sheet",
    "/job/rack/survey",
    "/job/rack/proof",
    "/job/rack/cures",
    "/job/rack/first-power",
    "/job/rack/first-power/1",
    "/job/rack/first-power/1/now",
    "/live?about=rack",
];
/// What changes something, but for pairing.
const CHANGE: [&str; 14] = [
    "/new/empty",
    "/new/example",
    "/new/file",
    "/job/rack/back",
    "/job/rack/picture",
    "/job/rack/edit?page=survey",
    "/job/rack/try?page=survey",
    "/job/rack/cures",
    "/shelf/part",
    "/job/rack/text",
    "/job/rack/first-power",
    "/job/rack/first-power/1/log",
    "/job/rack/first-power/1/answer",
    "/job/rack/first-power/1/meter",
];
/// What the workshop PC alone may.
const PC: [&str; 2] = ["/devices/invite", "/devices/revoke"];

/// A workshop that lets devices in, with a job and a first power of it.
struct Workshop {
    router: Router,
    folder: PathBuf,
}

/// What was answered.
struct Told {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

impl Workshop {
    fn open(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("voltwright-lan-{name}-{}", std::process::id()));
        let store = Store::open(&folder.join("workshop.db")).unwrap();
        let job = store.create("Rack", "format = 1\n[job]\ntitle = \"Rack\"\n", "first", Moment(1)).unwrap();
        store.begin(job.job, 1, Moment(2)).unwrap();
        let site = Site::new(store, 1, (PORT, Some(PHONE.1.parse().unwrap())), None).unwrap();
        Self { router: router(site), folder }
    }

    async fn send(
        &self,
        ends: (&str, &str, &str),
        line: &str,
        headers: &[(&str, &str)],
        body: Body,
    ) -> axum::response::Response {
        let (method, path) = line.split_once(' ').unwrap();
        let (remote, local) = (ends.0.parse().unwrap(), ends.1.parse().unwrap());
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header("host", ends.2)
            .extension(Ends { remote, local });
        if method != "GET" {
            request = request.header("origin", format!("http://{}", ends.2));
        }
        let request = headers.iter().fold(request, |request, (name, value)| request.header(*name, *value));
        self.router.clone().oneshot(request.body(body).unwrap()).await.unwrap()
    }

    async fn ask(&self, ends: (&str, &str, &str), line: &str, cookie: &str, body: &str) -> Told {
        let headers = [("cookie", cookie), ("content-type", FORM)];
        let response = self.send(ends, line, &headers, Body::from(body.to_owned())).await;
        let (head, body) = response.into_parts();
        assert!(head.headers.contains_key("content-security-policy"), "{line}");
        // A stream has no end: nothing of it is wanted.
        let streams = head.headers.get("content-type").is_some_and(|kind| kind == "text/event-stream");
        let bytes = if streams { Bytes::new() } else { body.collect().await.unwrap().to_bytes() };
        Told {
            status: head.status,
            headers: head.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }

    /// A visit at the PC: its cookie and its token.
    async fn at_the_pc(&self) -> (String, String) {
        let page = self.ask(HERE, "GET /", "", "").await;
        (page.cookie(), page.between("name=\"token\" value=\"", "\""))
    }

    /// The code that the PC shows after it was asked to let a device in.
    async fn code(&self) -> String {
        let (cookie, token) = self.at_the_pc().await;
        let opened = self.ask(HERE, "POST /devices/invite", &cookie, &format!("token={token}")).await;
        assert_eq!(opened.status, StatusCode::SEE_OTHER, "{}", opened.text);
        self.ask(HERE, "GET /devices", &cookie, "").await.between("<strong class=\"code\">", "<")
    }

    async fn pair(&self, code: &str, name: &str) -> Told {
        self.ask(PHONE, "POST /pair", "", &format!("code={code}&name={name}")).await
    }

    /// A phone that was let in: its cookie and its token.
    async fn phone(&self) -> (String, String) {
        let cookie = self.pair(&self.code().await, "Phone").await.cookie();
        let page = self.ask(PHONE, "GET /", &cookie, "").await;
        assert_eq!(page.status, StatusCode::OK);
        (cookie, page.between("name=\"token\" value=\"", "\""))
    }

    /// Puts the only device out.
    async fn put_out(&self) {
        let (cookie, token) = self.at_the_pc().await;
        let out = self.ask(HERE, "POST /devices/revoke", &cookie, &format!("token={token}&device=1")).await;
        assert_eq!(out.status, StatusCode::SEE_OTHER);
    }

    /// Everything is refused as to a stranger.
    async fn shuts_out(&self, cookie: &str, token: &str) {
        let lines = READ.iter().chain(&["/devices", "/nowhere"]).map(|path| format!("GET {path}"));
        for line in lines.chain(CHANGE.iter().chain(&PC).map(|path| format!("POST {path}"))) {
            let told = self.ask(PHONE, &line, cookie, &format!("token={token}&title=x&country=")).await;
            assert_eq!(told.status, StatusCode::UNAUTHORIZED, "{line} with `{cookie}`");
            assert!(told.text.contains("not paired") && !told.text.contains("Rack"), "{line}: {}", told.text);
            assert!(!told.headers.contains_key("set-cookie"), "{line}");
        }
    }
}

impl Drop for Workshop {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

impl Told {
    fn cookie(&self) -> String {
        let cookie =
            self.headers.get("set-cookie").unwrap_or_else(|| panic!("{} {}", self.status, self.text));
        cookie.to_str().unwrap().split(';').next().unwrap().to_owned()
    }

    fn between(&self, before: &str, after: &str) -> String {
        let (_, rest) = self.text.split_once(before).unwrap_or_else(|| panic!("no {before}: {}", self.text));
        rest.split_once(after).unwrap().0.to_owned()
    }
}

#[tokio::test]
async fn a_stranger_may_ask_to_be_paired_and_nothing_else() {
    let workshop = Workshop::open("stranger");
    let (visit, token) = workshop.at_the_pc().await;
    let (phone, _) = workshop.phone().await;
    let secret = phone.split_once('=').unwrap().1;
    let forged = format!("voltwright-{PORT}={}", "a".repeat(32));
    let elsewhere = format!("voltwright-{}={secret}", PORT + 1);
    let cut = phone[..phone.len() - 1].to_owned();
    for cookie in ["", visit.as_str(), &forged, &elsewhere, &cut, &format!("{forged}; {phone}")] {
        workshop.shuts_out(cookie, &token).await;
    }
    for path in ["/pair", "/pair?code=X", "/static/style.css"] {
        assert_eq!(
            workshop.ask(PHONE, &format!("GET {path}"), "", "").await.status,
            StatusCode::OK,
            "{path}"
        );
    }
    for path in [
        "/pair/../devices",
        "/pairs",
        "/static/../",
        "/static/..%2fdevices",
        "/static//devices",
        "/pair%2f..%2fdevices",
    ] {
        let told = workshop.ask(PHONE, &format!("GET {path}"), "", "").await;
        assert!(matches!(told.status, StatusCode::NOT_FOUND | StatusCode::UNAUTHORIZED), "{path}");
        assert!(!told.text.contains("Rack") && !told.text.contains("Put out"), "{path}");
    }
}

#[tokio::test]
async fn only_both_ends_on_loopback_are_the_workshop_pc() {
    let workshop = Workshop::open("ends");
    for ends in [
        // The PC asks itself by its address in the network; another asks by a name of the PC for itself.
        ("192.168.1.20:50000", "192.168.1.20:8230", "192.168.1.20:8230"),
        ("127.0.0.1:50000", "192.168.1.20:8230", "192.168.1.20:8230"),
        ("192.168.1.30:50000", "127.0.0.1:8230", "127.0.0.1:8230"),
        ("[::ffff:192.168.1.30]:50000", "127.0.0.1:8230", "localhost:8230"),
        ("[fe80::1]:50000", "[::1]:8230", "[::1]:8230"),
    ] {
        assert_eq!(
            workshop.ask(ends, "GET /devices", "", "").await.status,
            StatusCode::UNAUTHORIZED,
            "{ends:?}"
        );
    }
    for host in [
        "localhost:8230",
        "127.0.0.1:8230",
        "evil.example",
        "192.168.1.30:8230",
        "192.168.1.20.evil.example:8230",
    ] {
        let told = workshop.ask((PHONE.0, PHONE.1, host), "GET /pair", "", "").await;
        assert_eq!(told.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
    }
}

#[tokio::test]
async fn a_code_is_good_once_and_void_after_wrong_ones() {
    let workshop = Workshop::open("code");
    assert_eq!(
        workshop.pair("ABCDE23456", "Phone").await.status,
        StatusCode::FORBIDDEN,
        "before any was opened"
    );
    let code = workshop.code().await;
    for wrong in ["", "ABCDE2345", "%27+OR+1=1+--", &code[1..], &format!("{code}A")] {
        assert_eq!(workshop.pair(wrong, "Phone").await.status, StatusCode::FORBIDDEN, "{wrong}");
    }
    assert_eq!(
        workshop.pair(&code, "Phone").await.status,
        StatusCode::FORBIDDEN,
        "void after five wrong ones"
    );
    let old = code;
    let code = workshop.code().await;
    assert_eq!(workshop.pair(&old, "Phone").await.status, StatusCode::FORBIDDEN, "the code before");
    assert_eq!(workshop.pair(&code.to_lowercase(), "Phone").await.status, StatusCode::SEE_OTHER);
    assert_eq!(workshop.pair(&code, "Phone").await.status, StatusCode::FORBIDDEN, "used up");
    let ends = (PHONE.0, PHONE.1, PHONE.2);
    let headers = [("content-type", FORM), ("sec-fetch-site", "cross-site")];
    let code = workshop.code().await;
    let foreign =
        workshop.send(ends, "POST /pair", &headers, Body::from(format!("code={code}&name=x"))).await;
    assert_eq!(foreign.status(), StatusCode::FORBIDDEN, "sent by another site");
}

#[tokio::test]
async fn the_name_of_a_device_is_text() {
    let workshop = Workshop::open("name");
    let name = "%3Cscript%3Eevil()%3C/script%3E%00%0A%22%27%3E%3Cimg%20src=x%20onerror=evil()%3E".to_owned()
        + &"n".repeat(1000);
    assert_eq!(workshop.pair(&workshop.code().await, &name).await.status, StatusCode::SEE_OTHER);
    let page = workshop.ask(HERE, "GET /devices", "", "").await.text;
    assert!(
        page.contains("&lt;script&gt;evil()") && !page.contains("<script>") && !page.contains("<img"),
        "{page}"
    );
    assert!(!page.contains(&"n".repeat(60)), "the name was not cut");
}

#[tokio::test]
async fn a_device_works_with_jobs_but_not_with_devices() {
    let workshop = Workshop::open("device");
    let (phone, token) = workshop.phone().await;
    let (_, of_the_pc) = workshop.at_the_pc().await;
    for (token, status) in [
        (&token, StatusCode::SEE_OTHER),
        (&of_the_pc, StatusCode::FORBIDDEN),
        (&String::new(), StatusCode::FORBIDDEN),
    ] {
        let body = format!("token={token}&title=Made+by+a+phone&country=");
        assert_eq!(workshop.ask(PHONE, "POST /new/empty", &phone, &body).await.status, status);
    }
    assert_eq!(workshop.ask(PHONE, "GET /devices", &phone, "").await.status, StatusCode::FORBIDDEN);
    for path in PC {
        let told =
            workshop.ask(PHONE, &format!("POST {path}"), &phone, &format!("token={token}&device=1")).await;
        assert_eq!(told.status, StatusCode::FORBIDDEN, "{path}");
        assert!(told.text.contains("at the workshop PC alone"), "{path}: {}", told.text);
    }
    assert_eq!(
        workshop.ask(PHONE, "GET /", &phone, "").await.status,
        StatusCode::OK,
        "it was put out by itself"
    );
}

#[tokio::test]
async fn a_device_that_was_put_out_is_a_stranger_at_once_and_its_stream_ends() {
    let workshop = Workshop::open("out");
    let (phone, token) = workshop.phone().await;
    let (pc, _) = workshop.at_the_pc().await;
    let mut streams = Vec::new();
    for (ends, cookie) in [(PHONE, &phone), (HERE, &pc)] {
        let headers = [("cookie", cookie.as_str())];
        streams.push(workshop.send(ends, "GET /live?about=rack", &headers, Body::empty()).await.into_body());
    }
    for stream in &mut streams {
        assert!(next(stream).await.unwrap().contains("listening"));
    }
    workshop.put_out().await;
    workshop.shuts_out(&phone, &token).await;
    assert_eq!(next(&mut streams[0]).await, None, "the device's stream goes on");
    let (cookie, token) = workshop.at_the_pc().await;
    let begun =
        workshop.ask(HERE, "POST /job/rack/first-power", &cookie, &format!("token={token}&revision=1")).await;
    assert_eq!(begun.status, StatusCode::SEE_OTHER);
    assert!(next(&mut streams[1]).await.unwrap().contains("changed"), "the PC's stream ended");
}

/// A device that does not read its stream loses what was told meanwhile, and with it that it was put out.
#[tokio::test]
async fn a_stream_that_lags_ends_as_well() {
    let workshop = Workshop::open("lag");
    let (phone, _) = workshop.phone().await;
    let headers = [("cookie", phone.as_str())];
    let mut stream = workshop.send(PHONE, "GET /live?about=rack", &headers, Body::empty()).await.into_body();
    assert!(next(&mut stream).await.unwrap().contains("listening"));
    workshop.put_out().await;
    let (cookie, token) = workshop.at_the_pc().await;
    for _ in 0..100 {
        workshop.ask(HERE, "POST /job/rack/first-power", &cookie, &format!("token={token}&revision=1")).await;
    }
    assert_eq!(next(&mut stream).await, None, "the device's stream goes on");
}

/// What comes next on a stream; nothing at its end.
async fn next(stream: &mut Body) -> Option<String> {
    let frame = tokio::time::timeout(Duration::from_secs(5), stream.frame())
        .await
        .expect("a stream that says nothing and does not end");
    Some(String::from_utf8_lossy(frame?.unwrap().data_ref().unwrap()).into_owned())
}

/// A body that comes by drops is waited for so long and no longer; the time is the test's own.
#[tokio::test(start_paused = true)]
async fn a_slow_body_is_given_up() {
    let workshop = Workshop::open("slow");
    let drops = futures_util::stream::unfold((), |()| async {
        tokio::time::sleep(Duration::from_secs(1)).await;
        Some((Ok::<_, Infallible>(Bytes::from_static(b"a")), ()))
    });
    let start = tokio::time::Instant::now();
    let response =
        workshop.send(HERE, "POST /new/empty", &[("content-type", FORM)], Body::from_stream(drops)).await;
    assert_eq!(response.status(), StatusCode::REQUEST_TIMEOUT);
    assert!(start.elapsed() <= Duration::from_secs(31), "{:?}", start.elapsed());
}
