//! How fast an instrument leaks, from how its pressure falls, and whether that is good enough.

use super::straight_line::{StraightLine, count_as_f64};
use crate::calculation::{Node, Reading, Refused};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;
use statrs::distribution::{Continuous, ContinuousCDF, StudentsT};

/// Over this the test is not made: thin bells and pads are harmed, and a burst is a danger. Pa.
pub const HIGHEST_GAUGE_PA: f64 = 10_000.0;
/// Below this a test says nothing useful. Pa.
pub const LOWEST_START_PA: f64 = 200.0;
/// Standard atmosphere, Pa; taken when none was read off.
pub const TYPICAL_ATMOSPHERE_PA: f64 = 101_325.0;
/// Typical doubt of a volume, as a part of it (from memory).
pub const TYPICAL_VOLUME_U_REL: f64 = 0.05;
/// Typical step of a shop's gauge, Pa (from memory).
pub const TYPICAL_RESOLUTION_PA: f64 = 1.0;
/// Typical standard uncertainty of a gauge's scale, as a part of the reading (from memory).
pub const TYPICAL_GAIN_U_REL: f64 = 0.005;
/// Typical doubt of the change of the air's temperature when it was logged, K (from memory).
pub const TYPICAL_DRIFT_LOGGED_K: f64 = 0.1;
/// The same when it was not logged, K (from memory).
pub const TYPICAL_DRIFT_NOT_LOGGED_K: f64 = 0.5;
/// Temperature that leak rates are stated at, °C.
pub const TYPICAL_REFERENCE_C: f64 = 20.0;

pub(super) const ZERO_CELSIUS_K: f64 = 273.15;
/// One standard cubic centimetre a minute in Pa·m³/s at 0 °C.
const SCCM_PA_M3_S: f64 = 1e-6 * 101_325.0 / 60.0;
/// A straight line stands for the decay up to this relative drop; then the curve shows.
const LINEAR_UP_TO: f64 = 0.10;
/// More degrees of freedom than this are as good as infinitely many.
const MOST_DEGREES_OF_FREEDOM: f64 = 1e6;

/// One line of the pressure log.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GaugeReading {
    /// Seconds since the start.
    pub t_s: f64,
    /// Pressure over the atmosphere, Pa.
    pub gauge_pa: f64,
    /// Temperature of the air inside, °C; in every reading or in none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_c: Option<f64>,
}

/// A pressure decay test as made, with what is known of its surroundings.
#[derive(Debug, Clone, PartialEq)]
pub struct DecayTest {
    /// The log, times strictly rising, at least three lines; all with temperature or none.
    pub readings: Vec<GaugeReading>,
    /// Closed bore with fittings, m³.
    pub volume_m3: f64,
    /// Standard uncertainty of the volume, m³.
    pub volume_u_m3: f64,
    /// Pressure of the room, Pa.
    pub atmosphere_pa: f64,
    /// Smallest step of the gauge, Pa.
    pub gauge_resolution_pa: f64,
    /// Standard uncertainty of the gauge's scale, as a part of the reading.
    pub gauge_gain_u_rel: f64,
    /// Standard uncertainty of the change of the air's temperature over the test, K.
    pub temperature_drift_u_k: f64,
    /// Temperature the rate is stated at, °C.
    pub reference_c: f64,
    /// Largest leak rate the shop passes, Pa·m³/s; none set, no verdict.
    pub limit_pa_m3_s: Option<f64>,
}

impl DecayTest {
    /// Gauge pressure, Pa, that the air of a reading would show at the reference temperature.
    #[must_use]
    pub fn corrected(&self, reading: &GaugeReading) -> f64 {
        corrected_gauge(reading, self.atmosphere_pa, self.reference_c + ZERO_CELSIUS_K)
    }
}

/// Which curve stands for the decay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum DecayModel {
    /// Straight line: the pressure fell by a tenth or less.
    Linear,
    /// Falling exponential; the rate is the one at the start.
    Exponential,
}

/// Whether the leak is within the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LeakVerdict {
    /// Within, with at least 95 % probability.
    Pass,
    /// Within with at most 5 % probability.
    Fail,
    /// The test cannot tell.
    NotDecidable,
}

/// Where the uncertainty comes from; standard uncertainties in Pa·m³/s.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LeakParts {
    /// Scatter of the readings about the curve, or the gauge's steps.
    pub fit: f64,
    /// Unknown change of the air's temperature.
    pub temperature: f64,
    /// Unknown volume.
    pub volume: f64,
    /// Unknown scale of the gauge.
    pub gauge_gain: f64,
}

/// A leak rate with its uncertainty and, if there is a limit, its verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LeakRate {
    /// Which curve was fitted.
    pub model: DecayModel,
    /// Leak rate at the start, Pa·m³/s. Negative when the pressure rose, and left so, because
    /// the technician should see it.
    pub leak_rate_pa_m3_s: f64,
    /// Standard uncertainty of the rate, Pa·m³/s.
    pub standard_uncertainty_pa_m3_s: f64,
    /// Where that comes from.
    pub parts: LeakParts,
    /// Effective degrees of freedom, at most a million.
    pub degrees_of_freedom: f64,
    /// Half width of the 95 % interval, Pa·m³/s.
    pub expanded_uncertainty_pa_m3_s: f64,
    /// Corrected gauge pressure at the start, by the fit, Pa.
    pub start_gauge_pa: f64,
    /// How much of it was gone at the end, by the straight line.
    pub relative_drop: f64,
    /// How probable it is that the true rate is within the limit.
    pub probability_within_limit: Option<f64>,
    /// How far below the limit a rate must lie to pass, Pa·m³/s.
    pub guard_pa_m3_s: f64,
    /// Pass, fail or neither; none without a limit.
    pub verdict: Option<LeakVerdict>,
    /// The rate in mbar·L/s.
    pub mbar_l_s: f64,
    /// The rate in standard cubic centimetres a minute (0 °C, 101,325 Pa).
    pub sccm: f64,
    /// What the technician should know about this test.
    pub notes: Vec<String>,
}

/// Why a log gives no leak rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeakRateError {
    /// The readings at these places are over 10 kPa: a danger, not a test.
    PressureTooHigh,
    /// The first reading is under 200 Pa.
    PressureTooLow,
    /// No curve goes through these readings (a steep fall to or below the room's pressure,
    /// or times too near each other).
    NotComputable,
}

/// Leak rate of a closed volume from its pressure decay.
///
/// `Q = V · (−dp/dt)` at the start, slope by least squares over all readings; air brought to
/// the reference temperature first where temperatures were logged. Uncertainty by the law of
/// propagation with effective degrees of freedom, verdict with a guard band.
///
/// # Errors
/// [`LeakRateError`].
/// Source: ideal gas; JCGM 100 (GUM) for the uncertainty, JCGM 106 for the verdict;
/// COMPUTATIONS.md, leak rate.
pub fn leak_rate(test: &DecayTest) -> Result<LeakRate, LeakRateError> {
    let [first, .., last] = test.readings.as_slice() else {
        return Err(LeakRateError::NotComputable);
    };
    if test.readings.iter().any(|reading| reading.gauge_pa > HIGHEST_GAUGE_PA) {
        return Err(LeakRateError::PressureTooHigh);
    }
    if first.gauge_pa < LOWEST_START_PA {
        return Err(LeakRateError::PressureTooLow);
    }

    let reference_k = test.reference_c + ZERO_CELSIUS_K;
    let points: Vec<(f64, f64)> = test
        .readings
        .iter()
        .map(|reading| (reading.t_s, corrected_gauge(reading, test.atmosphere_pa, reference_k)))
        .collect();
    let line = StraightLine::through(points.iter().copied()).ok_or(LeakRateError::NotComputable)?;
    let decay = Decay::of(&points, &line, test.gauge_resolution_pa)?;

    let rate = test.volume_m3 * decay.fall_pa_s;
    let mean_absolute = line.mean_y + test.atmosphere_pa;
    let parts = LeakParts {
        fit: test.volume_m3 * decay.fall_u_pa_s,
        temperature: test.volume_m3 * mean_absolute / reference_k * test.temperature_drift_u_k
            / (last.t_s - first.t_s),
        volume: rate.abs() * test.volume_u_m3 / test.volume_m3,
        gauge_gain: rate.abs() * test.gauge_gain_u_rel,
    };
    let u = (parts.fit.powi(2)
        + parts.temperature.powi(2)
        + parts.volume.powi(2)
        + parts.gauge_gain.powi(2))
    .sqrt();
    if !(rate.is_finite() && u.is_finite() && decay.relative_drop.is_finite()) {
        return Err(LeakRateError::NotComputable);
    }
    let freedom = degrees_of_freedom(u, parts.fit, test.readings.len());
    let student = StudentsT::new(0.0, 1.0, freedom).map_err(|_| LeakRateError::NotComputable)?;
    let within = test.limit_pa_m3_s.map(|limit| probability_within(&student, limit - rate, u));

    Ok(LeakRate {
        model: decay.model,
        leak_rate_pa_m3_s: rate,
        standard_uncertainty_pa_m3_s: u,
        parts,
        degrees_of_freedom: freedom,
        expanded_uncertainty_pa_m3_s: quantile(&student, 0.975) * u,
        start_gauge_pa: decay.start_pa,
        relative_drop: decay.relative_drop,
        probability_within_limit: within,
        guard_pa_m3_s: quantile(&student, 0.95) * u,
        verdict: within.map(verdict),
        mbar_l_s: mbar_l_s(rate),
        sccm: sccm(rate, test.reference_c),
        notes: notes(test, rate, u),
    })
}

/// The `p`-quantile of Student's t.
///
/// statrs' own inverse is off by 6e-5 at a million degrees of freedom while its distribution
/// function is good to 1e-9 there; three steps of Newton's method carry that over.
#[must_use]
pub fn quantile(student: &StudentsT, p: f64) -> f64 {
    (0..3).fold(student.inverse_cdf(p), |t, _| t - (student.cdf(t) - p) / student.pdf(t))
}

/// Pa·m³/s in mbar·L/s.
#[must_use]
pub fn mbar_l_s(pa_m3_s: f64) -> f64 {
    pa_m3_s * 10.0
}

/// Pa·m³/s at `reference_c` in standard cubic centimetres a minute (0 °C, 101,325 Pa).
#[must_use]
pub fn sccm(pa_m3_s: f64, reference_c: f64) -> f64 {
    pa_m3_s / SCCM_PA_M3_S * ZERO_CELSIUS_K / (reference_c + ZERO_CELSIUS_K)
}

/// Gauge pressure, Pa, that the same air would show at the reference temperature.
fn corrected_gauge(reading: &GaugeReading, atmosphere_pa: f64, reference_k: f64) -> f64 {
    let absolute = reading.gauge_pa + atmosphere_pa;
    let at_reference = match reading.temperature_c {
        Some(temperature_c) => absolute * reference_k / (temperature_c + ZERO_CELSIUS_K),
        None => absolute,
    };
    at_reference - atmosphere_pa
}

/// How the pressure falls at the start of the test.
struct Decay {
    model: DecayModel,
    start_pa: f64,
    relative_drop: f64,
    /// Fall at the start, Pa/s.
    fall_pa_s: f64,
    /// Its standard uncertainty from the fit alone, Pa/s.
    fall_u_pa_s: f64,
}

impl Decay {
    fn of(
        points: &[(f64, f64)],
        line: &StraightLine,
        resolution_pa: f64,
    ) -> Result<Self, LeakRateError> {
        let ([(first_t, _), ..], [.., (last_t, _)]) = (points, points) else {
            return Err(LeakRateError::NotComputable);
        };
        let start = line.at(*first_t);
        let relative_drop = (start - line.at(*last_t)) / start;
        let floor = scatter_floor_pa(resolution_pa);
        if relative_drop <= LINEAR_UP_TO {
            let s = line.residual_sd.max(floor);
            return Ok(Self {
                model: DecayModel::Linear,
                start_pa: start,
                relative_drop,
                fall_pa_s: -line.slope,
                fall_u_pa_s: s / line.s_xx.sqrt(),
            });
        }
        if points.iter().any(|&(_, pressure)| pressure <= 0.0) {
            return Err(LeakRateError::NotComputable);
        }
        let logs = StraightLine::through(points.iter().map(|&(t, pressure)| (t, pressure.ln())))
            .ok_or(LeakRateError::NotComputable)?;
        let s = logs.residual_sd.max(floor / logs.mean_y.exp());
        let start = logs.at(*first_t).exp();
        let k = -logs.slope;
        // The stated |Q| √(s²(1/n + d²/S) + s²/S/k² + 2 s² d/(S k)) with d = t̄ − t₁, the square
        // completed: never negative, and good for k = 0.
        let d = logs.mean_x - first_t;
        let spread = k * k / count_as_f64(logs.point_count) + (k * d + 1.0).powi(2) / logs.s_xx;
        Ok(Self {
            model: DecayModel::Exponential,
            start_pa: start,
            relative_drop,
            fall_pa_s: start * k,
            fall_u_pa_s: start * s * spread.sqrt(),
        })
    }
}

/// A gauge that only shows whole steps hides scatter below a rectangular step's, Pa.
pub(super) fn scatter_floor_pa(resolution_pa: f64) -> f64 {
    resolution_pa / 12_f64.sqrt()
}

/// Welch–Satterthwaite; every part but the fit counts as infinitely well known.
fn degrees_of_freedom(u: f64, u_fit: f64, reading_count: usize) -> f64 {
    let freedom = (u / u_fit).powi(4) * (count_as_f64(reading_count) - 2.0);
    // 0/0, a perfect fit on a perfect gauge, is infinitely well known too.
    if freedom.is_nan() { MOST_DEGREES_OF_FREEDOM } else { freedom.min(MOST_DEGREES_OF_FREEDOM) }
}

fn probability_within(student: &StudentsT, room: f64, u: f64) -> f64 {
    if u > 0.0 {
        student.cdf(room / u)
    } else if room >= 0.0 {
        1.0
    } else {
        0.0
    }
}

fn verdict(probability_within_limit: f64) -> LeakVerdict {
    if probability_within_limit >= 0.95 {
        LeakVerdict::Pass
    } else if probability_within_limit <= 0.05 {
        LeakVerdict::Fail
    } else {
        LeakVerdict::NotDecidable
    }
}

/// The note on a rate well below nothing.
pub(super) const NOTE_ROSE: &str = "pressure rose: temperature, or the pump still connected";
/// The note on a log without temperatures.
pub(super) const NOTE_NO_TEMPERATURES: &str = "no temperatures: the unknown drift of the air's temperature usually decides the uncertainty; \
             log the temperature, or wait until the air has settled";

fn notes(test: &DecayTest, rate: f64, u: f64) -> Vec<String> {
    let mut notes: Vec<&str> = Vec::new();
    if rate < -2.0 * u {
        notes.push(NOTE_ROSE);
    }
    if test.readings.iter().all(|reading| reading.temperature_c.is_none()) {
        notes.push(NOTE_NO_TEMPERATURES);
    }
    if test.limit_pa_m3_s.is_none() {
        notes.push(
            "no limit is set for this family: the rate is shown without a verdict; set one after testing \
             good instruments of your own, noting whether the valves were dry or oiled",
        );
    }
    notes.into_iter().map(ToOwned::to_owned).collect()
}

/// Answers `/calculations/leak-rate`.
///
/// # Errors
/// `invalid-input`, `pressure-too-high`, `pressure-too-low` or `not-computable`.
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let (test, defaulted) = test_from(input)?;
    let rate = leak_rate(&test).map_err(|error| refusal(error, &test))?;
    let mut answer = json!(rate);
    answer["defaulted"] = json!(defaulted);
    answer["cautions"] = json!(["pressure"]);
    Ok(answer)
}

/// The test that an input describes, and the pointers of what was left out and took a typical value.
///
/// # Errors
/// `invalid-input` with every fault.
pub(crate) fn test_from(input: &Value) -> Result<(DecayTest, Vec<String>), Refused> {
    let mut reading = Reading::default();
    let test = read(&mut reading, &Node::root(input));
    reading.done()?;
    let test = test.ok_or_else(|| Refused::new("invalid-input").at("", "must be an object"))?;
    Ok((test, reading.defaulted))
}

/// Why a test gives no rate, with the readings that are in the way.
pub(crate) fn refusal(error: LeakRateError, test: &DecayTest) -> Refused {
    match error {
        LeakRateError::PressureTooHigh => {
            let over = test.readings.iter().enumerate().filter(|(_, line)| line.gauge_pa > HIGHEST_GAUGE_PA);
            over.fold(Refused::new("pressure-too-high"), |refused, (index, _)| {
                refused.at(
                    format!("/readings/{index}/gauge_pa"),
                    "is over 10 kPa: let the pressure off; thin bells and pads are harmed and a burst is a danger",
                )
            })
        }
        LeakRateError::PressureTooLow => {
            let is_suction = test.readings.first().is_some_and(|line| line.gauge_pa < 0.0);
            let words = if is_suction {
                "is below the pressure of the room: this test wants air blown in, 200 Pa and more over the room's; if it was blown in, \
                 the gauge is connected the wrong way round, or the room's pressure was told too high"
            } else {
                "is under 200 Pa: pump up before starting the log"
            };
            Refused::new("pressure-too-low").at("/readings/0/gauge_pa", words)
        }
        LeakRateError::NotComputable => Refused::new("not-computable").at(
            "/readings",
            "no decay curve goes through these readings; shorten the log to before the pressure was gone",
        ),
    }
}

fn read(reading: &mut Reading, input: &Node<'_>) -> Option<DecayTest> {
    reading.object(
        input,
        &[
            "readings",
            "volume_m3",
            "volume_u_m3",
            "atmosphere_pa",
            "gauge_resolution_pa",
            "gauge_gain_u_rel",
            "temperature_drift_u_k",
            "reference_c",
            "limit_pa_m3_s",
        ],
    )?;
    let readings = read_log(reading, input);
    let with_temperatures = readings.first().is_some_and(|line| line.temperature_c.is_some());
    let volume_m3 = reading.number(input, "volume_m3", 1e-6..=0.1);
    let typical_u = volume_m3.unwrap_or_default() * TYPICAL_VOLUME_U_REL;
    let volume_u_m3 = reading.number_or(input, "volume_u_m3", 0.0..=0.1, typical_u);
    let atmosphere_pa =
        reading.number_or(input, "atmosphere_pa", 50_000.0..=110_000.0, TYPICAL_ATMOSPHERE_PA);
    let gauge_resolution_pa =
        reading.number_or(input, "gauge_resolution_pa", 0.0..=10_000.0, TYPICAL_RESOLUTION_PA);
    let gauge_gain_u_rel =
        reading.number_or(input, "gauge_gain_u_rel", 0.0..=1.0, TYPICAL_GAIN_U_REL);
    let typical_drift =
        if with_temperatures { TYPICAL_DRIFT_LOGGED_K } else { TYPICAL_DRIFT_NOT_LOGGED_K };
    let temperature_drift_u_k =
        reading.number_or(input, "temperature_drift_u_k", 0.0..=10.0, typical_drift);
    let reference_c = reading.number_or(input, "reference_c", -20.0..=50.0, TYPICAL_REFERENCE_C);
    let limit_pa_m3_s = reading.number_if(input, "limit_pa_m3_s", ..);
    if limit_pa_m3_s.is_some_and(|limit| limit <= 0.0) {
        reading.fault(input.below("limit_pa_m3_s"), "must be above 0");
    }
    for (index, line) in readings.iter().enumerate() {
        if line.gauge_pa <= -atmosphere_pa {
            reading.fault(format!("/readings/{index}/gauge_pa"), "is below a vacuum");
        }
    }
    Some(DecayTest {
        readings,
        volume_m3: volume_m3?,
        volume_u_m3,
        atmosphere_pa,
        gauge_resolution_pa,
        gauge_gain_u_rel,
        temperature_drift_u_k,
        reference_c,
        limit_pa_m3_s,
    })
}

/// Lines of a log that one test may have.
const FEWEST_READINGS: usize = 5;
const MOST_READINGS: usize = 100_000;

/// The log; a faulty line takes part with stand-in values, so that the lines after it keep
/// their places and are checked too.
fn read_log(reading: &mut Reading, input: &Node<'_>) -> Vec<GaugeReading> {
    let Some(node) = input.get("readings") else {
        reading.fault(input.below("readings"), "is missing; give a list");
        return Vec::new();
    };
    let Some(lines) = node.value.as_array() else {
        reading.fault(node.pointer, "must be a list");
        return Vec::new();
    };
    if !(FEWEST_READINGS..=MOST_READINGS).contains(&lines.len()) {
        reading.fault(&node.pointer, format!("has {} readings; give 5 to 100,000", lines.len()));
        return Vec::new();
    }
    let log: Vec<GaugeReading> = lines
        .iter()
        .enumerate()
        .map(|(index, line)| {
            plain_line(line)
                .unwrap_or_else(|| read_line(reading, &node.below(&index.to_string()), line))
        })
        .collect();
    let missing: Vec<usize> =
        (0..log.len()).filter(|&index| log[index].temperature_c.is_none()).collect();
    if !missing.is_empty() && missing.len() < log.len() {
        reading.fault(&node.pointer, "has temperatures in some readings only; give all or none");
        for index in missing {
            reading.fault(
                format!("{}/{index}/temperature_c", node.pointer),
                "is missing; give all temperatures or none",
            );
        }
    }
    for (index, pair) in log.windows(2).enumerate() {
        if pair[1].t_s <= pair[0].t_s {
            reading.fault(
                format!("{}/{}/t_s", node.pointer, index + 1),
                "must be later than the reading before",
            );
        }
    }
    log
}

/// Longest log and coldest and hottest air that are believed.
const TIMES_S: std::ops::RangeInclusive<f64> = -1e9..=1e9;
const TEMPERATURES_C: std::ops::RangeInclusive<f64> = -40.0..=80.0;

/// A line without fault, read without making a pointer: a log has up to 100,000 of them.
fn plain_line(line: &Value) -> Option<GaugeReading> {
    let (mut t_s, mut gauge_pa, mut temperature_c) = (None, None, None);
    for (key, value) in line.as_object()? {
        match key.as_str() {
            "t_s" => t_s = value.as_f64().filter(|t| TIMES_S.contains(t)),
            "gauge_pa" => gauge_pa = value.as_f64().filter(|pressure| pressure.is_finite()),
            "temperature_c" if value.is_null() => {}
            "temperature_c" => {
                temperature_c = Some(value.as_f64().filter(|t| TEMPERATURES_C.contains(t))?)
            }
            _ => return None,
        }
    }
    Some(GaugeReading { t_s: t_s?, gauge_pa: gauge_pa?, temperature_c })
}

/// A faulty line, read slowly for the sake of its pointers.
fn read_line(reading: &mut Reading, pointer: &str, line: &Value) -> GaugeReading {
    let node = Node { value: line, pointer: pointer.to_owned() };
    reading.object(&node, &["t_s", "gauge_pa", "temperature_c"]);
    let t_s = reading.number(&node, "t_s", TIMES_S).unwrap_or(f64::NAN);
    let gauge_pa = reading.number(&node, "gauge_pa", ..).unwrap_or_default();
    let temperature_c = node
        .get("temperature_c")
        .map(|found| reading.number_at(&found, TEMPERATURES_C).unwrap_or_default());
    GaugeReading { t_s, gauge_pa, temperature_c }
}
