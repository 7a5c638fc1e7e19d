//! Part maps: every family's template is whole and can be drawn, heads stand clear of one another
//! and of what is written, and what is amended stays.
//!
//! `BELLBRACE_MAPS_DIR` names a folder to which every family's map is written as SVG, with 0, 3, 8 and
//! 20 pins, to be judged by eye.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

use proptest::prelude::*;
use std::collections::HashSet;
use trade::maps::{
    Basis, CounterMark, DiameterChange, Drawing, JointChange, PartChange, PartMap, PartMapChange, Pin, Point, Seam, Spot,
    Standing, SvgElement, amend, draw, label_areas, place, replace, template,
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
        let pins = [pin(1, spot(&map.parts[0].id)), pin(2, Spot::Joint { joint: map.joints[0].id.clone() })];
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
        return Spot::Joint { joint: at.get(&map.joints).id.clone() };
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
