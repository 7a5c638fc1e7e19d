//! What was written, where it was written, and what is wrong with it.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fmt;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use toml::{Table, Value};

use super::keys::{self, KEYS, Key};

/// Where a setting was given. The later in this list, the stronger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    File(PathBuf),
    Environment(String),
    CommandLine(&'static str),
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(path) => write!(f, "in {}", path.display()),
            Self::Environment(variable) => write!(f, "environment variable {variable}"),
            Self::CommandLine(option) => write!(f, "option {option}"),
        }
    }
}

/// One thing wrong with the settings: which key, what about it, what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingFault {
    /// The key's name, or what was written in its place.
    pub key: String,
    /// Where it was given; `None` for a key that is missing.
    pub source: Option<Source>,
    pub wrong: String,
    pub remedy: String,
}

impl fmt::Display for SettingFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.key)?;
        if let Some(source) = &self.source {
            write!(f, " ({source})")?;
        }
        write!(f, ": {}. {}.", self.wrong, self.remedy)
    }
}

struct Entry {
    value: Value,
    source: Source,
}

/// The settings as they were given, each from its strongest source, and the
/// faults found so far. Reading goes on after a fault, so that all of them are
/// told at once.
#[derive(Default)]
pub(super) struct Given {
    entries: BTreeMap<&'static str, Entry>,
    pub(super) faults: Vec<SettingFault>,
}

impl Given {
    /// Adds the text of a settings file.
    pub(super) fn file(&mut self, path: &Path, text: &str) {
        let source = Source::File(path.to_path_buf());
        match text.parse::<Table>() {
            Ok(table) => self.table(&table, "", &source),
            Err(fault) => {
                let before = fault.span().and_then(|span| text.get(..span.start));
                let line = before.map_or(1, |before| before.matches('\n').count() + 1);
                self.faults.push(SettingFault {
                    key: format!("line {line}"),
                    source: Some(source),
                    wrong: fault.message().trim_end_matches('.').to_owned(),
                    remedy: "Write each setting as key = value, texts in \"quotes\"; see \
                             deploy/bellbrace.example.toml"
                        .to_owned(),
                });
            }
        }
    }

    fn table(&mut self, table: &Table, before: &str, source: &Source) {
        for (word, value) in table {
            let name = format!("{before}{word}");
            match (keys::by_name(&name), value) {
                (Some(key), _) => self.put(key, value.clone(), source.clone()),
                (None, Value::Table(section)) if before.is_empty() => {
                    if keys::is_section(&name) || !section.is_empty() {
                        self.table(section, &format!("{name}."), source);
                    } else {
                        self.unknown(&name, source);
                    }
                }
                (None, _) if keys::is_section(&name) => self.faults.push(SettingFault {
                    key: name.clone(),
                    source: Some(source.clone()),
                    wrong: "is a section, not a setting".to_owned(),
                    remedy: format!("Write [{name}] on a line of its own and its settings below"),
                }),
                (None, _) => self.unknown(&name, source),
            }
        }
    }

    fn unknown(&mut self, name: &str, source: &Source) {
        self.faults.push(SettingFault {
            key: name.to_owned(),
            source: Some(source.clone()),
            wrong: "is no setting".to_owned(),
            remedy: meant(name, KEYS.iter().map(|key| key.name)),
        });
    }

    /// Adds the environment: ours are the variables of the keys, and whatever
    /// else begins with `BELLBRACE_` is a slip, but for what the tests tell each other.
    pub(super) fn environment(&mut self, variables: impl Iterator<Item = (OsString, OsString)>) {
        for (variable, value) in variables {
            let Some(variable) = variable.to_str() else { continue };
            let key = keys::by_variable(variable);
            if key.is_none()
                && (!variable.starts_with("BELLBRACE_") || variable.starts_with(keys::OF_THE_TESTS))
            {
                continue;
            }
            let source = Source::Environment(variable.to_owned());
            match (key, value.into_string()) {
                (Some(key), Ok(value)) => self.put(key, Value::String(value), source),
                (Some(key), Err(_)) => self.wrong(key, source, "is not UTF-8"),
                (None, _) => self.faults.push(SettingFault {
                    key: variable.to_owned(),
                    source: Some(source),
                    wrong: "is no setting".to_owned(),
                    remedy: meant(variable, KEYS.iter().map(|key| key.variable)),
                }),
            }
        }
    }

    /// Adds one option of the command line.
    pub(super) fn option(&mut self, option: &'static str, key: &'static Key, value: String) {
        self.put(key, Value::String(value), Source::CommandLine(option));
    }

    fn put(&mut self, key: &'static Key, value: Value, source: Source) {
        self.entries.insert(key.name, Entry { value, source });
    }

    fn wrong(&mut self, key: &Key, source: Source, wrong: impl Into<String>) {
        self.faults.push(SettingFault {
            key: key.name.to_owned(),
            source: Some(source),
            wrong: wrong.into(),
            remedy: key.remedy.to_owned(),
        });
    }

    /// Says that this key, given or not, cannot stand as it is.
    pub(super) fn refuse(&mut self, key: &Key, wrong: impl Into<String>) {
        let source = self.entries.get(key.name).map(|entry| entry.source.clone());
        self.faults.push(SettingFault {
            key: key.name.to_owned(),
            source,
            wrong: wrong.into(),
            remedy: key.remedy.to_owned(),
        });
    }

    pub(super) fn has(&self, key: &Key) -> bool {
        self.entries.contains_key(key.name)
    }

    /// A text, trimmed and not empty. `None` when it is not given or wrong.
    pub(super) fn text(&mut self, key: &Key) -> Option<String> {
        let entry = self.entries.get(key.name)?;
        let wrong = match &entry.value {
            Value::String(text) if text.trim().is_empty() => "is empty".to_owned(),
            Value::String(text) if text.chars().any(char::is_control) => {
                "holds a line break or another control character".to_owned()
            }
            Value::String(text) => return Some(text.trim().to_owned()),
            other => format!("is {}, not a text in quotes", kind(other)),
        };
        self.wrong(key, entry.source.clone(), wrong);
        None
    }

    /// A text that `read` understands, or says why not.
    pub(super) fn read<T>(
        &mut self,
        key: &Key,
        read: impl FnOnce(&str) -> Result<T, String>,
    ) -> Option<T> {
        let text = self.text(key)?;
        match read(&text) {
            Ok(value) => Some(value),
            Err(wrong) => {
                self.refuse(key, wrong);
                None
            }
        }
    }

    /// One of several words.
    pub(super) fn one_of<T: Copy>(&mut self, key: &Key, words: &[(&str, T)]) -> Option<T> {
        self.read(key, |text| {
            let known = words.iter().find(|(word, _)| *word == text);
            known.map(|(_, meaning)| *meaning).ok_or_else(|| format!("\"{text}\" is unknown"))
        })
    }

    /// A whole number: bare in the file, digits elsewhere.
    pub(super) fn whole(&mut self, key: &Key, range: RangeInclusive<u16>) -> Option<u16> {
        let entry = self.entries.get(key.name)?;
        let number = match (&entry.value, &entry.source) {
            (Value::Integer(number), _) => Ok(*number),
            (Value::String(text), _) if text.trim().is_empty() => Err("is empty".to_owned()),
            (Value::String(text), Source::File(_)) => {
                Err(format!("\"{text}\" is a text; a number stands without quotes"))
            }
            (Value::String(text), _) => {
                text.trim().parse().map_err(|_| format!("\"{text}\" is not a whole number"))
            }
            (other, _) => Err(format!("is {}, not a whole number", kind(other))),
        };
        let fits = number.and_then(|number| {
            let small = u16::try_from(number).ok().filter(|number| range.contains(number));
            small.ok_or_else(|| {
                format!("{number} is not between {} and {}", range.start(), range.end())
            })
        });
        match fits {
            Ok(number) => Some(number),
            Err(wrong) => {
                self.wrong(key, entry.source.clone(), wrong);
                None
            }
        }
    }

    /// An absolute path. A relative one would mean another place with every
    /// folder that the server is started in.
    pub(super) fn path(&mut self, key: &Key) -> Option<PathBuf> {
        self.read(key, |text| {
            let path = PathBuf::from(text);
            if path.is_absolute() {
                Ok(path)
            } else {
                Err(format!("\"{text}\" is not an absolute path"))
            }
        })
    }
}

fn kind(value: &Value) -> &'static str {
    match value {
        Value::String(_) => "a text",
        Value::Integer(_) => "a whole number",
        Value::Float(_) => "a decimal number",
        Value::Boolean(_) => "true or false",
        Value::Datetime(_) => "a date",
        Value::Array(_) => "a list",
        Value::Table(_) => "a section",
    }
}

fn meant<'a>(word: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    // The right word in the wrong section, or in none, is the likeliest slip.
    let last = word.rsplit('.').next();
    let elsewhere = known.clone().find(|name| name.rsplit_once('.').map(|(_, end)| end) == last);
    match elsewhere.or_else(|| keys::nearest(word, known)) {
        Some(near) => format!("Did you mean {near}? Otherwise take it out"),
        None => "Take it out; deploy/bellbrace.example.toml explains every setting".to_owned(),
    }
}
