//! The receipt: what was left, what was said, what was seen, when and for how much. One paper for
//! everything that was brought at one time.

use crate::facts::{Hears, OwnPage, Shop, Visit};
use crate::frame::page;
use crate::sheets::Sheet;
use crate::square::{Square, TooLong};
use maud::{Markup, PreEscaped, html};
use trade::words::instrument::Family;
use trade::words::said::{capital, count, list, long_date, one_line};

/// The receipt of these visits, at least one, all of one customer. Printed on another day than that
/// on which it came, it says so.
///
/// # Errors
/// [`TooLong`] where an address fits no square.
pub fn receipt_page(sheet: Sheet, shop: &Shop, own: &[OwnPage]) -> Result<String, TooLong> {
    let Some(first) = own.first().map(|own| &own.visit) else { return Err(TooLong) };
    let is_one = own.len() == 1;
    let visits = own.iter().map(|own| visit(own, is_one)).collect::<Result<Vec<_>, _>>()?;
    let mut terms: Vec<&str> = own.iter().map(|own| own.visit.terms.trim()).filter(|terms| !terms.is_empty()).collect();
    terms.dedup();
    let title = if is_one { format!("Receipt {}", first.claim_number) } else { format!("Receipt, {} instruments", own.len()) };
    Ok(page(
        sheet,
        &title,
        html! {
            main {
                header.hd {
                    div { b { bdi { (one_line(&shop.name)) } } br; (shop.reached()) }
                    div.r {
                        @if is_one { b { (first.claim_number) } } @else { b { (own.len()) " instruments" } }
                        br; (first.came_at)
                    }
                }
                h1 {
                    "We have " (if first.owner.is_some() { "the" } else { "your" }) " "
                    @if is_one { (first.family.words()) } @else { (count(own.len())) " instruments" }
                }
                p { "Left by " b { bdi { (one_line(&first.customer)) } } @if let Some(owner) = &first.owner { "; decides and pays: " b { bdi { (one_line(owner)) } } } "." }
                div.several[!is_one].one[is_one] { @for visit in visits { (visit) } }
                @if !is_one {
                    div {
                        p { "Each square opens the status page of its instrument. Anyone who has it can read it, so keep this sheet like a cloakroom ticket." }
                        (to_collect())
                    }
                }
                @if !terms.is_empty() {
                    section.terms {
                        h2 { "The shop’s terms" }
                        @for terms in terms { p.words { (terms) } }
                    }
                }
                div.sign {
                    p { "customer: so it was left with you" }
                    p { "for the shop" }
                }
                p.end {
                    "This paper says what was left with the shop. It is not a tax invoice."
                    @if first.today != first.came_on { " Printed again on " (long_date(first.today, first.came_on)) ", with the order as it stood that day." }
                }
            }
        },
    ))
}

fn visit(own: &OwnPage, is_one: bool) -> Result<Markup, TooLong> {
    let OwnPage { visit, address } = own;
    let square = Square::of(address)?;
    let numbers = visit.details();
    Ok(html! {
        section.visit {
            div.col {
                section {
                    h2 { @if is_one { "Left with us" } @else { (visit.claim_number) " · left with us" } }
                    p { b { (visit.heading()) } @if !numbers.is_empty() { br; (numbers) } }
                    p {
                        @if visit.came_with.is_empty() { "Nothing came with it." }
                        @else { (capital(&list(&visit.came_with.iter().map(|thing| one_line(thing)).collect::<Vec<_>>()))) }
                    }
                    @let absent = not_with_it(visit);
                    @if !absent.is_empty() { p { b { "Not with it: " } (absent.join(", ")) } }
                }
                section { h2 { "You said" } p.words { bdi { (visit.complaint.trim()) } } }
                @if let Some(keep) = &visit.keep_as_is { section { h2 { "Keep as it is" } p.words { bdi { (keep.trim()) } } } }
            }
            div.col {
                section {
                    h2 { "At the counter we saw" }
                    @if let Some(drawing) = &visit.drawing { (drawn(drawing)) }
                    @if visit.marks.is_empty() && visit.condition.is_none() { p { "Nothing to note." } }
                    @if !visit.marks.is_empty() { p { (visit.marks.iter().map(|mark| one_line(mark)).collect::<Vec<_>>().join("; ")) } }
                    @if let Some(condition) = &visit.condition { p.words { bdi { (condition.trim()) } } }
                }
            }
            div.col {
                section {
                    h2 { "Planned for" }
                    p { b { (long_date(visit.promised_on, visit.today)) "." } " " (hears(&visit.hears)) }
                }
                @if visit.old_parts_back || visit.loaner_number.is_some() {
                    section {
                        h2 { "Also" }
                        @if visit.old_parts_back { p { "You want the old parts back." } }
                        @if let Some(number) = &visit.loaner_number { p { "You have our loaner no. " b { bdi { (one_line(number)) } } "; please bring it when you collect." } }
                    }
                }
            }
            div.col {
                section {
                    h2 { "May cost, without asking" }
                    p {
                        @match &visit.may_cost {
                            Some(amount) => { "Up to " b.no { (amount.said()) } ". Anything beyond that, we ask first." }
                            None => { b { "We ask first." } " Nothing is repaired before the answer." }
                        }
                    }
                    @if let Some(fee) = &visit.examination_fee {
                        p { "Examination " b.no { (fee.said()) } ": charged if the repair is declined, counted toward it otherwise." }
                    }
                    @if let Some(deposit) = &visit.deposit { p { "Deposit paid: " b.no { (deposit.said()) } "." } }
                }
            }
            @if is_one { div.own { (square.svg(34, SQUARE_SAYS)) div {
                p { "Your own status page. Anyone who has this square can read it, so keep it like a cloakroom ticket." }
                (printed(address))
                (to_collect())
            } } }
            @else { (square.svg(30, SQUARE_SAYS)) (printed(address)) }
        }
    })
}

const SQUARE_SAYS: &str = "Your own status page";

fn to_collect() -> Markup {
    html! { p { b { "To collect: bring this sheet or the tag’s half, or identification." } } }
}

/// The address as people type it.
fn printed(address: &str) -> Markup {
    html! { p.addr { (address.trim_start_matches("https://").trim_start_matches("http://")) } }
}

/// What the counter asks for with such an instrument and was not there.
fn not_with_it(visit: &Visit) -> Vec<&'static str> {
    let came = |name: &str| visit.came_with.iter().any(|thing| thing.to_lowercase().contains(name));
    usual(visit.family).iter().copied().filter(|name| !came(name)).collect()
}

/// What the counter asks for by name with this family: common practice, no source. Only what it
/// asks for, since the customer signs that it was not there.
fn usual(family: Family) -> &'static [&'static str] {
    match family {
        Family::Trumpet
        | Family::Cornet
        | Family::Flugelhorn
        | Family::Horn
        | Family::Trombone
        | Family::Baritone
        | Family::Tuba
        | Family::Clarinet => &["case", "mouthpiece"],
        Family::Saxophone => &["case", "mouthpiece", "strap"],
        Family::Bassoon => &["case", "strap"],
        Family::Flute | Family::Oboe | Family::Other => &["case"],
    }
}

fn hears(hears: &Hears) -> Markup {
    html! {
        @match hears {
            Hears::EveryChange => "We e-mail you at every change.",
            Hears::WhenAsked => "We e-mail you when we need an answer, and when it is ready.",
            Hears::ByPhone(number) => { "We ring you under " span.no { (one_line(number)) } "." }
            Hears::Asks => "Ring us, or look at your status page.",
        }
    }
}

/// The instrument with its marks. What it shows stands under it in words.
fn drawn(drawing: &trade::maps::SvgElement) -> Markup {
    let mut drawing = drawing.clone();
    // Inside a page of HTML the namespace is known.
    drawing.attributes.remove("xmlns");
    html! { (PreEscaped(drawing.svg_text())) }
}
