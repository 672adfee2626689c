//! What each wire carries, what that costs in volts and how warm it gets, from the solved job.
//!
//! Low-voltage wires at the worst corner of the draws for each, mains wires at the lowest mains.
//! The drop is that current times the wire's resistance with its two joints, the copper at the air inside at its warmest. The
//! temperature is that air and the rise by [`voltwright_model::wire_heat`].

use super::corners::currents;
use toml::{Table, Value};
use voltwright_circuit::Law;
use voltwright_job::{Job, Wire};
use voltwright_model::solved::MainsEnd;
use voltwright_model::{Loading, Solved, air_inside, wire_heat};
use voltwright_quantity::{Current, Temperature, TemperatureRise, Voltage};

/// Amperes below which a wire carries nothing.
const NOTHING: f64 = 1e-6;

/// What is known of a wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Its current, without sign.
    pub amps: Current,
    /// What is lost along it.
    pub drop: Voltage,
    /// The conductor.
    pub warm: Temperature,
}

impl Figures {
    /// Whether it carries anything, at whichever end of its spread each draw is.
    pub fn is_used(&self) -> bool {
        self.amps >= Current::amps(NOTHING)
    }

    /// As a wire's line says it.
    pub fn words(&self) -> String {
        match self.is_used() {
            true => format!("{}, drops {}, {}", self.amps, self.drop, self.warm),
            false => "no current with these draws".into(),
        }
    }
}

/// The figures of each wire of the job; nothing where it is in no network, or no steady state was found.
pub fn of(solved: &Solved<'_>) -> Vec<Option<Figures>> {
    let low = solved.low_voltage(Loading::Run);
    let heavy = solved.demand(Loading::Run, Some(true));
    let mains = solved.mains_point(MainsEnd::Low);
    let ohms = |w: usize| {
        let law = match (low.wires[w], &heavy, &mains) {
            (Some(e), Some(point), _) => &point.network.elements[e].law,
            (None, _, Some(mains)) => &mains.0.network.elements[mains.0.wires[w]?].law,
            _ => return None,
        };
        if let Law::Resistor(r) = law { Some(r.ohms) } else { None }
    };
    currents(solved)
        .into_iter()
        .enumerate()
        .map(|(w, amps)| Some(figures(solved, w, amps?, ohms(w)?)))
        .collect()
}

fn figures(solved: &Solved<'_>, w: usize, amps: f64, ohms: f64) -> Figures {
    let (per_metre, area) = solved.wiring().metres[w];
    let rise = wire_heat::rise(amps, area, per_metre, solved.job.wires[w].bundle);
    let warm = air_inside(solved.job) + TemperatureRise::kelvins(rise);
    Figures { amps: Current::amps(amps), drop: Voltage::volts(amps * ohms), warm }
}

/// For each wire of the file its number in the job: what does not read of the file is not in it. Both are in one order.
pub fn read(file: &[Value], job: &Job) -> Vec<Option<usize>> {
    let mut next = 0;
    let number = |wire: &Value| {
        let found = job.wires.get(next).is_some_and(|read| is_same(wire.as_table(), read)).then_some(next);
        next += usize::from(found.is_some());
        found
    };
    file.iter().map(number).collect()
}

/// Whether a wire was read from an entry of the file: all that a wire cannot be without is as it stands there.
fn is_same(written: Option<&Table>, read: &Wire) -> bool {
    let needed = [
        ("from", &read.from_text.text),
        ("to", &read.to_text.text),
        ("size", &read.size_text.text),
        ("length", &read.length.place.text),
    ];
    needed.iter().all(|(key, text)| said(written, key) == Some(text))
}

/// What stands behind a key of a wire.
pub fn said<'t>(wire: Option<&'t Table>, key: &str) -> Option<&'t str> {
    wire?.get(key)?.as_str()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two wires of 1 m from a stiff 5 V supply to a load of 2 A, with contacts and joints of our own choosing.
    const JOB: &str = "format = 1\n[job]\ntitle = \"T\"\nambient = \"15..30 °C\"\n[assume]\ncontact = \"1 mΩ\"\njoint = \"1 mΩ\"\ninside-rise = \"10 K\"\n\
        [rail.p5]\nnominal = \"5 V\"\ntolerance = \"10 %\"\n[load.board]\nsockets.j1 = [\"com\", \"p5\"]\n[load.board.draws.p5]\nrun = \"2 A ± 0 %\"\n\
        [part.psu]\nkind = \"mains supply\"\n[part.psu.output.v1]\nvolts = \"5 V\"\nlimit = \"6 A\"\n[plug.p1]\nmates = \"board.j1\"\nways = 2\n\
        [wiring]\nwires = [\n{ from = \"psu.v1.plus\", to = \"p1.2\", size = \"0.75 mm²\", length = \"1 m\" },\n\
        { from = \"psu.v1.minus\", to = \"p1.9\", size = \"0.75 mm²\", length = \"1 m\" },\n\
        { from = \"psu.v1.minus\", to = \"p1.1\", size = \"0.75 mm²\", length = \"1 m\" } ]\n";

    /// 0.75 mm² has 26 mΩ a metre at 20 °C (IEC 60228, flexible). At 40 °C copper has 1 + 0.00393 · 20 = 1.0786 of it: 28.04 mΩ,
    /// with two joints 30.04 mΩ; 2 A lose 60.1 mV. The rise: 4 A² · 26 mΩ/m · 1.1965 / (π · 2.577 mm · 23 W/m²K) = 0.668 K.
    #[test]
    fn figures_as_reckoned_by_hand() {
        let reading = voltwright_job::read(JOB);
        let all = of(&Solved::new(&reading.job));
        assert_eq!(all.len(), 2, "{:?}", reading.diagnostics);
        for figures in all {
            let figures = figures.unwrap();
            let near = |a: f64, b: f64| (a / b - 1.0).abs() < 2e-3;
            use voltwright_quantity::Quantity;
            assert!(near(figures.amps.si(), 2.0) && near(figures.drop.si(), 0.0601), "{}", figures.words());
            assert!(
                (figures.warm.si() - Temperature::celsius(40.668).si()).abs() < 0.02,
                "{}",
                figures.words()
            );
        }
    }

    #[test]
    fn a_wire_that_does_not_read_has_no_number() {
        let file: Table = JOB.parse().unwrap();
        let wires = file["wiring"]["wires"].as_array().unwrap();
        assert_eq!(read(wires, &voltwright_job::read(JOB).job), [Some(0), None, Some(1)]);
        let twice = JOB.replace(
            "p1.9\", size = \"0.75 mm²\", length = \"1 m\"",
            "p1.1\", size = \"0.75 mm²\", length = \"1 V\"",
        );
        let file: Table = twice.parse().unwrap();
        let wires = file["wiring"]["wires"].as_array().unwrap();
        assert_eq!(
            read(wires, &voltwright_job::read(&twice).job),
            [Some(0), None, Some(1)],
            "ends are the same, the length is not"
        );
    }

    #[test]
    fn a_wire_without_current_says_so() {
        let figures = Figures {
            amps: Current::amps(1e-9),
            drop: Voltage::volts(0.0),
            warm: Temperature::celsius(40.0),
        };
        assert_eq!(figures.words(), "no current with these draws");
    }
}
