//! The tag of A6: the shop's half hangs on the instrument, the stub is the customer's half.

use crate::facts::{OwnPage, Shop};
use crate::frame::{cut, page, tick};
use crate::sheets::Sheet;
use crate::square::{Square, TooLong};
use maud::html;
use trade::words::said::{capital, one_line};

/// The tag of a visit. The upper square is the order's address for staff, the one on the stub the
/// customer's own page.
///
/// # Errors
/// [`TooLong`] where an address fits no square.
pub fn tag_page(shop: &Shop, own: &OwnPage, staff_address: &str) -> Result<String, TooLong> {
    let OwnPage { visit, address } = own;
    let staff = Square::of(staff_address)?;
    let customers = Square::of(address)?;
    let details = visit.details();
    let saw = visit.marks.iter().map(|mark| one_line(mark)).chain(visit.condition.as_deref().map(one_line)).collect::<Vec<_>>().join("; ");
    Ok(page(
        Sheet::Tag,
        &format!("Tag {}", visit.claim_number),
        html! {
            main {
                section.body {
                    svg.out viewBox="0 0 105 104" aria-hidden="true" {
                        path d="M20 1H85L104 20V104M1 104V20L20 1" {}
                        circle cx="52.5" cy="8.5" r="3" {}
                        circle.hole cx="52.5" cy="8.5" r="5" {}
                    }
                    p.n { (visit.claim_number) }
                    div.g {
                        div {
                            p.k.cut2 { (cut(&visit.heading(), 60)) }
                            @if !details.is_empty() { p.cut1 { (cut(&details, 60)) } }
                            p.k.who.cut1 { bdi { (one_line(&visit.customer)) } }
                        }
                        (staff.svg(25, "The order’s page for staff"))
                    }
                    p.cut1 { "Promised " b.no { (visit.planned_day()) } " · may cost " b.no { (visit.may_cost_words()) } }
                    // The edge is around the cut lines: a line that is cut would show in the padding.
                    div.box { p.(if visit.keep_as_is.is_some() { "cut2" } else { "cut3" }) { "“" bdi { (cut(&visit.complaint, 170)) } "”" } }
                    @if let Some(keep) = &visit.keep_as_is { p.keep.cut2 { b { "Keep as it is: " } bdi { (cut(keep, 110)) } } }
                    p.with.cut1 {
                        @if visit.came_with.is_empty() { "Nothing came with it." }
                        @for thing in &visit.came_with { (tick()) " " bdi { (cut(thing, 30)) } " \u{a0}" }
                    }
                    @if !saw.is_empty() { p.saw.(if visit.keep_as_is.is_some() { "cut1" } else { "cut2" }) { "At the counter: " bdi { (cut(&saw, 120)) } } }
                    table {
                        thead { tr { th { "found" } th { "done" } th { "who" } th { "min" } } }
                        tbody { @for _ in 0..3 { tr { td {} td {} td {} td {} } } }
                    }
                }
                section.stub {
                    div {
                        p.k.cut2 { span.no { (visit.claim_number) } " " (capital(visit.family.words())) }
                        @if !visit.numbers().is_empty() { p.cut1 { (cut(&visit.numbers().join(" · "), 50)) } }
                        p.cut2 { bdi { (one_line(&shop.name)) } @if let Some(phone) = &shop.phone { " · " span.no { (one_line(phone)) } } }
                        p { "Planned for " b.no { (visit.planned_day()) } ". Bring this half, or identification." }
                        small { "The square opens your own status page. Whoever has it can read it." }
                    }
                    (customers.svg(34, "Your own status page"))
                }
            }
        },
    ))
}
