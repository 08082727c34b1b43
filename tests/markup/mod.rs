//! Reads an HTML document that is written as strictly as XML: every tag closed, every attribute
//! quoted. Anything else panics, which is the test.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeMap;

/// Elements that HTML never closes (HTML Living Standard, 13.1.2, void elements; those used here).
const VOID: [&str; 2] = ["meta", "br"];

/// One element: its attributes, and all text inside it.
#[derive(Debug, Clone, Default)]
pub struct Element {
    pub tag: String,
    pub attributes: BTreeMap<String, String>,
    pub text: String,
    /// Number of the element around it.
    pub parent: Option<usize>,
    /// Its own text before the first child element.
    pub first_text: String,
}

impl Element {
    pub fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.get(name).map(String::as_str)
    }
}

/// All elements in the order of their start tags.
#[derive(Debug)]
pub struct Document {
    pub elements: Vec<Element>,
}

impl Document {
    pub fn all(&self, tag: &str) -> Vec<&Element> {
        self.elements.iter().filter(|e| e.tag == tag).collect()
    }

    pub fn headings(&self) -> Vec<&Element> {
        self.elements
            .iter()
            .filter(|e| matches!(e.tag.as_str(), "h1" | "h2" | "h3" | "h4"))
            .collect()
    }

    /// All words of the page.
    pub fn text(&self) -> &str {
        &self.all("body")[0].text
    }

    /// Of every table of a class: the name of each row, and the text and small text of its cells.
    #[allow(clippy::type_complexity)]
    pub fn tables(&self, class: &str) -> Vec<BTreeMap<String, Vec<(String, Option<String>)>>> {
        let mut tables = Vec::new();
        for (number, element) in self.elements.iter().enumerate() {
            if element.tag != "table" || element.attribute("class") != Some(class) {
                continue;
            }
            let mut rows = BTreeMap::new();
            for row in self.inside(number, "tr") {
                let Some(name) = self.inside(row, "th").first().copied() else {
                    continue;
                };
                let cells: Vec<_> = self
                    .inside(row, "td")
                    .into_iter()
                    .map(|cell| {
                        let below = self.inside(cell, "span").first().copied();
                        (
                            self.elements[cell]
                                .first_text
                                .replace('\u{a0}', " ")
                                .trim()
                                .to_owned(),
                            below.map(|span| self.elements[span].text.clone()),
                        )
                    })
                    .collect();
                if !cells.is_empty() {
                    rows.insert(self.elements[name].first_text.trim().to_owned(), cells);
                }
            }
            tables.push(rows);
        }
        tables
    }

    fn inside(&self, outer: usize, tag: &str) -> Vec<usize> {
        (outer + 1..self.elements.len())
            .filter(|&number| self.elements[number].tag == tag && self.is_inside(number, outer))
            .collect()
    }

    fn is_inside(&self, mut number: usize, outer: usize) -> bool {
        while let Some(parent) = self.elements[number].parent {
            if parent == outer {
                return true;
            }
            number = parent;
        }
        false
    }
}

/// Reads the document; panics where a tag is not closed or closed out of turn.
pub fn parse(page: &str) -> Document {
    let mut rest = page
        .strip_prefix("<!DOCTYPE html>")
        .expect("it begins with the doctype");
    let mut elements: Vec<Element> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    while let Some(start) = rest.find('<') {
        add_text(&mut elements, &open, &rest[..start]);
        rest = &rest[start..];
        let end = end_of_tag(rest);
        let tag = &rest[1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            let last = open
                .pop()
                .unwrap_or_else(|| panic!("</{name}> opens nowhere"));
            assert_eq!(elements[last].tag, name, "closed out of turn");
            continue;
        }
        let closed = tag.ends_with('/');
        let mut element = start_tag(tag.trim_end_matches('/'));
        element.parent = open.last().copied();
        let name = element.tag.clone();
        elements.push(element);
        if name == "style" {
            let end = rest.find("</style>").expect("the style ends");
            rest = &rest[end + "</style>".len()..];
        } else if !closed && !VOID.contains(&name.as_str()) {
            open.push(elements.len() - 1);
        }
    }
    assert_eq!(rest.trim(), "", "text behind the last tag");
    assert!(open.is_empty(), "not closed: {open:?}");
    Document { elements }
}

/// The place of the '>' that ends a tag; one inside a quoted attribute does not.
fn end_of_tag(text: &str) -> usize {
    let mut quoted = false;
    for (place, letter) in text.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '>' if !quoted => return place,
            _ => {}
        }
    }
    panic!("a tag does not end")
}

fn start_tag(tag: &str) -> Element {
    let (name, mut rest) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
    assert!(
        !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric()),
        "<{tag}> is no tag"
    );
    let mut attributes = BTreeMap::new();
    rest = rest.trim_start();
    while !rest.is_empty() {
        let (key, value) = rest
            .split_once("=\"")
            .unwrap_or_else(|| panic!("unquoted in <{tag}>"));
        let (value, after) = value.split_once('"').expect("the quote ends");
        let before = attributes.insert(key.to_owned(), plain(value));
        assert!(before.is_none(), "{key} stands twice in <{tag}>");
        rest = after.trim_start();
    }
    Element {
        tag: name.to_owned(),
        attributes,
        ..Element::default()
    }
}

fn add_text(elements: &mut [Element], open: &[usize], raw: &str) {
    if raw.is_empty() {
        return;
    }
    let text = plain(raw);
    if let Some(&innermost) = open.last() {
        let has_child = elements.iter().any(|e| e.parent == Some(innermost));
        if !has_child {
            elements[innermost].first_text.push_str(&text);
        }
    }
    for &element in open {
        elements[element].text.push_str(&text);
    }
}

/// The text without its escapes; a bare & is no markup.
fn plain(raw: &str) -> String {
    let mut text = String::with_capacity(raw.len());
    let mut rest = raw;
    while let Some(at) = rest.find('&') {
        text.push_str(&rest[..at]);
        let (name, after) = rest[at + 1..]
            .split_once(';')
            .unwrap_or_else(|| panic!("a bare & in {raw}"));
        text.push(match name {
            "amp" => '&',
            "lt" => '<',
            "gt" => '>',
            "quot" => '"',
            "apos" | "#39" => '\'',
            other => panic!("&{other}; is not known"),
        });
        rest = after;
    }
    text + rest
}
