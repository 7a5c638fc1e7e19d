//! Made-up pressure logs and what the demo's shops have set for their tests.

use trade::bench::fit::slide::{Diameter, Station};
use trade::bench::fit_check::FitMeasured;
use trade::bench::leak_rate::GaugeReading;
use trade::bench::pressure_test::PressureTest;
use trade::bench::shop_limits::{LeakLimit, TestSettings, Valves, typical_volume_m3};
use trade::words::instrument::{Family, Verdict};

/// Read every two seconds for two minutes.
const READINGS: u32 = 61;
const STEP_S: f64 = 2.0;
/// Outside of the inner tube of the demo's slides, mm.
const INNER_MM: f64 = 12.6;
const START_PA: f64 = 3_000.0;
/// What has no typical air space was measured with water, m³.
const MEASURED_M3: f64 = 0.000_8;

/// The shops pass brass instruments up to these rates, found on good ones of their own.
pub fn settings() -> TestSettings {
    let limits = [
        (Family::Trumpet, 0.003),
        (Family::Cornet, 0.003),
        (Family::Flugelhorn, 0.004),
        (Family::Horn, 0.006),
        (Family::Trombone, 0.006),
        (Family::Baritone, 0.01),
        (Family::Tuba, 0.03),
        (Family::Other, 0.004),
    ];
    TestSettings {
        leak_limits: limits
            .into_iter()
            .map(|(family, limit_pa_m3_s)| LeakLimit {
                family,
                limit_pa_m3_s,
                instrument_count: Some(10),
                valves: Some(Valves::Oiled),
            })
            .collect(),
        ..TestSettings::default()
    }
}

/// A log whose readings come to this verdict in a shop with these settings. What cannot be
/// decided is near the limit, and nobody looked at the thermometer.
pub fn log(family: Family, verdict: Verdict) -> PressureTest {
    let of_limit = match verdict {
        Verdict::Passed => 0.35,
        Verdict::NotDecidable => 0.9,
        Verdict::Failed => 2.5,
    };
    let volume_m3 = typical_volume_m3(family).unwrap_or(MEASURED_M3);
    let rate = settings().leak_limit(family).unwrap_or(0.004) * of_limit;
    let is_warm = verdict != Verdict::NotDecidable;
    let readings = (0..READINGS)
        .map(|index| {
            let t_s = f64::from(index) * STEP_S;
            // A gauge that shows whole pascals and trembles a little.
            let trembling = f64::from(index * 7 % 5) * 0.4 - 0.8;
            let gauge_pa = (START_PA * (-rate / (volume_m3 * START_PA) * t_s).exp() + trembling).round();
            GaugeReading { t_s, gauge_pa, temperature_c: is_warm.then_some(20.6) }
        })
        .collect();
    PressureTest {
        readings: Some(readings),
        volume_m3: typical_volume_m3(family).is_none().then_some(MEASURED_M3),
        ..PressureTest::default()
    }
}

/// A slide with this much room between its tubes, measured at three places in four directions.
pub fn slide(clearance_mm: f64) -> FitMeasured {
    let tube = |mean_mm: f64| {
        let station = |at_mm: f64| Station {
            at_mm,
            diameters: [0.0, 45.0, 90.0, 135.0]
                .into_iter()
                .zip([0.002, 0.001, -0.002, -0.001])
                .map(|(angle_deg, off)| Diameter { angle_deg, diameter_mm: mean_mm + off })
                .collect(),
        };
        Some([0.0, 25.0, 50.0].into_iter().map(station).collect())
    };
    FitMeasured { inner: tube(INNER_MM), outer: tube(INNER_MM + clearance_mm), ..FitMeasured::default() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trade::bench::leak_rate::LeakVerdict;
    use trade::words::spelling::Spelt;

    #[test]
    fn each_log_says_what_the_story_says_of_it() {
        for family in Family::ALL.iter().copied().filter(|family| settings().leak_limit(*family).is_some()) {
            for (told, said) in [
                (Verdict::Passed, LeakVerdict::Pass),
                (Verdict::Failed, LeakVerdict::Fail),
                (Verdict::NotDecidable, LeakVerdict::NotDecidable),
            ] {
                let reckoned = log(family, told).reckon(family, &settings()).expect("a log that can be read");
                assert_eq!(reckoned.answer.rate.verdict, Some(said), "{family}: {:#?}", reckoned.answer.rate);
            }
        }
    }
}
