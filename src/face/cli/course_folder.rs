//! A folder written whole or not at all.

use super::CliError;
use std::path::{Path, PathBuf};

/// A file to be, in memory.
pub(super) struct CourseFile {
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

/// Refuses a folder that is there and shall stay, and one with anything in it that is no course's.
pub(super) fn check_folder(folder: &Path, replace: bool) -> Result<(), CliError> {
    let shown = folder.display().to_string();
    if !folder.exists() {
        return Ok(());
    }
    if !folder.is_dir() {
        return Err(CliError::question(format!(
            "{shown} is a file, and a course is a folder.\nWhat helps: another name with --out"
        )));
    }
    if !replace {
        return Err(CliError::FileExists { file: shown });
    }
    let entries = std::fs::read_dir(folder).map_err(|error| not_written(folder, &error))?;
    let mut others = Vec::new();
    for entry in entries {
        let entry = entry.map_err(|error| not_written(folder, &error))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.path().is_dir() || !is_of_course(&name) {
            others.push(name);
        }
    }
    others.sort();
    match others.as_slice() {
        [] => Ok(()),
        [first, rest @ ..] => Err(CliError::question(format!(
            "{shown} holds what is no part of a course ({first}{}), so it was left as it is.\nWhat helps: another folder with --out",
            match rest.len() {
                0 => String::new(),
                n => format!(" and {n} more"),
            }
        ))),
    }
}

/// Whether a file's name is one that a course has.
fn is_of_course(name: &str) -> bool {
    let Some((stem, ending)) = name.rsplit_once('.') else {
        return false;
    };
    let page =
        matches!(stem, "predict-then-measure" | "answers") && matches!(ending, "html" | "csv");
    let slide = matches!(ending, "png" | "svg")
        && stem.len() > 3
        && stem.bytes().take(2).all(|b| b.is_ascii_digit())
        && stem.as_bytes().get(2) == Some(&b'-');
    name == "index.html" || page || slide
}

/// Writes all files to a temporary folder beside the one to be, then renames it.
pub(super) fn write_folder(
    folder: &Path,
    files: &[CourseFile],
    replace: bool,
) -> Result<(), CliError> {
    check_folder(folder, replace)?;
    let beside = match folder.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    };
    let fault = |error: &std::io::Error| not_written(folder, error);
    let made = tempfile::Builder::new()
        .prefix(".heatset-")
        .tempdir_in(&beside)
        .map_err(|e| fault(&e))?;
    let whole = made.path().join("course");
    std::fs::create_dir(&whole).map_err(|e| fault(&e))?;
    for file in files {
        std::fs::write(whole.join(&file.name), &file.bytes).map_err(|e| fault(&e))?;
    }
    if !folder.exists() {
        return std::fs::rename(&whole, folder).map_err(|e| fault(&e));
    }
    // The old one steps aside first, and comes back if the new one cannot take its place.
    let old = made.path().join("before");
    std::fs::rename(folder, &old).map_err(|e| fault(&e))?;
    std::fs::rename(&whole, folder).map_err(|error| {
        let _ = std::fs::rename(&old, folder);
        fault(&error)
    })
}

fn not_written(folder: &Path, error: &std::io::Error) -> CliError {
    CliError::NotWritten {
        file: folder.display().to_string(),
        reason: error.to_string(),
    }
}
