//! One row of cells to numbers in SI and details, with every fault of the row.

mod cells;
mod needle;
mod sheet_cells;

use super::columns::CellColumn;
use super::error::{Counted, FaultList};
use super::header::{Layout, Role};
use super::kind::ReadingKind;
use super::row::{Content, RowDetails, RunWithoutGel};
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
}
