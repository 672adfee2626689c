//! Paths in words; every link to a field leads to a field that is there.

use super::super::{Of, Page, whole};
use super::*;
use crate::web::desk::Desks;
use crate::web::edit::Last;

const JOBS: [&str; 7] = [
    include_str!("../../../../../../examples/nameplate-only/job.toml"),
    include_str!("../../../../../../suite/cases/12-terminal.toml"),
    include_str!("../../../../../../suite/cases/17-tape-recorder.toml"),
    include_str!("../../../../../../examples/desk-computer/finished.toml"),
    include_str!("../../../../../../examples/desk-computer/first-draft.toml"),
    include_str!("../../../../../../suite/every-key.toml"),
    "format = 1\n[job]\ntitle = \"T\"\n[rail.p5]\nnominal = \"5 V\"\n[part.psu]\nkind = \"mains supply\"\n[part.psu.output.v1]\nvolts = \"5 V\"\n\
     [load.board]\nsockets.j1 = [\"com\", \"p5\"]\n[load.board.draws.p5]\nrun = \"1 A\"\n[battery.cell]\nchemistry = \"alkaline\"\n",
];

fn said(path: &str) -> String {
    let file = "[wiring]\nwires = [{ from = \"psu.v1.plus\", to = \"p1.2\" }]".parse().unwrap();
    in_words(path, &file)
}

#[test]
fn paths_are_said_in_words() {
    for (path, words) in [
        ("rail.p5.tolerance", "the tolerance of rail p5"),
        ("rail.p5.harm", "the limits of harm of rail p5"),
        ("job.country", "the country"),
        ("machine.nameplate.voltage", "the voltage of the nameplate"),
        ("machine.motor", "the motor of the machine"),
        ("part.psu.input.voltage", "the input voltage of part psu"),
        ("part.psu.output.v1.limit", "the current rating of output v1 of part psu"),
        (
            "part.raw.output.v1.reservoir-rated",
            "the voltage rating of the reservoir of output v1 of part raw",
        ),
        ("old-supply.part.c1.rated", "the rating of part c1 of the old supply"),
        ("load.board.draws.p5.run", "what load board draws from p5 when it runs"),
        ("load.board.draws.p5.capacitance", "the capacitance of load board on p5"),
        ("assume.contact", "resistance of one mated contact"),
        ("wiring.wires[0].length", "the length of wire psu.v1.plus to p1.2"),
        ("wiring.wires[7].length", "the length of wire 8"),
        ("battery.cell.state", "the state of battery cell"),
        ("load", "a load"),
        ("rail.p5.colour", "rail.p5.colour"),
        ("", ""),
    ] {
        assert_eq!(said(path), words, "{path}");
    }
}

#[test]
fn a_head_of_a_table_is_a_path_and_prose_is_left_alone() {
    let of = Of::new("x".into(), Page::Survey);
    let told = |enter: &str| to_enter(enter, &of, &Table::new()).into_string();
    assert_eq!(told("[wiring] wires"), "<a href=\"/job/x/wiring#add-wire\">the wires</a>");
    assert_eq!(
        told("[load.…] with draws"),
        "<a href=\"/job/x/needs?at=load.*#load.*\">a load</a> with draws"
    );
    assert_eq!(told("a fuse, or a <limit>"), "a fuse, or a &lt;limit&gt;");
    assert_eq!(
        told("job.country, rail.p5.harm"),
        "<a href=\"/job/x/survey?at=job#t%3Ajob.country\">the country</a> and \
         <a href=\"/job/x/needs?at=rail.*#rail.*\">the limits of harm of rail p5</a>"
    );
}

/// Every key that a job file may hold has its page but the version of its form.
#[test]
fn every_part_of_the_file_has_a_page() {
    let without: Vec<&str> = JOB.keys.iter().map(|k| k.name).filter(|k| page_of(k).is_none()).collect();
    assert_eq!(without, ["format"]);
}

fn decoded(text: &str) -> String {
    let pairs: Vec<(String, String)> = serde_urlencoded::from_str(&format!("x={text}")).unwrap();
    pairs[0].1.clone()
}

/// Every link that is offered for something that could not be judged leads to a field, or to a form, that its page has, and
/// what is not a link is one of the few that name no key.
#[tokio::test]
async fn every_link_leads_to_what_is_there() {
    let desks = Desks::new(1);
    let mut followed = 0;
    for text in JOBS {
        let all = desks.of(text).look(|sight| {
            let of = Of::new("x".into(), Page::Survey);
            let file: Table = sight.text.parse().unwrap();
            let enter = sight.report().unjudged.iter().map(|u| u.enter.clone());
            enter.map(|e| (to_enter(&e, &of, &file).into_string(), e)).collect::<Vec<_>>()
        });
        for (markup, enter) in all.await.unwrap() {
            let links: Vec<&str> =
                markup.split("href=\"").skip(1).map(|l| l.split('"').next().unwrap()).collect();
            assert!(!links.is_empty(), "{enter}");
            for link in links {
                followed += 1;
                let (address, fragment) = link.split_once('#').unwrap();
                let at = address.split_once("?at=").map(|(_, at)| decoded(at)).unwrap_or_default();
                let page =
                    Page::ALL.into_iter().find(|p| address.contains(&format!("/x/{}", p.key()))).unwrap();
                let id = format!("id=\"{}\"", decoded(fragment));
                let entry = format!("id=\"{at}\" open");
                let shown = desks.of(text).look(move |sight| {
                    let of = Of { last: Last { at, ..Last::default() }, ..Of::new("x".into(), page) };
                    whole(sight, &of, page).into_string()
                });
                let shown = shown.await.unwrap();
                assert!(shown.contains(&id), "{enter}: {link} leads nowhere");
                let is_entry = shown.contains("details") && entry.contains('.');
                assert!(!is_entry || shown.contains(&entry), "{enter}: {link} does not stand open");
            }
        }
    }
    assert!(followed > 15, "only {followed} links");
}
