//! `heatset agree`: whether readers of opacity agree.

use super::output::Output;
use super::text_table::{Side, TextTable};
use super::{CliError, Context, codes};
use crate::face::agreement_words::{
    CANNOT_PROVE, headline, intraclass_words, kappa_cells, limits_words, push_words,
};
use crate::face::cautions;
use crate::fit::Warning;
use crate::fit::agreement::{OpacityAgreement, TwoJudges, opacity_agreement};
use crate::readings::{OpacityTable, read_opacity};
use clap::Args;
use serde::Serialize;
use std::fmt::Write as _;
use std::path::PathBuf;

/// Fewer samples than these leave the intervals of kappa rough. Common practice, no source.
const FEW_SAMPLES: usize = 20;

/// Whether readers of opacity agree, with each other and with themselves
///
/// A table with the columns sample, reader and opacity_step (0 to 4 on a contrast card: 0 all lines behind
/// the barrel seen, 4 none) or opacity_ratio (grey of the gel over grey of a card beside it, as you read it);
/// round where a reader looked again; lot; force_N or viscosity_Pa_s of the same sample.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The table: CSV, TSV or semicolon-separated text
    #[arg(value_name = "FILE.csv")]
    file: PathBuf,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: &'static str,
    file: &'a str,
    sha256: &'a str,
    opacity: &'static str,
    judgements: usize,
    #[serde(flatten)]
    found: &'a OpacityAgreement,
    warnings: &'a [Warning],
    invented: bool,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let table = read_opacity(&self.file)?;
        codes::check("reader", table.judgements.iter().map(|j| j.reader.as_str()))?;
        codes::check("sample", table.judgements.iter().map(|j| j.sample.as_str()))?;
        let lots = table.judgements.iter().filter_map(|j| j.lot.as_deref());
        codes::check("lot", lots)?;
        let found = opacity_agreement(&table)?;
        let warnings = warnings(&table, &found);
        if context.json {
            return Output::json(&Document {
                schema: "heatset/agreement/1",
                version: env!("CARGO_PKG_VERSION"),
                file: &table.file,
                sha256: &table.sha256,
                opacity: if table.steps { "step" } else { "ratio" },
                judgements: table.judgements.len(),
                found: &found,
                warnings: &warnings,
                invented: table.invented,
            });
        }
        Ok(Output::words(words(&table, &found)).with_warnings(&warnings))
    }
}

fn warnings(table: &OpacityTable, found: &OpacityAgreement) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if !table.unknown_columns.is_empty() {
        warnings.push(Warning::new(
            "columns_left_aside",
            format!("left aside: {}.", table.unknown_columns.join(", ")),
        ));
    }
    let all = || found.pairs.iter().chain(&found.same_reader);
    if all().any(|two| two.samples < FEW_SAMPLES) {
        warnings.push(Warning::new(
            "few_samples",
            format!(
                "fewer than {FEW_SAMPLES} samples in common: the intervals are rough, those of kappa most."
            ),
        ));
    }
    let perfect = |two: &TwoJudges| {
        two.steps
            .is_some_and(|s| s.unweighted.same_step == s.unweighted.samples)
    };
    if all().any(perfect) {
        warnings.push(Warning::new(
            "full_agreement",
            "full agreement gives kappa an interval without width, which it has not earned: go by the interval of the share.",
        ));
    }
    for two in all() {
        if let Some(why) = &two.not_told {
            warnings.push(Warning::new(
                "not_compared",
                format!("{} and {}: {why}", two.first.reader, two.second.reader),
            ));
        }
    }
    if let Some(push) = &found.push
        && (push.lots < 2 || !push.lots_named)
    {
        warnings.push(Warning::new(
            "one_lot",
            "opacity and push of one lot, or of lots that are not named: the interval leaves out what the next donor does.",
        ));
    }
    if let Some(why) = &found.push_not_told {
        warnings.push(Warning::new(
            "push_not_compared",
            format!("opacity and push: {why}"),
        ));
    }
    warnings
}

fn words(table: &OpacityTable, found: &OpacityAgreement) -> String {
    let mut text = String::new();
    if table.invented {
        text.push_str("INVENTED DATA: for learning the tool, for nothing else.\n");
    }
    let _ = writeln!(text, "{}", headline(found));
    let pairs: Vec<&TwoJudges> = found.pairs.iter().chain(&found.same_reader).collect();
    if table.steps {
        let mut kappas = TextTable::new([
            ("", Side::Left),
            ("same step", Side::Right),
            ("one apart at most", Side::Right),
            ("kappa (95 %)", Side::Left),
            ("linear", Side::Left),
            ("quadratic", Side::Left),
        ]);
        for cells in pairs.iter().filter_map(|two| kappa_cells(two)) {
            kappas.push(cells);
        }
        if pairs.iter().any(|two| two.steps.is_some()) {
            let _ = write!(text, "\n{}", kappas.text(2));
            text.push_str("  Kappa: 1 full agreement, 0 as chance. It goes with the mix of samples: compare it only on the same ones.\n");
        }
    } else {
        text.push('\n');
        for two in &pairs {
            if let Some(limits) = &two.ratios {
                let _ = writeln!(text, "  {}", limits_words(two, limits));
            }
        }
        if let (Some(set), true) = (&found.intraclass, found.readers.len() == 2) {
            let _ = writeln!(text, "  Both: {}", intraclass_words(set));
        }
    }
    if let Some(push) = &found.push {
        let _ = writeln!(text, "\n{}", push_words(push));
    }
    let _ = writeln!(
        text,
        "\nStands on: {}, {} judgements of {} samples by {} reader{}; between readers the first look counts.",
        table.file,
        table.judgements.len(),
        found.samples,
        found.readers.len(),
        if found.readers.len() == 1 { "" } else { "s" }
    );
    let _ = writeln!(text, "{CANNOT_PROVE}\n\n{}", cautions::SHORT);
    text
}
