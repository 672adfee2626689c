//! Script in every text that can be sent, and then every page that shows it.

use crate::case::{WRONG, judged};
use crate::common::http::{Answer, escaped};
use crate::pages::foreign;
use crate::world::{DOT, World};
use serde_json::json;

/// What is in every hostile text.
const MARK: &str = "evil";
/// It ends every place that a text can stand in: a quoted attribute, a title, a field, a comment, a script, a drawing.
const SCRIPT: &str = "\"'><xevil onevil=1></title></textarea></script></svg><script>evil()</script><img src=x onerror=evil()>--><!-- ${evil} {{evil}} javascript:evil()";

/// Sends it everywhere, then looks at every page.
pub fn run(world: &mut World) -> Vec<String> {
    let mut told = errors(world);
    let at = job(world, &mut told);
    told.extend(log(world, &at));
    told.extend(pictures(world, &at));
    told.extend(shown(world, &at));
    told.extend(forms(world, &at));
    told
}

/// A line for an answer that must not be script.
fn looked_at(name: &str, answer: &Answer, right: &[u16]) -> String {
    let line = judged(name, Some(answer), right, "");
    match answer.header("content-type") {
        // Browsers take it for what it says: its type is not guessed.
        Some("text/plain; charset=utf-8") | None => line,
        Some("text/html; charset=utf-8") => {
            foreign(&answer.text(), MARK).map_or(line, |tag| format!("{WRONG} {name}: {tag}"))
        }
        Some(other) => format!("{WRONG} {name}: a page of type {other}"),
    }
}

/// What is refused with its own words.
fn errors(world: &mut World) -> Vec<String> {
    let there = escaped(SCRIPT);
    let mut told = Vec::new();
    for path in [
        format!("/?search={there}"),
        format!("/job/{there}"),
        format!("/job/{there}/text"),
        format!("/static/{there}"),
        format!("/{there}"),
        format!("/pair?code={there}"),
        format!("/live?{there}=1"),
        format!("/job/{}/first-power/{there}", crate::world::JOB),
        format!("/job/{}/text?revision={there}", crate::world::JOB),
        format!("/job/{}/sheet?paper={there}", crate::world::JOB),
        format!("/picture/{there}"),
        format!("/shelf?search={there}&kind={there}"),
        format!("/shelf/part?job={there}&part={there}"),
        format!("/shelf/part?job={}&part={there}", crate::world::JOB),
    ] {
        let answer = world.visit.get(&path).unwrap();
        told.push(looked_at(
            &format!("script in GET {}", path.replace(&there, "SCRIPT")),
            &answer,
            &[200, 400, 404],
        ));
    }
    let forms: [(&str, &[(&str, &str)]); 6] = [
        ("/new/empty", &[("title", "x"), ("country", SCRIPT)]),
        ("/new/example", &[("example", SCRIPT)]),
        ("/devices/revoke", &[("device", SCRIPT)]),
        ("/pair", &[("code", SCRIPT), ("name", SCRIPT)]),
        ("/new/empty", &[(SCRIPT, SCRIPT)]),
        ("/devices/invite", &[(SCRIPT, SCRIPT)]),
    ];
    for (path, fields) in forms {
        let answer = world.visit.post(path, fields).unwrap();
        told.push(looked_at(
            &format!("script in {} of POST {path}", fields[0].0.replace(SCRIPT, "a name")),
            &answer,
            &[400, 403, 404, 422],
        ));
    }
    let path = format!("/job/{}/first-power/1/answer", crate::world::JOB);
    for field in ["kind", "answer", "amount", "unit", "function"] {
        let mut fields = vec![
            ("key", "s"),
            ("kind", "reading"),
            ("answer", "value"),
            ("amount", "5"),
            ("unit", "V"),
            ("function", "volts"),
        ];
        fields.retain(|(name, _)| *name != field);
        fields.push((field, SCRIPT));
        told.push(looked_at(
            &format!("script as {field}"),
            &world.visit.post(&path, &fields).unwrap(),
            &[400],
        ));
    }
    let name = SCRIPT.replace('"', "%22");
    let bytes = world.visit.uploaded(&name, &[0xff, 0xfe]);
    told.push(looked_at("script as a file's name", &world.visit.ask(&bytes).unwrap(), &[400]));
    told
}

/// Jobs with script in every text: one that begins empty, one that can be proved, one whose text has errors. Tells where the second is.
fn job(world: &mut World, told: &mut Vec<String>) -> String {
    let made = world.visit.post("/new/empty", &[("title", SCRIPT), ("country", "IE")]).unwrap();
    told.push(judged("script as a title", Some(&made), &[303], ""));
    let quoted = serde_json::to_string(SCRIPT).unwrap();
    let broken = format!(
        "format = 1\n[job]\ntitle = {quoted}\ncountry = {quoted}\n[{quoted}]\nx = {quoted}\n[part.{quoted}]\nkind = {quoted}\n= {quoted}\n"
    );
    let bytes = world.visit.uploaded(&SCRIPT.replace('"', "%22"), broken.as_bytes());
    let brought = world.visit.ask(&bytes).unwrap();
    told.push(judged("script in a job file with errors", Some(&brought), &[303], ""));
    let at = brought.header("location").unwrap().to_owned();
    for path in [format!("{at}/text"), at.clone(), format!("{at}/first-power"), format!("{at}/sheet")] {
        let answer = world.visit.get(&path).unwrap();
        told.push(looked_at(&format!("{path} of a job of script with errors"), &answer, &[200, 422]));
    }
    let text = provable();
    let bytes = world.visit.uploaded("x.toml", text.as_bytes());
    let brought = world.visit.ask(&bytes).unwrap();
    told.push(judged("script in a job file that can be proved", Some(&brought), &[303], ""));
    let at = brought.header("location").unwrap().to_owned();
    let saved = world
        .visit
        .post(&format!("{at}/text"), &[("upon", "1"), ("text", &format!("{text}# {SCRIPT}\n"))])
        .unwrap();
    told.push(judged("script in a comment", Some(&saved), &[303], ""));
    let conflict = world
        .visit
        .post(&format!("{at}/text"), &[("upon", "1"), ("text", &format!("{text}# 2 {SCRIPT}\n"))])
        .unwrap();
    told.push(looked_at("script in a text that another saved in between", &conflict, &[409]));
    assert!(
        world.visit.get(&format!("{at}/sheet")).unwrap().status == 200,
        "the job of script must be provable"
    );
    at
}

/// The main example with script wherever a person may write as they like.
fn provable() -> String {
    let quoted = serde_json::to_string(SCRIPT).unwrap();
    let text = include_str!("../../../../examples/desk-computer/finished.toml");
    let mut out = String::new();
    for line in text.lines() {
        let (key, _) = line.split_once('=').unwrap_or((line, ""));
        match key.trim() {
            "title" | "name" | "maker" | "model" => out += &format!("{key}= {quoted}\n"),
            _ => {
                out += &format!(
                    "{}\n",
                    line.replace(
                        "why = \"three-rail memory is destroyed if -5 V comes late\"",
                        &format!("why = {quoted}")
                    )
                )
            }
        }
    }
    assert!(out.matches(MARK).count() > 20, "the example has no such keys any more");
    out
}

/// Script in every field that the log keeps.
fn log(world: &mut World, at: &str) -> Vec<String> {
    let begun = world.visit.post(&format!("{at}/first-power"), &[("revision", "2")]).unwrap();
    let run = begun.header("location").unwrap().to_owned();
    let mut told = Vec::new();
    let fields = ["stage", "red", "black", "note", "other", "instrument", "key", "function"];
    for (i, field) in fields.iter().enumerate() {
        let key = format!("script-{i}");
        let mut all = vec![
            ("key", key.as_str()),
            ("kind", "reading"),
            ("answer", "high"),
            ("stage", "source"),
            ("red", "p1.3"),
            ("black", "p1.1"),
            ("function", "volts"),
        ];
        all.retain(|(name, _)| name != field);
        let short: String = SCRIPT.chars().take(60).collect();
        all.push((field, if *field == "key" { &short } else { SCRIPT }));
        let body = json!({"sent": [{"taken": 1, "fields": all}]}).to_string();
        let answer = world.visit.script(&format!("{run}/log"), body.as_bytes()).unwrap();
        told.push(scripted(&format!("script as {field} of an entry"), &answer));
    }
    // A stop with the power off: what explains it, with the job's own words.
    let mut all = vec![("key", "stop"), ("kind", "reading"), ("answer", "high")];
    let page = world.visit.get(&run).unwrap().text();
    let field = |name: &str| {
        crate::common::visit::attribute(&page, &format!("name=\"{name}\" value=\"")).unwrap_or_default()
    };
    let (stage, red, black, function) = (field("stage"), field("red"), field("black"), field("function"));
    all.extend([("stage", stage.as_str()), ("red", &red), ("black", &black), ("function", &function)]);
    let ready = json!({"taken": 1, "fields": [["key", "ready"], ["kind", "ready"], ["stage", stage]]});
    let body = json!({"sent": [ready, {"taken": 2, "fields": all}]}).to_string();
    let answer = world.visit.script(&format!("{run}/log"), body.as_bytes()).unwrap();
    told.push(scripted("a stop in a job of script", &answer));
    told
}

/// What a page's script puts into the page: three pieces of HTML.
fn scripted(name: &str, answer: &Answer) -> String {
    let line = judged(name, Some(answer), &[200], "");
    let now: serde_json::Value = serde_json::from_slice(&answer.body).unwrap_or_default();
    let pieces = ["step", "power", "log"].map(|piece| now[piece].as_str().unwrap_or_default().to_owned());
    match pieces.iter().find_map(|piece| foreign(piece, MARK)) {
        Some(tag) => format!("{WRONG} {name}: {tag}"),
        None if pieces.iter().any(String::is_empty) => format!("{WRONG} {name}: a piece is missing"),
        None => line,
    }
}

/// Script in every word of a picture: what has no fixed choice is taken and shown, a view of its own is refused.
fn pictures(world: &mut World, at: &str) -> Vec<String> {
    let (job, name) = (at.trim_start_matches("/job/"), SCRIPT.replace('"', "%22"));
    let short: String = SCRIPT.chars().take(60).collect();
    let taken = world.visit.pictured(job, [SCRIPT, "wire side", &short], &name, DOT);
    let view = world.visit.pictured(job, [SCRIPT, SCRIPT, &short], &name, DOT);
    let none = world.visit.pictured(job, [SCRIPT, "label", &short], &name, SCRIPT.as_bytes());
    let refused = [("as a picture's view", view), ("in the words of what is no picture", none)];
    let mut told =
        vec![judged("script in a picture's words", world.visit.ask(&taken).ok().as_ref(), &[303], "")];
    for (name, bytes) in refused {
        let answer = world.visit.ask(&bytes).unwrap();
        let shows = answer.text().contains("&lt;xevil");
        told.push(if shows {
            looked_at(&format!("script {name}"), &answer, &[400])
        } else {
            format!("{WRONG} script {name}: what was written is lost")
        });
    }
    let page = world.visit.get(&format!("{at}/survey")).unwrap().text();
    let (_, shown) = page.split_once("class=\"gallery\"").unwrap();
    let (shown, _) = shown.split_once("</ul>").unwrap();
    told.push(crate::pictures::guessed(world, job));
    assert!(shown.matches("&lt;xevil").count() >= 3, "the note, pin 1 and the name must be shown: {shown}");
    told
}

/// Script in the fields of a job's forms: refused, asked for because another changed the same, tried while it is typed.
fn forms(world: &mut World, at: &str) -> Vec<String> {
    let survey = format!("{at}/edit?page=survey");
    let (title, other) = (format!("2 {SCRIPT}"), format!("3 {SCRIPT}"));
    let fields = [("upon", "2"), ("at", "job"), ("t:job.title", title.as_str())];
    let saved = world.visit.post(&survey, &fields).unwrap();
    let mut told = vec![judged("script in a form", Some(&saved), &[303], "")];
    let refused = [
        ("survey", "as what another changed too", "job", "t:job.title", other.as_str(), 409),
        ("options", "as a number", "part.switch", "n:part.switch.poles", SCRIPT, 422),
        ("options", "as another name", "part.switch", "name:part.switch", SCRIPT, 422),
    ];
    for (page, name, about, field, typed, status) in refused {
        let fields = [("upon", "1"), ("at", about), (field, typed)];
        let answer = world.visit.post(&format!("{at}/edit?page={page}"), &fields).unwrap();
        let line = looked_at(&format!("script in a form, {name}"), &answer, &[status]);
        let shown = typed.replace('>', "&gt;").replace('<', "&lt;").replace('"', "&quot;");
        let is_kept = answer.text().contains(&format!("value=\"{shown}"));
        told.push(if is_kept {
            line
        } else {
            format!("{WRONG} script in a form, {name}: what was typed is lost")
        });
    }
    let typed = [["at", "part.supply"], ["t:part.supply.power", SCRIPT], ["n:part.supply.poles", SCRIPT]];
    let typed = json!({"upon": 3, "fields": typed}).to_string();
    let answer = world.visit.script(&format!("{at}/try?page=options"), typed.as_bytes()).unwrap();
    let line = judged("script tried while it is typed", Some(&answer), &[200], MARK);
    let tried: serde_json::Value = serde_json::from_slice(&answer.body).unwrap_or_default();
    let pieces = ["path", "beside", "foot"].map(|piece| tried[piece].as_str().unwrap_or_default().to_owned());
    let tag = pieces.iter().find_map(|piece| foreign(piece, MARK));
    told.push(tag.map_or(line, |tag| format!("{WRONG} script tried while it is typed: {tag}")));
    told
}

/// Every page that shows what was sent; each must show it, as text.
fn shown(world: &mut World, at: &str) -> Vec<String> {
    let pages = [
        "",
        "/survey",
        "/text",
        "/text?revision=1",
        "/sheet",
        "/sheet?paper=letter",
        "/first-power",
        "/first-power/1",
    ];
    let of_the_job = pages.iter().map(|page| format!("{at}{page}"));
    let part = format!("/shelf/part?job={}&part=fuse", at.trim_start_matches("/job/"));
    let of_all = ["/", "/?search=evil", "/shelf", "/shelf?search=evil"].map(str::to_owned);
    let mut told = Vec::new();
    for path in of_the_job.chain(of_all).chain([part]) {
        let answer = world.visit.get(&path).unwrap();
        let name = format!("{path} shows script as text");
        let shows = answer.text().contains("&lt;xevil");
        told.push(if shows {
            looked_at(&name, &answer, &[200])
        } else {
            format!("{WRONG} {name}: it does not show it")
        });
    }
    let now = world.visit.get(&format!("{at}/first-power/1/now")).unwrap();
    told.push(scripted("what is asked now in a job of script", &now));
    let export = world.visit.get(&format!("{at}/export")).unwrap();
    let kind = export.header("content-type").unwrap_or_default().to_owned();
    let line = judged("the archive of a job of script", Some(&export), &[200], "");
    told.push(if kind == "application/zip" { line } else { format!("{WRONG} {line} as {kind}") });
    told
}
