//! From marks to files: the picture drawn through plotters as SVG or as PNG.
//!
//! The SVG backend knows whole numbers only, so everything is drawn ten times as large and
//! shown through a view box. The pixel backend has no smooth edges, so everything is drawn
//! several times as large and averaged down.

use plotters::backend::{BitMapBackend, DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontTransform, IntoFont, RGBAColor, RGBColor, ShapeStyle, TextStyle};

use super::bearing::left_side_bearing;
use super::error::ChartError;
use super::palette::Colour;
use super::scene::{Align, Layer, Lettering, Mark, Picture, Spot};
use super::text;

/// Units of the SVG view box to a pixel.
const SVG_UNITS: f64 = 10.0;
/// The SVG backend writes sizes divided by this.
const SVG_FONT_DIVISOR: f64 = 1.24;
/// The SVG backend lowers a text hung by its top by this many font sizes to its baseline.
const SVG_TOP_TO_BASELINE: f64 = 0.76;
/// Most pixels drawn before averaging, so that a large picture does not fill the memory.
const MOST_DRAWN_PIXELS: u64 = 120_000_000;

/// The picture as an SVG document.
pub(super) fn svg(picture: &Picture) -> Result<String, ChartError> {
    text::prepare_fonts()?;
    let (width, height) = (picture.size.width_px(), picture.size.height_px());
    let inner = (width * SVG_UNITS as u32, height * SVG_UNITS as u32);
    let title = escaped(&picture.title);
    let mut document = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
         viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{title}\">\n<title>{title}</title>\n",
        inner.0, inner.1
    );
    if !picture.description.is_empty() {
        document.push_str(&format!("<desc>{}</desc>\n", escaped(&picture.description)));
    }
    for layer in Layer::ALL {
        let mut body = String::new();
        {
            let mut backend = SVGBackend::with_string(&mut body, inner);
            for mark in picture.layer(layer) {
                draw_vector(&mut backend, mark)?;
            }
            backend.present().map_err(failed)?;
        }
        let group = only_marks(&body);
        if !group.is_empty() {
            document.push_str(&format!(
                "<g class=\"{}\" stroke-linejoin=\"round\">\n{group}</g>\n",
                layer.class()
            ));
        }
    }
    document.push_str("</svg>\n");
    Ok(document)
}

/// The marks of one backend's document without its frame, a text on one line.
fn only_marks(body: &str) -> String {
    let mut marks = String::with_capacity(body.len());
    for line in body.lines() {
        if line.starts_with("<svg") || line == "</svg>" {
            continue;
        }
        // The backend breaks the line inside a text; inside, it would be a blank.
        let inside_text = line.starts_with("<text") || (!line.starts_with('<') && !line.is_empty());
        marks.push_str(line);
        if !inside_text {
            marks.push('\n');
        }
    }
    marks
}

fn escaped(plain: &str) -> String {
    let mut safe = String::with_capacity(plain.len());
    for letter in plain.chars() {
        match letter {
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '&' => safe.push_str("&amp;"),
            '"' => safe.push_str("&quot;"),
            other if other.is_control() => safe.push(' '),
            other => safe.push(other),
        }
    }
    safe
}

fn draw_vector(backend: &mut SVGBackend<'_>, mark: &Mark) -> Result<(), ChartError> {
    match mark {
        Mark::Stroke {
            path,
            width,
            colour,
        } => {
            let pen = ShapeStyle {
                color: rgba(*colour, 1.0),
                filled: false,
                stroke_width: whole_size(*width * SVG_UNITS),
            };
            backend
                .draw_path(path.iter().map(|spot| whole(*spot, SVG_UNITS)), &pen)
                .map_err(failed)
        }
        Mark::Text(lettering) => {
            let at = place_baseline(lettering, SVG_TOP_TO_BASELINE * lettering.size);
            let style = text_style(
                lettering,
                lettering.align,
                lettering.size * SVG_UNITS * SVG_FONT_DIVISOR,
            );
            backend
                .draw_text(&lettering.text, &style, whole(at, SVG_UNITS))
                .map_err(failed)
        }
        other => draw_shape(backend, other, SVG_UNITS),
    }
}

/// The picture as the bytes of a PNG file.
pub(super) fn png(picture: &Picture) -> Result<Vec<u8>, ChartError> {
    text::prepare_fonts()?;
    let (width, height) = (picture.size.width_px(), picture.size.height_px());
    let area = u64::from(width) * u64::from(height);
    let times = [3_u32, 2]
        .into_iter()
        .find(|times| area * u64::from(times * times) <= MOST_DRAWN_PIXELS)
        .unwrap_or(1);
    let drawn = (width * times, height * times);
    let mut pixels = vec![255_u8; drawn.0 as usize * drawn.1 as usize * 3];
    {
        let mut backend = BitMapBackend::with_buffer(&mut pixels, drawn);
        for layer in Layer::ALL {
            for mark in picture.layer(layer) {
                draw_pixels(&mut backend, mark, f64::from(times))?;
            }
        }
        backend.present().map_err(failed)?;
    }
    let averaged = averaged_down(&pixels, drawn.0 as usize, times as usize);
    let mut file = Vec::new();
    let not_written = |error: png::EncodingError| ChartError::PngNotWritten {
        reason: error.to_string(),
    };
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().map_err(not_written)?;
    writer.write_image_data(&averaged).map_err(not_written)?;
    writer.finish().map_err(not_written)?;
    Ok(file)
}

/// The mean of every square of `times` by `times` pixels.
fn averaged_down(pixels: &[u8], drawn_width: usize, times: usize) -> Vec<u8> {
    if times == 1 {
        return pixels.to_vec();
    }
    let width = drawn_width / times;
    let square = (times * times) as u32;
    let mut averaged = Vec::with_capacity(pixels.len() / (times * times));
    let mut sums = vec![0_u32; width * 3];
    for rows in pixels.chunks_exact(drawn_width * 3 * times) {
        sums.fill(0);
        for row in rows.chunks_exact(drawn_width * 3) {
            for (sum, strip) in sums.chunks_exact_mut(3).zip(row.chunks_exact(3 * times)) {
                for pixel in strip.chunks_exact(3) {
                    for (channel, value) in sum.iter_mut().zip(pixel) {
                        *channel += u32::from(*value);
                    }
                }
            }
        }
        averaged.extend(sums.iter().map(|sum| ((sum + square / 2) / square) as u8));
    }
    averaged
}

fn draw_pixels(backend: &mut BitMapBackend<'_>, mark: &Mark, times: f64) -> Result<(), ChartError> {
    match mark {
        // The backend's own thick lines turn ragged where points lie closer than the line is
        // wide: each stretch is a box here and each joint a disc.
        Mark::Stroke {
            path,
            width,
            colour,
        } => {
            let half = width / 2.0;
            let paint = filled(*colour, 1.0);
            for (from, to) in path.iter().zip(path.iter().skip(1)) {
                let length = from.distance_to(*to);
                if length == 0.0 {
                    continue;
                }
                let across = Spot::new(
                    -(to.y - from.y) / length * half,
                    (to.x - from.x) / length * half,
                );
                let corners = [
                    Spot::new(from.x + across.x, from.y + across.y),
                    Spot::new(to.x + across.x, to.y + across.y),
                    Spot::new(to.x - across.x, to.y - across.y),
                    Spot::new(from.x - across.x, from.y - across.y),
                ];
                backend
                    .fill_polygon(corners.map(|corner| whole(corner, times)), &paint)
                    .map_err(failed)?;
            }
            let radius = (half * times).floor();
            let near_end = |spot: &Spot| {
                // A disc there would round off the square end of a dash.
                [path.first(), path.last()]
                    .into_iter()
                    .flatten()
                    .any(|end| end.distance_to(*spot) < half)
            };
            for joint in path.iter().filter(|spot| radius >= 1.0 && !near_end(spot)) {
                backend
                    .draw_circle(whole(*joint, times), radius as u32, &paint, true)
                    .map_err(failed)?;
            }
            Ok(())
        }
        Mark::Text(lettering) => draw_letters(backend, lettering, times),
        other => draw_shape(backend, other, times),
    }
}

/// Sets a text letter by letter: the backend would set each with its ink at its origin, and
/// count in whole pixels.
fn draw_letters(
    backend: &mut BitMapBackend<'_>,
    lettering: &Lettering,
    times: f64,
) -> Result<(), ChartError> {
    let width_of = |part: &str| text::width(part, lettering.size, lettering.weight);
    let before = match lettering.align {
        Align::Left => 0.0,
        Align::Centre => width_of(&lettering.text) / 2.0,
        Align::Right => width_of(&lettering.text),
    };
    // The backend sets the baseline half a size under the place.
    let size = lettering.size * text::LINE_HEIGHT;
    let line = place_baseline(lettering, size / 2.0);
    let style = text_style(lettering, Align::Left, size * times);
    let mut text_so_far = String::new();
    let mut buffer = [0_u8; 4];
    for letter in lettering.text.chars() {
        text_so_far.push(letter);
        let alone = letter.encode_utf8(&mut buffer);
        // Kerning moves the letter's origin, and is part of the width so far.
        let origin = width_of(&text_so_far) - width_of(alone);
        let bearing = left_side_bearing(letter, lettering.weight).unwrap_or(0.0);
        let along = origin + bearing * lettering.size - before;
        let at = if lettering.upwards {
            Spot::new(line.x, line.y - along)
        } else {
            Spot::new(line.x + along, line.y)
        };
        backend
            .draw_text(alone, &style, whole(at, times))
            .map_err(failed)?;
    }
    Ok(())
}

/// Fills and discs are drawn alike by both backends.
fn draw_shape<Backend: DrawingBackend>(
    backend: &mut Backend,
    mark: &Mark,
    times: f64,
) -> Result<(), ChartError> {
    match mark {
        Mark::Fill {
            outline,
            colour,
            opacity,
        } => {
            let corners: Vec<(i32, i32)> = outline.iter().map(|spot| whole(*spot, times)).collect();
            backend
                .fill_polygon(corners, &filled(*colour, *opacity))
                .map_err(failed)
        }
        Mark::Disc {
            centre,
            radius,
            colour,
        } => backend
            .draw_circle(
                whole(*centre, times),
                whole_size(radius * times),
                &filled(*colour, 1.0),
                true,
            )
            .map_err(failed),
        Mark::Stroke { .. } | Mark::Text(_) => Ok(()),
    }
}

/// Where to hang a text so that its baseline comes to its place, given how far under the hook
/// the backend sets the baseline.
fn place_baseline(lettering: &Lettering, drop: f64) -> Spot {
    if lettering.upwards {
        Spot::new(lettering.at.x - drop, lettering.at.y)
    } else {
        Spot::new(lettering.at.x, lettering.at.y - drop)
    }
}

fn text_style(lettering: &Lettering, align: Align, size: f64) -> TextStyle<'static> {
    let turn = if lettering.upwards {
        FontTransform::Rotate270
    } else {
        FontTransform::None
    };
    let side = match align {
        Align::Left => HPos::Left,
        Align::Centre => HPos::Center,
        Align::Right => HPos::Right,
    };
    let ink = RGBColor(
        lettering.colour.red,
        lettering.colour.green,
        lettering.colour.blue,
    );
    text::font(size, lettering.weight)
        .into_font()
        .transform(turn)
        .color(&ink)
        .pos(Pos::new(side, VPos::Top))
}

fn whole(spot: Spot, times: f64) -> (i32, i32) {
    (
        (spot.x * times).round() as i32,
        (spot.y * times).round() as i32,
    )
}

fn whole_size(size: f64) -> u32 {
    size.round().max(1.0) as u32
}

fn rgba(colour: Colour, opacity: f64) -> RGBAColor {
    RGBColor(colour.red, colour.green, colour.blue).mix(opacity)
}

fn filled(colour: Colour, opacity: f64) -> ShapeStyle {
    ShapeStyle {
        color: rgba(colour, opacity),
        filled: true,
        stroke_width: 1,
    }
}

fn failed(error: impl std::fmt::Display) -> ChartError {
    ChartError::DrawingFailed {
        reason: error.to_string(),
    }
}
