//! Part maps: every family's template is whole and can be drawn, heads stand clear of one another
//! and of what is written, and what is amended stays.
//!
//! `BELLBRACE_MAPS_DIR` names a folder to which every family's map is written as SVG, with 0, 3, 8 and
//! 20 pins, to be judged by eye.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

use proptest::prelude::*;
use std::collections::HashSet;
use trade::maps::{
    Basis, CounterMark, DiameterChange, Drawing, JointChange, Measure, NewPart, PartChange, PartKind, PartMap, PartMapChange,
    Pin, Point, Seam, Side, Spot, Standing, SvgElement, amend, draw, label_areas, place, replace, template, with_mended_places,
};
use trade::words::instrument::{Disposition, Family};
use trade::words::spelling::Spelt;

/// Half of what a head covers, without its stroke.
const HEAD: f64 = 16.0;

fn drawn(map: &PartMap, pins: &[Pin], marks: &[CounterMark], labels: bool, buttons: bool) -> SvgElement {
    draw(&Drawing { map, pins, marks, title: "Part map", description: "In words beside it.", id: "map", labels, buttons })
}

fn pin(number: usize, spot: Spot) -> Pin {
    Pin {
        finding: number.to_string(),
        head: number.to_string(),
        words: "dent".to_owned(),
        spot,
        disposition: Disposition::ALL[number % Disposition::ALL.len()],
        standing: Standing::ThisVisit,
        in_hand: false,
    }
}

fn all() -> impl Iterator<Item = PartMap> {
    Family::ALL.iter().map(|family| template(*family))
}

#[test]
fn every_template_is_whole() {
    for map in all() {
        let family = map.family;
        assert_eq!(map.faults(), [], "{family}");
        let loose: Vec<&str> = map.loose_parts().iter().map(|part| part.name.as_str()).collect();
        assert!(loose.is_empty(), "{family}: nothing ties {loose:?} to the rest");
        let (measured, typical) = map.measure_counts();
        assert!(measured == 0 && typical > 30, "{family}: a template is typical throughout");
        assert!(map.parts.iter().all(|part| !part.seam_seen && !part.is_struck()), "{family}: nobody looked at it");
        for joint in &map.joints {
            for place in &joint.places {
                let part = map.parts.iter().find(|part| part.id == place.part).unwrap();
                assert!((0.0..=part.length.mm).contains(&place.at_mm), "{family}: {} lies off {}", joint.name, part.name);
            }
        }
        for part in &map.parts {
            assert!(part.layout.is_some() || part.sits_on.is_some(), "{family}: {} has no place on the sheet", part.name);
            assert!(part.diameters.iter().all(|one| one.at_mm <= part.length.mm), "{family}: {}", part.name);
        }
    }
}

#[test]
fn every_word_of_a_pick_list_has_its_place_on_the_map() {
    for map in all() {
        for word in map.family.parts() {
            assert!(map.resolve(word).is_some(), "{}: nothing on the map is {word:?}", map.family);
        }
    }
}

#[test]
fn every_map_can_be_looked_at_bare_and_crowded() {
    let folder = std::env::var_os("BELLBRACE_MAPS_DIR").map(std::path::PathBuf::from);
    for map in all() {
        for count in [0, 3, 8, 20] {
            // Crowded as in a shop: most of what is found lies on a few parts.
            let pins: Vec<Pin> = (0..count)
                .map(|at| {
                    let part = &map.parts[(at / 2 * 7 + 1) % map.parts.len()];
                    let share = 0.25 + 0.3 * f64::from(u8::try_from(at % 3).unwrap());
                    pin(at + 1, Spot::Part { part: part.id.clone(), at_mm: Some(share * part.length.mm), side: None })
                })
                .collect();
            let svg = drawn(&map, &pins, &[], true, true);
            let mut seen = 0;
            svg.walk(&mut |element| seen += usize::from(element.attributes.contains_key("data-finding")));
            assert_eq!(seen, count, "{}", map.family);
            if let Some(folder) = &folder {
                std::fs::create_dir_all(folder).unwrap();
                std::fs::write(folder.join(format!("{}-{count}.svg", map.family)), svg.svg_text()).unwrap();
            }
        }
    }
}

/// The numbers of every attribute that says where something is.
fn coordinates(svg: &SvgElement) -> Vec<f64> {
    let mut found = Vec::new();
    svg.walk(&mut |element| {
        for (name, value) in &element.attributes {
            if ["d", "x", "y", "cx", "cy", "r", "rx", "ry", "width", "height", "transform", "viewBox"].contains(&name.as_str()) {
                let numbers = value.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c.is_alphabetic() && "einfaNI".contains(c)));
                for number in numbers.filter(|text| text.chars().any(|c| c.is_ascii_digit()) || text.contains("nf") || text.contains("aN")) {
                    let number = number.trim_start_matches(char::is_alphabetic);
                    found.push(number.parse().unwrap_or_else(|_| panic!("{name}={value:?}: {number:?}")));
                }
            }
        }
    });
    found
}

/// Width and height of a drawing.
fn sheet(svg: &SvgElement) -> (f64, f64) {
    let numbers: Vec<f64> = svg.attributes["viewBox"].split(' ').map(|number| number.parse().unwrap()).collect();
    (numbers[2], numbers[3])
}

#[test]
fn every_drawing_is_finite_and_lies_on_its_sheet() {
    for map in all() {
        for (labels, buttons) in [(true, true), (false, false)] {
            let svg = drawn(&map, &[], &[], labels, buttons);
            let (width, height) = sheet(&svg);
            assert!(coordinates(&svg).iter().all(|number| number.is_finite() && number.abs() < 1000.0), "{}", map.family);
            // Absolute paths: `M` and `L` with pairs.
            svg.walk(&mut |element| {
                let Some(d) = element.attributes.get("d").filter(|d| d.chars().all(|c| "MLZ .-".contains(c) || c.is_ascii_digit())) else { return };
                if element.attributes.get("class").is_some_and(|class| class.contains("jl")) {
                    // Bands of joints stand in a frame of their own.
                    return;
                }
                let numbers: Vec<f64> = d.split(['M', 'L', 'Z', ' ']).filter(|text| !text.is_empty()).map(|text| text.parse().unwrap()).collect();
                for pair in numbers.chunks(2) {
                    assert!(
                        (-1.0..=width + 1.0).contains(&pair[0]) && (-1.0..=height + 1.0).contains(&pair[1]),
                        "{}: {pair:?} is off the sheet of {width} × {height}: {d}",
                        map.family
                    );
                }
            });
        }
    }
}

#[test]
fn every_name_of_a_template_is_written_on_its_sheet_and_none_covers_another() {
    for map in all() {
        let labels = label_areas(&map);
        assert!(labels.len() >= 2, "{}: the reader must be told where they are", map.family);
        let named: Vec<&str> = map.parts.iter().filter(|part| part.layout.as_ref().is_some_and(|layout| layout.label.is_some())).map(|part| part.id.as_str()).collect();
        assert_eq!(labels.iter().map(|(part, _)| part.as_str()).collect::<Vec<_>>(), named, "{}", map.family);
        let height = sheet(&drawn(&map, &[], &[], true, true)).1;
        assert!(height <= map.sheet.height + 30.0, "{}: a template has room for its own names", map.family);
        for (part, area) in &labels {
            let inside = area.from.x >= 0.0 && area.from.y >= 0.0 && area.to.x <= map.sheet.width && area.to.y <= height;
            assert!(inside, "{}: the label of {part} leaves the sheet: {area:?}", map.family);
            for (other, theirs) in labels.iter().filter(|(other, _)| other != part) {
                assert!(!area.meets(theirs), "{}: {part} and {other} are written over one another", map.family);
            }
        }
    }
}

/// Whether a stretch shares any place with an area.
fn touches(a: Point, b: Point, area: &trade::maps::Area) -> bool {
    (0..=400).any(|step| {
        let share = f64::from(step) / 400.0;
        area.away(Point { x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y) }) <= 0.0
    })
}

/// Fails where a leader runs through a name.
fn no_leader_touches_a_name(map: &PartMap, pins: &[Pin]) -> Result<(), String> {
    let labels = label_areas(map);
    for (pin, placed) in pins.iter().zip(place(map, pins)) {
        let placed = placed.ok_or_else(|| format!("{}: {:?} has no place", map.family, pin.spot))?;
        if let Some((part, _)) = labels.iter().find(|(_, area)| touches(placed.ring, placed.head, area)) {
            return Err(format!("{}: the leader of {} runs through the name of {part}", map.family, pin.head));
        }
    }
    Ok(())
}

#[test]
fn with_a_finding_on_every_part_all_are_numbered_and_every_name_can_be_read() {
    for map in all() {
        let on = |part: &trade::maps::Part| Spot::Part { part: part.id.clone(), at_mm: None, side: None };
        let pins: Vec<Pin> = map.parts.iter().take(30).enumerate().map(|(at, part)| pin(at + 1, on(part))).collect();
        assert_eq!(no_leader_touches_a_name(&map, &pins), Ok(()));
    }
}

#[test]
fn long_measured_values_are_written_beside_one_another_too() {
    for map in all() {
        let mut changed = map.clone();
        for part in &mut changed.parts {
            part.name = format!("{} (replaced)", part.name);
            part.wall.iter_mut().for_each(|wall| wall.mm = 0.46);
            part.diameters.iter_mut().for_each(|station| station.outside_diameter.mm += 0.15);
        }
        let labels = label_areas(&changed);
        for (at, (part, area)) in labels.iter().enumerate() {
            for (other, theirs) in &labels[..at] {
                assert!(!area.meets(theirs), "{}: {part} and {other} are written over one another", map.family);
            }
        }
    }
}

#[test]
fn the_same_map_is_drawn_the_same_and_nothing_in_it_runs_or_fetches() {
    for map in all() {
        let spot = |part: &str| Spot::Part { part: part.to_owned(), at_mm: None, side: None };
        let pins = [pin(1, spot(&map.parts[0].id)), pin(2, Spot::Joint { joint: map.joints[0].id.clone(), side: None })];
        let text = drawn(&map, &pins, &[], true, true).svg_text();
        assert_eq!(text, drawn(&map, &pins, &[], true, true).svg_text());
        for never in ["<script", "style=", "href", " on", "url(", "NaN", "inf"] {
            assert!(!text.contains(never), "{}: {never}", map.family);
        }
        // Every part and joint that is there can be pointed at; on paper nothing can.
        let mut ids = HashSet::new();
        drawn(&map, &pins, &[], true, true).walk(&mut |element| ids.extend(element.attributes.get("data-part").cloned()));
        assert_eq!(ids.len(), map.parts.len(), "{}", map.family);
        let paper = drawn(&map, &pins, &[], false, false).svg_text();
        assert!(!paper.contains("data-part") && !paper.contains("tabindex") && paper.contains("role=\"img\""));
        assert!(paper.len() < 60_000, "{}: {}", map.family, paper.len());
    }
}

/// A finding or a mark anywhere on a map.
fn any_spot() -> impl Strategy<Value = (prop::sample::Index, Option<f64>, Option<&'static str>, bool)> {
    let side = prop::option::of(prop::sample::select(vec!["left", "right", "top", "bottom"]));
    (any::<prop::sample::Index>(), prop::option::of(0.0..=1.0), side, prop::bool::weighted(0.25))
}

fn spot_on(map: &PartMap, (at, share, side, on_joint): &(prop::sample::Index, Option<f64>, Option<&'static str>, bool)) -> Spot {
    if *on_joint {
        return Spot::Joint { joint: at.get(&map.joints).id.clone(), side: side.map(ToOwned::to_owned) };
    }
    let part = at.get(&map.parts);
    Spot::Part { part: part.id.clone(), at_mm: share.map(|share| share * part.length.mm), side: side.map(ToOwned::to_owned) }
}

/// The heads of a drawing: the middle of every one, from its number.
fn heads(svg: &SvgElement, class: &str) -> Vec<Point> {
    let mut found = Vec::new();
    svg.walk(&mut |element| {
        if element.attributes.get("class").is_some_and(|own| own.split(' ').any(|word| word == class)) && element.tag == "g" {
            let text = element.children.iter().find(|child| child.tag == "text");
            if let Some(text) = text {
                let number = |name: &str| -> f64 { text.attributes[name].parse().unwrap() };
                found.push(Point { x: number("x"), y: number("y") - 5.5 });
            }
        }
    });
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// However crowded, no head covers another, a label, or the edge of the sheet.
    #[test]
    fn heads_stand_clear_of_one_another_and_of_what_is_written(spots in prop::collection::vec(any_spot(), 0..14), marks in prop::collection::vec(any_spot(), 0..4)) {
        for map in all() {
            let pins: Vec<Pin> = spots.iter().enumerate().map(|(at, spot)| pin(at + 1, spot_on(&map, spot))).collect();
            let marks: Vec<CounterMark> = marks.iter().enumerate().map(|(at, spot)| CounterMark {
                id: at.to_string(), letter: "D".to_owned(), words: "dent".to_owned(), spot: spot_on(&map, spot), in_hand: false,
            }).collect();
            let svg = drawn(&map, &pins, &marks, true, true);
            let (width, height) = sheet(&svg);
            let found = heads(&svg, "pin");
            prop_assert_eq!(found.len(), pins.len() + marks.len(), "{}: every spot has its head", map.family);
            let labels = label_areas(&map);
            prop_assert_eq!(no_leader_touches_a_name(&map, &pins), Ok(()));
            for (at, head) in found.iter().enumerate() {
                // A mark is a little smaller than a head.
                let half = if heads(&svg, "mark").contains(head) { 12.0 } else { HEAD };
                prop_assert!(head.x >= half && head.y >= half && head.x <= width - half && head.y <= height - half, "{}: {:?} leaves the sheet", map.family, head);
                for other in &found[..at] {
                    let apart = (head.x - other.x).hypot(head.y - other.y);
                    prop_assert!(apart >= half + 12.0, "{}: {:?} covers {:?}", map.family, head, other);
                }
                for (part, label) in &labels {
                    prop_assert!(label.away(*head) >= half, "{}: {:?} covers the label of {}", map.family, head, part);
                }
            }
        }
    }

    /// Pins alone, as the staff client asks for them: the rings lie where the finding is.
    #[test]
    fn a_ring_lies_on_the_part_it_is_pinned_to(spots in prop::collection::vec(any_spot(), 1..9)) {
        for map in all() {
            let pins: Vec<Pin> = spots.iter().enumerate().map(|(at, spot)| pin(at + 1, spot_on(&map, spot))).collect();
            let placed = place(&map, &pins);
            prop_assert!(placed.iter().all(Option::is_some));
            for one in placed.into_iter().flatten() {
                prop_assert!(one.ring.x.is_finite() && one.head.y.is_finite());
                prop_assert!(one.ring.x >= -20.0 && one.ring.x <= map.sheet.width + 20.0);
            }
        }
    }

    /// What was measured stands as measured, and everything else as it was.
    #[test]
    fn what_is_measured_takes_the_place_of_what_is_typical(family in prop::sample::select(Family::ALL.to_vec()), at in any::<prop::sample::Index>(), grown in 0.5..2.0f64, wall in 0.2..2.0f64) {
        let map = template(family);
        let tubes: Vec<&trade::maps::Part> = map.parts.iter().filter(|part| part.wall.is_some()).collect();
        let part = *at.get(&tubes);
        let length_mm = part.length.mm * grown;
        let change = PartMapChange {
            parts: vec![PartChange {
                part: part.id.clone(),
                length_mm: Some(length_mm),
                wall_mm: Some(wall),
                diameters: vec![DiameterChange { at_mm: 0.0, outside_diameter_mm: 17.25 }],
                seam: Some(Seam::Lengthwise),
                ..PartChange::default()
            }],
            ..PartMapChange::default()
        };
        let changed = amend(&map, &change).unwrap();
        prop_assert_eq!(changed.faults(), []);
        let now = changed.parts.iter().find(|one| one.id == part.id).unwrap();
        prop_assert_eq!((now.length.mm, now.length.basis), (length_mm, Basis::Measured));
        prop_assert_eq!(now.wall.map(|wall| (wall.mm, wall.basis)), Some((wall, Basis::Measured)));
        let first = now.diameters[0].outside_diameter;
        prop_assert_eq!((first.mm, first.basis), (17.25, Basis::Measured));
        prop_assert_eq!((now.seam, now.seam_seen), (Seam::Lengthwise, true));
        for one in changed.parts.iter().filter(|one| one.id != part.id) {
            let was = map.parts.iter().find(|was| was.id == one.id).unwrap();
            // What sits on it moves with it, and nothing else of it changes.
            let moved = trade::maps::Part { sits_on: was.sits_on.clone(), ..one.clone() };
            prop_assert_eq!(&moved, was);
            let seat = |part: &trade::maps::Part| part.sits_on.clone().map(|seat| (seat.part, seat.across));
            prop_assert_eq!(seat(one), seat(was));
        }
        prop_assert_eq!(changed.loose_parts().len(), 0);
        // As it is stored and read again, and as another program would send it whole.
        let written = serde_json::to_value(&changed).unwrap();
        prop_assert_eq!(&serde_json::from_value::<PartMap>(written).unwrap(), &changed);
        prop_assert_eq!(&replace(&map, &changed, "left out").unwrap(), &changed);
        prop_assert_eq!(amend(&changed, &PartMapChange::default()).unwrap(), changed);
    }

    /// Striking and taking it back is no change; while it is struck it is not drawn.
    #[test]
    fn what_is_struck_is_not_drawn_and_can_be_taken_back(family in prop::sample::select(Family::ALL.to_vec()), at in any::<prop::sample::Index>()) {
        let map = template(family);
        let part = at.get(&map.parts);
        let change = |struck_reason: Option<&str>, restored| PartMapChange {
            parts: vec![PartChange { part: part.id.clone(), struck_reason: struck_reason.map(ToOwned::to_owned), restored, ..PartChange::default() }],
            ..PartMapChange::default()
        };
        let struck = amend(&map, &change(Some("never had it"), false)).unwrap();
        let text = drawn(&struck, &[], &[], true, true).svg_text();
        let own = format!("data-part=\"{}\"", part.id);
        prop_assert!(!text.contains(&own));
        prop_assert!(struck.resolve(&part.id).is_some(), "its findings keep their place");
        prop_assert_eq!(amend(&struck, &change(None, true)).unwrap(), map);
    }
}

#[test]
fn a_part_whose_joints_are_struck_is_said_to_hang_loose() {
    for map in all() {
        // The last part that is held by joints alone.
        let held = |id: &str| map.joints.iter().filter(|joint| joint.places.iter().any(|place| place.part == id)).count();
        let carries = |id: &str| map.parts.iter().any(|part| part.sits_on.as_ref().is_some_and(|seat| seat.part == id));
        let Some(part) = map.parts.iter().find(|part| part.sits_on.is_none() && held(&part.id) == 1 && !carries(&part.id)) else { continue };
        let joint = map.joints.iter().find(|joint| joint.places.iter().any(|place| place.part == part.id)).unwrap();
        let change = PartMapChange {
            joints: vec![JointChange { joint: joint.id.clone(), struck_reason: Some("came off".to_owned()), ..JointChange::default() }],
            ..PartMapChange::default()
        };
        let apart = amend(&map, &change).unwrap();
        assert_eq!(apart.loose_parts().iter().map(|part| &part.id).collect::<Vec<_>>(), [&part.id], "{}", map.family);
        assert_eq!(apart.faults(), [], "a map that falls apart is a map all the same");
        assert!(drawn(&apart, &[], &[], true, true).svg_text().contains(&format!("data-part=\"{}\"", part.id)));
    }
}

#[test]
fn whoever_writes_a_seam_otherwise_than_it_stood_has_looked() {
    let map = template(Family::Trumpet);
    let bell = |map: &PartMap| map.parts.iter().find(|part| part.id == "bell").cloned().unwrap();
    assert_eq!((bell(&map).seam, bell(&map).seam_seen), (Seam::Lengthwise, false), "typical of the family");
    let measured = PartMapChange {
        parts: vec![PartChange { part: "bell".to_owned(), wall_mm: Some(0.44), ..PartChange::default() }],
        ..PartMapChange::default()
    };
    assert!(!bell(&amend(&map, &measured).unwrap()).seam_seen, "a wall says nothing of a seam");
    let mut whole = map.clone();
    whole.parts.iter_mut().filter(|part| part.id == "bell").for_each(|part| part.seam = Seam::None);
    let put = replace(&map, &whole, "left out").unwrap();
    assert!(bell(&put).seam_seen);
    assert_eq!(put.parts.iter().filter(|part| part.seam_seen).count(), 1);
}

fn changed(part: &str, change: PartChange) -> PartMapChange {
    PartMapChange { parts: vec![PartChange { part: part.to_owned(), ..change }], ..PartMapChange::default() }
}

fn pointers(map: &PartMap, change: &PartMapChange) -> Vec<(String, String)> {
    amend(map, change).unwrap_err().into_iter().map(|fault| (fault.pointer, fault.detail)).collect()
}

/// Ranges of COMPUTATIONS.md section 1: length 1…3000, outside diameter 1…600, 0.1 ≤ wall ≤ OD/2.
#[test]
fn a_measure_that_no_part_can_have_is_pointed_at_with_what_to_do() {
    let map = template(Family::Trumpet);
    let rim = map.parts.iter().find(|part| part.id == "bell").unwrap().length.mm;
    let diameter = |at_mm: f64, mm: f64| vec![DiameterChange { at_mm, outside_diameter_mm: mm }];
    let wide = || PartChange { diameters: diameter(0.0, 900.0), ..PartChange::default() };
    for (part, change, pointer) in [
        ("leadpipe", wide(), "/parts/0/diameters/0/outside_diameter_mm"),
        // The rim is the ninth station of the bell, and the first of the change.
        ("bell", PartChange { diameters: diameter(rim, 5000.0), ..PartChange::default() }, "/parts/0/diameters/0/outside_diameter_mm"),
        ("leadpipe", PartChange { diameters: diameter(0.0, 0.9), ..PartChange::default() }, "/parts/0/diameters/0/outside_diameter_mm"),
        ("leadpipe", PartChange { wall_mm: Some(50.0), ..PartChange::default() }, "/parts/0/wall_mm"),
        ("leadpipe", PartChange { wall_mm: Some(0.05), ..PartChange::default() }, "/parts/0/wall_mm"),
        ("leadpipe", PartChange { length_mm: Some(3000.5), ..PartChange::default() }, "/parts/0/length_mm"),
        ("leadpipe", PartChange { length_mm: Some(0.5), ..PartChange::default() }, "/parts/0/length_mm"),
    ] {
        let faults = pointers(&map, &changed(part, change));
        assert_eq!(faults.iter().map(|(at, _)| at.as_str()).collect::<Vec<_>>(), [pointer], "{faults:?}");
        assert!(faults[0].1.contains("measure"), "{faults:?}");
    }
    // What does not fit the typical wall is told at the value that was measured.
    let saxophone = template(Family::Saxophone);
    let thin = PartChange { diameters: diameter(0.0, 1.2), ..PartChange::default() };
    assert_eq!(pointers(&saxophone, &changed("neck", thin))[0].0, "/parts/0/diameters/0/outside_diameter_mm");
    // The edges themselves are measures: a solid rod, the widest bell.
    let solid = PartChange { wall_mm: Some(5.1), ..PartChange::default() };
    assert!(amend(&map, &changed("leadpipe", solid)).is_ok(), "half of Ø 10.2 is a rod");
    let widest = PartChange { diameters: diameter(rim, 600.0), length_mm: Some(490.0), ..PartChange::default() };
    assert!(amend(&map, &changed("bell", widest)).is_ok());
    // A map that was spoilt before there were ranges can still be worked on, and mended.
    let mut old = map.clone();
    let pipe = old.parts.iter_mut().find(|part| part.id == "leadpipe").unwrap();
    pipe.diameters[0].outside_diameter = Measure::measured(900.0);
    let wall = PartChange { wall_mm: Some(0.44), ..PartChange::default() };
    assert!(amend(&old, &changed("bell", wall)).is_ok());
    let mended = PartChange { diameters: diameter(0.0, 10.3), ..PartChange::default() };
    assert_eq!(amend(&old, &changed("leadpipe", mended)).unwrap().faults(), []);
    assert_eq!(replace(&map, &old, "left out").unwrap_err().len(), 1);
}

#[test]
fn what_melts_at_a_known_heat_is_kept_with_its_joint() {
    let map = template(Family::Trumpet);
    let joint = map.joints[0].id.clone();
    let melting = |solidus_c: f64| PartMapChange {
        joints: vec![JointChange { joint: joint.clone(), solidus_c: Some(solidus_c), ..JointChange::default() }],
        ..PartMapChange::default()
    };
    let known = amend(&map, &melting(138.0)).unwrap();
    assert_eq!(known.joints[0].solidus_c, Some(138.0));
    assert_eq!(amend(&known, &melting(0.0)).unwrap(), map, "0 says: nobody knows");
    assert_eq!(pointers(&map, &melting(40.0))[0].0, "/joints/0/solidus_c");
}

/// Circles of a class: the joint they stand for, middle, radius.
fn hits(svg: &SvgElement) -> Vec<(String, Point, f64)> {
    let mut found = Vec::new();
    svg.walk(&mut |element| {
        if element.attributes.get("class").is_some_and(|class| class == "hit") {
            let number = |name: &str| -> f64 { element.attributes[name].parse().unwrap() };
            found.push((element.attributes["data-joint"].clone(), Point { x: number("cx"), y: number("cy") }, number("r")));
        }
    });
    found
}

#[test]
fn every_joint_of_every_family_can_be_tapped() {
    for map in all() {
        let svg = drawn(&map, &[], &[], true, true);
        let found = hits(&svg);
        assert_eq!(found.len(), map.joints.len(), "{}", map.family);
        for (at, (joint, middle, radius)) in found.iter().enumerate() {
            assert!(2.0 * radius >= 44.0, "{}: {joint}", map.family);
            // A tap on its middle is nearer to it than to any other.
            for (other, theirs, _) in &found[..at] {
                let apart = (middle.x - theirs.x).hypot(middle.y - theirs.y);
                assert!(apart >= 10.9, "{}: {joint} and {other} lie on one another: {apart}", map.family);
            }
            // And it is tapped where it is drawn: its own place lies within it.
            let ring = place(&map, &[pin(1, Spot::Joint { joint: joint.clone(), side: None })])[0].unwrap().ring;
            let own = map.joints.iter().find(|one| &one.id == joint).unwrap();
            let part = map.parts.iter().find(|part| part.id == own.places[0].part).unwrap();
            let half = part.diameter_at(own.places[0].at_mm) * map.sheet.units_per_mm / 2.0;
            let off = (ring.x - middle.x).hypot(ring.y - middle.y) - 0.35 * half;
            assert!(off <= 34.0, "{}: {joint} is tapped {off} from where it is", map.family);
        }
        assert!(hits(&drawn(&map, &[], &[], true, false)).is_empty(), "nothing is tapped on paper");
    }
}

#[test]
fn what_was_measured_is_written_on_the_map_and_underlined() {
    for map in all() {
        for part in map.parts.iter().filter(|part| part.kind == PartKind::Tube || part.kind == PartKind::Body) {
            let (wall, across) = (0.47, part.diameters[0].outside_diameter.mm + 0.13);
            let change = PartChange {
                wall_mm: Some(wall),
                length_mm: Some(part.length.mm + 0.7),
                diameters: vec![DiameterChange { at_mm: 0.0, outside_diameter_mm: across }],
                ..PartChange::default()
            };
            let measured = amend(&map, &changed(&part.id, change)).unwrap();
            assert!(label_areas(&measured).iter().any(|(id, _)| *id == part.id), "{}: {} has no label", map.family, part.name);
            let mut underlined = Vec::new();
            drawn(&measured, &[], &[], true, true).walk(&mut |element| {
                if element.attributes.contains_key("text-decoration") {
                    underlined.push(element.text.clone().unwrap());
                }
            });
            assert!(underlined.contains(&"0.47".to_owned()), "{}: {}: {underlined:?}", map.family, part.name);
            assert!(underlined.len() >= 2, "{}: {}: wall, length and diameter: {underlined:?}", map.family, part.name);
        }
    }
}

#[test]
fn a_side_is_read_as_it_is_said_or_not_at_all() {
    for (said, side) in [
        ("top", Some(Side::Top)), ("Above", Some(Side::Top)), ("upper side", Some(Side::Top)), ("on the top", Some(Side::Top)),
        ("below", Some(Side::Bottom)), ("lower side", Some(Side::Bottom)), ("underneath", Some(Side::Bottom)),
        ("left", Some(Side::Left)), ("right-hand side", Some(Side::Right)),
        ("outer side", Some(Side::Outer)), ("inner side of the bend", Some(Side::Inner)), ("inside of the bow", Some(Side::Inner)),
        // More than one, or the bore as often as the bend, or nothing of the kind.
        ("upper left", None), ("inside", None), ("outside", None), ("upper foot", None), ("front", None), ("", None),
    ] {
        assert_eq!(Side::read(said), side, "{said}");
        assert_eq!(side.and_then(|side| Side::read(side.word())), side, "what is kept reads as itself");
    }
}

#[test]
fn a_ring_moves_to_the_side_that_was_said() {
    let map = template(Family::Trumpet);
    let ring = |part: &str, at_mm: f64, side: Option<&str>| {
        place(&map, &[pin(1, Spot::Part { part: part.to_owned(), at_mm: Some(at_mm), side: side.map(ToOwned::to_owned) })])[0].unwrap().ring
    };
    let middle = ring("leadpipe", 100.0, None);
    // 10.95 mm across there, at 1.25 units for a mm: seven tenths of half of it.
    let off = 0.7 * 11.033 * 1.25 / 2.0;
    for (said, sign) in [("top", -1.0), ("above", -1.0), ("upper side", -1.0), ("bottom", 1.0), ("below", 1.0), ("lower side", 1.0)] {
        let at = ring("leadpipe", 100.0, Some(said));
        assert!((at.x - middle.x).abs() < 1e-6 && (at.y - middle.y - sign * off).abs() < 0.05, "{said}: {at:?} beside {middle:?}");
    }
    // A level tube has no left, and nobody knows what a front foot is.
    for said in ["left", "right", "front foot"] {
        assert_eq!(ring("leadpipe", 100.0, Some(said)), middle, "{said}");
    }
    // The tuning slide turns down at the right: its outer side is the right one.
    let bow = ring("tuning slide", 115.0, None);
    for (said, sign) in [("right", 1.0), ("left", -1.0)] {
        let at = ring("tuning slide", 115.0, Some(said));
        assert!((at.x - bow.x).signum() == sign && (at.y - bow.y).abs() < 1.0, "{said}: {at:?} beside {bow:?}");
    }
    let shoulder = ring("tuning slide", 60.0, None);
    let centre = Point { x: 504.0, y: 248.0 };
    let from_centre = |at: Point| (at.x - centre.x).hypot(at.y - centre.y);
    assert!(from_centre(ring("tuning slide", 60.0, Some("outer side"))) > from_centre(shoulder) + 3.0);
    assert!(from_centre(ring("tuning slide", 60.0, Some("inner side"))) < from_centre(shoulder) - 3.0);
    // A straight pipe has no outer side: the ring stays in the middle.
    assert_eq!(ring("leadpipe", 100.0, Some("outer side")), ring("leadpipe", 100.0, None));
    // A joint has its sides too.
    let joint = |side: Option<&str>| place(&map, &[pin(1, Spot::Joint { joint: "bell-to-bell-bow".to_owned(), side: side.map(ToOwned::to_owned) })])[0].unwrap().ring;
    assert!(joint(Some("top")).y < joint(None).y && joint(None).y < joint(Some("bottom")).y);
}

/// The outlines of the parts as drawn: id and corners.
fn outlines(svg: &SvgElement) -> Vec<(String, Vec<Point>)> {
    let mut found = Vec::new();
    svg.walk(&mut |element| {
        let Some(part) = element.attributes.get("data-part") else { return };
        for path in element.children.iter().filter(|child| child.tag == "path") {
            let d = &path.attributes["d"];
            if d.ends_with('Z') && d.chars().all(|c| "MLZ .-".contains(c) || c.is_ascii_digit()) {
                let numbers: Vec<f64> = d.split(['M', 'L', 'Z', ' ']).filter(|text| !text.is_empty()).map(|text| text.parse().unwrap()).collect();
                found.push((part.clone(), numbers.chunks(2).map(|pair| Point { x: pair[0], y: pair[1] }).collect()));
            }
        }
    });
    found
}

/// Whether a point lies within an outline, by the crossings of a ray.
fn within(at: Point, outline: &[Point]) -> bool {
    let edges = outline.iter().zip(outline.iter().cycle().skip(1));
    edges.filter(|(a, b)| (a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x)).count() % 2 == 1
}

#[test]
fn no_head_stands_on_a_part_while_there_is_room_beside() {
    let mut crowded = Vec::new();
    for map in all() {
        let outlines = outlines(&drawn(&map, &[], &[], true, true));
        let on = |part: &trade::maps::Part| Spot::Part { part: part.id.clone(), at_mm: None, side: None };
        for count in [8, 20] {
            let pins: Vec<Pin> = map.parts.iter().take(count).enumerate().map(|(at, part)| pin(at + 1, on(part))).collect();
            for (pin, placed) in pins.iter().zip(place(&map, &pins)) {
                let head = placed.unwrap().head;
                let edge = (0..16).map(|step| {
                    let (sin, cos) = (f64::from(step) * std::f64::consts::FRAC_PI_8).sin_cos();
                    Point { x: head.x + HEAD * cos, y: head.y + HEAD * sin }
                });
                let under = std::iter::once(head).chain(edge).find_map(|at| outlines.iter().find(|(_, outline)| within(at, outline)));
                let Some((part, _)) = under else { continue };
                assert_eq!(count, 20, "{}: head {} stands on {part}", map.family, pin.head);
                crowded.push((map.family, pin.head.clone(), part.clone()));
            }
        }
    }
    // Of twenty at once on each of thirteen families, one is led nowhere but through a name.
    assert!(crowded.len() <= 1, "{crowded:?}");
}

#[test]
fn no_line_of_a_name_runs_through_another_part() {
    for map in all() {
        let svg = drawn(&map, &[], &[], true, true);
        let outlines = outlines(&svg);
        svg.walk(&mut |element| {
            if element.tag != "path" || element.attributes.get("class").is_none_or(|class| class != "dim lbl") {
                return;
            }
            let numbers: Vec<f64> = element.attributes["d"].split(['M', 'L', ' ']).filter(|text| !text.is_empty()).map(|text| text.parse().unwrap()).collect();
            let (from, to) = (Point { x: numbers[0], y: numbers[1] }, Point { x: numbers[2], y: numbers[3] });
            // Rods and keys run along whole bodies; a line across one leaves it to be seen.
            let thin = |id: &str| {
                let part = map.parts.iter().find(|part| part.id == id).unwrap();
                matches!(part.kind, PartKind::Rod | PartKind::Key | PartKind::Linkage | PartKind::Spring | PartKind::Post)
            };
            for step in 0..100 {
                let share = f64::from(step) / 100.0;
                let at = Point { x: from.x + share * (to.x - from.x), y: from.y + share * (to.y - from.y) };
                let through = outlines.iter().find(|(part, outline)| !thin(part) && within(at, outline) && !within(to, outline));
                assert!(through.is_none(), "{}: the line of a name runs through {:?}", map.family, through.map(|(part, _)| part));
            }
        });
    }
}

#[test]
fn a_part_that_was_added_is_drawn_to_the_scale_of_the_map() {
    let map = template(Family::Trumpet);
    let flare = NewPart {
        name: "spare bell".to_owned(),
        kind: PartKind::Tube,
        material: trade::maps::Material::BrassC260,
        finish: None,
        seam: None,
        length_mm: 80.0,
        outside_diameter_mm: 120.0,
        wall_mm: Some(0.5),
        sits_on: None,
    };
    let added = amend(&map, &PartMapChange { add_parts: vec![flare], ..PartMapChange::default() }).unwrap();
    let svg = drawn(&added, &[], &[], true, true);
    let outlines = outlines(&svg);
    let (_, outline) = outlines.iter().find(|(part, _)| part == "spare-bell").unwrap();
    let span = |of: fn(&Point) -> f64| outline.iter().map(of).fold(f64::NEG_INFINITY, f64::max) - outline.iter().map(of).fold(f64::INFINITY, f64::min);
    assert!((span(|at| at.y) - 120.0 * map.sheet.units_per_mm).abs() < 0.3, "{}", span(|at| at.y));
    assert!((span(|at| at.x) - 80.0 * map.sheet.units_per_mm).abs() < 0.3, "{}", span(|at| at.x));
    let lowest = outline.iter().map(|at| at.y).fold(0.0, f64::max);
    assert!(lowest < sheet(&svg).1 && lowest - span(|at| at.y) > map.sheet.height, "in a row of its own under the instrument");
}

#[test]
fn a_map_saved_earlier_gets_the_mended_places_and_what_somebody_moved_stays() {
    let now = template(Family::Trombone);
    let label = |map: &PartMap, id: &str| map.parts.iter().find(|part| part.id == id).unwrap().layout.clone().unwrap().label;
    let put = |map: &mut PartMap, id: &str, at: Option<(f64, f64)>| {
        let part = map.parts.iter_mut().find(|part| part.id == id).unwrap();
        part.layout.as_mut().unwrap().label = at.map(|(x, y)| Point { x, y });
    };
    // As the first version of the template had them.
    let mut old = now.clone();
    put(&mut old, "tuning-slide", Some((20.0, 240.0)));
    put(&mut old, "bell", Some((300.0, 56.0)));
    old.parts.iter_mut().find(|part| part.id == "bell").unwrap().wall = Some(Measure::measured(0.41));
    let mended = with_mended_places(old.clone());
    assert_eq!((label(&mended, "tuning-slide"), label(&mended, "bell")), (label(&now, "tuning-slide"), label(&now, "bell")));
    assert_eq!(mended.parts.iter().find(|part| part.id == "bell").unwrap().wall, Some(Measure::measured(0.41)));
    // Moved by somebody, or written for a line that somebody drew otherwise.
    put(&mut old, "tuning-slide", Some((33.0, 44.0)));
    old.parts.iter_mut().find(|part| part.id == "bell").unwrap().layout.as_mut().unwrap().line[0].x += 4.0;
    assert_eq!(with_mended_places(old.clone()), old);
    let mut tuba = template(Family::Tuba);
    tuba.sheet.width = 640.0;
    assert_eq!(with_mended_places(tuba), template(Family::Tuba), "its sheet was too small for its names");
    for map in all() {
        assert_eq!(with_mended_places(map.clone()), map);
    }
}

/// What is free between a part and the one it slides in, mm, by typical diameters and walls. The ring
/// round a socket is wider than its tube; either may be the one that is bored to fit.
fn plays(map: &PartMap, joint: &trade::maps::Joint) -> Option<(PartKind, Vec<f64>)> {
    let place = |at: usize| {
        let place = &joint.places[at];
        let part = map.parts.iter().find(|part| part.id == place.part).unwrap();
        (part, part.diameter_at(place.at_mm))
    };
    let (a, b) = (place(0), place(1));
    let ((inner, inner_mm), (outer, outer_mm)) = if a.1 < b.1 { (a, b) } else { (b, a) };
    // The second slide's own legs lie before the casing and are not on the map.
    if outer.kind == PartKind::Casing && inner.kind == PartKind::Tube {
        return None;
    }
    let beyond_ring = outer.diameters.iter().map(|station| station.outside_diameter.mm).fold(f64::INFINITY, f64::min);
    let wall = outer.wall.as_ref().unwrap_or_else(|| panic!("{}: {} has no wall", map.family, outer.name)).mm;
    Some((inner.kind, [outer_mm, beyond_ring].map(|mm| mm - 2.0 * wall - inner_mm).to_vec()))
}

#[test]
fn whatever_slides_fits_what_it_slides_in() {
    let mut count = 0;
    for map in all() {
        for joint in map.joints.iter().filter(|joint| joint.held == trade::maps::JointKind::SlideFit) {
            let Some((kind, plays)) = plays(&map, joint) else { continue };
            // Pistons and rotors run with hundredths, slides and tenons of metal with a tenth or two.
            let most = if matches!(kind, PartKind::Piston | PartKind::Rotor) { 0.1 } else { 0.2 };
            assert!(plays.iter().any(|play| *play > 0.005 && *play < most + 1e-9), "{}: {}: play {plays:?} mm", map.family, joint.name);
            count += 1;
        }
        for joint in map.joints.iter().filter(|joint| joint.held == trade::maps::JointKind::TenonAndCork) {
            let across = |at: usize| map.parts.iter().find(|part| part.id == joint.places[at].part).unwrap().diameter_at(joint.places[at].at_mm);
            // The tenon is turned down under its cork and the socket bored: only the body's outside is on the map.
            assert!((across(0) - across(1)).abs() >= 2.0, "{}: {}: {} and {}", map.family, joint.name, across(0), across(1));
        }
    }
    assert!(count > 50, "{count}");
}

#[test]
fn pistons_are_of_the_sizes_that_such_instruments_have() {
    // From memory: trumpets about 17 mm, baritones 19 to 20, tubas 22 to 25.
    for (family, sizes) in [(Family::Trumpet, 16.8..=17.1), (Family::Cornet, 16.8..=17.1), (Family::Flugelhorn, 16.8..=17.1), (Family::Baritone, 19.0..=20.0), (Family::Tuba, 22.0..=25.0)] {
        let map = template(family);
        let pistons: Vec<f64> = map.parts.iter().filter(|part| part.kind == PartKind::Piston).map(|part| part.diameters[0].outside_diameter.mm).collect();
        assert!(pistons.len() == 3 && pistons.iter().all(|mm| sizes.contains(mm)), "{family}: {pistons:?}");
    }
}

#[test]
fn a_tone_hole_is_of_what_it_is_cut_into() {
    for map in all() {
        for hole in map.parts.iter().filter(|part| part.kind == PartKind::ToneHole) {
            let host = &hole.sits_on.as_ref().unwrap().part;
            let host = map.parts.iter().find(|part| part.id == *host).unwrap();
            assert_eq!((hole.material, hole.finish), (host.material, host.finish), "{}: {} in {}", map.family, hole.name, host.name);
        }
    }
    let bassoon = template(Family::Bassoon);
    assert!(bassoon.parts.iter().any(|part| part.kind == PartKind::ToneHole && part.material == trade::maps::Material::Maple));
}

#[test]
fn a_horns_valve_slides_are_as_long_as_what_they_lower_by() {
    let map = template(Family::Horn);
    let length = |name: String| map.parts.iter().find(|part| part.name == name).unwrap().length.mm;
    for side in ["F", "B flat"] {
        let [first, second, third] = ["first", "second", "third"].map(|nth| length(format!("{nth} {side} slide")));
        // A whole tone, a semitone and one and a half: 12.25, 5.95 and 18.92 parts of a hundred.
        assert!((first / second - 12.246_2 / 5.946_3).abs() < 0.01 && (third / second - 18.920_7 / 5.946_3).abs() < 0.01, "{first} {second} {third}");
    }
    // The sides stand a fourth apart.
    assert!((length("third F slide".to_owned()) / length("third B flat slide".to_owned()) - 4.0 / 3.0).abs() < 0.01);
}
