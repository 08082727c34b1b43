//! Questions that cannot be answered, in words.

use crate::fit::FitError;
use crate::flow::FlowError;
use crate::reference::ReferenceError;
use crate::thermal::ThermalError;
use crate::units::display;
use thiserror::Error;

/// Why there is no answer, and what would help.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum PlanError {
    /// A temperature history that cannot be.
    #[error(transparent)]
    Thermal(#[from] ThermalError),
    /// A trace where a schedule is asked for.
    #[error(
        "A trace holds for the stages it was taken in, and not for another schedule.\nWhat helps: --warm-up with the lag that the trace shows, or --warm-up syringe"
    )]
    TraceOnSchedule,
    /// A part of a syringe where no conduction is computed.
    #[error(
        "How full a syringe is, and how far it stands out, counts only where its warm-up is computed.\nWhat helps: --warm-up syringe"
    )]
    PartWithoutConduction,
    /// A contact where no conduction is computed.
    #[error(
        "A contact of block and barrel counts only where the warm-up is computed by conduction.\nWhat helps: --warm-up syringe, or leave --contact out"
    )]
    ContactWithoutConduction,
    /// A barrel whose filling is not known.
    #[error(
        "The length of the gel is not known: a barrel given by its bore has no nominal volume.\nWhat helps: --filled 0.8mL, or --syringe in place of --barrel"
    )]
    FilledUnknown,
    /// More than the syringe holds.
    #[error(
        "{} do not go into a {syringe}.\nWhat helps: the volume that is in it, or a larger --syringe",
        display::volume(*filled_m3)
    )]
    Overfilled {
        /// Volume asked for, in m³.
        filled_m3: f64,
        /// The syringe.
        syringe: String,
    },
    /// More standing out than there is.
    #[error(
        "{} cannot stand out of the block: the gel is only {} long.\nWhat helps: count from the plunger's end of the gel, not from the end of the barrel",
        display::length_mm(*stands_out_m), display::length_mm(*filled_length_m)
    )]
    StandsOutFurther {
        /// Asked for, in m.
        stands_out_m: f64,
        /// Length of the gel, in m.
        filled_length_m: f64,
    },
    /// Readings that are no viscosities.
    #[error(
        "Blend {blend} was measured as {quantity}, which says nothing about a push through a needle.\nWhat helps: a bench of viscosities, or of plunger forces through a known needle; this calibration can be charted and reported"
    )]
    NoViscosity {
        /// Blend.
        blend: String,
        /// What was measured.
        quantity: &'static str,
    },
    /// Readings that fall with heat.
    #[error(
        "Blend {blend} gets thinner with heat by this calibration, so no heat time is too long for a needle. Look at the readings first: 'heatset check'"
    )]
    ReadingFalls {
        /// Blend.
        blend: String,
    },
    /// Force taken up by friction.
    #[error(
        "A push of {} leaves nothing for the gel: stopper friction and tissue pressure take {} of it.\nWhat helps: a smaller --friction if yours was measured, or a smaller syringe",
        display::force(*force_n), display::force(*taken_n)
    )]
    ForceUnderFriction {
        /// Force asked for, in N.
        force_n: f64,
        /// Taken by friction and tissue, in N.
        taken_n: f64,
    },
    /// Force that no hand gives.
    #[error(
        "{} is no push of a hand (200 N is the most that is answered; publications put the comfortable push at 20 N and the greatest at 40 N).\nWhat helps: a wider needle, a slower push, a smaller syringe or less heat, never a harder push",
        display::force(*force_n)
    )]
    ForceTooHigh {
        /// Force asked for, in N.
        force_n: f64,
    },
    /// A set temperature outside the measured ones.
    #[error(
        "{} lies outside the measured temperatures ({} to {}).\nWhat helps: ask within them; or --extrapolate, and the answer will say so",
        display::temperature(*asked_kelvin), display::temperature(*low_kelvin), display::temperature(*high_kelvin)
    )]
    TemperatureOutside {
        /// Asked for, in K.
        asked_kelvin: f64,
        /// Lowest measured, in K.
        low_kelvin: f64,
        /// Highest measured, in K.
        high_kelvin: f64,
    },
    /// A heat time outside the measured ones.
    #[error(
        "{} lies outside the measured heat times ({} to {}).\nWhat helps: ask within them; or --extrapolate, and the answer will say so",
        display::duration(*asked_s), display::duration(*low_s), display::duration(*high_s)
    )]
    TimeOutside {
        /// Asked for, in s.
        asked_s: f64,
        /// Shortest measured, in s.
        low_s: f64,
        /// Longest measured, in s.
        high_s: f64,
    },
    /// A block at boiling.
    #[error(
        "{} is at or too near boiling ({} is the most that is answered{}): a closed syringe would build up steam.\nWhat helps: a lower set temperature",
        display::temperature(*asked_kelvin), display::temperature(*limit_kelvin),
        if *altitude_m > 0.0 { format!(" at {} m", display::significant(*altitude_m, 2)) } else { String::new() }
    )]
    Boiling {
        /// Asked for, in K.
        asked_kelvin: f64,
        /// Limit, in K.
        limit_kelvin: f64,
        /// Altitude, in m.
        altitude_m: f64,
    },
    /// A flow index without the shear rate it belongs to.
    #[error(
        "A flow index of {flow_index} needs the shear rate at which the viscosity was read, and the bench does not say it.\nWhat helps: --shear-rate 10/s, or a column shear_rate_per_s in the bench"
    )]
    ShearRateUnknown {
        /// Flow index.
        flow_index: f64,
    },
    /// A push temperature without the reading's.
    #[error(
        "The viscosity at {} cannot be had: the bench does not say at which temperature the gel was read.\nWhat helps: a column read_temp_C in the bench, or leave --gel-temp out",
        display::temperature(*gel_kelvin)
    )]
    ReadTemperatureUnknown {
        /// Asked for, in K.
        gel_kelvin: f64,
    },
    /// A least firmness that no conversion gives.
    #[error(
        "A least {what} of {asked} lies at or above the plateau ({plateau}): no heat time gives it.\nWhat helps: a smaller value"
    )]
    LeastTooHigh {
        /// 'reading' or 'force'.
        what: &'static str,
        /// Asked for, with unit.
        asked: String,
        /// Plateau, with unit.
        plateau: String,
    },
    /// A reading that no heat time gives.
    #[error(
        "A reading of {asked} does not lie between that at the start ({initial}) and the plateau ({plateau}): no heat time gives it.\nWhat helps: a value between"
    )]
    ReadingNotReached {
        /// Asked for, with unit.
        asked: String,
        /// At the start, with unit.
        initial: String,
        /// Plateau, with unit.
        plateau: String,
    },
    /// A least force above the limit.
    #[error(
        "The least force ({}) is not under the limit ({}).\nWhat helps: a smaller --least-force",
        display::force(*least_n), display::force(*limit_n)
    )]
    LeastAboveLimit {
        /// Least, in N.
        least_n: f64,
        /// Limit, in N.
        limit_n: f64,
    },
    /// A bore that its tolerance swallows.
    #[error(
        "A tolerance of {} on a bore of {} leaves no bore.\nWhat helps: a smaller --bore-tolerance",
        display::length_mm(*tolerance_m), display::length_mm(*bore_m)
    )]
    ToleranceTooLarge {
        /// Bore, in m.
        bore_m: f64,
        /// Tolerance, in m.
        tolerance_m: f64,
    },
    /// A heat time that no reading can narrow, because there is none.
    #[error(
        "There is no heat time to narrow: at {} the gel {} through a {needle} needle.\nWhat helps: {}; or leave needle and temperature out for the reading that narrows the parameters",
        display::temperature(*set_kelvin),
        if *from_the_first {
            format!("takes more than {} from the first moment", display::force(*limit_n))
        } else {
            format!("never takes {}", display::force(*limit_n))
        },
        if *from_the_first {
            "a wider needle, a slower push or a smaller syringe"
        } else {
            "a finer needle or a smaller --force"
        }
    )]
    NoTimeToNarrow {
        /// Set temperature, in K.
        set_kelvin: f64,
        /// Force limit, in N.
        limit_n: f64,
        /// Needle.
        needle: String,
        /// Whether the force is reached from the first moment, rather than never.
        from_the_first: bool,
    },
    /// Readings without scatter.
    #[error(
        "The readings of blend {blend} lie on the fitted curve without any scatter, so nothing says which further reading would narrow it.\nWhat helps: readings as they were taken, some settings twice; then 'heatset fit' again"
    )]
    NoScatter {
        /// Blend.
        blend: String,
    },
    /// No readings after standing.
    #[error(
        "How long a needle passes this gel while it stands is not known: the calibration of blend {blend} holds no fit of readings taken after standing.\nWhat helps: read a few gels at once and again after standing, and say so in the columns stand_time_min and stand_temp_C of the bench; then 'heatset fit' again"
    )]
    NoStanding {
        /// Blend.
        blend: String,
    },
    /// A storage temperature outside the measured ones.
    #[error(
        "Nobody let this gel stand at {} (measured: {measured}).\nWhat helps: {}",
        display::temperature(*asked_kelvin),
        if *energy_is_known {
            "ask within them; or --extrapolate, and the answer will say so"
        } else {
            "ask at one of them: how fast it thickens at another is not known, and no --extrapolate makes it so; let some gels stand there too"
        }
    )]
    StorageOutside {
        /// Asked for, in K.
        asked_kelvin: f64,
        /// What was measured, in words.
        measured: String,
        /// Whether an activation energy of standing was fitted.
        energy_is_known: bool,
    },
    /// A standing time outside the measured ones.
    #[error(
        "{} of standing at {} lies outside what was measured (up to {}).\nWhat helps: ask within it{}",
        display::duration(*asked_s), display::temperature(*stand_kelvin), display::duration(*longest_s),
        if *levels_off { "; or --extrapolate, and the answer will say so" } else { "; the readings do not level off, so that nothing can be said beyond" }
    )]
    StandTimeOutside {
        /// Asked for, in s.
        asked_s: f64,
        /// Storage temperature, in K.
        stand_kelvin: f64,
        /// Longest measured, in s.
        longest_s: f64,
        /// Whether gain and rate are known.
        levels_off: bool,
    },
    /// Glycerol that holds more water than the mixture may.
    #[error(
        "The mixture needs {} of glycerol by mass, and the glycerol itself has only {}.\nWhat helps: glycerol with less water in it, or a room that is colder",
        display::percent(*glycerol_mass_fraction), display::percent(*stock_mass_fraction)
    )]
    StockTooThin {
        /// Mass fraction of glycerol in what is sold as such.
        stock_mass_fraction: f64,
        /// What the mixture needs.
        glycerol_mass_fraction: f64,
    },
    /// No push that anchors set times to a force.
    #[error(
        "No push anchors blend {blend} to a force: what was seen tells when it sets, not how firm.\nWhat helps: push one syringe of known heat through a known needle, write force_N and the needle's columns on its row of the bench, and 'heatset fit' again"
    )]
    NoAnchor {
        /// Blend.
        blend: String,
    },
    /// Several anchors, none named, or one that is not there.
    #[error(
        "{} pushes anchor this calibration, and one has to be named: {}.\nWhat helps: --same-push 1",
        anchors.len(),
        anchors.iter().enumerate().map(|(place, (time_s, kelvin, force_n))| format!(
            "{} ({} at {}: {})", place + 1, display::duration(*time_s), display::temperature(*kelvin), display::force(*force_n)
        )).collect::<Vec<_>>().join(", ")
    )]
    AnchorNotNamed {
        /// Heat time in s, temperature in K and force in N of each.
        anchors: Vec<(f64, f64, f64)>,
    },
    /// A calibration of set times.
    #[error(transparent)]
    SetTime(#[from] crate::fit::set_time::SetTimeError),
    /// The calibration.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// The reference tables.
    #[error(transparent)]
    Reference(#[from] ReferenceError),
    /// Flow through the needle.
    #[error(transparent)]
    Flow(#[from] FlowError),
}
