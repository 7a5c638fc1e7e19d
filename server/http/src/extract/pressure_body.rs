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
            if kind == "text/csv" {
                // Of a file a thousand times too long the beginning says in which row it is too long.
                let (bytes, is_whole) = match held {
                    Held::All(bytes) => (bytes, true),
                    Held::Beginning(bytes) => (bytes, false),
                };
                if !is_whole && bytes.iter().filter(|byte| **byte == b'\n').count() <= MOST_READINGS + 1 {
                    return Err(too_large(MOST_WITH_LOG));
                }
                let text = aside(move || text_of(&bytes)).await?;
                return Ok(Self(PressureTest {
                    csv: Some(text),
                    volume_m3: beside.volume_m3,
                    atmosphere_pa: beside.atmosphere_pa,
                    ..PressureTest::default()
                }));
            }
            let Held::All(bytes) = held else { return Err(too_large(MOST_WITH_LOG)) };
            if kind != "application/json" {
                return Err(Problem::new(Kind::WrongType).saying("Send JSON as application/json, or the logger's file as text/csv."));
            }
            for (given, name) in [(beside.volume_m3, "volume_m3"), (beside.atmosphere_pa, "atmosphere_pa")] {
                if given.is_some() {
                    return Err(Problem::new(Kind::InvalidInput).at(name, "belongs to a CSV body; give it in the JSON"));
                }
            }
            let body: Body<PressureTest, MOST_WITH_LOG> = read_aside(bytes).await?;
            Ok(Self(body.value))
        })
    }
}
