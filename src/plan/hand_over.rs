//! How hot the gel leaves the block, and how long until it may be handed on.

use super::error::PlanError;
use super::heated::syringe_of;
use super::setup::BarrelUsed;
use crate::reference::{constants::ZERO_CELSIUS_KELVIN, default_air};
use crate::thermal::conduction::unit_heating;
use crate::thermal::{
    CoreUntil, DeclaredSyringe, HistorySource, SyringeModel, SyringeSetup, TemperatureHistory,
    WarmUp, cool_time,
};
use serde::Serialize;

/// What a question says of the cooling after the block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoolingAsked {
    /// The core must be under this, in K.
    pub until_kelvin: f64,
    /// Temperature of the air, in K.
    pub ambient_kelvin: f64,
    /// Coefficient between barrel and air, in W/m2/K, where it is known.
    pub air_w_per_m2_kelvin: Option<f64>,
}

impl Default for CoolingAsked {
    /// Until 37 °C in a room of 22 °C, how the air moves not known.
    fn default() -> Self {
        Self {
            until_kelvin: ZERO_CELSIUS_KELVIN + 37.0,
            ambient_kelvin: ZERO_CELSIUS_KELVIN + 22.0,
            air_w_per_m2_kelvin: None,
        }
    }
}

/// The gel after a heat time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HandOver {
    /// Temperature of the core as it is handed over, in K: at the end of the cooling that counts,
    /// else as it leaves the block.
    #[serde(rename = "gel_temp_K")]
    pub gel_temp_k: f64,
    /// From the end of heating until the core is cool enough, in s; nothing where the air is not
    /// cool enough itself.
    pub cool_time_s: Option<f64>,
    /// The same in air that moves much and hardly, in s.
    pub cool_time_s_range: Option<[f64; 2]>,
}

/// The gel after a heat time, by conduction in its syringe.
///
/// # Valid for
/// A barrel in air all round, of the syringe that the history was computed in, else of the push.
/// Where the history tells only a mean temperature, the gel starts cooling from that throughout.
///
/// # Errors
/// A syringe that heat cannot be computed in.
pub fn hand_over(
    warm_up: &WarmUp,
    barrel: &BarrelUsed,
    set_kelvin: f64,
    heat_time_s: f64,
    asked: &CoolingAsked,
) -> Result<HandOver, PlanError> {
    let declared = warm_up.as_sampled().map(|history| history.declared());
    let of_history = declared.and_then(|declared| match &declared.source {
        HistorySource::Syringe(syringe) => Some(syringe.clone()),
        HistorySource::Schedule { syringe, .. } => syringe.clone(),
        HistorySource::Lag { .. } | HistorySource::Trace { .. } => None,
    });
    let syringe = match &of_history {
        Some(syringe) => syringe.clone(),
        None => syringe_of(barrel)?,
    };
    let heat = |e| PlanError::Thermal(crate::thermal::ThermalError::Conduction(e));
    let setup = SyringeSetup {
        barrel: syringe.barrel().map_err(heat)?,
        contact_w_per_m2_kelvin: syringe.contact_w_per_m2_kelvin,
        air_w_per_m2_kelvin: syringe.air_w_per_m2_kelvin,
        room_kelvin: asked.ambient_kelvin,
        length: None,
    };
    let model = setup.model().map_err(heat)?;
    let conducted = matches!(declared.map(|d| &d.source), Some(HistorySource::Syringe(_)));
    let field = match (&model, declared) {
        (SyringeModel::Radial(radial), Some(declared)) if conducted && heat_time_s > 0.0 => {
            let contact = syringe.contact_w_per_m2_kelvin;
            let heated = unit_heating(radial, contact, &[0.0, heat_time_s]).map_err(heat)?;
            let start = declared.start_kelvin;
            heated.cell_fractions().last().map_or_else(Vec::new, |u| {
                u.iter().map(|u| start + (set_kelvin - start) * u).collect()
            })
        }
        _ => vec![warm_up.temperature_kelvin(set_kelvin, heat_time_s); model.cell_count()],
    };
    let air = default_air()?;
    let known = asked.air_w_per_m2_kelvin.or(of_history
        .as_ref()
        .map(|syringe: &DeclaredSyringe| syringe.air_w_per_m2_kelvin)
        .filter(|h| *h != air.coefficient_w_per_m2_kelvin));
    let setup = SyringeSetup {
        air_w_per_m2_kelvin: known.unwrap_or(air.coefficient_w_per_m2_kelvin),
        ..setup
    };
    let range = known
        .is_none()
        .then_some(air.coefficient_range_w_per_m2_kelvin);
    let until = CoreUntil::Under {
        kelvin: asked.until_kelvin,
    };
    let cool =
        cool_time(&setup, &model, &field, asked.ambient_kelvin, range, until).map_err(heat)?;
    let leaves_kelvin = field.first().copied().unwrap_or(set_kelvin);
    let gel_temp_k = warm_up
        .as_sampled()
        .and_then(|history| history.core_after_cooling_kelvin(set_kelvin, heat_time_s))
        .unwrap_or(leaves_kelvin);
    Ok(HandOver {
        gel_temp_k,
        cool_time_s: cool.time_s,
        cool_time_s_range: cool
            .range_s
            .and_then(|[soonest, latest]| soonest.zip(latest))
            .map(|(soonest, latest)| [soonest, latest]),
    })
}
