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

/// Rises by `pa` in a minute, with readings that scatter by two steps of the gauge; temperatures rise
/// by `warmer` K, or are not logged.
fn rising(pa: f64, warmer: Option<f64>) -> PressureTest {
    let reading = |index: u32| GaugeReading {
        t_s: f64::from(index),
        gauge_pa: 2_500.0 + pa * f64::from(index) / 60.0 + if index.is_multiple_of(2) { 1.0 } else { -1.0 },
        temperature_c: warmer.map(|warmer| 20.0 + warmer * f64::from(index) / 60.0),
    };
    typed((0..61).map(reading).collect())
}

#[test]
fn a_pressure_that_rose_never_passes_and_says_so_in_words() {
    // 2500 to 2590 Pa without temperatures was once a pass; with them, warming air explains 90 Pa of 110.
    for (test, warmed) in [(rising(90.0, None), false), (rising(90.0, Some(0.0)), true), (rising(90.0, Some(0.32)), true)] {
        let answer = said(&test, &shop(0.01));
        assert_eq!(answer.rate.verdict, Some(LeakVerdict::NotDecidable));
        assert_eq!(answer.rate.probability_within_limit, None);
        assert!((answer.rose_pa.unwrap() - 90.0).abs() < 0.5, "{:?}", answer.rose_pa);
        let told = answer.advice.join(" ");
        assert!(told.starts_with("Not decidable: the pressure rose: by 90 Pa in 60 s;") && told.contains("test again"), "{told}");
        assert_eq!(answer.temperatures_logged, warmed);
        assert!(answer.words().ends_with("limit 5.9; the pressure rose"), "{}", answer.words());
        // Said once.
        assert!(answer.rate.notes.iter().all(|note| !note.contains("pressure rose") && !note.contains("no temperatures")));
    }
    // It falls as read, and by less than the cooling that was logged.
    let cooled = said(&rising(-90.0, Some(-0.5)), &shop(0.01));
    assert_eq!(cooled.rate.verdict, Some(LeakVerdict::NotDecidable));
    assert!(cooled.advice[0].starts_with("Not decidable: the pressure rose, brought to one temperature"), "{:?}", cooled.advice);
    // Without a limit there is no verdict to take back, and it is said all the same.
    let no_limit = said(&rising(90.0, None), &TestSettings::default());
    assert_eq!(no_limit.rate.verdict, None);
    assert!(no_limit.advice[0].starts_with("The pressure rose: by 90 Pa in 60 s"), "{:?}", no_limit.advice);
}

#[test]
fn a_slope_within_its_own_uncertainty_is_no_rise_and_a_leak_in_warming_air_still_fails() {
    // Two steps of scatter over 61 readings: the slope is good to 0.0072 Pa/s, 0.43 Pa in a minute.
    assert_eq!(said(&rising(0.3, Some(0.0)), &shop(0.01)).rose_pa, None);
    assert!(said(&rising(0.6, Some(0.0)), &shop(0.01)).rose_pa.is_some());
    assert_eq!(said(&rising(0.3, Some(0.0)), &shop(0.01)).rate.verdict, Some(LeakVerdict::Pass));
    // Two degrees warmer and 90 Pa higher: 600 Pa are missing.
    let leaks = said(&rising(90.0, Some(2.0)), &shop(0.01));
    assert_eq!((leaks.rate.verdict, leaks.rose_pa.is_some()), (Some(LeakVerdict::Fail), true));
    assert!(leaks.advice[0].starts_with("The pressure rose"), "{:?}", leaks.advice);
}

fn from_csv(csv: &str) -> PressureTest {
    PressureTest { csv: Some(csv.to_owned()), ..PressureTest::default() }
}

#[test]
fn values_without_a_unit_are_said_to_be_taken_as_pascals() {
    let says = |csv: &str| said(&from_csv(csv), &shop(0.01)).advice.iter().any(|one| one.starts_with("No unit stood over the pressure"));
    let rows = "0,3000\n15,2999\n30,2998\n45,2997\n60,2996\n";
    assert!(says(rows) && says(&format!("t,pressure\n{rows}")));
    assert!(!says(&format!("t,pressure (Pa)\n{rows}")) && !says(&format!("t,p\ns,Pa\n{rows}")));
    assert!(said(&typed(readings(10, 1.0)), &shop(0.01)).advice.iter().all(|one| !one.starts_with("No unit")));
}

#[test]
fn a_log_that_is_a_test_in_another_unit_only_says_in_which() {
    let told = |csv: &str| from_csv(csv).reckon(Family::Baritone, &shop(0.01)).unwrap_err();
    let mbar = told("time,pressure\n0,30\n15,29.9\n30,29.8\n45,29.7\n60,29.6\n");
    assert_eq!((mbar.slug, mbar.faults[0].pointer.as_str(), mbar.faults.len()), ("pressure-too-low", "/csv", 1));
    let words = &mbar.faults[0].message;
    assert!(words.starts_with("row 2, column 2: no unit stands over the pressure, so 30 was taken as Pa"), "{words}");
    assert!(words.contains("in mbar (the same as hPa).") && !words.contains("kPa"), "{words}");
    let either = told("0,3\n15,2.99\n30,2.98\n45,2.97\n60,2.96\n").faults[0].message.clone();
    assert!(either.contains("in mbar (the same as hPa) or in kPa."), "{either}");
    // In Pa, said so, it is simply too low; and what is a test in no unit is not guessed at.
    for csv in ["t,p (Pa)\n0,30\n15,29\n30,28\n45,27\n60,26\n", "0,0.1\n15,0.1\n30,0.1\n45,0.1\n60,0.1\n"] {
        assert!(told(csv).faults[0].message.contains("is under 200 Pa: pump up"), "{csv}");
    }
}

#[test]
fn a_log_that_is_too_low_says_how_its_commas_were_read_and_that_suction_is_no_test() {
    let told = |csv: &str| from_csv(csv).reckon(Family::Baritone, &shop(0.01)).unwrap_err().faults[0].message.clone();
    let comma = "The comma was taken as a decimal mark: the first pressure was read as 3 Pa";
    let rows = "0;3,000\n15;2,999\n30;2,998\n45;2,997\n60;2,996\n";
    assert!(told(rows).contains(comma), "{}", told(rows));
    let in_pascals = told(&format!("t;p (Pa)\n{rows}"));
    assert!(in_pascals.contains("is under 200 Pa") && in_pascals.contains(comma), "{in_pascals}");
    let points = told("0;30.5\n15;30.4\n30;30.3\n45;30.2\n60;30.1\n");
    assert!(!points.contains("comma"), "{points}");
    // A thousand times as much is no test either, so the comma is not to blame.
    assert!(!told("t;p (Pa)\n0;30,5\n15;30,4\n30;30,3\n45;30,2\n60;30,1\n").contains("comma"));
    let suction = told("t,p (Pa)\n0,-3000\n15,-2999\n30,-2998\n45,-2997\n60,-2996\n");
    assert!(suction.contains("below the pressure of the room") && !suction.contains("pump up"), "{suction}");
}

#[test]
fn what_is_wrong_with_many_readings_is_said_once_with_the_first_and_the_last() {
    let csv = (0..61).fold("t,p (kPa)\n0,9\n".to_owned(), |mut csv, index| {
        writeln!(csv, "{},11", index + 1).unwrap();
        csv
    });
    let refused = from_csv(&csv).reckon(Family::Baritone, &shop(0.01)).unwrap_err();
    assert_eq!((refused.slug, refused.faults.len()), ("pressure-too-high", 1));
    assert!(refused.faults[0].message.starts_with("row 3, column 2 and 60 more up to row 63: is over 10 kPa"), "{refused:?}");
    let mut high = readings(61, 1.0);
    high.iter_mut().skip(3).for_each(|reading| reading.gauge_pa = 12_000.0);
    let refused = typed(high).reckon(Family::Baritone, &shop(0.01)).unwrap_err();
    assert_eq!((refused.faults.len(), refused.faults[0].pointer.as_str()), (1, "/readings/3/gauge_pa"));
    assert!(refused.faults[0].message.ends_with("(and 57 more up to reading 61)"), "{refused:?}");
    // One alone says nothing of more.
    let mut one = readings(61, 1.0);
    one[3].gauge_pa = 12_000.0;
    let refused = typed(one).reckon(Family::Baritone, &shop(0.01)).unwrap_err();
    assert!(!refused.faults[0].message.contains("more"), "{refused:?}");
}

proptest! {
    #[test]
    fn a_log_that_rises_never_passes(pa in 5.0_f64..400.0, warmer in proptest::option::of(-1.0_f64..3.0), limit in 0.001_f64..0.05) {
        prop_assert_ne!(said(&rising(pa, warmer), &shop(limit)).rate.verdict, Some(LeakVerdict::Pass));
    }

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
        let csv = format!("t [s],p [Pa]{}\n{csv}", if warm.is_some() { ",T [°C]" } else { "" });
        // Brought to the reference temperature, warm air of little pressure may be no test any more: said alike too.
        match (from_csv(&csv).reckon(Family::Baritone, &shop(0.01)), typed(readings).reckon(Family::Baritone, &shop(0.01))) {
            (Ok(logged), Ok(typed)) => {
                // Only the places are told otherwise: rows of the file, or readings.
                prop_assert_eq!(logged.answer.uneven.is_some(), typed.answer.uneven.is_some());
                let alike = |answer: PressureAnswer| PressureAnswer { log: None, uneven: None, advice: Vec::new(), ..answer };
                prop_assert_eq!(alike(logged.answer), alike(typed.answer));
            }
            (logged, typed) => prop_assert_eq!(logged.unwrap_err().slug, typed.unwrap_err().slug),
        }
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

/// A log of this shape: Pa at each second, from 3000 on, as a gauge with whole steps shows it.
fn shaped(seconds: u32, pa: impl Fn(f64) -> f64, warm: Option<f64>) -> PressureTest {
    typed((0..=seconds).map(|t| GaugeReading { t_s: f64::from(t), gauge_pa: pa(f64::from(t)).round(), temperature_c: warm }).collect())
}

/// The pump on for half a minute; a hand that let go late; something that slipped.
fn pumped(t: f64) -> f64 {
    if t <= 30.0 { 3_000.0 + 28.0 * t } else { 3_840.0 - 28.0 * (t - 30.0) }
}

fn let_go_late(t: f64) -> f64 {
    3_000.0 - 20.0 * (t - 40.0).max(0.0)
}

fn slipped(t: f64) -> f64 {
    if t < 30.0 { 3_000.0 } else { 2_800.0 }
}

#[test]
fn a_log_that_is_no_one_fall_never_passes_and_says_where() {
    for warm in [None, Some(20.0)] {
        // All three were a pass once, the first with −0.0 ± 1.0 ml a minute on an instrument that loses 28 Pa a second.
        for (log, starts, where_) in [
            (shaped(60, pumped, warm), "Not decidable: the pressure rose between reading 1 and reading 31, by 840 Pa: the pump was still on", "keep what comes after reading 31"),
            (shaped(60, let_go_late, warm), "Not decidable: up to reading 4", "send the piece that is steady"),
            (shaped(60, slipped, warm), "Not decidable: the pressure fell by 200 Pa between reading 30 and reading 31", "send the longer piece"),
        ] {
            let answer = said(&log, &shop(0.05));
            assert_eq!((answer.rate.verdict, answer.rate.probability_within_limit), (Some(LeakVerdict::NotDecidable), None), "{starts}");
            assert!(answer.advice[0].starts_with(starts) && answer.advice[0].contains(where_), "{:?}", answer.advice);
            assert!(answer.words().ends_with("; no steady fall"), "{}", answer.words());
        }
    }
    // What is kept after the cut is a leak that anyone sees.
    let after = typed((31..=60).map(|t| GaugeReading { t_s: f64::from(t), gauge_pa: pumped(f64::from(t)), temperature_c: Some(20.0) }).collect());
    assert_eq!(said(&after, &shop(0.05)).rate.verdict, Some(LeakVerdict::Fail));
    // The same from its middle on: pumped up again at the end.
    let again = said(&shaped(60, |t| pumped(if t < 30.0 { 30.0 + t } else { t - 30.0 }), None), &shop(0.05));
    assert!(again.advice[0].contains("rose between reading"), "{:?}", again.advice);
    // Without a limit there is no verdict to take back, and it is said all the same.
    let no_limit = said(&shaped(60, pumped, None), &TestSettings::default());
    assert_eq!(no_limit.rate.verdict, None);
    assert!(no_limit.advice[0].starts_with("No steady fall: the pressure rose between reading 1"), "{:?}", no_limit.advice);
}

#[test]
fn of_a_file_the_rows_are_told_and_of_few_readings_a_rise_is_seen_too() {
    let csv = (0..=60).fold("t [s],p [Pa]\n".to_owned(), |mut csv, t| {
        writeln!(csv, "{t},{}", pumped(f64::from(t))).unwrap();
        csv
    });
    let told = said(&from_csv(&csv), &shop(0.05)).advice[0].clone();
    assert!(told.contains("between row 2 and row 32") && told.contains("after row 32"), "{told}");
    for count in [5_u32, 7, 9, 13] {
        let few = (0..count).map(|k| {
            let t_s = 60.0 * f64::from(k) / f64::from(count - 1);
            GaugeReading { t_s, gauge_pa: pumped(t_s).round(), temperature_c: None }
        });
        let answer = said(&typed(few.collect()), &shop(0.05));
        assert_eq!(answer.rate.verdict, Some(LeakVerdict::NotDecidable), "{count} readings");
        assert!(answer.advice[0].contains("rose between reading 1 and reading"), "{count}: {:?}", answer.advice);
    }
}

/// Even chance from a counter, and from it a Gaussian: the same on every run (SplitMix64, Box–Muller).
struct Chance(u64);

impl Chance {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn gauss(&mut self) -> f64 {
        (-2.0 * (1.0 - self.even()).ln()).sqrt() * (std::f64::consts::TAU * self.even()).cos()
    }
}

#[test]
fn sound_logs_are_hardly_ever_called_uneven() {
    let mut chance = Chance(1);
    let mut counts = [(0_u32, 0_u32); 3];
    for round in 0..12_000_u32 {
        // By hand in fifteens of seconds, by a logger each second, and with a thermometer of tenths.
        let kind = (round % 3) as usize;
        let count = [5 + round / 3 % 9, 31 + round % 90, 61][kind];
        let every_s = [15.0, 1.0, 2.0][kind];
        let long = every_s * f64::from(count - 1);
        let step = [1.0, 1.0, 10.0, 0.1][(chance.even() * 4.0) as usize];
        let noise = step * 2.0 * chance.even();
        let lost_s = 20.0 * (1_000.0_f64).powf(chance.even());
        let law = chance.even();
        let (cooling, room) = (0.6 * (chance.even() - 0.5), 15.0 + 12.0 * chance.even());
        // A log that runs on after the air is gone is no one fall.
        if law >= 0.7 && long > 1.9 * lost_s {
            continue;
        }
        let readings: Vec<GaugeReading> = (0..count)
            .map(|k| {
                let t_s = every_s * f64::from(k);
                // Exponential, as through a narrow path, or by an orifice.
                let left = if law < 0.7 { (-t_s / lost_s).exp() } else { (1.0 - t_s / lost_s / 2.0).max(0.0).powi(2) };
                let warm = room + if kind == 2 { cooling * t_s / long } else { 0.0 };
                let pa = (3_000.0 * left + 101_325.0) * (warm + 273.15) / (room + 273.15) - 101_325.0 + noise * chance.gauss();
                GaugeReading { t_s, gauge_pa: (pa / step).round() * step, temperature_c: (kind == 2).then(|| (warm * 10.0).round() / 10.0) }
            })
            .collect();
        let test = PressureTest { gauge_resolution_pa: Some(step), ..typed(readings) };
        // Nor is it computed.
        let Ok(reckoned) = test.reckon(Family::Baritone, &shop(0.01)) else { continue };
        counts[kind].0 += 1;
        counts[kind].1 += u32::from(reckoned.answer.uneven.is_some());
        assert!(counts[kind].1 < 25, "{kind}: {counts:?}: {:?} {noise} {lost_s} {law}", reckoned.answer.uneven);
    }
    eprintln!("sound logs and false alarms, by hand, logged, logged with a thermometer: {counts:?}");
    for (logs, alarms) in counts {
        assert!(logs > 2_000 && f64::from(alarms) <= 0.002 * f64::from(logs), "{counts:?}");
    }
}

proptest! {
    #[test]
    fn a_hidden_stretch_never_passes(pa in 150.0_f64..900.0, turn in 15_u32..45, noise in 0.0_f64..4.0, seed in any::<u64>(), kind in 0_u8..3, warm in any::<bool>()) {
        let mut chance = Chance(seed);
        let turn = f64::from(turn);
        let noisy: Vec<f64> = (0..=60).map(|_| noise * chance.gauss()).collect();
        let log = shaped(60, |t| {
            let shape = match kind {
                0 => if t <= turn { pa * t / turn } else { pa * (60.0 - t) / (60.0 - turn) },
                1 => -pa * (t - turn).max(0.0) / (60.0 - turn),
                _ => if t < turn { 0.0 } else { -pa },
            };
            3_000.0 + shape + noisy[t as usize]
        }, warm.then_some(20.0));
        let answer = said(&log, &shop(0.05));
        prop_assert_ne!(answer.rate.verdict, Some(LeakVerdict::Pass), "{:?}", answer.advice);
    }
}
