//! `heatset study`: other hands, other blocks, other places, other days.

use super::output::Output;
use super::study_document::StudyDocument;
use super::text_table::{Side, TextTable};
use super::{CliError, Context, codes};
use crate::face::cautions;
use crate::face::precision_words::{
    comparison_words, few_codes_words, headline, relative, repeat_words, scatter_sources,
    source_cells, stands_out,
};
use crate::fit::precision::{
    Comparison, ComparisonAsked, Study, StudyFactor, StudyReading, compare, precision_study,
    study_readings,
};
use crate::fit::{Calibration, Warning};
use crate::readings::read_bench;
use crate::units;
use clap::{Args, ValueEnum};
use std::fmt::Write as _;
use std::path::PathBuf;

/// Cells that are shown in words; JSON has all.
const SHOWN_CELLS: usize = 12;

/// Where scatter comes from: operator, block, place, session; and whether two agree
///
/// Readings are compared as logarithms, within gels of the same lot that were heated alike; with a calibration
/// as ratios to what it predicts, at any temperature and time that it was measured at.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Bench tables with the columns operator, block, place or session
    #[arg(value_name = "BENCH", required_unless_present = "log")]
    bench: Vec<PathBuf>,
    /// A log of batches in place of bench tables: each reading against its prediction
    #[cfg(feature = "batches")]
    #[arg(long, value_name = "LOG", conflicts_with_all = ["bench", "calibration"])]
    log: Option<PathBuf>,
    /// What is studied
    #[arg(long, value_enum, default_value_t = OfChoice::Operator, value_name = "WHAT")]
    of: OfChoice,
    /// Calibration to compare through, so that temperatures and times need not be the same
    #[arg(long, value_name = "CAL")]
    calibration: Option<PathBuf>,
    /// Code that the others are held against: an experienced operator, the block of the calibration
    #[arg(long, value_name = "CODE", requires = "margin")]
    against: Option<String>,
    /// Only this code is held against it; may repeat [default: all others]
    #[arg(long, value_name = "CODE", requires = "against")]
    compare: Vec<String>,
    /// Difference that still counts as agreement: 20% allows ratios of 1/1.2 to 1.2
    #[arg(long, value_name = "PERCENT", value_parser = units::fraction, requires = "against")]
    margin: Option<f64>,
    /// Probability with which readings to come shall show an agreement that is there
    #[arg(long, value_name = "PERCENT", value_parser = units::fraction, default_value = "80%")]
    power: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum OfChoice {
    Operator,
    Block,
    Place,
    Session,
}

impl OfChoice {
    const fn factor(self) -> StudyFactor {
        match self {
            Self::Operator => StudyFactor::Operator,
            Self::Block => StudyFactor::Block,
            Self::Place => StudyFactor::Place,
            Self::Session => StudyFactor::Session,
        }
    }
}

/// Readings, where they are from, and what is to be said of them.
struct Gathered {
    readings: Vec<StudyReading>,
    from: String,
    through: Option<String>,
    warnings: Vec<Warning>,
    invented: bool,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if !(self.power > 0.0 && self.power < 1.0) {
            return Err(CliError::question(
                "--power lies between 0 and 100 %, both left out.\nWhat helps: --power 80%",
            ));
        }
        let factor = self.of.factor();
        let mut gathered = self.gathered()?;
        for one in StudyFactor::ALL {
            let given = gathered.readings.iter().filter_map(|r| r.code(one));
            codes::check(one.word(), given)?;
        }
        let lots = gathered.readings.iter().filter_map(|r| r.lot.as_deref());
        codes::check("lot", lots)?;
        let study = precision_study(&gathered.readings, factor)?;
        let comparisons = self.comparisons(&gathered.readings, &study)?;
        gathered.warnings.extend(self.warnings(&study, &gathered));
        let sources = scatter_sources(&study);
        if context.json {
            return Output::json(&StudyDocument::of(
                &study,
                &sources,
                &comparisons,
                self.margin,
                &gathered.from,
                gathered.through.as_deref(),
                &gathered.warnings,
                gathered.invented,
            ));
        }
        let mut text = String::new();
        if gathered.invented {
            text.push_str("INVENTED DATA: for learning the tool, for nothing else.\n");
        }
        let _ = writeln!(text, "{}\n", headline(&sources));
        let mut table = TextTable::new([
            ("scatter from", Side::Left),
            ("share", Side::Right),
            ("sd", Side::Right),
            ("95 %", Side::Left),
            ("known from", Side::Left),
        ]);
        for source in &sources {
            table.push(source_cells(source));
        }
        text.push_str(&table.text(2));
        if let Some(words) = few_codes_words(&sources) {
            let _ = writeln!(text, "  {words}");
        }
        let _ = writeln!(
            text,
            "\n{}",
            repeat_words(&study.pooled, factor, study.held_alike)
        );
        text.push_str(&cells_text(&study));
        let out = stands_out(&study);
        if out.is_empty() {
            text.push_str("\nNobody stands out; no reading was taken out.\n");
        } else {
            let looks: usize = study.cells.iter().map(|c| c.groups.len()).sum();
            let _ = writeln!(
                text,
                "\nStands out (nothing was taken out; of {looks} looks about {} stand out by chance):",
                looks.div_ceil(20)
            );
            for line in out {
                let _ = writeln!(text, "  {line}");
            }
        }
        for found in &comparisons {
            let margin = self.margin.unwrap_or_default();
            let _ = write!(text, "\n{}\n", comparison_words(found, margin));
        }
        let _ = writeln!(text, "\n{}", stands_on(&study, &gathered));
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        Ok(Output::words(text).with_warnings(&gathered.warnings))
    }

    #[cfg(feature = "batches")]
    fn gathered(&self) -> Result<Gathered, CliError> {
        match &self.log {
            Some(log) => of_log(log),
            None => self.of_bench(),
        }
    }

    #[cfg(not(feature = "batches"))]
    fn gathered(&self) -> Result<Gathered, CliError> {
        self.of_bench()
    }

    fn of_bench(&self) -> Result<Gathered, CliError> {
        let read = read_bench(&self.bench)?;
        let converted = read.viscosity_readings()?;
        let table = converted.table;
        let calibration = self
            .calibration
            .as_deref()
            .map(Calibration::read)
            .transpose()?;
        let study = study_readings(&table, calibration.as_ref())?;
        let mut warnings: Vec<Warning> = converted
            .assumptions
            .iter()
            .map(|a| Warning::new("reading_assumed", a.message()))
            .collect();
        let mut note = |code: &'static str, message: String| {
            warnings.push(Warning::new(code, message));
        };
        if study.rows_left_out > 0 {
            note(
                "rows_left_out",
                format!(
                    "{} rows left out: not used, or read after standing.",
                    study.rows_left_out
                ),
            );
        }
        if study.rows_outside_calibration > 0 {
            note(
                "outside_calibration",
                format!(
                    "{} rows lie outside what the calibration was measured at, and were left out.",
                    study.rows_outside_calibration
                ),
            );
        }
        if study.rows_without_lot > 0 {
            note(
                "no_lots",
                format!(
                    "{} rows name no lot: gels of different donors may count as alike, and their difference as scatter.",
                    study.rows_without_lot
                ),
            );
        }
        if study.read_temperatures_differ {
            note(
                "read_temperatures",
                "gels that count as alike were read at temperatures more than 3 K apart: some of the scatter is that.".to_owned(),
            );
        }
        Ok(Gathered {
            readings: study.readings,
            from: table.file_names(),
            through: self.calibration.as_ref().map(|c| {
                c.file_name().map_or_else(
                    || c.display().to_string(),
                    |n| n.to_string_lossy().into_owned(),
                )
            }),
            warnings,
            invented: read.invented || calibration.is_some_and(|c| c.invented),
        })
    }

    /// Each code asked for against the reference; all of the study where none is named.
    fn comparisons(
        &self,
        readings: &[StudyReading],
        study: &Study,
    ) -> Result<Vec<Comparison>, CliError> {
        let (Some(reference), Some(margin_ratio)) = (&self.against, self.margin) else {
            return Ok(Vec::new());
        };
        let tested: Vec<String> = if self.compare.is_empty() {
            study
                .codes
                .iter()
                .filter(|code| *code != reference)
                .cloned()
                .collect()
        } else {
            self.compare.clone()
        };
        tested
            .into_iter()
            .map(|code| {
                if code == *reference {
                    return Err(CliError::question(format!(
                        "{code} cannot be held against itself.\nWhat helps: another --compare"
                    )));
                }
                let asked = ComparisonAsked {
                    factor: study.factor,
                    tested: code,
                    reference: reference.clone(),
                    margin_ratio,
                    power_ratio: self.power,
                };
                Ok(compare(readings, &asked)?)
            })
            .collect()
    }

    fn warnings(&self, study: &Study, gathered: &Gathered) -> Vec<Warning> {
        let mut warnings = Vec::new();
        if study.readings_without_code > 0 {
            warnings.push(Warning::new(
                "no_code",
                format!(
                    "{} readings say no {}, and were left out.",
                    study.readings_without_code, study.factor
                ),
            ));
        }
        for other in [StudyFactor::Operator, StudyFactor::Block] {
            let without = gathered
                .readings
                .iter()
                .filter(|r| r.code(other).is_none())
                .count();
            if other != study.factor && without > 0 && without < gathered.readings.len() {
                warnings.push(Warning::new(
                    "source_incomplete",
                    format!(
                        "{without} readings say no {other}: what it adds is not told apart from the rest."
                    ),
                ));
            }
        }
        if study.cells_of_one_code > 0 {
            warnings.push(Warning::new(
                "cells_of_one",
                format!(
                    "{} of {} gels were read by one {} alone, and tell nothing of the others.",
                    study.cells_of_one_code,
                    study.cells_of_one_code + study.cells.len(),
                    study.factor
                ),
            ));
        }
        if study.lots == 1 {
            warnings.push(Warning::new(
                "one_lot",
                "one lot: what other hands do to another donor's gel was not measured.",
            ));
        }
        if !study.pooled.balanced {
            warnings.push(Warning::new(
                "unequal_groups",
                "groups of unequal size: the intervals of s_R are approximate.",
            ));
        }
        if gathered.through.is_some() {
            warnings.push(Warning::new(
                "through_calibration",
                "readings are held against a calibration: where it bends away from the gel, gels heated otherwise differ for that.",
            ));
        }
        warnings
    }
}

#[cfg(feature = "batches")]
fn of_log(path: &std::path::Path) -> Result<Gathered, CliError> {
    let entries = crate::batches::BatchLog::open(path)?.entries()?;
    let study = crate::batches::log_study(&entries);
    if study.readings.is_empty() {
        return Err(CliError::question(format!(
            "{} has no batch that was held against a prediction.\nWhat helps: heatset batches add with --force-read or --viscosity-read, --operator and --block",
            path.display()
        )));
    }
    let mut warnings = Vec::new();
    if study.left_out > 0 {
        warnings.push(Warning::new(
            "entries_left_out",
            format!(
                "{} entries left out: corrected, read as no number, or marked so.",
                study.left_out
            ),
        ));
    }
    if study.of_other_calibrations > 0 {
        warnings.push(Warning::new(
            "other_calibrations",
            format!(
                "{} entries were held against another calibration, and were left out.",
                study.of_other_calibrations
            ),
        ));
    }
    if study.extrapolated {
        warnings.push(Warning::new(
            "extrapolated",
            "EXTRAPOLATED: some predictions lie outside what was measured.",
        ));
    }
    let sha = study.calibration_sha256.unwrap_or_default();
    Ok(Gathered {
        readings: study.readings,
        from: path.display().to_string(),
        through: Some(format!("calibration {}", sha.get(..8).unwrap_or(&sha))),
        warnings,
        invented: study.invented,
    })
}

/// The cells, one a line.
fn cells_text(study: &Study) -> String {
    let mut table = TextTable::new([
        ("gels heated alike", Side::Left),
        ("codes", Side::Right),
        ("readings", Side::Right),
        ("s_r", Side::Right),
        ("s_L", Side::Right),
        ("s_R", Side::Right),
    ]);
    for cell in study.cells.iter().take(SHOWN_CELLS) {
        let readings: usize = cell.groups.iter().map(|g| g.readings).sum();
        let sd = |pick: fn(&crate::fit::precision::OneWay) -> f64| {
            cell.precision
                .as_ref()
                .map_or_else(|| "-".to_owned(), |p| relative(pick(p)))
        };
        table.push([
            cell.cell.clone(),
            cell.groups.len().to_string(),
            readings.to_string(),
            sd(|p| p.repeatability_sd),
            sd(|p| p.between_sd),
            sd(|p| p.reproducibility_sd),
        ]);
    }
    let mut text = format!("\n{}", table.text(2));
    if study.cells.len() > SHOWN_CELLS {
        let _ = writeln!(
            text,
            "  and {} more; --json has all.",
            study.cells.len() - SHOWN_CELLS
        );
    }
    text
}

fn stands_on(study: &Study, gathered: &Gathered) -> String {
    let lots = match study.lots {
        0 => "lots not named".to_owned(),
        1 => "1 lot".to_owned(),
        lots => format!("{lots} lots"),
    };
    let through = gathered
        .through
        .as_ref()
        .map_or_else(String::new, |c| format!(", held against {c}"));
    format!(
        "Stands on: {}, {} readings of {} {}, {} of gels heated alike, {lots}{through}; ln of readings; ISO 5725-2.",
        gathered.from,
        study.readings,
        study.codes.len(),
        study.factor.words(),
        match study.cells.len() {
            1 => "1 set".to_owned(),
            sets => format!("{sets} sets"),
        }
    )
}
