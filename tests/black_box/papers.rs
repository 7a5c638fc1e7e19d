//! What is printed at the counter: who may, what stands on it, and whether a reader that is not
//! ours reads its squares.

use harness::smtp::python;
use harness::{Order, TestShop, baritone, trumpet};
use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Stdio};

/// The path of an address.
fn path(url: &str) -> String {
    let rest = url.split_once("://").unwrap().1;
    rest[rest.find('/').unwrap()..].to_owned()
}

/// A square on a page, as its drawing says.
struct Square {
    width_mm: f64,
    modules: usize,
    runs: Vec<(usize, usize, usize)>,
}

fn squares(html: &str) -> Vec<Square> {
    let attribute = |words: &str, name: &str| words.split(&format!("{name}=\"")).nth(1).unwrap().split('"').next().unwrap().to_owned();
    html.split("<svg class=\"square\"")
        .skip(1)
        .map(|rest| {
            let drawn = rest.split("</svg>").next().unwrap();
            let path = attribute(drawn.split("<path").nth(1).unwrap(), " d");
            let number = |words: &str| words.parse::<usize>().unwrap();
            Square {
                width_mm: attribute(drawn, " width").trim_end_matches("mm").parse().unwrap(),
                modules: number(attribute(drawn, "viewBox").split(' ').nth(2).unwrap()),
                runs: path
                    .split('M')
                    .skip(1)
                    .map(|run| {
                        let (at, rest) = run.split_once('h').unwrap();
                        let (x, y) = at.split_once(' ').unwrap();
                        (number(x), number(y), number(rest.split('v').next().unwrap()))
                    })
                    .collect(),
            }
        })
        .collect()
}

/// Dots per millimetre of a label printer of 203 dots per inch.
const DOTS: f64 = 8.0;

impl Square {
    /// As the printer puts it on paper: a grey byte for each dot.
    fn printed(&self) -> (usize, Vec<u8>) {
        let side = (self.width_mm * DOTS).round() as usize;
        let module = |dot: usize| dot * self.modules / side;
        let mut dark = vec![false; self.modules * self.modules];
        for (x, y, run) in &self.runs {
            dark[y * self.modules + x..y * self.modules + x + run].fill(true);
        }
        let dots = (0..side * side).map(|at| if dark[module(at / side) * self.modules + module(at % side)] { 0 } else { 255 });
        (side, dots.collect())
    }

    /// The side of the square alone, mm.
    fn square_mm(&self) -> f64 {
        self.width_mm * (self.modules - 8) as f64 / self.modules as f64
    }
}

/// One dot in five is the other colour: a worn print head, a dusty roll. Always the same dots.
fn damaged(mut dots: Vec<u8>, seed: u64) -> Vec<u8> {
    let mut state = seed;
    for dot in &mut dots {
        // Knuth's linear congruential generator (MMIX); its upper bits are good enough for dust.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        if (state >> 33).is_multiple_of(5) {
            *dot = 255 - *dot;
        }
    }
    dots
}

/// A blot over the last corner, an eighth of the square: level M restores up to 15 in 100.
fn blotted(square: &Square, (side, mut dots): (usize, Vec<u8>)) -> (usize, Vec<u8>) {
    let module = side / square.modules;
    let inner = side - 8 * module;
    let blot = (inner as f64 / 8.0_f64.sqrt()) as usize;
    let end = side - 4 * module;
    for row in dots.chunks_mut(side).take(end).skip(end - blot) {
        row[end - blot..end].fill(255);
    }
    (side, dots)
}

/// As a lens sees it: each dot is the mean of itself and its neighbours within so many dots.
fn through_a_lens((side, dots): &(usize, Vec<u8>), reach: usize) -> (usize, Vec<u8>) {
    let mean = |at: usize| {
        let (y, x) = (at / side, at % side);
        let rows = y.saturating_sub(reach)..=(y + reach).min(side - 1);
        let near: Vec<u32> =
            rows.flat_map(|y| dots[y * side + x.saturating_sub(reach)..=y * side + (x + reach).min(side - 1)].iter().map(|dot| u32::from(*dot))).collect();
        u8::try_from(near.iter().sum::<u32>() / u32::try_from(near.len()).unwrap()).unwrap()
    };
    (*side, (0..side * side).map(mean).collect())
}

/// What is read of each picture in one of several looks, sharper and less sharp, as a phone looks.
fn looked_at(pictures: &[(usize, Vec<u8>)]) -> Vec<String> {
    let looks: Vec<Vec<String>> = [&[0][..], &[1], &[2], &[1, 1], &[2, 2]]
        .into_iter()
        .map(|reaches| {
            let seen = |picture: &(usize, Vec<u8>)| reaches.iter().fold(picture.clone(), |seen, reach| through_a_lens(&seen, *reach));
            read(&pictures.iter().map(seen).collect::<Vec<_>>())
        })
        .collect();
    (0..pictures.len()).map(|at| looks.iter().map(|look| look[at].clone()).find(|words| !words.is_empty()).unwrap_or_default()).collect()
}

/// What a reader that is not ours reads.
fn read(pictures: &[(usize, Vec<u8>)]) -> Vec<String> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/harness/read_squares.py");
    let mut reader = Command::new(python()).arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let mut stdin = reader.stdin.take().unwrap();
    for (side, dots) in pictures {
        writeln!(stdin, "{side} {side}").unwrap();
        stdin.write_all(dots).unwrap();
    }
    drop(stdin);
    let output = reader.wait_with_output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap().lines().map(ToOwned::to_owned).collect()
}

fn html(paper: &Value) -> &str {
    paper["html"].as_str().unwrap()
}

fn url(paper: &Value, index: usize) -> &str {
    paper["links"][index]["url"].as_str().unwrap()
}

/// What was left with the shop, with everything a paper may have to say.
fn left_with_everything(shop: &TestShop) -> Order {
    let visit = baritone()
        .may_cost("340.00")
        .examined_for("20.00")
        .with("complaint", json!("Hard to blow <since> the spring."))
        .with("counter_marks", json!([{"part": "bell", "kind": "dent"}, {"part": "valve casings", "kind": "lacquer_gone"}]))
        .with("condition_note", json!("red rot at the leadpipe"))
        .with("keep_as_is", json!("the engraving"))
        .with("accessories", json!(["case", "oil"]))
        .with("loaner_number", json!("L 7"))
        .with("old_parts_back", json!(true))
        .with("instrument", json!({"family": "baritone", "maker": "Alder & Sons", "serial_number": "40711", "owners_number": "B 12"}));
    shop.checked_in(&visit)
}

#[test]
fn the_squares_of_every_paper_are_read_at_203_dots_an_inch_with_one_dot_in_five_wrong() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = left_with_everything(&shop);
    let tag = greta.post(&format!("/work-orders/{order}/tag"), &json!({"paper": "tag_a6"})).done();
    let label = greta.post(&format!("/work-orders/{order}/tag"), &json!({"paper": "label_62"})).done();
    let receipt = greta.post(&format!("/work-orders/{order}/receipt"), &json!({"paper": "a5"})).done();
    let staff = path(url(&tag, 0));
    let staff = url(&tag, 0).replace(&staff, &format!("/work-orders/{}", order.claim_number()));
    let wanted = [staff.as_str(), url(&tag, 0), staff.as_str(), url(&receipt, 0)];
    let found: Vec<Square> = [&tag, &label, &receipt].into_iter().flat_map(|paper| squares(html(paper))).collect();
    assert_eq!(found.len(), wanted.len());
    for square in &found {
        assert!(square.square_mm() >= 19.0, "{} mm", square.square_mm());
        let quiet = square.runs.iter().all(|(x, y, run)| *x >= 4 && *y >= 4 && x + run <= square.modules - 4 && *y < square.modules - 4);
        assert!(quiet, "four free modules all round");
        // Each module is as many dots as every other.
        let dots = square.width_mm * DOTS / square.modules as f64;
        assert!((dots - dots.round()).abs() < 1e-9, "{dots} dots for a module");
    }
    let clean: Vec<_> = found.iter().map(Square::printed).collect();
    assert_eq!(read(&clean), wanted);
    for seed in 1..=5 {
        let dusty: Vec<_> = clean.iter().map(|(side, dots)| (*side, damaged(dots.clone(), seed))).collect();
        assert_eq!(looked_at(&dusty), wanted, "dust {seed}");
    }
    let blots: Vec<_> = found.iter().zip(clean).map(|(square, picture)| blotted(square, picture)).collect();
    assert_eq!(looked_at(&blots), wanted);
}

#[test]
fn the_shops_half_needs_a_sign_in_and_only_stub_and_receipt_open_the_customers_page() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.checked_in(&baritone());
    let before = shop.look_at(&order);
    let label = greta.post(&format!("/work-orders/{order}/tag"), &json!({"paper": "label_62"})).done();
    assert_eq!(label["links"], json!([]));
    assert!(!html(&label).contains("/status/"));
    assert_eq!(shop.look_at(&order).version(), before.version(), "a label changes nothing");
    let tag = greta.post(&format!("/work-orders/{order}/tag"), &json!({"paper": "tag_a6"})).done();
    let receipt = greta.post(&format!("/work-orders/{order}/receipt"), &json!({})).done();
    assert_ne!(url(&tag, 0), url(&receipt, 0), "each paper has a link of its own");
    let known = before["links"].as_array().unwrap().len();
    assert_eq!(shop.look_at(&order)["links"].as_array().unwrap().len(), known + 2);
    let stranger = shop.stranger();
    for paper in [&tag, &receipt] {
        let page = stranger.get(&path(url(paper, 0)));
        assert_eq!(page.status, 200);
        assert!(page.text().contains(order.claim_number()));
    }
    // What the tag's upper half names is the staff client, whose API asks who is there.
    assert_eq!(stranger.get(&format!("/api/v1/work-orders/{}", order.claim_number())).status, 401);
    // Printing again leaves the stub that the customer has already as it was; withdrawing ends it.
    greta.post(&format!("/work-orders/{order}/tag"), &json!({"paper": "tag_a6"})).done();
    assert_eq!(stranger.get(&path(url(&tag, 0))).status, 200);
    let seen = shop.look_at(&order).version();
    greta.request("DELETE", &format!("/links/{}", tag["links"][0]["id"].as_str().unwrap())).seen(seen).send().done();
    assert_eq!(stranger.get(&path(url(&tag, 0))).status, 410);
    assert_eq!(stranger.get(&path(url(&receipt, 0))).status, 200);
}

#[test]
fn looking_issues_no_link_and_a_repeated_print_issues_one() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let order = shop.checked_in(&baritone());
    let known = shop.look_at(&order)["links"].clone();
    for what in ["tag", "receipt"] {
        greta.get(&format!("/work-orders/{order}/{what}")).refused(405, "wrong-method");
    }
    for page in ["", "/letters", "/links", "/map"] {
        greta.get(&format!("/work-orders/{order}{page}")).done();
    }
    assert_eq!(shop.look_at(&order)["links"], known);
    let print = || {
        greta.request("POST", &format!("/work-orders/{order}/receipt")).once("pressed-twice").body(&json!({"paper": "a4"})).send().done()
    };
    let (first, second) = (print(), print());
    assert_eq!(first, second);
    assert_eq!(shop.look_at(&order)["links"].as_array().unwrap().len(), known.as_array().unwrap().len() + 1);
}

#[test]
fn a_receipt_says_what_was_left_said_seen_and_agreed() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let settings = greta.get("/shop").done();
    let terms = json!({"terms": "Uncollected goods: ask us.\nOld metal stays here."});
    shop.proprietor().request("PATCH", "/shop").seen(settings["version"].as_i64().unwrap()).body(&terms).send().done();
    let order = left_with_everything(&shop);
    greta.takes_payment(&order, "50.00").done();
    let receipt = greta.post(&format!("/work-orders/{order}/receipt"), &json!({})).done();
    let words = harness::mailbox::visible(html(&receipt));
    for said in [
        order.claim_number(), "Baritone, Alder & Sons", "no. 40711", "owner’s no. B 12", "Case and oil", "Not with it: mouthpiece",
        "Hard to blow <since> the spring.", "D dent, bell; L lacquer gone, valve casings", "red rot at the leadpipe", "the engraving",
        "Up to €340.00", "Examination €20.00", "Deposit paid: €50.00", "the old parts back", "loaner no. L 7", "Uncollected goods: ask us.",
        "customer: so it was left with you", "for the shop", "not a tax invoice", "Otto Brenner",
    ] {
        assert!(words.contains(said), "{said:?} is missing: {words}");
    }
    assert!(!html(&receipt).contains("<since>"), "what was typed is no markup");
    for odds in ["of 20", "P85", "likely"] {
        assert!(!words.contains(odds), "odds stay in the shop: {words}");
    }
    // The tag and the label say of the same what there is room for.
    for paper in ["tag_a6", "label_62"] {
        let words = harness::mailbox::visible(html(&greta.post(&format!("/work-orders/{order}/tag"), &json!({"paper": paper})).done()));
        for said in [order.claim_number(), "Baritone, Alder & Sons", "no. 40711", "owner’s no. B 12", "Keep as it is: the engraving", "Hard to blow", "€340.00", "Promised"] {
            assert!(words.contains(said), "{said:?} is missing on {paper}: {words}");
        }
    }
}

#[test]
fn what_one_customer_leaves_together_is_on_one_receipt_and_another_customers_is_not() {
    let shop = TestShop::open();
    let greta = shop.front_desk();
    let first = shop.checked_in(&baritone());
    let customer = first["customer"]["id"].clone();
    let also = |serial: &str| {
        let mut visit = trumpet().with("customer_id", customer.clone());
        visit.0.as_object_mut().unwrap().remove("customer");
        visit.0["instrument"]["serial_number"] = json!(serial);
        shop.checked_in(&visit)
    };
    let (second, third) = (also("T 1"), also("T 2"));
    let other = shop.checked_in(&trumpet().with("customer", json!({"name": "Ada Lund", "email": "ada@player.example"})).with("instrument", json!({"family": "trumpet", "serial_number": "A 1"})));
    let receipt = |together: &[&Value]| greta.post(&format!("/work-orders/{first}/receipt"), &json!({"together_with": together}));
    let paper = receipt(&[&second["id"], &third["id"]]).done();
    let words = harness::mailbox::visible(html(&paper));
    assert!(words.contains("We have your three instruments"), "{words}");
    assert_eq!(paper["links"].as_array().unwrap().len(), 3);
    for (index, order) in [&first, &second, &third].into_iter().enumerate() {
        assert!(words.contains(order.claim_number()));
        let page = shop.stranger().get(&path(url(&paper, index))).text();
        assert!(page.contains(order.claim_number()), "each square opens its own instrument");
    }
    let strange = json!("00000000-0000-7000-8000-000000000000");
    for (together, pointer) in [(vec![&other["id"]], "/together_with/0"), (vec![&second["id"], &second["id"]], "/together_with/1"), (vec![&strange], "/together_with/0")] {
        assert_eq!(receipt(&together).refused(422, "invalid-input").pointers(), [pointer]);
    }
    assert_eq!(shop.look_at(&other)["links"], other["links"], "a refusal issues nothing");
}

#[test]
fn another_shop_prints_nothing_of_ours() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let stranger = shop.in_another_shop();
    for (what, body) in [("tag", json!({"paper": "tag_a6"})), ("tag", json!({"paper": "label_62"})), ("receipt", json!({}))] {
        stranger.post(&format!("/work-orders/{}/{what}", order["id"].as_str().unwrap()), &body).refused(404, "absent");
    }
    assert_eq!(shop.look_at(&order).version(), order.version());
    shop.stranger().post(&format!("/work-orders/{order}/tag"), &json!({"paper": "label_62"})).refused(401, "not-signed-in");
}
