//! The rules, one file each, in the order of design page 3.

pub mod batteries;
pub mod before_the_rectifier;
pub mod frequency;
pub mod fuses;
pub mod ground_lift;
pub mod guards;
pub mod heat;
pub mod joints;
pub mod linear_regulators;
pub mod mains_and_nameplate;
pub mod missing_rails;
pub mod order;
pub mod part_ratings;
pub mod rail_budget;
pub mod switches_and_connectors;
pub mod voltage_at_loads;
pub mod wires;
pub mod wrong_output;

use crate::finding::Code;
use crate::sink::Sink;
use voltwright_model::Solved;

/// A rule: looks at a solved job and judges.
pub struct Rule {
    /// Number in design page 3.
    pub number: u8,
    /// What it is called.
    pub name: &'static str,
    /// The codes of its findings.
    pub codes: &'static [&'static Code],
    /// The rule itself.
    pub run: fn(&Solved<'_>, &mut Sink),
}

macro_rules! rules {
    ($($number:literal $module:ident $name:literal),+ $(,)?) => {
        /// All rules.
        pub static RULES: &[Rule] = &[$(Rule { number: $number, name: $name, codes: $module::CODES, run: $module::run }),+];
    };
}

rules! {
    1 mains_and_nameplate "Mains against nameplate",
    1 before_the_rectifier "Parts before the rectifier",
    2 frequency "Frequency",
    5 linear_regulators "Linear regulators",
    9 rail_budget "Rail budget",
    11 order "Order and timing",
    12 missing_rails "Missing rails",
    13 batteries "Batteries",
    14 joints "What is joined",
    14 wrong_output "Wrong output",
    14 voltage_at_loads "Voltage at every load",
    14 ground_lift "Ground lift",
    15 wires "Wires",
    16 fuses "Fuses",
    17 switches_and_connectors "Switches and connectors",
    18 guards "Guards",
    18 part_ratings "Ratings of parts",
    19 heat "Heat",
}
