//! Why there is no run sheet.

use super::volumes::MOST_SYRINGES;
use crate::plan::PlanError;
use crate::readings::ReadingsError;
use crate::reference::ReferenceError;
use crate::units::display;
use thiserror::Error;

/// Why there is no run sheet, and what would help.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum SheetError {
    /// Neither a volume nor a number of syringes.
    #[error(
        "A sheet needs to know how much there is, or how many syringes are wanted.\nWhat helps: --blood 40mL --haematocrit 0.42 --recovery 0.85, or --plasma 12mL, or --syringes 8"
    )]
    NothingToFill,
    /// A haematocrit or a recovery that leaves no plasma.
    #[error(
        "A {what} of {} leaves no plasma.\nWhat helps: a {what} above 0 {} 1, such as {example}",
        display::significant(*value_fraction, 3), if *one_allowed { "up to" } else { "and under" }
    )]
    NoPlasma {
        /// 'haematocrit' or 'recovery'.
        what: &'static str,
        /// As stated.
        value_fraction: f64,
        /// Whether 1 itself can be.
        one_allowed: bool,
        /// An example.
        example: &'static str,
    },
    /// A share of hyaluronic acid solution that leaves no room for plasma.
    #[error(
        "A blend that is hyaluronic acid solution throughout holds no plasma that sets.\nWhat helps: --ha-fraction under 1"
    )]
    OnlyHyaluronicAcid,
    /// Less than one syringe.
    #[error(
        "{} of gel fill no syringe: one takes {}, with its dead space and what is lost.\nWhat helps: more plasma, or a smaller --fill",
        display::volume(*gel_m3), display::volume(*one_m3)
    )]
    NotEnoughForOne {
        /// Gel at hand, in m³.
        gel_m3: f64,
        /// What one syringe takes with the losses, in m³.
        one_m3: f64,
    },
    /// Fewer syringes than asked for.
    #[error(
        "Not enough for {asked} syringes: they take {} of plasma, and there are {}.\nWhat helps: --syringes {possible}, or more plasma, or a smaller --fill",
        display::volume(*needed_m3), display::volume(*have_m3)
    )]
    NotEnough {
        /// Syringes asked for.
        asked: usize,
        /// Syringes that it is enough for.
        possible: usize,
        /// Plasma needed, in m³.
        needed_m3: f64,
        /// Plasma at hand, in m³.
        have_m3: f64,
    },
    /// More syringes than fit on a page.
    #[error(
        "{asked} syringes do not go on one page, which holds {MOST_SYRINGES}.\nWhat helps: a sheet for every {MOST_SYRINGES}, with --syringes {MOST_SYRINGES} and a later --start"
    )]
    TooManySyringes {
        /// Asked for, or filled.
        asked: usize,
    },
    /// More in a syringe than it holds.
    #[error(
        "{} do not go into a {syringe}.\nWhat helps: a smaller --fill, or a larger --syringe",
        display::volume(*fill_m3)
    )]
    Overfilled {
        /// Asked for, in m³.
        fill_m3: f64,
        /// The syringe.
        syringe: String,
    },
    /// A filling or a dead space that nobody knows.
    #[error(
        "A barrel given by its bore has no nominal volume, so {what} is not known.\nWhat helps: {option}, or --syringe in place of --barrel"
    )]
    BarrelWithoutVolume {
        /// What is not known.
        what: &'static str,
        /// The option that says it.
        option: &'static str,
    },
    /// Buffer that takes up the whole of the gel.
    #[error(
        "{} of buffer leave no room for plasma in {} of gel.\nWhat helps: less --buffer",
        display::volume(*buffer_m3), display::volume(*gel_m3)
    )]
    BufferTakesAll {
        /// Buffer, in m³.
        buffer_m3: f64,
        /// Gel without the solution of hyaluronic acid, in m³.
        gel_m3: f64,
    },
    /// More anticoagulant than the plasma layer holds.
    #[error(
        "{} of anticoagulant are more than the plasma layer that {} of plasma are drawn from, so no blood would be needed.\nWhat helps: anticoagulant for each volume of blood, such as --anticoagulant 1:9",
        display::volume(*anticoagulant_m3), display::volume(*plasma_m3)
    )]
    AnticoagulantTakesAll {
        /// Anticoagulant, in m³.
        anticoagulant_m3: f64,
        /// Plasma that is needed, in m³.
        plasma_m3: f64,
    },
    /// A stated heat time after which the gel does not pass.
    #[error(
        "No sheet: after {} at {} the push through a {needle} needle is about {} ({} to {}), and stays under {} in {} of 20 syringes only.\nWhat helps: a shorter --heat-time, or none, for the aim of 'heatset time'; a wider needle; a slower --flow",
        display::duration(*heat_time_s), display::temperature(*set_kelvin), display::force(*median_n),
        display::force(*low_n), display::force(*high_n), display::force(*limit_n),
        (20.0 * passing_probability).floor()
    )]
    DoesNotPass {
        /// Heat time, in s.
        heat_time_s: f64,
        /// Set temperature, in K.
        set_kelvin: f64,
        /// Needle.
        needle: String,
        /// Median push, in N.
        median_n: f64,
        /// Lower end of its 95 % interval, in N.
        low_n: f64,
        /// Upper end, in N.
        high_n: f64,
        /// Limit asked, in N.
        limit_n: f64,
        /// Probability of staying under it.
        passing_probability: f64,
    },
    /// A lot code that may tell who somebody is.
    #[error(
        "--lot \"{text}\" {why}. A sheet carries codes only, never a name, an address or a date of birth.\nWhat helps: a running number, such as L-0042"
    )]
    NoCode {
        /// As written, shortened.
        text: String,
        /// What it looks like.
        why: &'static str,
    },
    /// A price list that cannot be used.
    #[error(transparent)]
    Prices(#[from] ReadingsError),
    /// An answer about heat or push.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The reference tables.
    #[error(transparent)]
    Reference(#[from] ReferenceError),
}
