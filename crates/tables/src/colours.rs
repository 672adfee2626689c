//! Colours of wires: the letter codes of IEC 60757, and what mains conductors are coloured by system.
//!
//! A code may join colours: `RDBU` is red with blue. Green with yellow exists only as `GNYE`, the protective conductor.
//!
//! ```
//! use voltwright_tables::colours;
//! let names: Vec<&str> = colours::parse("RDBU").unwrap().iter().map(|c| c.name).collect();
//! assert_eq!(names, ["red", "blue"]);
//! assert_eq!(colours::near("purple"), Some("VT"));
//! ```

use crate::Table;
use crate::near::nearest;
use voltwright_quantity::Source;

/// A colour with its letter code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Colour {
    /// IEC 60757.
    pub code: &'static str,
    /// In English.
    pub name: &'static str,
    /// Where it stands.
    pub source: Source,
}

const IEC: Source = Source::seen("IEC 60757, by GOST 28763-90 = IEC 757:1983");

const fn colour(code: &'static str, name: &'static str) -> Colour {
    Colour { code, name, source: IEC }
}

/// All codes, in the order in which IEC 60757 joins them.
pub static COLOURS: [Colour; 15] = [
    colour("BK", "black"),
    colour("BN", "brown"),
    colour("RD", "red"),
    colour("OG", "orange"),
    colour("YE", "yellow"),
    colour("GN", "green"),
    colour("BU", "blue"),
    colour("VT", "violet"),
    colour("GY", "grey"),
    colour("WH", "white"),
    colour("PK", "pink"),
    colour("GD", "gold"),
    colour("TQ", "turquoise"),
    colour("SR", "silver"),
    colour("GNYE", "green-yellow"),
];

/// The colours of a code in capitals, one or several joined: `RD`, `RDBU`, `GNYE`.
///
/// `None` if a part is no code, a colour is named twice, or green and yellow are joined other than as `GNYE`.
pub fn parse(code: &str) -> Option<Vec<&'static Colour>> {
    if let Some(whole) = COLOURS.iter().find(|c| c.code == code) {
        return Some(vec![whole]);
    }
    let mut colours: Vec<&'static Colour> = Vec::new();
    let mut rest = code;
    while !rest.is_empty() {
        let (part, after) = rest.split_at_checked(2)?;
        let found = COLOURS.iter().find(|c| c.code == part).filter(|c| !colours.contains(c))?;
        colours.push(found);
        rest = after;
    }
    let has = |part: &str| colours.iter().any(|c| c.code == part);
    let refused = colours.is_empty() || has("GN") && has("YE");
    (!refused).then_some(colours)
}

/// Names that are not in the standard, and their code.
const OTHER_NAMES: [(&str, &str); 8] = [
    ("purple", "VT"),
    ("gray", "GY"),
    ("yegn", "GNYE"),
    ("gn/ye", "GNYE"),
    ("green/yellow", "GNYE"),
    ("green and yellow", "GNYE"),
    ("yellow-green", "GNYE"),
    ("light blue", "BU"),
];

/// The code that was probably meant by small letters, a name, its beginning, or a slip.
pub fn near(code: &str) -> Option<&'static str> {
    let text = code.trim().to_lowercase();
    let exact = COLOURS.iter().find(|c| c.code.to_lowercase() == text || c.name == text).map(|c| c.code);
    let named = || OTHER_NAMES.iter().find(|(name, _)| *name == text).map(|(_, code)| *code);
    let by_name = || {
        let name = nearest(&text, COLOURS.iter().map(|c| c.name))?;
        COLOURS.iter().find(|c| c.name == name).map(|c| c.code)
    };
    exact.or_else(named).or_else(|| begins(&text)).or_else(by_name)
}

/// The only colour whose name begins so, from two letters on; green-yellow aside, which begins like green.
fn begins(text: &str) -> Option<&'static str> {
    let mut matching = COLOURS.iter().take(14).filter(|c| c.name.starts_with(text));
    let first = matching.next().filter(|_| text.chars().count() >= 2)?;
    matching.next().is_none().then_some(first.code)
}

/// Never to be left out where mains colours are shown.
pub const CAUTION: &str = "A colour alone never tells which conductor is live: black is line in one country and was \
    neutral in another, and wires are changed by repairers. Measure, with the plug pulled first.";

/// The colours of mains conductors in one system.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct MainsColours {
    /// Where and when.
    pub system: &'static str,
    /// Codes of line conductors; the single-phase one first.
    pub line: &'static [&'static str],
    /// Codes of the neutral.
    pub neutral: &'static [&'static str],
    /// Codes of the protective conductor.
    pub protective: &'static [&'static str],
    /// Where it stands.
    pub source: Source,
}

/// Mains colours by system. Never infer from colour alone: see [`CAUTION`].
pub static MAINS: &[MainsColours] = &[
    MainsColours {
        system: "IEC 60445: Europe, new United Kingdom, South Africa; flexible cords in Australia and New Zealand",
        line: &["BN", "BK", "GY"],
        neutral: &["BU"],
        protective: &["GNYE"],
        source: Source::seen("IEC 60446, now IEC 60445, public description"),
    },
    MainsColours {
        system: "old United Kingdom: cords before 1970, fixed wiring before 2006",
        line: &["RD"],
        neutral: &["BK"],
        protective: &["GN", "GNYE"],
        source: Source::seen(
            "wiring colours of the United Kingdom, training note; the date 1970 from memory",
        ),
    },
    MainsColours {
        system: "United States",
        line: &["BK", "RD", "BU"],
        neutral: &["WH", "GY"],
        protective: &["GN", "GNYE"],
        source: Source::seen("NEC, as listed in a colour code table"),
    },
    MainsColours {
        system: "Canada and Japan",
        line: &["BK", "RD"],
        neutral: &["WH"],
        protective: &["GN", "GNYE"],
        source: Source::seen("national note of IEC 60446; a colour code table"),
    },
    MainsColours {
        system: "Australia and New Zealand, fixed wiring",
        line: &["RD", "WH", "BU"],
        neutral: &["BK"],
        protective: &["GNYE"],
        source: Source::seen("AS/NZS 3000, as listed in a colour code table"),
    },
    MainsColours {
        system: "China",
        line: &["YE", "GN", "RD"],
        neutral: &["BU"],
        protective: &["GNYE"],
        source: Source::seen("GB 50303, as listed in two colour code tables"),
    },
];

/// The systems in which a conductor of that colour may be line, and those in which it may be neutral.
pub fn meanings(code: &str) -> (Vec<&'static MainsColours>, Vec<&'static MainsColours>) {
    let with = |of: fn(&MainsColours) -> &'static [&'static str]| {
        MAINS.iter().filter(|m| of(m).contains(&code)).collect::<Vec<_>>()
    };
    (with(|m| m.line), with(|m| m.neutral))
}

/// For print: the codes.
pub fn table() -> Table {
    let mut t = Table::new("colours", "Letter codes of colours", &["code", "colour", "source", "sure"]);
    for c in &COLOURS {
        t.row(&[&c.code, &c.name], c.source);
    }
    t
}

/// For print: mains conductors by system.
pub fn mains_table() -> Table {
    let columns = &["system", "line", "neutral", "protective", "source", "sure"];
    let title = "Colours of mains conductors. A colour alone never tells which conductor is live: measure";
    let mut t = Table::new("mains-colours", title, columns);
    for m in MAINS {
        t.row(&[&m.system, &m.line.join(" "), &m.neutral.join(" "), &m.protective.join(" ")], m.source);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(code: &str) -> Option<Vec<&'static str>> {
        parse(code).map(|all| all.iter().map(|c| c.name).collect())
    }

    #[test]
    fn codes_as_the_standard_joins_them() {
        assert_eq!(names("BN"), Some(vec!["brown"]));
        assert_eq!(names("RDBU"), Some(vec!["red", "blue"])); // IEC 60757 example
        assert_eq!(names("GNYE"), Some(vec!["green-yellow"])); // IEC 60757: one code
        assert_eq!(names("WHBKRD"), Some(vec!["white", "black", "red"]));
    }

    #[test]
    fn what_is_no_code_is_refused() {
        for text in ["", "B", "XX", "RDX", "RDRD", "YEGN", "GNBKYE", "red", "rd", "ÄÖ", "RD BU", "R"] {
            assert_eq!(names(text), None, "{text}");
        }
    }

    #[test]
    fn a_slip_finds_the_code() {
        for (text, code) in [
            ("rd", "RD"),
            ("red", "RD"),
            ("Brown", "BN"),
            ("BR", "BN"),
            ("OR", "OG"),
            ("YEGN", "GNYE"),
            ("gray", "GY"),
            ("voilet", "VT"),
            ("BL", ""), // black or blue
            ("GR", ""), // green or grey
            ("", ""),
            ("Q", ""),
        ] {
            assert_eq!(near(text).unwrap_or(""), code, "{text}");
        }
    }

    /// The caution is needed: black is line in some systems and neutral in others.
    #[test]
    fn black_is_line_here_and_neutral_there() {
        let (line, neutral) = meanings("BK");
        assert!(
            line.iter().any(|m| m.system.contains("Japan"))
                && line.iter().any(|m| m.system == "United States")
        );
        assert!(neutral.iter().any(|m| m.system.contains("old United Kingdom")));
        assert!(MAINS.iter().flat_map(|m| m.line.iter().chain(m.neutral)).all(|c| parse(c).is_some()));
    }

    #[test]
    fn only_a_protective_conductor_is_green_and_yellow() {
        for m in MAINS {
            assert!(
                !m.line.contains(&"GNYE") && !m.neutral.contains(&"GNYE") && m.protective.contains(&"GNYE")
            );
        }
    }
}
