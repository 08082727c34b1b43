//! The sheet itself: one document that every form of it is written from.

use super::blend::{BlendContents, Protein, ProteinDilution, blend_contents, diluted_protein};
use super::buffer::{BufferStoichiometry, stoichiometry};
use super::centrifuge::{
    relative_centrifugal_force_ratio, speed_for_relative_centrifugal_force_per_s,
};
use super::codes::{lot_code, place_code};
use super::cost::{Cost, Used, cost};
use super::error::SheetError;
use super::question::{AcdAsked, SheetQuestion, SpinStated};
use super::turns::{BlockService, syringes_a_turn, turns};
use super::volumes::{VolumesOnSheet, volumes};
use crate::fit::Warning;
use crate::fit::standing::StandingForm;
use crate::plan::{
    Assumptions, AtStorage, ForceAnswer, ForceSpread, ThinningConsequence, WINDOW_PROBABILITY,
    Window,
};
use crate::reference::PushBand;
use crate::units::clock::clock_words;
use crate::units::display;
use serde::Serialize;

/// What a clock on a bench is read to, in s: cooling is rounded up to it.
const COOLING_STEP_S: f64 = 10.0;
/// How much the same probability may differ between two sets of draws.
const REDRAWN: f64 = 0.01;

/// Centrifuge, as far as it was stated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpinOnSheet {
    /// Speed, in revolutions a second; null where neither stated nor to be had.
    pub speed_per_s: Option<f64>,
    /// Radius of the rotor, in m.
    pub rotor_radius_m: Option<f64>,
    /// Relative centrifugal force.
    pub relative_centrifugal_force_ratio: f64,
}

/// Heat of every syringe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HeatOnSheet {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// What the block is set to, in K: other than the former where a check of the block was given.
    #[serde(rename = "block_set_temp_K")]
    pub block_set_temp_k: f64,
    /// Heat time on the clock, in s.
    pub heat_time_s: f64,
    /// Whether it was stated, rather than the aim of the answer rounded to the safe side.
    pub is_stated: bool,
    /// The window, in s; null where the heat time was stated.
    pub window_s: Option<Window>,
    /// Core as it leaves the block, in K.
    #[serde(rename = "gel_temp_K")]
    pub gel_temp_k: f64,
    /// From the block until the core is cool enough, in s; null where the air is too warm.
    pub cool_time_s: Option<f64>,
    /// The same in a strong fan's air and in still air, in s.
    pub cool_time_s_range: Option<[f64; 2]>,
    /// Cool enough is under this, in K.
    #[serde(rename = "cool_until_K")]
    pub cool_until_k: f64,
}

/// The push that is expected.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PushOnSheet {
    /// Needle.
    pub needle: String,
    /// Gauge; null where the bore was given.
    pub gauge: Option<u8>,
    /// Plunger force, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: ForceSpread,
    /// How hard a hand finds it, by the published bands.
    pub hand_band: PushBand,
    /// Limit that was asked, in N.
    #[serde(rename = "force_limit_N")]
    pub force_limit_n: f64,
    /// Probability of staying under it.
    pub passing_probability: f64,
    /// The push without thinning and with it, where the flow index is not fitted.
    pub if_flow_index: Vec<ThinningConsequence>,
}

/// The block.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BlockOnSheet {
    /// Places.
    pub places: usize,
    /// Syringes in one turn: fewer than the places where the hands would not be free.
    pub syringes_a_turn: usize,
    /// Turns.
    pub turns: usize,
    /// From one syringe to the next, in s.
    pub handling_s: f64,
    /// Between two turns, in s.
    pub between_turns_s: f64,
}

/// One syringe.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SyringeOnSheet {
    /// Code of turn and place.
    pub code: String,
    /// Turn of the block, from 1.
    pub turn: usize,
    /// Place in it, from 1.
    pub place: usize,
    /// Into the block, in s from the start.
    pub in_s: f64,
    /// Out of it, in s from the start.
    pub out_s: f64,
    /// Cooling until, in s from the start; null where the air does not cool it.
    pub cool_until_s: Option<f64>,
    /// The same on the clock.
    pub in_at: String,
    /// The same on the clock.
    pub out_at: String,
    /// The same on the clock.
    pub cool_until_at: Option<String>,
}

/// Until when the needle passes what stands; never a shelf life.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandingOnSheet {
    /// One a storage temperature.
    pub at: Vec<AtStorage>,
    /// How the gel goes on thickening.
    pub form: StandingForm,
    /// What these times are, and what they are not.
    pub meaning: &'static str,
}

/// A run sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunSheet {
    /// The calibration's file.
    pub calibration: String,
    /// Blend.
    pub blend: String,
    /// Code of the lot; null where none was given.
    pub lot_code: Option<String>,
    /// Whether the readings behind it are invented.
    pub invented: bool,
    /// Whether it lies outside what was measured.
    pub extrapolated: bool,
    /// Start on the clock.
    pub start_at: String,
    /// The last syringe is out of the block, on the clock.
    pub end_at: String,
    /// Volumes.
    pub volumes: VolumesOnSheet,
    /// Centrifuge; null where nothing was stated.
    pub spin: Option<SpinOnSheet>,
    /// Hyaluronic acid.
    pub contents: BlendContents,
    /// Protein.
    pub protein: Protein,
    /// Stoichiometry of the anticoagulant; null where it was not asked for.
    pub buffer: Option<BufferStoichiometry>,
    /// Heat.
    pub heat: HeatOnSheet,
    /// Push.
    pub push: PushOnSheet,
    /// Standing; null where the calibration holds no readings after standing, or the gel does not pass
    /// at once.
    pub standing: Option<StandingOnSheet>,
    /// Block.
    pub block: BlockOnSheet,
    /// Syringes, in the order in which they go in.
    pub syringes: Vec<SyringeOnSheet>,
    /// Cost; null without a price list.
    pub cost: Option<Cost>,
    /// What the answer about the push takes for granted.
    pub assumptions: Assumptions,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// Puts a sheet together from what was asked and the answer about the push at its heat time.
///
/// # Errors
/// A lot that is no code; volumes that [`volumes`] refuses; a heat time after which fewer than
/// 19 syringes of 20 pass; an answer without a needle counts as that.
pub fn run_sheet(question: &SheetQuestion, push: ForceAnswer) -> Result<RunSheet, SheetError> {
    let lot = question.lot_code.as_deref().map(lot_code).transpose()?;
    let on_push = passing(question, &push)?;
    let volumes = volumes(question)?;
    let service = BlockService {
        places: question.places,
        heat_time_s: question.heat_time_s,
        handling_s: question.handling_s,
        between_turns_s: question.between_turns_s,
        cool_time_s: push
            .hand_over
            .cool_time_s
            .map(|s| (s / COOLING_STEP_S - 1e-9).ceil().max(0.0) * COOLING_STEP_S),
    };
    let at = |from_start_s: f64| clock_words(question.start_s + from_start_s);
    let syringes: Vec<SyringeOnSheet> = turns(volumes.syringes, &service)
        .into_iter()
        .map(|planned| SyringeOnSheet {
            code: place_code(planned.turn, planned.place),
            turn: planned.turn,
            place: planned.place,
            in_s: planned.in_s,
            out_s: planned.out_s,
            cool_until_s: planned.cool_until_s,
            in_at: at(planned.in_s),
            out_at: at(planned.out_s),
            cool_until_at: planned.cool_until_s.map(at),
        })
        .collect();
    let block = BlockOnSheet {
        places: question.places,
        syringes_a_turn: syringes_a_turn(&service),
        turns: syringes.last().map_or(0, |s| s.turn),
        handling_s: question.handling_s,
        between_turns_s: question.between_turns_s,
    };
    let protein = diluted_protein(
        question.blend.protein_kg_per_m3,
        &ProteinDilution {
            own_plasma_fraction: volumes.own_plasma_fraction.unwrap_or(1.0),
            plasma_m3: volumes.plasma_m3,
            buffer_m3: volumes.buffer_m3,
            ha_fraction: question.blend.ha_fraction,
        },
    );
    let standing = question.standing.clone();
    let extrapolated = push.assumptions.extrapolated
        || standing
            .as_ref()
            .is_some_and(|s| s.at.iter().any(|at| at.extrapolated));
    let mut warnings = push.warnings;
    for warning in standing.iter().flat_map(|s| &s.warnings) {
        if warnings.iter().all(|known| known.code != warning.code) {
            warnings.push(warning.clone());
        }
    }
    warnings.extend(own_warnings(question, &volumes, &block));
    let used = Used {
        syringes: volumes.syringes,
        ha_solution_m3: volumes.ha_solution_m3,
        buffer_m3: volumes.buffer_m3,
        anticoagulant_m3: volumes.anticoagulant_m3,
        plasma_m3: volumes.plasma_m3,
    };
    Ok(RunSheet {
        calibration: question.calibration.clone(),
        blend: push.assumptions.blend.clone(),
        lot_code: lot,
        invented: push.assumptions.invented,
        extrapolated,
        start_at: at(0.0),
        end_at: at(syringes.last().map_or(0.0, |s| s.out_s)),
        spin: spin(&question.spin),
        contents: blend_contents(
            question.blend.ha_fraction,
            question.blend.ha_solution_kg_per_m3,
            question.blend.ha_molar_mass_kg_per_mol,
        ),
        protein,
        buffer: acd_a_m3(question, &volumes).map(|v| stoichiometry(v, question.room_kelvin)),
        heat: HeatOnSheet {
            heat_temp_k: push.heat_temp_k,
            block_set_temp_k: question.block_set_kelvin,
            heat_time_s: question.heat_time_s,
            is_stated: question.heat_time_is_stated,
            window_s: question.window,
            gel_temp_k: push.hand_over.gel_temp_k,
            cool_time_s: push.hand_over.cool_time_s,
            cool_time_s_range: push.hand_over.cool_time_s_range,
            cool_until_k: question.cool_until_kelvin,
        },
        push: on_push,
        standing: standing
            .filter(|s| s.passes_at_once)
            .map(|s| StandingOnSheet {
                at: s.at,
                form: s.form,
                meaning: s.meaning,
            }),
        block,
        cost: question.prices.as_ref().map(|list| cost(list, &used)),
        volumes,
        syringes,
        assumptions: push.assumptions,
        warnings,
    })
}

/// The push of the sheet, if it stays under the limit in 19 syringes of 20.
fn passing(question: &SheetQuestion, push: &ForceAnswer) -> Result<PushOnSheet, SheetError> {
    let label = question.setup.needle.label();
    let limit_n = question.setup.force_limit_n;
    let Some(needle) = push.needles.first() else {
        return Err(SheetError::DoesNotPass {
            heat_time_s: question.heat_time_s,
            set_kelvin: push.heat_temp_k,
            needle: label,
            median_n: f64::NAN,
            low_n: f64::NAN,
            high_n: f64::NAN,
            limit_n,
            passing_probability: 0.0,
        });
    };
    let force = needle.plunger_force_n;
    // The aim passes by its own answer; its push is drawn again, and may come out a hair under.
    let least = if question.heat_time_is_stated {
        WINDOW_PROBABILITY
    } else {
        WINDOW_PROBABILITY - REDRAWN
    };
    if needle.probability < least {
        return Err(SheetError::DoesNotPass {
            heat_time_s: question.heat_time_s,
            set_kelvin: push.heat_temp_k,
            needle: label,
            median_n: force.median,
            low_n: force.interval95[0],
            high_n: force.interval95[1],
            limit_n,
            passing_probability: needle.probability,
        });
    }
    Ok(PushOnSheet {
        needle: label,
        gauge: needle.gauge,
        plunger_force_n: force,
        hand_band: needle.hand_band,
        force_limit_n: limit_n,
        passing_probability: needle.probability,
        if_flow_index: push.if_flow_index.clone(),
    })
}

/// What a centrifuge does, as far as it can be had from what was stated.
fn spin(stated: &SpinStated) -> Option<SpinOnSheet> {
    let ratio = match (stated.relative_centrifugal_force_ratio, stated.speed_per_s) {
        (Some(ratio), _) => ratio,
        (None, Some(speed)) => relative_centrifugal_force_ratio(speed, stated.radius_m?),
        (None, None) => return None,
    };
    Some(SpinOnSheet {
        speed_per_s: stated.speed_per_s.or_else(|| {
            Some(speed_for_relative_centrifugal_force_per_s(
                ratio,
                stated.radius_m?,
            ))
        }),
        rotor_radius_m: stated.radius_m,
        relative_centrifugal_force_ratio: ratio,
    })
}

fn acd_a_m3(question: &SheetQuestion, volumes: &VolumesOnSheet) -> Option<f64> {
    match question.buffer.acd_a? {
        AcdAsked::VolumeM3(volume_m3) => Some(volume_m3),
        AcdAsked::InPlasma => volumes.anticoagulant_in_plasma_m3,
    }
}

fn own_warnings(
    question: &SheetQuestion,
    volumes: &VolumesOnSheet,
    block: &BlockOnSheet,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if block.syringes_a_turn < block.places && block.syringes_a_turn < volumes.syringes {
        warnings.push(Warning::new(
            "hands_not_free",
            format!(
                "Only {} of {} places are used in a turn: at {} a syringe the hands are not free for more before the first comes out.",
                block.syringes_a_turn,
                block.places,
                display::duration(block.handling_s)
            ),
        ));
    }
    if !question.blend.fraction_is_known {
        warnings.push(Warning::new(
            "ha_fraction_unknown",
            "The calibration does not say how much hyaluronic acid solution this blend holds, so none is counted in the volumes. What helps: --ha-share 0.2, or a column ha_fraction in the bench table.",
        ));
    }
    let buffered = volumes.buffer_m3 > 0.0 || question.buffer.acd_a.is_some();
    if buffered {
        warnings.push(Warning::new(
            "gas_before_cap",
            "Bicarbonate frees carbon dioxide: all of it must leave before the cap goes on. A closed syringe with gas in it builds up pressure when it is heated.",
        ));
        warnings.push(Warning::new(
            "buffer_moves_setting",
            "The calibration holds for the buffer, anticoagulant and protein of its bench; others set at another pace.",
        ));
    }
    warnings
}
