use super::*;
use crate::check::{Check, all_hold};
use voltwright_quantity::Sure;

fn amps(a: f64) -> Current {
    Current::amps(a)
}

#[test]
fn published_facts() {
    let capacity = |a| breaking_capacity(Breaking::Low, amps(a)).0.si();
    let inrush = exponential_integral(amps(325.0), Time::seconds(1e-4)).si();
    let allowed = |a| melting_integral(amps(a), Speed::T).0.si() * pulse_share(100_000.0);
    let checks: [Check; 11] = [
        ("L breaks at 3.15 A", capacity(3.15), 35.0, 1e-9, "maker's sheet 3 table"),
        ("L breaks at 4 A", capacity(4.0), 40.0, 1e-9, "maker's sheet 3 table"),
        ("L breaks at 5 A", capacity(5.0), 50.0, 1e-9, "maker's sheet 3 table"),
        ("L breaks at 6.3 A", capacity(6.3), 63.0, 1e-9, "maker's sheet 3 table"),
        ("UL fuse for 0.6 A", next_rating_up(amps(0.6 / 0.75)).unwrap().si(), 0.8, 1e-9, "fuse note: 75 %"),
        ("IEC fuse for 0.6 A", next_rating_up(amps(0.6)).unwrap().si(), 0.63, 1e-9, "fuse note: 100 %"),
        ("inrush of 1 Ω and 100 µF at 325 V", inrush, 5.28, 1e-3, "½ · Ip² · τ by hand"),
        ("allowed on T 1 A, 100 000 pulses", allowed(1.0), 4.22, 1e-3, "by hand: 22 % of 19.2 A²s"),
        ("allowed on T 1.25 A", allowed(1.25), 5.97, 1e-3, "by hand: 22 % of 27.15 A²s"),
        ("share for 1000 pulses", pulse_share(1000.0), 0.38, 1e-9, "fuse maker's guide, from memory"),
        ("share for 10 000 pulses", pulse_share(10_000.0), 0.29, 1e-9, "fuse maker's guide, from memory"),
    ];
    all_hold(&checks);
}

/// A fuse that melts at 10 times its rating within the gate has ∫i²dt = 100 · In² · t: makers' examples of the melting
/// integral, read on other pages than the gates, must fall inside.
#[test]
fn melting_integrals_fit_the_gates_at_ten_times() {
    let inside = |i2t: f64, a: f64, s: &Sheet| {
        let gate = s.gates.iter().find(|g| g.times > 9.0).unwrap();
        let seconds = i2t / (100.0 * a * a);
        assert!(
            seconds > gate.least.unwrap_or(0.0) && seconds < gate.most.unwrap(),
            "sheet {}: {a} A, {seconds} s",
            s.number
        );
    };
    for a in RATINGS {
        for (speed, kind) in [(Speed::T, Breaking::Low), (Speed::F, Breaking::Low)] {
            if let Some(s) = sheet(speed, kind, amps(a)) {
                inside(melting_integral(amps(a), speed).0.si(), a, s);
            }
        }
        if let Some(s) = sheet(Speed::T, Breaking::High, amps(a)) {
            inside(melting_integral_high(amps(a)).0.si(), a, s);
        }
    }
}

#[test]
fn gates_narrow_as_the_current_rises() {
    for s in SHEETS {
        for pair in s.gates.windows(2) {
            assert!(pair[0].times < pair[1].times, "sheet {}", s.number);
            if let (Some(slow), Some(fast)) = (pair[0].most, pair[1].most) {
                assert!(fast < slow, "sheet {}", s.number);
            }
        }
        for g in s.gates {
            assert!(g.least.unwrap_or(0.0) < g.most.unwrap_or(f64::INFINITY), "sheet {}", s.number);
        }
    }
}

/// IEC fuses hold 150 % for an hour, where UL fuses must have opened at 135 %: an IEC sheet must have that gate.
#[test]
fn every_sheet_holds_one_and_a_half_times_for_an_hour() {
    for s in SHEETS {
        assert!(s.gates[0].least.is_some_and(|t| (t - 3600.0).abs() < 1e-9) && s.gates[0].most.is_none());
        assert!(s.gates[1].most.is_some(), "the first point at which it must open is 210 %");
    }
}

#[test]
fn bigger_fuses_have_less_resistance_and_melt_later() {
    for pair in RATINGS.windows(2) {
        let (a, b) = (amps(pair[0]), amps(pair[1]));
        assert!(cold_resistance(a).0 > cold_resistance(b).0);
        for speed in Speed::ALL {
            assert!(melting_integral(a, speed).0 < melting_integral(b, speed).0);
        }
        assert!(melting_integral_high(a).0 < melting_integral_high(b).0);
    }
    for rating in RATINGS.map(amps) {
        for pair in Speed::ALL.windows(2) {
            assert!(melting_integral(rating, pair[0]).0 < melting_integral(rating, pair[1]).0, "{rating}");
        }
    }
}

/// At its rating a cold fuse of this size drops about a tenth of a volt, up to some tenths below 0.5 A: common practice.
#[test]
fn cold_fuses_drop_some_tenths_of_a_volt() {
    for a in RATINGS.iter().copied().filter(|a| *a >= 0.2) {
        let drop = cold_resistance(amps(a)).0.si() * a;
        assert!((0.04..0.4).contains(&drop), "{a} A: {drop} V");
    }
}

#[test]
fn ratings_up_and_down_meet_at_a_rating() {
    for a in RATINGS {
        assert!((next_rating_up(amps(a)).unwrap().si() - a).abs() < 1e-12);
        assert!((next_rating_down(amps(a)).unwrap().si() - a).abs() < 1e-12);
    }
    assert!(next_rating_up(amps(10.1)).is_none());
    assert!(next_rating_down(amps(0.031)).is_none());
    assert!((next_rating_down(amps(1.2)).unwrap().si() - 1.0).abs() < 1e-12);
}

/// The integrals against a sum of small steps.
#[test]
fn pulse_integrals_match_a_sum() {
    let n = 200_000;
    let sum = |i: &dyn Fn(f64) -> f64, end: f64| -> f64 {
        let dt = end / f64::from(n);
        (0..n).map(|k| i((f64::from(k) + 0.5) * dt).powi(2) * dt).sum()
    };
    let (peak, t) = (30.0, 0.01);
    let checks: [Check; 3] = [
        (
            "half sine",
            half_sine_integral(amps(peak), Time::seconds(t)).si(),
            sum(&|x| peak * (std::f64::consts::PI * x / t).sin(), t),
            1e-6,
            "summed",
        ),
        (
            "exponential",
            exponential_integral(amps(peak), Time::seconds(t)).si(),
            sum(&|x| peak * (-x / t).exp(), 12.0 * t),
            1e-6,
            "summed",
        ),
        (
            "triangle",
            triangle_integral(amps(peak), Time::seconds(t)).si(),
            sum(&|x| peak * (1.0 - x / t), t),
            1e-6,
            "summed",
        ),
    ];
    all_hold(&checks);
}

#[test]
fn what_is_not_printed_says_so() {
    assert_eq!(cold_resistance(amps(1.0)).1.sure, Sure::Seen);
    assert_eq!(cold_resistance(amps(1.25)).1.sure, Sure::CommonPractice);
    assert_eq!(melting_integral(amps(1.25), Speed::T).1.sure, Sure::Seen);
    assert_eq!(melting_integral(amps(1.25), Speed::F).1.sure, Sure::Memory);
    assert_eq!(Speed::parse("T"), Some(Speed::T));
    assert_eq!(Speed::parse("t"), None);
    assert_eq!(continuous_share(Standard::Ul).0.total_cmp(&0.75), std::cmp::Ordering::Equal);
}
