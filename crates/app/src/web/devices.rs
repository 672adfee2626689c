//! Phones and tablets that are let in: a code for one device, once; the list of those that are in; putting one out.

use super::form::{FIELD, Sent};
use super::live::DEVICES;
use super::problem::Problem;
use super::site::Shared;
use super::visitor::{Visitor, cookie_name, set_cookie};
use super::{frame, qr, secret};
use crate::clock;
use axum::Extension;
use axum::extract::{Form, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use voltwright_workshop::{Device, DeviceId};

/// The longest name of a device.
const LONGEST: usize = 60;

/// The page.
pub async fn devices(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
) -> Result<Html<String>, Problem> {
    owner(&visitor)?;
    let all = site.store(|store| store.devices()).await?;
    let token = site.token(&visitor);
    let now = clock::now();
    let open = site.pairing().shown(now).map(|(code, until)| (code.to_owned(), until));
    let body = html! {
        div #live data-live=(format!("/live?about={DEVICES}")) {
            h1 { "Devices" }
            @match (site.lan, open) {
                (None, _) => p { "Only this PC can reach the workshop. Started as " code { "voltwright --lan" } ", it lets phones and tablets of your network in, each after it was paired." },
                (Some(address), Some((code, until))) => (invitation(&format!("http://{address}"), &code, (until.0 - now.0) / 60_000 + 1)),
                (Some(_), None) => form method="post" action="/devices/invite" {
                    input type="hidden" name=(FIELD) value=(token);
                    button.big type="submit" { "Let a phone in" }
                },
            }
            (list(&all, &token))
        }
    };
    Ok(Html(frame::with_script("Devices", "/static/live.js", &body).into_string()))
}

/// What to scan, and the same to type.
fn invitation(address: &str, code: &str, minutes: u64) -> Markup {
    let link = format!("{address}/pair?code={code}");
    html! {
        p { "Scan this with the phone, within " (minutes) " min. It lets one device in, once." }
        div.qr role="img" aria-label=(format!("Code to scan: {link}")) { (PreEscaped(qr::svg(&link))) }
        p { "Or open " code { (address) "/pair" } " on it and type " strong.code { (code) } }
        p.caution { strong { "Caution." } " What is sent over your network is not encrypted: let devices in on a network that you trust." }
    }
}

fn list(all: &[Device], token: &str) -> Markup {
    html! {
        h2 { "Paired" }
        @if all.iter().all(|d| d.revoked.is_some()) { p { "None." } }
        ul.devices {
            @for device in all.iter().filter(|d| d.revoked.is_none()) {
                li {
                    strong { (device.name) } ", paired " (clock::shown(device.paired)) ", last seen " (clock::shown(device.seen))
                    form.inline method="post" action="/devices/revoke" {
                        input type="hidden" name=(FIELD) value=(token);
                        input type="hidden" name="device" value=(device.id);
                        button type="submit" { "Put out" }
                    }
                }
            }
        }
    }
}

fn owner(visitor: &Visitor) -> Result<(), Problem> {
    if visitor.is_owner() {
        return Ok(());
    }
    Err(Problem::refused(
        "Devices are let in and put out at the workshop PC alone.",
        "Go to the PC that runs the workshop.",
    ))
}

/// Nothing but the token.
#[derive(Deserialize)]
pub struct Nothing {}

/// Opens a code.
pub async fn invite(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Sent(Nothing {}): Sent<Nothing>,
) -> Result<Response, Problem> {
    owner(&visitor)?;
    if site.lan.is_none() {
        return Err(Problem::refused(
            "No other device can reach this workshop.",
            "Start it as `voltwright --lan`.",
        ));
    }
    site.open_pairing()?;
    Ok(Redirect::to("/devices").into_response())
}

/// Which device.
#[derive(Deserialize)]
pub struct Out {
    device: DeviceId,
}

/// Puts a device out.
pub async fn revoke(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Sent(Out { device }): Sent<Out>,
) -> Result<Response, Problem> {
    owner(&visitor)?;
    site.store(move |store| store.revoke(device, clock::now())).await?;
    site.changes.tell(DEVICES);
    Ok(Redirect::to("/devices").into_response())
}

/// The code in a scanned link.
#[derive(Deserialize)]
pub struct Scanned {
    #[serde(default)]
    code: String,
}

/// Asks for the code, on the device. Looking does not use it up.
pub async fn ask(Query(Scanned { code }): Query<Scanned>) -> Html<String> {
    let body = html! {
        h1 { "Pair with the workshop" }
        form method="post" action="/pair" {
            label for="code" { "The code that the workshop PC shows" }
            input id="code" name="code" value=(code) required maxlength="40" autocapitalize="characters" autocomplete="off";
            label for="device-name" { "What to call this device" }
            input id="device-name" name="name" value="Phone" required maxlength=(LONGEST);
            button.big type="submit" { "Pair" }
        }
    };
    Html(frame::page("Pair", &body).into_string())
}

/// What the device sends.
#[derive(Deserialize)]
pub struct Pair {
    code: String,
    name: String,
}

/// Pairs a device whose code is right.
pub async fn pair(State(site): State<Shared>, Form(sent): Form<Pair>) -> Result<Response, Problem> {
    let name: String = sent.name.trim().chars().filter(|c| !c.is_control()).take(LONGEST).collect();
    let now = clock::now();
    if site.lan.is_none() || !site.pairing().take(&sent.code, now) {
        let hint = "On the workshop PC press \"Let a phone in\" for a new one. A code is good for one device and five minutes.";
        return Err(Problem::new(
            StatusCode::FORBIDDEN,
            "That is not the code that is open now.",
            Some(hint),
        ));
    }
    let token = secret::name().map_err(|why| Problem::ours(&why))?;
    let cookie = set_cookie(&cookie_name(site.port), &token);
    let name = if name.is_empty() { "Phone".to_owned() } else { name };
    site.store(move |store| store.pair(&name, token.as_bytes(), now)).await?;
    site.changes.tell(DEVICES);
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
}
