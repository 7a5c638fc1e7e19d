//! The first page of a new shop: works once, with the whole address that was printed.

use super::form::Form;
use super::instead::Instead;
use super::link::{secret_of, unknown};
use super::page;
use crate::pages::facts::{StartField, StartPage, StartedPage};
use crate::pages::{start_page, started_page};
use crate::state::Parts;
use actix_web::http::StatusCode;
use actix_web::web::{Data, Payload};
use actix_web::{HttpRequest, HttpResponse};
use acts::Halt;
use acts::shop::{NewPerson, NewShop, PASSWORD_AT_LEAST};
use trade::calculation::Fault;
use trade::words::stage::Role;

/// The fields of the form, each with its name as posted.
const FIELDS: [(&str, StartField); 7] = [
    ("shop_name", StartField::ShopName),
    ("time_zone", StartField::TimeZone),
    ("currency", StartField::Currency),
    ("name", StartField::Name),
    ("initials", StartField::Initials),
    ("email", StartField::Email),
    ("password", StartField::Password),
];

/// The secret of an address that still opens the page.
async fn open_secret(parts: &Parts, request: &HttpRequest) -> Result<String, Instead> {
    let used = |instead| match instead {
        Instead::TooMany => Instead::TooMany,
        _ => Instead::StartUsed,
    };
    let Some(secret) = secret_of(request) else { return Err(used(unknown(parts, request))) };
    if parts.acts.first_link_is_open(&secret).await? {
        Ok(secret)
    } else {
        Err(used(unknown(parts, request)))
    }
}

/// The page.
pub(super) async fn show(
    parts: Data<Parts>,
    request: HttpRequest,
) -> Result<HttpResponse, Instead> {
    let secret = open_secret(&parts, &request).await?;
    let empty = StartPage {
        action: format!("/start/{secret}"),
        password_at_least: PASSWORD_AT_LEAST,
        ..StartPage::default()
    };
    Ok(page(StatusCode::OK, start_page(&empty)))
}

/// Opens the shop.
pub(super) async fn open(
    parts: Data<Parts>,
    request: HttpRequest,
    payload: Payload,
) -> Result<HttpResponse, Instead> {
    // Before the password is hashed, which is slow on purpose: a wrong address costs nothing.
    let secret = open_secret(&parts, &request).await?;
    let action = format!("/start/{secret}");
    let form = Form::read(&request, payload).await?;
    let names = FIELDS.map(|(name, _)| name);
    if !form.holds_only(&names, &[]) {
        return Err(Instead::Unreadable { back: Some(action) });
    }
    let text = |name| form.typed(name).text.trim().to_owned();
    let mut again = StartPage {
        action,
        shop_name: text("shop_name"),
        time_zone: text("time_zone"),
        currency: text("currency").to_uppercase(),
        name: text("name"),
        initials: text("initials"),
        email: text("email"),
        password_at_least: PASSWORD_AT_LEAST,
        errors: FIELDS
            .iter()
            .filter(|(name, _)| form.typed(name).held_nul)
            .map(|(_, field)| {
                (
                    *field,
                    "It held a letter that cannot be kept. Please type it once more.".to_owned(),
                )
            })
            .collect(),
    };
    if !again.errors.is_empty() {
        return Ok(page(StatusCode::UNPROCESSABLE_ENTITY, start_page(&again)));
    }
    let new = NewShop {
        name: again.shop_name.clone(),
        time_zone: again.time_zone.clone(),
        currency: again.currency.clone(),
        proprietor: NewPerson {
            name: again.name.clone(),
            initials: again.initials.clone(),
            email: again.email.clone(),
            // A shop begins with one person, who does everything in it.
            roles: vec![Role::FrontDesk, Role::Technician, Role::Proprietor],
            password: Some(form.one("password").to_owned()),
            ..NewPerson::default()
        },
    };
    match parts.acts.open_first_shop(&secret, new).await {
        Ok(person) => {
            let facts = StartedPage {
                shop_name: again.shop_name,
                email: person.email,
                sign_in_url: "/".to_owned(),
            };
            Ok(page(StatusCode::OK, started_page(&facts)))
        }
        Err(Halt::Invalid(faults)) => {
            again.errors = errors(&faults);
            Ok(page(StatusCode::UNPROCESSABLE_ENTITY, start_page(&again)))
        }
        // Somebody was faster with the same address.
        Err(Halt::Absent) => Err(Instead::StartUsed),
        Err(other) => Err(other.into()),
    }
}

/// What is wrong, each at its field; one sentence a field.
fn errors(faults: &[Fault]) -> Vec<(StartField, String)> {
    let mut errors: Vec<(StartField, String)> = Vec::new();
    for fault in faults {
        let name = fault.pointer.trim_start_matches('/');
        let Some((_, field)) = FIELDS.iter().find(|(own, _)| *own == name) else { continue };
        if errors.iter().any(|(own, _)| own == field) {
            continue;
        }
        let words = if fault.message == "must say something" {
            "Please fill this in.".to_owned()
        } else {
            format!("This {}.", fault.message.trim_end_matches('.'))
        };
        errors.push((*field, words));
    }
    errors
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_field_is_told_once_and_in_a_sentence() {
        let fault = |pointer: &str, message: &str| Fault {
            pointer: pointer.into(),
            message: message.into(),
        };
        let faults = [
            fault("/email", "must say something"),
            fault("/email", "is no e-mail address; it looks like name@place.example"),
            fault("/currency", "is no currency code of ISO 4217, such as EUR"),
        ];
        assert_eq!(
            errors(&faults),
            [
                (StartField::Email, "Please fill this in.".to_owned()),
                (
                    StartField::Currency,
                    "This is no currency code of ISO 4217, such as EUR.".to_owned()
                ),
            ]
        );
    }
}
