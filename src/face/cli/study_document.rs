//! A study as JSON.

use crate::face::precision_words::ScatterSource;
use crate::fit::Warning;
use crate::fit::precision::{
    AgreeVerdict, Comparison, OneWay, OutlierTest, Pairing, Study, StudyFactor,
};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct StudyDocument<'a> {
    schema: &'static str,
    version: &'static str,
    from: &'a str,
    through: Option<&'a str>,
    of: StudyFactor,
    held_alike: Option<StudyFactor>,
    codes: &'a [String],
    readings: usize,
    readings_without_code: usize,
    lots: usize,
    scatter: Vec<SourceDocument<'a>>,
    pooled: PrecisionDocument,
    cells: Vec<CellDocument<'a>>,
    cells_of_one_code: usize,
    comparisons: Vec<ComparisonDocument<'a>>,
    warnings: &'a [Warning],
    invented: bool,
}

#[derive(Serialize)]
struct SourceDocument<'a> {
    source: &'a str,
    levels: usize,
    share_ratio: f64,
    sd_ln: f64,
    sd_ln_interval95: (f64, Option<f64>),
    interval_method: &'static str,
}

#[derive(Serialize)]
struct PrecisionDocument {
    cells: usize,
    groups: usize,
    readings: usize,
    readings_per_group: f64,
    repeatability_sd_ln: f64,
    repeatability_sd_ln_interval95: Option<[f64; 2]>,
    between_sd_ln: f64,
    between_sd_ln_interval95: Option<[f64; 2]>,
    reproducibility_sd_ln: f64,
    reproducibility_sd_ln_interval95: Option<[f64; 2]>,
    between_share_ratio: f64,
    between_share_ratio_interval95: Option<[f64; 2]>,
    degrees_of_freedom: [usize; 2],
    no_difference_p: Option<f64>,
    balanced: bool,
}

#[derive(Serialize)]
struct CellDocument<'a> {
    cell: &'a str,
    groups: Vec<GroupDocument<'a>>,
    precision: Option<PrecisionDocument>,
    cochran: Option<TestDocument<'a>>,
    grubbs: Option<TestDocument<'a>>,
}

#[derive(Serialize)]
struct GroupDocument<'a> {
    code: &'a str,
    readings: usize,
    mean_ln: f64,
    sd_ln: Option<f64>,
    mandel_h: Option<f64>,
    mandel_k: Option<f64>,
}

#[derive(Serialize)]
struct TestDocument<'a> {
    code: &'a str,
    #[serde(flatten)]
    test: OutlierTest,
}

#[derive(Serialize)]
struct ComparisonDocument<'a> {
    tested: &'a str,
    reference: &'a str,
    verdict: AgreeVerdict,
    margin_ratio: f64,
    allowed_ratio: [f64; 2],
    ratio: f64,
    ratio_interval90: [f64; 2],
    ratio_interval95: [f64; 2],
    p: f64,
    p_lower: f64,
    p_upper: f64,
    pairing: Pairing,
    pairs: usize,
    readings_tested: usize,
    readings_reference: usize,
    sd_ln: f64,
    degrees_of_freedom: f64,
    power_ratio: f64,
    needed_if_alike: Option<usize>,
    needed_if_as_seen: Option<usize>,
    needed_unit: &'static str,
}

impl PrecisionDocument {
    fn of(found: &OneWay) -> Self {
        Self {
            cells: found.cells,
            groups: found.groups,
            readings: found.readings,
            readings_per_group: found.readings_per_group,
            repeatability_sd_ln: found.repeatability_sd,
            repeatability_sd_ln_interval95: found.repeatability_interval95,
            between_sd_ln: found.between_sd,
            between_sd_ln_interval95: found.between_interval95,
            reproducibility_sd_ln: found.reproducibility_sd,
            reproducibility_sd_ln_interval95: found.reproducibility_interval95,
            between_share_ratio: found.between_share_ratio,
            between_share_ratio_interval95: found.between_share_interval95,
            degrees_of_freedom: [found.degrees_between, found.degrees_within],
            no_difference_p: found.no_difference_p,
            balanced: found.balanced,
        }
    }
}

impl<'a> StudyDocument<'a> {
    #[allow(clippy::too_many_arguments)]
    pub(super) fn of(
        study: &'a Study,
        sources: &'a [ScatterSource],
        comparisons: &'a [Comparison],
        margin_ratio: Option<f64>,
        from: &'a str,
        through: Option<&'a str>,
        warnings: &'a [Warning],
        invented: bool,
    ) -> Self {
        Self {
            schema: "heatset/study/1",
            version: env!("CARGO_PKG_VERSION"),
            from,
            through,
            of: study.factor,
            held_alike: study.held_alike,
            codes: &study.codes,
            readings: study.readings,
            readings_without_code: study.readings_without_code,
            lots: study.lots,
            scatter: sources
                .iter()
                .map(|s| SourceDocument {
                    source: &s.name,
                    levels: s.levels,
                    share_ratio: s.share_ratio,
                    sd_ln: s.sd_ln,
                    sd_ln_interval95: s.sd_ln_interval95,
                    interval_method: s.interval_method,
                })
                .collect(),
            pooled: PrecisionDocument::of(&study.pooled),
            cells: study
                .cells
                .iter()
                .map(|cell| {
                    let test = |found: Option<OutlierTest>| {
                        found.map(|test| TestDocument {
                            code: cell.groups.get(test.group).map_or("", |g| g.code.as_str()),
                            test,
                        })
                    };
                    CellDocument {
                        cell: &cell.cell,
                        groups: cell
                            .groups
                            .iter()
                            .map(|g| GroupDocument {
                                code: &g.code,
                                readings: g.readings,
                                mean_ln: g.mean_ln,
                                sd_ln: g.sd_ln,
                                mandel_h: g.mark.map(|m| m.h),
                                mandel_k: g.mark.and_then(|m| m.k),
                            })
                            .collect(),
                        precision: cell.precision.as_ref().map(PrecisionDocument::of),
                        cochran: test(cell.cochran),
                        grubbs: test(cell.grubbs),
                    }
                })
                .collect(),
            cells_of_one_code: study.cells_of_one_code,
            comparisons: comparisons
                .iter()
                .map(|c| ComparisonDocument {
                    tested: &c.tested,
                    reference: &c.reference,
                    verdict: c.verdict,
                    margin_ratio: margin_ratio.unwrap_or_default(),
                    allowed_ratio: c.margin_ratios,
                    ratio: c.ratio,
                    ratio_interval90: c.ratio_interval90,
                    ratio_interval95: c.ratio_interval95,
                    p: c.tests.p,
                    p_lower: c.tests.p_lower,
                    p_upper: c.tests.p_upper,
                    pairing: c.pairing,
                    pairs: c.pairs,
                    readings_tested: c.readings_tested,
                    readings_reference: c.readings_reference,
                    sd_ln: c.sd_ln,
                    degrees_of_freedom: c.degrees_of_freedom,
                    power_ratio: c.power_ratio,
                    needed_if_alike: c.needed_if_alike,
                    needed_if_as_seen: c.needed_if_as_seen,
                    needed_unit: if c.pairing == Pairing::WithinCells {
                        "readings on each side"
                    } else {
                        "pairs"
                    },
                })
                .collect(),
            warnings,
            invented,
        }
    }
}
