//! Colours that colour-blind eyes tell apart, each with its own marker.

use super::error::ChartError;
use super::scene::{Dash, Layer, Mark, Picture, Spot};

/// A colour of the screen (sRGB, eight bits a channel).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour {
    /// Red, 0 to 255.
    pub red: u8,
    /// Green, 0 to 255.
    pub green: u8,
    /// Blue, 0 to 255.
    pub blue: u8,
}

impl Colour {
    /// From its three channels.
    pub const fn new(red: u8, green: u8, blue: u8) -> Self {
        Colour { red, green, blue }
    }

    /// Reads `#F5D000`.
    ///
    /// # Errors
    /// [`ChartError::ColourNotUnderstood`].
    ///
    /// # Example
    /// ```
    /// use heatset::chart::Colour;
    /// assert_eq!(Colour::from_hex("#F5D000")?, Colour::new(245, 208, 0));
    /// # Ok::<(), heatset::chart::ChartError>(())
    /// ```
    pub fn from_hex(text: &str) -> Result<Self, ChartError> {
        let not_understood = || ChartError::ColourNotUnderstood {
            found: text.to_string(),
        };
        let digits = text.trim().trim_start_matches('#');
        if digits.len() != 6 || !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return Err(not_understood());
        }
        let number = u32::from_str_radix(digits, 16).map_err(|_| not_understood())?;
        let [_, red, green, blue] = number.to_be_bytes();
        Ok(Colour { red, green, blue })
    }

    /// Contrast ratio with white, 1 (white itself) to 21 (black).
    ///
    /// # Equation
    /// (1 + 0.05) / (L + 0.05), L = 0.2126 R + 0.7152 G + 0.0722 B on linear channels.
    ///
    /// # Source
    /// W3C, Web Content Accessibility Guidelines 2.2 (2023), definitions of relative luminance
    /// and contrast ratio. Text needs 4.5, a line or marker 3.
    ///
    /// # Example
    /// ```
    /// use heatset::chart::Colour;
    /// assert!((Colour::new(0, 0, 0).contrast_with_white_ratio() - 21.0).abs() < 1e-9);
    /// ```
    pub fn contrast_with_white_ratio(self) -> f64 {
        let linear = |channel: u8| {
            let share = f64::from(channel) / 255.0;
            if share <= 0.04045 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        };
        let luminance =
            0.2126 * linear(self.red) + 0.7152 * linear(self.green) + 0.0722 * linear(self.blue);
        1.05 / (luminance + 0.05)
    }

    /// Too pale on white to be seen as a line; drawn with a dark edge.
    pub(super) fn is_pale(self) -> bool {
        self.contrast_with_white_ratio() < 3.0
    }
}

impl From<[u8; 3]> for Colour {
    fn from([red, green, blue]: [u8; 3]) -> Self {
        Colour { red, green, blue }
    }
}

pub(super) const WHITE: Colour = Colour::new(255, 255, 255);
/// Every text that must be read.
pub(super) const INK: Colour = Colour::new(0x1A, 0x1A, 0x1A);
/// Text of second rank.
pub(super) const SOFT_INK: Colour = Colour::new(0x40, 0x40, 0x40);
/// Readings left out, error bars.
pub(super) const GREY: Colour = Colour::new(0x6E, 0x6E, 0x6E);
pub(super) const HATCH: Colour = Colour::new(0xB4, 0xB4, 0xB4);
pub(super) const GRID: Colour = Colour::new(0xDE, 0xDE, 0xDE);
pub(super) const WATERMARK: Colour = Colour::new(0xF6, 0xE4, 0xD8);
pub(super) const BANNER: Colour = Colour::new(0xFF, 0xE2, 0x8A);
pub(super) const BANNER_INK: Colour = Colour::new(0x3D, 0x26, 0x00);

/// Shape of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Marker {
    Circle,
    Square,
    Triangle,
    Diamond,
    InvertedTriangle,
    Cross,
    Plus,
    Star,
}

/// How a series looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct SeriesStyle {
    pub(super) colour: Colour,
    pub(super) marker: Marker,
    pub(super) dash: Dash,
}

/// The palette of M. Okabe and K. Ito, Color Universal Design (2008), from memory; the pale
/// ones last.
const OKABE_ITO: [Colour; 8] = [
    Colour::new(0x00, 0x72, 0xB2), // blue
    Colour::new(0xD5, 0x5E, 0x00), // vermilion
    Colour::new(0x00, 0x9E, 0x73), // bluish green
    Colour::new(0xCC, 0x79, 0xA7), // reddish purple
    Colour::new(0x00, 0x00, 0x00), // black
    Colour::new(0xE6, 0x9F, 0x00), // orange
    Colour::new(0x56, 0xB4, 0xE9), // sky blue
    Colour::new(0xF0, 0xE4, 0x42), // yellow
];

const MARKERS: [Marker; 8] = [
    Marker::Circle,
    Marker::Square,
    Marker::Triangle,
    Marker::Diamond,
    Marker::InvertedTriangle,
    Marker::Cross,
    Marker::Plus,
    Marker::Star,
];

/// Past eight series the markers move on by one, past sixteen the lines are broken too.
pub(super) fn series_style(index: usize) -> SeriesStyle {
    let turn = index / OKABE_ITO.len();
    let pick = |list: &[Marker], at: usize| list.get(at % list.len()).copied();
    SeriesStyle {
        colour: OKABE_ITO
            .get(index % OKABE_ITO.len())
            .copied()
            .unwrap_or(INK),
        marker: pick(&MARKERS, index + turn).unwrap_or(Marker::Circle),
        dash: match turn % 3 {
            0 => Dash::Solid,
            1 => Dash::Dashed,
            _ => Dash::LongShort,
        },
    }
}

/// A point: filled with its colour and edged dark, or hollow for a reading left out.
pub(super) fn draw_marker(
    picture: &mut Picture,
    layer: Layer,
    marker: Marker,
    centre: Spot,
    radius: f64,
    look: MarkerLook,
) {
    let (edge, inside, thickness) = match look {
        MarkerLook::Filled(colour) => (INK, colour, 0.20),
        MarkerLook::Hollow => (GREY, WHITE, 0.34),
    };
    if marker == Marker::Circle {
        picture.place(
            layer,
            Mark::Disc {
                centre,
                radius: radius * (1.0 + thickness / 2.0),
                colour: edge,
            },
        );
        picture.place(
            layer,
            Mark::Disc {
                centre,
                radius: radius * (1.0 - thickness / 2.0),
                colour: inside,
            },
        );
        return;
    }
    let grown = |by: f64| {
        marker_outline(marker, radius * by)
            .into_iter()
            .map(|(x, y)| Spot::new(centre.x + x, centre.y + y))
            .collect()
    };
    // Points of a triangle are sharper than a circle's edge: a thicker rim looks the same.
    let rim = thickness * 0.75;
    picture.fill(layer, grown(1.0 + rim), edge, 1.0);
    picture.fill(layer, grown(1.0 - rim), inside, 1.0);
}

/// Whether a marker stands for a reading that was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum MarkerLook {
    Filled(Colour),
    Hollow,
}

/// Corners about the centre, sized so that every shape looks as large as a circle of the radius.
fn marker_outline(marker: Marker, radius: f64) -> Vec<(f64, f64)> {
    let ring = |count: usize, first_degrees: f64, radii: &[f64]| -> Vec<(f64, f64)> {
        (0..count)
            .zip(radii.iter().cycle())
            .map(|(corner, share)| {
                let degrees = first_degrees + 360.0 * corner as f64 / count as f64;
                let (sine, cosine) = degrees.to_radians().sin_cos();
                (radius * share * cosine, radius * share * sine)
            })
            .collect()
    };
    let plus = || -> Vec<(f64, f64)> {
        let (long, short) = (1.15 * radius, 0.42 * radius);
        vec![
            (-short, -long),
            (short, -long),
            (short, -short),
            (long, -short),
            (long, short),
            (short, short),
            (short, long),
            (-short, long),
            (-short, short),
            (-long, short),
            (-long, -short),
            (-short, -short),
        ]
    };
    match marker {
        Marker::Circle => ring(32, 0.0, &[1.0]),
        Marker::Square => ring(4, 45.0, &[1.28]),
        Marker::Triangle => ring(3, -90.0, &[1.35]),
        Marker::Diamond => ring(4, 0.0, &[1.35]),
        Marker::InvertedTriangle => ring(3, 90.0, &[1.35]),
        Marker::Plus => plus(),
        Marker::Cross => {
            let turn = std::f64::consts::FRAC_1_SQRT_2;
            plus()
                .into_iter()
                .map(|(x, y)| ((x - y) * turn, (x + y) * turn))
                .collect()
        }
        Marker::Star => ring(10, -90.0, &[1.4, 0.65]),
    }
}
