//! The written commands run as written: every `sh` block of README.md and of the texts beside
//! the data is run in order in an empty folder that holds a copy of `data/`, and every `text`
//! block that follows one must be what was printed. A line of dots, `...`, leaves lines out. A `toml`
//! or `csv` block that begins with the name of a file, `# heatset-demo/...`, is that file.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeSet;
use std::path::Path;

use assert_cmd::Command;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// What the program is called by, in the order in which a newcomer meets it.
const WAYS_TO_CALL: [&str; 2] = ["cargo run --release -- ", "heatset "];

/// Commands that build, test, fetch or go on until they are stopped: a test cannot run them inside
/// itself, and CI does.
const NOT_RUN_HERE: [&str; 8] = [
    "git clone ",
    "cd heatset",
    "cargo test",
    "cargo install --path . --locked",
    "cargo run --example make-demo-bench",
    "cargo run --example make-needle-bench",
    "cargo bench",
    "heatset page",
];

/// Options of cargo, jupyter and our own checks that the texts name.
const OPTIONS_OF_OTHERS: [&str; 16] = [
    "--all-targets",
    "--bench",
    "--doc",
    "--example",
    "--features",
    "--execute",
    "--inplace",
    "--install",
    "--lib",
    "--locked",
    "--no-default-features",
    "--path",
    "--release",
    "--test",
    "--to",
    "--write",
];

struct Block {
    language: String,
    line: usize,
    lines: Vec<String>,
}

fn text_of(file: &str) -> String {
    std::fs::read_to_string(Path::new(ROOT).join(file)).unwrap_or_else(|e| panic!("{file}: {e}"))
}

fn blocks(text: &str) -> Vec<Block> {
    let mut found = Vec::new();
    let mut open: Option<Block> = None;
    for (number, line) in text.lines().enumerate() {
        match (line.strip_prefix("```"), open.take()) {
            (Some(_), Some(block)) => found.push(block),
            (Some(language), None) => {
                open = Some(Block {
                    language: language.trim().to_owned(),
                    line: number + 1,
                    lines: Vec::new(),
                });
            }
            (None, Some(mut block)) => {
                block.lines.push(line.to_owned());
                open = Some(block);
            }
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "a block is not closed");
    found
}

fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// Words of a command line; single and double quotes hold words together.
fn words(command: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut word = String::new();
    let mut quote = None;
    for letter in command.chars() {
        match (quote, letter) {
            (Some(q), l) if l == q => quote = None,
            (None, '\'' | '"') => quote = Some(letter),
            (None, ' ') if word.is_empty() => {}
            (None, ' ') => found.push(std::mem::take(&mut word)),
            _ => word.push(letter),
        }
    }
    if !word.is_empty() {
        found.push(word);
    }
    found
}

/// Runs the commands of a text in order; what each printed must be what the text shows.
fn run_text(file: &str) {
    let folder = tempfile::tempdir().unwrap();
    copy_folder(&Path::new(ROOT).join("data"), &folder.path().join("data"));
    std::fs::create_dir_all(folder.path().join("shared/pictures")).unwrap();
    let mut printed = String::new();
    let mut ran = 0;
    for block in blocks(&text_of(file)) {
        let place = format!("{file}, block at line {}", block.line);
        match block.language.as_str() {
            "sh" => {
                printed.clear();
                for line in &block.lines {
                    ran += usize::from(run_line(line, folder.path(), &mut printed, &place));
                }
            }
            "text" if !printed.is_empty() => must_show(&block, &printed, &place),
            "toml" | "csv" => write_named(&block, folder.path()),
            _ => {}
        }
    }
    assert!(ran > 0, "{file} runs nothing");
}

/// A block whose first line names a file of the demo's folder is that file.
fn write_named(block: &Block, folder: &Path) {
    let name = block.lines.first().and_then(|line| line.strip_prefix("# "));
    if let Some(name) = name.filter(|name| name.starts_with("heatset-demo/")) {
        std::fs::write(folder.join(name), block.lines.join("\n") + "\n").unwrap();
    }
}

/// Runs one line, adding what it prints; false for a line that is not run here.
fn run_line(line: &str, folder: &Path, printed: &mut String, place: &str) -> bool {
    let command = line.split(" # ").next().unwrap_or_default().trim();
    if command.is_empty() || command.starts_with('#') {
        return false;
    }
    if let Some(script) = command.strip_prefix(".ci/") {
        assert!(
            Path::new(ROOT).join(".ci").join(script).is_file(),
            "{place}: there is no .ci/{script}"
        );
        return false;
    }
    if NOT_RUN_HERE.iter().any(|known| command.starts_with(known)) {
        return false;
    }
    let Some(arguments) = WAYS_TO_CALL
        .iter()
        .find_map(|way| command.strip_prefix(way))
    else {
        panic!("{place}: '{command}' is neither run nor known");
    };
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder)
        .args(words(arguments))
        .output()
        .unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    let talk = String::from_utf8(output.stderr).unwrap();
    // A comment that says 'refused' announces exit status 1.
    let expected = i32::from(line.contains("# refused"));
    assert_eq!(
        output.status.code(),
        Some(expected),
        "{place}: {command}\n{out}{talk}"
    );
    printed.push_str(&talk);
    printed.push_str(&out);
    true
}

/// Every line of the block stands in what was printed, in order; lines may be left out only at
/// a line of dots, and before the first and after the last.
fn must_show(block: &Block, printed: &str, place: &str) {
    let lines: Vec<&str> = printed.lines().map(str::trim_end).collect();
    let mut at = 0;
    let mut may_skip = true;
    for shown in block.lines.iter().map(|line| line.trim_end()) {
        if shown.trim() == "..." {
            may_skip = true;
            continue;
        }
        let found = if may_skip {
            lines[at..].iter().position(|line| *line == shown)
        } else {
            (lines.get(at) == Some(&shown)).then_some(0)
        };
        let Some(offset) = found else {
            panic!("{place} shows\n  {shown}\nwhich was not printed there; printed:\n{printed}")
        };
        at += offset + 1;
        may_skip = false;
    }
}

#[test]
fn the_readme_runs_as_written_and_shows_what_is_printed() {
    run_text("README.md");
}

#[test]
fn the_commands_for_developers_run_as_written() {
    run_text("DEVELOPERS.md");
}

#[test]
fn the_published_readings_are_fitted_by_the_commands_beside_them() {
    run_text("data/published/README.md");
}

/// Pages that are worked through once, command by command.
const PAGES: [&str; 1] = ["shared/pages/kitchen_scale_and_stopwatch.md"];

#[test]
fn the_worked_pages_run_as_written_and_show_what_is_printed() {
    for page in PAGES {
        run_text(page);
    }
}

/// Options that some command knows, from its own help.
fn known_options() -> BTreeSet<String> {
    let help = |arguments: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
            .args(arguments)
            .output()
            .unwrap();
        assert!(output.status.success(), "{arguments:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let first = help(&["--help"]);
    let commands = commands_in(&first);
    assert!(commands.contains(&"fit"), "{first}");
    let mut options = options_in(&first);
    for command in commands {
        let own = help(&[command, "--help"]);
        options.extend(options_in(&own));
        // A command may have commands of its own: `batches add`.
        for below in commands_in(&own) {
            options.extend(options_in(&help(&[command, below, "--help"])));
        }
    }
    options
}

/// The commands that a help lists.
fn commands_in(help: &str) -> Vec<&str> {
    help.lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| line.starts_with("  "))
        // What a command does may go on in a line of its own, further in.
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect()
}

/// `--words` in a text.
fn options_in(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'))
        .filter(|word| word.len() > 2 && word.starts_with("--") && !word.starts_with("---"))
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_option_that_the_texts_name_is_in_a_commands_help() {
    let mut known = known_options();
    known.extend(OPTIONS_OF_OTHERS.iter().map(|option| (*option).to_owned()));
    for file in [
        "README.md",
        "DEVELOPERS.md",
        "data/README.md",
        "data/published/README.md",
        PAGES[0],
    ] {
        let unknown: Vec<String> = options_in(&text_of(file))
            .difference(&known)
            .cloned()
            .collect();
        assert!(
            unknown.is_empty(),
            "{file} names options that no help knows: {unknown:?}"
        );
    }
}

/// A link or picture to a file of the project leads somewhere.
#[test]
fn every_file_that_the_texts_link_to_is_there() {
    for file in [
        "README.md",
        "DEVELOPERS.md",
        "data/README.md",
        "data/published/README.md",
        PAGES[0],
    ] {
        let text = text_of(file);
        let beside = Path::new(ROOT).join(file);
        for target in text
            .split("](")
            .skip(1)
            .filter_map(|rest| rest.split(')').next())
            .filter(|target| !target.starts_with("http") && !target.starts_with('#'))
        {
            assert!(
                beside.parent().unwrap().join(target).exists(),
                "{file} links to {target}, which is not there"
            );
        }
    }
}
