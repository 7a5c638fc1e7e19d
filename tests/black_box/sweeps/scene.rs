//! A shop with an order in every stage, and one good request to everything the document names.

use super::document::Asked;
use harness::people::eur;
use harness::{Answer, Order, Person, Request, TestShop, baritone, crack, line, step};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A shop where something stands in every stage.
pub struct Scene {
    pub shop: TestShop,
    orders: BTreeMap<&'static str, Order>,
    invited: String,
}

/// A request that is done when the right person makes it.
pub struct Good {
    /// Who makes it, by initials.
    pub by: &'static str,
    /// Staff whose it is not.
    pub not_for: &'static [&'static str],
    /// Below `/api/v1`.
    pub path: String,
    /// Which version its person saw.
    pub seen: Option<i64>,
    /// What is sent.
    pub body: Option<Value>,
    /// Another body that could be sent as well.
    pub other_body: Option<Value>,
    /// What is sent where it is no JSON, with its type.
    pub raw: Option<(&'static str, Vec<u8>)>,
}

const ANYBODYS: &[&str] = &[];
const DESK_ONLY: &[&str] = &["MV"];
const BENCH_ONLY: &[&str] = &["GL"];
const PROPRIETOR_ONLY: &[&str] = &["GL", "MV", "PB"];

impl Scene {
    /// Nobody sends letters here, so that nothing changes by itself.
    pub fn open() -> Self {
        let shop = TestShop::opening().without_sender().open();
        let mut orders = BTreeMap::new();
        let visit = |name: &str| {
            let mut visit = baritone().without_accessories();
            visit.0["instrument"]["serial_number"] = json!(name);
            visit
        };
        let (mara, greta) = (shop.technician(), shop.front_desk());
        orders.insert("intake", shop.checked_in(&visit("intake")));
        orders.insert("diagnosis", shop.with_a_draft(&visit("diagnosis")));
        orders.insert("undrafted", shop.in_diagnosis(&visit("undrafted")));
        orders.insert("approval", shop.in_approval(&visit("approval")));
        orders.insert("bench", shop.on_the_bench(&visit("bench")));
        orders.insert("leak_test", shop.in_leak_test(&visit("leak_test")));
        orders.insert("pickup", shop.in_pickup(&visit("pickup")));
        // To end, and together again: only a technician's word is missing.
        let ending = shop.on_the_bench(&visit("ending"));
        let off = mara.plans(&ending, &step("Brace off", "0.00").taking_apart()).done();
        let on = mara.plans(&ending, &step("Brace on", "0.00").putting_together()).done();
        mara.does(&off);
        greta.ends(&ending, "withdrawn", Some("sold")).done();
        mara.does(&on);
        orders.insert("ending", shop.look_at(&ending));
        // Torch work near a soft-soldered ferrule.
        let hot = shop.in_diagnosis(&visit("hot"));
        let crack = mara
            .finds(&hot, &json!({"kind": "crack", "part": "bottom bow", "position_mm": "60", "size_mm": "14", "leaks": "yes", "disposition": "repair"}))
            .done();
        mara.plans(&hot, &step("Braze the bow", "60.00").with("heat", json!("braze")).answering(&crack)).done();
        orders.insert("hot", hot);
        // Things of their own beside the way.
        let bench = &orders["bench"];
        let hold = json!({"reason": "parts", "look_again_on": shop.clock().in_days(7), "supplier": "Reedmouth Supplies", "note": "a ferrule"});
        greta.post(&format!("/work-orders/{bench}/holds"), &hold).done();
        greta.issues_link(bench, "status");
        for caption in ["bell", "bow", "case"] {
            greta.adds_photo(bench, &format!("caption={caption}"), harness::pictures::jpeg(64, 48)).done();
        }
        let call = json!({"customer_id": bench["customer"]["id"], "outcome": "left_message", "words": "on the machine"});
        greta.post(&format!("/work-orders/{bench}/calls"), &call).done();
        greta.takes_payment(&orders["undrafted"], "5.00").done();
        for order in orders.values_mut() {
            *order = shop.look_at(&*order);
        }
        let invited = json!({"name": "Ute Lerch", "initials": "UL", "email": "ute@shop.example", "roles": ["technician"]});
        let invited = shop.proprietor().post("/people", &invited).done()["id"].as_str().unwrap().to_owned();
        let scene = Self { shop, orders, invited };
        scene.shop.events_have_numbers();
        scene
    }

    /// Somebody of the staff, by initials.
    pub fn person(&self, initials: &str) -> Person {
        match initials {
            "GL" => self.shop.front_desk(),
            "MV" => self.shop.technician(),
            "JK" => self.shop.second_technician(),
            "PB" => self.shop.desk_and_bench(),
            "IF" => self.shop.proprietor(),
            other => panic!("nobody has the initials {other}"),
        }
    }

    /// The order that stands so.
    pub fn order(&self, stands: &str) -> &Order {
        &self.orders[stands]
    }

    /// Everything that is recorded, in one number: it changes when anything does.
    pub fn all_records(&self) -> Vec<(String, String)> {
        self.shop.events_have_numbers();
        let mut conn = self.shop.database().superuser();
        crate::database::names(
            &mut conn,
            "SELECT relname::text AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY 1",
        )
        .into_iter()
        .map(|table| {
            let all = format!("SELECT coalesce(md5(string_agg(t::text, '|' ORDER BY t::text)), '') AS name FROM {table} t");
            let digest = crate::database::names(&mut conn, &all).remove(0);
            (table, digest)
        })
        .collect()
    }

    /// Sends a request as it stands in `good`.
    pub fn request<'p>(&self, who: &'p Person, asked: &Asked, good: &Good) -> Request<'p> {
        let mut request = who.request(&asked.method, &good.path);
        if let Some(seen) = good.seen {
            request = request.seen(seen);
        }
        if let Some(body) = &good.body {
            request = request.body(body);
        }
        if let Some((kind, bytes)) = &good.raw {
            request = request.raw_body(kind, bytes.clone());
        }
        request
    }

    /// Sends it with another body.
    pub fn send_body(&self, asked: &Asked, good: &Good, body: &Value) -> Answer {
        let who = self.person(good.by);
        let mut request = who.request(&asked.method, &good.path).body(body);
        if let Some(seen) = good.seen {
            request = request.seen(seen);
        }
        request.send()
    }

    /// A good request to what the document names.
    ///
    /// # Panics
    /// When nobody has said what that looks like.
    pub fn good(&self, asked: &Asked) -> Good {
        let order = |stands: &str| self.order(stands);
        let id = |value: &Value| value["id"].as_str().unwrap_or_else(|| panic!("{value} has no id")).to_owned();
        let version = |value: &Value| value["version"].as_i64().unwrap();
        let (diagnosis, approval, bench) = (order("diagnosis"), order("approval"), order("bench"));
        let (finding, planned, draft) = (&diagnosis.findings()[0], &diagnosis.operations()[0], diagnosis.quote("draft"));
        let to_do = &bench.operations()[0];
        let customer = &bench["customer"];
        let instrument = &bench["instrument"];
        let ask = |by: &'static str, not_for: &'static [&'static str], path: String| Good {
            by,
            not_for,
            path,
            seen: None,
            body: None,
            other_body: None,
            raw: None,
        };
        let read = |path: String| ask("MV", ANYBODYS, path);
        match asked.name {
            "board_read" => read("/board".to_owned()),
            "calculations_compute" => ask("MV", ANYBODYS, "/calculations/claim-number".to_owned()).saying(json!({"kind": "make", "number": 1843})),
            "customers_list" => read("/customers".to_owned()),
            "customers_add" => ask("GL", DESK_ONLY, "/customers".to_owned()).saying(json!({"name": "Ida Holm"})).or("/name", json!("Ida Holms")),
            "customers_read" => read(format!("/customers/{}", id(customer))),
            "customers_amend" => {
                let now = self.shop.front_desk().get(&format!("/customers/{}", id(customer))).done();
                ask("GL", DESK_ONLY, format!("/customers/{}", id(customer))).seeing(version(&now)).saying(json!({"name": "Otto Brenner senior"}))
            }
            "quotes_dispute" => {
                let decision = &bench.quotes()[0]["decision"];
                ask("GL", DESK_ONLY, format!("/decisions/{}/dispute", id(decision)))
                    .saying(json!({"typed_name": "Otto Brenner"}))
                    .or("/typed_name", json!("O. Brenner"))
            }
            "events_follow" => read("/events".to_owned()),
            "shop_families" => read("/families".to_owned()),
            "findings_read" => read(format!("/findings/{}", id(finding))),
            "findings_amend" => {
                ask("MV", BENCH_ONLY, format!("/findings/{}", id(finding))).seeing(version(finding)).saying(json!({"note": "leaks when warm"}))
            }
            "photos_of_order" => read(format!("/work-orders/{bench}/photos")),
            "photos_add" => Good {
                raw: Some(("image/jpeg", harness::pictures::jpeg(40, 30))),
                ..ask("GL", ANYBODYS, format!("/work-orders/{bench}/photos"))
            },
            "photos_read" => read(format!("/photos/{}", id(&bench["photos"][0]))),
            "photos_picture" => read(format!("/photos/{}/picture", id(&bench["photos"][0]))),
            "photos_amend" => {
                let photo = &bench["photos"][0];
                ask("GL", ANYBODYS, format!("/photos/{}", id(photo))).seeing(version(photo)).saying(json!({"shared": true}))
            }
            "work_orders_lift" => ask("MV", ANYBODYS, format!("/holds/{}", id(&bench["holds"][0]))).seeing(bench.version()),
            "instruments_list" => read(format!("/instruments?owner={}", id(customer))),
            "instruments_add" => ask("GL", DESK_ONLY, "/instruments".to_owned())
                .saying(json!({"owner_id": customer["id"], "instrument": {"family": "tuba"}}))
                .or("/instrument/family", json!("horn")),
            "instruments_read" => read(format!("/instruments/{}", id(instrument))),
            "instruments_amend" => ask("GL", ANYBODYS, format!("/instruments/{}", id(instrument)))
                .seeing(version(instrument))
                .saying(json!({"maker": "Alder"})),
            "instruments_history" => read(format!("/instruments/{}/history", id(instrument))),
            "letters_read" => read(format!("/letters/{}", id(&bench.letters()[0]))),
            "letters_send_again" => ask("GL", ANYBODYS, format!("/letters/{}/send-again", id(&bench.letters()[0]))),
            "work_orders_withdraw_link" => ask("GL", ANYBODYS, format!("/links/{}", id(&bench["links"][0]))).seeing(bench.version()),
            "shop_methods" => read("/methods".to_owned()),
            "shop_add_method" => ask("IF", PROPRIETOR_ONLY, "/methods".to_owned())
                .saying(json!({
                    "name": "Lap a slide", "heat": "none", "minutes": {"low": 20, "typical": 40, "high": 90}, "price": eur("48.00"),
                    "answers": ["slide"], "needs_apart": ["slide_fit"],
                }))
                .or("/name", json!("Lap a hand slide")),
            "shop_amend_method" => {
                let all = self.shop.proprietor().get("/methods").done();
                let braze = all["items"].as_array().unwrap().iter().find(|one| one["name"] == "Braze a crack").unwrap();
                ask("IF", PROPRIETOR_ONLY, format!("/methods/{}", id(braze))).seeing(version(braze)).saying(json!({"heat_c": 700, "price": eur("70.00")}))
            }
            "operations_read" => read(format!("/operations/{}", id(planned))),
            "operations_amend" => {
                ask("MV", BENCH_ONLY, format!("/operations/{}", id(planned))).seeing(version(planned)).saying(json!({"title": "Braze the bow"}))
            }
            "operations_claim" | "operations_give_back" => {
                ask("MV", BENCH_ONLY, format!("/operations/{}/claim", id(planned))).seeing(version(planned))
            }
            "operations_time" => ask("MV", BENCH_ONLY, format!("/operations/{}/time", id(to_do)))
                .saying(json!({"action": "start"}))
                .or("/stop_other", json!(true)),
            "people_list" => read("/people".to_owned()),
            "people_add" => ask("IF", PROPRIETOR_ONLY, "/people".to_owned())
                .saying(json!({"name": "Ruth Amsel", "initials": "RA", "email": "ruth@shop.example", "roles": ["technician"], "password": "a long word for her"}))
                .or("/name", json!("Ruth Amseln")),
            "people_read" => read(format!("/people/{}", self.shop.second_technician().id())),
            "people_invite" => ask("IF", PROPRIETOR_ONLY, format!("/people/{}/invitation", self.invited)),
            "people_amend" => {
                let path = format!("/people/{}", self.shop.second_technician().id());
                let all = self.shop.proprietor().get("/people").done();
                let now = all["items"].as_array().unwrap().iter().find(|one| one["initials"] == "JK").unwrap();
                ask("IF", PROPRIETOR_ONLY, path).seeing(version(now)).saying(json!({"name": "Jonas Kellermann"}))
            }
            "shop_places" => read("/places".to_owned()),
            "quotes_read" => read(format!("/quotes/{}", id(draft))),
            "quotes_replace" => {
                ask("MV", ANYBODYS, format!("/quotes/{}", id(draft))).seeing(version(draft)).saying(json!({"lines": [line(planned)]}))
            }
            "quotes_strike" => ask("MV", ANYBODYS, format!("/quotes/{}", id(draft))).seeing(version(draft)),
            "quotes_decide" => {
                let sent = approval.quote("sent");
                ask("GL", DESK_ONLY, format!("/quotes/{}/decisions", id(sent)))
                    .saying(json!({
                        "quote_version": sent["number"], "content_hash": sent["content_hash"],
                        "answer": "accepted", "how": "phone", "typed_name": "Otto Brenner",
                    }))
                    .or("/typed_name", json!("O. Brenner"))
            }
            "quotes_send" => ask("MV", ANYBODYS, format!("/quotes/{}/send", id(draft))).seeing(diagnosis.version()),
            "sessions_list" => read("/sessions".to_owned()),
            "sessions_sign_in" => {
                ask("MV", ANYBODYS, "/sessions".to_owned()).saying(json!({"email": "mara@shop.example", "password": harness::people::PASSWORD}))
            }
            "sessions_forgotten_password" => ask("MV", ANYBODYS, "/sessions/forgotten-password".to_owned()).saying(json!({"email": "nobody@shop.example"})),
            "sessions_change_password" => ask("MV", ANYBODYS, "/sessions/current/password".to_owned())
                .saying(json!({"old_password": harness::people::PASSWORD, "new_password": "another long word for the bench"})),
            "sessions_current" => read("/sessions/current".to_owned()),
            "sessions_sign_out" => ask("MV", ANYBODYS, "/sessions/current".to_owned()),
            "sessions_refresh" => ask("MV", ANYBODYS, "/sessions/refresh".to_owned()),
            "sessions_end" => {
                let stranger = self.shop.stranger();
                let credentials = json!({"email": "mara@shop.example", "password": harness::people::PASSWORD});
                let signed_in = stranger.post("/sessions", &credentials).done();
                let mara = stranger.with_token(signed_in["access_token"].as_str().unwrap());
                let all = mara.get("/sessions").done();
                ask("MV", ANYBODYS, format!("/sessions/{}", id(&all["items"][0])))
            }
            "shop_read" => read("/shop".to_owned()),
            "shop_amend" => {
                let now = self.shop.proprietor().get("/shop").done();
                ask("IF", PROPRIETOR_ONLY, "/shop".to_owned()).seeing(version(&now)).saying(json!({"address": "Mill Road 3"}))
            }
            "work_orders_list" => read("/work-orders".to_owned()),
            "work_orders_check_in" => ask("GL", DESK_ONLY, "/work-orders".to_owned())
                .saying(json!({
                    "customer": {"name": "Ida Holm"}, "instrument": {"family": "tuba"},
                    "complaint": "It rattles.", "promised_on": self.shop.clock().in_days(10),
                }))
                .or("/complaint", json!("It buzzes.")),
            "work_orders_read" => read(format!("/work-orders/{bench}")),
            "work_orders_amend" => ask("GL", DESK_ONLY, format!("/work-orders/{bench}"))
                .seeing(bench.version())
                .saying(json!({"complaint": "It hisses and rattles."})),
            "work_orders_strike_payment" => ask("GL", DESK_ONLY, format!("/payments/{}/strike", id(&order("undrafted")["payments"][0])))
                .saying(json!({"reason": "typed on the wrong order"}))
                .or("/reason", json!("taken twice")),
            "work_orders_claim" => {
                let intake = order("intake");
                ask("MV", BENCH_ONLY, format!("/work-orders/{intake}/claim")).seeing(intake.version()).saying(json!({}))
            }
            "work_orders_give_back" => ask("MV", BENCH_ONLY, format!("/work-orders/{bench}/claim")).seeing(bench.version()),
            "work_orders_done_at_counter" => {
                let intake = order("intake");
                ask("PB", &["GL", "MV"], format!("/work-orders/{intake}/done-at-counter"))
                    .seeing(intake.version())
                    .saying(json!({
                        "operations": [{"title": "Free the mouthpiece", "price": eur("10.00")}],
                        "test": {"kind": "leak_test", "verdict": "passed"},
                        "handover": {"how": "collected", "collected_by": "Otto Brenner", "payment": {"amount": eur("10.00"), "how": "cash"}},
                    }))
                    .or("/handover/collected_by", json!("O. Brenner"))
            }
            "work_orders_end" => ask("GL", DESK_ONLY, format!("/work-orders/{approval}/ending"))
                .seeing(approval.version())
                .saying(json!({"because": "withdrawn", "reason": "sold"}))
                .or("/reason", json!("lost interest")),
            "work_orders_take_ending_back" => {
                let ending = order("ending");
                ask("GL", ANYBODYS, format!("/work-orders/{ending}/ending")).seeing(ending.version())
            }
            "work_orders_confirm_ending" => {
                let ending = order("ending");
                ask("MV", BENCH_ONLY, format!("/work-orders/{ending}/ending/confirmation")).seeing(ending.version())
            }
            "findings_record" => ask("MV", BENCH_ONLY, format!("/work-orders/{diagnosis}/findings"))
                .saying(crack("ferrule").leaking())
                .or("/part", json!("second ferrule")),
            "work_orders_hand_over" => {
                let pickup = order("pickup");
                ask("GL", DESK_ONLY, format!("/work-orders/{pickup}/handover"))
                    .seeing(pickup.version())
                    .saying(json!({
                        "how": "collected", "collected_by": "Otto Brenner", "payment": {"amount": pickup["money"]["due"], "how": "cash"},
                    }))
                    .or("/collected_by", json!("O. Brenner"))
            }
            "work_orders_hold" => ask("MV", ANYBODYS, format!("/work-orders/{bench}/holds"))
                .saying(json!({"reason": "parts", "look_again_on": self.shop.clock().in_days(7), "supplier": "Reedmouth Supplies", "note": "a ferrule"}))
                .or("/note", json!("two ferrules")),
            "letters_of_order" => read(format!("/work-orders/{bench}/letters")),
            "work_orders_links" => read(format!("/work-orders/{bench}/links")),
            "work_orders_issue_link" => ask("GL", ANYBODYS, format!("/work-orders/{approval}/links"))
                .saying(json!({"purpose": "status"}))
                .or("/purpose", json!("answer")),
            "papers_tag" => ask("GL", ANYBODYS, format!("/work-orders/{bench}/tag"))
                .saying(json!({"paper": "tag_a6"}))
                .or("/paper", json!("label_62")),
            "papers_receipt" => ask("GL", ANYBODYS, format!("/work-orders/{bench}/receipt"))
                .saying(json!({"paper": "a4"}))
                .or("/paper", json!("a5")),
            "ring_list_read" => read("/ring-list".to_owned()),
            "ring_list_calls" => read(format!("/work-orders/{bench}/calls")),
            "ring_list_note" => ask("GL", ANYBODYS, format!("/work-orders/{bench}/calls"))
                .saying(json!({"customer_id": bench["customer"]["id"], "outcome": "no_answer"}))
                .or("/outcome", json!("spoke")),
            "ring_list_strike" => {
                let calls = self.shop.front_desk().get(&format!("/work-orders/{bench}/calls")).done();
                ask("GL", ANYBODYS, format!("/calls/{}/strike", id(&calls["items"][0])))
                    .saying(json!({"reason": "asked for by the customer"}))
                    .or("/reason", json!("of somebody else"))
            }
            "work_orders_note" => ask("MV", ANYBODYS, format!("/work-orders/{bench}/notes"))
                .saying(json!({"text": "rings at nine"}))
                .or("/text", json!("rings at ten")),
            "operations_add" => ask("MV", BENCH_ONLY, format!("/work-orders/{diagnosis}/operations"))
                .saying(json!({"title": "Dent out", "price": eur("20.00")}))
                .or("/title", json!("Dents out")),
            "work_orders_pay" => ask("GL", DESK_ONLY, format!("/work-orders/{bench}/payments"))
                .saying(json!({"amount": eur("10.00"), "kind": "deposit", "how": "cash"}))
                .or("/note", json!("in coins")),
            "quotes_draft" => ask("MV", ANYBODYS, format!("/work-orders/{}/quotes", order("undrafted")))
                .saying(json!({"lines": [{"kind": "labour", "text": "Dent out", "unit_price": "20.00"}]}))
                .or("/message", json!("It would ring better.")),
            "work_orders_stage_changes" => read(format!("/work-orders/{bench}/stage-changes")),
            "work_orders_change_stage" => ask("IF", PROPRIETOR_ONLY, format!("/work-orders/{bench}/stage-changes"))
                .seeing(bench.version())
                .saying(json!({"to": "closed", "because": "otherwise_settled", "reason": "bought by the shop"}))
                .or("/reason", json!("kept by the shop")),
            "work_orders_record_test" => ask("MV", BENCH_ONLY, format!("/work-orders/{}/tests", order("leak_test")))
                .saying(json!({"kind": "leak_test", "method": "bubbles", "verdict": "passed"}))
                .or("/note", json!("dry")),
            "shop_family_part_map" => read("/families/trumpet/part-map".to_owned()),
            "instruments_part_map" => read(format!("/instruments/{}/part-map", id(instrument))),
            "instruments_amend_part_map" => ask("MV", BENCH_ONLY, format!("/instruments/{}/part-map", id(instrument)))
                .seeing(0)
                .saying(json!({"parts": [{"part": "bell", "wall_mm": 0.62}]})),
            "instruments_replace_part_map" => {
                let path = format!("/instruments/{}/part-map", id(instrument));
                let map = self.shop.technician().get(&path).done()["map"].clone();
                ask("MV", BENCH_ONLY, path).seeing(0).saying(map)
            }
            "work_orders_order_map" => read(format!("/work-orders/{bench}/map")),
            "work_orders_plan" => read(format!("/work-orders/{bench}/plan")),
            "work_orders_fix_plan" => ask("MV", BENCH_ONLY, format!("/work-orders/{diagnosis}/plan"))
                .seeing(0)
                .saying(json!({"steps": [{"kind": "operation", "operation_id": planned["id"]}], "reason": "as the bench likes it"})),
            "work_orders_choose_way" => {
                let hot = order("hot");
                let plan = self.shop.technician().get(&format!("/work-orders/{hot}/plan")).done();
                let conflict = &plan["conflicts"][0];
                let ways = conflict["ways"].as_array().unwrap();
                let way = ways.iter().find(|way| way["allowed"] == true && way["method_id"].is_null()).unwrap();
                ask("MV", BENCH_ONLY, format!("/work-orders/{hot}/plan/ways"))
                    .seeing(hot.version())
                    .saying(json!({"operation_id": conflict["operation_id"], "joint": conflict["joint"]["id"], "how": way["how"]}))
                    .or("/operation_id", json!("00000000-0000-7000-8000-000000000000"))
            }
            "shop_bench" => read("/shop/bench".to_owned()),
            "shop_set_bench" => {
                let typical = self.shop.proprietor().get("/shop/bench").done()["settings"].clone();
                ask("IF", PROPRIETOR_ONLY, "/shop/bench".to_owned()).seeing(0).saying(typical)
            }
            "work_orders_preview_test" => {
                let readings: Vec<Value> = (0..31).map(|second| json!({"t_s": second, "gauge_pa": 3000 - second})).collect();
                ask("MV", BENCH_ONLY, format!("/work-orders/{}/tests/preview", order("leak_test"))).saying(json!({"readings": readings, "volume_m3": 0.0026}))
            }
            "work_orders_tests" => read(format!("/work-orders/{bench}/tests")),
            "work_orders_fit_checks" => read(format!("/work-orders/{bench}/fit-checks")),
            "work_orders_check_fit" => ask("MV", BENCH_ONLY, format!("/work-orders/{diagnosis}/fit-checks"))
                .saying(json!({"fit_kind": "tuning_slide", "part": "main tuning slide", "measured": a_fit()}))
                .or("/part", json!("second slide")),
            "work_orders_preview_fit_check" => ask("MV", BENCH_ONLY, format!("/work-orders/{diagnosis}/fit-checks/preview"))
                .saying(json!({"fit_kind": "tuning_slide", "measured": a_fit()})),
            "forecast_read" => read("/forecast".to_owned()),
            "forecast_of_new" => ask("MV", ANYBODYS, "/forecast".to_owned()).saying(json!({"orders": [{"family": "trumpet"}]})),
            "evening_read" => read("/evening".to_owned()),
            "evening_look" => ask("MV", ANYBODYS, "/evening/bench-looks".to_owned()),
            unknown => panic!("say in sweeps/scene.rs what a good request to {unknown} looks like, and whose it is"),
        }
    }
}

/// A tube in another, each measured at two places in four directions.
pub fn a_fit() -> Value {
    let tube = |mean_mm: f64| {
        let station = |at: i32| {
            let diameters: Vec<Value> = [0, 45, 90, 135].iter().map(|angle| json!({"angle_deg": angle, "diameter_mm": mean_mm})).collect();
            json!({"at_mm": at, "diameters": diameters})
        };
        json!([station(0), station(20), station(40)])
    };
    json!({"inner": tube(11.6), "outer": tube(11.645)})
}

impl Good {
    fn seeing(self, version: i64) -> Self {
        Self { seen: Some(version), ..self }
    }

    fn saying(self, body: Value) -> Self {
        Self { body: Some(body), ..self }
    }

    /// With this field, it is another request.
    fn or(self, pointer: &str, value: Value) -> Self {
        let mut other = self.body.clone().unwrap();
        let (parent, field) = pointer.rsplit_once('/').unwrap();
        other.pointer_mut(parent).unwrap()[field] = value;
        Self { other_body: Some(other), ..self }
    }
}
