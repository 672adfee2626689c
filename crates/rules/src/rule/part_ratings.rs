//! Is every resistor, capacitor, diode and raw transformer within its own rating?
//!
//! At the worst corner at light load (highest voltages), or every draw at its upper end (highest currents):
//! - resistor: `P = U²/R` against its rating; half of it is kept (common practice, since it gets hot);
//! - capacitor: `U` against its rated voltage, and never reversed; 90 % of it is kept (common practice);
//! - diode: its current, and the voltage it holds off;
//! - raw supply: what its outputs deliver against the power its transformer can pass on.
//!
//! ```
//! // 5 V on 10 Ω: 2.5 W, so 5 W or more.
//! assert!((5.0_f64.powi(2) / 10.0 - 2.5).abs() < 1e-12);
//! ```

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, below};
use voltwright_job::{Capacitor, Diode, PartKind, RawSupply, Resistor, Terminal};
use voltwright_model::solved::MainsEnd;
use voltwright_model::{Loading, Solved};
use voltwright_quantity::{Current, Power, Quantity, Source, Voltage, Working};

static RESISTOR: Code = Code::new("resistor-power", Stretch::Supply, "A resistor burns more than it may.");
static CAPACITOR: Code =
    Code::new("capacitor-voltage", Stretch::Supply, "A capacitor sees more than its rated voltage.");
static REVERSED: Code =
    Code::new("capacitor-reversed", Stretch::Supply, "A polarised capacitor is reversed.");
static DIODE: Code =
    Code::new("diode-rating", Stretch::Supply, "A diode carries or holds off more than it may.");
static RAW: Code =
    Code::new("raw-supply-power", Stretch::Supply, "A raw supply passes on more than its transformer may.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&RESISTOR, &CAPACITOR, &REVERSED, &DIODE, &RAW];

/// Share of a resistor's rating that is kept in use, and of a capacitor's voltage: common practice.
const RESISTOR_SHARE: f64 = 0.5;
const CAPACITOR_SHARE: f64 = 0.9;

/// Judges every part that has a rating of its own.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    if !sink.wants_any(CODES) {
        return;
    }
    for (p, part) in solved.job.parts.iter().enumerate() {
        match &part.kind {
            PartKind::Resistor(r) => resistor(solved, sink, p, r),
            PartKind::Capacitor(c) if c.class.is_none() => capacitor(solved, sink, p, c),
            PartKind::Diode(d) => diode(solved, sink, p, d),
            PartKind::RawSupply(s) => raw(solved, sink, p, s),
            _ => {}
        }
    }
}

/// Highest voltage from one terminal of a part to the other.
fn highest(solved: &Solved<'_>, p: usize, (plus, minus): (usize, usize)) -> Option<Voltage> {
    let terminal = |t| Terminal::Part(p, t);
    if solved.wiring().is_on_mains(terminal(plus)) {
        return across_mains(solved, p);
    }
    let low = solved.low_voltage(Loading::Light);
    let of = [(low.node(terminal(plus))?, 1), (low.node(terminal(minus))?, -1)];
    solved.worst(Loading::Light, &of, true).ok().map(Voltage::volts)
}

/// Highest voltage across a resistor on the mains, in series or across: its own current times its resistance, at the
/// heaviest load and at the highest mains.
fn across_mains(solved: &Solved<'_>, p: usize) -> Option<Voltage> {
    let ends = [MainsEnd::Low, MainsEnd::High].into_iter().filter_map(|end| solved.mains_point(end));
    let volts = ends.filter_map(|point| {
        let e = *point.0.parts[p].first()?;
        Some(Voltage::volts((point.1.elements[e].current * point.0.network.ohms(e)).abs()))
    });
    volts.reduce(Voltage::max)
}

fn resistor(solved: &Solved<'_>, sink: &mut Sink, p: usize, r: &Resistor) {
    let name = &solved.job.parts[p].key.text;
    let (Some(one), Some(other)) = (highest(solved, p, (0, 1)), highest(solved, p, (1, 0))) else { return };
    let volts = one.max(other);
    let burns: Power = volts * (volts / r.value.spread.low);
    let Some(may) = &r.power else {
        return sink.missing(
            &RESISTOR,
            name,
            format!("part.{name}.power"),
            "whether it stands what it burns",
        );
    };
    let write = || {
        let inputs = vec![
            Working::solved(
                "U",
                "highest voltage across it",
                volts,
                "at light load at the worst corner",
                vec![],
            ),
            r.value.working_at("R", "its resistance", r.value.spread.low),
        ];
        let w = Working::formula("P", "heat", burns, "U² / R", inputs)
            .from_source(Source::computed("Joule's law"));
        let says = format!("{name} burns up to {burns} and is rated {}.", may.nominal());
        Finding::new(name, says)
            .about(About::Part(p))
            .working(w)
            .cure(format!("a resistor of {} or more, mounted where it may get hot", burns / RESISTOR_SHARE))
            .at(&may.span)
    };
    let (max, kept) = (may.nominal(), may.nominal() * RESISTOR_SHARE);
    sink.judge(&RESISTOR, p, Severity::Stop, below(burns.si(), max.si()), write);
    if burns <= max {
        sink.judge(&RESISTOR, p, Severity::Caution, below(burns.si(), kept.si()), write);
    }
}

fn capacitor(solved: &Solved<'_>, sink: &mut Sink, p: usize, c: &Capacitor) {
    let name = &solved.job.parts[p].key.text;
    if solved.wiring().is_on_mains(Terminal::Part(p, 0)) {
        return sink.tell(&CAPACITOR, Severity::Stop, || {
            Finding::new(name, format!("{name} lies on the mains and has no class."))
                .about(About::Part(p))
                .cure("an X or Y capacitor of the class that its place asks for, entered with its class")
                .at(&c.value.span)
        });
    }
    let (Some(volts), Some(back)) = (highest(solved, p, (0, 1)), highest(solved, p, (1, 0))) else { return };
    // Half a volt backwards is leakage and spread, not a reversal.
    sink.judge(&REVERSED, p, Severity::Stop, below(back.si(), 0.5), || {
        Finding::new(name, format!("{name} is reversed: its minus may be {back} above its plus."))
            .about(About::Part(p))
            .cure("turn it round")
            .at(&c.value.span)
    });
    let Some(rated) = &c.rated else {
        return sink.missing(&CAPACITOR, name, format!("part.{name}.rated"), "whether it stands its voltage");
    };
    let max = rated.nominal();
    let write = || {
        let w = Working::formula(
            "room",
            "left of its rated voltage",
            max - volts,
            "rated − U",
            vec![
                rated.working("rated", "rated voltage"),
                Working::solved(
                    "U",
                    "highest voltage across it",
                    volts,
                    "at light load at the worst corner",
                    vec![],
                ),
            ],
        );
        Finding::new(name, format!("{name} sees up to {volts} and is rated {max}."))
            .about(About::Part(p))
            .working(w)
            .cure("a capacitor of the next higher voltage")
            .at(&rated.span)
    };
    sink.judge(&CAPACITOR, p, Severity::Stop, below(volts.si(), max.si()), write);
    if volts <= max {
        sink.judge(&CAPACITOR, p, Severity::Caution, below(volts.si(), max.si() * CAPACITOR_SHARE), write);
    }
}

fn diode(solved: &Solved<'_>, sink: &mut Sink, p: usize, d: &Diode) {
    let name = &solved.job.parts[p].key.text;
    let element = solved.low_voltage(Loading::Run).parts[p].first().copied();
    if let (Some(rated), Some(e), Some(point)) = (&d.rated, element, solved.heavy_point()) {
        let amps = Current::amps(point.solution.elements[e].current.abs());
        sink.judge(&DIODE, 2 * p, Severity::Stop, below(amps.si(), rated.nominal().si()), || {
            Finding::new(name, format!("{name} carries {amps} and is rated {}.", rated.nominal()))
                .about(About::Part(p))
                .cure("a larger diode")
                .at(&rated.span)
        });
    }
    if let (Some(reverse), Some(volts)) = (&d.reverse, highest(solved, p, (1, 0))) {
        sink.judge(&DIODE, 2 * p + 1, Severity::Stop, below(volts.si(), reverse.nominal().si()), || {
            Finding::new(name, format!("{name} holds off up to {volts} and is rated {}.", reverse.nominal()))
                .about(About::Part(p))
                .cure("a diode for a higher voltage")
                .at(&reverse.span)
        });
    }
}

fn raw(solved: &Solved<'_>, sink: &mut Sink, p: usize, s: &RawSupply) {
    let name = &solved.job.parts[p].key.text;
    let Some(may) = &s.power else {
        return sink.missing(
            &RAW,
            name,
            format!("part.{name}.power"),
            "whether its transformer may pass on what is drawn",
        );
    };
    let watts = Power::watts(solved.output_watts(p, true));
    sink.judge(&RAW, p, Severity::Stop, below(watts.si(), may.nominal().si()), || {
        Finding::new(name, format!("{name} passes on up to {watts}; its transformer may {}.", may.nominal()))
            .about(About::Part(p))
            .cure("fewer loads, or a larger transformer")
            .at(&may.span)
    });
}
