//! Somebody else's fuzzer (schemathesis) over the API document, against a shop where something
//! stands in every stage: nothing may be answered that the document does not say, and nothing by
//! "our fault". `tests/run` makes a step of its own of it.

use super::document::every_request;
use super::scene::Scene;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Output};

/// Every run makes the same requests, as far as the shop answers the same.
const SEED: &str = "20260512";
/// What must hold of every answer.
const CHECKS: &str =
    "not_a_server_error,status_code_conformance,content_type_conformance,response_headers_conformance,response_schema_conformance";

struct Fuzzer<'s> {
    scene: &'s Scene,
    config: std::path::PathBuf,
}

impl<'s> Fuzzer<'s> {
    /// Ids that lead somewhere, and versions that were seen: half of the requests reach the acts.
    fn for_scene(scene: &'s Scene) -> Self {
        let mut ids: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for asked in every_request().into_iter().filter(|asked| asked.path.contains('{') && asked.name != "sessions_end") {
            let at = asked.path.split('/').position(|part| part.starts_with('{')).unwrap();
            let good = scene.good(&asked);
            let id = good.path.split('/').nth(at).unwrap().to_owned();
            let known = ids.entry(asked.path).or_default();
            if !known.contains(&id) {
                known.push(id);
            }
        }
        let mut config = String::from("[dictionaries]\nversions = { values = [");
        for version in 1..=14 {
            write!(config, "'\"{version}\"', ").unwrap();
        }
        config.push_str("] }\n");
        for (number, known) in ids.values().enumerate() {
            writeln!(config, "ids-{number} = {{ values = {} }}", json!(known)).unwrap();
        }
        config.push_str("\n[parameters]\n\"header.If-Match\" = { dictionary = \"versions\", probability = 0.8 }\n");
        for (number, path) in ids.keys().enumerate() {
            let name = path.split('{').nth(1).unwrap().split('}').next().unwrap();
            writeln!(
                config,
                "\n[[operations]]\ninclude-path = \"/api/v1{path}\"\nparameters = {{ \"path.{name}\" = {{ dictionary = \"ids-{number}\", probability = 0.8 }} }}"
            )
            .unwrap();
        }
        let file = scene.shop.folder().join("schemathesis.toml");
        std::fs::write(&file, config).unwrap();
        Self { scene, config: file }
    }

    fn run(&self, document: &str, more: &[&str]) -> Output {
        let beside_python = harness::smtp::python().with_file_name("schemathesis");
        Command::new(&beside_python)
            .arg("--config-file")
            .arg(&self.config)
            // One worker: two threads of Python 3.11 that parse source at once can end in an error of
            // the parser (CPython issue 106905), which is none of ours to find.
            .args(["run", document, "--origin", self.scene.shop.address(), "--seed", SEED, "--checks", CHECKS, "--no-color", "--workers", "1"])
            // A stream that never ends is none of a fuzzer's; the sweeps ask it all the same.
            .args(["--exclude-path", "/api/v1/events", "--generation-database", "none", "--warnings", "off"])
            .args(more)
            .current_dir(self.scene.shop.folder())
            .output()
            .unwrap_or_else(|error| panic!("{}: {error}; tests/run installs it", beside_python.display()))
    }
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

#[test]
#[ignore = "takes two minutes: a step of its own in tests/run"]
fn a_fuzzer_finds_no_answer_that_the_document_does_not_say() {
    let scene = Scene::open();
    let fuzzer = Fuzzer::for_scene(&scene);
    let document = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().join("api-spec/openapi.json");
    let token = format!("Authorization: Bearer {}", scene.person("IF").token());

    // It would say so: a document that promises what nobody gives is found out.
    let mut spoilt: Value = serde_json::from_slice(&std::fs::read(&document).unwrap()).unwrap();
    spoilt["components"]["schemas"]["Board"]["required"].as_array_mut().unwrap().push(json!("never_there"));
    let file = scene.shop.folder().join("spoilt.json");
    std::fs::write(&file, spoilt.to_string()).unwrap();
    let document = document.to_str().unwrap();
    // The short ones ride along with the long one, which is told how long it may take.
    let (found, signed_out, signed_in) = std::thread::scope(|threads| {
        let planted = threads.spawn(|| fuzzer.run(file.to_str().unwrap(), &["--header", &token, "--include-path", "/api/v1/board", "--phases", "fuzzing", "-n", "3"]));
        let signed_out = threads.spawn(|| fuzzer.run(document, &["--phases", "fuzzing", "-n", "3", "--max-time", "20"]));
        let signed_in = fuzzer.run(document, &["--header", &token, "--phases", "coverage,fuzzing,stateful", "-n", "15", "--max-time", "110"]);
        (planted.join().unwrap(), signed_out.join().unwrap(), signed_in)
    });
    assert!(!found.status.success() && said(&found).contains("never_there"), "a planted fault was not found:\n{}", said(&found));
    assert!(signed_in.status.success(), "as the proprietor:\n{}", said(&signed_in));
    assert!(signed_out.status.success(), "without signing in:\n{}", said(&signed_out));
    let summary: String = said(&signed_in).lines().rev().take(25).collect::<Vec<_>>().into_iter().rev().collect::<Vec<_>>().join("\n");
    eprintln!("{summary}");
}
