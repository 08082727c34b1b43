//! `heatset course`: a folder for teaching, whole or not there.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use std::collections::BTreeSet;
use std::path::Path;

fn heatset(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

fn demo_calibration(folder: &Path) {
    let bench = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo_bench.csv");
    let bench = bench.to_str().unwrap();
    let fit = ["fit", bench, "--blend", "plain", "--out", "demo.json"];
    assert_eq!(heatset(folder, &fit).0, 0);
}

const COURSE: [&str; 9] = [
    "course",
    "demo.json",
    "--at",
    "85C",
    "--gauge",
    "27",
    "--draws",
    "1000",
    "--out",
];

fn course(folder: &Path, more: &[&str]) -> (i32, String, String) {
    let mut all = COURSE.to_vec();
    all.extend(more);
    heatset(folder, &all)
}

fn names(folder: &Path) -> BTreeSet<String> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect()
}

/// Rows of a CSV without comments and header.
fn rows(text: &str) -> Vec<Vec<String>> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect()
}

#[test]
fn a_course_is_whole_marked_and_keeps_its_answers_apart() {
    let folder = tempfile::tempdir().unwrap();
    demo_calibration(folder.path());
    let (status, words, talk) = course(folder.path(), &["lesson"]);
    assert_eq!(status, 0, "{words}{talk}");
    assert!(words.starts_with("INVENTED DATA"));
    let lesson = folder.path().join("lesson");
    let found = names(&lesson);
    for name in [
        "index.html",
        "predict-then-measure.html",
        "predict-then-measure.csv",
        "answers.html",
        "answers.csv",
    ] {
        assert!(found.contains(name), "{found:?}");
    }
    let pictures: Vec<&String> = found.iter().filter(|n| n.ends_with(".png")).collect();
    assert_eq!(pictures.len(), 7, "{found:?}");
    for (place, name) in pictures.iter().enumerate() {
        assert!(name.starts_with(&format!("{:02}-", place + 1)), "{name}");
        let bytes = std::fs::read(lesson.join(name)).unwrap();
        // Width and height stand in the header of a PNG (ISO/IEC 15948, 11.2.2).
        let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
        assert_eq!((number(16), number(20)), (1600, 900));
        let drawn = std::fs::read_to_string(lesson.join(name.replace(".png", ".svg"))).unwrap();
        assert!(drawn.contains("invented data"), "{name}");
        assert!(drawn.contains("not a medical device"), "{name}");
    }
    for name in found
        .iter()
        .filter(|n| n.ends_with("html") || n.ends_with("csv"))
    {
        let text = std::fs::read_to_string(lesson.join(name)).unwrap();
        assert!(text.to_lowercase().contains("invented data"), "{name}");
        assert!(text.contains("not a medical device"), "{name}");
        assert!(text.contains("demo.json"), "{name}");
        assert!(
            !text.contains("http://") && !text.contains("https://"),
            "{name}"
        );
    }
    let read = |name: &str| std::fs::read_to_string(lesson.join(name)).unwrap();
    // Blank to write in, the same settings in the answers.
    let (sheet, answers) = (
        rows(&read("predict-then-measure.csv")),
        rows(&read("answers.csv")),
    );
    assert_eq!(sheet.len(), answers.len());
    assert!(sheet.len() >= 10);
    for (asked, answer) in sheet.iter().zip(&answers) {
        assert_eq!(asked[..3], answer[..3]);
        assert!(asked[5..].iter().all(String::is_empty), "{asked:?}");
        if answer[3].is_empty() {
            let number = |at: usize| answer[at].parse::<f64>().unwrap();
            assert!(number(5) < number(4) && number(4) < number(6), "{answer:?}");
            assert!(number(8) < number(7) && number(7) < number(9), "{answer:?}");
        } else {
            assert!(
                !answer[7].is_empty() || !answer[10].is_empty(),
                "{answer:?}"
            );
        }
    }
    // Every link of the index leads to a file of the folder.
    let index = read("index.html");
    for target in index
        .split("href=\"")
        .skip(1)
        .chain(index.split("src=\"").skip(1))
    {
        let name = target.split('"').next().unwrap();
        assert!(found.contains(name), "{name}");
    }
}

#[test]
fn a_folder_is_replaced_only_when_asked_and_only_where_it_is_a_course() {
    let folder = tempfile::tempdir().unwrap();
    demo_calibration(folder.path());
    let lesson = folder.path().join("lesson");
    assert_eq!(course(folder.path(), &["lesson", "--json"]).0, 0);
    let before = std::fs::read(lesson.join("answers.csv")).unwrap();
    let (status, _, talk) = course(folder.path(), &["lesson", "--seed", "7"]);
    assert_eq!(status, 1);
    assert!(talk.contains("--replace"), "{talk}");
    assert_eq!(std::fs::read(lesson.join("answers.csv")).unwrap(), before);
    let (status, _, talk) = course(folder.path(), &["lesson", "--seed", "7", "--replace"]);
    assert_eq!(status, 0, "{talk}");
    assert_ne!(std::fs::read(lesson.join("answers.csv")).unwrap(), before);
    std::fs::write(lesson.join("my notes.txt"), "keep").unwrap();
    let (status, _, talk) = course(folder.path(), &["lesson", "--replace"]);
    assert_eq!(status, 1);
    assert!(talk.contains("my notes.txt"), "{talk}");
    assert!(lesson.join("my notes.txt").exists());
    // Nothing is left of what was begun.
    assert_eq!(
        names(folder.path()),
        BTreeSet::from(["demo.json".to_owned(), "lesson".to_owned()])
    );
}

#[test]
fn a_course_that_cannot_be_made_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    demo_calibration(folder.path());
    let (status, _, talk) = course(folder.path(), &["lesson", "--heat-time", "9h"]);
    assert_eq!(status, 1);
    assert!(talk.contains("outside the measured heat times"), "{talk}");
    let (status, _, talk) = heatset(folder.path(), &["course", "demo.json", "--out", "lesson"]);
    assert_eq!(status, 1);
    assert!(talk.contains("No needle was named"), "{talk}");
    assert_eq!(
        names(folder.path()),
        BTreeSet::from(["demo.json".to_owned()])
    );
}
