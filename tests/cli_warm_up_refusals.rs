//! What of warm-ups, schedules and protocols is refused, in which words; and that nothing is left
//! half-written.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod heated;
mod said;
mod support;

use heated::Bench;
use said::{heatset, refused};

/// A schedule whose one heat stage is asked about.
const OPEN: &str = "start_temp = \"22C\"\n[[stage]]\nkind = \"heat\"\nset = \"86C\"\n";

/// A message, word for word; nothing on standard output.
fn says(command: &str, code: i32, words: &[&str]) {
    let talk = refused(command, code);
    for part in words {
        assert!(talk.contains(part), "{command}\n{talk}\nlacks\n{part}");
    }
}

#[test]
fn warm_ups_that_cannot_be_are_refused_with_the_way_out() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let rising = bench.file("rising.csv", "time_s,temp_C\n0,22\n30,50\n60,70\n90,82\n");
    let level = bench.file("level.csv", &heated::lag_trace(40.0, 600));
    let ask = format!("time {cal} --at 86C --gauge 27");
    let table = bench.path("bench.csv");
    let out = bench.path("out.json");
    let fit = format!("fit {table} --out {out}");
    let before = bench.names();
    for (command, words) in [
        (
            format!("{ask} --warm-up {rising}"),
            "rising.csv still rises at its end, 82 °C: let the trace run until it levels off",
        ),
        (
            format!("{fit} --warm-up {rising}"),
            "let the trace run until it levels off",
        ),
        (
            format!("{ask} --contact 200W/m2K"),
            "A contact of block and barrel counts only where the warm-up is computed by conduction.",
        ),
        (
            format!("{ask} --warm-up 40s --contact 200W/m2K"),
            "What helps: --warm-up syringe, or leave --contact out",
        ),
        (
            format!("{fit} --warm-up 40s --contact 200W/m2K"),
            "What helps: --warm-up syringe:1mL, or leave --contact out",
        ),
        (
            format!("{fit} --warm-up fit --cool-time 5min"),
            "--warm-up fit finds one time constant and nothing else",
        ),
        (
            format!("{ask} --cool-time 5min"),
            "cooling counts only where the warm-up is declared too",
        ),
        (
            format!("{ask} --cool-time 5min --warm-up none"),
            "give it as the lag of your syringe (40s), a trace, or syringe:1mL",
        ),
        (
            format!("{fit} --cool-time 5min"),
            "cooling counts only where the warm-up is declared too",
        ),
        (
            format!("{ask} --cool-time 5min --warm-up {level}"),
            "a trace brings its own cooling: let it run on until the gel is cold",
        ),
        (
            format!("{ask} --warm-up syringe:7mL"),
            "no syringe \"7mL\" is in the table; it holds",
        ),
        (
            format!("{ask} --syringe 7mL"),
            "no syringe \"7mL\" is in the table; it holds",
        ),
        (
            format!("{fit} --warm-up syringe:7mL"),
            "no syringe \"7mL\" is in the table; it holds",
        ),
        (
            format!("{fit} --warm-up syringe"),
            "does not say which syringe the bench was heated in.\nWhat helps: --warm-up syringe:1mL",
        ),
        (
            format!("{ask} --warm-up 40s --filled 0.8mL"),
            "counts only where its warm-up is computed.\nWhat helps: --warm-up syringe",
        ),
        (
            format!("{ask} --warm-up syringe --filled 3mL"),
            "3 mL do not go into a 1 mL syringe.\nWhat helps:",
        ),
        (
            format!("{ask} --warm-up syringe --stands-out 90mm"),
            "90 mm cannot stand out of the block",
        ),
        (
            format!("{fit} --warm-up syringe:1mL --filled 0.8mL"),
            "What helps: leave --filled, --stands-out and --open-end out",
        ),
        (
            format!("{ask} --warm-up lag:gone.csv"),
            "gone.csv cannot be opened",
        ),
        (
            format!("{ask} --warm-up 40"),
            "--warm-up 40: \"40\" has no unit: write 40s",
        ),
        (
            format!("{ask} --warm-up slowly"),
            "What helps: none; the lag of your syringe such as 40s",
        ),
        (
            format!("{ask} --warm-up gone.csv"),
            "gone.csv cannot be opened",
        ),
        (
            format!(
                "chart force {cal} --at 86C --warm-up {rising} --out {}",
                bench.path("out.svg")
            ),
            "let the trace run until it levels off",
        ),
    ] {
        says(&command, 1, &[words]);
    }
    for (options, words) in [
        (
            "--contact 150",
            "--contact: \"150\" has no unit: write 150W/m2K",
        ),
        (
            "--contact 0W/m2K",
            "lets no heat through; give a value above zero",
        ),
        (
            "--air 0W/m2K",
            "lets no heat through; give a value above zero",
        ),
        (
            "--cool-until 37",
            "--cool-until: \"37\" has no unit: write 37C",
        ),
        (
            "--warm-up 40s --start-temp -300C",
            "--start-temp: \"-300C\"",
        ),
    ] {
        says(&format!("{ask} {options}"), 2, &[words]);
    }
    assert_eq!(bench.names(), before, "nothing is half-written");
}

#[test]
fn broken_traces_are_refused_with_file_line_and_column() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    for (text, words) in [
        (
            "time_s,temp_C\n0,22\n10,hot\n20,30\n",
            vec![
                "broken.csv cannot be read: 1 fault",
                "line 3, column temp_C: \"hot\" is not a number",
            ],
        ),
        (
            "time_s,temp_C\n0,22\n10,30\n10,31\n5,33\n",
            vec!["broken.csv cannot be read: 2 faults", "line 4", "line 5"],
        ),
        ("time_s\n0\n1\n", vec!["broken.csv", "temp_C"]),
        ("time,temp_C\n0,22\n", vec!["broken.csv", "time_s"]),
        (
            "time_s,temp_C\n0,-300\n5,20\n",
            vec!["line 2, column temp_C"],
        ),
        ("", vec!["broken.csv"]),
    ] {
        let trace = bench.file("broken.csv", text);
        says(
            &format!("time {cal} --at 86C --gauge 27 --warm-up {trace}"),
            1,
            &words,
        );
        let out = bench.path("out.json");
        let table = bench.path("bench.csv");
        says(
            &format!("fit {table} --warm-up {trace} --out {out}"),
            1,
            &words,
        );
        assert!(!std::path::Path::new(&out).exists());
    }
}

#[test]
fn broken_schedules_are_refused_with_file_line_and_column() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let head = "start_temp = \"22C\"\n";
    for (text, words) in [
        (
            format!("{head}[[stage]]\nkind = \"heat\"\nset = \"86C\"\ntime = \"7min\"\n"),
            vec![
                "broken.toml gives every stage its time",
                "leave the time of the heat stage out that is asked about",
            ],
        ),
        (
            format!("{head}[[stage]\nkind = \"heat\"\n"),
            vec![
                "broken.toml cannot be read: 1 fault",
                "line 2, column 9: this is not TOML",
            ],
        ),
        (
            format!("{head}[[stage]]\nkind = \"heet\"\nset = 86\n"),
            vec![
                "broken.toml cannot be read: 2 faults",
                "line 3, column 8: kind is \"heet\", which is none (is \"heat\" meant?)",
                "line 4, column 7: set: \"86\" has no unit: write 86C",
            ],
        ),
        (
            format!("{head}clok = \"insertion\"\n[[stage]]\nkind = \"heat\"\nset = \"86C\"\n"),
            vec!["line 2, column 1: \"clok\" is not known here (is clock meant?)"],
        ),
        (
            format!("{OPEN}[[stage]]\nkind = \"heat\"\nset = \"80C\"\n"),
            vec!["line 5, column 1: stages 1 and 2 both have no time"],
        ),
        (
            format!("{head}clock = \"noon\"\n[[stage]]\nkind = \"heat\"\nset = \"86C\"\n"),
            vec!["line 2, column 9", "at-set"],
        ),
        (head.to_owned(), vec!["broken.toml", "stage"]),
        (String::new(), vec!["broken.toml"]),
    ] {
        let schedule = bench.file("broken.toml", &text);
        says(
            &format!("time {cal} --schedule {schedule} --gauge 27"),
            1,
            &words,
        );
    }
    says(
        &format!("time {cal} --schedule gone.toml --gauge 27"),
        1,
        &["gone.toml cannot be opened"],
    );
}

#[test]
fn a_schedule_says_itself_where_the_gel_starts_how_it_cools_and_takes_no_trace() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let level = bench.file("level.csv", &heated::lag_trace(40.0, 600));
    let schedule = bench.file("open.toml", OPEN);
    let traced = bench.fitted("traced.json", &format!("--warm-up {level}"));
    let ask = format!("--schedule {schedule} --gauge 27");
    for options in ["--start-temp 10C", "--cool-time 5min"] {
        says(
            &format!("time {cal} {ask} {options}"),
            1,
            &[
                "A schedule says itself where the gel starts and how it cools.",
                "What helps: leave --start-temp and --cool-time out",
            ],
        );
    }
    for command in [
        format!("time {cal} {ask} --warm-up {level}"),
        format!("time {traced} {ask}"),
    ] {
        says(
            &command,
            1,
            &[
                "A trace holds for the stages it was taken in, and not for another schedule.",
                "What helps: --warm-up with the lag that the trace shows, or --warm-up syringe",
            ],
        );
    }
    says(&format!("time {cal} {ask} --at 86C"), 2, &["--schedule"]);
    says(&format!("time {cal} --gauge 27"), 2, &["--at"]);
    // So are those of its other stages, against boiling.
    let boils = bench.file(
        "boils.toml",
        &format!("{OPEN}[[stage]]\nkind = \"hold\"\nset = \"104C\"\ntime = \"2min\"\n"),
    );
    says(
        &format!("time {cal} --schedule {boils} --gauge 27"),
        1,
        &["boils.toml", "104"],
    );
    // The temperatures of a schedule are held against the measured ones too.
    let hot = bench.file("hot.toml", &OPEN.replace("86C", "97C"));
    says(
        &format!("time {cal} --schedule {hot} --gauge 27"),
        1,
        &[
            "97 °C lies outside the measured temperatures",
            "--extrapolate",
        ],
    );
}

#[test]
fn protocols_that_cannot_be_read_or_answered_are_refused() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let schedule = bench.file("open.toml", OPEN);
    let ask = |known: &str, rest: &str, code: i32, words: &str| {
        let mut arguments = vec!["time", &cal, "--same-as", known];
        arguments.extend(rest.split_whitespace());
        let said = heatset(&arguments);
        assert_eq!(
            (said.code, said.out.as_str()),
            (code, ""),
            "{known} {rest}: {}",
            said.talk
        );
        assert!(said.talk.contains(words), "{known} {rest}\n{}", said.talk);
    };
    let how = "a protocol is written '6min at 90C in 1mL'";
    ask("6min in 1mL", "--at 85C", 2, how);
    ask("a while", "--at 85C", 2, how);
    ask(
        "6 at 90C",
        "--at 85C",
        2,
        "\"6\" has no unit: write 6s, 6min or 6h",
    );
    ask("6min at 90", "--at 85C", 2, "\"90\" has no unit: write 90C");
    ask(
        "6min at 90C in 7mL",
        "--at 85C",
        1,
        "no syringe \"7mL\" is in the table",
    );
    ask(
        "6min at 90C in 1mL",
        "--at 95C",
        1,
        "95 °C lies outside the measured temperatures",
    );
    ask(
        "6min at 95C in 1mL",
        "--at 85C",
        1,
        "95 °C lies outside the measured temperatures",
    );
    ask("6min at 90C in 1mL", "", 2, "--at");
    ask(
        "6min at 90C in 1mL",
        &format!("--schedule {schedule}"),
        2,
        "--same-as",
    );
    ask(
        "6min at 90C in 1mL",
        "--at 85C --least-force 5N",
        2,
        "--least-force",
    );
}
