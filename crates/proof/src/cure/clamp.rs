//! A clamp across a rail that escapes raise too far, close to the load: it conducts before the load is harmed.

use super::{Candidate, TextEdit};
use crate::harm::{Threat, limits};
use crate::proof::Proof;
use voltwright_job::{Terminal, WayUse};
use voltwright_quantity::{Quantity, Voltage};

pub(super) fn candidates(proof: &Proof<'_>, escapes: &[usize]) -> Vec<Candidate> {
    let mut rails: Vec<(usize, usize)> = Vec::new();
    for m in escapes {
        if let Some((_, harm)) = proof.class(*m).outcome.harm
            && let Threat::Rail(l, r) = harm.threat
            && !rails.contains(&(l, r))
        {
            rails.push((l, r));
        }
    }
    rails.into_iter().filter_map(|(l, r)| clamp(proof, l, r)).collect()
}

/// A clamp between the plug's way of the rail and its way of com.
fn clamp(proof: &Proof<'_>, l: usize, r: usize) -> Option<Candidate> {
    let (job, h) = (proof.setup.job(), &proof.setup.harness);
    let rail = &job.rails[r];
    let (low, high) = limits(rail);
    let nominal = rail.nominal.nominal().si();
    let most = if nominal < 0.0 { -low } else { high };
    let begins = (nominal.abs() + most) / 2.0;
    let way = |wanted: WayUse| {
        job.plugs.iter().enumerate().find_map(|(p, plug)| {
            let (load, socket) = plug.mates.filter(|(load, _)| *load == l)?;
            let ways = &job.loads[load].sockets[socket].ways;
            let w = ways.iter().position(|(way, _)| *way == wanted)?;
            Some(h.name(Terminal::Plug(p, w))).filter(|_| h.wiring.is_wired(Terminal::Plug(p, w)))
        })
    };
    let (hot, com) = (way(WayUse::Rail(r))?, way(WayUse::Com)?);
    let (cathode, anode) = if nominal < 0.0 { (com, hot) } else { (hot, com) };
    let key = format!("guard-{}", rail.name);
    let wire = |end: &str, at: &str| {
        format!("{{ from = \"{key}.{end}\", to = \"{at}\", size = \"0.75 mm²\", length = \"60 mm\" }}")
    };
    let begins = Voltage::volts((begins * 10.0).round() / 10.0);
    Some(Candidate {
        says: format!(
            "a clamp that begins at {begins} from {} to com, at the plug of {}",
            rail.name, job.loads[l].name
        ),
        edits: vec![
            TextEdit::Set(format!("part.{key}.kind"), "clamp".to_owned()),
            TextEdit::Set(format!("part.{key}.breakdown"), begins.to_string()),
            TextEdit::Append("wiring.wires".to_owned(), wire("cathode", &cathode)),
            TextEdit::Append("wiring.wires".to_owned(), wire("anode", &anode)),
        ],
    })
}
