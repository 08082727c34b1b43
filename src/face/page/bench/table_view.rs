//! A table: what it holds and the choices of a fit, or what is wrong with it, cell by cell.

use super::cells::{Mark, Place};
use super::choices::Choices;
use super::choices_form::ChoicesForm;
use super::columns::{GROUPS, words_of};
use super::entry::with_blanks;
use super::fits::stem;
use super::grid::{MOST_COLUMNS, cell_name, header_name};
use super::page_words::here;
use super::tables::{KeptTable, Read, faults_of};
use super::written::{Cells, Excerpt, Written};
use crate::face::page::problem::PageError;
use crate::face::page::query::Asked;
use crate::face::page::shell::{self, INVENTED, Room};
use crate::face::page::state::Shared;
use crate::readings::{FaultList, LARGEST_ROWS, ReadingsError, TableAsWritten};
use crate::units::display;
use axum::extract::{Path, State};
use maud::{Markup, html};
use sha2::{Digest, Sha256};

/// The most cells that a grid is shown to be changed with.
const MOST_CELLS: usize = 30_000;
/// Blank rows under those of a table.
const BLANK_ROWS: usize = 4;

/// A table by its code.
pub(super) async fn table(
    State(state): State<Shared>,
    Path(code): Path<String>,
    asked: Asked,
) -> Result<Markup, PageError> {
    let kept = state.bench.tables.find(&code)?;
    let seed = state.seed;
    let shown = asked.shown();
    state
        .work
        .answer(shown, move || match &kept.outcome {
            Ok(read) => readable(&asked, &kept, read, seed),
            Err(error) => unreadable(&asked, &kept, error),
        })
        .await
}

/// A grid as it is shown.
pub(super) struct GridShown<'a> {
    /// Its headers.
    pub(super) header: &'a [String],
    /// Line and cells of each row.
    pub(super) rows: &'a [(usize, Vec<String>)],
    /// What is wrong, with its places.
    pub(super) marks: &'a [Mark],
    /// Blank rows under them.
    pub(super) blank_rows: usize,
    /// Whether numbers have a decimal comma.
    pub(super) decimal_comma: bool,
    /// Whether the table says that it is invented.
    pub(super) invented: bool,
}

/// A grid to type into.
pub(super) fn grid_markup(grid: &GridShown<'_>) -> Markup {
    let longest = grid.rows.iter().map(|(_, cells)| cells.len()).max();
    let width = grid.header.len().max(longest.unwrap_or(0)).max(1);
    let at = |place: Place| -> Vec<&str> {
        grid.marks
            .iter()
            .filter(|mark| mark.place == place)
            .map(|mark| mark.at_place.as_str())
            .collect()
    };
    html! {
        @if grid.invented { input type="hidden" name="invented" value="yes"; }
        label.field.decimal {
            span { "Numbers are written with a" }
            select name="decimal" {
                option value="point" { "decimal point: 1.5" }
                option value="comma" selected[grid.decimal_comma] { "decimal comma: 1,5" }
            }
        }
        div.wide role="region" aria-label="Grid of readings" tabindex="0" {
            table.grid data-grid="" {
                thead {
                    tr {
                        th scope="col" { "Line" }
                        @for column in 0..width {
                            th scope="col" { (header_cell(grid, column, &at(Place::Header(column)))) }
                        }
                    }
                }
                tbody {
                    @for row in 0..grid.rows.len() + grid.blank_rows {
                        @let written = grid.rows.get(row);
                        @let of_row = at(Place::Row(row));
                        tr {
                            th scope="row" id={ "r-" (row) } {
                                (line_of(grid, row))
                                (wrong(&format!("w-r-{row}"), &of_row))
                            }
                            @for column in 0..width {
                                @let name = cell_name(row, column);
                                @let faults = at(Place::Cell(row, column));
                                @let faulty = !faults.is_empty();
                                td {
                                    input type="text" name=(name) id=(name) autocomplete="off" spellcheck="false"
                                        value=(written.and_then(|(_, cells)| cells.get(column)).map_or("", String::as_str))
                                        aria-label=(cell_label(grid, row, column))
                                        aria-invalid=[faulty.then_some("true")]
                                        aria-describedby=[faulty.then(|| format!("w-{name}"))];
                                    (wrong(&format!("w-{name}"), &faults))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Line of a row; blank rows go on where the table ends.
fn line_of(grid: &GridShown<'_>, row: usize) -> usize {
    match (grid.rows.get(row), grid.rows.last()) {
        (Some((line, _)), _) => *line,
        (None, Some((last, _))) => last + row + 1 - grid.rows.len(),
        (None, None) => row + 1,
    }
}

fn cell_label(grid: &GridShown<'_>, row: usize, column: usize) -> String {
    let line = line_of(grid, row);
    match grid.header.get(column).filter(|name| !name.is_empty()) {
        Some(header) => format!("line {line}, {}", words_of(header).unwrap_or(header)),
        None => format!("line {line}, column {}", column + 1),
    }
}

fn header_cell(grid: &GridShown<'_>, column: usize, faults: &[&str]) -> Markup {
    let name = header_name(column);
    let typed = grid.header.get(column).map_or("", String::as_str);
    let faulty = !faults.is_empty();
    html! {
        select name=(name) id=(name) aria-label={ "What column " (column + 1) " is" }
            aria-invalid=[faulty.then_some("true")]
            aria-describedby=[faulty.then(|| format!("w-{name}"))] {
            option value="" { "no column" }
            // A column that nobody here knows stays what it is: a note, or a fault to be mended.
            @if !typed.is_empty() && words_of(typed).is_none() {
                option value=(typed) selected { (typed) }
            }
            @for (group, columns) in GROUPS {
                optgroup label=(group) {
                    @for (header, words) in columns {
                        option value=(header) selected[*header == typed] { (words) }
                    }
                }
            }
        }
        (wrong(&format!("w-{name}"), faults))
    }
}

fn wrong(id: &str, faults: &[&str]) -> Markup {
    html! {
        @if !faults.is_empty() {
            span.wrong id=(id) {
                @for (place, fault) in faults.iter().enumerate() {
                    @if place > 0 { br; }
                    (in_a_grid(&here(fault)))
                }
            }
        }
    }
}

/// The reader knows files; a grid chooses its decimal comma above itself.
fn in_a_grid(fault: &str) -> String {
    fault.replace(
        "then separate with semicolons",
        "then say so above the grid",
    )
}

/// A table that can be read.
fn readable(asked: &Asked, kept: &KeptTable, read: &Read, seed: u64) -> Markup {
    let choices = Choices::of(|key| asked.get(key));
    let faults = choices.options(&read.table, seed).err().unwrap_or_default();
    // What was typed here is kept for this table, and for the choices that an address brings along.
    let typed = format!("{:?}", choices.pairs());
    let sum = crate::readings::table::hexadecimal(&Sha256::digest(typed.as_bytes()));
    let body = html! {
        h1 { "Table " (kept.name()) }
        (other_worksheets(asked, kept))
        (holds(kept, read))
        form.choices id="choices" method="post" action=(asked.to("/bench/fit", &[]))
            data-keep={ "choices-" (kept.code) "-" (&sum[..8]) } {
            h2 { "Choices" }
            p.beside {
                "The defaults serve most benches: fit first, then look."
                button type="submit" { "Fit" }
            }
            input type="hidden" name="table" value=(kept.code);
            (ChoicesForm { choices: &choices, faults: &faults, table: &read.table }.fields())
            button type="submit" { "Fit with these choices" }
        }
        @if let Some(Written { name, cells: Cells::Whole(table), .. }) = &kept.written {
            details.the-table {
                summary { "The table itself, to be changed" }
                (table_form(asked, kept, name, table, &[]))
            }
        }
        script src="/bench/bench.js" defer {}
    };
    shell::page(Room::Bench, &kept.name(), asked, None, &body)
}

/// What a table holds, and what it cannot tell.
fn holds(kept: &KeptTable, read: &Read) -> Markup {
    let summary = &read.summary;
    let counts = |list: Vec<(String, usize)>| {
        let words: Vec<String> = list
            .into_iter()
            .map(|(name, rows)| format!("{name}: {rows}"))
            .collect();
        first_of(&words)
    };
    let temperatures = summary
        .by_temperature
        .iter()
        .map(|(kelvin, rows)| (display::temperature(*kelvin), *rows))
        .collect();
    let lots = summary
        .by_lot
        .iter()
        .map(|(lot, rows)| (lot.clone().unwrap_or_else(|| "not named".to_owned()), *rows))
        .collect();
    let advice: Vec<String> = summary
        .gaps
        .iter()
        .map(|gap| gap.message())
        .chain(read.advice.iter().map(|advice| advice.message()))
        .collect();
    html! {
        @if summary.invented {
            p.ribbon role="note" { strong { (INVENTED) } " the table says so itself: for learning the tool, for nothing else" }
        }
        section.card.holds {
            p.first {
                (kept.name()) " can be read: " (summary.rows) " " (summary.kind.quantity())
                @if summary.rows == 1 { " reading" } @else { " readings" }
                @if summary.used == summary.rows { ", all used." } @else { ", " (summary.used) " of them used." }
            }
            dl.counts {
                div { dt { "Temperatures" } dd { (counts(temperatures)) } }
                div { dt { "Lots" } dd { (counts(lots)) } }
                div { dt { "Blends" } dd { (counts(summary.by_blend.clone())) } }
                @if !summary.unknown_columns.is_empty() {
                    div { dt { "Kept as notes only" } dd { (first_of(&summary.unknown_columns)) } }
                }
            }
            @if !read.assumptions.is_empty() {
                h2 { "Assumed in turning pushes into viscosities" }
                ul { @for assumption in &read.assumptions { li { (assumption.message()) } } }
            }
            @if advice.is_empty() {
                p { "No gap was found that a fit would stumble over." }
            } @else {
                h2 { "What these readings cannot tell" }
                ul { @for line in &advice { li { (line) } } }
            }
        }
    }
}

/// The first names of a list, as many as a grid has columns.
fn first_of(names: &[String]) -> String {
    let mut words = names.get(..MOST_COLUMNS).unwrap_or(names).join(", ");
    let further = names.len().saturating_sub(MOST_COLUMNS);
    if further > 0 {
        words.push_str(&format!(" and {further} more"));
    }
    words
}

/// A table that cannot be read.
fn unreadable(asked: &Asked, kept: &KeptTable, error: &ReadingsError) -> Markup {
    let faults = faults_of(error);
    let found: &[Mark] = kept.written.as_ref().map_or(&[], |written| &written.marks);
    let to_change = match &kept.written {
        Some(Written {
            name,
            cells: Cells::Whole(table),
            ..
        }) if faults.is_some() => Some((name, table)),
        _ => None,
    };
    let body = html! {
        h1 { "Table " (kept.name()) }
        section.problem role="alert" {
            @match (faults, found.is_empty()) {
                (Some(faults), false) => {
                    p { strong { (kept.name()) " cannot be read: " (counted(faults.total())) "." } }
                    (listed(found, faults))
                },
                _ => { @for line in here(&error.to_string()).lines() { p { (line) } } },
            }
            @if let ReadingsError::TooManyRows { .. } = error {
                p { "Or fit it with 'heatset fit' on the command line, which reads " (with_blanks(LARGEST_ROWS)) " rows." }
            }
        }
        (other_worksheets(asked, kept))
        @match (to_change, &kept.written) {
            (Some((name, table)), _) => (table_form(asked, kept, name, table, found)),
            (None, Some(Written { cells: Cells::Faulty(excerpt), .. }))
                if !found.is_empty() && !excerpt.columns.is_empty() => (faulty_rows(excerpt, found)),
            _ => {},
        }
        p {
            @if to_change.is_some() { a href=(asked.to("/bench", &[])) { "Or send another file" } }
            @else { a.button href=(asked.to("/bench", &[])) { "Send it again, mended" } }
        }
        script src="/bench/bench.js" defer {}
    };
    shell::page(Room::Bench, &kept.name(), asked, None, &body)
}

/// The list of faults, each leading to its cell.
fn listed(found: &[Mark], faults: &FaultList) -> Markup {
    let unseen = faults.total().saturating_sub(found.len());
    html! {
        ul.faults {
            @for mark in found {
                li {
                    @let words = here(&mark.listed);
                    @match mark.target() {
                        Some(target) => { a href={ "#" (target) } { (words) } },
                        None => (words),
                    }
                }
            }
            @if unseen > 0 { li { "and " (unseen) " more" } }
        }
    }
}

/// The other worksheets of a workbook, one of which may hold the table that was meant.
fn other_worksheets(asked: &Asked, kept: &KeptTable) -> Markup {
    let Some(written) = &kept.written else {
        return html! {};
    };
    let Some(read) = written
        .worksheet
        .as_ref()
        .filter(|_| !written.other_worksheets.is_empty())
    else {
        return html! {};
    };
    html! {
        form.pairs method="post" action=(asked.to("/bench/worksheet", &[])) {
            input type="hidden" name="table" value=(kept.code);
            label.field {
                span { "This is worksheet " (read) "; the workbook has others" }
                select name="worksheet" {
                    @for other in &written.other_worksheets {
                        option value=(other.trim_end_matches(" (hidden)")) { (other) }
                    }
                }
            }
            button.quiet type="submit" { "Read that worksheet" }
        }
    }
}

/// A table in a grid, to be changed and read again.
fn table_form(
    asked: &Asked,
    kept: &KeptTable,
    name: &str,
    written: &TableAsWritten,
    found: &[Mark],
) -> Markup {
    html! {
        form.bench method="post" action=(asked.to("/bench/table", &[])) enctype="multipart/form-data"
            data-keep={ "table-" (kept.code) } {
            (grid_markup(&GridShown {
                header: &written.header,
                rows: &written.rows,
                marks: found,
                blank_rows: BLANK_ROWS,
                decimal_comma: written.decimal_comma,
                invented: written.invented,
            }))
            div.pairs {
                label.field {
                    span { "Name of the table" }
                    input type="text" name="name" autocomplete="off" value=(changed_name(name));
                }
                button type="submit" name="read" value="grid" { "Read the grid" }
            }
        }
    }
}

/// The name of a table that was changed here: no longer the file of that name.
fn changed_name(name: &str) -> String {
    let stem = stem(name);
    if stem.ends_with("-changed") {
        format!("{stem}.csv")
    } else {
        format!("{stem}-changed.csv")
    }
}

/// The faulty rows of a table that is too large for a grid, with their neighbours.
fn faulty_rows(excerpt: &Excerpt, found: &[Mark]) -> Markup {
    let at = |place: Place| -> Vec<&str> {
        found
            .iter()
            .filter(|mark| mark.place == place)
            .map(|mark| mark.at_place.as_str())
            .collect()
    };
    html! {
        h2 { "The faulty rows" }
        p.hint { "The table is too large to be changed here: mend it where it was made." }
        div.wide role="region" aria-label="Faulty rows" tabindex="0" {
            table.grid {
                thead {
                    tr {
                        th scope="col" { "Line" }
                        @for (column, name) in &excerpt.columns {
                            th scope="col" id=(header_name(*column)) {
                                (name) (wrong(&format!("w-h-{column}"), &at(Place::Header(*column))))
                            }
                        }
                        @if excerpt.further_columns > 0 {
                            th scope="col" { "and " (excerpt.further_columns) " more" }
                        }
                    }
                }
                tbody {
                    @for (row, line, cells) in &excerpt.rows {
                        tr {
                            th scope="row" id={ "r-" (row) } { (line) (wrong(&format!("w-r-{row}"), &at(Place::Row(*row)))) }
                            @for ((column, _), cell) in excerpt.columns.iter().zip(cells) {
                                @let faults = at(Place::Cell(*row, *column));
                                td.faulty[!faults.is_empty()] id=(cell_name(*row, *column)) {
                                    (cell) (wrong(&format!("w-c-{row}-{column}"), &faults))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Whether a table is shown in a grid, to be changed.
pub(super) fn is_small(written: &TableAsWritten) -> bool {
    let width = written
        .rows
        .iter()
        .map(|(_, cells)| cells.len())
        .chain([written.header.len()])
        .max()
        .unwrap_or(0);
    (1..=MOST_COLUMNS).contains(&width) && (written.rows.len() + BLANK_ROWS) * width <= MOST_CELLS
}

fn counted(faults: usize) -> String {
    if faults == 1 {
        "1 fault".to_owned()
    } else {
        format!("{faults} faults")
    }
}
