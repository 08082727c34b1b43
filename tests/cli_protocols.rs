//! Heat schedules and protocols of equal setting through the written commands.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod heated;
mod said;
mod support;

use assert_cmd::Command;
use heated::{Bench, codes, parameter, point, rate_ratio, read};
use said::{heatset, number, served};
use serde_json::Value;

const ONE_STAGE: &str = "start_temp = \"22C\"\n[[stage]]\nkind = \"heat\"\nset = \"86C\"\n";

// ---------------------------------------------------------------- schedules

#[test]
fn a_schedule_of_one_heat_stage_is_the_plain_question() {
    let bench = Bench::of_syringes();
    let schedule = bench.file("one.toml", ONE_STAGE);
    let cal = bench.fitted("none.json", "");
    let own = bench.fitted("syringe.json", "--warm-up syringe:1mL");
    for (cal, warm_up) in [
        (&cal, "--warm-up none"),
        (&cal, "--warm-up 40s"),
        (&cal, "--warm-up syringe"),
        (&own, ""),
        (&own, "--syringe 5mL"),
    ] {
        let plain = point(&format!("time {cal} --at 86C --gauge 27 {warm_up}"));
        let staged = said::document(&format!(
            "time {cal} --schedule {schedule} --gauge 27 {warm_up}"
        ));
        let ours = number(&staged, "heat_time_s_point");
        assert!(
            (ours / plain - 1.0).abs() < 1e-3,
            "{warm_up}: {ours} {plain}"
        );
        assert_eq!(staged["assumptions"]["warm_up"], "schedule");
        // A gel that is hot at once is not a syringe: that is said.
        let bare = warm_up == "--warm-up none";
        assert_eq!(codes(&staged).contains(&"no_warm_up"), bare, "{warm_up}");
    }
}

/// A block at 40 °C that rises by 20 K a minute reads 86 °C after 138 s: the same heating, counted from
/// there, is 138 s shorter.
#[test]
fn the_clock_that_starts_at_the_set_temperature_leaves_the_ramp_out() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let ask = |name: &str, head: &str| {
        let file = bench.file(name, &format!("{head}{ONE_STAGE}"));
        let command = format!("time {cal} --schedule {file} --gauge 27 --warm-up syringe");
        (said::document(&command), served(&command))
    };
    let cold = "block_start = \"40C\"\nramp = \"20K/min\"\n";
    let (hot, _) = ask("hot.toml", "");
    let (ramp, _) = ask("ramp.toml", cold);
    let (at_set, words) = ask("at-set.toml", &format!("clock = \"at-set\"\n{cold}"));
    let time = |answer: &Value| number(answer, "heat_time_s_point");
    assert!(time(&ramp) > time(&hot) + 30.0);
    let ramp_s = time(&ramp) - time(&at_set);
    assert!((ramp_s - 138.0).abs() < 0.5, "{ramp_s}");
    assert!(
        time(&at_set) < time(&hot),
        "what the ramp heats comes on top"
    );
    assert!(codes(&at_set).contains(&"clock_at_set") && !codes(&ramp).contains(&"clock_at_set"));
    assert!(
        words.contains("By the schedule's own clock; every stage of at-set.toml is counted"),
        "{words}"
    );
}

#[test]
fn the_stages_around_the_one_asked_about_count() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let time = |name: &str, text: &str, options: &str| {
        let file = bench.file(name, text);
        said::document(&format!(
            "time {cal} --schedule {file} --gauge 27 --warm-up syringe {options}"
        ))
    };
    let plain = number(&time("one.toml", ONE_STAGE, ""), "heat_time_s_point");
    let cool = "[[stage]]\nkind = \"cool\"\nset = \"22C\"\ntime = \"6min\"\n";
    let cooled = time("cool.toml", &format!("{ONE_STAGE}{cool}"), "");
    let declared = said::document(&format!(
        "time {cal} --at 86C --gauge 27 --warm-up syringe --cool-time 6min --ambient 22C"
    ));
    let (a, b) = (
        number(&cooled, "heat_time_s_point"),
        number(&declared, "heat_time_s_point"),
    );
    assert!(a < plain && (a / b - 1.0).abs() < 5e-3, "{a} {b} {plain}");
    assert_eq!(cooled["assumptions"]["cooling_counted"], true);
    let degrees = number(&cooled, "gel_temp_K") - number(&declared, "gel_temp_K");
    assert!(degrees.abs() < 1.0, "{degrees}");
    let first = "start_temp = \"22C\"\n[[stage]]\nkind = \"heat\"\nset = \"70C\"\ntime = \"5min\"\n\
                 [[stage]]\nkind = \"heat\"\nset = \"86C\"\n";
    let staged = number(&time("two.toml", first, ""), "heat_time_s_point");
    assert!(staged < plain - 30.0, "a warmer start: {staged} {plain}");
}

// ---------------------------------------------------------------- protocols of equal setting

fn same_as(cal: &str, known: &str, rest: &str) -> Value {
    let mut arguments = vec!["time", cal, "--same-as", known, "--json"];
    arguments.extend(rest.split_whitespace());
    let said = heatset(&arguments);
    assert_eq!(said.code, 0, "{known} {rest}: {}", said.talk);
    serde_json::from_str(&said.out).unwrap()
}

/// Gel that is hot at once sets as far in times that stand as the rates do: Arrhenius alone.
#[test]
fn without_warm_up_equal_protocols_stand_as_the_rates_do() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let energy = number(&parameter(&read(&cal), "activation_energy"), "estimate");
    for celsius in [75.0, 80.0, 85.0, 90.0] {
        let answer = same_as(
            &cal,
            "6min at 82C in 1mL",
            &format!("--at {celsius}C --warm-up none"),
        );
        let theirs = 360.0 * rate_ratio(energy, 82.0, celsius);
        let ours = number(&answer, "heat_time_s_point");
        assert!(
            (ours / theirs - 1.0).abs() < 1e-6,
            "{celsius}: {ours} {theirs}"
        );
        assert!(codes(&answer).contains(&"no_warm_up"));
    }
}

#[test]
fn a_protocol_is_as_long_as_itself_and_there_and_back_again() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let itself = same_as(&cal, "6min at 90C in 1mL", "--at 90C --syringe 1mL");
    assert!((number(&itself, "heat_time_s_point") - 360.0).abs() < 1.0);
    for end in [0, 1] {
        let edge = itself["heat_time_s_interval95"][end].as_f64().unwrap();
        assert!((edge - 360.0).abs() < 1.0, "{edge}");
    }
    // The syringe may be left out: the usual one is meant, in both.
    let short = same_as(&cal, "6min at 90C", "--at 90C");
    assert_eq!(short["heat_time_s_point"], itself["heat_time_s_point"]);
    let there = same_as(&cal, "6min at 90C in 1mL", "--at 85C --syringe 5mL");
    assert_eq!(there["assumptions"]["same_as_syringe"], "1mL");
    assert_eq!(there["assumptions"]["syringe"], "5mL");
    assert_eq!(there["assumptions"]["warm_up"], "syringe");
    let known = format!("{}s at 85C in 5mL", number(&there, "heat_time_s_point"));
    let back = same_as(&cal, &known, "--at 90C --syringe 1mL");
    assert!((number(&back, "heat_time_s_point") - 360.0).abs() < 1.0);
    let (a, b) = (number(&there, "conversion"), number(&back, "conversion"));
    assert!((a - b).abs() < 1e-4, "{a} {b}");
    // The mean lies between the least and the greatest; the wider gel is the less even.
    let spread = |answer: &Value, key: &str| {
        let [low, high] = [0, 1].map(|end| answer[key][end].as_f64().unwrap());
        assert!(
            low <= a + 1e-4 && a <= high + 1e-4,
            "{key}: {low} {a} {high}"
        );
        high - low
    };
    assert!(spread(&there, "conversion_extremes") > spread(&there, "same_as_conversion_extremes"));
}

#[test]
fn the_same_setting_takes_longer_in_a_larger_syringe_and_in_a_cooler_block() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("syringe.json", "--warm-up syringe:1mL");
    let times = |options: [&str; 3]| {
        options.map(|rest| {
            number(
                &same_as(&cal, "6min at 90C in 1mL", rest),
                "heat_time_s_point",
            )
        })
    };
    let wider = times([
        "--at 88C --syringe 1mL",
        "--at 88C --syringe 3mL",
        "--at 88C --syringe 5mL",
    ]);
    assert!(wider.windows(2).all(|pair| pair[1] > pair[0]), "{wider:?}");
    let cooler = times(["--at 90C", "--at 85C", "--at 80C"]);
    assert!(
        cooler.windows(2).all(|pair| pair[1] > pair[0]),
        "{cooler:?}"
    );
    let text = heatset(&[
        "time",
        &cal,
        "--same-as",
        "6min at 90C in 1mL",
        "--at",
        "85C",
        "--syringe",
        "5mL",
    ]);
    let first = text.out.lines().nth(1).unwrap();
    assert!(
        first.ends_with(
            "at 85 °C in a 5 mL syringe sets the gel as far as 6 min at 90 °C in a 1 mL syringe."
        ),
        "{first}"
    );
    // What the interval leaves out is said, and a needle beside it is refused, not dropped.
    assert!(
        text.talk
            .contains("half a degree in either moves this time"),
        "{}",
        text.talk
    );
    let needle = heatset(&[
        "time",
        &cal,
        "--same-as",
        "6min at 90C in 1mL",
        "--at",
        "85C",
        "--gauge",
        "27",
    ]);
    assert_eq!(needle.code, 1);
    assert!(needle.talk.contains("leave --gauge out"), "{}", needle.talk);
}

// ---------------------------------------------------------------- bytes

#[test]
fn the_same_seed_gives_the_same_bytes_on_any_number_of_threads() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("syringe.json", "--warm-up syringe:1mL");
    let table = bench.path("bench.csv");
    let schedule = bench.file("one.toml", ONE_STAGE);
    let commands: [Vec<&str>; 5] = [
        vec!["fit", &table, "--warm-up", "syringe:1mL", "--json"],
        vec![
            "time",
            &cal,
            "--at",
            "86C",
            "--gauge",
            "27",
            "--syringe",
            "5mL",
            "--json",
        ],
        vec![
            "time",
            &cal,
            "--schedule",
            &schedule,
            "--gauge",
            "27",
            "--json",
        ],
        vec![
            "time",
            &cal,
            "--same-as",
            "6min at 90C in 1mL",
            "--at",
            "85C",
            "--syringe",
            "5mL",
            "--json",
        ],
        vec![
            "force",
            &cal,
            "--at",
            "86C",
            "--heat-time",
            "10min",
            "--gauge",
            "27",
            "--syringe",
            "5mL",
            "--json",
        ],
    ];
    for command in commands {
        let run = |threads: &str| {
            let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
                .args(&command)
                .env("RAYON_NUM_THREADS", threads)
                .env("SOURCE_DATE_EPOCH", "1700000000")
                .output()
                .unwrap();
            assert!(output.status.success(), "{command:?}");
            output.stdout
        };
        assert_eq!(run("1"), run("2"), "{command:?}");
    }
}
