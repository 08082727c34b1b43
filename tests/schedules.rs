//! Heat schedules: the file, its refusals, and how stages lie in time.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_relative_eq;
use heatset::thermal::{
    HeatSchedule, ScheduleCaution, ScheduleClock, ScheduleStage, StageKind, ThermalInputError,
    parse_heat_schedule, read_heat_schedule,
};
use proptest::prelude::*;

/// The form that a schedule file is promised to have.
const WHOLE: &str = r#"
start_temp = "22C"
clock = "insertion"      # insertion (default) | at-set
block_start = "86C"      # block temperature at insertion; with ramp, a cold block heats up
ramp = "20K/min"         # optional
[[stage]]
kind = "heat"            # heat | hold (same block, lid open or off) | cool (air)
set = "86C"
time = "7min"            # the one heat stage without time is the one that is solved
[[stage]]
kind = "cool"
set = "22C"
time = "6min"
"#;

fn faults_of(text: &str) -> Vec<String> {
    match parse_heat_schedule("run.toml", text) {
        Err(ThermalInputError::Faults { file, faults }) => {
            assert_eq!(file, "run.toml");
            faults.all().iter().map(ToString::to_string).collect()
        }
        other => panic!("{other:?}"),
    }
}

/// A schedule file with other lines at the top and in its one stage.
fn file(top: &str, stage: &str) -> String {
    format!("start_temp = \"22C\"\n{top}\n[[stage]]\nkind = \"heat\"\n{stage}\n")
}

#[test]
fn the_promised_form_reads_to_si() {
    let schedule = parse_heat_schedule("run.toml", WHOLE).unwrap();
    assert_eq!(schedule.start_kelvin, 295.15);
    assert_eq!(schedule.clock, ScheduleClock::Insertion);
    assert_eq!(schedule.block_start_kelvin, Some(359.15));
    // 20 K/min by hand: a third of a kelvin a second.
    assert_relative_eq!(schedule.ramp_kelvin_per_s.unwrap(), 1.0 / 3.0);
    assert_eq!(
        schedule.stages,
        [
            ScheduleStage {
                kind: StageKind::Heat,
                set_kelvin: 359.15,
                time_s: Some(420.0)
            },
            ScheduleStage {
                kind: StageKind::Cool,
                set_kelvin: 295.15,
                time_s: Some(360.0)
            },
        ]
    );
    assert_eq!(schedule.open_stage(), None);
    let timed = schedule.timed().unwrap();
    assert_eq!(timed.total_s(), 780.0);
    assert_eq!(timed.heat_end_s(), 420.0);
    assert!(timed.cautions.is_empty());
}

#[test]
fn the_same_file_reads_alike_with_windows_line_ends_and_a_byte_order_mark() {
    let windows = format!("\u{feff}{}", WHOLE.replace('\n', "\r\n"));
    assert_eq!(
        parse_heat_schedule("run.toml", &windows).unwrap(),
        parse_heat_schedule("run.toml", WHOLE).unwrap()
    );
}

#[test]
fn one_heat_stage_may_leave_its_time_open_and_the_time_given_later_shifts_what_follows() {
    let open = WHOLE.replace("time = \"7min\"", "");
    let schedule = parse_heat_schedule("run.toml", &open).unwrap();
    assert_eq!(schedule.open_stage(), Some(0));
    assert!(matches!(
        schedule.timed(),
        Err(ThermalInputError::OpenStage { .. })
    ));
    for heat_time_s in [0.0, 1.0, 500.0] {
        let timed = schedule.with_heat_time(heat_time_s);
        assert_eq!(timed.stages[0].duration_s, heat_time_s);
        assert_eq!(timed.stages[1].start_s, heat_time_s);
        assert_eq!(timed.total_s(), heat_time_s + 360.0);
    }
}

/// A block from 22 °C to 86 °C at 20 K/min takes 64/20 min = 192 s, and reads 54 °C half-way.
#[test]
fn a_cold_block_reads_what_its_ramp_says() {
    let text = WHOLE.replace("block_start = \"86C\"", "block_start = \"22C\"");
    let schedule = parse_heat_schedule("run.toml", &text).unwrap();
    for (time_s, celsius) in [
        (0.0, 22.0),
        (96.0, 54.0),
        (192.0, 86.0),
        (300.0, 86.0),
        // The syringe has left after 420 s; the block keeps its temperature.
        (500.0, 86.0),
    ] {
        assert_relative_eq!(
            schedule.block_kelvin(time_s),
            celsius + 273.15,
            epsilon = 1e-9
        );
    }
    let timed = schedule.timed().unwrap();
    assert_eq!(timed.total_s(), 780.0);
    assert_relative_eq!(timed.outside_kelvin(96.0), 327.15, epsilon = 1e-9);
    assert_eq!(timed.outside_kelvin(500.0), 295.15);
}

#[test]
fn a_clock_that_starts_at_the_set_temperature_puts_the_ramp_on_top() {
    let text = WHOLE
        .replace("block_start = \"86C\"", "block_start = \"22C\"")
        .replace("\"insertion\"", "\"at-set\"");
    let timed = parse_heat_schedule("run.toml", &text)
        .unwrap()
        .timed()
        .unwrap();
    let heat = timed.stages[0];
    assert_relative_eq!(heat.ramp_s, 192.0, epsilon = 1e-9);
    assert_relative_eq!(heat.clock_delay_s, 192.0, epsilon = 1e-9);
    assert_eq!(heat.time_s, 420.0);
    assert_relative_eq!(heat.duration_s, 612.0, epsilon = 1e-9);
    assert_relative_eq!(timed.total_s(), 972.0, epsilon = 1e-9);
    assert_relative_eq!(timed.outside_kelvin(611.9), 359.15, epsilon = 1e-9);
    assert_eq!(timed.outside_kelvin(612.1), 295.15);
}

#[test]
fn a_block_at_its_set_temperature_gives_both_clocks_the_same_stages() {
    let at_set = WHOLE.replace("\"insertion\"", "\"at-set\"");
    let by_insertion = parse_heat_schedule("run.toml", WHOLE).unwrap().timed();
    assert_eq!(
        parse_heat_schedule("run.toml", &at_set).unwrap().timed(),
        by_insertion
    );
}

#[test]
fn a_stage_that_ends_within_the_ramp_leaves_the_block_where_it_is_and_says_so() {
    let text = file(
        "block_start = \"20C\"\nramp = \"30K/min\"",
        "set = \"80C\"\ntime = \"1min\"\n[[stage]]\nkind = \"hold\"\nset = \"80C\"\ntime = \"2min\"",
    );
    let timed = parse_heat_schedule("run.toml", &text)
        .unwrap()
        .timed()
        .unwrap();
    // 30 K in the first minute, the other 30 K in the first minute of the hold.
    assert_relative_eq!(timed.stages[0].outside_end_kelvin, 323.15, epsilon = 1e-9);
    assert_relative_eq!(timed.stages[1].outside_start_kelvin, 323.15, epsilon = 1e-9);
    assert_relative_eq!(timed.stages[1].ramp_s, 60.0, epsilon = 1e-9);
    assert_relative_eq!(timed.block_kelvin(90.0), 338.15, epsilon = 1e-9);
    assert!(matches!(
        timed.cautions[..],
        [ScheduleCaution::SetNotReached { stage: 1, reached_kelvin, .. }]
            if (reached_kelvin - 323.15).abs() < 1e-9
    ));
    let said = timed.cautions[0].to_string();
    assert!(said.contains("stage 1") && said.contains("50 °C"), "{said}");
}

#[test]
fn the_outside_is_continuous_along_a_ramp_and_steps_only_between_stages() {
    let text = WHOLE.replace("block_start = \"86C\"", "block_start = \"22C\"");
    let timed = parse_heat_schedule("run.toml", &text)
        .unwrap()
        .timed()
        .unwrap();
    let step_s = 0.5;
    let mut steps = 0;
    for number in 0..1560 {
        let time_s = f64::from(number) * step_s;
        let change = timed.outside_kelvin(time_s + step_s) - timed.outside_kelvin(time_s);
        if change.abs() > step_s / 3.0 + 1e-9 {
            steps += 1;
            assert_eq!(time_s, 419.5);
        }
    }
    assert_eq!(steps, 1);
}

#[test]
fn a_ramp_that_goes_the_other_way_in_a_later_stage_is_told_as_sudden() {
    let text = file(
        "block_start = \"22C\"\nramp = \"20K/min\"",
        "set = \"86C\"\ntime = \"7min\"\n[[stage]]\nkind = \"hold\"\nset = \"60C\"\ntime = \"2min\"",
    );
    let timed = parse_heat_schedule("run.toml", &text)
        .unwrap()
        .timed()
        .unwrap();
    assert_eq!(timed.stages[1].outside_start_kelvin, 333.15);
    assert!(matches!(
        timed.cautions[..],
        [ScheduleCaution::SuddenChange { stage: 2, .. }]
    ));
}

#[test]
fn a_block_may_come_down_to_its_set_temperature() {
    let text = file(
        "block_start = \"95C\"\nramp = \"-3K/min\"",
        "set = \"86C\"\ntime = \"7min\"",
    );
    let schedule = parse_heat_schedule("run.toml", &text).unwrap();
    assert_relative_eq!(schedule.block_kelvin(60.0), 365.15, epsilon = 1e-9);
    assert_relative_eq!(schedule.block_kelvin(180.0), 359.15, epsilon = 1e-9);
}

#[test]
fn rest_in_air_may_come_before_the_block() {
    let text = "start_temp = \"5C\"\nblock_start = \"22C\"\nramp = \"20K/min\"\n[[stage]]\nkind = \"cool\"\nset = \"22C\"\ntime = \"30min\"\n[[stage]]\nkind = \"heat\"\nset = \"86C\"\n";
    let schedule = parse_heat_schedule("run.toml", text).unwrap();
    assert_eq!(schedule.open_stage(), Some(1));
    let timed = schedule.with_heat_time(420.0);
    assert_eq!(timed.stages[1].start_s, 1800.0);
    assert_relative_eq!(timed.block_kelvin(1896.0), 327.15, epsilon = 1e-9);
    assert_eq!(timed.outside_kelvin(900.0), 295.15);
}

#[test]
fn each_refusal_names_line_and_character_and_how_to_mend_it() {
    for (top, stage, says) in [
        (
            "",
            "set = 86",
            "line 5, column 7: set: \"86\" has no unit: write 86C, 359.15K or 186.8F (between quotation marks)",
        ),
        (
            "",
            "set = \"86\"",
            "line 5, column 7: set: \"86\" has no unit",
        ),
        (
            "",
            "set = \"86 min\"",
            "line 5, column 7: set: \"86 min\": \"min\" is not a unit of temperature",
        ),
        (
            "",
            "set = \"86C\"\ntime = \"-7min\"",
            "line 6, column 8: time is negative (-420 s) (give zero or more)",
        ),
        (
            "",
            "set = \"140C\"",
            "line 5, column 7: set is 413.15 K (140 °C) (temperatures lie above 0 K",
        ),
        (
            "",
            "set = \"0K\"",
            "line 5, column 7: set is 0 K (temperatures",
        ),
        (
            "",
            "set = \"86C\"\ntiem = \"7min\"",
            "line 6, column 1: \"tiem\" is not known here (is time meant?)",
        ),
        (
            "",
            "set = \"86C\"\nramp = \"20K/min\"",
            "line 6, column 1: \"ramp\" is not known here (put it above the first [[stage]]",
        ),
        (
            "time = \"7min\"",
            "set = \"86C\"",
            "line 2, column 1: \"time\" is not known here (put it under the [[stage]]",
        ),
        (
            "start = \"22C\"",
            "set = \"86C\"",
            "line 2, column 1: \"start\" is not known here (is start_temp meant?)",
        ),
        (
            "syringe = \"1mL\"",
            "set = \"86C\"",
            "line 2, column 1: \"syringe\" is not known here (known here are start_temp, clock",
        ),
        (
            "clock = \"at_set\"",
            "set = \"86C\"",
            "line 2, column 9: clock is \"at_set\", which is none (is \"at-set\" meant?)",
        ),
        (
            "clock = true",
            "set = \"86C\"",
            "line 2, column 9: clock is \"true or false\"",
        ),
        (
            "ramp = \"20K/min\"",
            "set = \"86C\"",
            "line 2, column 8: ramp is given and block_start is not",
        ),
        (
            "block_start = \"22C\"\nramp = \"0K/min\"",
            "set = \"86C\"",
            "line 3, column 8: a ramp of zero",
        ),
        (
            "block_start = \"22C\"",
            "set = \"86C\"",
            "line 2, column 15: the block starts at 22 °C and is set to 86 °C, and nothing says how fast",
        ),
        (
            "block_start = \"95C\"\nramp = \"20K/min\"",
            "set = \"86C\"",
            "line 3, column 8: from block_start 95 °C this ramp goes up and never reaches",
        ),
        (
            "block_start = \"22C\"\nramp = \"-20K/min\"",
            "set = \"86C\"",
            "line 3, column 8: from block_start 22 °C this ramp goes down and never reaches",
        ),
        (
            "",
            "set = \"86C\"\n[[stage]]\nkind = \"heat\"\nset = \"70C\"",
            "line 6, column 1: stages 1 and 2 both have no time",
        ),
        (
            "",
            "set = \"86C\"\n[[stage]]\nkind = \"cool\"\nset = \"22C\"",
            "line 6, column 1: the cool stage has no time",
        ),
        (
            "",
            "set = \"86C\"\n[[stage]]\nkind = \"coool\"\nset = \"22C\"",
            "line 7, column 8: kind is \"coool\", which is none (is \"cool\" meant?)",
        ),
        (
            "",
            "time = \"7min\"",
            "line 3, column 1: stage 1 has no set (add set = \"86C\")",
        ),
        (
            "",
            "set = [86]",
            "line 5, column 7: set is a list, not a quantity (write set = \"86C\")",
        ),
        ("", "set = 86C", "line 5, column "),
        ("", "set = 86C", "(write set = \"86C\")"),
    ] {
        let faults = faults_of(&file(top, stage));
        assert_eq!(faults.len(), 1, "{top} {stage}: {faults:?}");
        assert!(faults[0].contains(says), "{} should say {says}", faults[0]);
        assert!(
            !faults[0].to_lowercase().contains("invalid"),
            "{}",
            faults[0]
        );
    }
}

#[test]
fn a_schedule_without_what_it_needs_says_what_is_missing() {
    for (text, says) in [
        ("start_temp = \"22C\"\n", "the schedule has no stage"),
        (
            "[[stage]]\nkind = \"heat\"\nset = \"86C\"\n",
            "start_temp is missing",
        ),
        (
            "start_temp = \"22C\"\n[[stage]]\nkind = \"cool\"\nset = \"22C\"\ntime = \"6min\"\n",
            "no stage heats",
        ),
        (
            "start_temp = \"22C\"\n[stage]\nkind = \"heat\"\nset = \"86C\"\n",
            "write [[stage]] with two brackets",
        ),
        (
            "start_temp = \"22C\"\nstage = [\"heat\"]\n",
            "a stage is a text here",
        ),
    ] {
        let faults = faults_of(text);
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].contains(says), "{} should say {says}", faults[0]);
    }
    assert_eq!(faults_of("").len(), 2);
    let twice = file("ramp = \"20K/min\"\nramp = \"30K/min\"", "set = \"86C\"");
    assert!(faults_of(&twice)[0].ends_with("(keep one of them)"));
}

#[test]
fn all_faults_of_a_schedule_are_told_at_once_in_the_order_of_their_lines() {
    let text = "start_temp = 22\nclok = \"at-set\"\nblock_start = \"22\"\n[[stage]]\nkind = \"warm\"\nset = \"500C\"\ntime = \"7 m\"\n[[stage]]\nkind = \"cool\"\nset = \"22C\"\n";
    let faults = faults_of(text);
    let lines: Vec<&str> = faults
        .iter()
        .map(|fault| fault.split(',').next().unwrap())
        .collect();
    assert_eq!(
        lines,
        [
            "line 1", "line 2", "line 3", "line 5", "line 6", "line 7", "line 8"
        ],
        "{faults:#?}"
    );
}

#[test]
fn a_schedule_made_in_memory_is_held_to_the_same_rules() {
    for refused in [
        HeatSchedule::simple(-1.0, 359.15, None),
        HeatSchedule::simple(295.15, 450.0, None),
        HeatSchedule::simple(f64::NAN, 359.15, None),
        HeatSchedule::simple(295.15, 359.15, Some(-1.0)),
        HeatSchedule::simple(295.15, 359.15, Some(f64::INFINITY)),
    ] {
        let error = refused.unwrap_err();
        assert!(
            matches!(&error, ThermalInputError::Schedule { faults } if faults.all().len() == 1),
            "{error}"
        );
    }
    let without_heat = HeatSchedule {
        stages: Vec::new(),
        ..HeatSchedule::simple(295.15, 359.15, None).unwrap()
    };
    assert!(without_heat.checked().is_err());
}

#[test]
fn a_schedule_survives_the_way_through_json() {
    let schedule = parse_heat_schedule("run.toml", WHOLE).unwrap();
    let json = serde_json::to_string(&schedule).unwrap();
    assert!(json.contains("\"start_temp_K\":295.15"), "{json}");
    assert_eq!(
        serde_json::from_str::<HeatSchedule>(&json).unwrap(),
        schedule
    );
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let error = read_heat_schedule(std::path::Path::new("no/such/run.toml")).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("no/such/run.toml cannot be opened")
    );
}

#[test]
fn brackets_without_end_are_refused_and_not_followed_to_the_end_of_the_stack() {
    for text in [
        format!("start_temp = {}", "[".repeat(100_000)),
        format!("start_temp = {}", "{a=".repeat(50_000)),
        format!("{}x = 1", "a.".repeat(50_000)),
    ] {
        assert!(parse_heat_schedule("run.toml", &text).is_err());
    }
}

proptest! {
    /// Whatever text a file holds, it is read or refused, and never called invalid.
    #[test]
    fn no_text_brings_the_reader_down(
        text in "[startempclokhdingu_ =\"\\[\\]{}.,#0-9CKmin\n-]{0,120}",
    ) {
        for whole in [text.clone(), format!("start_temp = \"22C\"\n[[stage]]\n{text}")] {
            if let Err(error) = parse_heat_schedule("run.toml", &whole) {
                prop_assert!(!error.to_string().contains("invalid"), "{error}");
            }
        }
    }

    /// Stages follow each other without gap, the longer clock is at-set by exactly its ramps, and
    /// the outside never leaves the range of the temperatures named.
    #[test]
    fn stages_lie_end_to_end_whatever_the_schedule(
        block in 280.0..300.0_f64,
        ramp in 0.05..2.0_f64,
        stages in prop::collection::vec((0..3_u8, 300.0..372.0_f64, 0.0..900.0_f64), 1..6),
    ) {
        let mut schedule = HeatSchedule {
            start_kelvin: 295.15,
            clock: ScheduleClock::Insertion,
            block_start_kelvin: Some(block),
            ramp_kelvin_per_s: Some(ramp),
            stages: stages
                .iter()
                .map(|(kind, set_kelvin, time_s)| ScheduleStage {
                    kind: [StageKind::Heat, StageKind::Hold, StageKind::Cool][usize::from(*kind)],
                    set_kelvin: *set_kelvin,
                    time_s: Some(*time_s),
                })
                .collect(),
        };
        schedule.stages[0].kind = StageKind::Heat;
        let schedule = schedule.checked().unwrap();
        let timed = schedule.timed().unwrap();
        let mut end_s = 0.0;
        for (stage, plan) in timed.stages.iter().zip(&schedule.stages) {
            prop_assert_eq!(stage.start_s, end_s);
            prop_assert_eq!(Some(stage.duration_s), plan.time_s);
            end_s = stage.end_s();
        }
        prop_assert!((timed.total_s() - schedule.stages.iter().filter_map(|s| s.time_s).sum::<f64>()).abs() < 1e-9);
        for step in 0..200 {
            let outside = timed.outside_kelvin(f64::from(step) * timed.total_s() / 199.0);
            prop_assert!(outside >= block - 1e-9 && outside <= 372.0);
        }
        let at_set = HeatSchedule { clock: ScheduleClock::AtSet, ..schedule }.timed().unwrap();
        let ramps: f64 = at_set.stages.iter().map(|stage| stage.ramp_s).sum();
        prop_assert!((at_set.total_s() - timed.total_s() - ramps).abs() < 1e-6);
        let reached = !at_set
            .cautions
            .iter()
            .any(|caution| matches!(caution, ScheduleCaution::SetNotReached { .. }));
        prop_assert!(reached, "a clock that starts at the set temperature always reaches it");
    }
}
