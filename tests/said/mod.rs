//! Runs the binary as a person or a script runs it.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use assert_cmd::Command;
use serde_json::Value;

/// What a command said.
pub struct Said {
    /// Exit status.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub talk: String,
}

pub fn heatset(arguments: &[&str]) -> Said {
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .args(arguments)
        .output()
        .unwrap();
    Said {
        code: output.status.code().expect("the command ends by itself"),
        out: String::from_utf8(output.stdout).unwrap(),
        talk: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A command line written as people write it, without blanks inside its values.
pub fn line(command: &str) -> Said {
    heatset(&command.split_whitespace().collect::<Vec<_>>())
}

pub fn served(command: &str) -> String {
    let said = line(command);
    assert_eq!(said.code, 0, "{command}: {}", said.talk);
    said.out
}

/// The one document on standard output.
pub fn document(command: &str) -> Value {
    serde_json::from_str(&served(&format!("{command} --json"))).expect("one JSON document")
}

/// What a command that is not served says; nothing goes to standard output.
pub fn refused(command: &str, code: i32) -> String {
    let said = line(command);
    assert_eq!(said.code, code, "{command}: {}{}", said.out, said.talk);
    assert_eq!(said.out, "", "{command}");
    for never in [
        "invalid input",
        "something went wrong",
        "panicked",
        "error: error",
    ] {
        assert!(!said.talk.contains(never), "{command}: {}", said.talk);
    }
    said.talk
}

pub fn number(document: &Value, key: &str) -> f64 {
    document[key]
        .as_f64()
        .unwrap_or_else(|| panic!("no number {key} in {document:#}"))
}
