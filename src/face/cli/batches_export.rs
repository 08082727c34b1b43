//! `heatset batches export`: accepted entries as a bench table, for a refit.

use super::output::{Output, check_free, write_table};
use super::{CliError, Context};
use crate::batches::{BatchLog, accepted_bench, accepted_entries};
use crate::fit::Warning;
use crate::readings::write::csv_bytes;
use crate::readings::{BenchTable, ReadingKind};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(super) struct ExportArguments {
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// Bench table to write
    #[arg(long, value_name = "FILE.csv|.xlsx")]
    out: PathBuf,
    /// Which readings, where the log has both
    #[arg(long, value_enum, value_name = "KIND")]
    reading: Option<KindChoice>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum KindChoice {
    Force,
    Viscosity,
}

impl ExportArguments {
    pub(super) fn run(&self, context: Context) -> Result<Output, CliError> {
        check_free(&self.out, context.replace)?;
        let asked = self.reading.map(|kind| match kind {
            KindChoice::Force => ReadingKind::Force,
            KindChoice::Viscosity => ReadingKind::Viscosity,
        });
        let file = self.log.display().to_string();
        let Exported {
            table,
            kind,
            outside,
        } = exported(&self.log, asked, &file)?;
        write_table(&self.out, &csv_bytes(&table)?, "Bench", context.replace)?;
        let mut warnings = Vec::new();
        if outside > 0 {
            warnings.push(Warning::new(
                "outside_left_out",
                format!(
                    "{} not in it. A refit on those inside alone makes the gel look more even than it is. What helps: those that were read well once more with --corrects N --accept.",
                    if outside == 1 {
                        "1 entry outside its interval is".to_owned()
                    } else {
                        format!("{outside} entries outside their interval are")
                    }
                ),
            ));
        }
        if kind == ReadingKind::Force {
            warnings.push(Warning::new(
                "forces",
                "The readings are forces. A bench of viscosities takes them once 'heatset convert' has made viscosities of them.",
            ));
        }
        if context.json {
            return Output::json(&serde_json::json!({
                "written": [self.out.display().to_string()],
                "reading": kind.name(),
                "rows": table.len(),
                "left_out_outside": outside,
                "invented": table.invented,
                "warnings": warnings,
            }));
        }
        Ok(Output::words(format!(
            "{}Written: {}, {} accepted readings of {}.\nNext: heatset fit old.csv {} --out NEW.json",
            if table.invented {
                "INVENTED DATA, and the table says so.\n"
            } else {
                ""
            },
            self.out.display(),
            table.len(),
            kind.quantity(),
            self.out.display()
        ))
        .with_warnings(&warnings))
    }
}

/// Accepted entries of a log as a bench table.
pub(super) struct Exported {
    /// The table.
    pub(super) table: BenchTable,
    kind: ReadingKind,
    /// Entries outside their interval that are not in it.
    outside: usize,
}

/// The accepted entries of one kind; `file` names the log in the table and in messages.
pub(super) fn exported(
    log: &Path,
    asked: Option<ReadingKind>,
    file: &str,
) -> Result<Exported, CliError> {
    let entries = BatchLog::open(log)?.entries()?;
    let count = |kind| accepted_entries(&entries, kind).len();
    let (forces, viscosities) = (count(ReadingKind::Force), count(ReadingKind::Viscosity));
    let kind = match asked {
        Some(kind) => kind,
        None if forces > 0 && viscosities > 0 => {
            return Err(CliError::question(format!(
                "{file} has {forces} accepted forces and {viscosities} accepted viscosities, and a bench table has one kind of reading.\nWhat helps: --reading force, then --reading viscosity into another file; 'heatset convert' makes viscosities of forces",
            )));
        }
        None if viscosities > 0 => ReadingKind::Viscosity,
        None => ReadingKind::Force,
    };
    let table = accepted_bench(&entries, kind, file)??;
    let outside = entries
        .iter()
        .filter(|e| e.stands() && !e.entered.accepted)
        .filter(|e| e.entered.prediction.is_some_and(|p| !p.inside))
        .count();
    Ok(Exported {
        table,
        kind,
        outside,
    })
}
