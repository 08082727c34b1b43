//! `heatset course`: a folder for teaching, all of it from one calibration.

use super::chart_consequences;
use super::chart_syringes::SyringesArguments;
use super::chart_window::WindowArguments;
use super::course_folder::{CourseFile, check_folder, write_folder};
use super::output::{Output, progress};
use super::push_arguments::PushArguments;
use super::question_arguments::{Asked, QuestionArguments};
use super::{CliError, Context};
use crate::chart::Chart;
use crate::face::answer_words::stands_line;
use crate::face::cautions;
use crate::face::course::{
    Exercise, Slide, SlideWords, answers_page, answers_table, index_page, rows_of, sheet_page,
    sheet_table, slide,
};
use crate::face::drawings::{self, ForceDrawing};
use crate::plan::sheet::usable_aim_s;
use crate::plan::{NeedleUsed, heat_time};
use crate::reference::{BoreBasis, Wall};
use crate::thermal::check_not_boiling;
use crate::units::{self, display};
use clap::Args;
use std::path::PathBuf;

/// Gauges of the slide about needles.
const GAUGES: [u8; 5] = [25, 27, 29, 30, 32];
/// Step of a heat time that a class is told, in s.
const STEP_S: f64 = 30.0;

/// A folder for teaching: slides, a sheet to predict and then measure, its answers, and when to show what
#[derive(Debug, Args)]
pub(super) struct Arguments {
    #[command(flatten)]
    question: QuestionArguments,
    /// Set temperature of the exercise [default: the hottest measured]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: Option<f64>,
    /// Heat time of the exercise [default: the aim of 'heatset time' for the needle]
    #[arg(long, value_name = "TIME", value_parser = units::duration_s)]
    heat_time: Option<f64>,
    #[command(flatten)]
    push: PushArguments,
    /// Folder to be made; one that is there is replaced only with --replace, and only where it holds a
    /// course and nothing else
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        check_folder(&self.out, context.replace)?;
        let asked = self.question.read()?;
        asked.measured_blend()?;
        let set_kelvin = self.at.unwrap_or(asked.blend().range.heat_temp_k[1]);
        check_not_boiling(set_kelvin, self.question.altitude_m())
            .map_err(|error| CliError::question(error.to_string()))?;
        let heat_time_s = self.heat_time_s(&asked, set_kelvin, context)?;
        progress("Asking what changes do");
        let (question, consequences) = chart_consequences::found(
            &asked,
            &self.question,
            &self.push,
            set_kelvin,
            Some(heat_time_s),
            context,
        )?;
        let blend = asked.blend();
        let rows = rows_of(blend, &question)?;
        if rows.is_empty() {
            return Err(CliError::question(
                "No setting of the exercise lies within what was measured.\nWhat helps: --at within the measured temperatures",
            ));
        }
        let exercise = Exercise {
            stands: stands_line(&self.question.file_name(), blend),
            rows,
            extrapolated: consequences.extrapolated,
            consequences,
            read_at: blend
                .reference_shear_rate_per_s
                .map_or_else(String::new, |rate| {
                    format!(" at {} 1/s", display::at_most(rate, 3))
                }),
            invented: asked.calibration.invented,
            question,
        };
        progress("Drawing the slides");
        let slides = self.slides(&asked, &exercise, context)?;
        let files = files(&exercise, &slides);
        write_folder(&self.out, &files, context.replace)?;
        let written: Vec<String> = files
            .iter()
            .map(|file| self.out.join(&file.name).display().to_string())
            .collect();
        if context.json {
            return Output::json(&serde_json::json!({
                "heat_temp_K": exercise.question.set_kelvin,
                "heat_time_s": exercise.question.heat_time_s,
                "slides": slides.len(),
                "settings": exercise.rows.len(),
                "extrapolated": exercise.extrapolated,
                "invented": exercise.invented,
                "written": written,
            }));
        }
        let mark = if exercise.invented {
            "INVENTED DATA, and every sheet and slide says so.\n"
        } else {
            ""
        };
        Ok(Output::words(format!(
            "{mark}{} slides, a sheet with {} settings and {} changes, its answers, and what to show when: open {}\nThe exercise: {} at {} through {}.\n\n{}",
            slides.len(),
            exercise.rows.len(),
            exercise.consequences.changes.len(),
            self.out.join("index.html").display(),
            display::duration(heat_time_s),
            display::temperature(set_kelvin),
            exercise.question.setup.needle.label(),
            cautions::SHORT
        )))
    }

    /// As stated, else the aim of `heatset time`, rounded down.
    fn heat_time_s(
        &self,
        asked: &Asked,
        set_kelvin: f64,
        context: Context,
    ) -> Result<f64, CliError> {
        if let Some(heat_time_s) = self.heat_time {
            return Ok(heat_time_s);
        }
        let question = WindowArguments::without_least().question(
            asked,
            &self.question,
            &self.push,
            set_kelvin,
            context,
        )?;
        let answer = heat_time(asked.blend(), &question)?;
        let shortest_s = asked.blend().range.heat_time_s[0];
        usable_aim_s(&answer.heat_time_s, STEP_S, shortest_s).ok_or_else(|| {
            CliError::question(format!(
                "At {} there is no heat time to aim at for a {} needle, so none for the exercise.\nWhat helps: --heat-time 5min, another needle, or another --at; 'heatset time' says what would open the window",
                display::temperature(set_kelvin),
                question.setup.needle.label()
            ))
        })
    }

    fn slides(
        &self,
        asked: &Asked,
        exercise: &Exercise,
        context: Context,
    ) -> Result<Vec<Slide>, CliError> {
        let (calibration, blend) = (&asked.calibration, asked.blend());
        let set_kelvin = exercise.question.set_kelvin;
        let time_question = WindowArguments::without_least().question(
            asked,
            &self.question,
            &self.push,
            set_kelvin,
            context,
        )?;
        let length_m = exercise.question.setup.needle.length_m;
        let force = ForceDrawing {
            set_kelvin,
            setup: exercise.question.setup.clone(),
            needles: GAUGES
                .iter()
                .map(|g| NeedleUsed::of_gauge(*g, Wall::Regular, BoreBasis::Nominal, length_m))
                .collect::<Result<_, _>>()?,
            thinning: exercise.question.thinning,
            warm_up: exercise.question.warm_up.clone(),
            seed: context.seed,
            extrapolated: false,
        };
        let firmness = drawings::firmness(calibration, blend)?;
        let rates = drawings::rates(calibration, blend)?;
        let needles = drawings::force(calibration, blend, &force)?;
        let window = drawings::window(calibration, blend, &time_question)?;
        let doubts = drawings::contributions(calibration, blend, &time_question)?;
        let changes = drawings::consequences(
            calibration,
            blend,
            &exercise.question,
            &exercise.consequences,
        )?;
        let mut drawn: Vec<(SlideWords, String, Box<dyn Chart>)> = vec![
            (
                SlideWords::FIRMNESS,
                firmness.words.title.clone(),
                Box::new(firmness),
            ),
            (
                SlideWords::RATES,
                rates.words.title.clone(),
                Box::new(rates),
            ),
            (
                SlideWords::FORCE,
                needles.words.title.clone(),
                Box::new(needles),
            ),
            (
                SlideWords::WINDOW,
                window.words.title.clone(),
                Box::new(window),
            ),
            (
                SlideWords::CONTRIBUTIONS,
                doubts.words.title.clone(),
                Box::new(doubts),
            ),
            (
                SlideWords::CONSEQUENCES,
                changes.words.title.clone(),
                Box::new(changes),
            ),
        ];
        if !self.push.names_barrel() && !self.question.states_warm_up() {
            let drawing = SyringesArguments::usual(exercise.question.heat_time_s).drawing(
                blend,
                &self.question,
                &self.push.without_needle(),
                set_kelvin,
                false,
            )?;
            let chart = drawings::syringes(calibration, blend, &drawing)?;
            drawn.push((
                SlideWords::SYRINGES,
                chart.words.title.clone(),
                Box::new(chart),
            ));
        }
        drawn
            .iter()
            .enumerate()
            .map(|(place, (words, title, chart))| {
                Ok(slide(place + 1, *words, title, chart.as_ref())?)
            })
            .collect()
    }
}

/// Everything that is written, in memory first.
fn files(exercise: &Exercise, slides: &[Slide]) -> Vec<CourseFile> {
    let text = |name: &str, text: String| CourseFile {
        name: name.to_owned(),
        bytes: text.into_bytes(),
    };
    let mut files = vec![
        text("index.html", index_page(exercise, slides)),
        text("predict-then-measure.html", sheet_page(exercise)),
        text("predict-then-measure.csv", sheet_table(exercise)),
        text("answers.html", answers_page(exercise)),
        text("answers.csv", answers_table(exercise)),
    ];
    for slide in slides {
        files.push(CourseFile {
            name: format!("{}.png", slide.file),
            bytes: slide.png.clone(),
        });
        files.push(CourseFile {
            name: format!("{}.svg", slide.file),
            bytes: slide.svg.clone(),
        });
    }
    files
}
