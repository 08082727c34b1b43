//! A picture as a list of marks, before it becomes SVG or PNG.
//!
//! Charts place marks in fractions of a pixel of the finished picture; the canvas draws them
//! ten times as large (SVG) or three times as large (PNG), so that nothing is snapped to whole
//! pixels.

use super::palette::Colour;
use super::size::ChartSize;

/// A place in the picture, in pixels from the upper left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub(super) x: f64,
    pub(super) y: f64,
}

impl Spot {
    pub(super) fn new(x: f64, y: f64) -> Self {
        Spot { x, y }
    }

    pub(super) fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }

    pub(super) fn distance_to(self, other: Spot) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// The place that fraction of the way to another.
    pub(super) fn towards(self, other: Spot, fraction: f64) -> Spot {
        Spot::new(
            self.x + (other.x - self.x) * fraction,
            self.y + (other.y - self.y) * fraction,
        )
    }
}

/// An upright rectangle, in pixels from the upper left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Area {
    pub(super) fn width(self) -> f64 {
        self.right - self.left
    }

    pub(super) fn height(self) -> f64 {
        self.bottom - self.top
    }

    pub(super) fn holds(self, spot: Spot) -> bool {
        spot.x >= self.left && spot.x <= self.right && spot.y >= self.top && spot.y <= self.bottom
    }

    pub(super) fn overlaps(self, other: Area) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub(super) fn grown(self, by: f64) -> Area {
        Area {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    pub(super) fn corners(self) -> Vec<Spot> {
        vec![
            Spot::new(self.left, self.top),
            Spot::new(self.right, self.top),
            Spot::new(self.right, self.bottom),
            Spot::new(self.left, self.bottom),
        ]
    }
}

/// Which side of a text its place names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    Left,
    Centre,
    Right,
}

/// Thickness of letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// How a line is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dash {
    Solid,
    Dashed,
    Dotted,
    LongShort,
}

impl Dash {
    /// Lengths drawn and left out in turn, in line widths.
    fn pattern(self) -> &'static [f64] {
        match self {
            Dash::Solid => &[],
            Dash::Dashed => &[3.5, 2.0],
            Dash::Dotted => &[1.2, 1.4],
            Dash::LongShort => &[5.0, 1.6, 1.2, 1.6],
        }
    }
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    Fill {
        outline: Vec<Spot>,
        colour: Colour,
        opacity: f64,
    },
    Stroke {
        path: Vec<Spot>,
        width: f64,
        colour: Colour,
    },
    Disc {
        centre: Spot,
        radius: f64,
        colour: Colour,
    },
    Text(Lettering),
}

/// A line of text; the place is that of its baseline.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lettering {
    pub(super) text: String,
    pub(super) at: Spot,
    pub(super) align: Align,
    pub(super) size: f64,
    pub(super) weight: Weight,
    pub(super) colour: Colour,
    /// Turned to read upwards, as along an upright axis.
    pub(super) upwards: bool,
}

/// What lies over what, the lowest first. The name is the class of the group in the SVG.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Layer {
    Ground,
    Watermark,
    Zones,
    Grid,
    Bands,
    Curves,
    Points,
    XAxis,
    YAxis,
    TopAxis,
    Labels,
    Legend,
    Words,
}

impl Layer {
    pub(super) const ALL: [Layer; 13] = [
        Layer::Ground,
        Layer::Watermark,
        Layer::Zones,
        Layer::Grid,
        Layer::Bands,
        Layer::Curves,
        Layer::Points,
        Layer::XAxis,
        Layer::YAxis,
        Layer::TopAxis,
        Layer::Labels,
        Layer::Legend,
        Layer::Words,
    ];

    pub(super) fn class(self) -> &'static str {
        match self {
            Layer::Ground => "ground",
            Layer::Watermark => "watermark",
            Layer::Zones => "zones",
            Layer::Grid => "grid",
            Layer::Bands => "bands",
            Layer::Curves => "curves",
            Layer::Points => "points",
            Layer::XAxis => "x-axis",
            Layer::YAxis => "y-axis",
            Layer::TopAxis => "top-axis",
            Layer::Labels => "labels",
            Layer::Legend => "legend",
            Layer::Words => "words",
        }
    }
}

/// A composed chart: every mark in its place, not yet drawn.
#[derive(Debug, Clone)]
pub struct Picture {
    pub(super) size: ChartSize,
    /// For those who hear the picture instead of seeing it.
    pub(super) title: String,
    pub(super) description: String,
    marks: Vec<(Layer, Mark)>,
}

impl Picture {
    pub(super) fn new(size: ChartSize, title: String, description: String) -> Self {
        Picture {
            size,
            title,
            description,
            marks: Vec::new(),
        }
    }

    /// Those of one layer, in the order they were placed.
    pub(super) fn layer(&self, layer: Layer) -> impl Iterator<Item = &Mark> {
        self.marks
            .iter()
            .filter(move |(of, _)| *of == layer)
            .map(|(_, mark)| mark)
    }

    /// A mark with a place that is no number is never drawn.
    pub(super) fn place(&mut self, layer: Layer, mark: Mark) {
        let drawable = match &mark {
            Mark::Fill { outline, .. } => {
                outline.len() > 2 && outline.iter().all(|spot| spot.is_finite())
            }
            Mark::Stroke { path, width, .. } => {
                path.len() > 1 && width.is_finite() && path.iter().all(|spot| spot.is_finite())
            }
            Mark::Disc { centre, radius, .. } => centre.is_finite() && radius.is_finite(),
            Mark::Text(lettering) => lettering.at.is_finite() && !lettering.text.is_empty(),
        };
        if drawable {
            self.marks.push((layer, mark));
        }
    }

    pub(super) fn fill(&mut self, layer: Layer, outline: Vec<Spot>, colour: Colour, opacity: f64) {
        self.place(
            layer,
            Mark::Fill {
                outline,
                colour,
                opacity,
            },
        );
    }

    /// A line, broken into its dashes here because the SVG backend draws only whole lines.
    pub(super) fn stroke(&mut self, layer: Layer, path: &[Spot], pen: Pen) {
        for piece in broken(path, pen) {
            self.place(
                layer,
                Mark::Stroke {
                    path: piece,
                    width: pen.width,
                    colour: pen.colour,
                },
            );
        }
    }

    pub(super) fn letter(&mut self, layer: Layer, lettering: Lettering) {
        self.place(layer, Mark::Text(lettering));
    }
}

/// What a line is drawn with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pen {
    pub(super) colour: Colour,
    pub(super) width: f64,
    pub(super) dash: Dash,
    /// Length of the dashes, in pixels a unit of the pattern.
    pub(super) dash_unit: f64,
}

impl Pen {
    pub(super) fn solid(colour: Colour, width: f64) -> Self {
        Pen {
            colour,
            width,
            dash: Dash::Solid,
            dash_unit: width,
        }
    }

    pub(super) fn dashed(colour: Colour, width: f64, dash: Dash) -> Self {
        Pen {
            colour,
            width,
            dash,
            dash_unit: width,
        }
    }
}

fn broken(path: &[Spot], pen: Pen) -> Vec<Vec<Spot>> {
    let pattern = pen.dash.pattern();
    let period: f64 = pattern.iter().sum::<f64>() * pen.dash_unit;
    // Dashes finer than a fifth of a pixel cannot be seen, and would fill the memory.
    if pattern.is_empty() || !period.is_finite() || period < 0.2 {
        return vec![path.to_vec()];
    }
    let mut pieces = Vec::new();
    let mut piece: Vec<Spot> = path.first().copied().into_iter().collect();
    let mut lengths = pattern.iter().cycle().map(|length| length * pen.dash_unit);
    let mut left = lengths.next().unwrap_or(period);
    let mut drawing = true;
    for (from, to) in path.iter().zip(path.iter().skip(1)) {
        let length = from.distance_to(*to);
        let mut gone = 0.0;
        while length - gone > left {
            gone += left;
            let turn = from.towards(*to, gone / length);
            if drawing {
                piece.push(turn);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![turn];
            }
            drawing = !drawing;
            left = lengths.next().unwrap_or(period);
        }
        left -= length - gone;
        if drawing {
            piece.push(*to);
        }
    }
    if drawing && piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}
