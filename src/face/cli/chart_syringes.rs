//! What the chart of syringes is asked with.

use super::CliError;
use super::push_arguments::PushArguments;
use super::question_arguments::QuestionArguments;
use crate::face::drawings::{SyringeDrawn, SyringesDrawing};
use crate::fit::BlendCalibration;
use crate::plan::{BarrelUsed, Heated, syringe_of};
use crate::reference::block_contact;
use crate::thermal::{DeclaredHistory, DeclaredSyringe, HistorySource, WarmUp};
use crate::units::{self, display};
use clap::Args;

/// Syringes that are compared where none is named: polypropylene.
const USUAL_SYRINGES: [&str; 4] = ["1mL", "3mL", "5mL", "10mL"];

/// Syringes, and what they are compared at where no needle is named.
#[derive(Debug, Args)]
#[command(next_help_heading = "Chart of syringes")]
pub(super) struct SyringesArguments {
    /// Syringes to compare [default: 1mL,3mL,5mL,10mL]
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',')]
    syringes: Vec<String>,
    /// For syringes without a needle: compare when each reads what the smallest reads after this time;
    /// for the history chart: the time in the block
    #[arg(long, value_name = "TIME", value_parser = units::duration_s)]
    pub(super) heat_time: Option<f64>,
}

impl SyringesArguments {
    /// The usual syringes, compared at what the smallest reads after a heat time.
    pub(super) const fn usual(heat_time_s: f64) -> Self {
        Self {
            syringes: Vec::new(),
            heat_time: Some(heat_time_s),
        }
    }

    /// The drawing that is asked for.
    pub(super) fn drawing(
        &self,
        blend: &BlendCalibration,
        question: &QuestionArguments,
        push: &PushArguments,
        set_kelvin: f64,
        extrapolated: bool,
    ) -> Result<SyringesDrawing, CliError> {
        if push.names_barrel() {
            return Err(CliError::question(
                "This chart compares syringes, and one alone was named.\nWhat helps: --syringes 1mL,5mL",
            ));
        }
        let needle = push.needle()?;
        let heat_time_s = self.level(blend, needle.is_some(), question.extrapolate)?;
        let barrels = self.barrels()?;
        let mut syringes = Vec::with_capacity(barrels.len());
        let mut of_smallest = None;
        for barrel in barrels {
            let heated = heated_in(blend, question, &barrel)?;
            let (warm_up, declared) = declared_in(heated.warm_up, &barrel)?;
            of_smallest.get_or_insert(declared);
            syringes.push(SyringeDrawn {
                name: name_of(&barrel),
                warm_up,
                contact_histories: heated.contact_histories,
                setup: needle
                    .clone()
                    .map(|needle| push.setup_in(needle, barrel))
                    .transpose()?,
            });
        }
        let contact_range_words = if syringes.iter().any(|one| !one.contact_histories.is_empty()) {
            let (low, high) = block_contact()?.coefficient_range_w_per_m2_kelvin;
            format!(
                "{} to {} W/m²K",
                display::significant(low, 2),
                display::significant(high, 2)
            )
        } else {
            String::new()
        };
        Ok(SyringesDrawing {
            set_kelvin,
            syringes,
            heat_time_s,
            heating_words: of_smallest.map_or_else(String::new, |found| heating_words(&found)),
            contact_range_words,
            thinning: question.stated_thinning(),
            extrapolated,
        })
    }

    /// The heat time of the smallest syringe; none where a needle is named.
    fn level(
        &self,
        blend: &BlendCalibration,
        needle_named: bool,
        extrapolate: bool,
    ) -> Result<Option<f64>, CliError> {
        match (self.heat_time, needle_named) {
            (None, true) => Ok(None),
            (Some(_), true) => Err(CliError::question(
                "The syringes are compared at the force limit of a needle, or at what the smallest reads after a heat time; both were named.\nWhat helps: leave --heat-time or the needle out",
            )),
            (None, false) => Err(CliError::question(
                "Nothing says what the syringes are compared at.\nWhat helps: --heat-time 6min, after which the gel in the smallest syringe is as it should be; or a needle, --gauge 27",
            )),
            (Some(heat_time_s), false) => {
                let [low_s, high_s] = blend.range.heat_time_s;
                let outside =
                    heat_time_s < low_s * (1.0 - 1e-9) || heat_time_s > high_s * (1.0 + 1e-9);
                if outside && !extrapolate {
                    return Err(CliError::question(format!(
                        "{} lies outside the measured heat times ({} to {}).\nWhat helps: ask within them; or --extrapolate, and the chart will say so",
                        display::duration(heat_time_s),
                        display::duration(low_s),
                        display::duration(high_s)
                    )));
                }
                Ok(Some(heat_time_s))
            }
        }
    }

    /// The syringes, the smallest bore first, none twice.
    fn barrels(&self) -> Result<Vec<BarrelUsed>, CliError> {
        let named: Vec<String> = if self.syringes.is_empty() {
            USUAL_SYRINGES.map(str::to_owned).to_vec()
        } else {
            // '5 mL' and '5mL' are the same syringe.
            let squeezed = self.syringes.iter();
            squeezed.map(|n| n.split_whitespace().collect()).collect()
        };
        let mut barrels = named
            .iter()
            .map(|name| Ok(BarrelUsed::of_syringe(name)?))
            .collect::<Result<Vec<_>, CliError>>()?;
        barrels.sort_by(|a, b| a.bore_m.total_cmp(&b.bore_m));
        barrels.dedup_by(|a, b| a.syringe == b.syringe);
        Ok(barrels)
    }
}

/// '5 mL'; '1 mL-long glass' as the tables name it.
fn name_of(barrel: &BarrelUsed) -> String {
    barrel
        .syringe
        .as_ref()
        .map_or_else(|| barrel.label(), |name| name.replace("mL", " mL"))
}

/// How the gel warms up in a syringe: as in the bench's own where that was one, carried over to
/// this; else by conduction from what the tables say.
fn heated_in(
    blend: &BlendCalibration,
    question: &QuestionArguments,
    barrel: &BarrelUsed,
) -> Result<Heated, CliError> {
    let of_syringe = blend
        .history
        .as_ref()
        .is_some_and(|history| matches!(history.source, HistorySource::Syringe(_)));
    if of_syringe {
        return question.heated(blend, barrel);
    }
    let table = syringe_of(barrel)?;
    let as_if = BlendCalibration {
        history: Some(DeclaredHistory {
            source: HistorySource::Syringe(table.clone()),
            start_kelvin: blend.start_temp_k,
            cooling: None,
        }),
        ..blend.clone()
    };
    let mut heated = question.heated(&as_if, barrel)?;
    // The bench tells nothing of this syringe's contact, unless the question states it.
    let stated = question.heating.stated(None, None)?.contact_w_per_m2_kelvin;
    if let (None, Some(WarmUp::Sampled(history))) = (stated, &heated.warm_up) {
        let range = block_contact()?.coefficient_range_w_per_m2_kelvin;
        let over = history.declared().over_contact(range);
        heated.contact_histories = over.map_err(|e| CliError::question(e.to_string()))?;
    }
    Ok(heated)
}

/// A warm-up by conduction in this very syringe; anything else was stated by mistake.
fn declared_in(
    warm_up: Option<WarmUp>,
    barrel: &BarrelUsed,
) -> Result<(WarmUp, (DeclaredSyringe, DeclaredHistory)), CliError> {
    if let Some(WarmUp::Sampled(history)) = &warm_up
        && let HistorySource::Syringe(syringe) = &history.declared().source
        && syringe.bore_m == barrel.bore_m
    {
        let found = (syringe.clone(), history.declared().clone());
        return Ok((WarmUp::Sampled(history.clone()), found));
    }
    Err(CliError::question(
        "This chart computes the warm-up of every syringe itself, by conduction in gel and wall.\nWhat helps: leave --warm-up out",
    ))
}

/// What is assumed of block, start and cooling.
fn heating_words((syringe, declared): &(DeclaredSyringe, DeclaredHistory)) -> String {
    let cooled = declared.cooling.map_or_else(String::new, |cooling| {
        format!(
            ", and {} of cooling in air of {}",
            display::duration(cooling.cool_time_s),
            display::temperature(cooling.ambient_kelvin)
        )
    });
    format!(
        "warm-up by conduction from {} (contact {} W/m²K){cooled}",
        display::temperature(declared.start_kelvin),
        display::significant(syringe.contact_w_per_m2_kelvin, 2)
    )
}
