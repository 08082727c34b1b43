//! One row of cells to numbers in SI and details, with every fault of the row.

use super::columns::{CellColumn, SheetCell};
use super::error::{Counted, FaultList, Problem};
use super::header::{KnownColumn, Layout, Role};
use super::kind::ReadingKind;
use super::needs::{needed_by, what_needs};
use super::number::read_number;
use super::row::{Content, NeedleDetails, RowDetails, RunWithoutGel};
use crate::reference::Wall;
use crate::units::display;
use crate::units::quantity::excerpt;

/// Reads one row after the other and collects what is wrong.
pub(crate) struct RowReader<'a> {
    pub columns: &'a [(String, CellColumn)],
    pub headers: &'a [&'a str],
    pub lines: &'a [usize],
    pub counted: Counted,
    pub decimal_comma: bool,
    pub layout: &'a Layout,
    pub faults: FaultList,
}

impl RowReader<'_> {
    /// Temperature, time and reading in SI.
    pub(crate) fn measured(&mut self, row: usize) -> Option<[f64; 3]> {
        let columns = [
            self.layout.column(Role::HeatTemp),
            self.layout.column(Role::HeatTime),
            self.layout.reading(),
        ];
        let values = columns.map(|column| column.and_then(|column| self.needed(column, row)));
        match values {
            [Some(temperature), Some(time), Some(reading)] => Some([temperature, time, reading]),
            _ => None,
        }
    }

    /// What was in the barrel; `None` where the word is none of those known.
    pub(crate) fn content(&mut self, row: usize) -> Option<Content> {
        let Some(text) = self.text(Role::Content, row) else {
            return Some(Content::Gel);
        };
        let found = Content::ALL
            .into_iter()
            .find(|content| content.as_str().eq_ignore_ascii_case(&text));
        let pushes = self.layout.kind.is_some_and(ReadingKind::is_push);
        let (message, remedy) = match found {
            Some(content) if content == Content::Gel || pushes => return Some(content),
            Some(_) => (
                format!(
                    "\"{}\" belongs to a push through a needle, and no reading here is one",
                    excerpt(&text)
                ),
                "take the row out".to_string(),
            ),
            None => (
                format!("\"{}\" is no content of a barrel", excerpt(&text)),
                format!("write {}", Content::ALL.map(Content::as_str).join(", ")),
            ),
        };
        if let Some(column) = self.layout.column(Role::Content) {
            self.fault(row, column.index, Some(&text), message, Some(remedy));
        }
        None
    }

    /// A push without gel: heat columns may be blank, and an empty barrel needs no needle.
    pub(crate) fn run_without_gel(
        &mut self,
        row: usize,
        content: Content,
    ) -> Option<RunWithoutGel> {
        let before = self.faults.total();
        let column = self.layout.reading()?;
        // The least weight that moves an empty plunger steadily is the reading itself.
        let timed = self.layout.kind == Some(ReadingKind::RunTime);
        let reading = if timed && content == Content::Empty {
            self.number_of(column, row)
        } else {
            self.needed(column, row)
        };
        let run = RunWithoutGel {
            content,
            reading,
            known_viscosity_pa_s: self.number(Role::KnownViscosity, row),
            known_viscosity_sd_pa_s: self.number(Role::KnownViscositySd, row),
            details: self.details(row, content)?,
        };
        if content == Content::Known && run.known_viscosity_pa_s.is_none() {
            self.fault_of(
                row,
                Role::KnownViscosity,
                "the liquid's viscosity is not given",
                "give content_viscosity_mPa_s at the temperature of the push",
            );
        }
        if content == Content::Water && run.details.read_temp_kelvin.is_none() {
            self.fault_of(
                row,
                Role::ReadTemp,
                "the water's temperature is not given",
                "give read_temp_C: water's viscosity goes with it",
            );
        }
        (self.faults.total() == before).then_some(run)
    }

    pub(crate) fn details(&mut self, row: usize, content: Content) -> Option<RowDetails> {
        let before = self.faults.total();
        let reading_unit = self.layout.reading().and_then(|column| column.unit);
        let details = RowDetails {
            source: 0,
            line: self.lines.get(row).copied().unwrap_or(0),
            used: self.used(row),
            reading_sd: self.number(Role::ReadingSd, row).map(|deviation| {
                reading_unit.map_or(deviation, |unit| unit.difference_to_si(deviation))
            }),
            shear_rate_per_s: self.number(Role::ShearRate, row),
            lot: self.text(Role::Lot, row),
            operator: self.text(Role::Operator, row),
            block: self.text(Role::Block, row),
            place: self.text(Role::Place, row),
            session: self.text(Role::Session, row),
            blend: self.text(Role::Blend, row),
            ha_fraction: self.number(Role::HaFraction, row),
            read_temp_kelvin: self.number(Role::ReadTemp, row),
            stand_time_s: self.number(Role::StandTime, row),
            stand_temp_kelvin: self.number(Role::StandTemp, row),
            needle: self.needle(row, content),
            note: self.note(row),
        };
        (self.faults.total() == before).then_some(details)
    }

    fn needle(&mut self, row: usize, content: Content) -> Option<NeedleDetails> {
        let needle = NeedleDetails {
            // The limit of the column makes this a small whole number.
            gauge: self.number(Role::NeedleGauge, row).map(|gauge| gauge as u8),
            wall: self.wall(row),
            length_m: self.number(Role::NeedleLength, row),
            barrel_bore_m: self.number(Role::BarrelBore, row),
            flow_rate_m3_per_s: self.number(Role::Flow, row),
            friction_n: self.number(Role::Friction, row),
            bore_m: self.number(Role::NeedleBore, row),
            bore_sd_m: self.number(Role::NeedleBoreSd, row),
            dead_weight_kg: self.number(Role::DeadWeight, row),
            run_volume_m3: self.number(Role::RunVolume, row),
        };
        if needle.bore_sd_m.is_some() && needle.bore_m.is_none() {
            self.fault_of(
                row,
                Role::NeedleBoreSd,
                "a standard deviation without its bore",
                "give needle_bore_mm too, or empty the cell",
            );
        }
        // Of what was only seen, rows that were pushed too need their needle, the others none.
        let pushed = !self.layout.is_seen() || content != Content::Gel || self.has_reading(row);
        if let Some(kind) = self.layout.kind.filter(|_| pushed) {
            for &(role, _) in needed_by(kind) {
                let needed = match (content, role) {
                    // Without a needle there is no flow to speak of.
                    (Content::Empty, _) => matches!(role, Role::BarrelBore | Role::DeadWeight),
                    (_, Role::NeedleGauge | Role::NeedleWall) => needle.bore_m.is_none(),
                    _ => true,
                };
                if !needed {
                    continue;
                }
                match self.layout.column(role) {
                    Some(column) if self.is_empty_cell(column.index, row) => self.fault(
                        row,
                        column.index,
                        None,
                        "the cell is empty".to_string(),
                        Some(format!("{} needs it", what_needs(kind))),
                    ),
                    // Only where a measured bore let the header go without gauge and wall.
                    None if role == Role::NeedleGauge
                        && self.layout.column(Role::NeedleBore).is_some() =>
                    {
                        self.fault_of(
                            row,
                            Role::NeedleBore,
                            "the cell is empty",
                            "give the needle's bore, or add needle_gauge and needle_wall",
                        );
                    }
                    _ => {}
                }
            }
        }
        (needle != NeedleDetails::default()).then_some(needle)
    }

    /// A fault of a role's column, or of the row where there is no such column.
    fn fault_of(&mut self, row: usize, role: Role, message: &str, remedy: &str) {
        let column = self.layout.column(role);
        self.faults.push(Problem {
            line: self.lines.get(row).copied(),
            counted: self.counted,
            column_index: column.map(|column| column.index),
            column: column
                .and_then(|column| self.headers.get(column.index))
                .map(|header| excerpt(header)),
            message: message.to_string(),
            remedy: Some(remedy.to_string()),
            ..Problem::default()
        });
    }

    fn wall(&mut self, row: usize) -> Option<String> {
        let text = self.text(Role::NeedleWall, row)?;
        let wall = text.to_lowercase().replace([' ', '_'], "-");
        if let Ok(wall) = wall.parse::<Wall>() {
            return Some(wall.to_string());
        }
        let column = self.layout.column(Role::NeedleWall)?;
        self.fault(
            row,
            column.index,
            Some(&text),
            format!("\"{}\" is no wall of a needle", excerpt(&text)),
            Some(format!("write {}", Wall::ALL.map(Wall::as_str).join(", "))),
        );
        None
    }

    fn used(&mut self, row: usize) -> bool {
        let Some(text) = self.text(Role::Use, row) else {
            return true;
        };
        match text.to_lowercase().as_str() {
            "yes" => true,
            "no" => false,
            _ => {
                if let Some(column) = self.layout.column(Role::Use) {
                    self.fault(
                        row,
                        column.index,
                        Some(&text),
                        format!("\"{}\" is neither yes nor no", excerpt(&text)),
                        None,
                    );
                }
                true
            }
        }
    }

    /// The note and what stands in unknown columns.
    fn note(&mut self, row: usize) -> Option<String> {
        let mut parts: Vec<String> = self.text(Role::Note, row).into_iter().collect();
        for &index in &self.layout.unknown {
            if let (Some(text), Some(header)) =
                (self.cell_text(index, row), self.headers.get(index))
            {
                parts.push(format!("{header}={text}"));
            }
        }
        (!parts.is_empty()).then(|| parts.join("; "))
    }

    /// Whether the cell of the reading says something.
    pub(crate) fn has_reading(&self, row: usize) -> bool {
        self.layout
            .reading()
            .is_some_and(|column| !self.is_empty_cell(column.index, row))
    }

    /// The SI value of a cell that must not be empty; a missing column is told with the header.
    pub(crate) fn needed_of(&mut self, role: Role, row: usize) -> Option<f64> {
        let column = self.layout.column(role)?;
        self.needed(column, row)
    }

    /// A fault of a role's cell.
    pub(crate) fn fault_at(
        &mut self,
        row: usize,
        role: Role,
        found: Option<&str>,
        message: String,
        remedy: Option<&str>,
    ) {
        if let Some(column) = self.layout.column(role) {
            self.fault(
                row,
                column.index,
                found,
                message,
                remedy.map(str::to_string),
            );
        }
    }

    pub(crate) fn text(&mut self, role: Role, row: usize) -> Option<String> {
        let column = self.layout.column(role)?;
        if role != Role::Note && self.unreckoned(column.index, row) {
            return None;
        }
        self.cell_text(column.index, row)
    }

    fn cell_text(&self, index: usize, row: usize) -> Option<String> {
        match self.columns.get(index)? {
            (_, CellColumn::Text(cells)) => {
                let text = cells.get(row)?.as_deref()?.trim();
                (!text.is_empty()).then(|| text.to_string())
            }
            (_, CellColumn::Number(cells)) => cells.get(row)?.map(display::plain),
            (_, CellColumn::Sheet(cells)) => cells.get(row)?.text(),
        }
    }

    fn is_empty_cell(&self, index: usize, row: usize) -> bool {
        match self.columns.get(index) {
            Some((_, CellColumn::Sheet(cells))) => cells.get(row).is_none_or(SheetCell::is_blank),
            _ => self.cell_text(index, row).is_none(),
        }
    }

    /// A cell of a known column that no spreadsheet could reckon, or that lost its value.
    fn unreckoned(&mut self, index: usize, row: usize) -> bool {
        let Some((_, CellColumn::Sheet(cells))) = self.columns.get(index) else {
            return false;
        };
        let (found, message, remedy) = match cells.get(row) {
            Some(SheetCell::Error(error)) => (
                Some(error.clone()),
                format!(
                    "{} stands here: the spreadsheet could not reckon it",
                    excerpt(error)
                ),
                "mend its formula, or empty the cell where nothing was measured",
            ),
            Some(SheetCell::NotReckoned) => (
                None,
                "a formula stands here, and its value was not stored".to_string(),
                "open the workbook in a spreadsheet and save it again, or write the value",
            ),
            _ => return false,
        };
        self.fault(
            row,
            index,
            found.as_deref(),
            message,
            Some(remedy.to_string()),
        );
        true
    }

    /// The number of a spreadsheet's cell; a date is none, and neither is TRUE.
    fn sheet_number(&mut self, index: usize, row: usize) -> Option<(f64, String)> {
        if self.unreckoned(index, row) {
            return None;
        }
        let (_, CellColumn::Sheet(cells)) = self.columns.get(index)? else {
            return None;
        };
        let (found, message, remedy) = match cells.get(row)? {
            SheetCell::Number(number) => return Some((*number, display::plain(*number))),
            SheetCell::Text(text) => match read_number(text, false) {
                Ok(number) => return Some((number, text.clone())),
                Err((message, remedy)) => {
                    let remedy = if text.contains(',') {
                        Some("the cell holds text: write the number anew, so that the spreadsheet takes it as one".to_string())
                    } else {
                        remedy
                    };
                    (text.clone(), message, remedy)
                }
            },
            SheetCell::Date(date) => (
                date.clone(),
                format!(
                    "a date or time stands here ({}), not a number",
                    excerpt(date)
                ),
                Some(
                    "format the cell as a number and write it anew, in the unit of the header"
                        .to_string(),
                ),
            ),
            SheetCell::YesNo(yes) => {
                let word = if *yes { "TRUE" } else { "FALSE" };
                (
                    word.to_string(),
                    format!("{word} is not a number"),
                    Some("leave the cell empty where nothing was measured".to_string()),
                )
            }
            SheetCell::Blank | SheetCell::Error(_) | SheetCell::NotReckoned => return None,
        };
        self.fault(row, index, Some(&found), message, remedy);
        None
    }

    fn number(&mut self, role: Role, row: usize) -> Option<f64> {
        let column = self.layout.column(role)?;
        self.number_of(column, row)
    }

    fn needed(&mut self, column: KnownColumn, row: usize) -> Option<f64> {
        if self.is_empty_cell(column.index, row) {
            self.fault(
                row,
                column.index,
                None,
                "the cell is empty".to_string(),
                Some("give the number, or take the row out".to_string()),
            );
            return None;
        }
        self.number_of(column, row)
    }

    /// The SI value of a cell; `None` where it is empty or faulty.
    pub(crate) fn number_of(&mut self, column: KnownColumn, row: usize) -> Option<f64> {
        let (number, found) = match self.columns.get(column.index)? {
            (_, CellColumn::Number(cells)) => {
                let number = (*cells.get(row)?)?;
                (number, display::plain(number))
            }
            (_, CellColumn::Text(cells)) => {
                let text = cells.get(row)?.as_deref()?.trim();
                if text.is_empty() {
                    return None;
                }
                match read_number(text, self.decimal_comma) {
                    Ok(number) => (number, text.to_string()),
                    Err((message, remedy)) => {
                        let text = text.to_string();
                        self.fault(row, column.index, Some(&text), message, remedy);
                        return None;
                    }
                }
            }
            (_, CellColumn::Sheet(_)) => self.sheet_number(column.index, row)?,
        };
        let value = column.unit.map_or(number, |unit| unit.to_si(number));
        match column.role.limit().and_then(|limit| limit.fault(value)) {
            None => Some(value + 0.0),
            Some(words) => {
                let shown = if number.is_nan() {
                    String::new()
                } else {
                    format!("{} ", excerpt(&found))
                };
                let message = if number.is_nan() {
                    "not-a-number stands here".to_string()
                } else {
                    format!("{shown}{words}")
                };
                self.fault(
                    row,
                    column.index,
                    Some(&found),
                    message,
                    remedy_for(column.role, words),
                );
                None
            }
        }
    }

    fn fault(
        &mut self,
        row: usize,
        index: usize,
        found: Option<&str>,
        message: String,
        remedy: Option<String>,
    ) {
        self.faults.push(Problem {
            line: self.lines.get(row).copied(),
            counted: self.counted,
            column_index: Some(index),
            column: self.headers.get(index).map(|header| excerpt(header)),
            found: found.map(excerpt),
            message,
            remedy,
            ..Problem::default()
        });
    }
}

fn remedy_for(role: Role, words: &str) -> Option<String> {
    match role {
        Role::HeatTemp | Role::ReadTemp | Role::StandTemp => {
            Some("check the sign and the unit in the header".to_string())
        }
        Role::Reading(_) if words.contains("zero") || words.contains("negative") => {
            Some("take the row out, or give what was measured".to_string())
        }
        Role::HaFraction => Some("20 % is written 0.2".to_string()),
        _ => None,
    }
}
