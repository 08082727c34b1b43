//! The frame round every view: where one is, what answers stand on, in which units, the cautions.

use super::assets;
use super::query::{Asked, FORCE_IN, TEMPERATURE_IN, TIME_IN};
use super::shelf::Shelved;
use crate::face::cautions;
use crate::units::display;
use crate::units::shown::{ForceShown, TemperatureShown, TimeShown};
use maud::{DOCTYPE, Markup, html};

/// What is written across whatever stands on invented readings.
pub(super) const INVENTED: &str = "INVENTED DATA";

/// The rooms of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Room {
    /// The way in.
    Start,
    /// How long to heat.
    Heat,
    /// Enter readings and fit.
    Bench,
    /// Draw.
    Charts,
    /// Run sheet and log.
    Session,
    /// What answers can stand on.
    Calibrations,
    /// The cautions.
    Cautions,
}

impl Room {
    /// Class of the view, so that each room's style stays its own.
    const fn class(self) -> &'static str {
        match self {
            Self::Heat => "in-heat",
            Self::Bench => "in-bench",
            Self::Charts => "in-charts",
            Self::Session => "in-session",
            Self::Start | Self::Calibrations | Self::Cautions => "in-hall",
        }
    }
}

/// Rooms of the bar, in the order of the bar: path, name, for whom.
pub(super) const ROOMS: [(Room, &str, &str); 4] = [
    (Room::Heat, "/heat", "Heat"),
    (Room::Bench, "/bench", "Bench"),
    (Room::Charts, "/charts", "Charts"),
    (Room::Session, "/session", "Session"),
];

/// A whole page: the view's title and body in the frame.
pub(super) fn page(
    room: Room,
    title: &str,
    asked: &Asked,
    stands_on: Option<&Shelved>,
    body: &Markup,
) -> Markup {
    let invented = stands_on.is_some_and(|shelved| shelved.calibration.invented);
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(title, invented))
            body.invented[invented] {
                a.skip href="#main" { "To the answer" }
                header.bar {
                    a.mark href=(asked.to("/", &[])) { "heatset" }
                    nav aria-label="Rooms" {
                        @for (to, path, name) in ROOMS {
                            a href=(asked.to(path, &[])) aria-current=[(to == room).then_some("page")] { (name) }
                        }
                    }
                    (units(asked))
                }
                @if let Some(shelved) = stands_on { (stands(asked, shelved)) }
                main id="main" tabindex="-1" class=(room.class()) { (body) }
                (foot(asked))
            }
        }
    }
}

/// A page without calibration or units, for what cannot be served.
pub(super) fn bare(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(title, false))
            body {
                header.bar { a.mark href="/" { "heatset" } }
                main id="main" { (body) }
            }
        }
    }
}

fn head(title: &str, invented: bool) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="generator" content={ "heatset " (env!("CARGO_PKG_VERSION")) };
            title { (title) " - heatset" @if invented { " (invented data)" } }
            link rel="icon" href=(assets::icon()) type="image/svg+xml";
            link rel="stylesheet" href=(assets::style());
            script src=(assets::script()) defer {}
        }
    }
}

/// What answers stand on, and the mark of invented data, which no view can leave out.
fn stands(asked: &Asked, shelved: &Shelved) -> Markup {
    let calibration = &shelved.calibration;
    html! {
        section.stands aria-label="What answers stand on" {
            p {
                span.about { "Answers stand on " }
                strong { (shelved.name) }
                @if calibration.blends.len() > 1 { ", " (calibration.blends.len()) " blends" }
                @if let Some(blend) = calibration.blends.first() {
                    ", " (display::temperature(blend.range.heat_temp_k[0]))
                    " to " (display::temperature(blend.range.heat_temp_k[1]))
                }
                " "
                a href=(asked.to("/calibrations", &[])) { "use another" }
            }
            @if calibration.invented {
                p.ribbon role="note" { strong { (INVENTED) } " for learning the tool, for nothing else" }
            }
        }
    }
}

fn units(asked: &Asked) -> Markup {
    let shown = asked.shown();
    let fahrenheit = shown.temperature == TemperatureShown::Fahrenheit;
    let seconds = shown.time == TimeShown::Seconds;
    let kilogram = shown.force == ForceShown::KilogramForce;
    html! {
        details.units {
            summary { "Units" }
            form method="get" action=(asked.path()) data-at-once="" {
                (asked.fields_but(&[TEMPERATURE_IN, TIME_IN, FORCE_IN]))
                (choice("Temperature", TEMPERATURE_IN, &[("", "°C", !fahrenheit), ("F", "°F", fahrenheit)]))
                (choice("Time", TIME_IN, &[("", "min and s", !seconds), ("s", "s", seconds)]))
                (choice("Push", FORCE_IN, &[("", "N", !kilogram), ("kgf", "kgf", kilogram)]))
                button.without-script type="submit" { "Show in these" }
            }
        }
    }
}

fn choice(name: &str, key: &str, options: &[(&str, &str, bool)]) -> Markup {
    html! {
        label {
            span { (name) }
            select name=(key) {
                @for (value, words, chosen) in options {
                    option value=(value) selected[*chosen] { (words) }
                }
            }
        }
    }
}

fn foot(asked: &Asked) -> Markup {
    let mut lines = cautions::SHORT.lines();
    html! {
        footer {
            @if let Some(first) = lines.next() { p { (first) } }
            p {
                "Local codes and the licensed practitioner's judgement rule. "
                a href=(asked.to("/cautions", &[])) { "All cautions" }
            }
        }
    }
}
