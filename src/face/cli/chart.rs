//! `heatset chart`: pictures of a calibration.

use super::chart_consequences;
use super::chart_syringes::SyringesArguments;
use super::chart_window::WindowArguments;
use super::output::{Output, check_free, write_file};
use super::push_arguments::PushArguments;
use super::question_arguments::{Asked, QuestionArguments};
use super::stand::StandingAsked;
use super::syringe_arguments::SyringeArguments;
use super::warmup_findings::{COOL_KELVIN, WarmUpFindings, WarmUpQuestion};
use super::warmup_words::headline;
use super::{CliError, Context};
use crate::chart::{Chart, ChartFormat, ChartSize, ChartWords, HistoryChart};
use crate::face::cautions;
use crate::face::drawings::{self, ForceDrawing};
#[cfg(feature = "page")]
use crate::fit::Calibration;
use crate::plan::{NeedleUsed, TimeQuestion};
use crate::reference::{BoreBasis, Wall};
use crate::thermal::{HeatSchedule, check_not_boiling};
use crate::units::{self, display};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Gauges drawn where none is named: the fine ones that gels are pushed through.
const USUAL_GAUGES: [u8; 5] = [25, 27, 29, 30, 32];

/// Draws a chart of a calibration as SVG or PNG
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// What to draw
    #[arg(value_enum, value_name = "KIND")]
    kind: Kind,
    #[command(flatten)]
    question: QuestionArguments,
    /// Set temperature, for the charts at one temperature [default: the hottest measured]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: Option<f64>,
    /// File to write; its ending says whether it is SVG or PNG
    #[arg(long, value_name = "NAME.svg")]
    out: PathBuf,
    /// Size in pixels; a sheet of A3 for iso-force: 4961x3508
    #[arg(long, default_value = "1200x800", value_name = "WxH", value_parser = size)]
    #[arg(default_value_if("kind", "iso-force", "4961x3508"))]
    size: ChartSize,
    /// Title in place of the chart's own finding
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// Temperature at which the gel stands, for the chart of standing; may repeat
    /// [default: those that were measured]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    stand_temp: Vec<f64>,
    #[command(flatten)]
    push: PushArguments,
    #[command(flatten)]
    syringes: SyringesArguments,
    /// Log whose batches were held against the calibration, for the chart of batches
    #[cfg(feature = "batches")]
    #[arg(long, value_name = "LOG")]
    log: Option<PathBuf>,
    #[command(flatten)]
    window: WindowArguments,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kind {
    /// Firmness against heat time, per temperature
    Firmness,
    /// Plunger force against heat time, per needle
    Force,
    /// Rate against temperature
    Rates,
    /// What the fit leaves over
    Residuals,
    /// Temperature and conversion in the syringe against the clock
    History,
    /// Push through a needle against standing time
    Standing,
    /// The same gel in several syringes: why the larger takes longer
    Syringes,
    /// Batches of a log against their predictions, with control limits
    #[cfg(feature = "batches")]
    Batches,
    /// Probability of passing, and of being firm enough, against heat time
    Window,
    /// What the heat time is least sure of
    Contributions,
    /// What single changes do to a push: a minute, five degrees, syringe, needle, speed
    Consequences,
    /// Equal force over block temperature and heat time: for the wall
    IsoForce,
}

/// A chart, filled and titled.
pub(crate) struct Drawn {
    /// The chart.
    pub(crate) chart: Box<dyn Chart + Send>,
    /// What it states by itself, whatever title was put over it.
    #[cfg_attr(not(feature = "page"), allow(dead_code))]
    pub(crate) finding: String,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let format = ChartFormat::of_file(&self.out)?;
        check_free(&self.out, context.replace)?;
        self.check_stated()?;
        let asked = self.question.read()?;
        if self.kind == Kind::Consequences {
            return self.consequences(&asked, format, context);
        }
        #[cfg(feature = "batches")]
        let sha256 = super::batches::sha256_of_file(&self.question.calibration)?;
        #[cfg(not(feature = "batches"))]
        let sha256 = String::new();
        let drawn = self.drawn(&asked, self.log(), &sha256, context)?;
        let bytes = drawn.chart.draw(format, self.size)?;
        write_file(&self.out, &bytes, context.replace)?;
        if context.json {
            return Output::json(&serde_json::json!({
                "written": [self.out.display().to_string()],
                "invented": asked.calibration.invented,
            }));
        }
        Ok(Output::words(format!(
            "{}Written: {}",
            if asked.calibration.invented {
                "INVENTED DATA, and the chart says so.\n"
            } else {
                ""
            },
            self.out.display()
        )))
    }

    /// The chart of consequences, which says its numbers too.
    fn consequences(
        &self,
        asked: &Asked,
        format: ChartFormat,
        context: Context,
    ) -> Result<Output, CliError> {
        let (set_kelvin, _) = self.set_kelvin(asked)?;
        let (question, found) = chart_consequences::found(
            asked,
            &self.question,
            &self.push,
            set_kelvin,
            self.syringes.heat_time,
            context,
        )?;
        let chart = drawings::consequences(&asked.calibration, asked.blend(), &question, &found)?;
        let drawn = self.titled(chart, |chart| &mut chart.words);
        write_file(
            &self.out,
            &drawn.chart.draw(format, self.size)?,
            context.replace,
        )?;
        let written = self.out.display().to_string();
        let invented = asked.calibration.invented;
        if context.json {
            return Output::json(&chart_consequences::Document::new(
                &question, &found, written, invented,
            ));
        }
        let text = drawings::consequences_in_words(&question, &found, invented);
        Ok(
            Output::words(format!("{text}\nWritten: {written}\n\n{}", cautions::SHORT))
                .with_warnings(&found.warnings),
        )
    }

    /// Refuses what the kind of chart does not show, before any work is done.
    fn check_stated(&self) -> Result<(), CliError> {
        self.window.refuse_unless(self.kind == Kind::Window)?;
        if self.kind == Kind::IsoForce && self.at.is_some() {
            return Err(CliError::question(
                "This chart shows every measured temperature at once.\nWhat helps: leave --at out; 'chart force' draws one temperature",
            ));
        }
        Ok(())
    }

    #[cfg(feature = "batches")]
    fn log(&self) -> Option<&Path> {
        self.log.as_deref()
    }

    #[cfg(not(feature = "batches"))]
    fn log(&self) -> Option<&Path> {
        None
    }

    /// The chart of a calibration that is at hand, for a face that reads and writes no files: its log
    /// and the SHA-256 of its document come from that face.
    #[cfg(feature = "page")]
    pub(super) fn drawn_of(
        &self,
        calibration: Calibration,
        log: Option<&Path>,
        sha256: &str,
        context: Context,
    ) -> Result<(Drawn, ChartSize), CliError> {
        self.check_stated()?;
        let asked = self.question.of(calibration)?;
        Ok((self.drawn(&asked, log, sha256, context)?, self.size))
    }

    /// The chart, filled; `sha256` is that of the calibration's document.
    #[cfg_attr(not(feature = "batches"), allow(unused_variables))]
    fn drawn(
        &self,
        asked: &Asked,
        log: Option<&Path>,
        sha256: &str,
        context: Context,
    ) -> Result<Drawn, CliError> {
        let calibration = &asked.calibration;
        let blend = asked.blend();
        Ok(match self.kind {
            Kind::Firmness => {
                let chart = drawings::firmness(calibration, asked.measured_blend()?)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::Force => {
                let chart = drawings::force(calibration, blend, &self.force(asked, context)?)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::Rates => {
                let chart = drawings::rates(calibration, asked.measured_blend()?)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::Residuals => {
                let chart = drawings::residuals(calibration, asked.measured_blend()?)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::History => self.titled(self.history(asked)?, |chart| &mut chart.words),
            Kind::Standing => {
                let (set_kelvin, extrapolated) = self.set_kelvin(asked)?;
                let drawing = StandingAsked {
                    asked,
                    question: &self.question,
                    push: &self.push,
                    set_kelvin,
                    heat_time_s: self.syringes.heat_time,
                    stand_kelvin: self.stand_temp.clone(),
                    extrapolated,
                }
                .drawing(context)?;
                let chart = drawings::standing(calibration, blend, &drawing)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::Syringes => {
                let (set_kelvin, extrapolated) = self.set_kelvin(asked)?;
                let drawing = self.syringes.drawing(
                    blend,
                    &self.question,
                    &self.push,
                    set_kelvin,
                    extrapolated,
                )?;
                let chart = drawings::syringes(calibration, blend, &drawing)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            #[cfg(feature = "batches")]
            Kind::Batches => {
                let chart = super::batches_chart::of_calibration(log, sha256)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::Window => {
                let question = self.time_question(asked, context)?;
                let chart = drawings::window(calibration, blend, &question)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::Contributions => {
                let question = self.time_question(asked, context)?;
                let chart = drawings::contributions(calibration, blend, &question)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::Consequences => {
                let (set_kelvin, _) = self.set_kelvin(asked)?;
                let (question, found) = chart_consequences::found(
                    asked,
                    &self.question,
                    &self.push,
                    set_kelvin,
                    self.syringes.heat_time,
                    context,
                )?;
                let chart = drawings::consequences(calibration, blend, &question, &found)?;
                self.titled(chart, |chart| &mut chart.words)
            }
            Kind::IsoForce => {
                let question = self.time_question(asked, context)?;
                let chart = drawings::iso_force(calibration, blend, &question)?;
                self.titled(chart, |chart| &mut chart.words)
            }
        })
    }

    /// The chart under the title that is asked for, beside the finding that it states by itself.
    fn titled<C: Chart + Send + 'static>(
        &self,
        mut chart: C,
        words: fn(&mut C) -> &mut ChartWords,
    ) -> Drawn {
        let finding = words(&mut chart).title.clone();
        if let Some(title) = &self.title {
            words(&mut chart).title.clone_from(title);
        }
        Drawn {
            chart: Box::new(chart),
            finding,
        }
    }

    /// The syringe's history at the hottest measured temperature, or the one that is asked for.
    fn history(&self, asked: &Asked) -> Result<HistoryChart, CliError> {
        let Some(heat_time_s) = self.syringes.heat_time else {
            return Err(CliError::question(
                "The history of a syringe needs its time in the block.\nWhat helps: --heat-time 7min",
            ));
        };
        let blend = asked.blend();
        let (syringe, barrel) = self.push.barrel_as_given();
        let heating = self.question.heating.stated(None, None)?;
        let syringe = SyringeArguments::of_barrel(syringe, barrel)
            .with_coefficients(heating.contact_w_per_m2_kelvin, heating.air_w_per_m2_kelvin)
            .asked(self.question.heating.ambient)?;
        let set_kelvin = self.at.unwrap_or(blend.range.heat_temp_k[1]);
        let mut schedule = HeatSchedule::simple(blend.start_temp_k, set_kelvin, Some(heat_time_s))?;
        if let Some(cooling) = heating.cooling {
            schedule = schedule.then_cool(cooling.ambient_kelvin, cooling.cool_time_s)?;
        }
        let question = WarmUpQuestion {
            syringe: &syringe,
            schedule: schedule.timed()?,
            ambient_kelvin: self.question.heating.ambient,
            cool_until_kelvin: COOL_KELVIN,
            activation_energy_j_per_mol: None,
            reference_kelvin: None,
            air_gap_m3: None,
            altitude_m: self.question.altitude_m(),
            blend: Some(blend),
            extrapolate: self.question.extrapolate,
        };
        let findings = WarmUpFindings::of(&question)?;
        let mut chart = drawings::history(
            &findings.history,
            &question.schedule,
            findings.setting.as_ref(),
        );
        chart.words = drawings::history_words(
            headline(&findings, &question),
            &format!(
                "{}, blend {}; {}",
                self.question.file_name(),
                blend.blend,
                syringe.chart_words()
            ),
            asked.calibration.invented,
            findings.extrapolated,
        );
        Ok(chart)
    }

    /// The set temperature, and whether it lies outside the measured ones.
    fn set_kelvin(&self, asked: &Asked) -> Result<(f64, bool), CliError> {
        let [low, high] = asked.blend().range.heat_temp_k;
        let set_kelvin = self.at.unwrap_or(high);
        check_not_boiling(set_kelvin, self.question.altitude_m())?;
        let outside = set_kelvin < low - 0.05 || set_kelvin > high + 0.05;
        if outside && !self.question.extrapolate {
            return Err(CliError::question(format!(
                "{} lies outside the measured temperatures ({} to {}).\nWhat helps: ask within them; or --extrapolate, and the chart will say so",
                display::temperature(set_kelvin),
                display::temperature(low),
                display::temperature(high)
            )));
        }
        Ok((set_kelvin, outside))
    }

    /// The question of the charts that draw what `heatset time` answers.
    fn time_question(&self, asked: &Asked, context: Context) -> Result<TimeQuestion, CliError> {
        let (set_kelvin, _) = self.set_kelvin(asked)?;
        self.window
            .question(asked, &self.question, &self.push, set_kelvin, context)
    }

    fn force(&self, asked: &Asked, context: Context) -> Result<ForceDrawing, CliError> {
        let blend = asked.blend();
        let (set_kelvin, extrapolated) = self.set_kelvin(asked)?;
        let (setup, needles) = self.push.setup_and_needles()?;
        let named = needles.len() == 1;
        let needles = if named {
            needles
        } else {
            let length_m = setup.needle.length_m;
            USUAL_GAUGES
                .iter()
                .map(|g| NeedleUsed::of_gauge(*g, Wall::Regular, BoreBasis::Nominal, length_m))
                .collect::<Result<_, _>>()?
        };
        let setup = self.question.doubts.applied(setup, None)?;
        setup.check_force(setup.force_limit_n)?;
        Ok(ForceDrawing {
            set_kelvin,
            warm_up: self.question.heated(blend, &setup.barrel)?.warm_up,
            setup,
            needles,
            thinning: self.question.stated_thinning(),
            seed: context.seed,
            extrapolated,
        })
    }
}

/// Words of all kinds.
#[cfg(all(test, feature = "page"))]
pub(super) fn kinds() -> Vec<String> {
    Kind::value_variants()
        .iter()
        .filter_map(|kind| Some(kind.to_possible_value()?.get_name().to_owned()))
        .collect()
}

fn size(text: &str) -> Result<ChartSize, String> {
    ChartSize::parse(text).map_err(|e| e.to_string())
}
