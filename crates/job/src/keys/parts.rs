//! The keys of parts, kind by kind.

use super::sections::{BASIS, POWER_GOOD};
use super::{Form::*, Key, Section, key, needed};

const LEVEL: super::Form = OneOf(&["low", "high"]);

/// A part, new or kept.
pub(super) static PART: Section = Section {
    what: "a part",
    keys: &[
        needed("kind", OneOf(&KINDS), "What it is."),
        key("size", Value("120 x 60 x 30 mm"), "Width, depth and height."),
        key("full-to", Value("50 °C"), "Air temperature up to which it may be used in full."),
        key("nothing-at", Value("70 °C"), "Air temperature at which nothing may be drawn from it."),
        key("basis", BASIS, "Where its figures come from."),
    ],
    kinds: &[
        ("inlet", INLET),
        ("fuse", FUSE),
        ("switch", SWITCH),
        ("mains supply", MAINS_SUPPLY),
        ("raw supply", RAW_SUPPLY),
        ("converter", CONVERTER),
        ("regulator", REGULATOR),
        ("diode", DIODE),
        ("clamp", CLAMP),
        ("resistor", RESISTOR),
        ("capacitor", CAPACITOR),
        ("varistor", MAINS_PART),
        ("fan", MAINS_PART),
        ("lamp", MAINS_PART),
        ("interlock", INTERLOCK),
        ("strip", STRIP),
    ],
};

const KINDS: [&str; 16] = [
    "inlet",
    "fuse",
    "switch",
    "mains supply",
    "raw supply",
    "converter",
    "regulator",
    "diode",
    "clamp",
    "resistor",
    "capacitor",
    "varistor",
    "fan",
    "lamp",
    "interlock",
    "strip",
];

const INLET: &[Key] = &[key("terminals", Texts, "Its terminals: line, neutral, and earth where it has one.")];

const FUSE: &[Key] = &[
    needed("rating", Value("1.25 A"), "Rated current."),
    key("speed", OneOf(&["FF", "F", "M", "T", "TT"]), "IEC 60127 letter of its speed."),
    key("breaks", Value("1500 A at 250 V AC"), "Largest current it can break."),
    key("resistance", Value("80 mΩ"), "Cold resistance, if its sheet gives it."),
    key("melting", Value("19.2 A²s"), "Melting I²t, if its sheet gives it."),
];

const SWITCH: &[Key] = &[
    needed("poles", Whole, "Number of poles: terminals 1a and 1b, 2a and 2b."),
    key("rated", Values("4 A at 250 V AC"), "What it is marked for, one entry a marking."),
    key("inrush", Value("50 A"), "Peak current it may make."),
];

const MAINS_SUPPLY: &[Key] = &[
    key("input", Table(&INPUT), "What it takes from the mains."),
    key("power", Value("60 W"), "All its outputs together."),
    key("efficiency", Value("78 %"), "Output power over input power."),
    key("power-factor", Value("60 %"), "Watts to volt-amperes at its input."),
    key("idle", Value("1.5 W"), "Power it takes with no load."),
    key("overload", OVERLOAD, "What it does when too much is asked of it."),
    needed("output", Named(&OUTPUT), "Its outputs; each has the terminals NAME.plus and NAME.minus."),
    key("joined", Texts, "Output terminals that are one inside."),
    key("earthed", Flag, "Whether it has a terminal for protective earth; true unless said otherwise."),
    key(
        "enable",
        LEVEL,
        "Level at its terminal `enable`, against its first output's minus, that switches it on.",
    ),
    key("power-good", Table(&POWER_GOOD), "The signal it gives when its rails are good."),
];

const CONVERTER: &[Key] = &[
    key("input", Table(&INPUT), "What it takes; terminals in.plus and in.minus."),
    key("power", Value("30 W"), "All its outputs together."),
    key("efficiency", Value("85 %"), "Output power over input power."),
    key("idle", Value("0.5 W"), "Power it takes with no load."),
    key("overload", OVERLOAD, "What it does when too much is asked of it."),
    needed("output", Named(&OUTPUT), "Its outputs; each has the terminals NAME.plus and NAME.minus."),
    key("joined", Texts, "Terminals that are one inside, in.minus among them if it does not isolate."),
    key("enable", LEVEL, "Level at its terminal `enable`, against in.minus, that switches it on."),
    key("power-good", Table(&POWER_GOOD), "The signal it gives when its rails are good."),
];

const OVERLOAD: super::Form = OneOf(&["hold", "hiccup", "latch", "fold back"]);

static INPUT: Section = Section {
    what: "a supply's input",
    keys: &[
        key("voltage", Value("90..264 V"), "Voltage it takes."),
        key("frequency", Value("47..63 Hz"), "Frequency it takes."),
        key("current", Value("1.4 A"), "Highest current it takes."),
        key("inrush", Value("30 A"), "Highest current when it is switched on."),
    ],
    kinds: &[],
};

static OUTPUT: Section = Section {
    what: "an output",
    keys: &[
        needed("volts", Value("5 V ± 2 %"), "Its voltage."),
        key("limit", Value("6 A"), "Continuous rating."),
        key("trips-at", Value("4.4 A"), "Current at which it limits or trips, where that is not the rating."),
        key("peak", Value("3.5 A for 10 s"), "Higher current, and how long it may last."),
        key("least", Value("0.5 A"), "Least load it needs."),
        key(
            "without-least",
            Value("10.2..14.4 V"),
            "Where it may go while any output of its supply is under its least load.",
        ),
        key("cuts-off-at", Value("5.7..6.5 V"), "Voltage above which it switches itself off."),
        key("capacitance", Value("8000 µF"), "Most capacitance it will start."),
        key("ready", Value("20..80 ms"), "Time after switch-on by which it is up."),
    ],
    kinds: &[],
};

const RAW_SUPPLY: &[Key] = &[
    needed("primary", Value("100 V"), "Nominal voltage of the primary as it is strapped."),
    key("frequency", Value("50..60 Hz"), "Frequencies it is made for."),
    key("power", Value("34 W"), "Power it can transform."),
    needed(
        "output",
        Named(&RAW_OUTPUT),
        "Its rectified windings; each has the terminals NAME.plus and NAME.minus.",
    ),
    key("joined", Texts, "Output terminals that are one inside."),
    key("earthed", Flag, "Whether it has a terminal for protective earth; true unless said otherwise."),
];

static RAW_OUTPUT: Section = Section {
    what: "a rectified winding",
    keys: &[
        needed("winding", Value("9.0 V"), "RMS voltage of the winding (of one half, if tapped), loaded."),
        needed("regulation", Value("12 %"), "Rise of the winding's voltage without load."),
        needed("current", Value("1.2 A"), "Direct current at which the winding's voltage holds."),
        needed("rectifier", OneOf(&["bridge", "centre-tap", "half-wave"]), "How it is rectified."),
        needed("reservoir", Value("4700 µF"), "Reservoir capacitor."),
        key("reservoir-rated", Value("16 V"), "Volts the reservoir is rated for."),
        key("negative", Flag, "Whether its minus is the rail."),
    ],
    kinds: &[],
};

const REGULATOR: &[Key] = &[
    needed("volts", Value("-5 V ± 4 %"), "Its output voltage, with sign; terminals in, ref, out."),
    key("headroom", Value("2 V"), "Volts it needs between in and out."),
    key("limit", Value("100 mA"), "Current it delivers at most."),
    key("heat", Value("65 K/W"), "Junction to the air inside, with its heat sink."),
    key("junction-limit", Value("125 °C"), "Junction temperature it stands."),
    key("ready", Value("1..10 ms"), "Time after its input is up by which it is up."),
];

const DIODE: &[Key] = &[
    needed("drop", Value("0.45 V ± 0.1 V"), "Forward drop; terminals anode, cathode."),
    key("rated", Value("5 A"), "Continuous current."),
    key("reverse", Value("40 V"), "Reverse voltage it stands."),
];

const CLAMP: &[Key] = &[
    needed(
        "breakdown",
        Value("6.1 V ± 5 %"),
        "Voltage at which it begins to draw; terminals anode, cathode.",
    ),
    key("at-current", Value("6.8 V"), "Voltage across it at its full current."),
    key("power", Value("5 W"), "Power it stands for long."),
    key("latches", Flag, "Whether it stays on until the current stops."),
];

const RESISTOR: &[Key] = &[
    needed("value", Value("10 Ω"), "Its resistance; terminals 1, 2."),
    key("power", Value("5 W"), "Power it is rated for."),
];

const CAPACITOR: &[Key] = &[
    needed("value", Value("2200 µF"), "Its capacitance; terminals plus, minus."),
    key("rated", Value("35 V"), "Volts it is rated for."),
    key(
        "class",
        OneOf(&["X1", "X2", "X3", "Y1", "Y2", "Y3", "Y4"]),
        "Class, for one on the mains; terminals 1, 2.",
    ),
];

const MAINS_PART: &[Key] = &[
    needed("rated", Value("115 V"), "Alternating volts it is made for; terminals 1, 2."),
    key("power", Value("14 W"), "Power it takes at that voltage, for a fan or lamp."),
    key("series", Value("33 kΩ"), "Its series resistance, for a neon lamp."),
];

const INTERLOCK: &[Key] = &[
    needed(
        "closes-at",
        Value("4.5 V"),
        "Voltage between sense.plus and sense.minus at which in is joined to out.",
    ),
    key("resistance", Value("50 mΩ"), "Resistance when it is closed."),
];

const STRIP: &[Key] = &[needed("ways", Whole, "Number of its terminals, which are one: 1, 2, 3 and so on.")];

/// A part of the old supply.
pub(super) static OLD_PART: Section = Section {
    what: "a part of the old supply",
    keys: &[
        needed(
            "kind",
            OneOf(&[
                "electrolytic",
                "doubler electrolytic",
                "rectifier",
                "X capacitor",
                "Y capacitor",
                "varistor",
                "fan",
                "neon",
                "fuse",
                "switch",
                "filter",
            ]),
            "What it is.",
        ),
        key("value", Value("0.1 µF"), "Capacitance."),
        key("rated", Value("200 V"), "Volts it is rated for: DC for electrolytics and rectifiers, else AC."),
        key("current", Value("2 A"), "Current it is rated for."),
        key("power", Value("14 W"), "Power it takes at its rated voltage."),
        key("series", Value("33 kΩ"), "Series resistance of a neon lamp."),
        key("resistor-power", Value("0.25 W"), "Power that resistor may burn."),
        key("across-half", Flag, "Whether it lies across half of the primary and not across the inlet."),
        key("state", Text, "What it looks like."),
        key("basis", BASIS, "Where its figures come from."),
    ],
    kinds: &[],
};
