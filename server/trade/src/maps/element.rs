//! A drawing as a tree of plain SVG elements: what the server writes out as text and a client
//! builds with `createElementNS`, so that neither needs the other's way.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// One element of a drawing. It holds a text or children, never both.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
pub struct SvgElement {
    /// Its name in the namespace of SVG, such as `path`.
    pub tag: String,
    /// Its attributes by name; never an event handler, a style or a reference.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub attributes: BTreeMap<String, String>,
    /// The text it holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The elements it holds, from below to above.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(no_recursion)]
    pub children: Vec<SvgElement>,
}

impl SvgElement {
    /// An element with nothing in it.
    #[must_use]
    pub fn new(tag: &str) -> Self {
        Self { tag: tag.to_owned(), ..Self::default() }
    }

    /// With an attribute.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.attributes.insert(name.to_owned(), value.into());
        self
    }

    /// Holding a text.
    #[must_use]
    pub fn saying(mut self, text: impl Into<String>) -> Self {
        self.text = Some(text.into());
        self
    }

    /// Holding one more element.
    #[must_use]
    pub fn holding(mut self, child: SvgElement) -> Self {
        self.children.push(child);
        self
    }

    /// The element as SVG text, to stand in a page or, with its own namespace, in a file.
    #[must_use]
    pub fn svg_text(&self) -> String {
        let mut text = String::new();
        self.write(&mut text);
        text
    }

    /// Every element of the tree, this one first.
    pub fn walk(&self, look: &mut impl FnMut(&SvgElement)) {
        look(self);
        for child in &self.children {
            child.walk(look);
        }
    }

    fn write(&self, text: &mut String) {
        text.push('<');
        text.push_str(&self.tag);
        for (name, value) in &self.attributes {
            text.push(' ');
            text.push_str(name);
            text.push_str("=\"");
            text.push_str(&escaped(value));
            text.push('"');
        }
        if self.text.is_none() && self.children.is_empty() {
            text.push_str("/>");
            return;
        }
        text.push('>');
        if let Some(said) = &self.text {
            text.push_str(&escaped(said));
        }
        for child in &self.children {
            child.write(text);
        }
        text.push_str("</");
        text.push_str(&self.tag);
        text.push('>');
    }
}

/// Text for XML content and attributes; what XML 1.0 cannot hold is left out.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\t' | '\n' | '\r' => safe.push(' '),
            c if c < ' ' || c == '\u{fffe}' || c == '\u{ffff}' => {}
            c => safe.push(c),
        }
    }
    safe
}
