//! Files: SVG and PNG, their sizes and endings.

use crate::samples::{RED, all_kinds, firmness, force, line, svg};
use heatset::chart::{AxisKind, Chart, ChartFormat, ChartSize, ForceChart, ForceLine};
use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn the_same_chart_gives_the_same_bytes() {
    for ((name, one), (_, other)) in all_kinds(|_| {}).into_iter().zip(all_kinds(|_| {})) {
        assert_eq!(svg(one.as_ref()), svg(other.as_ref()), "{name}");
        let size = ChartSize::parse("300x200").unwrap();
        assert_eq!(
            one.draw_png(size).unwrap(),
            other.draw_png(size).unwrap(),
            "{name}"
        );
    }
}

#[test]
fn the_svg_says_what_it_is_and_holds_everything_it_needs() {
    for (name, chart) in all_kinds(|_| {}) {
        let svg = chart
            .draw_svg(ChartSize::parse("900x600").unwrap())
            .unwrap();
        assert!(svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900\" height=\"600\" viewBox=\"0 0 9000 6000\" role=\"img\""), "{name}");
        assert!(
            svg.contains("<title>Sets half-way in 5 min 12 s at 80 °C</title>"),
            "{name}"
        );
        assert!(svg.ends_with("</svg>\n"), "{name}");
        for outside in ["href", "url(", "<image", "<style", "<script", "@import"] {
            assert!(!svg.contains(outside), "{name}: {outside}");
        }
        assert_eq!(svg.matches("<svg").count(), 1, "{name}");
        assert_eq!(
            svg.matches("<g ").count(),
            svg.matches("</g>").count(),
            "{name}"
        );
        assert!(
            svg.contains("font-family=\"DejaVu Sans, Verdana, sans-serif\""),
            "{name}"
        );
    }
}

#[test]
fn words_with_markup_in_them_stay_words() {
    let dangerous = "<b>R&D</b> \"lot\" 'a'\u{0}\u{1b}[31m\tx";
    for (name, chart) in all_kinds(|words| {
        words.title = dangerous.to_string();
        words.subtitle = dangerous.to_string();
        words.note = dangerous.to_string();
    }) {
        let svg = svg(chart.as_ref());
        assert!(
            !svg.contains("<b>") && svg.contains("&lt;b&gt;R&amp;D&lt;/b&gt;"),
            "{name}"
        );
        assert!(
            !svg.chars()
                .any(|letter| letter.is_control() && letter != '\n'),
            "{name}"
        );
        for (at, _) in svg.match_indices('&') {
            let entity = svg[at..].split(';').next().unwrap();
            assert!(
                ["&lt", "&gt", "&amp", "&quot", "&apos"].contains(&entity),
                "{name}: {entity}"
            );
        }
    }
}

/// Width, height and RGB pixels, by the decoder of the `png` crate.
fn decoded(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let frame = reader.next_frame(&mut pixels).unwrap();
    assert_eq!(
        (frame.color_type, frame.bit_depth),
        (png::ColorType::Rgb, png::BitDepth::Eight)
    );
    pixels.truncate(frame.buffer_size());
    (frame.width, frame.height, pixels)
}

#[test]
fn a_png_has_the_asked_size_a_white_ground_and_smooth_edges() {
    for size in ["333x271", "480x640"] {
        for (name, chart) in all_kinds(|_| {}) {
            let size = ChartSize::parse(size).unwrap();
            let (width, height, pixels) = decoded(&chart.draw_png(size).unwrap());
            assert_eq!(
                (width, height),
                (size.width_px(), size.height_px()),
                "{name}"
            );
            assert_eq!(pixels[..3], [255, 255, 255], "{name}");
            assert_eq!(pixels[pixels.len() - 3..], [255, 255, 255], "{name}");
            let shades: BTreeSet<&[u8]> = pixels.chunks_exact(3).collect();
            assert!(
                shades.len() > 40,
                "{name}: only {} shades, edges are not smooth",
                shades.len()
            );
        }
    }
}

#[test]
fn a_slanting_line_has_smooth_edges_in_the_png() {
    let chart = ForceChart {
        lines: vec![ForceLine {
            band: Vec::new(),
            ..line("27G", RED, 0.012)
        }],
        zones: Vec::new(),
        limit: None,
        ..force()
    };
    let (width, height, pixels) = decoded(
        &chart
            .draw_png(ChartSize::parse("450x300").unwrap())
            .unwrap(),
    );
    // Between the hub's red (210, 32, 47) and white: what a line without smoothing has none of.
    let blended = |x: u32| {
        (0..height).any(|y| {
            let at = ((y * width + x) * 3) as usize;
            let (red, green) = (i32::from(pixels[at]), i32::from(pixels[at + 1]));
            red > 205 && (60..=215).contains(&green) && red - green > 25
        })
    };
    let smooth = (120..280).filter(|x| blended(*x)).count();
    assert!(
        smooth > 120,
        "only {smooth} of 160 columns have a blended edge"
    );
}

#[test]
fn no_number_makes_the_pixels_panic() {
    let numbers = [
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::MAX,
        f64::MIN,
        f64::MIN_POSITIVE,
        0.0,
        -1.0,
        600.0,
    ];
    for axis in [AxisKind::Linear, AxisKind::Log] {
        let mut chart = firmness();
        (chart.time_axis, chart.reading_axis) = (axis, axis);
        for (index, place) in chart.series[0].curve.iter_mut().enumerate() {
            place.time_s = numbers[index % numbers.len()];
            place.reading_in_unit = numbers[index * 7 % numbers.len()];
        }
        for (index, row) in chart.series[0].band.iter_mut().enumerate() {
            row.low_in_unit = numbers[index % numbers.len()];
            row.high_in_unit = numbers[index * 5 % numbers.len()];
        }
        let (width, height, _) = decoded(
            &chart
                .draw_png(ChartSize::parse("300x200").unwrap())
                .unwrap(),
        );
        assert_eq!((width, height), (300, 200));
    }
}

#[test]
fn a_picture_of_the_greatest_size_is_drawn() {
    let size = ChartSize::parse("8000x200").unwrap();
    let (width, height, _) = decoded(&firmness().draw_png(size).unwrap());
    assert_eq!((width, height), (8000, 200));
}

/// Whether any pixel of the outermost two rows or columns is not white.
pub(crate) fn has_ink_at_the_edge(chart: &dyn Chart) -> bool {
    let (width, height, pixels) = decoded(
        &chart
            .draw_png(ChartSize::parse("450x300").unwrap())
            .unwrap(),
    );
    pixels.chunks_exact(3).enumerate().any(|(index, pixel)| {
        let (x, y) = (index as u32 % width, index as u32 / width);
        (x < 2 || y < 2 || x >= width - 2 || y >= height - 2) && pixel != [255, 255, 255]
    })
}

#[test]
fn no_chart_runs_out_of_its_picture() {
    for (name, chart) in all_kinds(|_| {}) {
        assert!(!has_ink_at_the_edge(chart.as_ref()), "{name}");
    }
}

#[test]
fn the_file_s_ending_chooses_the_format() {
    for (file, format) in [
        ("a.svg", ChartFormat::Svg),
        ("dir.png/b.SVG", ChartFormat::Svg),
        ("c.Png", ChartFormat::Png),
    ] {
        assert_eq!(ChartFormat::of_file(Path::new(file)).unwrap(), format);
    }
    for file in ["chart", "chart.jpg", ".svg", "svg"] {
        let message = ChartFormat::of_file(Path::new(file))
            .unwrap_err()
            .to_string();
        assert!(
            message.contains(file) && message.contains(".svg") && message.contains(".png"),
            "{message}"
        );
    }
    let size = ChartSize::default();
    assert!(
        firmness()
            .draw(ChartFormat::Svg, size)
            .unwrap()
            .starts_with(b"<svg")
    );
    assert!(
        firmness()
            .draw(ChartFormat::Png, size)
            .unwrap()
            .starts_with(b"\x89PNG")
    );
}

#[test]
fn sizes_that_cannot_be_drawn_are_refused_in_words() {
    for (text, part) in [
        ("", "1200x800"),
        ("big", "1200x800"),
        ("1200", "1200x800"),
        ("1200x", "1200x800"),
        ("x800", "1200x800"),
        ("-1200x800", "1200x800"),
        ("12.5x800", "1200x800"),
        ("1200x800x600", "1200x800"),
        ("1200 by 800", "1200x800"),
        ("199x800", "width of 199 pixels is outside 200 to 8000"),
        ("1200x8001", "height of 8001 pixels is outside 200 to 8000"),
        ("1200x0", "height of 0 pixels"),
        ("99999999999x800", "width of 99999999999 pixels"),
    ] {
        let message = ChartSize::parse(text).unwrap_err().to_string();
        assert!(
            message.contains(part) && message.contains("What helps:"),
            "{text}: {message}"
        );
    }
    for (text, width_px, height_px) in [
        ("200x8000", 200, 8000),
        (" 640 X 480 ", 640, 480),
        ("1600×900", 1600, 900),
    ] {
        let size = ChartSize::parse(text).unwrap();
        assert_eq!((size.width_px(), size.height_px()), (width_px, height_px));
    }
    assert_eq!(ChartSize::default(), ChartSize::parse("1200x800").unwrap());
}
