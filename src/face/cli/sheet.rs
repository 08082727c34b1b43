//! `heatset sheet`: a run sheet for one session.

use super::block_check::set_check;
use super::output::{Output, check_free, write_table};
use super::push_arguments::PushArguments;
use super::question_arguments::{Asked, QuestionArguments};
use super::sheet_arguments::{ClockArguments, MixArguments, VolumeArguments};
use super::{CliError, Context};
use crate::face::answer_words::sure_line;
use crate::face::sheet::{Form, FormRequest, csv, form, html, labels, text};
use crate::face::time_words::{in_words, step_s};
#[cfg(feature = "page")]
use crate::fit::Calibration;
use crate::fit::{BlendCalibration, Warning};
use crate::plan::sheet::prices::{PriceList, read_prices};
use crate::plan::sheet::{RunSheet, SheetQuestion, run_sheet, usable_aim_s};
use crate::plan::{
    CoolingAsked, ForceQuestion, Heated, Least, PushSetup, StandAnswer, StandQuestion,
    TimeQuestion, Varied, Window, corrected_kelvin, force_for_heat_time, heat_time, stand,
};
use crate::thermal::SetCheck;
use crate::units;
use clap::Args;
use std::path::{Path, PathBuf};

/// A run sheet for one session: volumes, syringes, turns of the block, clock times, labels
#[derive(Debug, Args)]
pub(super) struct Arguments {
    #[command(flatten)]
    question: QuestionArguments,
    /// Set temperature of the block
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: f64,
    /// Check of the block, from 'heatset blockcheck --out': its offset is added to --at
    #[arg(long, value_name = "CHECK.json")]
    block_check: Option<PathBuf>,
    /// Heat time on the clock [default: the aim of 'heatset time', rounded down]
    #[arg(long, value_name = "TIME", value_parser = units::duration_s, conflicts_with = "least_force")]
    heat_time: Option<f64>,
    /// Temperature under which the core must be before the syringe is handed on
    #[arg(long, default_value = "37C", value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    cool_until: f64,
    /// The gel must need at least this push to be firm enough
    #[arg(long, value_name = "FORCE", value_parser = units::force_n)]
    least_force: Option<f64>,
    /// Temperature at which the gel stands, for until when the needle passes it; may repeat [default:
    /// those that were measured, where readings after standing are there]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    stand_temp: Vec<f64>,
    /// Answer for a lot of the bench
    #[arg(long, value_name = "CODE")]
    this_lot: Option<String>,
    /// Code of the session's lot: a code, never a name, an address or a date of birth
    #[arg(long, value_name = "CODE")]
    lot: Option<String>,
    /// Price list: item,unit_price,currency,per
    #[arg(long, value_name = "FILE.csv")]
    prices: Option<PathBuf>,
    /// File to write, more than one if wanted: .html prints on one page, .csv and .xlsx are
    /// tables, .txt
    #[arg(long, value_name = "FILE.html|.csv|.xlsx|.txt")]
    out: Vec<PathBuf>,
    /// Labels to write, one a syringe
    #[arg(long, value_name = "FILE.html")]
    labels: Option<PathBuf>,
    #[command(flatten)]
    volumes: VolumeArguments,
    #[command(flatten)]
    mix: MixArguments,
    #[command(flatten)]
    clock: ClockArguments,
    #[command(flatten)]
    push: PushArguments,
}

/// The ways in which a sheet is written to a file.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Html,
    Csv,
    Text,
}

/// The heat time of a sheet.
struct Chosen {
    heat_time_s: f64,
    window: Option<Window>,
    sure: Option<String>,
    warnings: Vec<Warning>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let kinds = self.check_files(context)?;
        self.check_stated()?;
        let check = match &self.block_check {
            Some(path) => Some(set_check(path, self.at)?),
            None => None,
        };
        let prices = match &self.prices {
            Some(path) => Some(read_prices(path)?),
            None => None,
        };
        let asked = self.question.read()?;
        let (sheet, form) = self.made(&asked, check.as_ref(), prices, context)?;
        self.deliver(&sheet, &form, &kinds, context)
    }

    /// The sheet of a calibration that is at hand, for a face that reads and writes no files.
    #[cfg(feature = "page")]
    pub(super) fn made_of(
        &self,
        calibration: Calibration,
        prices: Option<PriceList>,
        context: Context,
    ) -> Result<(RunSheet, Form), CliError> {
        self.check_stated()?;
        self.made(&self.question.of(calibration)?, None, prices, context)
    }

    /// Refuses what contradicts itself, before any work is done.
    fn check_stated(&self) -> Result<(), CliError> {
        if self.mix.acd_of_plasma() && !self.volumes.knows_anticoagulant() {
            return Err(CliError::question(
                "--acd-a without a volume takes what the plasma carries, and no anticoagulant was stated.\nWhat helps: --acd-a 3.4mL, or --anticoagulant 4mL with --blood, --haematocrit and --recovery",
            ));
        }
        self.volumes.check_radius()
    }

    /// The sheet, and what stands on it.
    fn made(
        &self,
        asked: &Asked,
        check: Option<&SetCheck>,
        prices: Option<PriceList>,
        context: Context,
    ) -> Result<(RunSheet, Form), CliError> {
        let (set_kelvin, block_warnings) = check.map_or_else(
            || (self.at, Vec::new()),
            |check| corrected_kelvin(self.at, check),
        );
        let spread_k = check.and_then(|check| check.place_spread_kelvin);
        let lot;
        let blend = match &self.this_lot {
            Some(code) => {
                lot = asked.blend().for_lot(code)?;
                &lot
            }
            None => asked.blend(),
        };
        let setup = self.question.doubts.applied(self.push.setup()?, spread_k)?;
        let heated = self.question.heated(blend, &setup.barrel)?;
        let invented = asked.calibration.invented;
        let chosen = self.heat_time(blend, set_kelvin, &setup, &heated, context, invented)?;
        let force = ForceQuestion {
            set_kelvin,
            heat_time_s: chosen.heat_time_s,
            setup: setup.clone(),
            needles: Vec::new(),
            thinning: self.question.stated_thinning(),
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            cooling: self.cooling(),
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            seed: context.seed,
            invented,
        };
        let mut push = force_for_heat_time(blend, &force)?;
        let standing = self.standing(blend, &force)?;
        // What the answer about the time warns of, beside what both warn of.
        for warning in chosen
            .warnings
            .into_iter()
            .chain(heated.warnings)
            .chain(block_warnings)
        {
            if push.warnings.iter().all(|known| known.code != warning.code) {
                push.warnings.push(warning);
            }
        }
        let joint_pressure_pa = push
            .needles
            .first()
            .map(|needle| needle.pressure_pa + setup.tissue_pressure_pa);
        let question = SheetQuestion {
            calibration: self.question.file_name(),
            lot_code: self.lot.clone(),
            supply: self.volumes.supply(),
            syringes: self.volumes.syringes,
            fill_m3: self.volumes.fill,
            dead_space_m3: self.volumes.dead_space,
            session_loss_m3: self.volumes.loss,
            blend: self.mix.blend(self.question.ha_fraction_of(blend))?,
            buffer: self.mix.buffer(),
            spin: self.volumes.spin(),
            setup: setup.clone(),
            heat_time_s: chosen.heat_time_s,
            heat_time_is_stated: self.heat_time.is_some(),
            window: chosen.window,
            block_set_kelvin: self.at,
            cool_until_kelvin: self.cool_until,
            room_kelvin: self.question.heating.ambient,
            places: self.clock.places,
            start_s: self.clock.start.unwrap_or(0.0),
            handling_s: self.clock.handling,
            between_turns_s: self.clock.between_turns,
            standing,
            prices,
        };
        let sheet = run_sheet(&question, push)?;
        let form = form(&FormRequest {
            sheet: &sheet,
            blend,
            setup: &setup,
            joint_pressure_pa,
            sure: chosen.sure,
            clock_is_stated: self.clock.start.is_some(),
        });
        Ok((sheet, form))
    }

    /// Writes what is to be written, or says the sheet.
    fn deliver(
        &self,
        sheet: &RunSheet,
        form: &Form,
        kinds: &[Kind],
        context: Context,
    ) -> Result<Output, CliError> {
        let mut files: Vec<(&Path, String)> = self
            .out
            .iter()
            .zip(kinds)
            .map(|(path, kind)| {
                let written = match kind {
                    Kind::Html => html(form),
                    Kind::Csv => csv(form, sheet),
                    Kind::Text => text(form),
                };
                (path.as_path(), written)
            })
            .collect();
        if let Some(path) = &self.labels {
            files.push((path, labels(form, sheet)));
        }
        for (path, written) in &files {
            write_table(path, written.as_bytes(), "Run sheet", context.replace)?;
        }
        if context.json {
            return Output::json(sheet);
        }
        if self.out.is_empty() {
            return Ok(Output::words(text(form)));
        }
        let mut said = String::new();
        if sheet.invented {
            said.push_str("INVENTED DATA, and every form says so.\n");
        }
        if sheet.extrapolated {
            said.push_str("EXTRAPOLATED, and every form says so.\n");
        }
        for (path, _) in &files {
            said.push_str(&format!("Written: {}\n", path.display()));
        }
        Ok(Output::words(said).with_warnings(&sheet.warnings))
    }

    /// The heat time: as stated, else the aim of the answer, with its window.
    fn heat_time(
        &self,
        blend: &BlendCalibration,
        set_kelvin: f64,
        setup: &PushSetup,
        heated: &Heated,
        context: Context,
        invented: bool,
    ) -> Result<Chosen, CliError> {
        if let Some(heat_time_s) = self.heat_time {
            return Ok(Chosen {
                heat_time_s,
                window: None,
                sure: None,
                warnings: Vec::new(),
            });
        }
        let question = TimeQuestion {
            set_kelvin,
            setup: setup.clone(),
            thinning: self.question.stated_thinning(),
            least: self.least_force.map(Least::Force),
            warm_up: heated.warm_up.clone(),
            contact_histories: heated.contact_histories.clone(),
            cooling: self.cooling(),
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            varied: Varied::ALL,
            seed: context.seed,
            invented,
        };
        let answer = heat_time(blend, &question)?;
        if !answer.window_open {
            return Err(CliError::question(format!(
                "No sheet.\n{}",
                in_words(&answer, &question).trim_end()
            )));
        }
        let [shortest_s, _] = blend.range.heat_time_s;
        let shortest_s = if self.question.extrapolate {
            0.0
        } else {
            shortest_s
        };
        match usable_aim_s(&answer.heat_time_s, step_s(&answer), shortest_s) {
            Some(heat_time_s) => Ok(Chosen {
                heat_time_s,
                window: Some(answer.heat_time_s),
                sure: sure_line(&answer, blend),
                warnings: answer.warnings,
            }),
            None => Err(CliError::question(
                "No sheet: this gel passes however long it is heated, so there is no heat time to aim at.\nWhat helps: --heat-time 7min, or --least-force for the firmness that is wanted",
            )),
        }
    }

    /// Until when the needle passes what stands: where it was asked for, or the calibration knows it.
    fn standing(
        &self,
        blend: &BlendCalibration,
        force: &ForceQuestion,
    ) -> Result<Option<StandAnswer>, CliError> {
        if self.stand_temp.is_empty() && blend.standing.is_none() {
            return Ok(None);
        }
        let question = StandQuestion {
            set_kelvin: force.set_kelvin,
            heat_time_s: force.heat_time_s,
            stand_kelvin: self.stand_temp.clone(),
            // Only until when: the push on the way is for 'heatset stand'.
            stand_times_s: vec![0.0],
            setup: force.setup.clone(),
            thinning: force.thinning,
            warm_up: force.warm_up.clone(),
            contact_histories: force.contact_histories.clone(),
            altitude_m: force.altitude_m,
            extrapolate: force.extrapolate,
            draws: force.draws,
            seed: force.seed,
            invented: force.invented,
        };
        Ok(Some(stand(blend, &question)?))
    }

    fn cooling(&self) -> CoolingAsked {
        CoolingAsked {
            until_kelvin: self.cool_until,
            ambient_kelvin: self.question.heating.ambient,
            air_w_per_m2_kelvin: self.question.heating.air,
        }
    }

    /// Refuses names that cannot be written, before any work is done.
    fn check_files(&self, context: Context) -> Result<Vec<Kind>, CliError> {
        let kinds = self
            .out
            .iter()
            .map(|path| kind_of(path))
            .collect::<Result<Vec<_>, _>>()?;
        if let Some(path) = &self.labels
            && !matches!(kind_of(path), Ok(Kind::Html))
        {
            return Err(CliError::question(format!(
                "{}: labels are written as HTML.\nWhat helps: --labels labels.html",
                path.display()
            )));
        }
        let read = std::iter::once(&self.question.calibration)
            .chain(&self.prices)
            .chain(&self.block_check);
        let mut taken: Vec<PathBuf> = read.map(|path| resolved(path)).collect();
        for path in self.out.iter().chain(&self.labels) {
            let resolved = resolved(path);
            if taken.contains(&resolved) {
                return Err(CliError::question(format!(
                    "{} would take the place of a file that this command reads or writes too.\nWhat helps: another name",
                    path.display()
                )));
            }
            taken.push(resolved);
            check_free(path, context.replace)?;
        }
        Ok(kinds)
    }
}

fn kind_of(path: &Path) -> Result<Kind, CliError> {
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("html" | "htm") => Ok(Kind::Html),
        Some("csv" | "xlsx") => Ok(Kind::Csv),
        Some("txt") => Ok(Kind::Text),
        _ => Err(CliError::question(format!(
            "{}: a sheet is written as .html, .csv, .xlsx or .txt, by the ending of its name.\nWhat helps: --out sheet.html",
            path.display()
        ))),
    }
}

/// A path by which two names of one file are the same, where its folder is there.
fn resolved(path: &Path) -> PathBuf {
    let whole = path.canonicalize().ok();
    let in_folder = || {
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        Some(folder.canonicalize().ok()?.join(path.file_name()?))
    };
    whole
        .or_else(in_folder)
        .unwrap_or_else(|| path.to_path_buf())
}
