//! Photos: what is kept of them, who sees them, and what becomes of them.

use exif::{In, Tag};
use harness::pictures::{from_a_phone, jpeg, png};
use harness::{Order, Person, TestShop, baritone, crack, line, step};
use serde_json::{Value, json};
use std::io::Cursor;
use std::path::Path;

const OTTO: &str = "otto@player.example";

fn id(value: &Value) -> &str {
    value["id"].as_str().unwrap()
}

fn picture(who: &Person, photo: &Value, size: &str) -> Vec<u8> {
    let answer = who.get(&format!("/photos/{}/picture?size={size}", id(photo)));
    assert_eq!(answer.status, 200, "{answer}");
    answer.bytes
}

/// Every file below a folder.
fn files(folder: &Path) -> Vec<std::path::PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    entries
        .flat_map(|entry| {
            let path = entry.unwrap().path();
            if path.is_dir() { files(&path) } else { vec![path] }
        })
        .collect()
}

fn holds(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).any(|window| window == word)
}

/// The path of an address, below its server.
fn below(url: &str, page: &str) -> String {
    url.find(page).map(|at| url[at..].to_owned()).unwrap()
}

#[test]
fn a_photo_is_added_in_its_sizes_and_stands_on_its_order_and_in_the_history() {
    let shop = TestShop::open();
    let order = shop.in_diagnosis(&baritone());
    let mara = shop.technician();
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    let before = shop.look_at(&order).version();
    let answer = mara.adds_photo(&order, &format!("finding_id={}&caption=the%20crack%2C%20wetted", id(&found)), jpeg(2000, 1500));
    assert_eq!(answer.status, 201, "{answer}");
    let photo = answer.json();
    assert_eq!(
        photo["sizes"],
        json!([
            {"size": "480", "width_px": 480, "height_px": 360},
            {"size": "1600", "width_px": 1600, "height_px": 1200},
            {"size": "original", "width_px": 2000, "height_px": 1500},
        ])
    );
    assert_eq!((&photo["caption"], &photo["finding_id"], &photo["shared"]), (&json!("the crack, wetted"), &found["id"], &json!(false)));
    assert_eq!(photo["by"]["initials"], "MV");
    let now = shop.look_at(&order);
    assert_eq!(now["photos"], json!([mara.get(&format!("/photos/{}", id(&photo))).done()]));
    assert_eq!(now.version(), before + 1, "whoever looks at the order is told");
    for (size, width, height) in [("480", 480, 360), ("1600", 1600, 1200), ("original", 2000, 1500)] {
        let kept = image::load_from_memory(&picture(&mara, &photo, size)).unwrap();
        assert_eq!((kept.width(), kept.height()), (width, height), "{size}");
    }
    let history = mara.get(&format!("/instruments/{}/history", id(&now["instrument"]))).done();
    assert_eq!(history["visits"][0]["photos"][0]["id"], photo["id"]);
    assert_eq!(history["visits"][0]["photos"][0]["small"], json!({"size": "480", "width_px": 480, "height_px": 360}));
    let small = mara.get(&format!("/photos/{}/picture?size=480", id(&photo)));
    assert_eq!(small.header("cache-control"), Some("private, no-cache"));
    assert_eq!(small.header("content-type"), Some("image/jpeg"));
    let seen = mara.request("GET", &format!("/photos/{}/picture?size=480", id(&photo))).header("If-None-Match", small.header("etag").unwrap());
    assert_eq!(seen.send().status, 304);
}

/// ASVS 14.2.8. Read by an Exif reader that is not ours.
#[test]
fn what_a_phone_writes_of_the_place_is_in_none_of_the_files() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let sent = from_a_phone(800, 600);
    let read = |bytes: &[u8]| exif::Reader::new().read_from_container(&mut Cursor::new(bytes)).ok();
    let told = read(&sent).expect("the test's own picture has Exif");
    assert!(told.get_field(Tag::GPSLatitude, In::PRIMARY).is_some() && told.get_field(Tag::Make, In::PRIMARY).is_some());
    let greta = shop.front_desk();
    let photo = greta.adds_photo(&order, "", sent).done();
    for size in ["original", "1600", "480"] {
        let kept = picture(&greta, &photo, size);
        assert!(!holds(&kept, b"CANARY"), "{size}");
        let fields: Vec<String> = read(&kept).iter().flat_map(|told| told.fields()).map(|field| field.tag.to_string()).collect();
        assert_eq!(fields, if size == "original" { vec!["Orientation".to_owned()] } else { Vec::new() }, "{size}");
    }
    let on_disk = files(&shop.photo_files());
    assert_eq!(on_disk.len(), 3);
    for file in on_disk {
        assert!(!holds(&std::fs::read(&file).unwrap(), b"CANARY"), "{}", file.display());
    }
    // It was held sideways.
    assert_eq!(photo["sizes"][2], json!({"size": "original", "width_px": 600, "height_px": 800}));
    let small = image::load_from_memory(&picture(&greta, &photo, "480")).unwrap();
    assert_eq!((small.width(), small.height()), (360, 480));
}

/// ASVS 5.2.1, 5.2.2, 5.2.6.
#[test]
fn what_is_no_picture_or_too_much_of_one_is_refused_and_nothing_is_kept() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let greta = shop.front_desk();
    let send = |kind: &str, body: Vec<u8>| greta.request("POST", &format!("/work-orders/{order}/photos")).raw_body(kind, body).send();
    // By its head 60,000 by 60,000 pixels, which unpacked would be ten gigabytes.
    let mut flood = jpeg(64, 64);
    let frame = flood.windows(2).position(|pair| pair == [0xff, 0xc0]).unwrap();
    flood[frame + 5..frame + 9].copy_from_slice(&[0xea, 0x60, 0xea, 0x60]);
    let refusal = send("image/jpeg", flood).refused(413, "too-large");
    assert!(refusal.body["detail"].as_str().unwrap().contains("50 megapixels"));
    let mut heavy = jpeg(64, 64);
    heavy.resize(20 * 1024 * 1024 + 1, 0);
    send("image/jpeg", heavy).refused(413, "too-large");
    // What a file says it is counts for nothing.
    send("image/jpeg", b"GIF89a............".to_vec()).refused(415, "wrong-type");
    send("image/jpeg", b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec()).refused(415, "wrong-type");
    send("application/octet-stream", jpeg(64, 64)).refused(415, "wrong-type");
    send("application/json", b"{}".to_vec()).refused(415, "wrong-type");
    for heic in ["image/heic", "image/jpeg"] {
        let refusal = send(heic, b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".to_vec()).refused(415, "wrong-type");
        assert!(refusal.body["detail"].as_str().unwrap().contains("Most Compatible"), "it says what to do");
    }
    let whole = jpeg(300, 200);
    send("image/jpeg", whole[..whole.len() / 2].to_vec()).refused(422, "invalid-input");
    let long = "x".repeat(201);
    let refusal = greta.adds_photo(&order, &format!("caption={long}"), jpeg(64, 64)).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["caption"]);
    greta.adds_photo(&order, "camera=mine", jpeg(64, 64)).refused(422, "invalid-input");
    let nobodys = greta.adds_photo(&order, "finding_id=0190c0de-0000-7000-8000-000000000001", jpeg(64, 64)).refused(422, "invalid-input");
    assert_eq!(nobodys.pointers(), ["finding_id"]);
    greta.adds_photo("0190c0de-0000-7000-8000-000000000001", "", jpeg(64, 64)).refused(404, "absent");
    assert_eq!(shop.look_at(&order)["photos"], json!([]));
    assert_eq!(files(&shop.photo_files()), Vec::<std::path::PathBuf>::new(), "no half photo");
    // A picture of another kind than it says, but one that can be kept, is what it is.
    let kept = send("image/jpeg", png(64, 48)).done();
    assert_eq!(kept["media_type"], "image/png");
}

#[test]
fn rule_7_a_photo_sent_twice_under_one_key_is_one_photo() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let greta = shop.front_desk();
    let send = |beside: &str, body: Vec<u8>| {
        greta.request("POST", &format!("/work-orders/{order}/photos?{beside}")).raw_body("image/jpeg", body).once("photo-1").send()
    };
    let (first, again) = (send("caption=bell", jpeg(90, 60)), send("caption=bell", jpeg(90, 60)));
    assert_eq!((first.status, first.text()), (again.status, again.text()));
    send("caption=bow", jpeg(90, 60)).refused(422, "key-reused");
    send("caption=bell", jpeg(91, 60)).refused(422, "key-reused");
    assert_eq!(shop.look_at(&order)["photos"].as_array().unwrap().len(), 1);
    assert_eq!(files(&shop.photo_files()).len(), 3, "no files of nobody's are left");
    // The same picture under another key is another photo with files of its own.
    let other = greta.adds_photo(&order, "", jpeg(90, 60)).done();
    greta.amends_photo(&other, &json!({"struck_reason": "taken twice"})).done();
    assert!(!picture(&greta, &first.json(), "480").is_empty());
}

#[test]
fn a_struck_photo_keeps_who_when_and_why_and_no_picture() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let greta = shop.front_desk();
    let photo = greta.adds_photo(&order, "shared=true", jpeg(90, 60)).done();
    let link = greta.issues_link(&order, "status");
    let page = shop.stranger().get(&below(link["url"].as_str().unwrap(), "/status/")).text();
    let address = page.split("src=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    assert_eq!(shop.stranger().get(&address).status, 200);
    let refusal = greta.amends_photo(&photo, &json!({"struck_reason": " "})).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/struck_reason"]);
    let struck = shop.technician().amends_photo(&photo, &json!({"struck_reason": "shows a person"})).done();
    assert_eq!((&struck["struck_reason"], &struck["struck_by"]["initials"], &struck["sizes"]), (&json!("shows a person"), &json!("MV"), &json!([])));
    assert!(struck["struck_at"].is_string());
    greta.get(&format!("/photos/{}/picture", id(&photo))).refused(404, "absent");
    assert_eq!(shop.stranger().get(&address).status, 404);
    assert_eq!(files(&shop.photo_files()), Vec::<std::path::PathBuf>::new());
    greta.amends_photo(&struck, &json!({"shared": false})).refused(409, "struck");
    greta.amends_photo(&photo, &json!({"shared": false})).refused(412, "stale");
    assert_eq!(shop.look_at(&order)["photos"][0]["struck_reason"], "shows a person", "rule 9: the record stays");
}

#[test]
fn a_photo_is_pinned_to_a_finding_of_its_order_and_taken_off_again() {
    let shop = TestShop::open();
    let (order, other) = (shop.in_diagnosis(&baritone()), shop.in_diagnosis(&baritone()));
    let mara = shop.technician();
    let found = mara.finds(&order, &crack("bell bow").leaking()).done();
    let elsewhere = mara.finds(&other, &crack("bell bow").leaking()).done();
    let photo = mara.adds_photo(&order, "", jpeg(90, 60)).done();
    let refusal = mara.amends_photo(&photo, &json!({"finding_id": elsewhere["id"]})).refused(422, "invalid-input");
    assert_eq!(refusal.pointers(), ["/finding_id"]);
    let pinned = mara.amends_photo(&photo, &json!({"finding_id": found["id"], "caption": "wetted"})).done();
    assert_eq!((&pinned["finding_id"], &pinned["caption"]), (&found["id"], &json!("wetted")));
    let shared = mara.amends_photo(&pinned, &json!({"shared": true})).done();
    assert_eq!((&shared["finding_id"], &shared["shared"]), (&found["id"], &json!(true)), "what is left out stays");
    let off = mara.amends_photo(&shared, &json!({"finding_id": null, "caption": ""})).done();
    assert_eq!((&off["finding_id"], &off["caption"]), (&Value::Null, &Value::Null));
}

/// On the bench with a second crack and its photo, asked about.
fn asked_with_a_photo(shop: &TestShop, shared: bool) -> (Order, Value) {
    let mara = shop.technician();
    let order = shop.on_the_bench(&baritone());
    let found = mara.finds(&order, &crack("inner slide").leaking()).done();
    let photo = mara.adds_photo(&order, &format!("finding_id={}&shared={shared}&caption=under%20the%20patch", id(&found)), jpeg(800, 600)).done();
    let brazing = mara.plans(&order, &step("Braze the second crack", "60.00").answering(&found)).done();
    let draft = mara.drafts(&order, &[line(&brazing)]).done();
    mara.sends(&order, &draft).done();
    (shop.look_at(&order), photo)
}

#[test]
fn the_owner_sees_the_photo_of_what_is_asked_about_beside_it() {
    let shop = TestShop::open();
    let (order, photo) = asked_with_a_photo(&shop, true);
    let mails = shop.mail_has_gone();
    let letter = mails.letter(OTTO, "a question before we go on");
    letter.says("See the photo and answer");
    let path = below(&letter.link("answer").unwrap(), "/answer/");
    let stranger = shop.stranger();
    let html = stranger.get(&path).text();
    let found = html.split("What we found").nth(1).unwrap().split("</ul>").next().unwrap();
    for words in ["alt=\"Under the patch\"", "width=\"480\"", "height=\"360\"", "loading=\"lazy\"", "under the patch</bdi>"] {
        assert!(found.contains(words), "{words}: {found}");
    }
    assert!(html.len() < 60_000, "{}", html.len());
    let before = shop.look_at(&order);
    for (address, width) in [(format!("{path}/photos/{}", id(&photo)), 480), (format!("{path}/photos/{}/large", id(&photo)), 800)] {
        assert!(html.contains(&format!("\"{address}\"")), "{address}");
        let answer = stranger.get(&address);
        assert_eq!((answer.status, answer.header("content-type")), (200, Some("image/jpeg")));
        for (name, value) in
            [("cache-control", "no-store"), ("referrer-policy", "no-referrer"), ("x-content-type-options", "nosniff"), ("x-robots-tag", "noindex, nofollow")]
        {
            assert_eq!(answer.header(name), Some(value));
        }
        assert_eq!(image::load_from_memory(&answer.bytes).unwrap().width(), width);
    }
    assert_eq!(shop.look_at(&order).0, before.0, "looking changes nothing");
    // The status page has it too, under its own link.
    let status = shop.front_desk().issues_link(&order, "status");
    let page = stranger.get(&below(status["url"].as_str().unwrap(), "/status/")).text();
    assert!(page.contains("<h2>Photos</h2>") && page.contains("under the patch"), "{page}");
}

#[test]
fn rule_10_a_link_opens_only_photos_of_its_order_that_are_shared() {
    let shop = TestShop::open();
    let (order, hidden) = asked_with_a_photo(&shop, false);
    let (_, of_another) = asked_with_a_photo(&shop, true);
    shop.mail_has_gone();
    let greta = shop.front_desk();
    let link = greta.issues_link(&order, "status");
    let path = below(link["url"].as_str().unwrap(), "/status/");
    let stranger = shop.stranger();
    assert!(!stranger.get(&path).text().contains("<img"));
    for photo in [&hidden, &of_another] {
        for end in ["", "/large"] {
            assert_eq!(stranger.get(&format!("{path}/photos/{}{end}", id(photo))).status, 404);
        }
    }
    let shared = greta.amends_photo(&hidden, &json!({"shared": true})).done();
    assert_eq!(stranger.get(&format!("{path}/photos/{}", id(&shared))).status, 200);
    // Nor does the page of a quote open for the link of a status page.
    let answer = path.replace("/status/", "/answer/");
    assert_eq!(stranger.get(&format!("{answer}/photos/{}", id(&shared))).status, 404);
    assert_eq!(stranger.request("POST", &format!("{path}/photos/{}", id(&shared))).send().status, 405);
    // What is said of a finding that is not shared is not told by its photo.
    let mara = shop.technician();
    let found = shop.look_at(&order).findings().last().unwrap().clone();
    mara.amends_finding(&found, &json!({"shared": false})).done();
    mara.amends_photo(&shared, &json!({"caption": ""})).done();
    let page = stranger.get(&path).text();
    assert!(page.contains("alt=\"Photo of the baritone\"") && !page.contains("alt=\"Crack"), "{page}");
    // A withdrawn link opens no photo either.
    let version = shop.look_at(&order).version();
    greta.request("DELETE", &format!("/links/{}", id(&link))).seen(version).send().done();
    assert_eq!(stranger.get(&format!("{path}/photos/{}", id(&shared))).status, 410);
}

#[test]
fn another_shops_photo_is_not_there() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let photo = shop.front_desk().adds_photo(&order, "", jpeg(64, 48)).done();
    let theirs = shop.in_another_shop();
    theirs.get(&format!("/photos/{}", id(&photo))).refused(404, "absent");
    theirs.get(&format!("/photos/{}/picture", id(&photo))).refused(404, "absent");
    theirs.adds_photo(&order, "", jpeg(64, 48)).refused(404, "absent");
    shop.stranger().get(&format!("/photos/{}/picture", id(&photo))).refused(401, "not-signed-in");
}

#[test]
fn files_that_no_photo_names_are_swept_after_a_day_and_no_others() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let photo = shop.front_desk().adds_photo(&order, "", jpeg(64, 48)).done();
    let of_shop = shop.photo_files().join(shop.id().to_string());
    let two_days_ago = std::time::SystemTime::now() - std::time::Duration::from_secs(2 * 24 * 60 * 60);
    let left = |name: &str, is_old: bool| {
        let folder = of_shop.join(name);
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("x"), b"left behind").unwrap();
        if is_old {
            std::fs::File::open(&folder).unwrap().set_modified(two_days_ago).unwrap();
        }
        folder
    };
    let fresh = left("0190c0de-0000-7000-8000-000000000001", false);
    let old = left("0190c0de-0000-7000-8000-000000000002", true);
    let half = left("new-0190c0de-0000-7000-8000-000000000003", true);
    let named = of_shop.join(id(&photo));
    std::fs::File::open(&named).unwrap().set_modified(two_days_ago).unwrap();
    let swept = harness::runtime().block_on(shop.acts().sweep_photo_files(shop.id())).unwrap();
    assert_eq!(swept, 2);
    assert!(fresh.exists() && named.exists() && !old.exists() && !half.exists());
    // Nothing is lost for a month: a database may have been restored from before.
    let aside = of_shop.join("aside");
    let name = old.file_name().unwrap();
    assert_eq!(std::fs::read(aside.join(name).join("x")).unwrap(), b"left behind");
    assert_eq!(harness::runtime().block_on(shop.acts().sweep_photo_files(shop.id())).unwrap(), 0);
    assert!(aside.join(name).exists() && aside.join(half.file_name().unwrap()).exists());
}

#[test]
fn another_tablet_hears_of_a_photo() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    shop.events_have_numbers();
    let screen = shop.technician().follow(None);
    let photo = shop.front_desk().adds_photo(&order, "", jpeg(64, 48)).done();
    let told = screen.of(order.id(), "photo_added");
    assert_eq!(told.data["version"], photo["order_version"]);
}

#[test]
fn an_order_has_a_hundred_photos_at_most_and_one_that_is_struck_makes_room() {
    let shop = TestShop::open();
    let order = shop.checked_in(&baritone());
    let greta = shop.front_desk();
    let small = jpeg(16, 16);
    let first = greta.adds_photo(&order, "", small.clone()).done();
    for _ in 1..100 {
        greta.adds_photo(&order, "", small.clone()).done();
    }
    let files_before = files(&shop.photo_files()).len();
    let refused = greta.adds_photo(&order, "", small.clone()).refused(409, "photos-full");
    assert!(refused.body["detail"].as_str().unwrap().contains("100 photos"), "{}", refused.body);
    assert_eq!(files(&shop.photo_files()).len(), files_before, "nothing of it is kept");
    assert_eq!(shop.look_at(&order)["photos"].as_array().unwrap().len(), 100);
    greta.request("PATCH", &format!("/photos/{}", id(&first))).seen(1).body(&json!({"struck_reason": "twice the same"})).send().done();
    greta.adds_photo(&order, "", small.clone()).done();
    greta.adds_photo(&order, "", small).refused(409, "photos-full");
}
