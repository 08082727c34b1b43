//! Text from a file, checked for size and for being text at all.

use std::io::Read;
use std::path::Path;

use super::input_error::{InputFault, InputFaults, ThermalInputError};

/// The text of a file, without byte-order mark.
pub(crate) fn read_text(
    path: &Path,
    kind: &'static str,
    largest_bytes: u64,
) -> Result<String, ThermalInputError> {
    let file = path.display().to_string();
    let unreadable = |error: std::io::Error| ThermalInputError::Unreadable {
        file: file.clone(),
        reason: error.to_string(),
    };
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .map_err(unreadable)?
        .take(largest_bytes + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    if bytes.len() as u64 > largest_bytes {
        return Err(ThermalInputError::TooLarge {
            file,
            kind,
            largest_bytes,
        });
    }
    text_of(&file, bytes)
}

/// Bytes as text; what is not UTF-8 is refused with its line.
pub(crate) fn text_of(file: &str, bytes: Vec<u8>) -> Result<String, ThermalInputError> {
    let refuse = |at: usize, bytes: &[u8], message: &str| {
        let before = bytes.get(..at).unwrap_or(bytes);
        let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
        let mut faults = InputFaults::default();
        faults.push(InputFault::at(
            line,
            None,
            message,
            Some("save the file as UTF-8".to_owned()),
        ));
        ThermalInputError::Faults {
            file: file.to_owned(),
            faults,
        }
    };
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(refuse(0, &bytes, "the text is UTF-16, not UTF-8"));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        refuse(
            at,
            error.as_bytes(),
            "a byte stands here that is no letter of UTF-8",
        )
    })?;
    if let Some(at) = text.find('\0') {
        return Err(refuse(
            at,
            text.as_bytes(),
            "a zero byte stands here, which no text has",
        ));
    }
    Ok(match text.strip_prefix('\u{feff}') {
        Some(rest) => rest.to_owned(),
        None => text,
    })
}
