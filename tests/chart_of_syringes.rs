//! `chart syringes` from outside: what it says, and that its times are those of `time`.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used)]

mod said;

use said::{document, number, refused, served};
use std::path::{Path, PathBuf};

const AT: &str = "--blend plain --at 90C";

fn calibration() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cal.json");
    served(&format!("fit data/demo_bench.csv --out {}", path.display()));
    (folder, path)
}

/// Every word of the picture, a line break and a space that holds words together a plain space.
fn words_of(cal: &Path, folder: &Path, asked: &str) -> String {
    let out = folder.join("picture.svg");
    served(&format!(
        "chart syringes {} {AT} {asked} --out {} --replace",
        cal.display(),
        out.display()
    ));
    let svg = std::fs::read_to_string(out).unwrap();
    svg.split("<text")
        .skip(1)
        .filter_map(|text| text.split_once('>')?.1.split_once("</text"))
        .map(|(words, _)| words.replace('\u{a0}', " "))
        .collect::<Vec<_>>()
        .join(" ")
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

/// The words between two others.
fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let (_, rest) = text.split_once(before).unwrap();
    rest.split_once(after).unwrap().0
}

#[test]
fn the_times_through_a_needle_are_those_that_time_answers_with() {
    let (folder, cal) = calibration();
    let push = "--gauge 27";
    let text = words_of(&cal, folder.path(), &format!("{push} --syringes 1mL,5mL"));
    let late = seconds(between(&text, "at 90 °C: ", " in 5 mL"));
    let early = seconds(between(&text, "in 1 mL ", ","));
    for (syringe, drawn_s) in [("5mL", late), ("1mL", early)] {
        let answer = document(&format!(
            "time {} {AT} {push} --syringe {syringe} --warm-up syringe",
            cal.display()
        ));
        let point_s = number(&answer, "heat_time_s_point");
        // The picture says whole tens of seconds, rounded down.
        assert!(
            (0.0..10.01).contains(&(point_s - drawn_s)),
            "{syringe}: {point_s} and {drawn_s}"
        );
    }
}

#[test]
fn the_smallest_syringe_takes_the_time_stated_and_the_larger_ones_longer() {
    let (folder, cal) = calibration();
    let text = words_of(&cal, folder.path(), "--heat-time 6min");
    let late = between(
        &text,
        "In 10 mL the same gel takes ",
        " at 90 °C, in 1 mL 6 min",
    );
    assert!(seconds(late) > 700.0, "{late}");
    assert!(text.contains("invented data"), "{text}");
    assert!(text.contains("1 mL after 6 min"), "{text}");
}

/// Through no contact but a perfect one the wall and the gel alone delay the middle; a poor one adds
/// to that.
#[test]
fn a_poorer_contact_takes_longer_and_a_stated_one_has_no_range() {
    let (folder, cal) = calibration();
    let late = |contact: &str| {
        let asked = format!("--gauge 27 --contact {contact}");
        let text = words_of(&cal, folder.path(), &asked);
        assert!(!text.contains("time if contact"), "{text}");
        seconds(between(&text, "at 90 °C: ", " in 10 mL"))
    };
    assert!(late("100W/m2K") > late("300W/m2K") + 60.0);
    let text = words_of(&cal, folder.path(), "--gauge 27");
    assert!(text.contains("time if contact"), "{text}");
}

#[test]
fn a_question_that_cannot_be_drawn_says_what_helps() {
    let (folder, cal) = calibration();
    let out = folder.path().join("never.svg");
    for (asked, part) in [
        ("", "--heat-time 6min"),
        ("--heat-time 6min --gauge 27", "leave --heat-time"),
        ("--heat-time 6min --syringe 5mL", "--syringes 1mL,5mL"),
        ("--heat-time 6min --warm-up 40s", "leave --warm-up out"),
        (
            "--heat-time 6min --warm-up syringe:5mL",
            "leave --warm-up out",
        ),
        ("--heat-time 6min --syringes 7mL", "7mL"),
        ("--heat-time 50h", "lies outside the measured heat times"),
        ("--gauge 27 --force 3N", "friction"),
    ] {
        let talk = refused(
            &format!(
                "chart syringes {} {AT} {asked} --out {}",
                cal.display(),
                out.display()
            ),
            1,
        );
        assert!(talk.contains(part), "{asked}: {talk}");
        assert!(!out.exists());
    }
    for kind in ["syringes", "force"] {
        let talk = refused(
            &format!(
                "chart {kind} {} --blend plain --at 120C --extrapolate --gauge 27 --out {}",
                cal.display(),
                out.display()
            ),
            1,
        );
        assert!(talk.contains("boil"), "{talk}");
    }
}
