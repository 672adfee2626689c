//! First power on paper: the same steps as a sheet to print, with boxes to write in and the plugs' faces in both views.

use super::super::frame;
use super::super::problem::Problem;
use super::super::site::Shared;
use super::standing::Standing;
use super::step::cautions;
use crate::caution;
use crate::proof::words;
use crate::web::desk::Bench;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use voltwright_drawing::face::{Probes, Side, face};
use voltwright_job::Terminal;
use voltwright_proof::first_power::set_up;
use voltwright_proof::reading::Reading;

pub use crate::proof::sheet::HOW;
use crate::proof::sheet::SEEN;
use crate::proof::sheet::WRITE_FIRST;

/// What it is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 210 mm by 297 mm.
    #[default]
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

impl Paper {
    const BOTH: [Paper; 2] = [Paper::A4, Paper::Letter];

    fn key(self) -> &'static str {
        match self {
            Paper::A4 => "a4",
            Paper::Letter => "letter",
        }
    }

    fn name(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::Letter => "Letter",
        }
    }
}

/// Which paper.
#[derive(Deserialize)]
pub struct On {
    #[serde(default)]
    paper: Paper,
}

/// The sheet.
pub async fn sheet(
    State(site): State<Shared>,
    Path(name): Path<String>,
    Query(On { paper }): Query<On>,
) -> Result<Html<String>, Problem> {
    let job = site.job(&name).await?;
    let id = job.job;
    let newest = site.store(move |store| store.newest(id)).await?;
    let body = site.desks.of(&newest.text).look(move |sight| {
        let standing = Standing::of(sight).map_err(Problem::not_provable)?;
        let bench = sight.bench().map_err(Problem::not_provable)?;
        Ok::<_, Problem>(whole(bench, &standing, &name, newest.made.number, paper))
    });
    let body = body.await??;
    let style = format!("/static/sheet-{}.css", paper.key());
    Ok(Html(frame::with_style(&format!("Sheet: {}", job.title), &style, &body).into_string()))
}

pub fn whole(bench: &Bench<'_, '_>, standing: &Standing, name: &str, revision: u32, paper: Paper) -> Markup {
    let (proof, mut number) = (bench.proof, 0);
    html! {
        p.crumbs.screen { a href=(format!("/job/{name}")) { "Back to the job" } }
        p.screen {
            "On " @for one in Paper::BOTH {
                @if one == paper { strong { (one.name()) } } @else { a href=(format!("/job/{name}/sheet?paper={}", one.key())) { (one.name()) } }
                " "
            }
            "– print this page; ink on white, whatever the screen shows."
        }
        article.sheet {
            h1 { "First power: " (bench.job.title.text) }
            p.facts { "Revision " (revision) ". Date " span.blank {} " By " span.blank {} " Meter " span.blank {} }
            p.caution { strong { "Before any work." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
            (standing.told(&format!("/job/{name}")))
            p { (WRITE_FIRST) " " (HOW) }
            @for s in 0..proof.setup.stages.len() { (stage(bench, s, &mut number)) }
            (faces(bench))
        }
    }
}

fn stage(bench: &Bench<'_, '_>, s: usize, number: &mut usize) -> Markup {
    let (job, stages) = (bench.job, &bench.proof.setup.stages);
    let setup = &bench.proof.setup;
    let readings: Vec<&Reading> = bench.proof.asked_at(s).map(|r| &setup.readings[r]).collect();
    if readings.is_empty() && stages[s].open.is_some() {
        return html! {};
    }
    html! {
        section.stage {
            h2 { (set_up(bench.proof).iter().filter(|one| **one <= s).count()) ". " (stages[s].name) }
            (cautions(&words::cautions(job, stages, s)))
            p.order { span.box {} " " (words::set_up(job, stages, s)) @if stages[s].live { " " (caution::WATCH) } }
            @if !readings.is_empty() { div.scroll tabindex="0" role="region" aria-label=(format!("Readings of stage {}", stages[s].name)) { table {
                thead { tr { th { "No." } th { "Meter" } th { "Red on" } th { "Black on" } th { "Must be" } th { "Read" } th { "Inside" } } }
                tbody { @for reading in readings {
                    ({ *number += 1; "" })
                    (row(bench, reading, *number))
                } }
            } } }
            @if stages[s].live { p.order { span.box {} " " (super::step::switch_off(job)) ". " (caution::RESERVOIRS) } }
        }
    }
}

fn row(bench: &Bench<'_, '_>, reading: &Reading, number: usize) -> Markup {
    let [red, black] = words::probe_cells(bench.job, reading);
    html! {
        tr {
            td { (number) } td { (words::function(reading.function)) } td { (red) } td { (black) } td { (words::window(reading)) }
            td.write {} td { span.box {} }
        }
    }
}

/// Both faces of every plug that a reading probes.
fn faces(bench: &Bench<'_, '_>) -> Markup {
    let probed = |p: &usize| {
        let on = |t: Terminal| matches!(t, Terminal::Plug(plug, _) if plug == *p);
        bench.proof.asked.iter().map(|r| &bench.proof.setup.readings[*r]).any(|r| on(r.red) || on(r.black))
    };
    let plugs: Vec<usize> = (0..bench.job.plugs.len()).filter(probed).collect();
    html! {
        @if !plugs.is_empty() {
            section.faces {
                h2 { "The plugs as you see them" }
                p { (SEEN) }
                @for p in plugs { div.pair {
                    @for (side, key) in [(Side::Mating, "mating"), (Side::Wires, "wires")] {
                        figure { (PreEscaped(face(bench.job, p, side, Probes::default(), &format!("{key}-{p}")).svg)) }
                    }
                } }
            }
        }
    }
}
