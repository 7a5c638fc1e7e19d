//! The API document: the committed one is the generated one, and a reader finds nothing unsaid.

use bellbrace_http::openapi;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;

fn document() -> Value {
    serde_json::from_str(openapi::text()).unwrap()
}

/// `BELLBRACE_REWRITE=1` writes the file.
#[test]
fn the_committed_document_is_the_generated_one() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().join("api-spec/openapi.json");
    if std::env::var_os("BELLBRACE_REWRITE").is_some() {
        std::fs::write(&file, openapi::text()).unwrap();
    }
    let committed = std::fs::read_to_string(&file).unwrap();
    if committed != openapi::text() {
        let differs = committed.lines().zip(openapi::text().lines()).position(|(a, b)| a != b);
        panic!("api-spec/openapi.json is old, from line {differs:?} on; run this test with BELLBRACE_REWRITE=1");
    }
}

/// Calls `look` on every object of the document with its pointer.
fn walk(value: &Value, at: &str, look: &mut impl FnMut(&str, &serde_json::Map<String, Value>)) {
    match value {
        Value::Object(object) => {
            look(at, object);
            for (name, inner) in object {
                walk(inner, &format!("{at}/{}", name.replace('~', "~0").replace('/', "~1")), look);
            }
        }
        Value::Array(list) => {
            for (index, inner) in list.iter().enumerate() {
                walk(inner, &format!("{at}/{index}"), look);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

fn operations(document: &Value) -> Vec<(String, &Value)> {
    let mut found = Vec::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            if ["get", "post", "put", "patch", "delete"].contains(&method.as_str()) {
                found.push((format!("{} {path}", method.to_uppercase()), operation));
            }
        }
    }
    found
}

#[test]
fn every_reference_leads_somewhere_and_every_schema_is_used() {
    let document = document();
    let mut used = BTreeSet::new();
    walk(&document, "", &mut |at, object| {
        if let Some(Value::String(target)) = object.get("$ref") {
            assert!(document.pointer(target.trim_start_matches('#')).is_some(), "{at}: {target} leads nowhere");
            used.insert(target.clone());
        }
    });
    for name in document["components"]["schemas"].as_object().unwrap().keys() {
        assert!(used.contains(&format!("#/components/schemas/{name}")), "{name} is used by nothing");
    }
}

#[test]
fn every_operation_parameter_and_field_says_what_it_is() {
    let document = document();
    let mut unsaid = Vec::new();
    let said = |value: &Value| value["description"].as_str().is_some_and(|words| words.trim().len() > 2);
    let tags: Vec<&str> = document["tags"].as_array().unwrap().iter().map(|tag| tag["name"].as_str().unwrap()).collect();
    for (name, operation) in operations(&document) {
        if operation["summary"].as_str().is_none_or(str::is_empty) {
            unsaid.push(name.clone());
        }
        assert!(tags.contains(&operation["tags"][0].as_str().unwrap()), "{name}: its tag says nothing");
        for parameter in operation["parameters"].as_array().into_iter().flatten() {
            if !said(parameter) {
                unsaid.push(format!("{name}: {}", parameter["name"]));
            }
            assert!(parameter["in"] != "path" || parameter["required"] == true, "{name}: {parameter}");
        }
    }
    for (name, schema) in document["components"]["schemas"].as_object().unwrap() {
        if !said(schema) {
            unsaid.push(name.clone());
        }
        for (field, inner) in schema["properties"].as_object().into_iter().flatten() {
            let by_one_of = inner["oneOf"].as_array().is_some_and(|several| several.iter().any(&said));
            if !said(inner) && !by_one_of {
                unsaid.push(format!("{name}.{field}"));
            }
        }
    }
    assert!(unsaid.is_empty(), "{unsaid:#?}");
}

#[test]
fn operations_have_names_of_their_own_and_every_placeholder_its_parameter() {
    let document = document();
    let mut names = BTreeSet::new();
    for (name, operation) in operations(&document) {
        assert!(names.insert(operation["operationId"].as_str().unwrap()), "{name}: a second {}", operation["operationId"]);
        let placeholders = name.split('{').skip(1).map(|rest| rest.split('}').next().unwrap()).collect::<Vec<_>>();
        let given: Vec<&str> = operation["parameters"]
            .as_array()
            .into_iter()
            .flatten()
            .filter(|parameter| parameter["in"] == "path")
            .map(|parameter| parameter["name"].as_str().unwrap())
            .collect();
        assert_eq!(placeholders, given, "{name}");
    }
    assert!(names.len() > 60, "{}", names.len());
}

#[test]
fn every_good_answer_says_its_form_and_every_bad_one_is_a_problem() {
    let document = document();
    for (name, operation) in operations(&document) {
        let answers = operation["responses"].as_object().unwrap();
        let good: Vec<_> = answers.iter().filter(|(status, _)| status.starts_with('2')).collect();
        assert_eq!(good.len(), 1, "{name}: one good answer");
        let (status, answer) = good[0];
        assert_eq!(answer["content"].is_null(), status == "204", "{name}: {status} and its body");
        assert!(answers.contains_key("401") && answers.contains_key("422") && answers.contains_key("503"), "{name}");
        for (status, answer) in answers.iter().filter(|(status, _)| status.starts_with(['4', '5'])) {
            let shared = document.pointer(answer["$ref"].as_str().unwrap().trim_start_matches('#')).unwrap();
            assert!(shared["content"]["application/problem+json"]["schema"]["$ref"].is_string(), "{name}: {status}");
        }
    }
}

#[test]
fn what_is_sent_to_the_server_refuses_fields_that_it_does_not_know() {
    let document = document();
    let mut sent = BTreeSet::new();
    for (_, operation) in operations(&document) {
        reach(&document, &operation["requestBody"], &mut sent);
    }
    assert!(sent.len() > 20);
    for target in sent {
        let schema = document.pointer(target.trim_start_matches('#')).unwrap();
        if schema["type"] == "object" {
            assert_eq!(schema["additionalProperties"], false, "{target} takes fields that nobody knows");
        }
    }
}

/// Every schema that can be reached from here.
fn reach(document: &Value, from: &Value, found: &mut BTreeSet<String>) {
    let mut next = Vec::new();
    walk(from, "", &mut |_, object| next.extend(object.get("$ref").and_then(Value::as_str).map(ToOwned::to_owned)));
    for target in next {
        if found.insert(target.clone()) {
            reach(document, document.pointer(target.trim_start_matches('#')).unwrap(), found);
        }
    }
}

/// Inputs and answers of the bench's computations, in the words and numbers of their reference cases.
const RECKONED: [&str; 27] = [
    "GaugeReading", "PressureTest", "PressureAnswer", "LeakRate", "LeakParts", "DrawnReading", "LeakLimit", "FamilyVolume", "FitLimits",
    "ShopGauge", "PressureGauge", "TestSettings", "FitMeasured", "FitAnswer", "FitStation", "Diameter", "ShankStation", "SlideFit", "Section",
    "Clearance", "ShankFit", "Circle", "GaugeUsed", "GaugeTaken", "FitCheck", "FitPreview", "NewFitCheck",
];

/// The part map and what is reckoned on it: lengths and temperatures there are JSON numbers, as in
/// the computations of the trade, and parts and joints are named by words of the map.
const OF_THE_MAP: [&str; 28] = [
    "Corner", "DiameterChange", "Joint", "JointChange", "Layout", "Measure", "NewJoint", "NewPart", "Part", "PartChange",
    "PartMap", "PartPlace", "PinnedTo", "Point", "Seat", "Sheet", "Station",
    "BenchSettings", "CurveCover", "CurvePart", "CurvePoint", "HeatConflict", "HeatCurve", "NoWay", "PlanJoint", "PlanStep", "Way", "Plan",
];

#[test]
fn decimals_are_strings_with_a_pattern_and_ids_say_that_they_are_uuids() {
    let document = document();
    let schemas = document["components"]["schemas"].as_object().unwrap();
    for name in OF_THE_MAP {
        assert!(schemas.contains_key(name), "{name} is listed here and is no schema");
    }
    walk(&document["components"]["schemas"], "", &mut |at, object| {
        if OF_THE_MAP.contains(&at.split('/').nth(1).unwrap_or_default()) {
            return;
        }
        // A fraction of a day, a reading of a gauge and what is reckoned from it are figures with
        // an uncertainty, as numbers in the reference cases too; money and measures typed are not.
        let is_float = object.get("format").is_some_and(|format| format == "double" || format == "float");
        let is_reckoned = RECKONED.iter().any(|schema| at.starts_with(&format!("/{schema}/")));
        assert!(!is_float || is_reckoned || at.ends_with("/reach_days"), "{at} is a float");
        let name = at.rsplit('/').next().unwrap_or_default();
        if name == "amount" || name.ends_with("_mm") || name.ends_with("_percent") || name == "labour_rate" || name == "unit_price" {
            let named = |name: &str| object.get("$ref").is_some_and(|target| target.as_str().unwrap().ends_with(name));
            let is_known = named("/Money") || named("/PlainDecimal");
            let is_known = is_known || is_reckoned;
            assert!(is_known || object.contains_key("pattern") || object.contains_key("oneOf"), "{at} has no pattern");
        }
        if (name == "id" || name.ends_with("_id")) && object.get("type").is_some_and(|kind| kind == "string") && !at.contains("Tax") {
            assert_eq!(object.get("format").and_then(Value::as_str), Some("uuid"), "{at}");
        }
    });
}
