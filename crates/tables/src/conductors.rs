//! Resistance of copper conductors: metric sizes as IEC 60228 limits them, AWG sizes by formula.
//!
//! AWG: d = 0.127 mm · 92^((36−n)/39) (ASTM B258), area π·d²/4, resistance ρ₂₀/area with ρ₂₀ of [`crate::copper`].
//! A stranded AWG conductor has up to about 2 % more resistance than this, for its lay.
//!
//! ```
//! use voltwright_tables::conductors;
//! assert!((conductors::awg(18).ohms_per_km - 20.95).abs() < 0.01);
//! ```

use crate::Table;
use crate::copper::RHO20;
use crate::table::or_dash;
use std::f64::consts::PI;
use voltwright_quantity::parse::Conductor;
use voltwright_quantity::{Area, Source};

/// How a conductor is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Class {
    /// Solid or stiff stranded: IEC 60228 classes 1 and 2.
    Solid,
    /// Flexible: IEC 60228 classes 5 and 6.
    Flexible,
}

/// A standard metric conductor of plain copper.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct ConductorRow {
    /// Nominal cross-section, mm².
    pub area_mm2: f64,
    /// Largest resistance at 20 °C of class 1 and 2, Ω/km.
    pub solid: Option<f64>,
    /// Largest resistance at 20 °C of class 5 and 6, Ω/km.
    pub flexible: Option<f64>,
    /// Usual strands of the flexible one: number and diameter.
    pub strands: Option<&'static str>,
    /// Where it stands.
    pub source: Source,
}

impl ConductorRow {
    /// Largest resistance at 20 °C, Ω/km.
    pub fn ohms_per_km(&self, class: Class) -> Option<f64> {
        match class {
            Class::Solid => self.solid,
            Class::Flexible => self.flexible,
        }
    }
}

const IEC: Source = Source::seen("IEC 60228 tables 1 to 4");
const VDE: Source = Source::seen("VDE 0295 extract, sizes below IEC 60228");
const AWG: Source = Source::computed("ASTM B258 diameter with the resistivity of IEC 60028");
const OTHER: Source = Source::computed("resistivity of IEC 60028 over the cross-section; no standard size");

const fn fine(area_mm2: f64, flexible: f64) -> ConductorRow {
    ConductorRow { area_mm2, solid: None, flexible: Some(flexible), strands: None, source: VDE }
}
const fn standard(area_mm2: f64, solid: f64, flexible: f64, strands: &'static str) -> ConductorRow {
    ConductorRow {
        area_mm2,
        solid: Some(solid),
        flexible: Some(flexible),
        strands: Some(strands),
        source: IEC,
    }
}

static METRIC: [ConductorRow; 16] = [
    fine(0.05, 380.0),
    fine(0.08, 237.0),
    fine(0.11, 170.0),
    fine(0.12, 150.0),
    fine(0.14, 134.0),
    fine(0.22, 96.0),
    fine(0.25, 76.0),
    fine(0.34, 53.0),
    standard(0.5, 36.0, 39.0, "16 × 0.20 mm"),
    standard(0.75, 24.5, 26.0, "24 × 0.20 mm"),
    standard(1.0, 18.1, 19.5, "32 × 0.20 mm"),
    standard(1.5, 12.1, 13.3, "30 × 0.25 mm"),
    standard(2.5, 7.41, 7.98, "50 × 0.25 mm"),
    standard(4.0, 4.61, 4.95, "56 × 0.30 mm"),
    standard(6.0, 3.08, 3.30, "84 × 0.30 mm"),
    standard(10.0, 1.83, 1.91, "80 × 0.40 mm"),
];

/// Standard metric sizes, ascending.
pub fn metric_sizes() -> &'static [ConductorRow] {
    &METRIC
}

/// An American wire gauge, computed.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct AwgRow {
    /// Gauge number.
    pub gauge: u8,
    /// Diameter of the solid conductor, mm.
    pub diameter_mm: f64,
    /// Cross-section, mm².
    pub area_mm2: f64,
    /// Resistance at 20 °C, Ω/km.
    pub ohms_per_km: f64,
}

/// The gauge of that number.
pub fn awg(n: u8) -> AwgRow {
    let diameter_mm = 0.127 * 92f64.powf((36.0 - f64::from(n)) / 39.0);
    let area_mm2 = PI * diameter_mm.powi(2) / 4.0;
    AwgRow { gauge: n, diameter_mm, area_mm2, ohms_per_km: RHO20 * 1e3 / area_mm2 }
}

/// Resistance per metre at 20 °C in Ω/m, cross-section, and where that stands.
///
/// A standard metric size counts as flexible, at the largest resistance its standard allows.
pub fn per_metre(conductor: Conductor) -> (f64, Area, Source) {
    match conductor {
        Conductor::Awg(n) => {
            let row = awg(n);
            (row.ohms_per_km / 1e3, Area::square_millimetres(row.area_mm2), AWG)
        }
        Conductor::Metric(area) => {
            let mm2 = area.as_square_millimetres();
            let row = METRIC.iter().find(|r| (r.area_mm2 / mm2 - 1.0).abs() < 1e-6);
            match row.and_then(|r| Some((r.ohms_per_km(Class::Flexible)?, r.source))) {
                Some((ohms, source)) => (ohms / 1e3, area, source),
                None => (RHO20 / mm2, area, OTHER),
            }
        }
    }
}

/// The standard metric sizes above `area`, smallest first.
pub fn next_larger(area: Area) -> impl Iterator<Item = Area> {
    let mm2 = area.as_square_millimetres();
    METRIC.iter().map(|r| r.area_mm2).filter(move |a| *a > mm2 * (1.0 + 1e-6)).map(Area::square_millimetres)
}

/// For print: metric sizes.
pub fn table() -> Table {
    let columns = &["mm²", "class 1, 2: Ω/km", "class 5, 6: Ω/km", "usual strands", "source", "sure"];
    let mut t = Table::new("conductors", "Largest resistance of plain copper at 20 °C", columns);
    for r in &METRIC {
        t.row(&[&r.area_mm2, &or_dash(r.solid), &or_dash(r.flexible), &or_dash(r.strands)], r.source);
    }
    t
}

/// For print: AWG 0 to 40.
pub fn awg_table() -> Table {
    let columns = &["AWG", "diameter, mm", "mm²", "Ω/km", "source", "sure"];
    let mut t = Table::new("awg", "American wire gauge: solid copper at 20 °C", columns);
    for r in (0..=40).map(awg) {
        let cells =
            [r.diameter_mm, r.area_mm2, r.ohms_per_km].map(|v| voltwright_quantity::print::number(v, 4));
        t.row(&[&r.gauge, &cells[0], &cells[1], &cells[2]], AWG);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};

    /// Ω per 1000 ft of a gauge.
    fn per_1000_ft(n: u8) -> f64 {
        awg(n).ohms_per_km * 0.3048
    }

    #[test]
    fn gauges_against_published_wire_tables() {
        let checks: [Check; 11] = [
            ("AWG 36 mm", awg(36).diameter_mm, 0.127, 1e-12, "ASTM B258: 0.0050 in by definition"),
            ("AWG 18 in", awg(18).diameter_mm / 25.4, 0.0403, 5e-4, "public wire table"),
            ("AWG 18 Ω/1000 ft, lowest printed", per_1000_ft(18), 6.36, 5e-3, "public wire table"),
            ("AWG 22 Ω/1000 ft, lowest printed", per_1000_ft(22), 16.25, 8e-3, "second public wire table"),
            ("AWG 24 Ω/1000 ft", per_1000_ft(24), 25.67, 5e-4, "two public wire tables"),
            ("AWG 30 Ω/1000 ft", per_1000_ft(30), 103.2, 5e-4, "two public wire tables"),
            (
                "AWG 16 cmil",
                (awg(16).diameter_mm / 0.0254).powi(2),
                2581.0,
                1e-3,
                "Brooks, article on fusing currents",
            ),
            ("AWG 24 in", awg(24).diameter_mm / 25.4, 0.0201, 1e-3, "second public wire table"),
            // Twenty gauges apart is a hundredfold area within 2 %: 92^(40/39) = 103.3.
            ("area of AWG 10 over AWG 30", awg(10).area_mm2 / awg(30).area_mm2, 103.3, 1e-3, "ASTM B258"),
            ("AWG 1/0 in", awg(0).diameter_mm / 25.4, 0.3249, 5e-4, "ASTM B258 table, from memory"),
            ("AWG 18 mm²", awg(18).area_mm2, 0.823, 1e-3, "data sheets of 18 AWG wire"),
        ];
        all_hold(&checks);
    }

    /// Maximum resistance exceeds resistivity over nominal area: by drawing tolerance for solid conductors, by the lay of
    /// many thin strands as well for flexible ones. The row of 0.22 mm² stands out in the extract with 22 %, where its
    /// neighbours have 4 to 10 %.
    #[test]
    fn metric_limits_stand_a_little_above_the_resistivity() {
        for row in metric_sizes() {
            let ideal = RHO20 * 1e3 / row.area_mm2;
            let factor = |ohms: Option<f64>| ohms.map_or(1.05, |o| o / ideal);
            let (solid, flexible) = (factor(row.solid), factor(row.flexible));
            let most = if (row.area_mm2 - 0.22).abs() < 1e-9 { 1.23 } else { 1.16 };
            assert!((1.03..1.08).contains(&solid), "{} mm²: {solid}", row.area_mm2);
            assert!((1.03..most).contains(&flexible), "{} mm²: {flexible}", row.area_mm2);
            assert!(row.solid.is_none() || solid < flexible, "{} mm²", row.area_mm2);
        }
    }

    #[test]
    fn resistance_falls_as_size_grows() {
        for pair in metric_sizes().windows(2) {
            assert!(pair[0].area_mm2 < pair[1].area_mm2);
            assert!(pair[0].flexible > pair[1].flexible);
        }
    }

    /// The strands printed for a size make up its area within the maker's usual tolerance.
    #[test]
    fn usual_strands_make_up_the_area() {
        for row in metric_sizes() {
            let Some(strands) = row.strands else { continue };
            let (count, diameter) = strands.trim_end_matches(" mm").split_once(" × ").unwrap();
            let (count, diameter): (f64, f64) = (count.parse().unwrap(), diameter.parse().unwrap());
            let area = count * PI * diameter * diameter / 4.0;
            assert!((area / row.area_mm2 - 1.0).abs() < 0.02, "{} mm²: {area}", row.area_mm2);
        }
    }

    #[test]
    fn a_wire_is_looked_up_by_what_is_written() {
        let (ohms, _, source) = per_metre(Conductor::Metric(Area::square_millimetres(0.75)));
        assert!((ohms - 0.026).abs() < 1e-12);
        assert_eq!(source, IEC);
        let (ohms, _, source) = per_metre(Conductor::Metric(Area::square_millimetres(0.6)));
        assert!((ohms - 1.0 / 58.0 / 0.6).abs() < 1e-12);
        assert_eq!(source, OTHER);
        let (ohms, area, _) = per_metre(Conductor::Awg(18));
        assert!((ohms - 0.02095).abs() < 1e-5 && (area.as_square_millimetres() - 0.823).abs() < 1e-3);
    }

    #[test]
    fn the_next_sizes_start_above_the_one_given() {
        let next: Vec<f64> =
            next_larger(Area::square_millimetres(0.75)).take(2).map(Area::as_square_millimetres).collect();
        assert!((next[0] - 1.0).abs() < 1e-9 && (next[1] - 1.5).abs() < 1e-9);
    }
}
