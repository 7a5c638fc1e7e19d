//! What is brought in, found and planned, and shops whose orders stand where a test wants them.

use serde_json::{Value, json};

use crate::people::eur;
use crate::{Order, TestShop};

/// An instrument as it is checked in.
#[derive(Clone, Debug)]
pub struct Visit(pub Value);

fn visit(instrument: &Value) -> Visit {
    Visit(json!({
        "customer": {"name": "Otto Brenner", "email": "otto@player.example", "phone": "0151 2345678"},
        "instrument": instrument,
        "complaint": "It wheezes in the low register.",
        "condition_note": "Lacquer worn at the left hand.",
        "accessories": ["case", "mouthpiece"],
        "promised_on": "2026-05-29",
    }))
}

/// A baritone of Otto Brenner's.
pub fn baritone() -> Visit {
    visit(&json!({"family": "baritone", "maker": "Alder & Sons", "serial_number": "40711"}))
}

/// A trumpet of Otto Brenner's.
pub fn trumpet() -> Visit {
    visit(&json!({"family": "trumpet", "maker": "Hollin", "serial_number": "T 2207"}))
}

impl Visit {
    /// With a field set, by its name in the API.
    #[must_use]
    pub fn with(mut self, field: &str, value: Value) -> Self {
        self.0[field] = value;
        self
    }

    /// May cost so much, in euros, without asking.
    #[must_use]
    pub fn may_cost(self, euros: &str) -> Self {
        self.with("may_cost", eur(euros))
    }

    /// With an examination fee, in euros.
    #[must_use]
    pub fn examined_for(self, euros: &str) -> Self {
        self.with("examination_fee", eur(euros))
    }

    /// Brought by one, owned and decided by another: a pupil's mother and a school.
    #[must_use]
    pub fn owned_by_a_school(self) -> Self {
        self.with("owner", json!({"kind": "school", "name": "Mill Road School", "email": "office@school.example"}))
    }

    /// A customer without an e-mail address.
    #[must_use]
    pub fn without_email(self) -> Self {
        self.with("customer", json!({"name": "Otto Brenner", "phone": "0151 2345678"}))
    }

    /// Without anything beside the instrument.
    #[must_use]
    pub fn without_accessories(self) -> Self {
        self.with("accessories", json!([]))
    }
}

/// A crack in the making of a finding.
#[derive(Clone, Debug)]
pub struct Crack(Value);

/// A crack on this part, not tested for leaks, not decided.
pub fn crack(part: &str) -> Crack {
    Crack(json!({"kind": "crack", "part": part}))
}

impl Crack {
    /// One that leaks and is to be repaired.
    pub fn leaking(mut self) -> Value {
        self.0["leaks"] = json!("yes");
        self.0["disposition"] = json!("repair");
        self.0
    }

    /// One that is tight and is left.
    pub fn left_and_watched(mut self) -> Value {
        self.0["leaks"] = json!("no");
        self.0["disposition"] = json!("leave_and_watch");
        self.0
    }

    /// One that nobody has decided on.
    pub fn undecided(self) -> Value {
        self.0
    }
}

/// Any finding that is to be repaired, whatever the rules suggest.
pub fn finding(kind: &str, part: &str) -> Value {
    json!({"kind": kind, "part": part, "disposition": "repair", "disposition_reason": "The owner wants it done."})
}

/// A step as it is planned.
#[derive(Clone, Debug)]
pub struct Step(pub Value);

/// A piece of work at this price, in euros.
pub fn step(title: &str, euros: &str) -> Step {
    Step(json!({"title": title, "price": eur(euros)}))
}

impl Step {
    /// With a field set, by its name in the API.
    #[must_use]
    pub fn with(mut self, field: &str, value: Value) -> Self {
        self.0[field] = value;
        self
    }

    /// It answers this finding.
    #[must_use]
    pub fn answering(self, finding: &Value) -> Self {
        self.with("finding_ids", json!([finding["id"]]))
    }

    /// It cannot be undone.
    #[must_use]
    pub fn irreversible(self) -> Self {
        self.with("irreversible", json!(true))
    }

    /// It takes something apart.
    #[must_use]
    pub fn taking_apart(self) -> Self {
        self.with("kind", json!("take_apart"))
    }

    /// It puts it together again.
    #[must_use]
    pub fn putting_together(self) -> Self {
        self.with("kind", json!("put_together"))
    }

    /// It comes after another.
    #[must_use]
    pub fn after(self, other: &Value) -> Self {
        self.with("after", json!([other["id"]]))
    }
}

/// The line of a quote that pays for this step.
pub fn line(step: &Value) -> Value {
    json!({"kind": "labour", "operation_id": step["id"]})
}

impl TestShop {
    /// An order that was just checked in.
    #[track_caller]
    pub fn checked_in(&self, visit: &Visit) -> Order {
        Order(self.front_desk().check_in(visit).done())
    }

    /// An order that Mara Voss examines.
    #[track_caller]
    pub fn in_diagnosis(&self, visit: &Visit) -> Order {
        let order = self.checked_in(visit);
        let mara = self.technician();
        mara.claim(&order).done();
        mara.begin_examination(&order).done();
        mara.look_at(order)
    }

    /// The same with a leaking crack found, a step of 140 euros planned for it, and a draft.
    #[track_caller]
    pub fn with_a_draft(&self, visit: &Visit) -> Order {
        let order = self.in_diagnosis(visit);
        let mara = self.technician();
        let found = mara.finds(&order, &crack("bell bow").leaking()).done();
        let brazing = mara.plans(&order, &step("Braze the crack", "140.00").answering(&found)).done();
        mara.drafts(&order, &[line(&brazing)]).done();
        mara.look_at(order)
    }

    /// The same with the quote out.
    #[track_caller]
    pub fn in_approval(&self, visit: &Visit) -> Order {
        let order = self.with_a_draft(visit);
        let mara = self.technician();
        mara.sends(&order, order.quote("draft")).done();
        mara.look_at(order)
    }

    /// The same with the quote accepted by telephone.
    #[track_caller]
    pub fn on_the_bench(&self, visit: &Visit) -> Order {
        let order = self.in_approval(visit);
        self.front_desk().records_answer(order.quote("sent"), "accepted", &json!({})).done();
        self.technician().look_at(order)
    }

    /// The same with the work done.
    #[track_caller]
    pub fn in_leak_test(&self, visit: &Visit) -> Order {
        let order = self.on_the_bench(visit);
        let mara = self.technician();
        mara.does(order.operation("Braze the crack"));
        mara.moves(&order, "leak_test", "bench_done", None).done();
        mara.look_at(order)
    }

    /// The same with its tests passed.
    #[track_caller]
    pub fn in_pickup(&self, visit: &Visit) -> Order {
        let order = self.in_leak_test(visit);
        let mara = self.technician();
        mara.passes_all_tests(&order);
        mara.look_at(order)
    }

    /// The same, paid and collected.
    #[track_caller]
    pub fn collected(&self, visit: &Visit) -> Order {
        let order = self.in_pickup(visit);
        self.front_desk().hands_over_all(&order).done();
        self.technician().look_at(order)
    }

    /// The order as it stands now.
    #[track_caller]
    pub fn look_at(&self, order: impl AsRef<str>) -> Order {
        self.technician().look_at(order)
    }
}
