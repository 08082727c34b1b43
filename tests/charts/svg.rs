//! Reading an SVG back: its marks, its texts, its ticks.

use heatset::chart::AxisKind;
use std::collections::BTreeMap;

/// One mark of the SVG: its tag, its attributes, its text.
#[derive(Debug, Clone)]
pub(crate) struct Element {
    pub(crate) tag: String,
    pub(crate) attributes: BTreeMap<String, String>,
    pub(crate) text: String,
}

impl Element {
    pub(crate) fn number(&self, name: &str) -> f64 {
        self.attributes[name].parse().unwrap()
    }

    /// Corners of a polyline or polygon.
    pub(crate) fn points(&self) -> Vec<(f64, f64)> {
        self.attributes["points"]
            .split_whitespace()
            .map(|pair| {
                let (x, y) = pair.split_once(',').unwrap();
                (x.parse().unwrap(), y.parse().unwrap())
            })
            .collect()
    }
}

/// The marks of the group of a class, in the order they are drawn.
pub(crate) fn group(svg: &str, class: &str) -> Vec<Element> {
    let Some(start) = svg.find(&format!("<g class=\"{class}\"")) else {
        return Vec::new();
    };
    let body = &svg[start..];
    let body = &body[body.find('>').unwrap() + 1..body.find("</g>").unwrap()];
    body.lines()
        .filter(|line| line.starts_with('<'))
        .map(element)
        .collect()
}

fn element(line: &str) -> Element {
    let end = line.find('>').unwrap();
    let head = line[1..end].trim_end_matches('/');
    let (tag, mut rest) = head.split_once(' ').unwrap();
    let mut attributes = BTreeMap::new();
    while let Some((name, after)) = rest.trim_start().split_once("=\"") {
        let (value, after) = after.split_once('"').unwrap();
        attributes.insert(name.to_string(), value.to_string());
        rest = after;
    }
    let text = line[end + 1..]
        .split("</")
        .next()
        .unwrap_or_default()
        .to_string();
    Element {
        tag: tag.to_string(),
        attributes,
        text,
    }
}

pub(crate) fn texts(elements: &[Element]) -> Vec<String> {
    elements
        .iter()
        .filter(|one| one.tag == "text")
        .map(|one| one.text.clone())
        .collect()
}

/// Labelled ticks of an axis group: what the label says, and where its little line stands.
/// `axis` 0 takes x, 1 takes y. The first line is the axis itself; a label follows its tick.
pub(crate) fn ticks(elements: &[Element], axis: usize) -> Vec<(f64, f64)> {
    let mut found = Vec::new();
    for pair in elements[1..].windows(2) {
        if pair[0].tag == "polyline" && pair[1].tag == "text" {
            let (x, y) = pair[0].points()[0];
            if let Some(value) = number_said(&pair[1].text) {
                found.push((value, if axis == 0 { x } else { y }));
            }
        }
    }
    found
}

/// Reads `0.5`, `−2`, `10⁻³`, `2×10⁵`.
fn number_said(label: &str) -> Option<f64> {
    let plain: String = label
        .chars()
        .map(|letter| match letter {
            '−' | '⁻' => '-',
            '⁰' => '0',
            '¹' => '1',
            '²' => '2',
            '³' => '3',
            '⁴' => '4',
            '⁵' => '5',
            '⁶' => '6',
            '⁷' => '7',
            '⁸' => '8',
            '⁹' => '9',
            other => other,
        })
        .collect();
    let raised = |letter: char| "⁻⁰¹²³⁴⁵⁶⁷⁸⁹".contains(letter);
    if let Some((lead, _)) = label.split_once('×') {
        let power: String = label.chars().filter(|letter| raised(*letter)).collect();
        return Some(number_said(lead)? * 10_f64.powf(number_said(&power)?));
    }
    if label.starts_with("10") && label.chars().skip(2).any(raised) {
        return plain[2..]
            .parse::<f64>()
            .ok()
            .map(|power| 10_f64.powf(power));
    }
    plain.parse().ok()
}

/// Where a value lies by the first and the last tick, with the distance between them read as
/// equal steps (or as equal ratios).
pub(crate) fn by_ticks(ticks: &[(f64, f64)], value: f64, kind: AxisKind) -> f64 {
    let scale = |number: f64| {
        if kind == AxisKind::Log {
            number.ln()
        } else {
            number
        }
    };
    let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
    let share = (scale(value) - scale(first.0)) / (scale(last.0) - scale(first.0));
    first.1 + share * (last.1 - first.1)
}

/// Left, top, right, bottom of the plot by its two axes.
pub(crate) fn plot_rectangle(svg: &str) -> [f64; 4] {
    let along = group(svg, "x-axis")[0].points();
    let up = group(svg, "y-axis")[0].points();
    [along[0].0, up[1].1, along[1].0, along[0].1]
}

pub(crate) fn texts_at(svg: &str, class: &str) -> Vec<(f64, f64)> {
    group(svg, class)
        .iter()
        .filter(|mark| mark.tag == "text")
        .map(|mark| (mark.number("x"), mark.number("y")))
        .collect()
}

pub(crate) fn all_text(svg: &str) -> String {
    svg.lines()
        .filter(|line| line.starts_with("<text"))
        .map(|line| element(line).text)
        .collect::<Vec<_>>()
        .join(" ")
}
