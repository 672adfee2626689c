//! The tables of a job file.

use super::parts::{OLD_PART, PART};
use super::{Form::*, Key, Section, key, needed};

const fn section(what: &'static str, keys: &'static [Key]) -> Section {
    Section { what, keys, kinds: &[] }
}

/// The whole file.
pub static JOB: Section = section(
    "a job file",
    &[
        needed("format", Whole, "Version of this file's form: 1."),
        needed("job", Table(&HEAD), "What the job is and where it will live."),
        key("machine", Table(&MACHINE), "The machine, its nameplate and its case."),
        key("rail", Named(&RAIL), "Potentials the machine needs; `com` (0 V) and `chassis` always exist."),
        key("load", Named(&LOAD), "What draws from rails: boards, drives, cards, lamps, motors."),
        key("part", Named(&PART), "Anything between the wall and a load."),
        key("plug", Named(&PLUG), "Plugs of the new wiring."),
        key("wiring", Table(&WIRING), "The conductors."),
        key("battery", Named(&BATTERY), "Cells and accumulators on the boards."),
        key("found", Tables(&FOUND), "What the survey found."),
        key("old-supply", Table(&OLD_SUPPLY), "What the machine's own supply is made of."),
        key(
            "first-power",
            Table(&FIRST_POWER),
            "How it will be brought up, where that is not left to the program.",
        ),
        key("meter", Table(&METER), "Accuracy of the meter."),
        key("assume", Table(&ASSUME), "Values of ours that this job replaces."),
    ],
);

static HEAD: Section = section(
    "the head of the job",
    &[
        needed("title", Text, "What the job is called."),
        key("country", Text, "Country whose mains it will live on; in the file its ISO 3166 code, \"IE\"."),
        key(
            "mains",
            Value("226..241 V"),
            "Mains voltage as measured over a day; takes the place of the country's.",
        ),
        key("ambient", Value("15..30 °C"), "Air around the machine."),
    ],
);

static MACHINE: Section = section(
    "the machine",
    &[
        key("maker", Text, "Who made it."),
        key("model", Text, "Which one."),
        key("made", Whole, "Year."),
        key("nameplate", Table(&NAMEPLATE), "What its label asks for."),
        key("case", Table(&CASE), "The box it lives in."),
        key("motor", OneOf(&["synchronous", "induction", "dc"]), "What turns at a speed set by the mains."),
        key("resonant-transformer", Flag, "Whether it has a resonant (constant-voltage) transformer."),
    ],
);

static NAMEPLATE: Section = section(
    "the nameplate",
    &[
        key(
            "voltage",
            Values("100 V"),
            "Voltage, or a list of those it can be set to, with the label's tolerance.",
        ),
        key("set-to", Value("230 V"), "The voltage it is set to, where there are several."),
        key("frequency", Value("50..60 Hz"), "Frequencies it is made for."),
        key("power", Value("95 W"), "Power it takes; an upper bound."),
        key("current", Value("0.8 A"), "Current it takes; an upper bound."),
        key("power-factor", Value("65 %"), "Watts to volt-amperes, where it is known."),
    ],
);

static CASE: Section = section(
    "the case",
    &[
        key("inside", Value("380 x 290 x 95 mm"), "Width, depth and height inside."),
        key(
            "wall",
            OneOf(&["painted steel", "stainless steel", "aluminium", "plastic", "wood"]),
            "What its walls are made of.",
        ),
        key("vents", Value("60 cm²"), "Free area of all vents together."),
        key("fan", Value("40 m³/h"), "Air that a fan moves through it, as built in."),
    ],
);

static RAIL: Section = section(
    "a rail",
    &[
        needed("nominal", Value("5 V"), "What it should be, against com."),
        key(
            "tolerance",
            Value("5 %"),
            "How far it may be off at the load: a percentage, or a range in volts.",
        ),
        key("harm", Value("-0.5..7 V"), "Limits past which it does harm."),
    ],
);

static LOAD: Section = section(
    "a load",
    &[
        key("name", Text, "Its name for people."),
        key("worth", OneOf(&["irreplaceable", "hard to find", "easy to find"]), "How hard it is to replace."),
        key("draws", Named(&DRAW), "What it draws, by rail."),
        key("order", Tables(&ORDER), "Which rail must come before which, and go after it."),
        key(
            "sockets",
            NamedTexts,
            "What each way is, way 1 first, seen from the mating face: rails, com, chassis, \"-\".",
        ),
        key("power-good", Table(&POWER_GOOD), "How it wants to be told that its rails are good."),
        key("control", OneOf(&["low", "high"]), "Level with which it switches its supply on."),
    ],
);

static DRAW: Section = section(
    "what a load draws",
    &[
        needed(
            "run",
            Value("2.3 A ± 25 %"),
            "Running: amperes, watts (constant power) or ohms (a resistance).",
        ),
        key("start", Value("1.3 A for 400 ms"), "Highest current, and how long it lasts."),
        key("idle", Value("0.4 A"), "Lowest current while it is connected."),
        key("capacitance", Value("1000 µF"), "Capacitance across this rail on this load."),
        key(
            "cold",
            Value("12 Ω ± 20 %"),
            "Resistance from this rail to com as a meter shows it with the power off.",
        ),
        key("basis", BASIS, "Where the figures come from."),
    ],
);

/// The names of the bases.
pub(super) const BASIS: super::Form = OneOf(&["measured", "data sheet", "nameplate", "typical", "guess"]);

static ORDER: Section = section(
    "an order of rails",
    &[
        needed("first", Text, "Rail that must be there first, and go last."),
        needed("then", Text, "Rail that must wait for it."),
        key("why", Text, "Why."),
    ],
);

pub(super) static POWER_GOOD: Section = section(
    "a power-good signal",
    &[
        key("level", OneOf(&["low", "high"]), "Level that means good."),
        key("delay", Value("100..500 ms"), "Time after the rails are up."),
    ],
);

static PLUG: Section = section(
    "a plug",
    &[
        key("mates", Text, "Socket it goes into: \"board.j1\"."),
        needed("ways", Whole, "Number of ways."),
        key("keyed", Flag, "Whether it fits in one position only."),
        key("twin", Text, "Plug of the same shape with which it can be exchanged."),
        key(
            "look-alike",
            Whole,
            "Ways of a plug with two rows like this one, by whose numbers it may be wired by mistake: 20 for 24.",
        ),
        key("contact", Value("5 A"), "Current that one contact may carry."),
        key("basis", BASIS, "Where the figures come from."),
    ],
);

static WIRING: Section =
    section("the wiring", &[key("wires", Tables(&WIRE), "Conductors between two terminals, one a line.")]);

static WIRE: Section = section(
    "a wire",
    &[
        needed("from", Text, "Terminal at one end: \"supply.v1.plus\", \"p1.3\", \"chassis\"."),
        needed("to", Text, "Terminal at the other end."),
        key("colour", Text, "IEC 60757 code: \"BN\", \"GNYE\"."),
        needed("size", Value("0.75 mm²"), "Cross-section, or \"AWG 18\"."),
        needed("length", Value("320 mm"), "Length."),
        key("bundle", Whole, "Number of wires bundled together, this one included."),
        key("insulation", Value("70 °C"), "Temperature its insulation stands."),
    ],
);

static BATTERY: Section = section(
    "a battery",
    &[
        needed("chemistry", CHEMISTRY, "What it is now."),
        key("made-for", CHEMISTRY, "What the circuit was made for."),
        key("volts", Value("3 V"), "Its voltage."),
        key("rail", Text, "Rail that could charge it."),
        key("through", Value("1 kΩ"), "Resistance in the charging path."),
        key("blocked", Flag, "Whether a diode keeps current out of it."),
        key("state", OneOf(&["unknown", "sound", "leaking"]), "What it looks like."),
        key("keeps", Text, "What it keeps that must be saved first."),
        key("basis", BASIS, "Where the figures come from."),
    ],
);

const CHEMISTRY: super::Form = OneOf(&[
    "lithium primary",
    "alkaline",
    "nickel-cadmium",
    "nickel-metal hydride",
    "lithium rechargeable",
    "lead-acid",
]);

static FOUND: Section = section(
    "a thing found",
    &[
        needed("what", Text, "What was found, in words."),
        key("where", Text, "Where."),
        key("danger", Text, "What danger there is; \"none now\" where it is over."),
    ],
);

static OLD_SUPPLY: Section = section(
    "the old supply",
    &[
        needed("kind", OneOf(&["off-line switching", "linear"]), "How it works."),
        key("fate", OneOf(&["in use", "disconnected", "removed"]), "What becomes of it."),
        key("primaries", Values("115 V"), "Voltages of its primary windings, as strapped in series."),
        key("winding-power", Value("60 W"), "Volt-amperes of one primary winding, written in watts."),
        key("phase-proven", Flag, "Whether the phase of the windings has been proven at low voltage."),
        key("outputs", NamedValues("5 V 4 A"), "What it delivered, by rail."),
        key("part", Named(&OLD_PART), "Its parts that see the mains, and its reservoirs."),
        key("basis", BASIS, "Where the figures come from."),
    ],
);

static FIRST_POWER: Section = section(
    "the first power",
    &[key(
        "stages",
        Texts,
        "Stages in order: \"cold\" (nothing plugged in, power off), \"cold fuse open\" (the same, this fuse out or switch \
         off), \"source\" (power on), \"cold drive-a\" (its plugs in as well, power off), \"drive-a\" (power on).",
    )],
);

static METER: Section = section(
    "the meter",
    &[
        key("dc-volts", Value("0.5 % + 2 digits of 10 mV"), "Accuracy on direct voltage."),
        key("ac-volts", Value("1 % + 4 digits of 100 mV"), "Accuracy on alternating voltage."),
        key("ohms", Value("0.8 % + 3 digits of 0.1 Ω"), "Accuracy on resistance."),
        key("dc-amps", Value("1 % + 3 digits of 1 mA"), "Accuracy on direct current."),
    ],
);

static ASSUME: Section = section(
    "the assumptions",
    &[
        key("contact", Value("5..30 mΩ"), "Resistance of one mated contact."),
        key("joint", Value("0.5..3 mΩ"), "Resistance of one wire joint."),
        key("continuous", Value("80 %"), "Share of a rating that may be used continuously."),
        key("power-factor", Value("65 %"), "Watts to volt-amperes of a rectifier input."),
        key("ground-lift", Value("50 mV"), "Ground lift that is still tolerated at a load."),
        key("junction", Value("110 °C"), "Junction temperature that is planned for."),
        key("inside-rise", Value("10 K"), "Air inside over ambient, where the case is not described."),
        key("mains-loop", Value("0.2..1 Ω"), "Resistance of the mains supply up to the inlet."),
    ],
);
