//! A pressure log as loggers and spreadsheets write it: CSV into readings, or what is wrong where.
//!
//! RFC 4180, and what else is met in shops: semicolons with decimal commas, tabs, a heading row
//! or none, lines of the logger before it, units in the headings, absolute or gauge pressure,
//! times of day. Whatever cannot be read one way only is refused with its row and column.

use chrono::{NaiveDateTime, NaiveTime, Timelike};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A log of more readings than this is refused at the first row too many.
pub const MOST_READINGS: usize = 100_000;
/// A log of fewer tells nothing of its own scatter.
pub const FEWEST_READINGS: usize = 5;
/// So many faults are told; the rest is most likely the same mistake again.
const MOST_FAULTS: usize = 20;
/// Among so many first rows the headings are looked for; loggers write of themselves above them.
const HEADINGS_WITHIN: usize = 30;
/// Gauge readings over this, Pa, are taken for absolute ones by mistake.
const MUST_BE_ABSOLUTE_PA: f64 = 50_000.0;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Holds {
    /// Time.
    Time,
    /// Pressure over the atmosphere.
    GaugePressure,
    /// Pressure over a vacuum.
    AbsolutePressure,
    /// Temperature of the air inside.
    Temperature,
}

/// A column that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ReadColumn {
    /// Its place, from 1.
    pub number: usize,
    /// As it is headed; none without headings.
    pub heading: Option<String>,
    /// What it was taken for.
    pub holds: Holds,
    /// The unit it was taken to be in.
    pub unit: String,
}

/// How a log was read, for the person to see that it was read right.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LogAsRead {
    /// `comma`, `semicolon` or `tab`.
    pub separator: String,
    /// `point` or `comma`.
    pub decimal_mark: String,
    /// The columns that count.
    pub columns: Vec<ReadColumn>,
    /// Headings of columns that were left alone.
    pub ignored_columns: Vec<String>,
    /// How many readings.
    pub reading_count: usize,
    /// How many rows without anything were passed over.
    pub blank_row_count: usize,
}

/// One line of a log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoggedReading {
    /// Row of the file, from 1, as a spreadsheet counts.
    pub row: usize,
    /// Seconds since the first reading.
    pub t_s: f64,
    /// Pressure, Pa; gauge or absolute as its column says.
    pub pressure_pa: f64,
    /// Temperature, °C.
    pub temperature_c: Option<f64>,
}

/// A log that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct PressureLog {
    /// In the order of the file, times strictly rising; temperatures in all or none.
    pub readings: Vec<LoggedReading>,
    /// Whether the file says in which unit its pressures are; else they were taken as Pa.
    pub pressure_unit_is_said: bool,
    /// How it was read.
    pub as_read: LogAsRead,
}

impl PressureLog {
    /// Whether its pressures are over a vacuum.
    #[must_use]
    pub fn is_absolute(&self) -> bool {
        self.as_read.columns.iter().any(|column| column.holds == Holds::AbsolutePressure)
    }

    /// The place of a column, from 1; 0 when the log has none such.
    #[must_use]
    pub fn column(&self, wanted: Wanted) -> usize {
        let fits = |holds| Wanted::of(holds) == wanted;
        self.as_read.columns.iter().find(|column| fits(column.holds)).map_or(0, |column| column.number)
    }
}

/// The three things a log can tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// When.
    Time,
    /// How much pressure, gauge or absolute.
    Pressure,
    /// How warm.
    Temperature,
}

impl Wanted {
    fn of(holds: Holds) -> Self {
        match holds {
            Holds::Time => Self::Time,
            Holds::GaugePressure | Holds::AbsolutePressure => Self::Pressure,
            Holds::Temperature => Self::Temperature,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Pressure => "pressure",
            Self::Temperature => "temperature",
        }
    }
}

/// One thing wrong with a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogFault {
    /// Row of the file, from 1.
    pub row: usize,
    /// Column, from 1; none when the whole row is meant.
    pub column: Option<usize>,
    /// What is wrong and what to do.
    pub message: String,
}

impl std::fmt::Display for LogFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.column {
            Some(column) => write!(f, "row {}, column {column}: {}", self.row, self.message),
            None => write!(f, "row {}: {}", self.row, self.message),
        }
    }
}

fn fault(row: usize, column: Option<usize>, message: impl Into<String>) -> LogFault {
    LogFault { row, column, message: message.into() }
}

/// The text of a file as loggers write it: UTF-8 or UTF-16 by its mark, else UTF-8, else the old
/// Western code page, in which only the degree sign matters here.
#[must_use]
pub fn text_of(bytes: &[u8]) -> String {
    let wide = |bytes: &[u8], unit: fn([u8; 2]) -> u16| {
        let units = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
        char::decode_utf16(units).map(|letter| letter.unwrap_or(char::REPLACEMENT_CHARACTER)).collect()
    };
    match bytes {
        [0xFF, 0xFE, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => wide(rest, u16::from_be_bytes),
        _ => std::str::from_utf8(bytes)
            .map_or_else(|_| bytes.iter().map(|byte| char::from(*byte)).collect(), ToOwned::to_owned),
    }
}

/// Reads a pressure log.
///
/// `text`: the file. Without headings the columns are seconds, gauge pressure in Pa and, if
/// there is a third, °C. Times count from the first reading.
///
/// # Errors
/// Every fault found, up to twenty, each with its row and column.
/// Source: RFC 4180; units: SI brochure, conventional water at 4 °C (9.80665 Pa per mm).
pub fn read(text: &str) -> Result<PressureLog, Vec<LogFault>> {
    let text = plain_lines(text);
    let (text, told) = separator_told(&text);
    if text.trim().is_empty() {
        return Err(vec![fault(1, None, "the file is empty; give at least five readings of time and pressure")]);
    }
    let separator = told.or_else(|| separator_of(text)).ok_or_else(|| {
        vec![fault(1, None, "has one column only; give time and pressure, separated by commas, semicolons or tabs")]
    })?;
    let skipped = usize::from(told.is_some());
    let mut rows = Rows::new(text, separator, skipped);
    let mut first = Vec::new();
    while first.len() < HEADINGS_WITHIN {
        let Some(row) = rows.next_row() else { break };
        first.push(row);
    }
    let columns = Columns::find(&first)?;
    let body = first.into_iter().skip(columns.rows_above);
    Body { separator, columns, rows }.read(body)
}

/// One kind of line end, one at the very end, and no byte order mark: row numbers are then counted right.
fn plain_lines(text: &str) -> String {
    let mut plain = text.trim_start_matches('\u{feff}').replace("\r\n", "\n").replace('\r', "\n");
    if !plain.ends_with('\n') {
        plain.push('\n');
    }
    plain
}

/// Spreadsheets read and write `sep=;` as a first row.
fn separator_told(text: &str) -> (&str, Option<u8>) {
    let told = text.split_once('\n').and_then(|(first, rest)| {
        let mark = first.trim().strip_prefix("sep=")?;
        let mark = if mark.is_empty() { "\t" } else { mark };
        SEPARATORS.iter().find(|(byte, _, _)| mark.as_bytes() == [*byte]).map(|(byte, _, _)| (rest, *byte))
    });
    told.map_or((text, None), |(rest, byte)| (rest, Some(byte)))
}

/// In this order where a row holds several: a comma may be a decimal mark, a tab never.
const SEPARATORS: [(u8, &str, &str); 3] =
    [(b'\t', "tab", "tabs"), (b';', "semicolon", "semicolons"), (b',', "comma", "commas")];

/// The separator that most of the first rows hold.
fn separator_of(text: &str) -> Option<u8> {
    let rows: Vec<&str> = text.lines().filter(|row| !row.trim().is_empty()).take(50).collect();
    let count = |byte: u8| rows.iter().filter(|row| outside_quotes(row).contains(&byte)).count();
    let counted: Vec<(u8, usize)> = SEPARATORS.iter().map(|(byte, _, _)| (*byte, count(*byte))).collect();
    let most = counted.iter().map(|(_, count)| *count).max().filter(|count| *count > 0)?;
    counted.into_iter().find(|(_, count)| *count == most).map(|(byte, _)| byte)
}

fn outside_quotes(row: &str) -> Vec<u8> {
    let mut inside = false;
    row.bytes()
        .filter(|byte| {
            inside ^= *byte == b'"';
            !inside
        })
        .collect()
}

/// One row as split.
#[derive(Debug, Clone)]
struct Row {
    number: usize,
    fields: Vec<String>,
}

impl Row {
    fn is_blank(&self) -> bool {
        self.fields.iter().all(|field| field.trim().is_empty())
    }
}

/// The rows of a file, numbered as a spreadsheet numbers them.
struct Rows<'t> {
    reader: csv::Reader<&'t [u8]>,
    skipped: usize,
    last_row: usize,
    blank_count: usize,
}

impl<'t> Rows<'t> {
    fn new(text: &'t str, separator: u8, skipped: usize) -> Self {
        let reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        Self { reader, skipped, last_row: skipped, blank_count: 0 }
    }

    /// The next row that holds anything.
    fn next_row(&mut self) -> Option<Row> {
        let mut record = csv::StringRecord::new();
        loop {
            // The text is in memory and is UTF-8: reading cannot fail.
            if !self.reader.read_record(&mut record).unwrap_or(false) {
                return None;
            }
            // The reader stands behind the row's own line end, and has counted those in quotes.
            let behind = usize::try_from(self.reader.position().line()).unwrap_or(usize::MAX);
            let held: usize = record.iter().map(|field| field.matches('\n').count()).sum();
            // A quotation mark that is never closed swallows its own line end too.
            let number = (behind.saturating_sub(1 + held) + self.skipped).max(self.last_row + 1);
            let row = Row { number, fields: record.iter().map(|field| field.trim().to_owned()).collect() };
            // The reader itself passes over rows of no length.
            self.blank_count += number.saturating_sub(self.last_row + 1);
            self.last_row = number + held;
            if !row.is_blank() {
                return Some(row);
            }
            self.blank_count += 1;
        }
    }
}

/// A unit: factor and offset to Pa, s or °C, and whether it says gauge or absolute itself.
#[derive(Debug, Clone, PartialEq)]
struct Unit {
    wanted: Wanted,
    spelt: &'static str,
    factor: f64,
    offset: f64,
    absolute: Option<bool>,
}

/// Spellings in lower case without spaces, dots and degree signs; the unit's own spelling; factor; offset.
const UNITS: [(Wanted, &[&str], &str, f64, f64); 17] = [
    (Wanted::Time, &["s", "sec", "secs", "second", "seconds", "sek", "sekunden"], "s", 1.0, 0.0),
    (Wanted::Time, &["ms", "msec", "millisecond", "milliseconds"], "ms", 0.001, 0.0),
    (Wanted::Time, &["min", "mins", "minute", "minutes", "minuten"], "min", 60.0, 0.0),
    (Wanted::Time, &["h", "hr", "hour", "hours", "stunden"], "h", 3_600.0, 0.0),
    (Wanted::Time, &["hh:mm:ss", "h:mm:ss", "mm:ss", "hh:mm:ssfff"], "h:min:s", 1.0, 0.0),
    (Wanted::Pressure, &["pa", "pascal"], "Pa", 1.0, 0.0),
    (Wanted::Pressure, &["hpa", "hectopascal"], "hPa", 100.0, 0.0),
    (Wanted::Pressure, &["kpa", "kilopascal"], "kPa", 1_000.0, 0.0),
    (Wanted::Pressure, &["mbar", "millibar"], "mbar", 100.0, 0.0),
    (Wanted::Pressure, &["bar"], "bar", 100_000.0, 0.0),
    (Wanted::Pressure, &["mmh2o", "mmwc", "mmws", "mmaq"], "mmH2O", 9.806_65, 0.0),
    (Wanted::Pressure, &["cmh2o", "cmwc", "cmws"], "cmH2O", 98.066_5, 0.0),
    (Wanted::Pressure, &["inh2o", "inwc", "inaq"], "inH2O", 249.088_91, 0.0),
    (Wanted::Pressure, &["psi", "lbf/in2"], "psi", 6_894.757_293_168, 0.0),
    (Wanted::Temperature, &["c", "degc", "celsius"], "°C", 1.0, 0.0),
    (Wanted::Temperature, &["f", "degf", "fahrenheit"], "°F", 5.0 / 9.0, -32.0 * 5.0 / 9.0),
    (Wanted::Temperature, &["k", "kelvin"], "K", 1.0, -273.15),
];

impl Unit {
    fn named(text: &str) -> Option<Self> {
        let mut name: String = text
            .to_lowercase()
            .replace('₂', "2")
            .chars()
            .filter(|letter| !letter.is_whitespace() && !"°º.\u{fffd}".contains(*letter))
            .collect();
        let mut absolute = None;
        for (word, is_absolute) in [("absolute", true), ("abs", true), ("gauge", false), ("(a)", true), ("(g)", false)] {
            if let Some(rest) = name.strip_suffix(word).filter(|rest| !rest.is_empty()) {
                (name, absolute) = (rest.trim_end_matches(['_', '-', '(', ',']).to_owned(), Some(is_absolute));
            }
        }
        let plain = |name: &str| UNITS.iter().find(|(_, spellings, ..)| spellings.contains(&name));
        let found = plain(&name).or_else(|| {
            // psig, bara: the letter belongs to a pressure only.
            let (rest, is_absolute) =
                name.strip_suffix('g').map(|rest| (rest, false)).or_else(|| name.strip_suffix('a').map(|rest| (rest, true)))?;
            absolute = Some(is_absolute);
            plain(rest).filter(|(wanted, ..)| *wanted == Wanted::Pressure)
        });
        found.map(|(wanted, _, spelt, factor, offset)| Self {
            wanted: *wanted,
            spelt,
            factor: *factor,
            offset: *offset,
            absolute,
        })
    }

    /// What stands in a column without a unit.
    fn plain(wanted: Wanted) -> Self {
        let spelt = match wanted {
            Wanted::Time => "s",
            Wanted::Pressure => "Pa",
            Wanted::Temperature => "°C",
        };
        Self { wanted, spelt, factor: 1.0, offset: 0.0, absolute: None }
    }

    fn to_si(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }
}

const TIME_WORDS: [&str; 12] =
    ["time", "t", "elapsed", "seconds", "timestamp", "zeit", "datetime", "uhrzeit", "tiempo", "tempo", "clock", "zeitpunkt"];
const PRESSURE_WORDS: [&str; 12] = [
    "pressure", "p", "gauge", "druck", "pression", "presión", "presion", "pressione", "dp", "überdruck", "absolutdruck",
    "manometer",
];
const TEMPERATURE_WORDS: [&str; 9] =
    ["temperature", "temp", "temperatur", "température", "temperatura", "air", "luft", "thermometer", "ambient"];
const ABSOLUTE_WORDS: [&str; 4] = ["abs", "absolute", "absolutdruck", "absolut"];
const GAUGE_WORDS: [&str; 4] = ["gauge", "überdruck", "relative", "differential"];

/// A heading as understood.
#[derive(Debug, Clone)]
struct Heading {
    wanted: Wanted,
    unit: Option<Unit>,
    absolute: Option<bool>,
}

impl Heading {
    /// `Ok(None)` when it names none of the three; `Err` when it does and cannot be taken.
    fn read(text: &str) -> Result<Option<Self>, String> {
        let (name, unit_text) = name_and_unit(text);
        let unit = unit_text.as_deref().and_then(Unit::named);
        let lower = name.to_lowercase();
        let words: Vec<&str> = lower.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let has = |list: &[&str]| words.iter().any(|word| list.contains(word));
        let by_name = if name.trim() == "T" || has(&TEMPERATURE_WORDS) {
            Some(Wanted::Temperature)
        } else if has(&PRESSURE_WORDS) || (has(&ABSOLUTE_WORDS) && unit.is_some()) {
            Some(Wanted::Pressure)
        } else if has(&TIME_WORDS) {
            Some(Wanted::Time)
        } else {
            None
        };
        let wanted = match (by_name, &unit) {
            (Some(named), Some(unit)) if named != unit.wanted => {
                // `t [°C]` and `T [s]`: one letter says less than its unit.
                if words.len() == 1 && name.trim().chars().count() == 1 {
                    unit.wanted
                } else {
                    return Err(format!(
                        "\"{}\" is a {} in a unit of {}; give it in {}",
                        short(text), named.words(), unit.wanted.words(), known_units(named)
                    ));
                }
            }
            (Some(named), None) if unit_text.is_some() => {
                return Err(format!(
                    "\"{}\" has a unit that is not known here; give it in {}",
                    short(text), known_units(named)
                ));
            }
            (Some(named), _) => named,
            (None, Some(unit)) if words.is_empty() => unit.wanted,
            (None, _) => return Ok(None),
        };
        let absolute = unit.as_ref().and_then(|unit| unit.absolute).or_else(|| {
            if has(&ABSOLUTE_WORDS) { Some(true) } else { has(&GAUGE_WORDS).then_some(false) }
        });
        Ok(Some(Self { wanted, unit, absolute }))
    }
}

fn known_units(wanted: Wanted) -> String {
    let names: Vec<&str> = UNITS.iter().filter(|(of, ..)| *of == wanted).map(|(_, _, spelt, ..)| *spelt).collect();
    names.join(", ")
}

/// `Pressure (mbar)`, `p [kPa abs]`, `t / s`, `Druck in hPa`, `gauge_pa`, `mbar`.
fn name_and_unit(text: &str) -> (String, Option<String>) {
    let text = text.trim();
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some((before, rest)) = text.split_once(open)
            && let Some((inside, after)) = rest.rsplit_once(close)
        {
            // `(g)` and `(abs)` say how it was measured; the unit stands before.
            if ["g", "a", "abs", "gauge", "absolute"].contains(&inside.trim().to_lowercase().as_str()) {
                let (name, unit) = name_and_unit(before);
                return (name, unit.map(|unit| format!("{unit}({inside})")));
            }
            return (format!("{before} {after}").trim().to_owned(), Some(inside.to_owned()));
        }
    }
    for between in [" / ", "/", " in "] {
        if let Some((name, unit)) = text.rsplit_once(between)
            && Unit::named(unit).is_some()
        {
            return (name.trim().to_owned(), Some(unit.to_owned()));
        }
    }
    if Unit::named(text).is_some() && !["t", "T", "p"].contains(&text) {
        return (String::new(), Some(text.to_owned()));
    }
    for between in ['_', ' ', ',', '-'] {
        if let Some((name, unit)) = text.rsplit_once(between)
            && Unit::named(unit).is_some()
        {
            return (name.to_owned(), Some(unit.to_owned()));
        }
    }
    (text.to_owned(), None)
}

/// A column that counts.
#[derive(Debug, Clone)]
struct Column {
    index: usize,
    heading: Option<String>,
    unit: Unit,
    holds: Holds,
    /// Whether the heading or its unit says gauge or absolute.
    is_said: bool,
    /// Whether its unit stands in the file.
    unit_is_said: bool,
}

/// Which columns count.
#[derive(Debug, Clone)]
struct Columns {
    rows_above: usize,
    width: usize,
    time: Column,
    pressure: Column,
    temperature: Option<Column>,
    ignored: Vec<String>,
}

impl Columns {
    fn find(rows: &[Row]) -> Result<Self, Vec<LogFault>> {
        let Some(first) = rows.first() else {
            return Err(vec![fault(1, None, "is empty; give at least five readings of time and pressure")]);
        };
        let mut nearest: Option<(usize, Vec<LogFault>)> = None;
        for (place, row) in rows.iter().enumerate() {
            if looks_like_readings(row) {
                break;
            }
            match Self::headed(rows, place) {
                Ok(columns) => return Ok(columns),
                Err((known, faults)) => {
                    if nearest.as_ref().is_none_or(|(best, _)| known > *best) {
                        nearest = Some((known, faults));
                    }
                }
            }
        }
        match nearest {
            Some((_, faults)) => Err(faults),
            None => Self::unheaded(first),
        }
    }

    /// The columns by the headings of one row; else how many were understood, and what is missing.
    fn headed(rows: &[Row], place: usize) -> Result<Self, (usize, Vec<LogFault>)> {
        let row = &rows[place];
        let mut found: Vec<(usize, Heading)> = Vec::new();
        let mut faults = Vec::new();
        let mut ignored = Vec::new();
        for (index, text) in row.fields.iter().enumerate() {
            match Heading::read(text) {
                Ok(Some(heading)) => found.push((index, heading)),
                Ok(None) if text.is_empty() => {}
                Ok(None) => ignored.push(text.clone()),
                Err(message) => faults.push(fault(row.number, Some(index + 1), message)),
            }
        }
        let known = found.len() + faults.len();
        let units = rows.get(place + 1).filter(|row| is_unit_row(row));
        let mut pick = |wanted: Wanted, is_needed: bool| -> Option<Column> {
            let mut fitting = found.iter().filter(|(_, heading)| heading.wanted == wanted);
            let Some((index, heading)) = fitting.next() else {
                // A heading that could not be taken is told already.
                if is_needed && faults.iter().all(|fault| fault.column.is_none()) {
                    let example = if wanted == Wanted::Time { "time_s" } else { "gauge_pa" };
                    faults.push(fault(row.number, None, format!("no column is headed {}; head one so, such as {example}", wanted.words())));
                }
                return None;
            };
            if let Some((second, _)) = fitting.next() {
                faults.push(fault(
                    row.number,
                    Some(second + 1),
                    format!("is a second {} beside column {}; leave one of them out", wanted.words(), index + 1),
                ));
            }
            let below = units.and_then(|units| units.fields.get(*index)).and_then(|text| Unit::named(text));
            let unit = heading.unit.clone().or(below.filter(|unit| unit.wanted == wanted));
            let absolute = unit.as_ref().and_then(|unit| unit.absolute).or(heading.absolute);
            let holds = match (wanted, absolute) {
                (Wanted::Time, _) => Holds::Time,
                (Wanted::Temperature, _) => Holds::Temperature,
                (Wanted::Pressure, Some(true)) => Holds::AbsolutePressure,
                (Wanted::Pressure, _) => Holds::GaugePressure,
            };
            Some(Column {
                index: *index,
                heading: row.fields.get(*index).cloned(),
                unit_is_said: unit.is_some(),
                unit: unit.unwrap_or_else(|| Unit::plain(wanted)),
                holds,
                is_said: absolute.is_some(),
            })
        };
        let time = pick(Wanted::Time, true);
        let pressure = pick(Wanted::Pressure, true);
        let temperature = pick(Wanted::Temperature, false);
        match (time, pressure) {
            (Some(time), Some(pressure)) if faults.is_empty() => Ok(Self {
                rows_above: place + 1 + usize::from(units.is_some()),
                width: row.fields.len(),
                time,
                pressure,
                temperature,
                ignored,
            }),
            _ => Err((known, faults)),
        }
    }

    /// Seconds, gauge pressure in Pa, °C.
    fn unheaded(first: &Row) -> Result<Self, Vec<LogFault>> {
        let width = first.fields.len();
        if !(2..=3).contains(&width) {
            return Err(vec![fault(
                first.number,
                None,
                format!(
                    "has {width} columns and no headings; head them time, pressure and temperature. If the decimals are \
                     written with commas, separate the columns with semicolons"
                ),
            )]);
        }
        let column = |index: usize, wanted: Wanted, holds: Holds| Column {
            index,
            heading: None,
            unit: Unit::plain(wanted),
            holds,
            is_said: false,
            unit_is_said: false,
        };
        Ok(Self {
            rows_above: 0,
            width,
            time: column(0, Wanted::Time, Holds::Time),
            pressure: column(1, Wanted::Pressure, Holds::GaugePressure),
            temperature: (width == 3).then(|| column(2, Wanted::Temperature, Holds::Temperature)),
            ignored: Vec::new(),
        })
    }
}

/// Whether a row holds a time and a number at its beginning, as readings do.
fn looks_like_readings(row: &Row) -> bool {
    row.fields.first().is_some_and(|field| Instant::read(field, &mut None).is_ok())
        && row.fields.get(1).is_some_and(|field| number(field, &mut None).is_ok() || field.is_empty())
}

fn is_unit_row(row: &Row) -> bool {
    !row.is_blank()
        && row.fields.iter().filter(|field| !field.is_empty()).all(|field| Unit::named(field.trim_matches(['[', ']', '(', ')'])).is_some())
}

/// What stands for the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    Point,
    Comma,
}

impl Mark {
    fn words(self) -> &'static str {
        match self {
            Self::Point => "a decimal point",
            Self::Comma => "a decimal comma",
        }
    }
}

/// A number as people and loggers write it; `mark` remembers what stood for the decimals before.
fn number(field: &str, mark: &mut Option<Mark>) -> Result<f64, String> {
    if field.is_empty() {
        return Err("is empty; fill it in or delete the row".to_owned());
    }
    let no_number = || format!("\"{}\" is no number; correct it or delete the row", short(field));
    let plain = field.replace('−', "-");
    if !plain.bytes().all(|byte| byte.is_ascii_digit() || b"+-.,eE".contains(&byte)) {
        if plain.contains('\n') {
            return Err("has a quotation mark that is never closed".to_owned());
        }
        return Err(no_number());
    }
    let (points, commas) = (plain.matches('.').count(), plain.matches(',').count());
    let (stands, grouped) = match (points, commas) {
        (0, 0) => (None, None),
        (1, 0) => (Some(Mark::Point), None),
        (0, 1) => (Some(Mark::Comma), None),
        (0, _) => (None, Some(',')),
        (_, 0) => (None, Some('.')),
        (1, _) if plain.rfind('.') > plain.rfind(',') => (Some(Mark::Point), Some(',')),
        (_, 1) if plain.rfind(',') > plain.rfind('.') => (Some(Mark::Comma), Some('.')),
        _ => return Err(no_number()),
    };
    let mut digits = plain;
    if let Some(group) = grouped {
        let whole = digits.split(if group == ',' { '.' } else { ',' }).next().unwrap_or_default().to_owned();
        if whole.split(group).skip(1).any(|part| part.len() != 3 || !part.bytes().all(|byte| byte.is_ascii_digit())) {
            return Err(no_number());
        }
        digits = digits.replace(group, "");
    }
    if let Some(stands) = stands {
        let before = *mark.get_or_insert(stands);
        if before != stands {
            return Err(format!(
                "\"{}\" has {} where the rows before have {}; write all alike",
                short(field), stands.words(), before.words()
            ));
        }
    }
    digits.replace(',', ".").parse::<f64>().ok().filter(|value| value.is_finite()).ok_or_else(no_number)
}

/// A time as written: a count, or a time of day with or without its date.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Instant {
    Count(f64),
    OfDay(f64),
    Dated(f64),
}

/// Only differences count, so which of day and month comes first matters at midnight only.
const DATED: [&str; 7] = [
    "%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%dT%H:%M:%S%.fZ", "%Y/%m/%d %H:%M:%S%.f", "%d.%m.%Y %H:%M:%S%.f",
    "%d/%m/%Y %H:%M:%S%.f", "%m/%d/%Y %H:%M:%S%.f",
];

impl Instant {
    fn read(field: &str, mark: &mut Option<Mark>) -> Result<Self, String> {
        if !field.contains(':') {
            return number(field, mark).map(Self::Count);
        }
        let plain = field.replace(',', ".");
        if let Some(at) = DATED.iter().find_map(|form| NaiveDateTime::parse_from_str(&plain, form).ok()) {
            #[expect(clippy::cast_precision_loss, reason = "microseconds of our century fit 52 bits")]
            let micros = at.and_utc().timestamp_micros() as f64;
            return Ok(Self::Dated(micros / 1e6));
        }
        // Minutes and seconds alone count from the start.
        let whole = if plain.matches(':').count() == 1 { format!("00:{plain}") } else { plain };
        NaiveTime::parse_from_str(&whole, "%H:%M:%S%.f")
            .map(|at| Self::OfDay(f64::from(at.num_seconds_from_midnight()) + f64::from(at.nanosecond()) / 1e9))
            .map_err(|_| format!("\"{}\" is no time; write seconds, or hours:minutes:seconds", short(field)))
    }

    fn seconds(self, unit: &Unit) -> f64 {
        match self {
            Self::Count(count) => unit.to_si(count),
            Self::OfDay(seconds) | Self::Dated(seconds) => seconds,
        }
    }
}

/// A cell as a message shows it.
fn short(text: &str) -> String {
    let plain: String = text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).take(24).collect();
    if text.chars().count() > 24 { format!("{plain}…") } else { plain }
}

/// The rows below the headings.
struct Body<'t> {
    separator: u8,
    columns: Columns,
    rows: Rows<'t>,
}

impl Body<'_> {
    fn read(mut self, mut ahead: impl Iterator<Item = Row>) -> Result<PressureLog, Vec<LogFault>> {
        let mut faults: Vec<LogFault> = Vec::new();
        let mut readings: Vec<LoggedReading> = Vec::new();
        let mut mark = None;
        let mut start: Option<Instant> = None;
        let mut last: Option<f64> = None;
        let mut cold_rows: Vec<usize> = Vec::new();
        let mut warm_count = 0_usize;
        let mut last_row = 0;
        let mut row_count = 0_usize;
        while let Some(row) = ahead.next().or_else(|| self.rows.next_row()) {
            if faults.len() >= MOST_FAULTS {
                break;
            }
            last_row = row.number;
            row_count += 1;
            if row_count > MOST_READINGS {
                faults.push(fault(
                    row.number,
                    None,
                    format!("is one reading too many: a log holds at most {MOST_READINGS}; keep every tenth row, or cut the log"),
                ));
                break;
            }
            if let Some(message) = self.wrong_width(&row) {
                faults.push(fault(row.number, None, message));
                continue;
            }
            let cell = |column: &Column| row.fields.get(column.index).map_or("", String::as_str);
            let t_s = Instant::read(cell(&self.columns.time), &mut mark).and_then(|at| {
                let start = *start.get_or_insert(at);
                if std::mem::discriminant(&start) != std::mem::discriminant(&at) {
                    return Err(format!("\"{}\" is written otherwise than the times before", short(cell(&self.columns.time))));
                }
                let t_s = at.seconds(&self.columns.time.unit) - start.seconds(&self.columns.time.unit);
                match last.replace(t_s) {
                    Some(before) if t_s <= before => Err(format!(
                        "\"{}\" is not later than the row before; times must rise from row to row",
                        short(cell(&self.columns.time))
                    )),
                    _ => Ok(t_s),
                }
            });
            let pressure = number(cell(&self.columns.pressure), &mut mark).map(|value| self.columns.pressure.unit.to_si(value));
            let temperature = match &self.columns.temperature {
                Some(column) if !cell(column).is_empty() => {
                    warm_count += 1;
                    number(cell(column), &mut mark).map(|value| Some(column.unit.to_si(value)))
                }
                Some(_) => {
                    cold_rows.push(row.number);
                    Ok(None)
                }
                None => Ok(None),
            };
            let mut told = |column: Option<&Column>, message: String| {
                faults.push(fault(row.number, column.map(|column| column.index + 1), message));
            };
            match (t_s, pressure, temperature) {
                (Ok(t_s), Ok(pressure_pa), Ok(temperature_c)) => {
                    readings.push(LoggedReading { row: row.number, t_s, pressure_pa, temperature_c });
                }
                (t_s, pressure, temperature) => {
                    t_s.err().into_iter().for_each(|message| told(Some(&self.columns.time), message));
                    pressure.err().into_iter().for_each(|message| told(Some(&self.columns.pressure), message));
                    temperature.err().into_iter().for_each(|message| told(self.columns.temperature.as_ref(), message));
                }
            }
        }
        if warm_count > 0 {
            let column = self.columns.temperature.as_ref().map(|column| column.index + 1);
            let missing = cold_rows.iter().take(MOST_FAULTS.saturating_sub(faults.len()));
            faults.extend(missing.map(|row| fault(*row, column, "the temperature is missing; give it in every row, or leave the column out")));
        } else {
            self.columns.temperature = None;
        }
        if faults.is_empty() && readings.len() < FEWEST_READINGS {
            faults.push(fault(
                last_row.max(1),
                None,
                format!("the log ends after {} readings; give {FEWEST_READINGS} to {MOST_READINGS}", readings.len()),
            ));
        }
        let pressure = &self.columns.pressure;
        if faults.is_empty() && !pressure.is_said && readings.iter().all(|reading| reading.pressure_pa > MUST_BE_ABSOLUTE_PA) {
            faults.push(fault(
                readings.first().map_or(1, |reading| reading.row),
                Some(pressure.index + 1),
                "looks like absolute pressure: head the column \"absolute pressure\" and give the pressure of the room, or \
                 log the pressure over the room's",
            ));
        }
        if !faults.is_empty() {
            faults.sort_by_key(|fault| (fault.row, fault.column));
            return Err(faults);
        }
        Ok(PressureLog {
            as_read: self.as_read(mark, readings.len()),
            readings,
            pressure_unit_is_said: self.columns.pressure.unit_is_said,
        })
    }

    /// What is wrong with how many fields a row has.
    fn wrong_width(&self, row: &Row) -> Option<String> {
        let width = self.columns.width;
        let held = row.fields.iter().rposition(|field| !field.is_empty()).map_or(0, |last| last + 1);
        let needed = [Some(&self.columns.time), Some(&self.columns.pressure), self.columns.temperature.as_ref()]
            .into_iter()
            .flatten()
            .map(|column| column.index + 1)
            .max()
            .unwrap_or(0);
        if held <= width && row.fields.len() >= needed.min(width) {
            return None;
        }
        let other = SEPARATORS
            .iter()
            .find(|(byte, ..)| *byte != self.separator && row.fields.iter().any(|field| field.as_bytes().contains(byte)));
        let own = SEPARATORS.iter().find(|(byte, ..)| *byte == self.separator).map_or("commas", |(_, _, words)| *words);
        Some(match other {
            Some((_, _, words)) if held < width => {
                format!("is separated by {words} where the rows before are separated by {own}; use one separator in the whole file")
            }
            _ if self.separator == b',' && held > width => format!(
                "has {held} fields where {width} are expected; if the decimals are written with commas, separate the columns \
                 with semicolons"
            ),
            _ => format!("has {held} fields where {width} are expected; correct or delete the row"),
        })
    }

    fn as_read(&self, mark: Option<Mark>, reading_count: usize) -> LogAsRead {
        let columns = &self.columns;
        let told = |column: &Column| ReadColumn {
            number: column.index + 1,
            heading: column.heading.clone(),
            holds: column.holds,
            unit: column.unit.spelt.to_owned(),
        };
        LogAsRead {
            separator: SEPARATORS
                .iter()
                .find(|(byte, ..)| *byte == self.separator)
                .map_or_else(String::new, |(_, word, _)| (*word).to_owned()),
            decimal_mark: if mark == Some(Mark::Comma) { "comma" } else { "point" }.to_owned(),
            columns: [Some(&columns.time), Some(&columns.pressure), columns.temperature.as_ref()]
                .into_iter()
                .flatten()
                .map(told)
                .collect(),
            ignored_columns: columns.ignored.clone(),
            reading_count,
            blank_row_count: self.rows.blank_count,
        }
    }
}
