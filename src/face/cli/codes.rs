//! Codes in a table that is only read: what reads as a person is refused here too.

use super::CliError;

/// Refuses what reads as a person: the rule of the log, applied to a column of a table.
#[cfg(feature = "batches")]
pub(super) fn check<'a>(
    what: &'static str,
    codes: impl Iterator<Item = &'a str>,
) -> Result<(), CliError> {
    let mut seen: Vec<&str> = Vec::new();
    for code in codes {
        if !seen.contains(&code) {
            crate::batches::code(what, code)?;
            seen.push(code);
        }
    }
    Ok(())
}

/// Without the log there is no rule to apply but the sheet's, which is for lots.
#[cfg(not(feature = "batches"))]
pub(super) fn check<'a>(
    what: &'static str,
    codes: impl Iterator<Item = &'a str>,
) -> Result<(), CliError> {
    for code in codes {
        if code.contains('@') || code.split_whitespace().count() > 1 {
            return Err(CliError::question(format!(
                "The {what} reads as a person.\nWhat helps: a code such as C-17"
            )));
        }
    }
    Ok(())
}
