//! Does current go into a cell that must not be charged, does one leak, and is what it keeps saved?
//!
//! Charge current `I = (U_rail − U_diode − U_cell) / R` (A); a primary cell stands none: 1 µA is the limit taken
//! (common practice). A leaking cell is a gate: no power until the board is clean and dry.
//!
//! ```
//! // 3 V lithium cell on 5 V through 1 kΩ without a diode: 2 mA.
//! assert!(((5.0 - 3.0) / 1000.0 - 0.002_f64).abs() < 1e-12);
//! ```

use crate::finding::{Code, Finding, Severity, Stretch};
use crate::sink::{Sink, below};
use voltwright_job::{Battery, BatteryState, Chemistry, Job};
use voltwright_model::Solved;
use voltwright_quantity::{Current, Quantity, Working};

static CHARGED: Code =
    Code::new("battery-charged", Stretch::Load, "Current goes into a cell that must not be charged.");
static LEAK: Code = Code::new("battery-leak", Stretch::Load, "A battery leaks or has leaked.");
static KEEPS: Code =
    Code::new("battery-keeps", Stretch::Load, "Something must be saved before a battery is taken out.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&CHARGED, &LEAK, &KEEPS];

/// Current that a primary cell may be given, amperes.
const STANDS: f64 = 1e-6;

/// Judges every battery.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    for (key, battery) in solved.job.batteries.iter().enumerate() {
        charged(solved.job, sink, key, battery);
        let name = format!("battery {}", battery.key.text);
        match battery.state {
            BatteryState::Leaking => sink.tell(&LEAK, Severity::Stop, || {
                let acid = battery.chemistry == Chemistry::LeadAcid;
                let with = if acid { "it leaks acid: neutralise with a mild base" } else { "it leaks alkali: neutralise with a mild acid such as vinegar, not with soda" };
                Finding::new(&name, "It leaks or has leaked: residue conducts and eats tracks.")
                    .cure(format!("take it out with gloves on; {with}, rinse, dry, look at tracks and sockets, and only then apply power"))
                    .at(&battery.key.span)
            }),
            BatteryState::Unknown => sink.missing(&LEAK, &name, format!("battery.{}.state", battery.key.text), "whether power may be applied at all"),
            BatteryState::Sound => {}
        }
        if let Some(keeps) = &battery.keeps {
            sink.tell(&KEEPS, Severity::Caution, || {
                Finding::new(&name, format!("It keeps {}: lost when the battery is taken out.", keeps.text))
                    .cure(
                        "read it out first, or hold the voltage up from outside while the battery is changed",
                    )
                    .at(&keeps.span)
            });
        }
    }
}

fn charged(job: &Job, sink: &mut Sink, key: usize, battery: &Battery) {
    if battery.chemistry.rechargeable() || battery.blocked {
        return;
    }
    let name = format!("battery {}", battery.key.text);
    if battery.made_for.is_some_and(Chemistry::rechargeable) {
        sink.tell(&CHARGED, Severity::Stop, || {
            Finding::new(&name, "A primary cell sits where a rechargeable one was, and no diode keeps the charge out: it vents.")
                .cure("a diode in series with it, or a rechargeable cell as the circuit was made for")
                .at(&battery.key.span)
        });
        return;
    }
    let (Some(rail), Some(volts), Some(through)) = (battery.rail, &battery.volts, &battery.through) else {
        let enter = format!("battery.{0}.rail, battery.{0}.volts, battery.{0}.through", battery.key.text);
        return sink.missing(&CHARGED, name, enter, "whether current goes into this primary cell");
    };
    let u = job.rails[rail].nominal.nominal().abs();
    let amps: Current = (u - volts.nominal()) / through.nominal();
    sink.judge(&CHARGED, key, Severity::Stop, below(amps.si(), STANDS), || {
        let inputs = vec![job.rails[rail].nominal.working("U", "its rail"), volts.working("Ucell", "the cell"), through.working("R", "in the path")];
        let w = Working::formula("I", "into the cell", amps, "(U − Ucell) / R", inputs);
        let says = format!("{amps} would go into a primary cell that must not be charged: it vents.");
        Finding::new(name, says).working(w).cure("a diode in series with the cell, and a measured current below 1 µA with the set powered from a bench source").at(&battery.key.span)
    });
}
