//! The head of the job and the machine.

use crate::Diagnostic;
use crate::document::{Case, Job, Machine, Motor, Nameplate, Wall};
use crate::fields::Fields;
use voltwright_quantity::{Basis, parse};

pub(super) fn read(fields: &Fields<'_, '_>, job: &mut Job) {
    let head = fields.table("job");
    job.title = head.text("title").unwrap_or_default();
    job.country = head.text("country");
    if let Some(country) = &job.country
        && voltwright_tables::mains::of(&country.text).is_none()
    {
        let hint = voltwright_tables::mains::near(&country.text)
            .map(|code| format!("did you mean \"{code}\"?"))
            .unwrap_or_else(|| "`voltwright tables mains` lists the codes".into());
        let message = format!("no mains are known for the country \"{}\"", country.text);
        head.sheet.report(Diagnostic::error(country.span.clone(), message).hint(hint));
    }
    job.mains_measured = head.bounds_from_zero("mains");
    job.ambient = head.bounds("ambient");
    job.machine = machine(&fields.table("machine"));
}

fn machine(fields: &Fields<'_, '_>) -> Machine {
    Machine {
        maker: fields.text("maker"),
        model: fields.text("model"),
        made: fields.whole("made", 1850..=2100).map(|(year, _)| year),
        nameplate: nameplate(&fields.table("nameplate")),
        case: case(&fields.table("case")),
        motor: fields.choice("motor").map(|(word, _)| match word {
            "synchronous" => Motor::Synchronous,
            "induction" => Motor::Induction,
            _ => Motor::Dc,
        }),
        resonant: fields.flag("resonant-transformer").unwrap_or(false),
    }
}

fn nameplate(fields: &Fields<'_, '_>) -> Option<Nameplate> {
    if !fields.is_present() {
        return None;
    }
    Some(Nameplate {
        voltages: fields.positives("voltage"),
        set_to: fields.positive("set-to", Basis::Chosen),
        frequency: fields.bounds_from_zero("frequency"),
        power: fields.positive("power", Basis::Nameplate),
        current: fields.positive("current", Basis::Nameplate),
        power_factor: fields.share("power-factor", Basis::Chosen),
    })
}

fn case(fields: &Fields<'_, '_>) -> Option<Case> {
    if !fields.is_present() {
        return None;
    }
    let wall = match fields.choice("wall").map(|(word, _)| word) {
        Some("stainless steel") => Wall::StainlessSteel,
        Some("aluminium") => Wall::Aluminium,
        Some("plastic") => Wall::Plastic,
        Some("wood") => Wall::Wood,
        _ => Wall::PaintedSteel,
    };
    Some(Case {
        inside: fields.parsed("inside", parse::size).map(|(size, _, _)| size),
        wall,
        vents: fields.positive("vents", Basis::Chosen),
        fan: fields.positive("fan", Basis::DataSheet),
        span: fields.span.clone(),
    })
}
