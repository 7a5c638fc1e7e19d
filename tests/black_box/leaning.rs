//! Which crate may lean on which: DEVELOPERS.md's table, compared with what Cargo says.

use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

/// What a crate may use, and what it must never have.
struct May {
    own: &'static [&'static str],
    never: &'static [&'static str],
}

/// HTTP, SQL, mail and waiting are each the business of few.
const HTTP: [&str; 3] = ["actix-web", "utoipa-actix-web", "icalendar"];
const SQL: [&str; 3] = ["diesel", "diesel_migrations", "r2d2"];

fn table(crate_name: &str) -> May {
    match crate_name {
        "bellbrace-trade" => May {
            own: &[],
            // Pure: no waiting, no records, no requests, no chance, no log.
            never: &[
                "tokio",
                "diesel",
                "diesel_migrations",
                "r2d2",
                "actix-web",
                "lettre",
                "rand",
                "getrandom",
                "tracing",
            ],
        },
        "bellbrace-store" => May {
            own: &["bellbrace-trade"],
            never: &["actix-web", "lettre", "maud", "utoipa-actix-web"],
        },
        "bellbrace-acts" => May {
            own: &["bellbrace-trade", "bellbrace-store", "bellbrace-mail"],
            never: &[
                "actix-web",
                "diesel",
                "diesel_migrations",
                "r2d2",
                "lettre",
                "utoipa-actix-web",
            ],
        },
        "bellbrace-mail" => May {
            own: &["bellbrace-trade"],
            never: &["diesel", "r2d2", "actix-web", "diesel_migrations"],
        },
        "bellbrace-paper" => May {
            own: &["bellbrace-trade"],
            never: &["diesel", "r2d2", "actix-web", "diesel_migrations", "rand"],
        },
        "bellbrace-rounds" => May {
            own: &["bellbrace-acts", "bellbrace-store", "bellbrace-mail", "bellbrace-trade"],
            never: &["actix-web", "diesel", "r2d2", "lettre"],
        },
        "bellbrace-http" => May {
            own: &["bellbrace-acts", "bellbrace-paper", "bellbrace-store", "bellbrace-trade"],
            never: &["diesel", "diesel_migrations", "r2d2", "lettre"],
        },
        "bellbrace" => May {
            own: &[
                "bellbrace-acts",
                "bellbrace-store",
                "bellbrace-mail",
                "bellbrace-rounds",
                "bellbrace-http",
                "bellbrace-trade",
            ],
            never: &["diesel", "r2d2", "lettre"],
        },
        // The tests lean on everything, and nothing leans on them.
        "bellbrace-tests" => May {
            own: &[
                "bellbrace-acts",
                "bellbrace-store",
                "bellbrace-mail",
                "bellbrace-rounds",
                "bellbrace-http",
                "bellbrace-trade",
                "bellbrace",
            ],
            never: &[],
        },
        other => panic!("{other} is not in the table of who may lean on whom"),
    }
}

fn packages() -> Vec<Value> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--no-deps", "--offline", "--manifest-path"])
        .arg(root.join("Cargo.toml"))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    metadata["packages"].as_array().unwrap().clone()
}

/// What a package names in its manifest; `kind` is null for what it is built of.
fn names(package: &Value) -> BTreeSet<&str> {
    let dependencies = package["dependencies"].as_array().unwrap();
    dependencies
        .iter()
        .filter(|edge| edge["kind"].is_null())
        .map(|edge| edge["name"].as_str().unwrap())
        .collect()
}

#[test]
fn each_crate_leans_only_on_those_it_may() {
    let packages = packages();
    assert!(packages.len() >= 8);
    for package in &packages {
        let name = package["name"].as_str().unwrap();
        let may = table(name);
        for edge in names(package) {
            assert!(
                !edge.starts_with("bellbrace") || may.own.contains(&edge),
                "{name} may not lean on {edge}"
            );
            assert!(!may.never.contains(&edge), "{name} must never have {edge}");
        }
    }
}

#[test]
fn requests_and_sql_are_the_business_of_one_crate_each() {
    for package in packages() {
        let name = package["name"].as_str().unwrap();
        if name == "bellbrace-tests" {
            continue;
        }
        for edge in names(&package) {
            assert!(
                !SQL.contains(&edge) || name == "bellbrace-store",
                "{name} speaks SQL through {edge}"
            );
            // The binary hands the socket over and starts the workers.
            assert!(
                !HTTP.contains(&edge)
                    || name == "bellbrace-http"
                    || (name, edge) == ("bellbrace", "actix-web"),
                "{name} answers requests through {edge}"
            );
            assert!(
                edge != "lettre" || name == "bellbrace-mail",
                "{name} sends mail through {edge}"
            );
        }
    }
}

fn sources(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found
}

#[test]
fn where_no_tests_are_looked_for_there_are_none() {
    for package in packages() {
        for target in package["targets"].as_array().unwrap() {
            let kinds = target["kind"].as_array().unwrap();
            if kinds.iter().any(|kind| kind == "example" || kind == "custom-build") {
                continue;
            }
            let root = Path::new(target["src_path"].as_str().unwrap());
            let files = if kinds.iter().any(|kind| kind == "lib") { sources(root.parent().unwrap()) } else { vec![root.to_owned()] };
            for file in files {
                let text = std::fs::read_to_string(&file).unwrap();
                let has = |what: &dyn Fn(&str) -> bool| text.lines().map(str::trim_start).any(what);
                let is_test = |line: &str| line.starts_with("#[cfg(test)]") || line.starts_with("#[test]");
                assert!(target["test"] == true || !has(&is_test), "{} has tests that are not run", file.display());
                let is_example = |line: &str| line == "/// ```" || line == "//! ```rust";
                // The closing line of a fence reads like the opening one of an example.
                let is_fenced = has(&|line| line.contains("```text"));
                assert!(target["doctest"] == true || is_fenced || !has(&is_example), "{} has an example that is not run", file.display());
            }
        }
    }
}
