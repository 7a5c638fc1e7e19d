//! Pressure tests of an order: the same however they are told, drawn with few points, and told
//! to no more certainty than the computation has.
#![expect(clippy::unwrap_used, reason = "a panic is how a test fails")]

use proptest::prelude::*;
use std::fmt::Write;
use trade::bench::leak_rate::{DecayModel, GaugeReading, LeakVerdict};
use trade::bench::pressure_test::{PressureAnswer, PressureTest, VolumeFrom, ml_min};
use trade::bench::shop_limits::{LeakLimit, TestSettings, typical_volume_m3};
use trade::words::instrument::Family;
use trade::words::spelling::Spelt;

fn shop(limit_pa_m3_s: f64) -> TestSettings {
    TestSettings {
        leak_limits: vec![LeakLimit { family: Family::Baritone, limit_pa_m3_s, instrument_count: None, valves: None }],
        ..TestSettings::default()
    }
}

fn readings(count: u32, pa_s: f64) -> Vec<GaugeReading> {
    (0..count)
        .map(|index| {
            let t_s = f64::from(index) * 60.0 / f64::from(count - 1);
            GaugeReading { t_s, gauge_pa: 3_000.0 - pa_s * t_s, temperature_c: Some(20.0) }
        })
        .collect()
}

#[track_caller]
fn said(test: &PressureTest, shop: &TestSettings) -> PressureAnswer {
    test.reckon(Family::Baritone, shop).unwrap().answer
}

fn typed(readings: Vec<GaugeReading>) -> PressureTest {
    PressureTest { readings: Some(readings), ..PressureTest::default() }
}

#[test]
fn the_worked_figures_of_the_bench_come_out() {
    // 1 Pa·m³/s is 592.2 ml a minute of air at 101,325 Pa: 60e6 / 101,325.
    assert!((ml_min(0.01) - 5.921_539).abs() < 1e-6);
    let answer = said(&typed(readings(61, 1.0)), &shop(0.01));
    assert!((answer.rate.leak_rate_pa_m3_s - 0.0026).abs() < 1e-12, "2.6 l times 1 Pa/s");
    assert_eq!((answer.rate.model, answer.rate.verdict), (DecayModel::Linear, Some(LeakVerdict::Pass)));
    assert_eq!(answer.volume_from, VolumeFrom::Typical);
    // A tenth of a degree over the minute: 2.6 l · 104 kPa / 293 K · 0.1 K / 60 s, times 1.96.
    assert_eq!(answer.words(), "1.5 ± 1.8 ml of air a minute, limit 5.9");
}

#[test]
fn a_long_log_is_drawn_with_few_points_from_its_first_to_its_last() {
    let answer = said(&typed(readings(100_000, 1.0)), &shop(0.01));
    assert_eq!((answer.reading_count, answer.drawing.len()), (100_000, 121));
    let (first, last) = (answer.drawing[0], answer.drawing[120]);
    assert!(first.t_s.abs() < 1e-9 && (last.t_s - 60.0).abs() < 1e-9);
    // The limit's curve and the fitted one begin together, and part as their rates do.
    assert!((first.fitted_gauge_pa - 3_000.0).abs() < 1e-6 && (first.limit_gauge_pa.unwrap() - 3_000.0).abs() < 1e-6);
    assert!((last.fitted_gauge_pa - 2_940.0).abs() < 1e-6);
    assert!((last.limit_gauge_pa.unwrap() - (3_000.0 - 0.01 / 0.0026 * 60.0)).abs() < 1e-6);
}

#[test]
fn a_steep_fall_is_drawn_as_the_curve_that_was_fitted() {
    let falling = (0..61)
        .map(|t| GaugeReading { t_s: f64::from(t), gauge_pa: 3_000.0 * (-0.02 * f64::from(t)).exp(), temperature_c: None })
        .collect();
    let answer = said(&typed(falling), &shop(0.01));
    assert_eq!(answer.rate.model, DecayModel::Exponential);
    for drawn in &answer.drawing {
        assert!((drawn.fitted_gauge_pa - drawn.gauge_pa).abs() < 1e-6, "{drawn:?}");
    }
}

#[test]
fn every_family_but_other_has_a_typical_air_space_within_the_range_of_the_computation() {
    for family in Family::ALL {
        match typical_volume_m3(*family) {
            Some(volume) => assert!((1e-6..=0.1).contains(&volume), "{family}"),
            None => assert_eq!(*family, Family::Other),
        }
    }
    let refused = typed(readings(10, 1.0)).reckon(Family::Other, &TestSettings::default()).unwrap_err();
    assert_eq!(refused.faults[0].pointer, "/volume_m3");
}

proptest! {
    #[test]
    fn typed_and_logged_say_the_same(
        falls in proptest::collection::vec(0.0_f64..5.0, 5..50),
        warm in proptest::option::of(-10.0_f64..40.0),
    ) {
        let mut gauge_pa = 3_000.0;
        let mut readings = Vec::new();
        for (index, fall) in falls.iter().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "fifty")]
            let t_s = index as f64;
            readings.push(GaugeReading { t_s, gauge_pa, temperature_c: warm });
            gauge_pa -= fall;
        }
        let csv = readings.iter().fold(String::new(), |mut csv, r| {
            write!(csv, "{},{}", r.t_s, r.gauge_pa).unwrap();
            r.temperature_c.iter().for_each(|warm| write!(csv, ",{warm}").unwrap());
            csv.push('\n');
            csv
        });
        let logged = said(&PressureTest { csv: Some(csv), ..PressureTest::default() }, &shop(0.01));
        let typed = said(&typed(readings), &shop(0.01));
        prop_assert_eq!(PressureAnswer { log: None, ..logged }, typed);
    }

    #[test]
    fn a_verdict_is_only_ever_as_sure_as_its_probability(pa_s in 0.0_f64..20.0, limit in 0.001_f64..0.05) {
        let answer = said(&typed(readings(61, pa_s)), &shop(limit));
        let within = answer.rate.probability_within_limit.unwrap();
        let verdict = answer.rate.verdict.unwrap();
        prop_assert_eq!(verdict == LeakVerdict::Pass, within >= 0.95);
        prop_assert_eq!(verdict == LeakVerdict::Fail, within <= 0.05);
    }
}
