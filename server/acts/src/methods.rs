//! The shop's methods: its ways of doing a kind of work, which are its price list as well.

use crate::checks::{Checks, LINE};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::given::given;
use crate::operations::check_minutes;
use crate::plans::shop_bench;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::collections::HashMap;
use store::lists::{self, MethodRow};
use store::order_view::money;
use store::views::{Method, Minutes};
use store::{Error, Once, Tx, Word, audit, shops};
use trade::bench::metals::{FILLERS, Filler, Joining};
use trade::bench::own_minutes::OWN_FROM;
use trade::bench::plan::{BenchSettings, CAUTIONS};
use trade::bench::plating_charge::PLATING_METALS;
use trade::maps::JointKind;
use trade::rules::facts::By;
use trade::words::instrument::{FindingKind, Heat};
use trade::words::money::{Currency, Money};
use utoipa::ToSchema;
use uuid::Uuid;

/// A method to be put on the shop's list.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewMethod {
    /// As technicians say it; once in the shop.
    pub name: String,
    /// How hot the work gets.
    pub heat: Heat,
    /// Whether it cannot be undone.
    #[serde(default)]
    pub irreversible: bool,
    /// How long it takes; the shop's own minutes take over once there are enough.
    pub minutes: Minutes,
    /// Its usual price; 0: by the hour.
    pub price: Money,
    /// Slugs of what to be careful of. Those that come with its heat, filler and metal are added.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// One of the bench's stations; by its heat if left out.
    #[serde(default)]
    pub station: Option<String>,
    /// The solder or brazing filler, for work with heat; a typical one if left out.
    #[serde(default)]
    pub filler: Option<String>,
    /// How hot the metal is made, °C, 50 to 1100; 30 above the filler's liquidus if left out.
    #[serde(default)]
    pub heat_c: Option<i32>,
    /// What the filler joins: butt (the poor one), patch or lap; nothing is filled if left out.
    #[serde(default)]
    pub joint_kind: Option<String>,
    /// Every joint of these kinds on the part must be apart for it.
    #[serde(default)]
    pub needs_apart: Vec<JointKind>,
    /// The findings that it answers, so that it can stand in for another method.
    #[serde(default)]
    pub answers: Vec<FindingKind>,
    /// The metal that it plates with; by the part's finish if left out, or it plates nothing.
    #[serde(default)]
    pub plating_metal: Option<String>,
}

/// What can be amended of a method; what is left out stays.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MethodChange {
    /// As technicians say it; once in the shop.
    #[serde(default)]
    pub name: Option<String>,
    /// How hot the work gets.
    #[serde(default)]
    pub heat: Option<Heat>,
    /// Whether it cannot be undone.
    #[serde(default)]
    pub irreversible: Option<bool>,
    /// How long it takes by the list.
    #[serde(default)]
    pub minutes: Option<Minutes>,
    /// Its usual price; 0: by the hour. What was quoted stays as it was.
    #[serde(default)]
    pub price: Option<Money>,
    /// Slugs of what to be careful of, as a whole list.
    #[serde(default)]
    pub cautions: Option<Vec<String>>,
    /// One of the bench's stations.
    #[serde(default)]
    pub station: Option<String>,
    /// The solder or brazing filler; null: a typical one for its heat.
    #[serde(default, deserialize_with = "given")]
    #[schema(value_type = Option<String>)]
    pub filler: Option<Option<String>>,
    /// How hot the metal is made, °C, 50 to 1100; null: 30 above the filler's liquidus.
    #[serde(default, deserialize_with = "given")]
    #[schema(value_type = Option<i32>)]
    pub heat_c: Option<Option<i32>>,
    /// What the filler joins: butt (the poor one), patch or lap; null: nothing is filled.
    #[serde(default, deserialize_with = "given")]
    #[schema(value_type = Option<String>)]
    pub joint_kind: Option<Option<String>>,
    /// Every joint of these kinds on the part must be apart for it, as a whole list.
    #[serde(default)]
    pub needs_apart: Option<Vec<JointKind>>,
    /// The findings that it answers, as a whole list.
    #[serde(default)]
    pub answers: Option<Vec<FindingKind>>,
    /// The metal that it plates with; null: by the part's finish, or it plates nothing.
    #[serde(default, deserialize_with = "given")]
    #[schema(value_type = Option<String>)]
    pub plating_metal: Option<Option<String>>,
    /// Whether it is offered for new steps.
    #[serde(default)]
    pub is_offered: Option<bool>,
}

/// Name, heat, irreversible, three-point minutes, price in the currency's units, cautions.
type Standard = (&'static str, Heat, bool, [i32; 3], i64, &'static [&'static str]);

/// Methods that every new shop begins with. Typical, from memory; the shop changes them.
/// A spot is replated with silver unless the part's finish says otherwise, and then the plan adds the
/// cautions of that metal.
const STANDARD: &[Standard] = &[
    ("Braze a crack", Heat::Braze, false, [35, 50, 90], 62, &["torch", "flux-fume", "trapped-water"]),
    ("Soft-solder a patch", Heat::Solder, false, [20, 30, 50], 42, &["torch", "flux-fume", "trapped-water", "lead"]),
    ("Soft-solder a joint", Heat::Solder, false, [15, 25, 45], 32, &["torch", "flux-fume", "lead"]),
    ("Patch a crack", Heat::Braze, false, [40, 60, 110], 78, &["torch", "flux-fume", "trapped-water"]),
    ("Take a dent out", Heat::None, false, [10, 25, 60], 30, &[]),
    ("Free a stuck slide", Heat::None, false, [10, 25, 90], 28, &[]),
    ("Free a stuck mouthpiece", Heat::None, false, [5, 10, 25], 12, &[]),
    ("Align and clean valves", Heat::None, false, [25, 40, 70], 45, &["hygiene"]),
    ("Chemical clean and oil", Heat::None, false, [40, 60, 90], 68, &["chemicals", "hygiene"]),
    ("Replace a pad", Heat::None, false, [10, 15, 30], 18, &[]),
    ("Replace a cork", Heat::None, false, [8, 12, 20], 14, &[]),
    ("Replace a spring", Heat::None, false, [8, 15, 35], 16, &[]),
    ("Regulate the keys", Heat::None, false, [30, 50, 90], 55, &[]),
    ("Buff bright", Heat::None, true, [10, 20, 45], 24, &["buffing"]),
    ("Strip and relacquer", Heat::None, true, [120, 180, 300], 240, &["buffing", "chemicals"]),
    ("Replate a spot", Heat::None, true, [20, 35, 60], 48, &["cyanide"]),
];

/// Station, what the filler joins, and the findings that a standard method answers. Typical, from
/// memory; the same as the schema gave to shops that were there before.
fn on_the_plan(name: &str, heat: Heat) -> (&'static str, Option<&'static str>, &'static [FindingKind]) {
    use FindingKind as Kind;
    let hot = if heat == Heat::None { "bench" } else { "torch" };
    match name {
        "Braze a crack" => (hot, Some("butt"), &[Kind::Crack]),
        "Patch a crack" | "Soft-solder a patch" => (hot, Some("patch"), &[Kind::Crack]),
        "Soft-solder a joint" => (hot, Some("lap"), &[Kind::OpenJoint]),
        "Take a dent out" => (hot, None, &[Kind::Dent]),
        "Free a stuck slide" => (hot, None, &[Kind::Slide]),
        "Free a stuck mouthpiece" => (hot, None, &[Kind::StuckMouthpiece]),
        "Align and clean valves" => (hot, None, &[Kind::Valve, Kind::ValveAlignment]),
        "Chemical clean and oil" => ("sink", None, &[]),
        "Replace a pad" => (hot, None, &[Kind::LeakingPad]),
        "Replace a cork" => (hot, None, &[Kind::WornCork, Kind::LooseTenon]),
        "Replace a spring" => (hot, None, &[Kind::BrokenSpring]),
        "Regulate the keys" => (hot, None, &[Kind::KeysNotTogether, Kind::KeyHeight, Kind::LostMotion]),
        "Buff bright" => ("wheel", None, &[]),
        "Strip and relacquer" => ("wheel", None, &[Kind::LacquerLoss]),
        "Replate a spot" => ("plating", None, &[Kind::PlatingLoss]),
        _ => (hot, None, &[]),
    }
}

/// The standard methods that are on nobody's list by these names.
///
/// # Errors
/// [`Error::Unreadable`] where the currency cannot hold a price.
pub fn standard_methods(currency: Currency, apart_from: &[MethodRow]) -> Result<Vec<NewMethod>, Error> {
    let is_there = |name: &str| apart_from.iter().any(|row| row.name.trim().eq_ignore_ascii_case(name));
    STANDARD
        .iter()
        .filter(|(name, ..)| !is_there(name))
        .map(|(name, heat, irreversible, [low, typical, high], price, cautions)| {
            let (station, joint_kind, answers) = on_the_plan(name, *heat);
            Ok(NewMethod {
                name: (*name).to_owned(),
                heat: *heat,
                irreversible: *irreversible,
                minutes: Minutes { low: *low, typical: *typical, high: *high },
                price: money(Decimal::from(*price), currency)?,
                cautions: cautions.iter().map(|slug| (*slug).to_owned()).collect(),
                station: Some(station.to_owned()),
                filler: match heat {
                    Heat::None => None,
                    Heat::Solder => Some("sn60pb40".to_owned()),
                    Heat::Braze => Some("bag_7".to_owned()),
                },
                heat_c: None,
                joint_kind: joint_kind.map(ToOwned::to_owned),
                needs_apart: Vec::new(),
                answers: answers.to_vec(),
                plating_metal: None,
            })
        })
        .collect()
}

/// A method as a list shows it; `taken` are the minutes that done operations took.
///
/// # Errors
/// [`Error::Unreadable`].
pub fn method_view(row: &MethodRow, taken: &HashMap<Uuid, Vec<u32>>, currency: Currency) -> Result<Method, Error> {
    let read = |e: serde_json::Error| Error::Unreadable(format!("method {}: {e}", row.id));
    let (minutes, own_count) = lists::minutes(row, taken);
    Ok(Method {
        id: row.id,
        version: row.version,
        is_offered: row.is_offered,
        name: row.name.clone(),
        heat: row.heat.0,
        irreversible: row.irreversible,
        minutes,
        listed_minutes: Minutes { low: row.low_minutes, typical: row.typical_minutes, high: row.high_minutes },
        own_count,
        own_from: i64::try_from(OWN_FROM).unwrap_or(i64::MAX),
        station: row.station.clone(),
        filler: row.filler.clone(),
        heat_c: row.heat_c,
        joint_kind: row.joint_kind.clone(),
        needs_apart: serde_json::from_value(row.needs_apart.clone()).map_err(read)?,
        answers: serde_json::from_value(row.answers.clone()).map_err(read)?,
        plating_metal: row.plating_metal.clone(),
        price: money(row.price, currency)?,
        cautions: cautions_now(row)?,
    })
}

impl NewMethod {
    /// The row of it, on the list of the shop of this desk.
    pub(crate) fn row(&self, desk: &Desk) -> MethodRow {
        let by_heat = if self.heat == Heat::None { "bench" } else { "torch" };
        let mut row = MethodRow {
            shop_id: desk.actor.shop.0,
            id: Uuid::now_v7(),
            name: self.name.trim().to_owned(),
            heat: Word(self.heat),
            irreversible: self.irreversible,
            low_minutes: self.minutes.low,
            typical_minutes: self.minutes.typical,
            high_minutes: self.minutes.high,
            price: self.price.amount(),
            cautions: json!([]),
            station: self.station.clone().unwrap_or_else(|| by_heat.to_owned()),
            filler: self.filler.clone(),
            heat_c: self.heat_c,
            joint_kind: self.joint_kind.clone(),
            needs_apart: json!(self.needs_apart),
            answers: json!(self.answers),
            plating_metal: self.plating_metal.clone(),
            is_offered: true,
            version: 1,
            changed_by: desk.actor.words.clone(),
            changed_at: desk.now,
        };
        row.cautions = json!(cautions_of(&row, &self.cautions));
        row
    }
}

/// Whether it takes lacquer off and puts it on: what answers lacquer loss does.
fn relacquers(row: &MethodRow) -> bool {
    row.answers.as_array().is_some_and(|answers| answers.contains(&json!(FindingKind::LacquerLoss)))
}

/// The cautions of a method on the list: those kept with it, and those that came to be known since.
///
/// # Errors
/// [`Error::Unreadable`].
pub(crate) fn cautions_now(row: &MethodRow) -> Result<Vec<String>, Error> {
    let kept: Vec<String> = serde_json::from_value(row.cautions.clone()).map_err(|e| Error::Unreadable(format!("method {}: {e}", row.id)))?;
    Ok(cautions_of(row, &kept).into_iter().map(ToOwned::to_owned).collect())
}

/// What to be careful of: what somebody said, and what comes with heat, filler and metal.
fn cautions_of(row: &MethodRow, said: &[String]) -> Vec<&'static str> {
    let is_hot = row.heat.0 != Heat::None;
    let filler = row.filler.as_deref().and_then(Filler::named).map(Filler::cautions).unwrap_or_default();
    let metal = PLATING_METALS.iter().find(|metal| Some(metal.slug) == row.plating_metal.as_deref());
    let is_due = |slug: &str| {
        said.iter().any(|one| one == slug)
            || (is_hot && (slug == "torch" || slug == "flux-fume"))
            || filler.contains(&slug)
            || metal.is_some_and(|metal| metal.cautions.contains(&slug))
            || (slug == "chemicals" && relacquers(row))
    };
    CAUTIONS.iter().map(|(slug, _)| *slug).filter(|slug| is_due(slug)).collect()
}

/// Everything that is wrong with a method as it would stand on the list.
fn check(checks: &mut Checks, row: &MethodRow, bench: &BenchSettings) {
    checks.said("/name", &row.name, LINE);
    check_minutes(checks, Some(&Minutes { low: row.low_minutes, typical: row.typical_minutes, high: row.high_minutes }));
    if !bench.stations.contains(&row.station) {
        checks.fault("/station", format!("is none of the bench's stations: {}", bench.stations.join(", ")));
    }
    let joining = match row.heat.0 {
        Heat::None => None,
        Heat::Solder => Some(Joining::SoftSolder),
        Heat::Braze => Some(Joining::Brazing),
    };
    let filler = row.filler.as_deref().map(|slug| FILLERS.iter().find(|filler| filler.slug == slug));
    match (filler, joining) {
        (None, _) => {}
        (Some(None), _) => checks.fault("/filler", "is no filler that is known here"),
        (Some(Some(filler)), Some(joining)) if filler.joining == joining => {}
        (Some(Some(_)), _) => checks.fault("/filler", format!("does not go with the heat of this method, {}", row.heat.0)),
    }
    if let Some(heat_c) = row.heat_c {
        let flows = filler.flatten().map_or(0.0, |filler| filler.solidus_c);
        if !(50..=1100).contains(&heat_c) {
            checks.fault("/heat_c", "must lie between 50 and 1100");
        } else if joining.is_none() {
            checks.fault("/heat_c", "is for work with heat");
        } else if f64::from(heat_c) < flows {
            checks.fault("/heat_c", format!("lies below {flows} °C, where the filler begins to melt"));
        }
    }
    match row.joint_kind.as_deref() {
        None => {}
        Some("butt" | "patch" | "lap") if joining.is_some() => {}
        Some("butt" | "patch" | "lap") => checks.fault("/joint_kind", "is for work with heat: nothing is filled without"),
        Some(_) => checks.fault("/joint_kind", "must be butt, patch or lap"),
    }
    if row.plating_metal.as_ref().is_some_and(|slug| !PLATING_METALS.iter().any(|metal| metal.slug == slug)) {
        let known: Vec<&str> = PLATING_METALS.iter().map(|metal| metal.slug).collect();
        checks.fault("/plating_metal", format!("must be one of {}", known.join(", ")));
    }
}

fn check_cautions(checks: &mut Checks, said: &[String]) {
    for (at, slug) in said.iter().enumerate() {
        if !CAUTIONS.iter().any(|(known, _)| known == slug) || said[..at].contains(slug) {
            checks.fault(format!("/cautions/{at}"), "is no caution that is known here, or stands there twice");
        }
    }
}

impl Acts {
    /// Puts a method on the shop's list.
    ///
    /// # Errors
    /// [`Halt::Invalid`] with every fault; `already-here` for a name that is on the list; `not-yours`.
    pub async fn add_method(&self, actor: &Actor, new: NewMethod, once: Once) -> Result<Method, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::Proprietor])?;
                let currency = shops::current(tx.conn())?.currency()?;
                let mut checks = Checks::default();
                checks.amount("/price", Some(new.price), currency);
                check_cautions(&mut checks, &new.cautions);
                let row = new.row(&desk);
                check(&mut checks, &row, &shop_bench(tx.conn())?.settings);
                checks.done()?;
                lists::add_method(tx, &row).map_err(taken)?;
                desk.wrote(tx, "method_added")?;
                Ok(method_view(&row, &HashMap::new(), currency)?)
            })
            .await
    }

    /// Amends a method. Steps that were planned with it, and quotes, stay as they are.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`]; `already-here`, `not-yours`.
    pub async fn amend_method(&self, actor: &Actor, id: Uuid, seen: i32, change: MethodChange) -> Result<Method, Halt> {
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                desk.actor.must_be(&[By::Proprietor])?;
                let currency = shops::current(tx.conn())?.currency()?;
                let mut row = lists::lock_method(tx, id)?.ok_or(Halt::Absent)?;
                let taken_so_far = lists::minutes_taken(tx.conn(), &[id])?;
                if row.version != seen {
                    return Err(Halt::stale(row.version, &row.changed_by, row.changed_at, &method_view(&row, &taken_so_far, currency)?));
                }
                let mut checks = Checks::default();
                if let Some(price) = checks.amount("/price", change.price, currency) {
                    row.price = price;
                }
                if let Some(minutes) = &change.minutes {
                    (row.low_minutes, row.typical_minutes, row.high_minutes) = (minutes.low, minutes.typical, minutes.high);
                }
                if let Some(name) = &change.name {
                    name.trim().clone_into(&mut row.name);
                }
                row.heat = change.heat.map_or(row.heat, Word);
                row.irreversible = change.irreversible.unwrap_or(row.irreversible);
                row.station = change.station.unwrap_or(row.station);
                row.filler = change.filler.unwrap_or(row.filler);
                row.heat_c = change.heat_c.unwrap_or(row.heat_c);
                row.joint_kind = change.joint_kind.unwrap_or(row.joint_kind);
                row.plating_metal = change.plating_metal.unwrap_or(row.plating_metal);
                row.needs_apart = change.needs_apart.map_or(row.needs_apart, |kinds| json!(kinds));
                row.answers = change.answers.map_or(row.answers, |kinds| json!(kinds));
                row.is_offered = change.is_offered.unwrap_or(row.is_offered);
                let said = match change.cautions {
                    Some(said) => said,
                    None => serde_json::from_value(row.cautions.clone()).map_err(|e| Error::Unreadable(format!("cautions of {id}: {e}")))?,
                };
                check_cautions(&mut checks, &said);
                check(&mut checks, &row, &shop_bench(tx.conn())?.settings);
                checks.done()?;
                row.cautions = json!(cautions_of(&row, &said));
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                lists::save_method(tx, &row).map_err(taken)?;
                desk.wrote(tx, "method_amended")?;
                Ok(method_view(&row, &taken_so_far, currency)?)
            })
            .await
    }
}

impl Desk {
    fn wrote(&self, tx: &mut Tx<'_>, what: &str) -> Result<(), Halt> {
        Ok(audit::write(tx, what, None, self.actor.who.person(), &self.actor.words, self.now)?)
    }
}

/// A constraint that an honest proprietor can meet.
fn taken(error: Error) -> Halt {
    match &error {
        Error::Constraint { name, .. } if name == "methods_name_once" => {
            Halt::refused("already-here", "A method of this name is on the list already; it may be one that is not offered any more.")
        }
        _ => Halt::Store(error),
    }
}

#[cfg(test)]
mod tests {
    use super::STANDARD;
    use trade::bench::plan::CAUTIONS;
    use trade::words::instrument::Heat;

    #[test]
    fn every_method_of_a_new_shop_says_what_to_be_careful_of() {
        let of = |name: &str| STANDARD.iter().find(|method| method.0 == name).expect("it is on the list").5;
        assert_eq!(of("Strip and relacquer"), ["buffing", "chemicals"], "lacquer burns and its stripper harms");
        assert_eq!(of("Replate a spot"), ["cyanide"], "with silver; other metals bring their own caution to the plan");
        for (name, heat, .., cautions) in STANDARD {
            assert!(cautions.iter().all(|slug| CAUTIONS.iter().any(|(known, _)| known == slug)), "{name}");
            if *heat != Heat::None {
                assert!(cautions.contains(&"torch") && cautions.contains(&"flux-fume"), "{name}");
                assert_eq!(cautions.contains(&"lead"), *heat == Heat::Solder, "{name}: with tin and lead");
            }
        }
        for over_a_crack in ["Braze a crack", "Patch a crack", "Soft-solder a patch"] {
            assert!(of(over_a_crack).contains(&"trapped-water"), "{over_a_crack}: a crack under a bead or an old patch holds water");
        }
    }
}
