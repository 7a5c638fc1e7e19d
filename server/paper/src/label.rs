//! The label of 62 × 100 mm: what hangs on the case. It carries nothing of the customer's link.

use crate::facts::Visit;
use crate::frame::{brief_day, cut, page, tick};
use crate::sheets::Sheet;
use crate::square::{Square, TooLong};
use maud::html;
use trade::words::said::one_line;

/// The label of a visit. `staff_address` is the order's own address for staff.
///
/// # Errors
/// [`TooLong`] where the address fits no square.
pub fn label_page(visit: &Visit, staff_address: &str) -> Result<String, TooLong> {
    let square = Square::of(staff_address)?;
    let planned = brief_day(visit.promised_on, visit.today);
    let details = visit.details();
    Ok(page(
        Sheet::Label,
        &format!("Label {}", visit.claim_number),
        html! {
            main {
                p.n { (visit.claim_number) }
                div.top {
                    div {
                        p.k.cut2 { (cut(&visit.heading(), 60)) }
                        @if !details.is_empty() { p.cut2 { (cut(&details, 60)) } }
                        p.k.cut1 { bdi { (one_line(&visit.customer)) } }
                    }
                    (square.svg(25, "The order’s page for staff"))
                }
                div.box {
                    p.(if visit.keep_as_is.is_some() { "cut4" } else { "cut6" }) { "“" bdi { (cut(&visit.complaint, if visit.keep_as_is.is_some() { 130 } else { 190 })) } "”" }
                    @if let Some(keep) = &visit.keep_as_is { p.cut2 { b { "Keep as it is: " } bdi { (cut(keep, 60)) } } }
                }
                p.cut2 {
                    @if visit.came_with.is_empty() { "Nothing came with it." }
                    @for thing in &visit.came_with { (tick()) " " bdi { (cut(thing, 30)) } " \u{a0}" }
                }
                p.due { "Promised" b.long[planned.len() > 10] { (planned) } }
                p.f.cut1 {
                    "may cost " b { (visit.may_cost_words()) } " · in " (visit.came_on.format("%-d %b"))
                    @if let Some(place) = &visit.place { " · " bdi { (one_line(place)) } }
                }
            }
        },
    ))
}
