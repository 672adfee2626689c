use super::*;
use proptest::prelude::*;

/// Whether the parser takes a text, and then that the tree holds the same values.
fn agrees(text: &str) -> bool {
    let Ok(tree) = Tree::of(text) else { return false };
    let read: toml::Table = text.trim_start_matches('\u{feff}').parse().unwrap();
    let held: toml::Table = format!("x = {}", Value::of(&tree).literal()).parse().unwrap();
    // As words, since `nan` is not equal to itself.
    assert_eq!(format!("{:?}", held["x"]), format!("{:?}", toml::Value::Table(read)), "{text}");
    true
}

#[test]
fn the_tree_of_every_file_holds_what_the_parser_reads() {
    let suite = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../suite");
    let folders = ["bad", "cases", "proof", "."].map(|f| std::fs::read_dir(suite.join(f)).unwrap());
    let files = folders.into_iter().flatten().map(|e| e.unwrap().path());
    let texts: Vec<String> = files
        .filter(|f| f.extension().is_some_and(|e| e == "toml"))
        .map(|f| std::fs::read_to_string(f).unwrap())
        .collect();
    let agreed = texts.iter().filter(|text| agrees(text)).count();
    assert!(agreed > 60, "only {agreed} of {} files read", texts.len());
}

/// Every sort of value and key, in the ways that are easy to mistake for another.
const ODD: &str = r##"# "quoted" comment
'a.b'."c\"d" . e = "\"]}#" # ]
long = """
# no comment ""quotes"" \""" [
end""""
raw = '''it's ''quoted'' # no ['''
empty = [ "", '', """""", '''''' , [ ], { } ]
dates = [ 1979-05-27 07:32:00Z, 07:32:00, 1979-05-27 , 0x_ ]
numbers = [+1_000, -0.5e+3, inf, -nan, 1e300, 1.0, 0xFF,0o7,true,]
nested = { a.b = { c = [ { d = "}" }, ] }, a.e = 1 } # }
"" = 1
[ x . "y.z" ]
1234 = "\u00e9\\"
[[list]]
[[list.inner]]
k = 1
[list.inner.deep]
k = 2
[[list]]
[[list.inner]]
"##;

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 3000,
        rng_seed: prop::test_runner::RngSeed::Fixed(2100),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn the_tree_of_any_text_holds_what_the_parser_reads(
        lines in prop::collection::vec(any::<prop::sample::Index>(), 0..12),
        out in any::<prop::sample::Index>(),
        put in prop::sample::select(vec!["", "", "\"", "'", "#", "]", "}", ",", "\\", "\r\n", " ", ".", "= 1 ", "é"]),
    ) {
        // Lines of the text in any order, with one character exchanged.
        let all: Vec<&str> = ODD.split_inclusive('\n').collect();
        let mut text: String = lines.iter().map(|i| all[i.index(all.len())]).collect();
        let at = out.index(text.chars().count() + 1);
        let place = text.char_indices().nth(at).map_or(text.len(), |(i, _)| i);
        text.insert_str(place, put);
        agrees(&text);
    }
}

#[test]
fn the_tree_of_odd_text_holds_what_the_parser_reads() {
    assert!(agrees(&ODD.replace(", 0x_ ]", " ]")));
}
