//! The question as JSON, and the answer.
//!
//! Reading only finds out what is there. Ranges and names are checked by the typed
//! question itself, so that the product's own callers are held to the same rules; a
//! number that could not be read goes in as NaN and its fault is told once.

use super::long_tube::{LongTube, Water, WaterCover};
use super::model::{Assembly, Doing, Duration, Faults, Joint, Place, Room, Stock, Tube, Zone};
use super::{Reach, reach_of};
use crate::bench::metals::{FILLERS, Filler, Joining, METALS, Metal};
use crate::calculation::{Node, Reading, Refused};
use serde_json::{Value, json};

/// Typical values of inputs left out. From memory; COMPUTATIONS.md, section 1.
mod typical {
    pub const AMBIENT_C: f64 = 20.0;
    pub const AIR_H: f64 = 10.0;
    pub const EMISSIVITY: f64 = 0.3;
    pub const MARGIN_K: f64 = 25.0;
    pub const WATCH_S: f64 = 120.0;
    pub const TORCH_OVER_LIQUIDUS_K: f64 = 30.0;
    pub const WATER_C: f64 = 25.0;
    pub const LEAST_DRY_MM: f64 = 20.0;
    pub const RAG: (f64, f64) = (500.0, 100.0);
    pub const SINK: (f64, f64) = (1000.0, 40.0);
}

/// From here up a joint is brazed, not soldered, °C. Common usage, no source.
const BRAZING_FROM_C: f64 = 450.0;

/// This far below its solidus brass begins to give off zinc, K.
const ZINC_WITHIN_K: f64 = 100.0;

/// A curve in an answer is drawn by straight lines within this, K.
const DRAWN_WITHIN_K: f64 = 1.0;

/// Answers `/calculations/heat-reach`.
///
/// # Errors
/// `invalid-input`, `torch-melts-part`, `part-not-connected` or `not-computable`; see
/// [`Assembly::check`] and [`LongTube::check`].
pub fn compute(input: &Value) -> Result<Value, Refused> {
    let mut reading = Reading::default();
    let root = Node::root(input);
    if !input.is_object() {
        reading.object(&root, &[]);
        reading.done()?;
    }
    match read_mode(&mut reading, &root) {
        Mode::Lasting(duration) => answer_reach(reading, &root, duration),
        Mode::SafeDistance => answer_safe_distance(reading, &root),
        Mode::WaterCover => answer_water_cover(reading, &root),
    }
}

enum Mode {
    Lasting(Duration),
    SafeDistance,
    WaterCover,
}

fn read_mode(reading: &mut Reading, root: &Node<'_>) -> Mode {
    let Some(mode) = root.get("mode") else {
        reading.fault(root.below("mode"), "is missing; give an object with a kind");
        return Mode::Lasting(Duration::Steady);
    };
    let kind = mode.value.get("kind").and_then(Value::as_str);
    let timed = ["kind", "heating_s", "watch_s"];
    let known = if kind == Some("transient") { &timed[..] } else { &timed[..1] };
    let lasting = Mode::Lasting(Duration::Steady);
    if reading.object(&mode, known).is_none() {
        return lasting;
    }
    match kind {
        Some("steady") => lasting,
        Some("transient") => {
            let heating_s = number(reading, &mode, "heating_s");
            let watch_s = number_or(reading, &mode, "watch_s", typical::WATCH_S);
            Mode::Lasting(Duration::Transient { heating_s, watch_s })
        }
        Some("safe_distance") => Mode::SafeDistance,
        Some("water_cover") => Mode::WaterCover,
        _ => {
            reading.fault(
                mode.below("kind"),
                "must be steady, transient, safe_distance or water_cover",
            );
            lasting
        }
    }
}

/// A required number of any size, NaN after a fault.
fn number(reading: &mut Reading, node: &Node<'_>, key: &str) -> f64 {
    reading.number(node, key, ..).unwrap_or(f64::NAN)
}

/// A number of any size, the typical one when left out, NaN after a fault.
fn number_or(reading: &mut Reading, node: &Node<'_>, key: &str, typical: f64) -> f64 {
    match node.get(key) {
        Some(found) => reading.number_at(&found, ..).unwrap_or(f64::NAN),
        None => reading.number_or(node, key, .., typical),
    }
}

fn words(slugs: impl Iterator<Item = &'static str>) -> String {
    slugs.collect::<Vec<_>>().join(", ")
}

fn read_room(reading: &mut Reading, root: &Node<'_>) -> (Room, f64) {
    let room = Room {
        ambient_c: number_or(reading, root, "ambient_c", typical::AMBIENT_C),
        air_h_w_m2_k: number_or(reading, root, "air_h_w_m2_k", typical::AIR_H),
    };
    (room, number_or(reading, root, "margin_k", typical::MARGIN_K))
}

/// The emissivity given for all tubes. One out of its range is told here, once, and not
/// again for every tube.
fn read_emissivity(reading: &mut Reading, root: &Node<'_>) -> Option<f64> {
    root.get("emissivity")
        .map(|found| reading.number_at(&found, 0.0..=1.0).unwrap_or(typical::EMISSIVITY))
}

/// * `also`: the fields that the tube has beside those of its stock.
/// * `emissivity`: given for all tubes.
/// * `warms_up`: whether density and specific heat count.
fn read_stock(
    reading: &mut Reading,
    node: &Node<'_>,
    also: &[&str],
    emissivity: Option<f64>,
    warms_up: bool,
) -> Stock {
    let mut known = also.to_vec();
    known.extend([
        "outside_diameter_mm",
        "wall_mm",
        "material",
        "emissivity",
        "k_w_m_k",
        "rho_kg_m3",
        "cp_j_kg_k",
        "solidus_c",
    ]);
    reading.object(node, &known);
    let metal = match node.get("material") {
        None => {
            reading.defaulted.push(node.below("material"));
            METALS[0]
        }
        Some(found) => {
            let slug = reading.text_at(&found);
            slug.and_then(Metal::named).copied().unwrap_or_else(|| {
                if slug.is_some() {
                    let all = words(METALS.iter().map(|metal| metal.slug));
                    reading.fault(&found.pointer, format!("must be one of {all}"));
                }
                METALS[0]
            })
        }
    };
    let mut own = |key: &str, of_metal: f64, counts: bool| match node.get(key) {
        Some(found) => reading.number_at(&found, ..).unwrap_or(f64::NAN),
        None => {
            if counts {
                reading.defaulted.push(node.below(key));
            }
            of_metal
        }
    };
    let metal = Metal {
        conductivity_w_m_k: own("k_w_m_k", metal.conductivity_w_m_k, true),
        density_kg_m3: own("rho_kg_m3", metal.density_kg_m3, warms_up),
        heat_j_kg_k: own("cp_j_kg_k", metal.heat_j_kg_k, warms_up),
        solidus_c: own("solidus_c", metal.solidus_c, true),
        ..metal
    };
    let emissivity = own("emissivity", emissivity.unwrap_or(typical::EMISSIVITY), false);
    Stock {
        metal,
        outside_diameter_mm: number(reading, node, "outside_diameter_mm"),
        wall_mm: number(reading, node, "wall_mm"),
        emissivity,
    }
}

/// What holds a joint: a filler by name, or only its solidus.
struct Hold {
    filler: Option<&'static Filler>,
    solidus_c: f64,
}

fn read_hold(reading: &mut Reading, node: &Node<'_>) -> Hold {
    let filler = read_filler(reading, node, "held_by");
    let solidus_c = match (node.get("solidus_c"), filler) {
        // The technician's own number goes before the table's.
        (Some(found), _) => reading.number_at(&found, ..).unwrap_or(f64::NAN),
        (None, Some(filler)) => filler.solidus_c,
        (None, None) => {
            if node.get("held_by").is_none() {
                reading.fault(node.below("held_by"), "is missing; give it or solidus_c");
            }
            // Not told again as a missing solidus.
            UNKNOWN_SOLIDUS_C
        }
    };
    Hold { filler, solidus_c }
}

/// Stands in for the solidus of a filler whose fault has been told.
const UNKNOWN_SOLIDUS_C: f64 = 183.0;

fn read_filler(reading: &mut Reading, node: &Node<'_>, key: &str) -> Option<&'static Filler> {
    let found = node.get(key)?;
    let slug = reading.text_at(&found)?;
    let known = Filler::named(slug);
    if known.is_none() {
        let all = words(FILLERS.iter().map(|filler| filler.slug));
        reading.fault(
            &found.pointer,
            format!("must be one of {all}, unknown_soft_solder, unknown_brazing"),
        );
    }
    known
}

fn answer_reach(
    mut reading: Reading,
    root: &Node<'_>,
    duration: Duration,
) -> Result<Value, Refused> {
    reading.object(
        root,
        &[
            "tubes",
            "zones",
            "joints",
            "emissivity",
            "ambient_c",
            "air_h_w_m2_k",
            "margin_k",
            "mode",
        ],
    );
    let warms_up = matches!(duration, Duration::Transient { .. });
    let emissivity = read_emissivity(&mut reading, root);
    let tubes = reading.list(root, "tubes");
    if emissivity.is_none() && tubes.iter().any(|tube| tube.get("emissivity").is_none()) {
        reading.defaulted.push(root.below("emissivity"));
    }
    let tubes = tubes
        .iter()
        .map(|node| {
            let also = ["id", "from", "to", "length_mm"];
            let stock = read_stock(&mut reading, node, &also, emissivity, warms_up);
            let mut text = |key| reading.text(node, key).unwrap_or_default().to_owned();
            let (id, from, to) = (text("id"), text("from"), text("to"));
            Tube { id, from, to, length_mm: number(&mut reading, node, "length_mm"), stock }
        })
        .collect();
    let mut torch_fillers = Vec::new();
    let zones = reading.list(root, "zones");
    let zones =
        zones.iter().map(|node| read_zone(&mut reading, node, &mut torch_fillers)).collect();
    let mut holds = Vec::new();
    let joints = reading.list(root, "joints");
    let joints = joints.iter().map(|node| read_joint(&mut reading, node, &mut holds)).collect();
    let (room, margin_k) = read_room(&mut reading, root);

    let assembly = Assembly { tubes, zones, joints, room, margin_k, duration };
    let reach = reach_of(&assembly.resolve(Faults::from(reading.faults))?)?;
    let mut answer = reach_as_json(&reach);
    answer["defaulted"] = json!(reading.defaulted);
    answer["cautions"] = json!(cautions(&assembly, &reach, &torch_fillers, &holds));
    Ok(answer)
}

fn read_zone(
    reading: &mut Reading,
    node: &Node<'_>,
    torch_fillers: &mut Vec<&'static Filler>,
) -> Zone {
    let kind = node.value.get("kind").and_then(Value::as_str);
    let all = ["kind", "tube", "from_mm", "to_mm", "temperature_c"];
    let more: &[&str] = match kind {
        Some("torch") => &["filler"],
        Some("water") => &["inside"],
        Some("wet_rag" | "heat_sink") => &["h_w_m2_k"],
        _ => &["filler", "inside", "h_w_m2_k"],
    };
    let is_object = reading.object(node, &[&all[..], more].concat()).is_some();
    let doing = match kind {
        Some("torch") => read_torch(reading, node, torch_fillers),
        Some("water") => {
            let temperature_c = number_or(reading, node, "temperature_c", typical::WATER_C);
            Doing::Water { temperature_c, inside: flag(reading, node, "inside") }
        }
        Some(kind @ ("wet_rag" | "heat_sink")) => {
            let rag = kind == "wet_rag";
            let (h, rest_c) = if rag { typical::RAG } else { typical::SINK };
            let h_w_m2_k = number_or(reading, node, "h_w_m2_k", h);
            let temperature_c = number_or(reading, node, "temperature_c", rest_c);
            if rag {
                Doing::WetRag { h_w_m2_k, temperature_c }
            } else {
                Doing::HeatSink { h_w_m2_k, temperature_c }
            }
        }
        _ => {
            if is_object {
                reading.fault(node.below("kind"), "must be torch, water, wet_rag or heat_sink");
            }
            // Refused already; the rest of the zone is read for its own faults.
            Doing::HeatSink { h_w_m2_k: typical::SINK.0, temperature_c: typical::SINK.1 }
        }
    };
    Zone {
        tube: reading.text(node, "tube").unwrap_or_default().to_owned(),
        from_mm: number(reading, node, "from_mm"),
        to_mm: number(reading, node, "to_mm"),
        doing,
    }
}

/// A torch is as hot as it is said to be, or 30 K over the liquidus of its filler.
fn read_torch(
    reading: &mut Reading,
    node: &Node<'_>,
    torch_fillers: &mut Vec<&'static Filler>,
) -> Doing {
    let filler = read_filler(reading, node, "filler");
    torch_fillers.extend(filler);
    let temperature_c = match (node.get("temperature_c"), filler) {
        (None, Some(filler)) => {
            reading.defaulted.push(node.below("temperature_c"));
            filler.liquidus_c + typical::TORCH_OVER_LIQUIDUS_K
        }
        _ => number(reading, node, "temperature_c"),
    };
    Doing::Torch { temperature_c }
}

fn flag(reading: &mut Reading, node: &Node<'_>, key: &str) -> bool {
    match node.get(key) {
        None => {
            reading.defaulted.push(node.below(key));
            false
        }
        Some(found) => found.value.as_bool().unwrap_or_else(|| {
            reading.fault(&found.pointer, "must be true or false");
            false
        }),
    }
}

fn read_joint(reading: &mut Reading, node: &Node<'_>, holds: &mut Vec<Hold>) -> Joint {
    reading.object(node, &["id", "node", "tube", "at_mm", "held_by", "solidus_c"]);
    let id = reading.text(node, "id").unwrap_or_default().to_owned();
    let hold = read_hold(reading, node);
    let along = node.get("tube").is_some() || node.get("at_mm").is_some();
    let place = match node.get("node") {
        Some(found) => {
            if along {
                reading.fault(&found.pointer, "give either a node, or a tube and at_mm");
            }
            Place::Node(reading.text_at(&found).unwrap_or_default().to_owned())
        }
        None if along => Place::Along {
            tube: reading.text(node, "tube").unwrap_or_default().to_owned(),
            at_mm: number(reading, node, "at_mm"),
        },
        None => {
            reading.fault(node.below("node"), "is missing; give a node, or a tube and at_mm");
            Place::Node(String::new())
        }
    };
    let joint = Joint { id, place, solidus_c: hold.solidus_c };
    holds.push(hold);
    joint
}

fn cautions(
    assembly: &Assembly,
    reach: &Reach,
    torch_fillers: &[&Filler],
    holds: &[Hold],
) -> Vec<&'static str> {
    let brazed = assembly.zones.iter().any(|zone| {
        matches!(zone.doing, Doing::Torch { temperature_c } if temperature_c >= BRAZING_FROM_C)
    });
    let zinc = assembly.tubes.iter().zip(&reach.tubes).any(|(tube, reach)| {
        let metal = tube.stock.metal;
        metal.is_brass() && reach.max_high_c() > metal.solidus_c - ZINC_WITHIN_K
    });
    let water = assembly.zones.iter().any(|zone| matches!(zone.doing, Doing::Water { .. }));
    listed(brazed, zinc, water, torch_fillers, holds)
}

/// The cautions that apply, in the order of the design's table.
fn listed(
    brazed: bool,
    zinc: bool,
    water: bool,
    torch_fillers: &[&Filler],
    holds: &[Hold],
) -> Vec<&'static str> {
    let torch_filler = |is: fn(&Filler) -> bool| torch_fillers.iter().any(|filler| is(filler));
    // A joint known only by its solidus is an old joint of unknown making.
    let cadmium = torch_filler(|filler| filler.cadmium)
        || holds.iter().any(|hold| match hold.filler {
            Some(filler) => filler.cadmium,
            None => hold.solidus_c >= BRAZING_FROM_C,
        });
    let lead = torch_filler(|filler| filler.lead)
        || holds.iter().any(|hold| match hold.filler {
            Some(filler) => filler.lead,
            None => hold.solidus_c < BRAZING_FROM_C,
        });
    let flux = brazed || torch_filler(|filler| filler.joining == Joining::Brazing);
    [
        ("torch", true),
        ("cadmium", cadmium),
        ("flux-fume", flux),
        ("zinc-fume", zinc),
        ("lead", lead),
        ("quench-steam", water),
    ]
    .into_iter()
    .filter_map(|(slug, applies)| applies.then_some(slug))
    .collect()
}

/// Rounded to 0.001: a hundred times finer than the discretisation.
fn rounded(value: f64) -> f64 {
    // Adding zero turns a negative zero into a plain one.
    (value * 1000.0).round() / 1000.0 + 0.0
}

fn reach_as_json(reach: &Reach) -> Value {
    let joints: Vec<Value> = reach
        .joints
        .iter()
        .map(|joint| {
            let mut told = json!({
                "id": joint.id,
                "temperature_c": rounded(joint.temperature_c),
                "temperature_high_c": rounded(joint.temperature_high_c),
                "limit_c": joint.limit_c,
                "verdict": joint.verdict.slug(),
            });
            if let Some(at_s) = joint.peak_at_s {
                told["peak_at_s"] = json!(rounded(at_s));
            }
            told
        })
        .collect();
    let tubes: Vec<Value> = reach
        .tubes
        .iter()
        .map(|tube| {
            let profile: Vec<Value> = tube
                .drawn(DRAWN_WITHIN_K)
                .iter()
                .map(|station| {
                    json!({
                        "position_mm": rounded(station.position_mm),
                        "temperature_c": rounded(station.temperature_c),
                        "temperature_high_c": rounded(station.temperature_high_c),
                    })
                })
                .collect();
            json!({
                "id": tube.id,
                "max_c": rounded(tube.max_c()),
                "min_c": rounded(tube.min_c()),
                "over_300c_mm": rounded(tube.length_over_mm(300.0)),
                "over_150c_mm": rounded(tube.length_over_mm(150.0)),
                "profile": profile,
            })
        })
        .collect();
    let mut answer = json!({ "joints": joints, "tubes": tubes });
    if let Some(heat) = reach.heat {
        answer["heat_given_w"] = json!(rounded(heat.given_w));
    }
    answer
}

/// The long tube, its hold, and what was read.
fn read_long_tube(reading: &mut Reading, root: &Node<'_>, also: &[&str]) -> (LongTube, Hold) {
    let mut known = also.to_vec();
    known.extend([
        "mode",
        "tube",
        "torch_c",
        "held_by",
        "solidus_c",
        "margin_k",
        "ambient_c",
        "air_h_w_m2_k",
        "emissivity",
    ]);
    reading.object(root, &known);
    let emissivity = read_emissivity(reading, root);
    let unreadable = Stock {
        metal: METALS[0],
        outside_diameter_mm: f64::NAN,
        wall_mm: f64::NAN,
        emissivity: typical::EMISSIVITY,
    };
    let stock = match root.get("tube") {
        Some(tube) => {
            if emissivity.is_none() && tube.get("emissivity").is_none() {
                reading.defaulted.push(root.below("emissivity"));
            }
            read_stock(reading, &tube, &[], emissivity, false)
        }
        None => {
            reading.fault(root.below("tube"), "is missing; give an object");
            unreadable
        }
    };
    let torch_c = number(reading, root, "torch_c");
    let hold = read_hold(reading, root);
    let (room, margin_k) = read_room(reading, root);
    (LongTube { stock, torch_c, solidus_c: hold.solidus_c, margin_k, room }, hold)
}

/// A limit that came from a filler is told at the filler.
fn told_at_the_hold(mut refused: Refused, root: &Node<'_>) -> Refused {
    if root.get("solidus_c").is_none() {
        for fault in refused.faults.iter_mut().filter(|fault| fault.pointer == "/solidus_c") {
            fault.pointer = "/held_by".to_owned();
        }
    }
    refused
}

fn long_tube_cautions(tube: &LongTube, hold: Hold, water: bool) -> Vec<&'static str> {
    let metal = tube.stock.metal;
    let hottest_c = tube.torch_c + super::CAUTIOUS.torch_k;
    let zinc = metal.is_brass() && hottest_c > metal.solidus_c - ZINC_WITHIN_K;
    listed(tube.torch_c >= BRAZING_FROM_C, zinc, water, &[], &[hold])
}

fn answer_safe_distance(mut reading: Reading, root: &Node<'_>) -> Result<Value, Refused> {
    let (tube, hold) = read_long_tube(&mut reading, root, &[]);
    let in_words = |refused| told_at_the_hold(refused, root);
    tube.check_with(Faults::from(reading.faults)).map_err(in_words)?;
    let safe_distance_mm = tube.safe_distance_mm()?;
    Ok(json!({
        "safe_distance_mm": rounded(safe_distance_mm),
        "limit_c": tube.solidus_c - tube.margin_k,
        "defaulted": reading.defaulted,
        "cautions": long_tube_cautions(&tube, hold, false),
    }))
}

fn answer_water_cover(mut reading: Reading, root: &Node<'_>) -> Result<Value, Refused> {
    let also = ["distance_mm", "water_c", "inside", "least_dry_mm"];
    let (tube, hold) = read_long_tube(&mut reading, root, &also);
    let water = Water {
        distance_mm: number(&mut reading, root, "distance_mm"),
        water_c: number_or(&mut reading, root, "water_c", typical::WATER_C),
        inside: flag(&mut reading, root, "inside"),
        least_dry_mm: number_or(&mut reading, root, "least_dry_mm", typical::LEAST_DRY_MM),
    };
    let in_words = |refused| told_at_the_hold(refused, root);
    tube.check_water(&water, Faults::from(reading.faults)).map_err(in_words)?;
    let mut answer = match tube.water_cover(&water)? {
        WaterCover::NotNeeded => json!({"cover_mm": 0.0, "needed": false, "reachable": true}),
        WaterCover::OutOfReach => json!({"cover_mm": null, "needed": true, "reachable": false}),
        WaterCover::Deep { cover_mm, waterline_c } => json!({
            "cover_mm": rounded(cover_mm),
            "needed": true,
            "reachable": true,
            "waterline_c": rounded(waterline_c),
        }),
    };
    answer["limit_c"] = json!(tube.solidus_c - tube.margin_k);
    answer["defaulted"] = json!(reading.defaulted);
    answer["cautions"] = json!(long_tube_cautions(&tube, hold, true));
    Ok(answer)
}
