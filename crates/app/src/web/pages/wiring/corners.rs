//! The largest current of each wire, whichever end of its spread each draw is at.
//!
//! A wire that feeds a load carries most with every draw at its upper end; in a 0 V wire that two rails share, or one between two
//! groups of loads, draws cancel. The slope of a wire's current to each draw says at which end that draw is worse for it; the
//! corners found so are solved, and each wire has the largest current of all that were.

use std::collections::BTreeSet;
use voltwright_circuit::Law;
use voltwright_model::low_voltage::Setting;
use voltwright_model::{Loading, LowVoltage, Point, Sample, Solved};
use voltwright_rules::rule::wires;

/// Which end each input is at: −1 low, 1 high, 0 nominal.
type Ends = Vec<i8>;

/// Share of its whole spread below which an input does not matter to a wire.
const NEGLIGIBLE: f64 = 1e-6;

/// Current of each wire, without sign; mains wires at the lowest mains; nothing where the wire is in neither network. No supply
/// has a limit here: a wire is told by what is asked of it.
pub fn currents(solved: &Solved<'_>) -> Vec<Option<f64>> {
    let mut all = wires::currents(solved);
    let Some(base) = solved.demand(Loading::Run, None) else { return all };
    let low = solved.low_voltage(Loading::Run);
    for point in corners(solved, &base).iter().filter_map(|ends| at(solved, ends, &base)) {
        for (amps, element) in all.iter_mut().zip(&low.wires) {
            if let (Some(amps), Some(e)) = (amps, element) {
                *amps = amps.max(point.solution.elements[*e].current.abs());
            }
        }
    }
    all
}

/// The corners of the draws that are worst for some wire; those that do not contradict each other are one.
fn corners(solved: &Solved<'_>, base: &Point) -> Vec<Ends> {
    let draws: BTreeSet<usize> =
        solved.job.loads.iter().flat_map(|l| &l.draws).map(|draw| draw.run.id).collect();
    let wires = solved.low_voltage(Loading::Run).wires.iter().flatten();
    let mut corners: Vec<Ends> = Vec::new();
    for e in wires {
        let Law::Resistor(r) = &base.network.elements[*e].law else { continue };
        let slopes = solved.slopes(Loading::Run, &[(r.a, 1), (r.b, -1)], base);
        let ends = ends(solved, &draws, &slopes);
        let other = ends.iter().map(|end| -end).collect();
        for ends in [ends, other] {
            match corners.iter_mut().find(|corner| corner.iter().zip(&ends).all(|(a, b)| a * b >= 0)) {
                Some(corner) => {
                    corner.iter_mut().zip(&ends).filter(|(_, end)| **end != 0).for_each(|(c, end)| *c = *end);
                }
                None => corners.push(ends),
            }
        }
    }
    corners
}

/// The end of each draw at which a wire carries more in one direction.
fn ends(solved: &Solved<'_>, draws: &BTreeSet<usize>, slopes: &[f64]) -> Ends {
    let mut effects = vec![0.0; slopes.len()];
    for d in draws {
        let spread = solved.job.spreads[*d];
        effects[*d] = slopes[*d] * (spread.high - spread.low);
    }
    let whole: f64 = effects.iter().map(|effect| effect.abs()).sum();
    let end = |effect: &f64| match effect.abs() <= NEGLIGIBLE * whole {
        true => 0,
        false if *effect > 0.0 => 1,
        false => -1,
    };
    effects.iter().map(end).collect()
}

/// The operating point of a corner; nothing where none was found.
fn at(solved: &Solved<'_>, ends: &Ends, base: &Point) -> Option<Point> {
    let sample = Sample::corner(solved.job, solved.mains.as_ref(), ends);
    let setting =
        Setting { stage: &solved.stage, loading: Loading::Run, sample: &sample, hertz: solved.hertz() };
    let mut network = LowVoltage::network_on(solved.wiring(), solved.job, &setting);
    network.lift_limits();
    let solution = network.solve_from(solved.ordering(), &base.solution).ok()?;
    Some(Point { network, solution })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two like draws from +15 V and from −15 V whose returns share the middle wire, the only way back to the supplies' 0 V.
    const JOB: &str = "format = 1\n[job]\ntitle = \"T\"\n[rail.p15]\nnominal = \"15 V\"\n[rail.m15]\nnominal = \"-15 V\"\n\
        [load.card]\nsockets.s = [\"p15\", \"m15\", \"com\"]\n[load.card.draws.p15]\nrun = \"100 mA ± 20 %\"\n[load.card.draws.m15]\nrun = \"100 mA ± 20 %\"\n\
        [part.psu]\nkind = \"mains supply\"\n[part.psu.output.a]\nvolts = \"15 V\"\nlimit = \"1 A\"\n[part.psu.output.b]\nvolts = \"15 V\"\nlimit = \"1 A\"\n\
        [plug.s]\nmates = \"card.s\"\nways = 3\n\
        [wiring]\nwires = [\n{ from = \"psu.a.plus\", to = \"s.1\", size = \"0.5 mm²\", length = \"1 m\" },\n\
        { from = \"psu.b.minus\", to = \"s.2\", size = \"0.5 mm²\", length = \"1 m\" },\n\
        { from = \"psu.a.minus\", to = \"psu.b.plus\", size = \"0.5 mm²\", length = \"100 mm\" },\n\
        { from = \"psu.a.minus\", to = \"s.3\", size = \"0.5 mm²\", length = \"1 m\" } ]\n";

    /// By hand: one draw at 120 mA, the other at 80 mA, so 40 mA come back; with both at 120 mA none does.
    #[test]
    fn a_shared_return_carries_what_draws_differ_by() {
        let reading = voltwright_job::read(JOB);
        assert!(reading.is_usable(), "{:?}", reading.diagnostics);
        let solved = Solved::new(&reading.job);
        let (all, heavy) = (currents(&solved), wires::currents(&solved));
        let near = |amps: Option<f64>, wanted: f64| (amps.unwrap() - wanted).abs() < 1e-6;
        assert!(near(heavy[3], 0.0), "{heavy:?}");
        assert!(near(all[3], 0.04), "{all:?}");
        assert!(near(all[0], 0.12) && near(all[1], 0.12) && near(all[2], 0.12), "{all:?}");
    }

    #[test]
    fn no_wire_carries_less_than_with_every_draw_at_its_upper_end() {
        for text in [
            include_str!("../../../../../../examples/synthesizer-rack/finished.toml"),
            include_str!("../../../../../../examples/desk-computer/finished.toml"),
        ] {
            let reading = voltwright_job::read(text);
            let solved = Solved::new(&reading.job);
            let (all, heavy) = (currents(&solved), wires::currents(&solved));
            assert!(all.iter().zip(&heavy).all(|(a, h)| a >= h), "{all:?} {heavy:?}");
            assert!(all.iter().flatten().all(|amps| amps.is_finite()));
        }
    }
}
