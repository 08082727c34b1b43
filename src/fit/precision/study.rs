//! A study of other hands, blocks, places or days: which readings belong together, and what they tell.

use super::components::{ComponentFactor, VarianceComponents, variance_components};
use super::consistency::{MandelMark, mandel};
use super::crossed::{CrossedTable, crossed};
use super::error::PrecisionError;
use super::one_way::{OneWay, one_way};
use super::outliers::{OutlierTest, cochran_test, grubbs_test};
use serde::Serialize;
use std::fmt;

/// The source of scatter that an operator's way with one block is.
const BOTH: &str = "operator with block";

/// What may make two readings of the same gel differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum StudyFactor {
    /// Who heated and read.
    Operator,
    /// The heating block.
    Block,
    /// The place in it.
    Place,
    /// The day.
    Session,
}

impl StudyFactor {
    /// All of them, in the order in which a session is told.
    pub const ALL: [Self; 4] = [Self::Operator, Self::Block, Self::Place, Self::Session];

    /// The word, and the column.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Operator => "operator",
            Self::Block => "block",
            Self::Place => "place",
            Self::Session => "session",
        }
    }

    /// The word for several.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Operator => "operators",
            Self::Block => "blocks",
            Self::Place => "places",
            Self::Session => "sessions",
        }
    }
}

impl fmt::Display for StudyFactor {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.word())
    }
}

/// One reading of a study.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StudyReading {
    /// Natural logarithm of the reading, or of the reading over what was predicted of it.
    pub ln_reading: f64,
    /// What is alike in all readings of one cell: lot, heating, way of reading; in words.
    pub cell: String,
    /// Code of the lot.
    pub lot: Option<String>,
    /// Code of who read.
    pub operator: Option<String>,
    /// Code of the block.
    pub block: Option<String>,
    /// Code of the place.
    pub place: Option<String>,
    /// Code of the session.
    pub session: Option<String>,
}

impl StudyReading {
    /// Its code of a factor.
    #[must_use]
    pub fn code(&self, factor: StudyFactor) -> Option<&str> {
        match factor {
            StudyFactor::Operator => self.operator.as_deref(),
            StudyFactor::Block => self.block.as_deref(),
            StudyFactor::Place => self.place.as_deref(),
            StudyFactor::Session => self.session.as_deref(),
        }
    }
}

/// The readings of one code in one cell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupOfCell {
    /// The code.
    pub code: String,
    /// Readings.
    pub readings: usize,
    /// Mean of their logarithms.
    pub mean_ln: f64,
    /// Standard deviation of their logarithms; none with one reading.
    pub sd_ln: Option<f64>,
    /// Marks of consistency; none with fewer than three codes.
    pub mark: Option<MandelMark>,
}

/// One cell: gels heated and read alike, by several.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CellPrecision {
    /// What is alike.
    pub cell: String,
    /// The codes that took part.
    pub groups: Vec<GroupOfCell>,
    /// Repeatability and reproducibility of ln; none where nobody read twice.
    pub precision: Option<OneWay>,
    /// Whether one scatters too much; its group counts in `groups`.
    pub cochran: Option<OutlierTest>,
    /// Whether one lies too far off; its group counts in `groups`.
    pub grubbs: Option<OutlierTest>,
}

/// What a study of one factor tells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Study {
    /// The factor.
    pub factor: StudyFactor,
    /// Block where operators are asked for, operator where blocks are: held alike within a cell, where the
    /// design allows it.
    pub held_alike: Option<StudyFactor>,
    /// Its codes that share a cell with another.
    pub codes: Vec<String>,
    /// Cells that two codes or more share.
    pub cells: Vec<CellPrecision>,
    /// Cells that only one code read.
    pub cells_of_one_code: usize,
    /// Readings without a code of the factor.
    pub readings_without_code: usize,
    /// Readings used.
    pub readings: usize,
    /// Lots among them that are named.
    pub lots: usize,
    /// All cells together.
    pub pooled: OneWay,
    /// Where the scatter comes from.
    pub components: VarianceComponents,
    /// The same by mean squares, with its intervals, where operator and block are crossed and balanced.
    pub crossed: Option<CrossedTable>,
}

/// Asks readings what other hands, blocks, places or sessions do.
///
/// # Equation
/// By cell and pooled as [`one_way`]; components as [`variance_components`] of the factor asked, of
/// operator and block (each where two codes or more are there and no other has the very same groups), of both
/// together where pairs of codes were read more than once, and a rest.
///
/// # Valid for
/// Readings whose logarithms scatter alike in every cell.
///
/// # Errors
/// No code of the factor; no cell that two codes share; nobody who read twice; no scatter.
///
/// # Source
/// ISO 5725-2:1994 for the cells; ISO 5725-3:1994 for intermediate conditions (operator, equipment, time).
pub fn precision_study(
    readings: &[StudyReading],
    factor: StudyFactor,
) -> Result<Study, PrecisionError> {
    let coded: Vec<&StudyReading> = readings
        .iter()
        .filter(|r| r.code(factor).is_some())
        .collect();
    if coded.is_empty() {
        return Err(PrecisionError::NoCodes {
            what: factor.word(),
        });
    }
    let by_gel = Laid::out(&coded, factor, None);
    if by_gel.cells.is_empty() {
        return Err(PrecisionError::TooFewGroups {
            what: factor.words(),
            groups: 1,
        });
    }
    // Repeatability is of the same hands at the same block: cells are split by it where nothing is lost.
    let other = match factor {
        StudyFactor::Operator => Some(StudyFactor::Block),
        StudyFactor::Block => Some(StudyFactor::Operator),
        StudyFactor::Place | StudyFactor::Session => None,
    };
    let split = other
        .map(|other| Laid::out(&coded, factor, Some(other)))
        .filter(|split| {
            split.cells.len() > by_gel.cells.len()
                && split.used.len() == by_gel.used.len()
                && one_way(&split.grouped).is_ok()
        });
    let held_alike = other.filter(|_| split.is_some());
    let Laid {
        used,
        cells_of_one_code,
        ..
    } = by_gel.clone();
    let laid = split.unwrap_or(by_gel);
    let pooled = one_way(&laid.grouped)?;
    if pooled.mean_square_within <= 0.0 {
        return Err(PrecisionError::NoScatter);
    }
    let values: Vec<f64> = used.iter().map(|r| r.ln_reading).collect();
    let numbers = numbered(used.iter().map(|r| Some(r.cell.as_str())));
    let factors = component_factors(&used, factor);
    let table = match factors.as_slice() {
        [one, two, pair] if one.name == "operator" && two.name == "block" && pair.name == BOTH => {
            crossed(&values, &numbers, &one.codes, &two.codes)?
        }
        _ => None,
    };
    Ok(Study {
        factor,
        held_alike,
        codes: sorted(used.iter().filter_map(|r| r.code(factor))),
        cells: laid.cells,
        cells_of_one_code,
        readings_without_code: readings.len() - coded.len(),
        readings: used.len(),
        lots: distinct(used.iter().filter_map(|r| r.lot.as_deref())).len(),
        pooled,
        components: variance_components(&values, &numbers, &factors)?,
        crossed: table,
    })
}

/// Readings laid out in cells and groups.
#[derive(Clone)]
struct Laid<'a> {
    cells: Vec<CellPrecision>,
    grouped: Vec<Vec<Vec<f64>>>,
    used: Vec<&'a StudyReading>,
    cells_of_one_code: usize,
}

impl<'a> Laid<'a> {
    /// Cells that two codes or more share; within one code of another factor, where one is named.
    fn out(coded: &[&'a StudyReading], factor: StudyFactor, within: Option<StudyFactor>) -> Self {
        let mut laid = Self {
            cells: Vec::new(),
            grouped: Vec::new(),
            used: Vec::new(),
            cells_of_one_code: 0,
        };
        let named: Vec<(String, &StudyReading)> = coded
            .iter()
            .filter_map(|r| {
                Some(match within {
                    None => (r.cell.clone(), *r),
                    Some(other) => (format!("{}, {other} {}", r.cell, r.code(other)?), *r),
                })
            })
            .collect();
        for cell in distinct(named.iter().map(|(cell, _)| cell.as_str())) {
            let of_cell: Vec<&StudyReading> = named
                .iter()
                .filter(|(name, _)| name == cell)
                .map(|(_, r)| *r)
                .collect();
            let codes = sorted(of_cell.iter().filter_map(|r| r.code(factor)));
            if codes.len() < 2 {
                laid.cells_of_one_code += 1;
                continue;
            }
            let groups: Vec<Vec<f64>> = codes
                .iter()
                .map(|code| {
                    of_cell
                        .iter()
                        .filter(|r| r.code(factor) == Some(code.as_str()))
                        .map(|r| r.ln_reading)
                        .collect()
                })
                .collect();
            laid.cells.push(cell_precision(cell, &codes, &groups));
            laid.grouped.push(groups);
            laid.used.extend(of_cell);
        }
        laid
    }
}

fn cell_precision(cell: &str, codes: &[String], groups: &[Vec<f64>]) -> CellPrecision {
    let marks = mandel(groups);
    CellPrecision {
        cell: cell.to_owned(),
        groups: codes
            .iter()
            .zip(groups)
            .enumerate()
            .map(|(place, (code, values))| {
                let n = values.len() as f64;
                let mean = values.iter().sum::<f64>() / n;
                let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
                GroupOfCell {
                    code: code.clone(),
                    readings: values.len(),
                    mean_ln: mean,
                    sd_ln: (values.len() > 1).then(|| (squares / (n - 1.0)).sqrt()),
                    mark: marks.as_ref().and_then(|m| m.get(place).copied()),
                }
            })
            .collect(),
        precision: one_way(&[groups.to_vec()]).ok(),
        cochran: cochran_test(groups),
        grubbs: grubbs_test(groups),
    }
}

/// The factor asked, operator and block beside it, and both together.
fn component_factors(used: &[&StudyReading], asked: StudyFactor) -> Vec<ComponentFactor> {
    let mut factors: Vec<ComponentFactor> = Vec::new();
    for factor in StudyFactor::ALL {
        let beside = matches!(factor, StudyFactor::Operator | StudyFactor::Block);
        if factor != asked && !beside {
            continue;
        }
        let complete = used.iter().all(|r| r.code(factor).is_some());
        let codes = numbered(used.iter().map(|r| r.code(factor)));
        let levels = codes.iter().max().map_or(0, |m| m + 1);
        // Two factors with the same groups cannot be told apart: the one asked is kept.
        let same = factors
            .iter()
            .position(|known| same_groups(&known.codes, &codes));
        if !complete || levels < 2 {
            continue;
        }
        let new = ComponentFactor {
            name: factor.word().to_owned(),
            codes,
        };
        match same {
            Some(place) if factor == asked => factors[place] = new,
            Some(_) => {}
            None => factors.push(new),
        }
    }
    let place = |name: &str| factors.iter().position(|f| f.name == name);
    if let (Some(operator), Some(block)) = (place("operator"), place("block")) {
        let pairs = numbered_pairs(&factors[operator].codes, &factors[block].codes);
        let levels = pairs.iter().max().map_or(0, |m| m + 1);
        let alone = |f: &ComponentFactor| same_groups(&f.codes, &pairs);
        if levels < pairs.len() && !factors.iter().any(alone) {
            factors.push(ComponentFactor {
                name: BOTH.to_owned(),
                codes: pairs,
            });
        }
    }
    factors
}

/// Whether two codings put the readings into the same groups.
fn same_groups(one: &[usize], other: &[usize]) -> bool {
    let levels = |codes: &[usize]| codes.iter().max().map_or(0, |m| m + 1);
    let pairs = levels(&numbered_pairs(one, other));
    pairs == levels(one) && pairs == levels(other)
}

fn numbered_pairs(one: &[usize], other: &[usize]) -> Vec<usize> {
    let mut seen: Vec<(usize, usize)> = Vec::new();
    one.iter()
        .zip(other)
        .map(
            |(a, b)| match seen.iter().position(|known| known == &(*a, *b)) {
                Some(place) => place,
                None => {
                    seen.push((*a, *b));
                    seen.len() - 1
                }
            },
        )
        .collect()
}

/// Numbers for codes, in the order in which they first stand there; no code is a code of its own.
fn numbered<'a>(codes: impl Iterator<Item = Option<&'a str>>) -> Vec<usize> {
    let mut seen: Vec<Option<&str>> = Vec::new();
    codes
        .map(|code| match seen.iter().position(|known| *known == code) {
            Some(place) => place,
            None => {
                seen.push(code);
                seen.len() - 1
            }
        })
        .collect()
}

pub(super) fn distinct<'a>(texts: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut seen = Vec::new();
    for text in texts {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen
}

pub(super) fn sorted<'a>(texts: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut all: Vec<String> = distinct(texts).into_iter().map(str::to_owned).collect();
    all.sort();
    all
}
