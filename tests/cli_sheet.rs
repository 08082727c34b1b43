//! Run sheets through the written command: every form, every mark, every refusal.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod heated;
mod markup;
mod said;
mod support;

use heated::Bench;
use markup::{Document, parse};
use said::{document, heatset, line, number, refused, served};
use serde_json::Value;
use std::path::Path;

/// What every form carries, however it is written.
const EVERYWHERE: [&str; 4] = [
    "INVENTED DATA",
    "not what is fit to inject",
    "Closed syringes",
    "shelf life",
];

fn read(path: &str) -> String {
    std::fs::read_to_string(path).unwrap()
}

fn page(path: &str) -> Document {
    parse(&read(path))
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn clock_of(text: &str) -> u32 {
    let parts: Vec<u32> = text.split(':').map(|part| part.parse().unwrap()).collect();
    parts[0] * 3600 + parts[1] * 60 + parts[2]
}

#[test]
fn the_sheet_heats_by_the_aim_of_time_and_expects_the_push_of_force() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("own.json", "--warm-up syringe:1mL");
    let common = format!("{cal} --at 86C --gauge 27");
    let time = document(&format!("time {common}"));
    let sheet = document(&format!(
        "sheet {common} --syringes 8 --fill 0.8mL --start 09:30"
    ));
    let used = number(&sheet["heat"], "heat_time_s");
    let aim = time["heat_time_s"]["aim"].as_f64().unwrap();
    assert!(used <= aim && used > aim - 31.0, "{used} {aim}");
    assert_eq!(sheet["heat"]["window_s"], time["heat_time_s"]);
    let force = document(&format!("force {common} --heat-time {used}s"));
    assert_eq!(
        sheet["push"]["plunger_force_N"],
        force["needles"][0]["plunger_force_N"]
    );
    assert_eq!(sheet["heat"]["cool_time_s"], force["cool_time_s"]);
    // Clock and seconds tell the same; eight syringes in six places are two turns.
    let syringes = sheet["syringes"].as_array().unwrap();
    assert_eq!(
        (syringes.len(), &sheet["block"]["turns"]),
        (8, &Value::from(2))
    );
    for syringe in syringes {
        let in_at = clock_of(syringe["in_at"].as_str().unwrap());
        let out_at = clock_of(syringe["out_at"].as_str().unwrap());
        assert_eq!(f64::from(in_at), 9.5 * 3600.0 + number(syringe, "in_s"));
        assert_eq!(f64::from(out_at - in_at), used);
    }
    // 8 (0.8 + 0.07) mL, the dead space by ISO 7886-1.
    let plasma_m3 = number(&sheet["volumes"], "plasma_m3");
    assert!((plasma_m3 - 6.96e-6).abs() < 1e-12, "{plasma_m3}");
}

#[test]
fn every_form_carries_marks_cautions_and_the_same_times() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let path = |name: &str| bench.path(name);
    let ask = format!(
        "sheet {cal} --at 86C --gauge 27 --warm-up 40s --plasma 8mL --fill 0.8mL --start 09:30 --lot L-0042"
    );
    let words = served(&ask);
    let said = served(&format!(
        "{ask} --out {} --out {} --out {} --labels {}",
        path("s.html"),
        path("s.csv"),
        path("s.txt"),
        path("l.html")
    ));
    for name in ["s.html", "s.csv", "s.txt", "l.html"] {
        assert!(said.contains(name), "{said}");
        let written = read(&path(name));
        for what in EVERYWHERE {
            assert!(written.contains(what), "{name} without {what}");
        }
        for what in ["L-0042", "27G x 13 mm", "09:30:00", "A1", "B1"] {
            assert!(written.contains(what), "{name} without {what}");
        }
    }
    assert!(said.starts_with("INVENTED DATA"));
    assert_eq!(words, read(&path("s.txt")));
    // One row a syringe; RFC 4180: as many cells as the header has.
    let csv = read(&path("s.csv"));
    let rows: Vec<&str> = csv.lines().filter(|l| !l.starts_with('#')).collect();
    assert_eq!(rows.len(), 1 + 9, "9 x 0.87 mL are 7.83 mL");
    let cells = rows[0].split(',').count();
    assert!(rows.iter().all(|row| row.split(',').count() == cells));
    assert!(rows[1..].iter().all(|row| row.ends_with("INVENTED DATA")));
    let sheet = page(&path("s.html"));
    assert_eq!(sheet.all("tr").len(), rows.len());
    let labels = page(&path("l.html"));
    let of_class = |class: &str| {
        labels
            .all("div")
            .into_iter()
            .filter(|e| e.attribute("class") == Some(class))
            .count()
    };
    assert_eq!(of_class("label"), 9);
    assert_eq!(labels.text().matches("Not a shelf life").count(), 9);
    // Nothing was answered about standing, so no label says until when.
    assert!(!labels.text().contains("passes the needle until"));
}

#[test]
fn what_is_extrapolated_is_marked_on_every_form() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let (html, labels) = (bench.path("s.html"), bench.path("l.html"));
    let ask = format!("sheet {cal} --at 92C --gauge 27 --warm-up 40s --syringes 2");
    assert!(refused(&ask, 1).contains("--extrapolate"));
    let words = served(&format!("{ask} --extrapolate"));
    assert!(words.contains("\nEXTRAPOLATED"), "{words}");
    served(&format!(
        "{ask} --extrapolate --out {html} --labels {labels}"
    ));
    assert!(read(&html).contains("EXTRAPOLATED"));
    assert_eq!(read(&labels).matches(">EXTRAPOLATED</p>").count(), 2);
}

/// The page is one page by what stands on it: at most sixteen rows of at most 7 mm, twelve of which
/// are high; nothing on it comes from elsewhere.
#[test]
fn the_page_holds_itself_and_a_bounded_number_of_rows() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let html = bench.path("s.html");
    let ask = format!("sheet {cal} --at 86C --gauge 27 --warm-up 40s");
    served(&format!("{ask} --syringes 16 --out {html}"));
    let written = read(&html);
    assert_eq!(parse(&written).all("tr").len(), 17);
    assert!(
        written.contains("@page { margin: 8mm; }") && written.contains("class=\"syringes close\"")
    );
    for outside in [
        "http:", "https:", "<script", "<link", "<img", "url(", "@import", " src=",
    ] {
        assert!(!written.contains(outside), "{outside}");
    }
    let said = refused(&format!("{ask} --syringes 17"), 1);
    assert!(
        said.contains("holds 16") && said.contains("What helps:"),
        "{said}"
    );
    assert!(refused(&format!("{ask} --plasma 60mL"), 1).contains("holds 16"));
}

#[test]
fn names_from_files_are_text_and_never_markup() {
    let bench = Bench::of_syringes();
    let table = read(&bench.path("bench.csv"))
        .lines()
        .map(|l| match l {
            comment if comment.starts_with('#') => comment.to_owned(),
            header if header.starts_with("heat") => format!("{header},blend,ha_fraction"),
            row => format!("{row},<b>x</b>&\"'</style>,0.2"),
        })
        .collect::<Vec<_>>()
        .join("\n");
    let hostile = bench.file("hostile.csv", &table);
    let cal = bench.path("<i>cal<u>.json");
    let fitted = heatset(&["fit", &hostile, "--out", &cal]);
    assert_eq!(fitted.code, 0, "{}", fitted.talk);
    let prices = bench.file(
        "prices.csv",
        "item,unit_price,currency,per\nsyringe,1,<em>E</em>,piece\n<script>alert(1)</script>,1,<em>E</em>,session\n",
    );
    let (html, labels, csv) = (
        bench.path("s.html"),
        bench.path("l.html"),
        bench.path("s.csv"),
    );
    let said = heatset(&[
        "sheet",
        &cal,
        "--at",
        "86C",
        "--gauge",
        "27",
        "--warm-up",
        "40s",
        "--syringes",
        "3",
        "--prices",
        &prices,
        "--out",
        &html,
        "--labels",
        &labels,
        "--out",
        &csv,
    ]);
    assert_eq!(said.code, 0, "{}", said.talk);
    for (file, names) in [
        (
            &html,
            [
                "<b>x</b>&",
                "<i>cal<u>.json",
                "<em>E</em>",
                "<script>alert(1)</script>",
            ]
            .as_slice(),
        ),
        (&labels, ["<b>x</b>&"].as_slice()),
    ] {
        let page = page(file);
        for tag in ["b", "i", "u", "em", "script", "img"] {
            assert!(page.all(tag).is_empty(), "<{tag}> in {file}");
        }
        for name in names {
            assert!(page.text().contains(name), "{name} is not told in {file}");
        }
    }
}

#[test]
fn files_are_whole_or_not_there() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let before = read(&cal);
    let ask = format!("sheet {cal} --at 86C --gauge 27 --warm-up 40s --syringes 3");
    let mine = bench.file("mine.html", "mine");
    let other = bench.path("other.csv");
    // One of two is there: neither is written.
    let said = refused(&format!("{ask} --out {other} --out {mine}"), 1);
    assert!(said.contains("--replace"), "{said}");
    assert_eq!(read(&mine), "mine");
    assert!(!Path::new(&other).exists());
    served(&format!("{ask} --out {other} --out {mine} --replace"));
    assert!(read(&mine).starts_with("<!DOCTYPE html>"));
    // Never over what it stands on, nor two into one.
    for files in [
        format!("--out {cal}"),
        format!("--out {mine} --labels {mine}"),
        format!("--out {}", bench.path("sheet.pdf")),
        format!("--labels {}", bench.path("labels.txt")),
    ] {
        let said = refused(&format!("{ask} {files} --replace"), 1);
        assert!(said.contains("What helps:"), "{said}");
    }
    assert_eq!(read(&cal), before);
    let folder = Path::new(&cal).parent().unwrap();
    let names = names_in(folder);
    assert_eq!(names, ["bench.csv", "mine.html", "none.json", "other.csv"]);
}

#[test]
fn without_a_window_there_is_no_sheet_and_a_remedy_that_pushes_no_harder() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let html = bench.path("s.html");
    for ask in ["--gauge 34 --flow 10mL/min", "--gauge 27 --heat-time 90min"] {
        let said = refused(
            &format!("sheet {cal} --at 90C {ask} --warm-up 40s --syringes 3 --out {html}"),
            1,
        );
        assert!(
            said.starts_with("No sheet") && said.contains("What helps:"),
            "{said}"
        );
        assert!(
            !said.contains("--force ") && !said.contains("harder"),
            "{said}"
        );
        assert!(!Path::new(&html).exists());
    }
}

#[test]
fn persons_stay_off_the_sheet() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    for lot in [
        "Miller",
        "J Smith",
        "a@b.org",
        "1984-03-15",
        "15/03/84",
        "19840315",
        "=cmd()",
    ] {
        let said = heatset(&[
            "sheet",
            &cal,
            "--at",
            "86C",
            "--gauge",
            "27",
            "--syringes",
            "2",
            "--warm-up",
            "40s",
            "--lot",
            lot,
        ]);
        assert_eq!((said.code, said.out.as_str()), (1, ""), "{lot}");
        assert!(
            said.talk.contains("What helps: a running number"),
            "{}",
            said.talk
        );
    }
}

#[test]
fn blood_buffer_and_centrifuge_are_told_with_their_gas() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let ask = format!(
        "sheet {cal} --at 86C --gauge 27 --warm-up 40s --blood 18mL --haematocrit 42% --recovery 0.85 --anticoagulant 1:9 --acd-a --speed 3000rpm --rotor-radius 100mm --buffer 0.2mL --protein 70g/L --ambient 20C"
    );
    let sheet = document(&ask);
    // By hand: 0.85 (18 x 0.58 + 2) = 10.574 mL, of which 0.85 x 2 = 1.7 mL is anticoagulant.
    let close = |found: f64, by_hand: f64| (found / by_hand - 1.0).abs() < 5e-4;
    assert!(close(number(&sheet["volumes"], "plasma_m3"), 10.574e-6));
    assert!(close(number(&sheet["buffer"], "acd_a_m3"), 1.7e-6));
    // 1.7 x 0.1140 mL; 1.7 x 0.1140 mmol x 24.055 mL/mmol.
    assert!(close(
        number(&sheet["buffer"], "bicarbonate_all_protons_m3"),
        0.1938e-6
    ));
    assert!(close(
        number(&sheet["buffer"], "carbon_dioxide_m3"),
        4.662e-6
    ));
    // 1.118e-5 x 10 x 3000^2.
    assert!(close(
        number(&sheet["spin"], "relative_centrifugal_force_ratio"),
        1006.2
    ));
    // 70 x 10.44/12.44 x 10.574/10.774.
    assert!(close(
        sheet["protein"]["gel_kg_per_m3"][0].as_f64().unwrap(),
        57.66
    ));
    let words = served(&ask);
    assert!(
        words.contains("carbon dioxide has left, only then capped"),
        "{words}"
    );
    assert!(words.contains("stoichiometry, no recipe"), "{words}");
}

#[test]
fn broken_questions_are_told_in_words() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let prices = bench.file(
        "p.csv",
        "item,unit_price,currency,per\ncap,dear,EUR,piece\n",
    );
    for (options, code, says) in [
        ("", 1, "--plasma 12mL"),
        ("--syringes 0", 2, "1 to 1000"),
        ("--plasma 12", 2, "no unit"),
        (
            "--plasma 12mL --syringes 15",
            1,
            "Not enough for 15 syringes",
        ),
        ("--plasma 0.5mL", 1, "fill no syringe"),
        (
            "--blood 40mL --haematocrit 1 --recovery 0.8",
            1,
            "haematocrit",
        ),
        ("--blood 40mL --haematocrit 0.4 --recovery 0", 1, "recovery"),
        ("--syringes 2 --start 25:00", 2, "09:30"),
        ("--syringes 2 --fill 3mL", 1, "--syringe"),
        ("--syringes 2 --acd-a", 1, "--anticoagulant"),
        (
            "--syringes 2 --haematocrit 0.4 --recovery 0.8 --anticoagulant 1:0",
            2,
            "1:9",
        ),
        (
            "--syringes 2 --haematocrit 0.4 --recovery 0.8 --anticoagulant 9mL",
            1,
            "1:9",
        ),
        ("--syringes 2 --rotor-radius 100mm", 1, "--rcf"),
        ("--syringes 2 --ha-share 100%", 1, "says itself"),
        ("--syringes 2 --barrel 4.7mm", 1, "--fill"),
        ("--syringes 2 --speed 3000", 2, "rpm"),
    ] {
        let ask = format!("sheet {cal} --at 86C --gauge 27 --warm-up 40s {options}");
        let said = refused(&ask, code);
        assert!(said.contains(says), "{options}: {said}");
    }
    let ask = format!("sheet {cal} --at 86C --gauge 27 --warm-up 40s --syringes 2 --prices");
    let said = refused(&format!("{ask} {prices}"), 1);
    assert!(
        said.contains("line 2, column unit_price") && said.contains("dear"),
        "{said}"
    );
    assert!(refused(&format!("{ask} {}", bench.path("none.csv")), 1).contains("none.csv"));
    let half = line(&format!("sheet {cal} --at 86C --gauge 27 --blood 40mL"));
    assert_eq!(half.code, 2);
}

/// The offset of a block's check moves the answer, as it does in 'heatset time'.
#[test]
fn a_block_check_moves_the_sheet_as_it_moves_the_time() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let trace: String = (0..200)
        .map(|i| format!("{},84.5\n", i * 10))
        .collect::<Vec<_>>()
        .concat();
    let trace = bench.file("trace.csv", &format!("time_s,temp_C\n{trace}"));
    let check = bench.path("check.json");
    served(&format!("blockcheck {trace} --at 86C --out {check}"));
    let common = format!("{cal} --at 86C --gauge 27 --warm-up 40s --block-check {check}");
    let time = document(&format!("time {common}"));
    let sheet = document(&format!("sheet {common} --syringes 2"));
    assert_eq!(sheet["heat"]["heat_temp_K"], time["heat_temp_K"]);
    assert_eq!(sheet["heat"]["window_s"], time["heat_time_s"]);
    assert!((number(&sheet["heat"], "heat_temp_K") - (84.5 + 273.15)).abs() < 0.01);
    assert!((number(&sheet["heat"], "block_set_temp_K") - 359.15).abs() < 1e-9);
    let words = served(&format!("sheet {common} --syringes 2"));
    assert!(words.contains("block set to"), "{words}");
}

#[test]
fn a_blend_that_the_calibration_does_not_know_takes_a_stated_share() {
    let bench = Bench::of_syringes();
    let table = read(&bench.path("bench.csv"))
        .lines()
        .map(|l| match l {
            comment if comment.starts_with('#') => comment.to_owned(),
            header if header.starts_with("heat") => format!("{header},blend"),
            row => format!("{row},mix"),
        })
        .collect::<Vec<_>>()
        .join("\n");
    bench.file("bench.csv", &table);
    let cal = bench.fitted("mix.json", "");
    let ask = format!("sheet {cal} --at 86C --gauge 27 --warm-up 40s --syringes 5 --fill 0.93mL");
    let codes = |sheet: &Value| sheet["warnings"].to_string();
    let plain = document(&ask);
    assert!(codes(&plain).contains("ha_fraction_unknown"));
    assert!(number(&plain["volumes"], "ha_solution_m3") == 0.0);
    // By hand: a fifth of 5 (0.93 + 0.07) mL; 20 mg/mL become 4.
    let stated = document(&format!("{ask} --ha-share 0.2 --ha-concentration 20mg/mL"));
    assert!(!codes(&stated).contains("ha_fraction_unknown"));
    assert!((number(&stated["volumes"], "ha_solution_m3") - 1e-6).abs() < 1e-12);
    assert!((number(&stated["contents"], "ha_in_blend_kg_per_m3") - 4.0).abs() < 1e-12);
    assert!(refused(&format!("{ask} --ha-share 1"), 1).contains("under 1"));
}

/// A gel that thickens on standing by a factor e^0.8 at the rates below, invented, after a bench that
/// sets as first order does.
fn standing_bench() -> String {
    use std::fmt::Write as _;
    let at_once = |celsius: f64, minutes: f64| {
        let rate = 2e-3 * (250e3 / 8.314_462_618 * (1.0 / 353.15 - 1.0 / (celsius + 273.15))).exp();
        let set = 1.0 - (-rate * 60.0 * minutes).exp();
        (1.0 - set) * 1.6e-3_f64.ln() + set * 6.0_f64.ln()
    };
    let scatter = [0.02, -0.03, 0.01, 0.03, -0.01, -0.02, 0.0];
    let mut text = String::from(
        "# Invented data.\nheat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot,stand_time_min,stand_temp_C\n",
    );
    let mut row = 0;
    let mut add = |celsius: f64, minutes: f64, gain: f64, stood: &str| {
        let reading = (at_once(celsius, minutes) + gain + scatter[row % 7]).exp();
        row += 1;
        writeln!(text, "{celsius},{minutes},{reading:.6},10,L1,{stood}").unwrap();
    };
    for celsius in [74.0, 80.0, 86.0] {
        for minutes in [0.5, 1.0, 2.0, 4.0, 7.0, 12.0, 20.0, 30.0] {
            add(celsius, minutes, 0.0, ",");
        }
    }
    for minutes in [4.0, 7.0] {
        for (celsius, rate) in [(4.0, 1.2e-5), (22.0, 6e-5)] {
            for hours in [1.0_f64, 3.0, 8.0, 24.0, 48.0] {
                let gain = 0.8 * (1.0 - (-rate * 3600.0 * hours).exp());
                add(80.0, minutes, gain, &format!("{},{celsius}", 60.0 * hours));
            }
        }
    }
    text
}

#[test]
fn a_label_says_until_when_the_needle_passes_only_where_standing_was_read() {
    let bench = Bench::of_syringes();
    bench.file("bench.csv", &standing_bench());
    let cal = bench.fitted("stands.json", "");
    let labels = bench.path("l.html");
    let common = format!("{cal} --at 80C --gauge 27 --warm-up 40s --heat-time 5min");
    let ask = format!("sheet {common} --syringes 2 --labels {labels}");
    let stand = document(&format!("stand {common}"));
    let sheet = document(&ask);
    let (of_stand, of_sheet) = (&stand["at"], &sheet["standing"]["at"]);
    assert_eq!(of_sheet.as_array().unwrap().len(), 2);
    for place in 0..2 {
        for key in ["stand_temp_K", "passes_needle_until_s", "limited_by"] {
            assert_eq!(of_sheet[place][key], of_stand[place][key], "{key}");
        }
    }
    assert!(
        sheet["standing"]["meaning"]
            .as_str()
            .unwrap()
            .contains("not a shelf life")
    );
    let page = page(&labels);
    assert_eq!(page.text().matches("passes the needle until").count(), 2);
    assert_eq!(page.text().matches("Not a shelf life").count(), 2);
    let words = served(&format!("sheet {common} --syringes 2"));
    assert!(words.contains("Standing (not a shelf life)"), "{words}");
    // Without readings after standing it is not asked in vain.
    let plain = Bench::of_syringes();
    let cal = plain.fitted("none.json", "");
    let ask = format!("sheet {cal} --at 86C --gauge 27 --warm-up 40s --syringes 2");
    assert!(document(&ask)["standing"].is_null());
    let said = refused(&format!("{ask} --stand-temp 4C"), 1);
    assert!(said.contains("What helps:"), "{said}");
}
