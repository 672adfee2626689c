use super::*;
use crate::check::{Check, all_hold};

fn volts(v: f64) -> Voltage {
    Voltage::volts(v)
}
fn mm(found: Option<(Length, Source)>) -> f64 {
    found.map_or(f64::NAN, |(l, _)| l.as_millimetres())
}

#[test]
fn published_examples() {
    let d230 = distances(volts(230.0), Category::II, Pollution::Pd2, Material::III).unwrap();
    let d120 = distances(volts(120.0), Category::II, Pollution::Pd2, Material::III).unwrap();
    let impulse_of = |v| impulse(volts(v), Category::II).unwrap().0.si();
    let checks: [Check; 16] = [
        ("230 V impulse", impulse_of(230.0), 2500.0, 1e-9, "IEC 60664-1, the usual example for a plug"),
        ("120 V impulse", impulse_of(120.0), 1500.0, 1e-9, "IEC 60664-1 for North American outlets"),
        ("100 V impulse", impulse_of(100.0), 800.0, 1e-9, "IEC 60664-1 table F.1, from memory"),
        ("230 V basic clearance", d230.basic_clearance.as_millimetres(), 1.5, 1e-9, "IEC 60664-1 example"),
        (
            "230 V reinforced clearance",
            d230.reinforced_clearance.as_millimetres(),
            3.0,
            1e-9,
            "IEC 60664-1 example",
        ),
        (
            "230 V basic creepage",
            d230.basic_creepage.as_millimetres(),
            2.5,
            1e-9,
            "IEC 60664-1 example, group IIIa",
        ),
        (
            "230 V reinforced creepage",
            d230.reinforced_creepage.as_millimetres(),
            5.0,
            1e-9,
            "also IEC 60950-1: 5.0 mm",
        ),
        (
            "120 V reinforced creepage",
            d120.reinforced_creepage.as_millimetres(),
            3.0,
            1e-9,
            "twice the 125 V row",
        ),
        (
            "120 V reinforced clearance",
            d120.reinforced_clearance.as_millimetres(),
            1.5,
            1e-9,
            "step above 1.5 kV",
        ),
        ("230 V takes the 250 V row", mains_row(volts(230.0)).si(), 250.0, 1e-9, "maker's note on table F.4"),
        ("120 V takes the 125 V row", mains_row(volts(120.0)).si(), 125.0, 1e-9, "maker's note on table F.4"),
        ("100 V takes its own row", mains_row(volts(100.0)).si(), 100.0, 1e-9, "maker's note on table F.4"),
        (
            "reinforced between steps",
            reinforced_impulse(volts(2000.0)).si(),
            3200.0,
            1e-9,
            "160 %, from memory",
        ),
        // The altitude factor is the ratio of air pressures (80 kPa at 2000 m): ISA gives 54.0 kPa at 5000 m.
        (
            "altitude 5000 m",
            altitude_factor(Length::metres(5000.0)),
            80.0 / 54.0,
            5e-3,
            "IEC 60664-1 table A.2, ISA",
        ),
        ("altitude 3000 m", altitude_factor(Length::metres(3000.0)), 80.0 / 70.0, 5e-3, "ISA: 70.1 kPa"),
        ("altitude 10 000 m", altitude_factor(Length::metres(10_000.0)), 80.0 / 26.5, 5e-3, "ISA: 26.4 kPa"),
    ];
    all_hold(&checks);
}

/// One category more means the next preferred voltage, and so does one row of mains more.
#[test]
fn impulse_voltages_climb_the_preferred_series() {
    for row in &IMPULSE {
        for pair in row.1.windows(2) {
            assert!((reinforced_impulse(volts(pair[0])).si() - pair[1]).abs() < 1e-9, "{row:?}");
        }
    }
    for pair in IMPULSE.windows(2) {
        assert!((0..4).all(|i| pair[0].1[i] < pair[1].1[i]));
    }
    assert!(impulse(volts(1001.0), Category::I).is_none());
}

#[test]
fn distances_grow_with_voltage_dirt_and_poor_material() {
    let pollutions = [Pollution::Pd1, Pollution::Pd2, Pollution::Pd3];
    let materials = [Material::I, Material::II, Material::III];
    for v in (1..=1000).map(f64::from) {
        for p in pollutions {
            for m in materials {
                assert!(
                    mm(creepage(volts(v), p, m)) <= mm(creepage(volts(v + 1.0), p, m)) || v > 999.0,
                    "{v} V"
                );
            }
            let by_material = materials.map(|m| mm(creepage(volts(v), p, m)));
            assert!(by_material[0] <= by_material[1] && by_material[1] <= by_material[2], "{v} V");
        }
        let by_dirt = pollutions.map(|p| mm(creepage(volts(v), p, Material::III)));
        assert!(by_dirt[0] < by_dirt[1] && by_dirt[1] < by_dirt[2], "{v} V");
    }
    for p in pollutions {
        for v in (1..120).map(|i| f64::from(i) * 100.0) {
            assert!(mm(clearance(volts(v), p)) <= mm(clearance(volts(v + 100.0), p)), "{v} V");
        }
    }
    assert!(clearance(volts(12_001.0), Pollution::Pd2).is_none());
    assert!(creepage(volts(1001.0), Pollution::Pd2, Material::I).is_none());
    assert!(board_creepage(volts(100.0), Pollution::Pd3).is_none());
}

/// From 200 V on the table gives group I about 5 mm a kilovolt at degree 2, II √2 and III twice as much.
#[test]
fn groups_keep_their_ratio_at_higher_voltages() {
    for v in [200.0, 250.0, 320.0, 400.0, 500.0, 630.0, 800.0, 1000.0] {
        let [one, two, three] =
            [Material::I, Material::II, Material::III].map(|m| mm(creepage(volts(v), Pollution::Pd2, m)));
        assert!((one / v - 0.005).abs() < 1e-4, "{v} V");
        assert!((two / one / std::f64::consts::SQRT_2 - 1.0).abs() < 0.03, "{v} V");
        assert!((three / one - 2.0).abs() < 0.05, "{v} V");
    }
}

/// The limit of 42.4 V peak is a sine of 30 V RMS.
#[test]
fn the_peak_limit_is_thirty_volts_rms() {
    assert!((SELV_PEAK.si() - 30.0 * std::f64::consts::SQRT_2).abs() < 0.03);
    assert!(SELV_DC > SELV_PEAK);
}
