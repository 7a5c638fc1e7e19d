//! An instrument's part map with what was found on it, drawn: what the staff client, the
//! customer's page and print show.

use crate::letter_facts::{customer_words, customers_number, finding_words};
use serde::{Deserialize, Serialize};
use std::collections::HashSet;
use chrono::{DateTime, NaiveDate, Utc};
use store::findings::FindingRow;
use store::instruments::InstrumentRow;
use store::order_rows::OrderRows;
use store::order_view::claim_number;
use store::part_maps::InstrumentMap;
use store::shops::ShopRow;
use store::small_things::CounterMarkRow;
use store::views::PinnedTo;
use store::work_orders::WorkOrderRow;
use store::{Conn, Error, findings, part_maps, shops, small_things, work_orders};
use trade::maps::{CounterMark, Drawing, PartMap, Pin, Spot, Standing, SvgElement, draw};
use trade::words::ids::{FindingId, InstrumentId, WorkOrderId};
use trade::words::instrument::{Disposition, MarkKind};
use trade::words::stage::Stage;
use utoipa::ToSchema;
use uuid::Uuid;

/// When a finding on a map was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PinStanding {
    /// On an earlier visit, and left to be watched.
    Watched,
    /// On the visit that the map is shown for.
    ThisVisit,
    /// On an earlier visit, and settled.
    Settled,
}

/// A finding as the map shows it.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct MapPin {
    /// The finding; `data-finding` of its group in the drawing.
    pub finding_id: FindingId,
    /// What the head of the pin says: the number of the list, or W and a number for what is watched.
    pub head: String,
    /// This visit's, watched from an earlier one, or settled on an earlier one.
    pub standing: PinStanding,
    /// What it is and where, in the words of the list.
    pub words: String,
    /// What is done about it: the shape of the head.
    pub disposition: Disposition,
    /// The order it was found on.
    pub work_order_id: WorkOrderId,
    /// That order's claim number.
    pub claim_number: String,
    /// When it was found, as a date of the shop.
    pub found_on: NaiveDate,
    /// The part or joint that it is drawn on; none: the map does not have it, and it is in the list only.
    pub pinned_to: Option<PinnedTo>,
}

/// A mark of the counter as the map shows it.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct MapMark {
    /// The mark; `data-mark` of its group in the drawing.
    pub mark_id: Uuid,
    /// What.
    pub kind: MarkKind,
    /// What it is and where, in words.
    pub words: String,
    /// The part or joint that it is drawn on.
    pub pinned_to: Option<PinnedTo>,
}

/// An instrument's part map: its own copy, or the family's template until somebody edits it.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct InstrumentPartMap {
    /// The instrument.
    pub instrument_id: InstrumentId,
    /// For `If-Match`; 0 is the family's template.
    pub version: i32,
    /// Whether nothing was edited yet: every dimension is typical of the family, from memory.
    pub is_template: bool,
    /// How many dimensions were measured on this instrument.
    pub measured_count: usize,
    /// How many are typical of the family.
    pub typical_count: usize,
    /// Who edited it last.
    pub changed_by: Option<String>,
    /// When.
    pub changed_at: Option<DateTime<Utc>>,
    /// Parts and joints with their dimensions and the layout to draw them.
    pub map: PartMap,
    /// Ids of parts that nothing ties to the rest: in a tray, or their joint not drawn yet.
    pub loose_parts: Vec<String>,
    /// What was found, watched things first.
    pub pins: Vec<MapPin>,
    /// What the front desk marked at the counter, on the visit that the map is shown for.
    pub marks: Vec<MapMark>,
    /// The map as one tree of SVG elements.
    pub drawing: SvgElement,
}

/// A family's part map with typical dimensions.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct FamilyPartMap {
    /// Parts and joints; every dimension is typical, from memory.
    pub map: PartMap,
    /// The map as one tree of SVG elements.
    pub drawing: SvgElement,
}

/// The drawing of a map with nothing found on it.
#[must_use]
pub fn drawn_template(map: &PartMap) -> SvgElement {
    draw(&Drawing {
        map,
        pins: &[],
        marks: &[],
        title: &format!("Part map of a {}", map.family.words()),
        description: "Typical dimensions; not to scale along bends.",
        id: "map",
        labels: true,
        buttons: true,
    })
}

/// What the map is shown for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShownFor {
    /// Whoever looks at the instrument: the visit under way, else the last one.
    Instrument,
    /// This work order.
    Order(WorkOrderId),
}

/// What a customer's page shows: the instrument with the places of some findings, and nothing of
/// other visits, of measures, or of who looks after it.
#[derive(Debug, Clone, PartialEq)]
pub struct CustomersMap {
    /// The map as one picture.
    pub drawing: SvgElement,
    /// The findings that have their place on it, by number, in their words.
    pub places: Vec<(u32, String)>,
}

/// The map for the customer of an order, with these of the findings that are shared; none when
/// none of them has a place on it.
#[must_use]
pub fn customers_map(rows: &OrderRows, is_told: impl Fn(&FindingRow) -> bool) -> Option<CustomersMap> {
    let told: Vec<(&FindingRow, PinnedTo)> = rows
        .findings
        .iter()
        .filter(|row| row.shared && row.struck_reason.is_none() && is_told(row))
        .filter_map(|row| Some((row, rows.part_map.pinned_to(&row.part)?)))
        .collect();
    let pins: Vec<Pin> = told
        .iter()
        .map(|(row, on)| Pin {
            // A customer's page names nothing that only the shop's own addresses know.
            finding: customers_number(rows, row).to_string(),
            head: customers_number(rows, row).to_string(),
            words: finding_words(row),
            spot: spot(on, row.position_mm, row.side.as_deref()),
            disposition: row.disposition.0,
            standing: Standing::ThisVisit,
            in_hand: false,
        })
        .collect();
    let places: Vec<(u32, String)> =
        told.iter().map(|(row, _)| (customers_number(rows, row), finding_words(row))).collect();
    let said: Vec<String> = places.iter().map(|(number, words)| format!("{number}: {words}")).collect();
    (!pins.is_empty()).then(|| CustomersMap {
        drawing: draw(&Drawing {
            map: &rows.part_map.map,
            pins: &pins,
            marks: &[],
            title: &format!("Drawing of the {}", rows.instrument.family.0.words()),
            description: &format!("{}. Not to scale.", said.join("; ")),
            id: "map",
            labels: false,
            buttons: false,
        }),
        places,
    })
}

/// The instrument with the marks agreed at the counter, for paper; none when none of them has a
/// place on the map. `id` tells it from other drawings on the same sheet.
#[must_use]
pub fn counter_map(rows: &OrderRows, id: &str) -> Option<SvgElement> {
    let marks: Vec<CounterMark> = rows
        .counter_marks
        .iter()
        .filter_map(|row| {
            Some(CounterMark {
                id: row.id.to_string(),
                letter: letter(row.kind.0).to_owned(),
                words: mark_words(row),
                spot: spot(&rows.part_map.pinned_to(&row.part)?, row.position_mm, row.side.as_deref()),
                in_hand: false,
            })
        })
        .collect();
    let said: Vec<&str> = marks.iter().map(|mark| mark.words.as_str()).collect();
    (!marks.is_empty()).then(|| {
        draw(&Drawing {
            map: &rows.part_map.map,
            pins: &[],
            marks: &marks,
            title: &format!("Drawing of the {}", rows.instrument.family.0.words()),
            description: &format!("{}. Not to scale.", said.join("; ")),
            id,
            labels: false,
            buttons: false,
        })
    })
}

/// A mark of the counter in words, with the letter that the drawing has: `D dent, bell bow`.
#[must_use]
pub fn lettered_mark(row: &CounterMarkRow) -> String {
    format!("{} {}", letter(row.kind.0), mark_words(row))
}

/// A mark of the counter in words: `dent, bell bow`.
#[must_use]
pub fn mark_words(row: &CounterMarkRow) -> String {
    format!("{}, {}", row.kind.0.to_string().replace('_', " "), row.part)
}

/// The instrument's map, drawn with what was found. Seven statements at most.
///
/// # Errors
/// When the database refuses, or a stored map cannot be read.
pub fn drawn_map(conn: &mut Conn, instrument: &InstrumentRow, shown_for: ShownFor) -> Result<InstrumentPartMap, Error> {
    let own = part_maps::of_instrument(conn, instrument)?;
    let visits = Visits::load(conn, instrument, shown_for)?;
    visits.drawn(&own, instrument)
}

/// Everything of all visits that a map shows.
struct Visits {
    shop: ShopRow,
    orders: Vec<WorkOrderRow>,
    findings: Vec<FindingRow>,
    marks: Vec<CounterMarkRow>,
    this: Option<Uuid>,
}

impl Visits {
    fn load(conn: &mut Conn, instrument: &InstrumentRow, shown_for: ShownFor) -> Result<Self, Error> {
        let orders = work_orders::of_instrument(conn, InstrumentId(instrument.id))?;
        let this = match shown_for {
            ShownFor::Order(order) => Some(order.0),
            // Newest first; an open visit goes before a later one that is closed already.
            ShownFor::Instrument => orders.iter().find(|o| o.stage.0 != Stage::Closed).or(orders.first()).map(|o| o.id),
        };
        let ids: Vec<Uuid> = orders.iter().map(|order| order.id).collect();
        Ok(Self {
            shop: shops::current(conn)?,
            findings: findings::of_orders(conn, &ids)?,
            marks: this.map(|id| small_things::counter_marks(conn, WorkOrderId(id))).transpose()?.unwrap_or_default(),
            orders,
            this,
        })
    }

    fn drawn(&self, own: &InstrumentMap, instrument: &InstrumentRow) -> Result<InstrumentPartMap, Error> {
        let pins = self.pins(own)?;
        let marks: Vec<MapMark> = self.marks.iter().map(|mark| told_mark(own, mark)).collect();
        let drawn_pins: Vec<Pin> = pins.iter().filter_map(|pin| self.pin(pin)).collect();
        let drawn_marks: Vec<CounterMark> = self
            .marks
            .iter()
            .zip(&marks)
            .filter_map(|(row, mark)| {
                Some(CounterMark {
                    id: row.id.to_string(),
                    letter: letter(row.kind.0).to_owned(),
                    words: format!("at the counter: {}", mark.words),
                    spot: spot(mark.pinned_to.as_ref()?, row.position_mm, row.side.as_deref()),
                    in_hand: false,
                })
            })
            .collect();
        let map = own.map.as_ref();
        let words = store::order_view::instrument_words(
            &instrument.family.0.to_string(),
            instrument.maker.as_deref(),
            instrument.serial_number.as_deref(),
        );
        let (measured_count, typical_count) = map.measure_counts();
        let basis = if measured_count > 0 { "Measured values are underlined, the others are typical" } else { "Typical dimensions" };
        let drawing = draw(&Drawing {
            map,
            pins: &drawn_pins,
            marks: &drawn_marks,
            title: &format!("Part map: {words}"),
            description: &format!("{basis}; not to scale along bends. The list of findings says the same in words."),
            id: "map",
            labels: true,
            buttons: true,
        });
        Ok(InstrumentPartMap {
            instrument_id: InstrumentId(instrument.id),
            version: own.version,
            is_template: own.changed.is_none(),
            measured_count,
            typical_count,
            changed_by: own.changed.as_ref().map(|(by, _)| by.clone()),
            changed_at: own.changed.as_ref().map(|(_, at)| *at),
            loose_parts: map.loose_parts().iter().map(|part| part.id.clone()).collect(),
            map: map.clone(),
            pins,
            marks,
            drawing,
        })
    }

    /// Watched things of other visits first, then this visit's by number, then what was settled.
    fn pins(&self, own: &InstrumentMap) -> Result<Vec<MapPin>, Error> {
        let told = |row: &FindingRow, head: String, standing: PinStanding| -> Result<MapPin, Error> {
            let order = self.orders.iter().find(|order| order.id == row.work_order_id);
            let pinned_to = own.pinned_to(&row.part);
            Ok(MapPin {
                finding_id: FindingId(row.id),
                head,
                standing,
                words: customer_words(row),
                disposition: row.disposition.0,
                work_order_id: WorkOrderId(row.work_order_id),
                claim_number: order.map(|order| claim_number(order.claim_count)).transpose()?.unwrap_or_default(),
                found_on: self.shop.date_at(row.found_at)?,
                pinned_to,
            })
        };
        let is_this = |row: &FindingRow| Some(row.work_order_id) == self.this;
        let there = || self.findings.iter().filter(|row| row.struck_reason.is_none());
        let mut pins = Vec::new();
        for (row, head) in watched(&self.findings, self.this) {
            pins.push(told(row, head, PinStanding::Watched)?);
        }
        for row in there().filter(|row| is_this(row)) {
            pins.push(told(row, row.number.to_string(), PinStanding::ThisVisit)?);
        }
        let shown: HashSet<Uuid> = pins.iter().map(|pin| pin.finding_id.0).collect();
        for row in there().filter(|row| !shown.contains(&row.id)) {
            pins.push(told(row, String::new(), PinStanding::Settled)?);
        }
        Ok(pins)
    }

    fn pin(&self, pin: &MapPin) -> Option<Pin> {
        let row = self.findings.iter().find(|row| row.id == pin.finding_id.0)?;
        let standing = match pin.standing {
            PinStanding::Watched => Standing::Watched,
            PinStanding::ThisVisit => Standing::ThisVisit,
            PinStanding::Settled => Standing::Settled,
        };
        let words = match pin.standing {
            PinStanding::ThisVisit => pin.words.clone(),
            PinStanding::Watched => format!("watched since {}: {}", pin.found_on, pin.words),
            PinStanding::Settled => format!("{} (order {}): {}", pin.found_on, pin.claim_number, pin.words),
        };
        Some(Pin {
            finding: row.id.to_string(),
            head: pin.head.clone(),
            words,
            spot: spot(pin.pinned_to.as_ref()?, row.position_mm, row.side.as_deref()),
            disposition: row.disposition.0,
            standing,
            in_hand: false,
        })
    }
}

/// What was left to be watched on other visits than this one, oldest first, each with the words
/// of its head: W1, W2 and so on.
#[must_use]
pub fn watched(findings: &[FindingRow], this: Option<Uuid>) -> Vec<(&FindingRow, String)> {
    let mut rows: Vec<&FindingRow> = findings
        .iter()
        .filter(|row| row.struck_reason.is_none() && row.disposition.0 == Disposition::LeaveAndWatch)
        .filter(|row| Some(row.work_order_id) != this)
        .collect();
    rows.sort_by_key(|row| (row.found_at, row.id));
    rows.into_iter().zip(1..).map(|(row, number)| (row, format!("W{number}"))).collect()
}

fn told_mark(own: &InstrumentMap, row: &CounterMarkRow) -> MapMark {
    MapMark {
        mark_id: row.id,
        kind: row.kind.0,
        words: mark_words(row),
        pinned_to: own.pinned_to(&row.part),
    }
}

fn spot(on: &PinnedTo, position_mm: Option<rust_decimal::Decimal>, side: Option<&str>) -> Spot {
    match on.on {
        store::views::MapThing::Joint => Spot::Joint { joint: on.id.clone(), side: side.map(ToOwned::to_owned) },
        store::views::MapThing::Part => Spot::Part {
            part: on.id.clone(),
            at_mm: position_mm.and_then(|mm| rust_decimal::prelude::ToPrimitive::to_f64(&mm)),
            side: side.map(ToOwned::to_owned),
        },
    }
}

/// The letter of a mark, as the front desk types it.
fn letter(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::Dent => "D",
        MarkKind::Scratch => "S",
        MarkKind::Crack => "C",
        MarkKind::LacquerGone => "L",
        MarkKind::Stuck => "K",
        MarkKind::Missing => "M",
    }
}
