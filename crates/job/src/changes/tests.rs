use super::*;

const EXAMPLE: &str = include_str!("../../../../examples/desk-computer/finished.toml");

fn told(old: &str, new: &str) -> Vec<String> {
    changes(old, new).iter().map(|c| c.says().to_owned()).collect()
}

/// What an exchange of words in the example is told as.
fn exchanged(from: &str, to: &str) -> Vec<String> {
    assert_eq!(EXAMPLE.matches(from).count(), 1, "{from}");
    told(EXAMPLE, &EXAMPLE.replace(from, to))
}

#[test]
fn a_changed_value_is_told_with_what_it_is_of() {
    assert_eq!(exchanged("country = \"IE\"", "country = \"GB\""), ["country: GB instead of IE"]);
    assert_eq!(exchanged("\"2 A\"", "'1.25 A'"), ["part fuse: rating 1.25 A instead of 2 A"]);
    assert_eq!(exchanged("1983", "1984"), ["machine: made 1984 instead of 1983"]);
    assert_eq!(exchanged("1983", "\"1983\""), ["machine: made \"1983\" instead of 1983"]);
    assert_eq!(
        exchanged("vents = \"60 cm²\"", "vents = \"6 cm²\""),
        ["machine: case vents 6 cm² instead of 60 cm²"]
    );
    assert_eq!(exchanged("format = 1", "format = 2"), ["format: 2 instead of 1"]);
    assert_eq!(
        exchanged("\"2.3 A ± 25 %\"", "\"3 A\""),
        ["load board: draws p5 run 3 A instead of 2.3 A ± 25 %"]
    );
    assert_eq!(
        exchanged("rated = [\"4 A at 250 V AC\"]", "rated = [\"4 A at 250 V AC\", \"6 A at 30 V DC\"]"),
        ["part switch: rated 4 A at 250 V AC, 6 A at 30 V DC instead of 4 A at 250 V AC"]
    );
    assert_eq!(
        exchanged("danger = \"none now\"", "danger = \"dust\""),
        ["found 1: danger dust instead of none now"]
    );
    assert_eq!(exchanged("ambient = \"15..30 °C\"\n", ""), ["ambient: 15..30 °C removed"]);
    assert_eq!(exchanged("worth = \"hard to find\"\n", ""), ["load drive-a: worth hard to find removed"]);
    assert_eq!(exchanged("title   = \"", "mains = \"230 V\"\ntitle   = \""), ["mains: 230 V added"]);
}

#[test]
fn things_come_and_go_as_a_whole() {
    let fuse = EXAMPLE.find("[part.fuse]").unwrap()..EXAMPLE.find("[part.switch]").unwrap();
    let without = format!("{}{}", &EXAMPLE[..fuse.start], &EXAMPLE[fuse.end..]);
    assert_eq!(told(EXAMPLE, &without), ["part fuse removed"]);
    assert_eq!(told(&without, EXAMPLE), ["part fuse added"]);
    let gone = &changes(EXAMPLE, &without)[0];
    assert_eq!((gone.path.as_str(), gone.is.as_deref()), ("part.fuse", None));
    assert!(gone.was.as_deref().unwrap().starts_with("{ kind = \"fuse\", rating = \"2 A\", speed = \"T\""));
}

#[test]
fn wires_are_known_by_their_ends() {
    let line = |end: &str| EXAMPLE.lines().find(|l| l.contains(end)).unwrap().to_owned() + "\n";
    let (third, first) = (line("\"p1.3\""), line("\"inlet.line\""));
    let without = EXAMPLE.replace(&third, "");
    assert_eq!(told(EXAMPLE, &without), ["wire supply.v1.plus to p1.3 removed"]);
    assert_eq!(told(&without, EXAMPLE), ["wire supply.v1.plus to p1.3 added"]);
    assert_eq!(changes(&without, EXAMPLE)[0].path, "wiring.wires[7]");
    // One is gone, and another that stands behind it has changed.
    let (fourth, thin) = (line("\"p1.4\""), line("\"p1.4\"").replace("1.0 mm²", "0.75 mm²"));
    assert_eq!(
        told(EXAMPLE, &without.replace(&fourth, &thin)),
        [
            "wire supply.v1.plus to p1.4: size 0.75 mm² instead of 1.0 mm²",
            "wire supply.v1.plus to p1.3 removed",
        ]
    );
    let elsewhere = EXAMPLE.replace(&third, &third.replace("p1.3", "p2.6"));
    assert_eq!(told(EXAMPLE, &elsewhere), ["wire supply.v1.plus to p1.3: to p2.6 instead of p1.3"]);
    // What a wire has lost is told of that wire, though another stood in its place.
    let shorter = EXAMPLE.replace(&first, "").replace(&fourth, &fourth.replace("colour = \"RD\",", ""));
    assert_ne!(shorter, EXAMPLE.replace(&first, ""));
    assert_eq!(
        told(EXAMPLE, &shorter),
        ["wire supply.v1.plus to p1.4: colour RD removed", "wire inlet.line to fuse.1 removed",]
    );
    let moved = EXAMPLE
        .replace(&first, "")
        .replace("]\n\n# --- what was found", &format!("{first}]\n\n# --- what was found"));
    assert_eq!(told(EXAMPLE, &moved), ["wire inlet.line to fuse.1 moved in the list"]);
}

#[test]
fn what_is_no_value_is_told_as_such() {
    assert_eq!(changes(EXAMPLE, EXAMPLE), []);
    assert_eq!(
        told(EXAMPLE, &EXAMPLE.replace("# invented", "#  invented ")),
        ["only comments or spacing differ"]
    );
    assert_eq!(told(EXAMPLE, &EXAMPLE.replace('\n', "\r\n")), ["only comments or spacing differ"]);
    let swapped = EXAMPLE.replace(
        "maker = \"Larkfield\"                    # invented\nmodel = \"2100\"",
        "model = \"2100\"\nmaker = \"Larkfield\"",
    );
    assert_ne!(swapped, EXAMPLE);
    assert_eq!(told(EXAMPLE, &swapped), ["only the order of keys, comments or spacing differ"]);
    // Tables in braces and under headers are the same values.
    let (inline, headed) = ("[machine]\ncase = { fan = \"1 m³/h\" }\n", "[machine.case]\nfan = \"1 m³/h\"\n");
    assert_eq!(told(inline, headed), ["only comments or spacing differ"]);
}

#[test]
fn texts_that_do_not_read_are_compared_by_line() {
    let torn = EXAMPLE.replace("made  = 1983", "made  = ");
    assert_eq!(told(EXAMPLE, &torn), ["line 11: made  = instead of made  = 1983"]);
    assert_eq!(told("a = [\n", "a = [\nb\n"), ["line 2: b added"]);
    assert_eq!(told("a = [\nb\n", "a = [\n"), ["line 2: b removed"]);
    assert_eq!(told("a = [", "a = [\n"), ["only line ends differ"]);
}
