//! What a form brought: typed fields, a grid, files.

use super::grid::Grid;
use crate::face::page::problem::PageError;
use crate::face::page::routes::LARGEST_WORDS;
use crate::face::page::shelf::plain_name;
use axum::body::Bytes;
use axum::extract::Multipart;
use axum::extract::multipart::{MultipartError, MultipartRejection};
use axum::extract::rejection::BytesRejection;
use axum::http::StatusCode;

/// How many files make one table at most.
const MOST_FILES: usize = 40;
/// How many fields of a form are looked at.
const MOST_FIELDS: usize = 100_000;

/// What the form of the way in brought.
#[derive(Debug, Default)]
pub(super) struct Posted {
    /// Which button was pressed.
    pub(super) way: Option<String>,
    /// Name for a table that has no file.
    pub(super) name: String,
    /// Pasted text.
    pub(super) text: String,
    /// The grid.
    pub(super) grid: Grid,
    /// Name and bytes of each file.
    pub(super) files: Vec<(String, Vec<u8>)>,
}

impl Posted {
    /// Reads the form.
    ///
    /// # Errors
    /// A body that is no form, over the limit, or ended early; too many files.
    pub(super) async fn read(
        form: Result<Multipart, MultipartRejection>,
    ) -> Result<Self, PageError> {
        let mut form = form.map_err(|_| no_form())?;
        let mut posted = Self::default();
        for _ in 0..MOST_FIELDS {
            let Some(field) = form.next_field().await.map_err(not_read)? else {
                return Ok(posted);
            };
            let name = field.name().unwrap_or_default().to_owned();
            if name == "file" {
                let file = plain_file_name(field.file_name().unwrap_or_default());
                let bytes = field.bytes().await.map_err(not_read)?;
                // A file field that nobody used comes along empty and without a name.
                if let Some(file) = file.or((!bytes.is_empty()).then(|| "table".to_owned())) {
                    if posted.files.len() >= MOST_FILES {
                        return Err(PageError::words(format!(
                            "More than {MOST_FILES} files came at once.\nWhat helps: send fewer, or fit them with 'heatset fit' on the command line"
                        )));
                    }
                    posted.files.push((file, bytes.to_vec()));
                }
                continue;
            }
            let bytes = field.bytes().await.map_err(not_read)?;
            let value = String::from_utf8_lossy(&bytes).into_owned();
            match name.as_str() {
                "read" => posted.way = Some(value),
                "name" => posted.name = value,
                "text" => posted.text = value,
                "decimal" => posted.grid.decimal_comma = value == "comma",
                "invented" => posted.grid.invented = value == "yes",
                name => {
                    posted.grid.take(name, &value);
                }
            }
        }
        Err(PageError::words(
            "The form has too many fields.\nWhat helps: send the table as a file",
        ))
    }
}

/// A file's name without folders; none where it has none.
fn plain_file_name(name: &str) -> Option<String> {
    (!name.trim().is_empty()).then(|| plain_name(name))
}

/// Name of a table that has no file: as typed, a text table by its ending.
pub(super) fn typed_name(name: &str) -> String {
    let name = plain_file_name(name).unwrap_or_else(|| "bench.csv".to_owned());
    let lower = name.to_lowercase();
    // The ending says how the bytes are read, and these are text.
    if [".csv", ".tsv", ".txt"]
        .iter()
        .any(|end| lower.ends_with(end))
    {
        name
    } else {
        format!("{name}.csv")
    }
}

/// The pairs of a form without files.
///
/// # Errors
/// A body over the limit or cut off.
pub(super) fn pairs(
    body: Result<Bytes, BytesRejection>,
) -> Result<Vec<(String, String)>, PageError> {
    let body = body.map_err(|error| {
        if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
            PageError::TooLarge {
                limit: LARGEST_WORDS,
            }
        } else {
            no_form()
        }
    })?;
    Ok(form_urlencoded::parse(&body).into_owned().collect())
}

fn no_form() -> PageError {
    PageError::words("What was sent ended early or is no form.\nWhat helps: send it again")
}

fn not_read(error: MultipartError) -> PageError {
    if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
        PageError::TooLarge {
            limit: LARGEST_WORDS,
        }
    } else {
        no_form()
    }
}
