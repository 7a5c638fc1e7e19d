//! The page on which somebody of the staff chooses a password: works once, with the whole address
//! that was mailed.

use super::form::Form;
use super::instead::Instead;
use super::link::{secret_of, unknown};
use super::page;
use crate::pages::{PasswordPage, password_chosen_page, password_page};
use crate::state::Parts;
use actix_web::http::StatusCode;
use actix_web::web::{Data, Payload};
use actix_web::{HttpRequest, HttpResponse};
use acts::Halt;
use acts::passwords::PasswordFor;
use acts::shop::{PASSWORD_AT_LEAST, PASSWORD_AT_MOST};
use trade::calculation::Fault;

/// The secret of an address that still opens the page, and for whom it is.
async fn opened(parts: &Parts, request: &HttpRequest) -> Result<(String, PasswordFor), Instead> {
    let used = || match unknown(parts, request) {
        Instead::TooMany => Instead::TooMany,
        _ => Instead::PasswordUsed,
    };
    let Some(secret) = secret_of(request) else { return Err(used()) };
    let known = parts.acts.password_link(&secret).await?.ok_or_else(used)?;
    Ok((secret, known))
}

fn shown(secret: &str, known: &PasswordFor) -> PasswordPage {
    PasswordPage {
        action: format!("/password/{secret}"),
        is_invitation: known.is_invitation,
        name: known.name.clone(),
        email: known.email.clone(),
        shop_name: known.shop_name.clone(),
        at_least: PASSWORD_AT_LEAST,
        at_most: PASSWORD_AT_MOST,
        name_error: None,
        password_error: None,
    }
}

/// The page.
pub(super) async fn show(parts: Data<Parts>, request: HttpRequest) -> Result<HttpResponse, Instead> {
    let (secret, known) = opened(&parts, &request).await?;
    Ok(page(StatusCode::OK, password_page(&shown(&secret, &known))))
}

/// Keeps the password.
pub(super) async fn choose(parts: Data<Parts>, request: HttpRequest, payload: Payload) -> Result<HttpResponse, Instead> {
    // Before the password is hashed, which is slow on purpose: a wrong address costs nothing.
    let (secret, known) = opened(&parts, &request).await?;
    let mut again = shown(&secret, &known);
    let form = Form::read(&request, payload).await?;
    if !form.holds_only(&["name", "email", "password"], &[]) {
        return Err(Instead::Unreadable { back: Some(again.action) });
    }
    let (name, password) = (form.typed("name"), form.one("password").to_owned());
    if known.is_invitation {
        name.text.trim().clone_into(&mut again.name);
    }
    let nul = || Some("It held a letter that cannot be kept. Please type it once more.".to_owned());
    again.name_error = nul().filter(|_| name.held_nul);
    again.password_error = nul().filter(|_| password.contains('\0'));
    if again.name_error.is_some() || again.password_error.is_some() {
        return Ok(page(StatusCode::UNPROCESSABLE_ENTITY, password_page(&again)));
    }
    let name = known.is_invitation.then(|| again.name.clone());
    match parts.acts.choose_password(&secret, name, password).await {
        Ok(chosen) => {
            parts.look_for_ended().await?;
            Ok(page(StatusCode::OK, password_chosen_page(&chosen.shop_name, &chosen.email)))
        }
        Err(Halt::Invalid(faults)) => {
            again.name_error = told(&faults, "/name");
            again.password_error = told(&faults, "/password");
            Ok(page(StatusCode::UNPROCESSABLE_ENTITY, password_page(&again)))
        }
        // Somebody was faster with the same address.
        Err(Halt::Absent) => Err(Instead::PasswordUsed),
        Err(other) => Err(other.into()),
    }
}

/// What is wrong with a field, in a sentence.
fn told(faults: &[Fault], pointer: &str) -> Option<String> {
    let fault = faults.iter().find(|fault| fault.pointer == pointer)?;
    Some(if fault.message == "must say something" {
        "Please fill this in.".to_owned()
    } else {
        format!("This {}.", fault.message.trim_end_matches('.'))
    })
}
