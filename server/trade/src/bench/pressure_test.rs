//! A pressure decay test on an order: readings typed or logged, what the shop has set, the rate
//! with its uncertainty, the verdict against the shop's own limit, and the curve to draw.

use super::leak_rate::{
    DecayModel, DecayTest, GaugeReading, HIGHEST_GAUGE_PA, LOWEST_START_PA, LeakRate, LeakVerdict, NOTE_NO_TEMPERATURES, NOTE_ROSE,
    TYPICAL_VOLUME_U_REL, ZERO_CELSIUS_K, leak_rate, refusal, scatter_floor_pa, test_from,
};
use super::steady_fall::{Break, TwoStretches, two_stretches};
use super::straight_line::StraightLine;
use super::pressure_log::{LogAsRead, PressureLog, Wanted, read};
use super::shop_limits::{TestSettings, typical_volume_m3};
use crate::calculation::{Fault, Refused};
use crate::words::instrument::Family;
use crate::words::spelling::spelt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

/// So many readings draw a curve; the rest only makes the answer long.
const MOST_DRAWN: usize = 121;
/// So many faults of readings are told.
const MOST_FAULTS: usize = 100;
/// A pause this many times the usual step is told.
const GAP_IN_STEPS: f64 = 10.0;
/// A reading so many steps of the gauge from the fall is a hand's or an eye's, and not told (chosen),
const STEPS_NOT_TOLD: f64 = 3.0;
/// nor is what lies so near to it, as a part of the ± of the fall over the whole test: what such a
/// stretch hides is at most a fifth of the ± that is told (chosen).
const PART_OF_DOUBT_NOT_TOLD: f64 = 0.05;
/// A temperature is said to change by this at most from one reading to the next, K: more is no rounding.
const WIDEST_STEP_K: f64 = 0.5;
/// Standard atmosphere, Pa: leak rates in millilitres are of air at this pressure.
const STANDARD_ATMOSPHERE_PA: f64 = 101_325.0;

/// A pressure decay test as made: readings, or a log; what else is known. What is left out is
/// taken from the shop's settings or is typical, and the answer says so.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PressureTest {
    /// Readings as typed; five to 100,000, times rising.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readings: Option<Vec<GaugeReading>>,
    /// Or the logger's file as text: CSV with commas, semicolons or tabs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub csv: Option<String>,
    /// Measured air space, closed bore with fittings, m³.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume_m3: Option<f64>,
    /// Its standard uncertainty, m³.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume_u_m3: Option<f64>,
    /// Pressure of the room, Pa; needed for a log in absolute pressure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub atmosphere_pa: Option<f64>,
    /// Smallest step of the gauge, Pa.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_resolution_pa: Option<f64>,
    /// Standard uncertainty of the gauge's scale, as a part of the reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_gain_u_rel: Option<f64>,
    /// Standard uncertainty of the change of the air's temperature over the test, K.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_drift_u_k: Option<f64>,
    /// Temperature the rate is stated at, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_c: Option<f64>,
}

spelt! {
    /// Where the volume comes from.
    VolumeFrom {
        /// Measured on this instrument.
        Measured = "measured",
        /// The shop's own for the family.
        Shop = "shop",
        /// Typical for the family, from memory.
        Typical = "typical",
    }
}

/// One reading with the curve beside it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DrawnReading {
    /// Seconds since the start.
    pub t_s: f64,
    /// As read, Pa over the atmosphere.
    pub gauge_pa: f64,
    /// What the same air would show at the temperature of the first reading, Pa; as read without
    /// temperatures. The first is therefore as read.
    pub corrected_gauge_pa: f64,
    /// The fitted curve here, Pa, at the same temperature.
    pub fitted_gauge_pa: f64,
    /// Where a leak of just the limit would be, Pa; none without a limit.
    pub limit_gauge_pa: Option<f64>,
}

/// What a pressure decay test says. Where the pressure rose, the readings show no leak and no
/// tightness either: the verdict is then at most `not_decidable`, and no probability is told. Where
/// they are not one steady fall, one rate for all of them says nothing: `not_decidable`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PressureAnswer {
    /// As the computation gives it.
    #[serde(flatten)]
    pub rate: LeakRate,
    /// The rate in millilitres of air a minute, at 101,325 Pa and the reference temperature.
    pub leak_rate_ml_min: f64,
    /// Half width of the 19-of-20 range in the same unit.
    pub expanded_uncertainty_ml_min: f64,
    /// The shop's limit for the family, Pa·m³/s; none set, no verdict.
    pub limit_pa_m3_s: Option<f64>,
    /// The same in millilitres of air a minute.
    pub limit_ml_min: Option<f64>,
    /// The air space taken, m³.
    pub volume_m3: f64,
    /// Its standard uncertainty, m³.
    pub volume_u_m3: f64,
    /// Where the volume comes from.
    pub volume_from: VolumeFrom,
    /// Pressure of the room taken, Pa.
    pub atmosphere_pa: f64,
    /// Smallest step of the gauge taken, Pa.
    pub gauge_resolution_pa: f64,
    /// Standard uncertainty of the gauge's scale taken, as a part of the reading.
    pub gauge_gain_u_rel: f64,
    /// Standard uncertainty of the change of the air's temperature taken, K.
    pub temperature_drift_u_k: f64,
    /// Temperature the rate is stated at, °C.
    pub reference_c: f64,
    /// How many readings.
    pub reading_count: usize,
    /// From the first reading to the last, s.
    pub duration_s: f64,
    /// Whether the air's temperature was logged.
    pub temperatures_logged: bool,
    /// By how much the fitted line rises from the first reading to the last, Pa, where it rises by more
    /// than its own standard uncertainty: of the pressure as read, or else of that brought to one
    /// temperature.
    #[serde(default)]
    pub rose_pa: Option<f64>,
    /// Where and how the readings are not one steady fall, in words; none where they are.
    #[serde(default)]
    pub uneven: Option<String>,
    /// The readings, thinned, with the fitted curve and the limit beside them.
    pub drawing: Vec<DrawnReading>,
    /// How an uploaded log was read.
    pub log: Option<LogAsRead>,
    /// What to do next.
    pub advice: Vec<String>,
    /// Pointers of inputs that were left out and took the shop's or a typical value.
    pub defaulted: Vec<String>,
    /// Slugs of cautions.
    pub cautions: Vec<String>,
}

/// A test that was reckoned: the readings to keep, and what they say.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoned {
    /// Every reading, in gauge pressure.
    pub readings: Vec<GaugeReading>,
    /// What they say.
    pub answer: PressureAnswer,
}

impl PressureAnswer {
    /// The rate in a few words: `4.8 ± 1.4 ml of air a minute, limit 5.9`.
    #[must_use]
    pub fn words(&self) -> String {
        let limit = self.limit_ml_min.map(|limit| format!(", limit {limit:.1}")).unwrap_or_default();
        let but = if self.uneven.is_some() {
            "; no steady fall"
        } else if self.rose_pa.is_some() {
            "; the pressure rose"
        } else {
            ""
        };
        format!("{}{limit}{but}", self.rate_words())
    }

    /// The same for a customer, of a test whose readings pass; none without a limit.
    #[must_use]
    pub fn words_within_limit(&self) -> Option<String> {
        let limit = self.limit_ml_min?;
        let air = match self.volume_from {
            VolumeFrom::Measured => "",
            VolumeFrom::Shop | VolumeFrom::Typical => "; its air space is the usual one for its kind, not measured",
        };
        Some(format!("{}, within our limit of {limit:.1}{air}", self.rate_words()))
    }

    fn rate_words(&self) -> String {
        let (rate, u) = (self.leak_rate_ml_min, self.expanded_uncertainty_ml_min);
        // Two figures of the uncertainty count, and the rate has as many places.
        let places = if u >= 9.5 { 0 } else if u >= 0.95 { 1 } else { 2 };
        format!("{rate:.places$} ± {u:.places$} ml of air a minute")
    }
}

/// Pa·m³/s in millilitres of air a minute at 101,325 Pa and the same temperature.
#[must_use]
pub fn ml_min(pa_m3_s: f64) -> f64 {
    pa_m3_s / STANDARD_ATMOSPHERE_PA * 60.0e6
}

impl PressureTest {
    /// Reckons the test of an instrument of this family in a shop with these settings.
    ///
    /// # Errors
    /// As the leak rate's own, with pointers into this test. A fault of an uploaded log points
    /// at `/csv` and names its row and column.
    /// Source: COMPUTATIONS.md, leak rate.
    pub fn reckon(&self, family: Family, shop: &TestSettings) -> Result<Reckoned, Refused> {
        let log = match (&self.readings, &self.csv) {
            (Some(_), Some(_)) => {
                return Err(Refused::new("invalid-input").at("/csv", "is given beside readings; leave one of them out"));
            }
            (None, None) => {
                return Err(Refused::new("invalid-input").at("/readings", "are missing; type them, or send the logger's file as csv"));
            }
            (None, Some(text)) => Some(read(text).map_err(|faults| {
                faults.iter().fold(Refused::new("invalid-input"), |refused, fault| refused.at("/csv", fault.to_string()))
            })?),
            (Some(_), None) => None,
        };
        let readings = match (&log, &self.readings) {
            (Some(log), _) => self.gauge_readings(log)?,
            (None, Some(readings)) => readings.clone(),
            (None, None) => Vec::new(),
        };
        let mut left_out = Vec::new();
        let (input, volume_from) = self.input(&readings, family, shop, &mut left_out)?;
        let in_rows = |refused: Refused| told_once(refused, log.as_ref());
        let (test, defaulted) = test_from(&input).map_err(in_rows)?;
        let rate = leak_rate(&test).map_err(|error| in_rows(refusal(error, &test)))?;
        left_out.extend(defaulted);
        let unit_is_said = log.as_ref().is_none_or(|log| log.pressure_unit_is_said);
        let stretches = stretches(&test, &rate);
        let uneven = stretches.map(|two| uneven(&two, &test, log.as_ref()));
        let mut answer = answer(&test, rate, volume_from, log.map(|log| log.as_read), left_out);
        let rise = Rise::of(&test, &answer.rate);
        if let Some(rise) = &rise {
            answer.rose_pa = Some(rise.pa);
            // Air that comes in or grows warm hides a leak of any size: whatever the figures say, it is no pass.
            answer.rate.verdict = answer.rate.verdict.map(|verdict| match verdict {
                LeakVerdict::Pass | LeakVerdict::NotDecidable => LeakVerdict::NotDecidable,
                LeakVerdict::Fail => LeakVerdict::Fail,
            });
            answer.rate.probability_within_limit = None;
        }
        if uneven.is_some() {
            // The rate is that of no stretch: it neither passes nor fails.
            answer.rate.verdict = answer.rate.verdict.map(|_| LeakVerdict::NotDecidable);
            answer.rate.probability_within_limit = None;
            answer.uneven = uneven;
        }
        answer.advice = advice(&test, &answer, rise.as_ref(), family, unit_is_said);
        Ok(Reckoned { readings: test.readings, answer })
    }

    /// The computation's own input: what was given, else what the shop has set.
    fn input(
        &self,
        readings: &[GaugeReading],
        family: Family,
        shop: &TestSettings,
        left_out: &mut Vec<String>,
    ) -> Result<(Value, VolumeFrom), Refused> {
        let mut left = |pointer: &str| left_out.push(pointer.to_owned());
        let (volume_m3, volume_u_m3, volume_from) = match (self.volume_m3, shop.volume(family), typical_volume_m3(family)) {
            (Some(volume), _, _) => (volume, self.volume_u_m3, VolumeFrom::Measured),
            (None, Some(own), _) => {
                left("/volume_m3");
                let u = own.volume_u_m3.unwrap_or(own.volume_m3 * TYPICAL_VOLUME_U_REL);
                (own.volume_m3, self.volume_u_m3.or(Some(u)), VolumeFrom::Shop)
            }
            (None, None, Some(typical)) => {
                left("/volume_m3");
                (typical, self.volume_u_m3, VolumeFrom::Typical)
            }
            (None, None, None) => {
                return Err(Refused::new("invalid-input").at(
                    "/volume_m3",
                    "is missing: this family has no typical air space; fill the bore with water, measure the water, and give it in m³",
                ));
            }
        };
        let mut own = |given: Option<f64>, of_shop: Option<f64>, pointer: &str| {
            if given.is_none() && of_shop.is_some() {
                left(pointer);
            }
            given.or(of_shop)
        };
        let gauge = shop.pressure_gauge.as_ref();
        let resolution = own(self.gauge_resolution_pa, gauge.map(|gauge| gauge.resolution_pa), "/gauge_resolution_pa");
        let gain = own(self.gauge_gain_u_rel, gauge.map(|gauge| gauge.gain_u_rel), "/gauge_gain_u_rel");
        let reference_c = own(self.reference_c, shop.reference_c, "/reference_c");
        let input = json!({
            "readings": readings,
            "volume_m3": volume_m3,
            "volume_u_m3": volume_u_m3,
            "atmosphere_pa": self.atmosphere_pa,
            "gauge_resolution_pa": resolution,
            "gauge_gain_u_rel": gain,
            "temperature_drift_u_k": self.temperature_drift_u_k,
            "reference_c": reference_c,
            "limit_pa_m3_s": shop.leak_limit(family),
        });
        Ok((input, volume_from))
    }

    /// The log's pressures over the room's.
    fn gauge_readings(&self, log: &PressureLog) -> Result<Vec<GaugeReading>, Refused> {
        let room = match (log.is_absolute(), self.atmosphere_pa) {
            (false, _) => 0.0,
            (true, Some(room)) => room,
            (true, None) => {
                return Err(Refused::new("invalid-input").at(
                    "/atmosphere_pa",
                    "is missing: the log is in absolute pressure; read the room's pressure off the same gauge before pumping",
                ));
            }
        };
        let gauge = |reading: &super::pressure_log::LoggedReading| GaugeReading {
            t_s: reading.t_s,
            gauge_pa: reading.pressure_pa - room,
            temperature_c: reading.temperature_c,
        };
        Ok(log.readings.iter().map(gauge).collect())
    }
}

/// One of the readings that a fault is about.
struct Place {
    index: usize,
    field: String,
}

impl Place {
    fn of(pointer: &str) -> Option<Self> {
        let (index, field) = pointer.strip_prefix("/readings/")?.split_once('/')?;
        Some(Self { index: index.parse().ok()?, field: field.to_owned() })
    }
}

/// Faults of readings, each said once with the first and the last reading that has it; of a log by
/// the row and column of the file.
fn told_once(refused: Refused, log: Option<&PressureLog>) -> Refused {
    // One mistake mostly repeats itself in every reading that follows.
    let mut alike: Vec<(Fault, Option<Place>, Vec<usize>)> = Vec::new();
    for fault in refused.faults {
        let place = Place::of(&fault.pointer);
        let before = place.as_ref().and_then(|place| {
            alike.iter().position(|(one, first, _)| {
                one.message == fault.message && first.as_ref().is_some_and(|first| first.field == place.field)
            })
        });
        match (before, place) {
            (Some(at), Some(place)) => alike[at].2.push(place.index),
            (_, place) if alike.len() < MOST_FAULTS => alike.push((fault, place, Vec::new())),
            _ => {}
        }
    }
    let said = |(fault, place, more): (Fault, Option<Place>, Vec<usize>)| {
        let Some(place) = place else {
            return if log.is_some() && fault.pointer == "/readings" { Fault { pointer: "/csv".to_owned(), ..fault } } else { fault };
        };
        let row_of = |index: usize| log.and_then(|log| log.readings.get(index)).map(|reading| reading.row);
        let last = more.last().copied();
        match (log, row_of(place.index)) {
            (Some(log), Some(row)) => {
                let column = log.column(match place.field.as_str() {
                    "t_s" => Wanted::Time,
                    "gauge_pa" => Wanted::Pressure,
                    _ => Wanted::Temperature,
                });
                let and_more = last.and_then(row_of).map_or_else(String::new, |row| format!(" and {} more up to row {row}", more.len()));
                Fault { pointer: "/csv".to_owned(), message: format!("row {row}, column {column}{and_more}: {}", fault.message) }
            }
            _ => {
                let and_more = last.map_or_else(String::new, |last| format!(" (and {} more up to reading {})", more.len(), last + 1));
                Fault { message: format!("{}{and_more}", fault.message), pointer: fault.pointer }
            }
        }
    };
    let mut faults: Vec<Fault> = alike.into_iter().map(said).collect();
    if refused.slug == "pressure-too-low"
        && let Some(log) = log
        && let Some(fault) = faults.first_mut()
    {
        if !log.pressure_unit_is_said {
            fault.message = in_which_unit(log).unwrap_or_else(|| fault.message.clone());
        }
        fault.message.push_str(&comma_taken(log).unwrap_or_default());
    }
    Refused { slug: refused.slug, faults }
}

/// Of a log whose commas were taken as decimal marks and that would be a test if they parted
/// thousands: how they were read.
fn comma_taken(log: &PressureLog) -> Option<String> {
    let first = log.readings.first().filter(|_| log.as_read.decimal_mark == "comma" && !log.is_absolute())?;
    let highest = log.readings.iter().map(|reading| reading.pressure_pa).fold(0.0, f64::max);
    let is_a_test = first.pressure_pa * 1_000.0 >= LOWEST_START_PA && highest * 1_000.0 <= HIGHEST_GAUGE_PA;
    is_a_test.then(|| {
        format!(
            ". The comma was taken as a decimal mark: the first pressure was read as {} Pa; if it parts thousands, write them without it",
            first.pressure_pa
        )
    })
}

/// Of a log that says no unit and is too low in Pa: in which units it would be a test.
fn in_which_unit(log: &PressureLog) -> Option<String> {
    let first = log.readings.first()?;
    let highest = log.readings.iter().map(|reading| reading.pressure_pa).fold(0.0, f64::max);
    let fits = |factor: f64| first.pressure_pa * factor >= LOWEST_START_PA && highest * factor <= HIGHEST_GAUGE_PA;
    let units: Vec<&str> =
        [("mbar (the same as hPa)", 100.0), ("kPa", 1_000.0)].into_iter().filter(|(_, factor)| fits(*factor)).map(|(unit, _)| unit).collect();
    if units.is_empty() {
        return None;
    }
    Some(format!(
        "row {}, column {}: no unit stands over the pressure, so {} was taken as Pa, which is under 200 Pa and no test; it would be \
         one in {}. Head the column with its unit, such as \"pressure (mbar)\"",
        first.row,
        log.column(Wanted::Pressure),
        first.pressure_pa,
        units.join(" or in ")
    ))
}

/// A pressure that rose.
struct Rise {
    /// By how much the fitted line does, from the first reading to the last, Pa.
    pa: f64,
    /// Whether the pressure as read does; else only that brought to one temperature.
    is_as_read: bool,
}

impl Rise {
    /// Where the fitted slope is upward by more than its own standard uncertainty.
    fn of(test: &DecayTest, rate: &LeakRate) -> Option<Self> {
        let (first, last) = (test.readings.first()?, test.readings.last()?);
        let duration_s = last.t_s - first.t_s;
        let as_read = StraightLine::through(test.readings.iter().map(|reading| (reading.t_s, reading.gauge_pa)))?;
        let slope_u = as_read.residual_sd.max(scatter_floor_pa(test.gauge_resolution_pa)) / as_read.s_xx.sqrt();
        if as_read.slope > slope_u {
            return Some(Self { pa: as_read.slope * duration_s, is_as_read: true });
        }
        let corrected = -rate.leak_rate_pa_m3_s / test.volume_m3;
        (corrected > rate.parts.fit / test.volume_m3).then_some(Self { pa: corrected * duration_s, is_as_read: false })
    }

    fn words(&self, test: &DecayTest, answer: &PressureAnswer) -> String {
        let (pa, seconds) = (self.pa, answer.duration_s);
        let rose = if pa >= 9.5 { format!("{pa:.0} Pa in {seconds:.0} s") } else { format!("{pa:.1} Pa in {seconds:.0} s") };
        let verdict = match (answer.rate.verdict, test.limit_pa_m3_s) {
            (Some(LeakVerdict::Fail), _) | (None, None) => "The",
            _ => "Not decidable: the",
        };
        let why = match (self.is_as_read, answer.temperatures_logged) {
            (true, false) => {
                "a leak only lets it fall, so air still came in or grew warmer, and either hides a leak. Take the pump off, wait \
                 until the air has settled, log its temperature, and test again."
            }
            (true, true) => {
                "air still came in or grew warmer, and what the thermometer does not see hides a leak. Take the pump off, wait until \
                 the temperature stands still, and test again."
            }
            (false, _) => {
                "the air cooled by more, as logged, than its pressure fell, which closed air cannot do. Hold the thermometer where \
                 the air is, wait until the temperature stands still, and test again."
            }
        };
        let what = if self.is_as_read { "pressure rose" } else { "pressure rose, brought to one temperature" };
        format!("{verdict} {what}: by {rose}; {why}")
    }
}

/// Two stretches of the readings that no one fall explains, by more than matters.
fn stretches(test: &DecayTest, rate: &LeakRate) -> Option<TwoStretches> {
    let (first, last) = (test.readings.first()?, test.readings.last()?);
    let doubt_pa = rate.expanded_uncertainty_pa_m3_s / test.volume_m3 * (last.t_s - first.t_s);
    let by_thermometer_pa = temperature_step_k(&test.readings) * (first.gauge_pa + test.atmosphere_pa) / (test.reference_c + ZERO_CELSIUS_K);
    let step_pa = test.gauge_resolution_pa.hypot(by_thermometer_pa);
    // At the temperature of the first reading closed air falls towards the room's pressure; brought to
    // another one it would not.
    let warmer = first.temperature_c.map_or(1.0, |at_c| (at_c + ZERO_CELSIUS_K) / (test.reference_c + ZERO_CELSIUS_K));
    let as_at_first = |reading: &GaugeReading| (test.corrected(reading) + test.atmosphere_pa) * warmer - test.atmosphere_pa;
    let points: Vec<(f64, f64)> = test.readings.iter().map(|reading| (reading.t_s, as_at_first(reading))).collect();
    two_stretches(&points, step_pa, (STEPS_NOT_TOLD * test.gauge_resolution_pa).max(1.5 * by_thermometer_pa).max(PART_OF_DOUBT_NOT_TOLD * doubt_pa))
}

/// The smallest change of temperature in the readings, K, as far as it is one of a thermometer's steps.
fn temperature_step_k(readings: &[GaugeReading]) -> f64 {
    let change = |pair: &[GaugeReading]| Some((pair[1].temperature_c? - pair[0].temperature_c?).abs());
    let least = readings.windows(2).filter_map(change).filter(|change| *change > 1e-9).fold(f64::INFINITY, f64::min);
    if least <= WIDEST_STEP_K { least } else { 0.0 }
}

/// What two stretches show, where, and what to do: rows of the file, or places in the list.
fn uneven(two: &TwoStretches, test: &DecayTest, log: Option<&PressureLog>) -> String {
    let row = |index: usize| log.and_then(|log| log.readings.get(index)).map_or(index + 1, |reading| reading.row);
    let word = if log.is_some() { "row" } else { "reading" };
    let (first, last, next, end) = (row(0), row(two.last_of_first), row(two.last_of_first + 1), row(test.readings.len().saturating_sub(1)));
    let speed = |slope: f64| if slope.abs() >= 9.5 { format!("{:.0} Pa", -slope) } else { format!("{:.1} Pa", -slope) };
    match two.what {
        Break::FirstRises(pa) => format!(
            "the pressure rose between {word} {first} and {word} {last}, by {pa:.0} Pa: the pump was still on, or the tube warmed. \
             Cut the log there, keep what comes after {word} {last}, and send it again."
        ),
        Break::SecondRises(pa) => format!(
            "the pressure rose between {word} {last} and {word} {end}, by {pa:.0} Pa: the pump came on again, or the tube warmed. \
             Cut the log there, keep what comes before {word} {next}, and send it again."
        ),
        Break::Jumps(pa) => format!(
            "the pressure {} by {:.0} Pa between {word} {last} and {word} {next}: something was moved, opened or pumped there. \
             Cut the log there, send the longer piece again, or test again.",
            if pa < 0.0 { "fell" } else { "rose" },
            pa.abs()
        ),
        Break::Bends(before, after) => format!(
            "up to {word} {last} the pressure fell by {} a second, from {word} {next} on by {}: a leak opened or closed there, or the \
             air was still settling. Cut the log there, send the piece that is steady, or test again.",
            speed(before),
            speed(after)
        ),
    }
}

fn answer(test: &DecayTest, rate: LeakRate, volume_from: VolumeFrom, log: Option<LogAsRead>, defaulted: Vec<String>) -> PressureAnswer {
    let mut rate = rate;
    // What the advice says of this very test need not be said in general as well.
    rate.notes.retain(|note| note != NOTE_ROSE && note != NOTE_NO_TEMPERATURES);
    rate.notes.extend(gap(&test.readings));
    let first = test.readings.first().map_or(0.0, |reading| reading.t_s);
    let last = test.readings.last().map_or(0.0, |reading| reading.t_s);
    PressureAnswer {
        leak_rate_ml_min: ml_min(rate.leak_rate_pa_m3_s),
        expanded_uncertainty_ml_min: ml_min(rate.expanded_uncertainty_pa_m3_s),
        limit_pa_m3_s: test.limit_pa_m3_s,
        limit_ml_min: test.limit_pa_m3_s.map(ml_min),
        volume_m3: test.volume_m3,
        volume_u_m3: test.volume_u_m3,
        volume_from,
        atmosphere_pa: test.atmosphere_pa,
        gauge_resolution_pa: test.gauge_resolution_pa,
        gauge_gain_u_rel: test.gauge_gain_u_rel,
        temperature_drift_u_k: test.temperature_drift_u_k,
        reference_c: test.reference_c,
        reading_count: test.readings.len(),
        duration_s: last - first,
        temperatures_logged: test.readings.iter().all(|reading| reading.temperature_c.is_some()),
        rose_pa: None,
        uneven: None,
        drawing: drawing(test, &rate),
        log,
        advice: Vec::new(),
        defaulted,
        cautions: vec!["pressure".to_owned()],
        rate,
    }
}

/// Readings evenly taken from the log, the first and the last among them.
fn drawing(test: &DecayTest, rate: &LeakRate) -> Vec<DrawnReading> {
    let count = test.readings.len();
    let drawn = count.min(MOST_DRAWN);
    let Some(first) = test.readings.first() else { return Vec::new() };
    // The computation's figures are for its reference temperature; people know what they read.
    let warmer = first.temperature_c.map_or(1.0, |at_c| (at_c + ZERO_CELSIUS_K) / (test.reference_c + ZERO_CELSIUS_K));
    let as_at_first = |gauge_pa: f64| (gauge_pa + test.atmosphere_pa) * warmer - test.atmosphere_pa;
    (0..drawn)
        .filter_map(|place| test.readings.get(if drawn < 2 { 0 } else { place * (count - 1) / (drawn - 1) }))
        .map(|reading| {
            let since = reading.t_s - first.t_s;
            let under = |leak: f64| as_at_first(decayed(rate, test.volume_m3, leak, since));
            DrawnReading {
                t_s: reading.t_s,
                gauge_pa: reading.gauge_pa,
                corrected_gauge_pa: as_at_first(test.corrected(reading)),
                fitted_gauge_pa: under(rate.leak_rate_pa_m3_s),
                limit_gauge_pa: test.limit_pa_m3_s.map(under),
            }
        })
        .collect()
}

/// What is left of the start pressure after `since_s` under a leak, by the fitted kind of curve.
fn decayed(rate: &LeakRate, volume_m3: f64, leak_pa_m3_s: f64, since_s: f64) -> f64 {
    let fall = leak_pa_m3_s / volume_m3 * since_s;
    match rate.model {
        DecayModel::Linear => rate.start_gauge_pa - fall,
        DecayModel::Exponential => rate.start_gauge_pa * (-fall / rate.start_gauge_pa).exp(),
    }
}

/// The longest pause, where it is far longer than the usual step.
fn gap(readings: &[GaugeReading]) -> Option<String> {
    let mut steps: Vec<f64> = readings.windows(2).map(|pair| pair[1].t_s - pair[0].t_s).collect();
    let (widest, step) = steps.iter().copied().enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
    steps.sort_by(f64::total_cmp);
    let usual = steps[steps.len() / 2];
    (step > GAP_IN_STEPS * usual).then(|| {
        let (from, to) = (readings[widest].t_s, readings[widest + 1].t_s);
        format!("no readings between {from} s and {to} s; the others were taken as they are")
    })
}

fn advice(test: &DecayTest, answer: &PressureAnswer, rise: Option<&Rise>, family: Family, unit_is_said: bool) -> Vec<String> {
    let mut advice = Vec::new();
    if !unit_is_said {
        advice.push("No unit stood over the pressure: its values were taken as Pa. If they are in another unit, head the column with it and take the file again.".to_owned());
    }
    let is_open = answer.rate.verdict.is_none_or(|verdict| verdict == LeakVerdict::NotDecidable);
    if let Some(uneven) = &answer.uneven {
        let undecided = if answer.rate.verdict.is_some() { "Not decidable: " } else { "No steady fall: " };
        advice.push(format!("{undecided}{uneven}"));
    } else if let Some(rise) = rise {
        advice.push(rise.words(test, answer));
    } else if !answer.temperatures_logged {
        // What half a degree of change would look like, p V / T · ΔT / Δt.
        let half = test.atmosphere_pa * test.volume_m3 / (test.reference_c + 273.15) * 0.5 / answer.duration_s;
        advice.push(format!(
            "No temperatures were logged: half a degree of cooling looks like {:.1} ml a minute here. Log the air at start and \
             end, or wait until it has settled, and test again.",
            ml_min(half)
        ));
    } else if is_open && answer.limit_pa_m3_s.is_some() {
        let parts = answer.rate.parts;
        let most = parts.fit.max(parts.temperature).max(parts.volume).max(parts.gauge_gain);
        advice.push(
            if most <= parts.volume {
                "The air space decides: measure it with water, and test again."
            } else if most <= parts.gauge_gain {
                "The gauge's scale decides: have it compared, and give its sheet's figure in the settings."
            } else {
                "Test again for longer: twice the time halves what is not known."
            }
            .to_owned(),
        );
    }
    if answer.volume_from == VolumeFrom::Typical {
        advice.push(format!("The air space of {} l is typical for a {}, not measured.", litres(answer.volume_m3), family.words()));
    }
    advice
}

/// Litres with two figures that count.
fn litres(m3: f64) -> String {
    let litres = m3 * 1_000.0;
    if litres >= 10.0 { format!("{litres:.0}") } else if litres >= 1.0 { format!("{litres:.1}") } else { format!("{litres:.2}") }
}
