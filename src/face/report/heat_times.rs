//! Answers for the table 'heat time by needle': every usual needle at every measured temperature.

use super::document::ReportRequest;
use super::error::ReportError;
use super::measured::{AtTemperature, by_temperature};
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{
    DEFAULT_LENGTH_M, NeedleUsed, PlanError, PushSetup, StatedThinning, TimeAnswer, TimeQuestion,
    heat_time,
};
use crate::reference::{BoreBasis, Wall};

/// Gauges of the table: the fine ones that gels are pushed through.
const GAUGES: [u8; 7] = [25, 26, 27, 29, 30, 31, 32];
/// Draws behind a cell.
pub(crate) const DRAWS: usize = 2_000;

/// The answers of one blend.
pub(super) struct HeatTimes {
    /// The push; its needle is the first of the rows.
    pub(super) setup: PushSetup,
    pub(super) temperatures: Vec<AtTemperature>,
    /// One row a needle, one answer a temperature.
    pub(super) rows: Vec<NeedleRow>,
    pub(super) seed: u64,
}

/// One needle at every temperature.
pub(super) struct NeedleRow {
    pub(super) needle: NeedleUsed,
    pub(super) answers: Vec<Result<TimeAnswer, PlanError>>,
}

/// Asks every cell of the table; a calibration that answers no push has none.
///
/// # Errors
/// The stated defaults of a push cannot be had.
pub(super) fn answer(
    calibration: &Calibration,
    blend: &BlendCalibration,
    request: &ReportRequest<'_>,
) -> Result<HeatTimes, ReportError> {
    let needles = GAUGES
        .iter()
        .map(|gauge| {
            NeedleUsed::of_gauge(*gauge, Wall::Regular, BoreBasis::Nominal, DEFAULT_LENGTH_M)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let widest = NeedleUsed::of_gauge(
        GAUGES[0],
        Wall::Regular,
        BoreBasis::Nominal,
        DEFAULT_LENGTH_M,
    )?;
    let setup = PushSetup::with_needle(widest)?;
    let temperatures = by_temperature(blend);
    if !blend.answers_pushes() {
        return Ok(HeatTimes {
            setup,
            temperatures,
            rows: Vec::new(),
            seed: request.seed,
        });
    }
    let rows = needles
        .into_iter()
        .map(|needle| {
            let through = setup.through(needle.clone());
            let answers = temperatures
                .iter()
                .map(|temperature| {
                    heat_time(
                        blend,
                        &TimeQuestion {
                            set_kelvin: temperature.kelvin,
                            setup: through.clone(),
                            thinning: StatedThinning::default(),
                            least: None,
                            warm_up: request.warm_up.clone(),
                            contact_histories: Vec::new(),
                            altitude_m: 0.0,
                            extrapolate: false,
                            draws: DRAWS,
                            varied: crate::plan::Varied::ALL,
                            seed: request.seed,
                            invented: calibration.invented,
                        },
                    )
                })
                .collect();
            NeedleRow { needle, answers }
        })
        .collect();
    Ok(HeatTimes {
        setup,
        temperatures,
        rows,
        seed: request.seed,
    })
}

impl HeatTimes {
    /// The answers that were given.
    pub(super) fn given(&self) -> impl Iterator<Item = &TimeAnswer> {
        self.rows
            .iter()
            .flat_map(|row| row.answers.iter().filter_map(|a| a.as_ref().ok()))
    }

    /// Why cells have no answer, each reason once.
    pub(super) fn refusals(&self, blend: &BlendCalibration) -> Vec<String> {
        if !blend.answers_pushes() {
            let quantity = blend.reading.quantity();
            let reason = PlanError::NoViscosity {
                blend: blend.blend.clone(),
                quantity,
            };
            return vec![reason.to_string()];
        }
        let mut reasons: Vec<String> = Vec::new();
        for error in self
            .rows
            .iter()
            .flat_map(|row| row.answers.iter().filter_map(|a| a.as_ref().err()))
        {
            let reason = error.to_string();
            if !reasons.contains(&reason) {
                reasons.push(reason);
            }
        }
        reasons
    }
}
