//! A pressure test as JSON, or the logger's file itself as CSV.

use super::body::{Held, MOST_WITH_LOG, all_of, aside, media_type, read_aside, too_large};
use super::{Body, Params};
use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use serde::Deserialize;
use std::future::Future;
use std::pin::Pin;
use trade::bench::pressure_log::{MOST_READINGS, text_of};
use trade::bench::pressure_test::PressureTest;
use utoipa::IntoParams;

/// What a file cannot say of itself; for JSON it stands in the body.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct BesideLog {
    /// With a CSV body: measured air space, m³.
    volume_m3: Option<f64>,
    /// With a CSV body: pressure of the room, Pa.
    atmosphere_pa: Option<f64>,
}

/// A pressure test to be computed.
#[derive(Debug)]
pub struct PressureBody(pub PressureTest);

impl FromRequest for PressureBody {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = media_type(request);
        let beside = Params::<BesideLog>::from_request(request, &mut Payload::None).into_inner();
        let payload = payload.take();
        Box::pin(async move {
            let beside = beside?.0;
            let held = all_of(payload, MOST_WITH_LOG).await?;
            if kind == "text/csv" { of_file(held, beside).await } else { of_json(held, &kind, &beside).await }.map(Self)
        })
    }
}

/// The logger's file itself.
async fn of_file(held: Held, beside: BesideLog) -> Result<PressureTest, Problem> {
    let BesideLog { volume_m3, atmosphere_pa } = beside;
    let csv = match held {
        Held::All(bytes) => aside(move || text_of(&bytes)).await?,
        Held::Beginning(bytes) => certainly_too_long(aside(move || Some(text_of(&bytes))).await?)?,
    };
    Ok(PressureTest { csv: Some(csv), volume_m3, atmosphere_pa, ..PressureTest::default() })
}

async fn of_json(held: Held, kind: &str, beside: &BesideLog) -> Result<PressureTest, Problem> {
    let bytes = match held {
        Held::All(bytes) => bytes,
        Held::Beginning(bytes) => {
            let csv = certainly_too_long(aside(move || csv_of_beginning(&bytes)).await?)?;
            return Ok(PressureTest { csv: Some(csv), ..PressureTest::default() });
        }
    };
    if kind != "application/json" {
        return Err(Problem::new(Kind::WrongType).saying("Send JSON as application/json, or the logger's file as text/csv."));
    }
    for (given, name) in [(beside.volume_m3, "volume_m3"), (beside.atmosphere_pa, "atmosphere_pa")] {
        if given.is_some() {
            return Err(Problem::new(Kind::InvalidInput).at(name, "belongs to a CSV body; give it in the JSON"));
        }
    }
    let body: Body<PressureTest, MOST_WITH_LOG> = read_aside(bytes).await?;
    Ok(body.value)
}

/// Of a log a thousand times too long the beginning says in which row it is too long: it stands for
/// the whole where that is certain.
fn certainly_too_long(beginning: Option<String>) -> Result<String, Problem> {
    beginning.filter(|text| is_too_long(text)).ok_or_else(|| too_large(MOST_WITH_LOG))
}

/// Rows above the readings that a logger writes of itself.
const ROWS_OF_ITS_OWN: usize = 40;

/// Whether the beginning of a log is certain to be refused for its length: its reader then says in
/// which row. Whatever is shorter must not be taken for the whole log.
fn is_too_long(beginning: &str) -> bool {
    let rows = beginning.split(['\n', '\r']).filter(|row| row.bytes().any(|byte| byte.is_ascii_digit()));
    rows.take(MOST_READINGS + ROWS_OF_ITS_OWN + 1).count() > MOST_READINGS + ROWS_OF_ITS_OWN
}

/// The whole rows of the log in a JSON body that breaks off.
fn csv_of_beginning(bytes: &[u8]) -> Option<String> {
    const NAME: &[u8] = b"\"csv\"";
    let behind = bytes.windows(NAME.len()).position(|window| window == NAME)? + NAME.len();
    let value = bytes.get(behind..)?.trim_ascii_start().strip_prefix(b":")?.trim_ascii_start();
    let end = value.windows(2).rposition(|pair| pair == b"\\n")?;
    let text = [value.get(..end)?, b"\""].concat();
    serde_json::from_slice(&text).ok()
}

#[cfg(test)]
mod tests {
    use super::{ROWS_OF_ITS_OWN, csv_of_beginning, is_too_long};
    use trade::bench::pressure_log::{MOST_READINGS, read};

    fn log(rows: usize) -> String {
        (0..rows).fold("t,p\n".to_owned(), |text, row| text + &format!("{row},3000\n"))
    }

    #[test]
    fn the_rows_of_a_body_that_breaks_off_are_read_as_far_as_they_are_whole() {
        let told = csv_of_beginning(br#"{"volume_m3":0.002,"csv" : "t,p\n0,3000\n1,3000\n2,30"#);
        assert_eq!(told.as_deref(), Some("t,p\n0,3000\n1,3000"));
        assert_eq!(csv_of_beginning(br#"{"readings":[{"t_s":0"#), None);
        assert_eq!(csv_of_beginning(br#"{"csv":"t,p"#), None);
    }

    #[test]
    fn only_a_beginning_that_is_refused_for_its_length_stands_for_the_whole() {
        let long = MOST_READINGS + ROWS_OF_ITS_OWN;
        assert!(!is_too_long(&log(long)));
        assert!(is_too_long(&log(long + 1)));
        assert!(read(&log(long + 1)).is_err());
        // Rows without anything are passed over by the reader, so they say nothing.
        assert!(!is_too_long(&log(9).replace('\n', &"\n".repeat(20_000))));
    }
}
