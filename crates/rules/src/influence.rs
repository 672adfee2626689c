//! What moves a figure of the circuit most, and what would help.

use voltwright_model::solved::InputLeaf;
use voltwright_model::{Loading, Solved};
use voltwright_quantity::{Voltage, Working};

/// The inputs that move the figure most, as leaves.
pub fn influences(solved: &Solved<'_>, of: &[(usize, i8)], loading: Loading) -> Vec<Working> {
    let Ok(base) = solved.point(loading) else { return Vec::new() };
    let slopes = solved.slopes(loading, of, base);
    let effect = |(leaf, slope): &(&InputLeaf, &f64)| (*slope * (leaf.si.high - leaf.si.low)).abs();
    let mut all: Vec<_> = solved.leaves().iter().zip(&slopes).filter(|pair| effect(pair) > 0.0).collect();
    all.sort_by(|a, b| effect(b).total_cmp(&effect(a)));
    let leaf = |pair: (&InputLeaf, &f64)| {
        let what = format!("{}, moves it by {}", pair.0.range, Voltage::volts(effect(&pair)));
        Working { what, ..pair.0.working.clone() }
    };
    all.into_iter().take(6).map(leaf).collect()
}

/// What costs most of the figure, and what would help: the spread of a source, a contact, or a wire.
pub fn cure(solved: &Solved<'_>, of: &[(usize, i8)], loading: Loading) -> Option<String> {
    let base = solved.point(loading).ok()?;
    let weights: Vec<(usize, f64)> = of.iter().map(|(n, w)| (*n, f64::from(*w))).collect();
    let slopes = base.network.sensitivities(solved.ordering(), &base.solution, &weights);
    let low = solved.low_voltage(loading);
    let cost = |e: usize| (slopes.to(e, voltwright_circuit::Field::Ohms) * base.network.ohms(e)).abs();
    let wires = low.wires.iter().enumerate().filter_map(|(w, e)| {
        let wire = &solved.job.wires[w];
        let volts = cost((*e)?);
        let says = format!(
            "a thicker, shorter or second wire beside {} ({}), which costs {}",
            wire.name(),
            wire.size_text.text,
            Voltage::volts(volts)
        );
        Some((volts, says))
    });
    let contacts = low
        .contacts
        .iter()
        .enumerate()
        .flat_map(|(p, ways)| ways.iter().enumerate().map(move |(w, e)| (p, w, *e)));
    let contacts = contacts.filter_map(|(p, w, e)| {
        // A contact may be as bad as the upper end of its spread.
        let worst = solved.job.assume.contact.spread.high / solved.job.assume.contact.nominal();
        let volts = cost(e?) * worst;
        let says = format!(
            "more ways in parallel for way {} of {}, whose contact may cost {}",
            w + 1,
            solved.job.plugs[p].key.text,
            Voltage::volts(volts)
        );
        Some((volts, says))
    });
    let sources = solved.leaves().iter().zip(solved.slopes(loading, of, base)).filter_map(|(leaf, slope)| {
        let is_source = leaf.working.symbol == "volts";
        let volts = (slope * (leaf.si.high - leaf.si.low) / 2.0).abs();
        let says = format!(
            "a tighter or trimmed source: the spread of {} alone may cost {}",
            leaf.working_path(),
            Voltage::volts(volts)
        );
        is_source.then_some((volts, says))
    });
    let (volts, says) = wires.chain(contacts).chain(sources).max_by(|a, b| a.0.total_cmp(&b.0))?;
    (volts > 1e-3).then_some(says)
}
