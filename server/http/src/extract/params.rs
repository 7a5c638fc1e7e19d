//! Ids in a path and named parameters in a query, both strict.

use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use serde::de::DeserializeOwned;
use std::future::{Ready, ready};
use uuid::Uuid;

/// The `{id}` of a path.
#[derive(Debug, Clone, Copy)]
pub struct Id(pub Uuid);

impl FromRequest for Id {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let id = request.match_info().get("id").and_then(|text| Uuid::parse_str(text).ok());
        ready(id.map(Self).ok_or_else(|| Problem::new(Kind::Absent)))
    }
}

/// The named parameters of a query; an unknown one is refused.
#[derive(Debug, Clone, Copy)]
pub struct Params<T>(pub T);

impl<T: DeserializeOwned> FromRequest for Params<T> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        if request.query_string().contains("%00") {
            return ready(Err(Problem::new(Kind::InvalidInput).at("", "holds a NUL letter; leave it out")));
        }
        let read = actix_web::web::Query::<T>::from_query(request.query_string());
        ready(read.map(|query| Self(query.into_inner())).map_err(|error| {
            let said = error.to_string();
            let name = said.split('`').nth(1).unwrap_or("").to_owned();
            Problem::new(Kind::InvalidInput).at(name, said)
        }))
    }
}
