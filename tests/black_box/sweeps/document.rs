//! The API document, read for its requests and the fields of their bodies.

use serde_json::{Value, json};
use std::sync::LazyLock;

static DOCUMENT: LazyLock<Value> = LazyLock::new(|| serde_json::from_str(bellbrace_http::openapi::text()).unwrap());

/// One request that the document names.
pub struct Asked {
    /// Its name in the document.
    pub name: &'static str,
    /// In capitals.
    pub method: String,
    /// Below `/api/v1`, with its placeholders.
    pub path: &'static str,
    operation: &'static Value,
}

/// Every request of the document.
pub fn every_request() -> Vec<Asked> {
    let mut found = Vec::new();
    for (path, item) in DOCUMENT["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            if ["get", "post", "put", "patch", "delete"].contains(&method.as_str()) {
                let name = operation["operationId"].as_str().unwrap();
                found.push(Asked { name, method: method.to_uppercase(), path: path.strip_prefix("/api/v1").unwrap(), operation });
            }
        }
    }
    assert!(found.len() > 60, "the document names only {}", found.len());
    found
}

impl Asked {
    /// Whether nobody need be signed in.
    pub fn is_open(&self) -> bool {
        self.operation["security"].as_array().unwrap().iter().any(|way| way.as_object().unwrap().is_empty())
    }

    /// Whether it only reads.
    pub fn is_read(&self) -> bool {
        self.method == "GET"
    }

    /// Its parameters of this sort.
    pub fn parameters(&self, place: &str) -> Vec<&'static Value> {
        self.operation["parameters"].as_array().into_iter().flatten().filter(|one| one["in"] == place).collect()
    }

    /// Whether it knows this header.
    pub fn knows_header(&self, name: &str) -> bool {
        self.parameters("header").iter().any(|one| one["name"] == name)
    }

    /// The schema of its good JSON answer.
    pub fn answer(&self) -> Option<&'static Value> {
        Some(&self.operation["responses"]["200"]["content"]["application/json"]["schema"]).filter(|schema| schema.is_object())
    }

    /// The schema of its JSON body.
    pub fn body(&self) -> Option<&'static Value> {
        Some(&self.operation["requestBody"]["content"]["application/json"]["schema"]).filter(|schema| schema.is_object())
    }

    /// Every field of its body that holds no further fields, by pointer; in lists, in the first element.
    pub fn fields(&self) -> Vec<(String, &'static Value)> {
        let mut found = Vec::new();
        if let Some(schema) = self.body() {
            walk(schema, "", 0, &mut found);
        }
        found
    }
}

/// What a schema stands for: behind its reference, and without "or null".
pub fn resolve(schema: &'static Value) -> &'static Value {
    if let Some(target) = schema["$ref"].as_str() {
        return resolve(DOCUMENT.pointer(target.trim_start_matches('#')).unwrap());
    }
    let or_null = schema["oneOf"].as_array().filter(|several| several.iter().any(|one| one["type"] == "null"));
    match or_null {
        Some(several) => resolve(several.iter().find(|one| one["type"] != "null").unwrap()),
        None => schema,
    }
}

/// Whether a schema allows this type.
pub fn is_a(schema: &Value, kind: &str) -> bool {
    schema["type"] == kind || schema["type"].as_array().is_some_and(|several| several.iter().any(|one| one == kind))
}

/// Whether any text fits, so that only its length and its letters can be wrong.
pub fn is_free_text(schema: &Value) -> bool {
    is_a(schema, "string") && schema["enum"].is_null() && schema["pattern"].is_null() && schema["format"].is_null()
}

fn walk(schema: &'static Value, at: &str, depth: usize, found: &mut Vec<(String, &'static Value)>) {
    assert!(depth < 12, "{at} never ends");
    let schema = resolve(schema);
    if let Some(fields) = schema["properties"].as_object() {
        for (name, inner) in fields {
            walk(inner, &format!("{at}/{name}"), depth + 1, found);
        }
    } else if schema["items"].is_object() {
        walk(&schema["items"], &format!("{at}/0"), depth + 1, found);
    } else if let Some(several) = schema["oneOf"].as_array() {
        for one in several {
            walk(one, at, depth + 1, found);
        }
    } else {
        found.push((at.to_owned(), schema));
    }
}

/// The least that a schema asks for.
fn sample(schema: &'static Value) -> Value {
    let schema = resolve(schema);
    if let Some(word) = schema["enum"].get(0) {
        return word.clone();
    }
    if let Some(several) = schema["oneOf"].as_array() {
        return sample(&several[0]);
    }
    if let Some(example) = schema.get("example") {
        return example.clone();
    }
    if schema["properties"].is_object() {
        let needed = schema["required"].as_array().into_iter().flatten().map(|name| name.as_str().unwrap());
        return Value::Object(needed.map(|name| (name.to_owned(), sample(&schema["properties"][name]))).collect());
    }
    match () {
        () if is_a(schema, "string") && schema["format"] == "uuid" => json!("0190c0de-0000-7000-8000-000000000001"),
        () if is_a(schema, "string") && schema["format"] == "date" => json!("2026-05-20"),
        () if is_a(schema, "string") && schema["pattern"].as_str().is_some_and(|p| p.contains("[A-Z]")) => json!("EUR"),
        () if is_a(schema, "string") && schema["pattern"].is_string() => json!("1"),
        () if is_a(schema, "string") => json!("a word"),
        () if is_a(schema, "integer") || is_a(schema, "number") => json!(1),
        () if is_a(schema, "boolean") => json!(false),
        () if is_a(schema, "array") => json!([]),
        () => json!({}),
    }
}

/// `body` with the value at `pointer` set; what is missing on the way there is made up from `schema`.
pub fn with(body: &Value, schema: &'static Value, pointer: &str, value: Value) -> Value {
    let mut body = body.clone();
    let mut here = &mut body;
    let mut schema = resolve(schema);
    let steps: Vec<&str> = pointer.split('/').skip(1).collect();
    for (index, step) in steps.iter().enumerate() {
        let is_last = index + 1 == steps.len();
        let inner = if schema["properties"][*step].is_object() {
            &schema["properties"][*step]
        } else if schema["items"].is_object() {
            &schema["items"]
        } else {
            // One of several forms: the one that has this field.
            let form = schema["oneOf"].as_array().unwrap().iter().map(resolve).find(|one| one["properties"][*step].is_object()).unwrap();
            *here = json!({});
            &form["properties"][*step]
        };
        if schema["items"].is_object() {
            let list = here.as_array_mut().unwrap();
            if list.is_empty() {
                list.push(sample(inner));
            }
            here = &mut list[0];
        } else {
            let fields = here.as_object_mut().unwrap();
            if fields.get(*step).is_none_or(Value::is_null) {
                fields.insert((*step).to_owned(), if resolve(inner)["items"].is_object() { json!([]) } else { sample(inner) });
            }
            here = fields.get_mut(*step).unwrap();
        }
        schema = resolve(inner);
        if is_last {
            *here = value;
            return body;
        }
    }
    value
}
