//! `chart window`, `chart contributions` and `chart iso-force` from outside: what they say, and that
//! their numbers are those of `time`.
#![cfg(all(feature = "cli", feature = "charts"))]
#![allow(clippy::unwrap_used)]

mod said;

use said::{document, number, refused, served};
use std::path::{Path, PathBuf};

fn calibration() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cal.json");
    served(&format!("fit data/demo_bench.csv --out {}", path.display()));
    (folder, path)
}

/// The picture as SVG.
fn picture(folder: &Path, asked: &str) -> String {
    let out = folder.join("picture.svg");
    served(&format!("chart {asked} --out {} --replace", out.display()));
    std::fs::read_to_string(out).unwrap()
}

/// The words of each text, a line break and a space that holds words together a plain space.
fn texts(svg: &str) -> Vec<String> {
    svg.split("<text")
        .skip(1)
        .filter_map(|text| text.split_once('>')?.1.split_once("</text"))
        .map(|(words, _)| words.replace('\u{a0}', " "))
        .collect()
}

fn words(svg: &str) -> String {
    texts(svg).join(" ")
}

/// The words between two others.
fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let (_, rest) = text.split_once(before).unwrap();
    rest.split_once(after).unwrap().0
}

/// '12 min 10 s' as seconds.
fn seconds(words: &str) -> f64 {
    words
        .split(' ')
        .collect::<Vec<_>>()
        .chunks(2)
        .map(|pair| {
            let size = match pair[1] {
                "h" => 3600.0,
                "min" => 60.0,
                _ => 1.0,
            };
            pair[0].parse::<f64>().unwrap() * size
        })
        .sum()
}

/// The marks of a group of the SVG: attribute text and points.
fn marks(svg: &str, class: &str) -> Vec<(String, Vec<(f64, f64)>)> {
    let start = svg.find(&format!("<g class=\"{class}\"")).unwrap();
    let body = &svg[start..];
    body[..body.find("</g>").unwrap()]
        .lines()
        .filter_map(|line| {
            let points = line.split_once("points=\"")?.1.split_once('"')?.0;
            let points = points
                .split_whitespace()
                .map(|pair| {
                    let (x, y) = pair.split_once(',').unwrap();
                    (x.parse().unwrap(), y.parse().unwrap())
                })
                .collect();
            Some((line.to_owned(), points))
        })
        .collect()
}

/// Labelled ticks of an axis, each with its place along it.
fn ticks(svg: &str, class: &str) -> Vec<(f64, f64)> {
    let start = svg.find(&format!("<g class=\"{class}\"")).unwrap();
    let body = &svg[start..];
    let lines: Vec<&str> = body[..body.find("</g>").unwrap()].lines().collect();
    lines
        .windows(2)
        .filter_map(|pair| {
            let points = pair[0].split_once("points=\"")?.1;
            let (x, y) = points.split([' ', '"']).next()?.split_once(',')?;
            let label = pair[1].strip_prefix("<text")?.split_once('>')?.1;
            let value: f64 = label.split_once("</text")?.0.parse().ok()?;
            let place = if class == "x-axis" { x } else { y };
            Some((value, place.parse().ok()?))
        })
        .collect()
}

/// A place between the first and the last tick as a value, in equal steps of `scale`.
fn value_at(ticks: &[(f64, f64)], place: f64, scale: fn(f64) -> f64) -> f64 {
    let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
    scale(first.0) + (place - first.1) / (last.1 - first.1) * (scale(last.0) - scale(first.0))
}

#[test]
fn the_window_s_times_are_those_that_time_answers_with() {
    let (folder, cal) = calibration();
    let asked = format!(
        "{} --blend plain --at 86C --gauge 27 --least-force 5N --warm-up 40s",
        cal.display()
    );
    let answer = document(&format!("time {asked}"));
    let window = &answer["heat_time_s"];
    let svg = picture(folder.path(), &format!("window {asked}"));
    let text = words(&svg);
    // Whole halves of a minute at most, rounded to the safe side.
    let firm = seconds(between(&text, "firm enough from ", " and passes"));
    let until = seconds(between(&text, "mm until ", ", in 19 syringes"));
    let aim = seconds(between(&text, "aim for ", " demo_bench"));
    assert!((0.0..30.01).contains(&(firm - number(window, "not_before"))));
    assert!((0.0..30.01).contains(&(number(window, "not_beyond") - until)));
    assert!((0.0..30.01).contains(&(number(window, "aim") - aim)));
    assert!(text.contains("invented data"), "{text}");

    // The curve of passing goes through 95 % at the end of the window.
    let (x, y) = (ticks(&svg, "x-axis"), ticks(&svg, "y-axis"));
    assert!(x.len() > 2 && y.len() > 2, "{x:?} {y:?}");
    let drawn = marks(&svg, "curves");
    let passing = &drawn
        .iter()
        .find(|(line, _)| line.contains("#0072B2"))
        .unwrap()
        .1;
    let minutes = number(window, "not_beyond") / 60.0;
    let after = passing
        .iter()
        .position(|(px, _)| value_at(&x, *px, |v| v) >= minutes)
        .unwrap();
    let [before, after] = [after - 1, after].map(|i| value_at(&y, passing[i].1, |v| v));
    assert!(before >= 94.8 && after <= 95.2, "{before} {after}");
}

#[test]
fn an_empty_window_says_why_and_what_would_open_it() {
    let (folder, cal) = calibration();
    let asked = format!(
        "{} --blend plain --at 86C --gauge 29 --least-force 9N",
        cal.display()
    );
    let answer = document(&format!("time {asked}"));
    assert_eq!(answer["window_open"], false);
    let text = words(&picture(folder.path(), &format!("window {asked}")));
    assert!(text.contains("No heat time at 86 °C is both"), "{text}");
    let wider = &answer["alternatives"][0]["gauge"];
    assert!(wider.as_u64().is_some_and(|gauge| gauge < 29), "{answer}");
    assert!(text.contains(&format!("What helps: {wider}G")), "{text}");
    assert!(!text.contains("aim"), "{text}");
}

#[test]
fn the_bars_are_the_contributions_that_time_answers_with_the_largest_first() {
    let (folder, cal) = calibration();
    let asked = format!("{} --blend plain --at 86C --gauge 29", cal.display());
    let answer = document(&format!("time {asked}"));
    let mut shares: Vec<f64> = answer["contributions"]
        .as_object()
        .unwrap()
        .values()
        .map(|share| share.as_f64().unwrap())
        .collect();
    shares.sort_by(|a, b| b.total_cmp(a));
    let svg = picture(folder.path(), &format!("contributions {asked}"));
    let start = svg.find("<g class=\"labels\"").unwrap();
    let labels = texts(&svg[start..start + svg[start..].find("</g>").unwrap()]);
    let percents: Vec<f64> = labels
        .iter()
        .map(|label| label.trim_end_matches(" %").parse().unwrap_or(0.0))
        .collect();
    assert_eq!(percents.len(), shares.len(), "{labels:?}");
    for (percent, share) in percents.iter().zip(&shares) {
        assert!((percent - 100.0 * share).abs() <= 0.51 || *share < 0.005);
    }
    let text = words(&svg);
    assert!(
        text.contains(&format!("({:.0} %)", 100.0 * shares[0])),
        "{text}"
    );
    assert!(text.contains("what helps most:"), "{text}");
}

#[test]
fn a_spread_between_lots_that_nobody_measured_has_no_bar() {
    let folder = tempfile::tempdir().unwrap();
    let bench = folder.path().join("one_lot.csv");
    let all = std::fs::read_to_string("data/demo_bench.csv").unwrap();
    let lots: Vec<&str> = all.lines().filter(|l| !l.starts_with('#')).collect();
    let column = lots[0].split(',').position(|name| name == "lot").unwrap();
    let first = lots[1].split(',').nth(column).unwrap();
    let kept: Vec<&str> = all
        .lines()
        .filter(|l| l.starts_with('#') || *l == lots[0] || l.split(',').nth(column) == Some(first))
        .collect();
    std::fs::write(&bench, kept.join("\n")).unwrap();
    let cal = folder.path().join("one.json");
    served(&format!("fit {} --out {}", bench.display(), cal.display()));
    let asked = format!(
        "contributions {} --blend plain --at 86C --gauge 29",
        cal.display()
    );
    let text = words(&picture(folder.path(), &asked));
    assert!(
        text.contains("not known: no lots were told apart"),
        "{text}"
    );
    assert!(
        text.contains("The spread between lots is not in it"),
        "{text}"
    );
}

#[test]
fn the_wall_chart_says_the_times_that_time_answers_with() {
    let (folder, cal) = calibration();
    let push = "--gauge 27 --warm-up 40s --draws 2000";
    let cal = format!("{} --blend plain", cal.display());
    let svg = picture(
        folder.path(),
        &format!("iso-force {cal} {push} --size 1200x800"),
    );
    let text = words(&svg);
    let at_90 = document(&format!("time {cal} {push} --at 90C"));
    let until = text.rsplit_once(" at 90 °C").unwrap().0;
    let until = seconds(until.rsplit_once("until ").unwrap().1);
    let not_beyond = number(&at_90["heat_time_s"], "not_beyond");
    assert!(
        (0.0..30.01).contains(&(not_beyond - until)),
        "{until} {not_beyond}"
    );

    // The limit's contour ends at the hottest temperature, at the time of the point estimates.
    let y = ticks(&svg, "y-axis");
    assert!(y.len() > 2, "{y:?}");
    let right = marks(&svg, "x-axis")[0].1[1].0;
    let thick = marks(&svg, "curves")
        .into_iter()
        .filter(|(line, _)| line.contains("#1A1A1A"))
        .max_by_key(|(_, points)| points.len())
        .unwrap()
        .1;
    let (end_x, end_y) = *thick.last().unwrap();
    assert!((end_x - right).abs() <= 2.0);
    let minutes = value_at(&y, end_y, f64::ln).exp();
    let point = number(&at_90, "heat_time_s_point") / 60.0;
    assert!((minutes / point - 1.0).abs() < 0.01, "{minutes} {point}");
    for part in [
        "Robinson et al. 2020",
        "easy, under 12 N",
        "measured range",
        "invented data",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    assert!(!text.contains("Extrapolated"));
}

#[test]
fn a_wall_chart_is_a_sheet_of_a3_unless_another_size_is_asked_for() {
    let (folder, cal) = calibration();
    let asked = format!(
        "iso-force {} --blend plain --gauge 27 --warm-up 40s",
        cal.display()
    );
    let svg = picture(folder.path(), &asked);
    assert!(svg.contains("width=\"4961\" height=\"3508\""));
    let svg = picture(
        folder.path(),
        &format!("{asked} --extrapolate --size 900x600"),
    );
    assert!(svg.contains("width=\"900\" height=\"600\""));
    let text = words(&svg);
    assert!(
        text.contains("Extrapolated:") && text.contains("not measured"),
        "{text}"
    );
}

#[test]
fn a_question_that_cannot_be_drawn_says_what_helps() {
    let (folder, cal) = calibration();
    let out = folder.path().join("never.svg");
    for (asked, part) in [
        ("window --at 86C", "--gauge 30"),
        ("window --at 86C --gauge any", "name it: --gauge 30"),
        (
            "window --at 95C --gauge 29",
            "lies outside the measured temperatures",
        ),
        ("window --at 120C --gauge 29 --extrapolate", "boil"),
        ("window --at 86C --gauge 29 --least-force 25N", "25 N"),
        (
            "window --at 86C --gauge 29 --least-reading 0Pa.s",
            "asks for nothing",
        ),
        ("window --at 86C --gauge 29 --force 1N", "friction"),
        ("contributions --at 86C", "--gauge 30"),
        (
            "contributions --at 86C --gauge 29 --least-force 5N",
            "draw 'chart window'",
        ),
        ("iso-force", "--gauge 30"),
        ("iso-force --gauge 27 --at 86C", "leave --at out"),
        ("iso-force --gauge 27 --force 1N", "friction"),
    ] {
        let (kind, options) = asked.split_once(' ').unwrap_or((asked, ""));
        let talk = refused(
            &format!(
                "chart {kind} {} --blend plain {options} --out {}",
                cal.display(),
                out.display()
            ),
            1,
        );
        assert!(talk.contains(part), "{asked}: {talk}");
        assert!(!out.exists());
    }
}

/// A bench whose longest time is not twice its shortest has charts too, and one whose range stands the wrong
/// way round is refused before any is drawn.
#[test]
fn a_bench_of_a_narrow_range_has_its_charts() {
    let folder = tempfile::tempdir().unwrap();
    let mut text = String::from("heat_temp_C,heat_time_min,viscosity_mPa_s\n");
    // First order by hand, 1.6 mPa.s to 6 Pa.s, 250 kJ/mol, 8e-3 1/s at 90 C.
    for celsius in [80.0_f64, 85.0, 90.0] {
        let rate =
            8e-3 * (-250e3 / 8.314_462_618 * (1.0 / (celsius + 273.15) - 1.0 / 363.15)).exp();
        for minutes in [5.0_f64, 6.0, 7.0, 8.0] {
            let set = 1.0 - (-rate * 60.0 * minutes).exp();
            let reading = 1.6 * (6000.0_f64 / 1.6).powf(set) * (1.0 + 0.02 * (minutes - 6.5));
            text += &format!("{celsius},{minutes},{reading:.4}\n");
        }
    }
    let bench = folder.path().join("narrow.csv");
    let path = folder.path().join("cal.json");
    std::fs::write(&bench, text).unwrap();
    served(&format!(
        "fit {} --warm-up none --out {}",
        bench.display(),
        path.display()
    ));
    for kind in ["force", "firmness", "rates", "residuals"] {
        let svg = picture(folder.path(), &format!("{kind} {}", path.display()));
        assert!(svg.contains("<svg"), "{kind}");
    }
    let turned = std::fs::read_to_string(&path).unwrap().replace(
        "\"heat_time_s\": [",
        "\"heat_time_s\": [9999.0, 1.0], \"was\": [",
    );
    let wrong = folder.path().join("turned.json");
    std::fs::write(&wrong, turned).unwrap();
    let out = folder.path().join("x.svg");
    let said = refused(
        &format!("chart force {} --out {}", wrong.display(), out.display()),
        1,
    );
    assert!(
        said.contains("heat_time_s") || said.contains("range of heat"),
        "{said}"
    );
}
