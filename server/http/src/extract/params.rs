//! Ids in a path and named parameters in a query, both strict.

use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use serde::de::DeserializeOwned;
use std::future::{Ready, ready};
use uuid::Uuid;

/// The most letters that a parameter holds.
const LONGEST: usize = 4000;

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
        ready(read(request.query_string()).map(Self))
    }
}

fn read<T: DeserializeOwned>(query: &str) -> Result<T, Problem> {
    let invalid = || Problem::new(Kind::InvalidInput);
    let mut names: Vec<String> = Vec::new();
    for (name, value) in form_urlencoded::parse(query.as_bytes()) {
        if value.contains('\0') {
            return Err(invalid().at(name, "holds a NUL letter; leave it out"));
        }
        if value.contains(char::REPLACEMENT_CHARACTER) {
            return Err(invalid().at(name, "is not UTF-8"));
        }
        if value.chars().count() > LONGEST {
            return Err(invalid().at(name, format!("is longer than {LONGEST} letters; shorten it")));
        }
        if names.iter().any(|known| *known == name) {
            return Err(invalid().at(name, "is given twice; leave one out"));
        }
        names.push(name.into_owned());
    }
    let pairs = serde_urlencoded::Deserializer::new(form_urlencoded::parse(query.as_bytes()));
    serde_path_to_error::deserialize(pairs).map_err(|error| {
        let said = error.inner().to_string();
        let of_field = said.strip_prefix("missing field").or_else(|| said.strip_prefix("unknown field"));
        match of_field.and_then(|rest| rest.split('`').nth(1)) {
            Some(name) if said.starts_with("missing") => invalid().at(name, "is missing"),
            Some(name) => invalid().at(name, "is no parameter of this address; leave it out"),
            None => invalid().at(error.path().to_string(), "cannot be read as what this parameter is"),
        }
    })
}
