//! What every request passes before a page sees it, and every answer on its way out.
//!
//! - The name under which we are asked must be ours: a page of another site whose name was made to point here is refused.
//! - What changes something must come from a page of ours (`Origin`), and carries the token of its visit (see `form`).
//! - Who is not at the workshop PC needs a paired device; a stranger may only ask to be paired.
//! - Every answer forbids foreign scripts, styles, frames and guessing of types.

use super::problem::Problem;
use super::secret;
use super::site::Shared;
use super::visitor::{Ends, Visitor, cookie, cookie_name, set_cookie};
use crate::clock;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::IpAddr;
use std::time::Duration;

/// That a device was seen is written at most so often, milliseconds.
const SEEN_EACH: u64 = 60_000;
/// A request is answered within this; a stream of changes has begun by then.
const ANSWER: Duration = Duration::from_secs(30);

/// What a stranger may ask for.
const FOR_STRANGERS: [&str; 2] = ["/pair", "/static/"];

/// Sees a request in and its answer out.
pub async fn guard(State(site): State<Shared>, mut request: Request, next: Next) -> Response {
    let entered = match Asked::of(&request) {
        Ok(asked) => asked.enter(&site).await,
        Err(problem) => Err(problem),
    };
    let (visitor, fresh) = match entered {
        Ok(entered) => entered,
        Err(problem) => return sealed(problem.into_response()),
    };
    request.extensions_mut().insert(visitor);
    let answered = tokio::time::timeout(ANSWER, next.run(request)).await;
    let late =
        |_| Problem::new(StatusCode::REQUEST_TIMEOUT, "The request took too long.", None).into_response();
    let mut response = sealed(answered.unwrap_or_else(late));
    if let Some(cookie) = fresh.and_then(|c| HeaderValue::from_str(&c).ok()) {
        response.headers_mut().append(header::SET_COOKIE, cookie);
    }
    response
}

/// What is looked at before a page sees a request.
struct Asked {
    ends: Ends,
    host: String,
    method: Method,
    path: String,
    headers: HeaderMap,
}

impl Asked {
    fn of(request: &Request) -> Result<Self, Problem> {
        let ends = request.extensions().get::<Ends>().copied();
        Ok(Self {
            ends: ends.ok_or_else(|| Problem::ours("a connection without ends"))?,
            host: asked_host(request)?,
            method: request.method().clone(),
            path: request.uri().path().to_owned(),
            headers: request.headers().clone(),
        })
    }

    /// Who is asking, and the cookie to give where there is none yet.
    async fn enter(self, site: &Shared) -> Result<(Visitor, Option<String>), Problem> {
        if !is_ours(&self.host, self.ends.local.ip()) {
            let hint = "Open the address that `voltwright` printed when it was started.";
            let what = "That is not a name of this workshop.";
            return Err(Problem::new(StatusCode::MISDIRECTED_REQUEST, what, Some(hint)));
        }
        same_site(&self.headers, &self.method, &self.host)?;
        let (visitor, fresh) = visitor(site, &self.headers, self.ends).await?;
        if visitor == Visitor::Stranger && !FOR_STRANGERS.iter().any(|open| self.path.starts_with(open)) {
            let hint = "On the workshop PC open Devices, press \"Let a phone in\", and scan what it shows.";
            let what = "This device is not paired with the workshop.";
            return Err(Problem::new(StatusCode::UNAUTHORIZED, what, Some(hint)));
        }
        Ok((visitor, fresh))
    }
}

/// The one name under which we were asked.
fn asked_host(request: &Request) -> Result<String, Problem> {
    let mut hosts = request.headers().get_all(header::HOST).iter();
    match (hosts.next().and_then(|h| h.to_str().ok()), hosts.next(), request.uri().authority()) {
        (Some(host), None, None) => Ok(host.to_ascii_lowercase()),
        _ => Err(Problem::unclear("The request does not say once, plainly, whom it asks.")),
    }
}

/// Whether a host, with or without a port, is the address of the connection itself, or a name of this machine for itself.
fn is_ours(host: &str, local: IpAddr) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if !port.is_empty() && port.bytes().all(|b| b.is_ascii_digit()) => name,
        _ => host,
    };
    let literal = name.trim_start_matches('[').trim_end_matches(']').parse::<IpAddr>();
    match literal {
        Ok(ip) => ip == local.to_canonical() || ip == local,
        Err(_) => name == "localhost" && local.to_canonical().is_loopback(),
    }
}

/// Refuses what another site's page asks of us, but for a plain link to a page.
fn same_site(headers: &HeaderMap, method: &Method, host: &str) -> Result<(), Problem> {
    let text = |name: &str| headers.get(name).and_then(|v| v.to_str().ok());
    let reads = method == Method::GET || method == Method::HEAD;
    let foreign = matches!(text("sec-fetch-site"), Some("cross-site" | "same-site"));
    let is_link =
        reads && text("sec-fetch-mode") == Some("navigate") && text("sec-fetch-dest") == Some("document");
    let origin = text("origin");
    let is_own = origin == Some(&format!("http://{host}"));
    if foreign && !is_link || !is_own && (!reads || origin.is_some()) {
        let hint = "Use the pages of the workshop itself.";
        return Err(Problem::refused("That was not asked by a page of this workshop.", hint));
    }
    Ok(())
}

async fn visitor(
    site: &Shared,
    headers: &HeaderMap,
    ends: Ends,
) -> Result<(Visitor, Option<String>), Problem> {
    let name = cookie_name(site.port);
    let held = cookie(headers, &name).filter(|v| v.len() == 32 && v.bytes().all(|b| b.is_ascii_hexdigit()));
    let is_here =
        ends.remote.ip().to_canonical().is_loopback() && ends.local.ip().to_canonical().is_loopback();
    if is_here {
        return match held {
            Some(visit) => Ok((Visitor::Owner { visit: visit.to_owned() }, None)),
            None => {
                let visit = secret::name().map_err(|why| Problem::ours(&why))?;
                let cookie = set_cookie(&name, &visit);
                Ok((Visitor::Owner { visit }, Some(cookie)))
            }
        };
    }
    let Some(held) = held.map(str::to_owned) else { return Ok((Visitor::Stranger, None)) };
    let token = held.clone();
    let found = site.store(move |store| {
        let device = store.device_by_token(token.as_bytes())?.filter(|d| d.revoked.is_none());
        let now = clock::now();
        if let Some(device) = device.as_ref().filter(|d| now.0 > d.seen.0 + SEEN_EACH) {
            store.seen(device.id, now)?;
        }
        Ok(device)
    });
    Ok(match found.await? {
        Some(device) => (Visitor::Device { id: device.id, name: device.name, secret: held }, None),
        None => (Visitor::Stranger, None),
    })
}

/// What every answer says to the browser.
const SEAL: [(&str, &str); 8] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; \
         base-uri 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    // Not `no-referrer`: browsers would then send no Origin with our own forms.
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "geolocation=(), microphone=(), payment=(), usb=()"),
    ("x-robots-tag", "noindex"),
];

/// Adds what every answer says; pages are not kept by the browser unless they say so.
fn sealed(mut response: Response) -> Response {
    let headers = response.headers_mut();
    for (name, value) in SEAL {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_names_are_ours() {
        let here: IpAddr = "127.0.0.1".parse().unwrap();
        let lan: IpAddr = "192.168.1.20".parse().unwrap();
        for host in ["localhost:8400", "127.0.0.1:8400", "localhost", "127.0.0.1"] {
            assert!(is_ours(host, here), "{host}");
        }
        assert!(is_ours("192.168.1.20:8400", lan) && is_ours("[::1]:8400", "::1".parse().unwrap()));
        for host in [
            "evil.example",
            "evil.example:8400",
            "127.0.0.1.evil.example",
            "192.168.1.20",
            "localhost.:8400",
            "",
            ":8400",
            "a@localhost",
        ] {
            assert!(!is_ours(host, here), "{host}");
        }
        assert!(!is_ours("localhost:8400", lan) && !is_ours("127.0.0.1", lan));
    }

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs.iter().map(|(n, v)| (HeaderName::from_static(n), HeaderValue::from_static(v))).collect()
    }

    #[test]
    fn changes_come_from_our_own_pages_alone() {
        let host = "localhost:8400";
        let ask = |method: Method, pairs: &[(&'static str, &'static str)]| {
            same_site(&headers(pairs), &method, host).is_ok()
        };
        assert!(ask(Method::GET, &[]));
        assert!(ask(Method::POST, &[("origin", "http://localhost:8400"), ("sec-fetch-site", "same-origin")]));
        let link = [
            ("sec-fetch-site", "cross-site"),
            ("sec-fetch-mode", "navigate"),
            ("sec-fetch-dest", "document"),
        ];
        assert!(ask(Method::GET, &link));
        assert!(!ask(Method::POST, &link));
        assert!(!ask(Method::POST, &[]));
        assert!(!ask(Method::POST, &[("origin", "null")]));
        assert!(!ask(Method::POST, &[("origin", "http://localhost:8401")]));
        assert!(!ask(Method::POST, &[("origin", "http://evil.example")]));
        assert!(!ask(Method::GET, &[("origin", "http://evil.example")]));
        assert!(!ask(
            Method::GET,
            &[("sec-fetch-site", "cross-site"), ("sec-fetch-mode", "no-cors"), ("sec-fetch-dest", "image")]
        ));
        let frame =
            [("sec-fetch-site", "cross-site"), ("sec-fetch-mode", "navigate"), ("sec-fetch-dest", "iframe")];
        assert!(!ask(Method::GET, &frame));
    }
}
