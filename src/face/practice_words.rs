//! The card of a practice fluid, as text and as a page that prints.

use crate::face::answer_words::hand_line;
use crate::face::cautions;
use crate::plan::{AtOtherSpeed, PracticeFluid, PracticeQuestion, PracticeTarget};
use crate::reference::{GLYCEROL_DENSITY_DOUBT_RATIO, GLYCEROL_VISCOSITY_DOUBT_RATIO};
use crate::units::display;
use maud::{DOCTYPE, html};

/// What stands on every card and in every document.
pub(crate) const MEANING: &str = "Practice fluid for empty training syringes, pushed into the open. NEVER inject it, and never mix it with a gel or put it where a gel goes. Mark every syringe of it.";

/// What is known of the target beside itself.
#[derive(Debug, Clone, Default)]
pub(crate) struct Stated {
    /// Set temperature in K and heat time in s.
    pub(crate) heated: Option<(f64, f64)>,
    /// What the gel's push stands on.
    pub(crate) stands_on: Option<String>,
    /// Whether the gel's thinning was measured or stated.
    pub(crate) thinning_is_known: bool,
    /// Whether it stands on invented data.
    pub(crate) invented: bool,
    /// Whether it lies outside of what was measured.
    pub(crate) extrapolated: bool,
}

impl Stated {
    /// What is matched.
    pub(crate) fn matches(&self) -> &'static str {
        if self.heated.is_some() {
            "gel"
        } else {
            "stated"
        }
    }
}

/// The card: lines under headings.
#[derive(Debug, Clone)]
pub(crate) struct Card {
    headline: String,
    never: &'static str,
    marks: Vec<&'static str>,
    sections: Vec<(&'static str, Vec<String>)>,
    end: Vec<String>,
}

impl Card {
    /// The card as text.
    pub(crate) fn text(&self) -> String {
        let mut lines: Vec<String> = self.marks.iter().map(|mark| (*mark).to_owned()).collect();
        lines.push(self.headline.clone());
        lines.push(self.never.to_owned());
        for (name, facts) in &self.sections {
            lines.push(String::new());
            lines.push((*name).to_owned());
            lines.extend(facts.iter().map(|fact| format!("  {fact}")));
        }
        lines.push(String::new());
        lines.extend(self.end.iter().cloned());
        lines.push(cautions::SHORT.to_owned());
        lines.join("\n") + "\n"
    }
}

/// The card as one self-contained page that prints.
pub(crate) fn card_page(card: &Card) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Practice fluid - never inject" }
                style {
                    "body{font:1rem/1.45 sans-serif;max-width:44rem;margin:1.5rem auto;padding:0 1rem;color:#111}"
                    ".never{border:3px solid #111;padding:.6rem 1rem;font-weight:bold}"
                    "h1{font-size:1.3rem}h2{font-size:1rem;margin-bottom:.2rem}ul{margin-top:.2rem}"
                    "@media print{body{margin:0;max-width:none}}"
                }
            }
            body {
                @for mark in &card.marks { p { strong { (mark) } } }
                h1 { (card.headline) }
                p.never { (card.never) }
                @for (name, facts) in &card.sections {
                    h2 { (name) }
                    ul { @for fact in facts { li { (fact) } } }
                }
                @for line in &card.end { p { (line) } }
                @for line in cautions::SHORT.lines() { p { (line) } }
            }
        }
    };
    page.into_string()
}

/// The card of an answer.
pub(crate) fn card(fluid: &PracticeFluid, question: &PracticeQuestion, stated: &Stated) -> Card {
    let mut marks = Vec::new();
    if stated.invented {
        marks.push("INVENTED DATA: the gel was never measured.");
    }
    if stated.extrapolated {
        marks.push("EXTRAPOLATED: the gel lies outside of what was measured.");
    }
    let mut end = Vec::new();
    end.extend(stated.stands_on.clone());
    end.push(format!(
        "Formulas: Cheng 2008, within {} of the table of Segur and Oberstar 1951; densities within {}.",
        display::percent(GLYCEROL_VISCOSITY_DOUBT_RATIO),
        display::percent(GLYCEROL_DENSITY_DOUBT_RATIO)
    ));
    Card {
        headline: headline(fluid, question, stated),
        never: MEANING,
        marks,
        sections: vec![
            ("To make it", recipe(fluid)),
            ("What it matches", matched(fluid, question, stated)),
            ("What moves it", moved(fluid)),
        ],
        end,
    }
}

fn headline(fluid: &PracticeFluid, question: &PracticeQuestion, stated: &Stated) -> String {
    let like = match (&question.target, stated.heated) {
        (PracticeTarget::Gel { .. }, Some((kelvin, heat_time_s))) => format!(
            "pushes like the gel after {} at {}",
            display::duration(heat_time_s),
            display::temperature(kelvin)
        ),
        (PracticeTarget::Viscosity { .. }, _) => format!(
            "has the {} asked for",
            display::viscosity_to(fluid.viscosity_pa_s, 3)
        ),
        _ => "takes the push asked for".to_owned(),
    };
    format!(
        "{} glycerol by mass {like}: about {} through a {} needle at {}, in a room of {}.",
        percent(fluid.glycerol_mass_fraction),
        display::force_to(fluid.practice_force_n, 2),
        question.setup.needle.label(),
        display::flow_rate(question.setup.flow_rate_m3_per_s),
        display::temperature(fluid.room_kelvin)
    )
}

fn recipe(fluid: &PracticeFluid) -> Vec<String> {
    let recipe = &fluid.recipe;
    let grams = |kilograms: f64| format!("{} g", display::significant(kilograms * 1e3, 3));
    let millilitres = |cubic_m: f64| format!("{} mL", display::significant(cubic_m * 1e6, 3));
    let stock = if recipe.stock_mass_fraction < 1.0 {
        format!(
            "glycerol of {}",
            display::percent(recipe.stock_mass_fraction)
        )
    } else {
        "glycerol".to_owned()
    };
    vec![
        format!(
            "For {}: {} {stock} and {} water. Weigh them.",
            display::volume(recipe.volume_m3),
            grams(recipe.stock_kg),
            grams(recipe.water_kg)
        ),
        format!(
            "By volume, where there is no scale: {} {stock} and {} water.",
            millilitres(recipe.stock_m3),
            millilitres(recipe.water_m3)
        ),
        "Glycerol clings to whatever measures it, and takes up water from the air: keep both closed, and make it anew rather than keep it open. Some glycerol is sold with 15 % water in it: --stock 85%.".to_owned(),
        "Stir until no streaks are seen, and let the bubbles rise.".to_owned(),
    ]
}

fn matched(fluid: &PracticeFluid, question: &PracticeQuestion, stated: &Stated) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(force) = &fluid.gel_force_n {
        let [low, high] = force.interval95;
        let digits = display::digits_for_interval(low, high).max(2);
        let shares =
            fluid
                .glycerol_mass_fraction_interval95
                .map_or_else(String::new, |[least, most]| {
                    format!(
                        " As mixtures: from {} to {}.",
                        least.map_or("less than water alone takes".to_owned(), percent),
                        most.map_or("more than glycerol alone takes".to_owned(), percent)
                    )
                });
        lines.push(format!(
            "The gel takes {} at the estimates; 95 of 100 syringes lie between {} and {} N.{shares}",
            display::force_to(force.point, digits),
            display::significant(low, digits),
            display::significant(high, digits)
        ));
    }
    lines.extend(hand_line(
        fluid.practice_force_n,
        question.setup.force_limit_n,
    ));
    lines.push(format!(
        "It matches at one speed only, {}: glycerol and water do not thin, and a gel does{}.",
        display::flow_rate(question.setup.flow_rate_m3_per_s),
        if fluid.gel_force_n.is_some() && !stated.thinning_is_known {
            "; how far this one does was not measured"
        } else {
            ""
        }
    ));
    for (at, word) in fluid.at_other_speeds.iter().zip(["half", "twice"]) {
        lines.push(other_speed(at, word));
    }
    lines.push(format!(
        "Viscosity {}; the wall of the needle shears at {} /s.",
        display::viscosity_to(fluid.viscosity_pa_s, 3),
        display::at_most(fluid.wall_shear_rate_per_s, 2)
    ));
    if question.setup.tissue_pressure_pa > 0.0 {
        lines.push(
            "The gel is pushed against tissue, the practice fluid into the open: the mixture makes up for it."
                .to_owned(),
        );
    }
    lines.push(
        "A yield stress, a gel that drags and strings, and the way it stops are not in it."
            .to_owned(),
    );
    lines
}

fn other_speed(at: &AtOtherSpeed, word: &str) -> String {
    let practice = display::force_to(at.practice_force_n, 2);
    let gel = at.gel_force_n.map_or_else(String::new, |force_n| {
        format!(", the gel about {}", display::force_to(force_n, 2))
    });
    format!(
        "At {word} that speed ({}) it takes about {practice}{gel}.",
        display::flow_rate(at.flow_rate_m3_per_s)
    )
}

fn moved(fluid: &PracticeFluid) -> Vec<String> {
    let range = |forces: [Option<f64>; 2]| match forces {
        [Some(one), Some(other)] => format!(
            "{} or {}",
            display::force_to(one, 3),
            display::force_to(other, 3)
        ),
        [Some(one), None] => display::force_to(one, 3),
        [None, Some(other)] => display::force_to(other, 3),
        [None, None] => "outside of the formula".to_owned(),
    };
    let sensitivity = &fluid.sensitivity;
    vec![
        format!(
            "A degree colder or warmer: {}.",
            range(sensitivity.one_degree_n)
        ),
        format!(
            "One percent less or more glycerol: {}. Water taken up from the air counts as less.",
            range(sensitivity.one_percent_n)
        ),
        format!(
            "The formula itself: {}.",
            range(sensitivity.formula_n.map(Some))
        ),
        "Needle, barrel and friction as for the gel: use the same ones.".to_owned(),
    ]
}

/// A mass fraction to a tenth of a per cent.
fn percent(fraction: f64) -> String {
    format!("{:.1} %", 100.0 * fraction)
}
