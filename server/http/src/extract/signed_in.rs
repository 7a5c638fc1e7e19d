//! Who is signed in.

use crate::problem::{Kind, Problem};
use crate::state::Parts;
use crate::tokens::Claims;
use acts::Actor;
use actix_web::dev::Payload;
use actix_web::http::header::AUTHORIZATION;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use std::future::{Ready, ready};

/// A staff member with a token of now.
#[derive(Debug, Clone)]
pub struct SignedIn {
    /// Who asks.
    pub actor: Actor,
    /// What the token says.
    pub claims: Claims,
}

impl FromRequest for SignedIn {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let token = request
            .headers()
            .get(AUTHORIZATION)
            .and_then(|value| value.to_str().ok())
            .and_then(|value| value.strip_prefix("Bearer ").or_else(|| value.strip_prefix("bearer ")));
        let claims = request
            .app_data::<Data<Parts>>()
            .zip(token)
            .and_then(|(parts, token)| parts.keys.read(token.trim()).filter(|claims| !parts.is_ended(claims.sid)));
        ready(claims.ok_or_else(|| Problem::new(Kind::NotSignedIn)).map(|claims| Self {
            actor: Actor::staff(claims.shop, claims.sub, &claims.name, claims.roles.clone()),
            claims,
        }))
    }
}
