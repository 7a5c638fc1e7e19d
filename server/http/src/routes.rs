//! Every route in one place: the whole API can be read here in a minute.

use crate::extract::SignedIn;
use crate::problem::{Kind, Problem};
use crate::staff::{board, calculations, customers, evening, events, findings, fit_checks, forecast, instruments, letters, methods, operations, papers, part_maps, people, photos, plans, quotes, ring_list, sessions, shop, tests, work_orders};
use crate::{customer_pages, health, openapi, staff_client};
use actix_web::body::MessageBody;
use actix_web::dev::{HttpServiceFactory, Payload, ServiceRequest, ServiceResponse};
use actix_web::middleware::{DefaultHeaders, Next, from_fn};
use actix_web::web::{self, ServiceConfig};
use actix_web::{FromRequest, HttpRequest, HttpResponse, ResponseError};
use utoipa_actix_web::OpenApiFactory;
use utoipa_actix_web::service_config::ServiceConfig as Documented;

/// Where endpoints are put: into a server, or into the document too.
pub trait Endpoints {
    /// Adds one endpoint.
    fn service(&mut self, endpoint: impl HttpServiceFactory + OpenApiFactory + 'static) -> &mut Self;
}

impl Endpoints for ServiceConfig {
    fn service(&mut self, endpoint: impl HttpServiceFactory + OpenApiFactory + 'static) -> &mut Self {
        Self::service(self, endpoint)
    }
}

impl Endpoints for Documented<'_> {
    fn service(&mut self, endpoint: impl HttpServiceFactory + OpenApiFactory + 'static) -> &mut Self {
        Self::service(self, endpoint)
    }
}

/// The staff API, below `/api/v1`.
pub fn api(config: &mut impl Endpoints) {
    // Looked through from the top for each request: what is asked for most comes first.
    config
        .service(board::read)
        .service(work_orders::read)
        .service(events::follow)
        .service(sessions::sign_in)
        .service(sessions::refresh)
        .service(sessions::forgotten_password)
        .service(sessions::change_password)
        .service(sessions::current)
        .service(sessions::sign_out)
        .service(sessions::list)
        .service(sessions::end)
        .service(people::list)
        .service(people::add)
        .service(people::read)
        .service(people::amend)
        .service(people::invite)
        .service(shop::read)
        .service(shop::amend)
        .service(shop::families)
        .service(part_maps::family_part_map)
        .service(plans::bench)
        .service(plans::set_bench)
        .service(methods::methods)
        .service(methods::add_method)
        .service(methods::amend_method)
        .service(shop::places)
        .service(customers::list)
        .service(customers::add)
        .service(customers::read)
        .service(customers::amend)
        .service(instruments::list)
        .service(instruments::add)
        .service(instruments::history)
        .service(part_maps::part_map)
        .service(part_maps::amend_part_map)
        .service(part_maps::replace_part_map)
        .service(instruments::read)
        .service(instruments::amend)
        .service(work_orders::check_in)
        .service(work_orders::list)
        .service(work_orders::stage_changes)
        .service(work_orders::change_stage)
        .service(work_orders::claim)
        .service(work_orders::give_back)
        .service(work_orders::end)
        .service(work_orders::take_ending_back)
        .service(work_orders::confirm_ending)
        .service(work_orders::done_at_counter)
        .service(tests::list)
        .service(tests::preview)
        .service(tests::record)
        .service(fit_checks::list)
        .service(fit_checks::preview)
        .service(fit_checks::record)
        .service(work_orders::hand_over)
        .service(work_orders::pay)
        .service(work_orders::strike_payment)
        .service(work_orders::note)
        .service(work_orders::hold)
        .service(work_orders::lift)
        .service(work_orders::links)
        .service(work_orders::issue_link)
        .service(work_orders::withdraw_link)
        .service(papers::tag)
        .service(papers::receipt)
        .service(work_orders::amend)
        .service(part_maps::order_map)
        .service(plans::plan)
        .service(plans::fix_plan)
        .service(plans::choose_way)
        .service(findings::record)
        .service(findings::read)
        .service(findings::amend)
        .service(photos::of_order)
        .service(photos::add)
        .service(photos::picture)
        .service(photos::read)
        .service(photos::amend)
        .service(operations::add)
        .service(operations::read)
        .service(operations::amend)
        .service(operations::claim)
        .service(operations::give_back)
        .service(operations::time)
        .service(quotes::draft)
        .service(quotes::read)
        .service(quotes::replace)
        .service(quotes::strike)
        .service(quotes::send)
        .service(quotes::decide)
        .service(quotes::dispute)
        .service(letters::of_order)
        .service(letters::read)
        .service(letters::send_again)
        .service(ring_list::read)
        .service(ring_list::calls)
        .service(ring_list::note)
        .service(ring_list::strike)
        .service(evening::read)
        .service(evening::look)
        .service(forecast::read)
        .service(forecast::of_new)
        .service(calculations::compute);
}

/// Everything: the API, the customers' pages, the staff client, health.
pub fn all(config: &mut ServiceConfig) {
    let api_scope = web::scope("/api/v1")
        .wrap(from_fn(refuse_unknown_parameters))
        .wrap(DefaultHeaders::new().add(("X-Content-Type-Options", "nosniff")).add(("Referrer-Policy", "no-referrer")))
        // Each worker needs the routes; the document is collected once, when it is asked for.
        .configure(api)
        .route("/openapi.json", web::get().to(openapi::serve))
        .default_service(web::to(absent));
    config
        .service(api_scope)
        .configure(customer_pages::routes)
        .configure(papers::sheets)
        .configure(health::routes)
        .configure(staff_client::routes)
        .default_service(web::to(absent));
}

/// Refuses a query parameter that the document does not know for this request. Most handlers
/// take none and never look at the query.
async fn refuse_unknown_parameters(
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, actix_web::Error> {
    let asked = request.query_string();
    if !asked.is_empty()
        && let Some((known, signed_in)) = openapi::parameters_of(request.method().as_str(), request.path())
    {
        let mut problem = Problem::new(Kind::InvalidInput);
        let mut fits = true;
        for name in form_urlencoded::parse(asked.as_bytes()).map(|(name, _)| name).filter(|name| !known.contains(&name.as_ref())) {
            fits = false;
            problem = problem.at(name, "is no parameter of this address; leave it out");
        }
        if !fits {
            // Whoever is not signed in is told that, and nothing of the parameters.
            let who = SignedIn::from_request(request.request(), &mut Payload::None).await;
            let problem = who.err().filter(|_| signed_in).unwrap_or(problem);
            return Ok(request.into_response(problem.error_response()).map_into_right_body());
        }
    }
    Ok(next.call(request).await?.map_into_left_body())
}

/// An address that knows nothing, or not this method, in our own words.
async fn absent(request: HttpRequest) -> HttpResponse {
    let known = openapi::methods_of(request.path());
    if known.is_empty() {
        return Problem::new(Kind::Absent).saying("There is no such address.").error_response();
    }
    let mut answer = Problem::new(Kind::WrongMethod).saying(format!("This address knows {}.", known.join(", "))).error_response();
    if let Ok(allow) = known.join(", ").parse() {
        answer.headers_mut().insert(actix_web::http::header::ALLOW, allow);
    }
    answer
}
