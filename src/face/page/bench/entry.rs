//! The ways in: a file, pasted text, a grid, the invented example; and what is here already.

use super::columns::BLANK;
use super::fits::Progress;
use super::posted::{Posted, pairs, typed_name};
use super::table_view::{GridShown, grid_markup};
use super::tables::{KeptTable, MOST_ROWS};
use crate::face::demo_bench::{BENCH, BENCH_FILE};
use crate::face::page::problem::PageError;
use crate::face::page::query::Asked;
use crate::face::page::routes::LARGEST_WORDS;
use crate::face::page::shell::{self, Room};
use crate::face::page::state::Shared;
use axum::body::Bytes;
use axum::extract::multipart::MultipartRejection;
use axum::extract::rejection::BytesRejection;
use axum::extract::{Multipart, State};
use axum::response::Redirect;
use maud::{Markup, html};

/// Blank rows of the grid, as many as can be filled without script.
const BLANK_ROWS: usize = 24;

/// The way in.
pub(super) async fn entry(State(state): State<Shared>, asked: Asked) -> Markup {
    let header: Vec<String> = BLANK.iter().map(|name| (*name).to_owned()).collect();
    let body = html! {
        h1 { "What do my readings say?" }
        p.lead { "Hand over a bench table, see what it holds and what is wrong with it, fit it, and keep the calibration that answers stand on. One row a reading: heat temperature, heat time, and what was read." }
        form.bench method="post" action=(asked.to("/bench/table", &[])) enctype="multipart/form-data"
            data-drop="" data-keep="bench" data-send-file="" {
            fieldset {
                legend { "A file" }
                div.pairs {
                    label.field {
                        span { "Choose a file, or drop one here" }
                        input type="file" name="file" multiple aria-describedby="file-limits"
                            accept=".csv,.tsv,.txt,.parquet,.xlsx,text/csv,text/tab-separated-values";
                    }
                    button type="submit" name="read" value="file" { "Read the file" }
                }
                p.hint id="file-limits" {
                    "CSV, TSV, semicolons, Parquet or XLSX; several files make one table. At most "
                    (LARGEST_WORDS) " in all and " (with_blanks(MOST_ROWS))
                    " rows; more with 'heatset fit' on the command line."
                }
                p.beside {
                    button.quiet type="submit" name="read" value="example" { "An example table" }
                    a href="/bench/template.xlsx" download { "A blank workbook, every column explained" }
                    a href="/bench/template.csv" download { "The same as CSV" }
                }
            }
            fieldset {
                legend { "Paste text" }
                label.field.broad {
                    span { "Rows with their header, as a spreadsheet copies them" }
                    textarea name="text" rows="6" spellcheck="false" autocomplete="off"
                        placeholder="heat_temp_C,heat_time_min,viscosity_mPa_s" {}
                }
                div.pairs {
                    label.field {
                        span { "Name of the table" }
                        input type="text" name="name" autocomplete="off" placeholder="bench.csv";
                    }
                    button type="submit" name="read" value="text" { "Read the text" }
                }
            }
            fieldset {
                legend { "Type it in" }
                (grid_markup(&GridShown {
                    header: &header,
                    rows: &[],
                    marks: &[],
                    blank_rows: BLANK_ROWS,
                    decimal_comma: false,
                    invented: false,
                }))
                button type="submit" name="read" value="grid" { "Read the grid" }
            }
        }
        (here_already(&state, &asked))
        script src="/bench/bench.js" defer {}
    };
    shell::page(Room::Bench, "Bench", &asked, None, &body)
}

/// Tables and fits that the page still keeps.
fn here_already(state: &Shared, asked: &Asked) -> Markup {
    let tables = state.bench.tables.all();
    let fits = state.bench.fits.all();
    html! {
        @if !tables.is_empty() {
            section.kept {
                h2 { "Here already" }
                p.hint { "The last few, as long as this page runs." }
                ul {
                    @for fit in &fits {
                        li {
                            a href=(asked.to(&format!("/bench/fit/{}", fit.code), &[])) { "Fit of " (fit.table_name) }
                            @match fit.progress() {
                                Progress::Fitted { .. } => {},
                                Progress::Refused { .. } | Progress::Ended => { ": no calibration" },
                                Progress::Waiting | Progress::Fitting { .. } => { ": not ended yet" },
                            }
                        }
                    }
                    @for table in &tables {
                        li {
                            a href=(asked.to(&format!("/bench/table/{}", table.code), &[])) { "Table " (table.name()) }
                            @if table.outcome.is_err() { ": cannot be read yet" }
                        }
                    }
                }
            }
        }
    }
}

/// Takes a table by any of the ways, keeps it, and leads to its address.
pub(super) async fn take(
    State(state): State<Shared>,
    asked: Asked,
    form: Result<Multipart, MultipartRejection>,
) -> Result<Redirect, PageError> {
    let posted = Posted::read(form).await?;
    let parts = parts_of(posted)?;
    let table = state
        .work
        .read(asked.shown(), move || KeptTable::of(parts, None))
        .await?;
    let table = state.bench.tables.put(table);
    Ok(Redirect::to(
        &asked.to(&format!("/bench/table/{}", table.code), &[]),
    ))
}

/// Takes another worksheet of a workbook that is here already.
pub(super) async fn worksheet(
    State(state): State<Shared>,
    asked: Asked,
    body: Result<Bytes, BytesRejection>,
) -> Result<Redirect, PageError> {
    let typed = pairs(body)?;
    let field = |name: &str| {
        let found = typed.iter().find(|(key, _)| key == name);
        found.map_or("", |(_, value)| value.as_str())
    };
    let kept = state.bench.tables.find(field("table"))?;
    let named = field("worksheet").to_owned();
    let table = state
        .work
        .read(asked.shown(), move || {
            KeptTable::of(kept.parts.clone(), Some(named))
        })
        .await?;
    let table = state.bench.tables.put(table);
    Ok(Redirect::to(
        &asked.to(&format!("/bench/table/{}", table.code), &[]),
    ))
}

/// Name and bytes of what was sent, by the button that was pressed; where none was, whatever there is.
fn parts_of(posted: Posted) -> Result<Vec<(String, Vec<u8>)>, PageError> {
    let has_text = !posted.text.trim().is_empty();
    let way = posted
        .way
        .as_deref()
        .unwrap_or(if !posted.files.is_empty() {
            "file"
        } else if has_text {
            "text"
        } else {
            "grid"
        });
    let nothing = |what: &str, helps: &str| {
        Err(PageError::words(format!(
            "{what}\nWhat helps: {helps}, then send it; what was typed is still there when you go back"
        )))
    };
    match way {
        "example" => Ok(vec![(BENCH_FILE.to_owned(), BENCH.as_bytes().to_vec())]),
        "file" if posted.files.is_empty() => {
            nothing("No file came along.", "choose one or drop it on the page")
        }
        "file" => Ok(posted.files),
        "text" if !has_text => nothing("No text came along.", "paste the rows with their header"),
        "text" => Ok(vec![(typed_name(&posted.name), posted.text.into_bytes())]),
        "grid" if !posted.grid.is_filled() => nothing("The grid is empty.", "type a row"),
        "grid" => Ok(vec![(
            typed_name(&posted.name),
            posted.grid.to_text().into_bytes(),
        )]),
        _ => nothing("There is no such way in.", "use the buttons of the page"),
    }
}

/// 1000000 as '1 000 000'.
pub(super) fn with_blanks(number: usize) -> String {
    let digits = number.to_string();
    let first = digits.len() % 3;
    let mut words = digits.get(..first).unwrap_or_default().to_owned();
    for group in digits.as_bytes().get(first..).unwrap_or_default().chunks(3) {
        if !words.is_empty() {
            words.push('\u{a0}');
        }
        words.extend(group.iter().map(|digit| char::from(*digit)));
    }
    words
}

#[cfg(test)]
mod tests {
    #[test]
    fn thousands_are_set_apart() {
        for (number, words) in [
            (7, "7"),
            (1000, "1\u{a0}000"),
            (1_000_000, "1\u{a0}000\u{a0}000"),
        ] {
            assert_eq!(super::with_blanks(number), words);
        }
    }
}
