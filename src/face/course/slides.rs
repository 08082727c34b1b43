//! The slides: what each is called, and when to show it.

use crate::chart::{Chart, ChartError, ChartFormat, ChartSize};

/// Width and height of a slide, in pixels.
const SLIDE_SIZE: (u32, u32) = (1600, 900);

/// What is said about a slide, in words of our own.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SlideWords {
    /// Name in the file: `what-heat-does`.
    pub(crate) name: &'static str,
    /// When to show it.
    pub(crate) show: &'static str,
    /// What to ask before the answer is given.
    pub(crate) ask: &'static str,
}

/// A slide, drawn.
#[derive(Debug, Clone)]
pub(crate) struct Slide {
    /// Number and name, without ending: `01-what-heat-does`.
    pub(crate) file: String,
    /// Its finding.
    pub(crate) title: String,
    /// What is said about it.
    pub(crate) words: SlideWords,
    /// The picture as PNG.
    pub(crate) png: Vec<u8>,
    /// The picture as SVG.
    pub(crate) svg: Vec<u8>,
}

/// Draws a slide in both formats.
///
/// # Errors
/// As for any chart.
pub(crate) fn slide(
    number: usize,
    words: SlideWords,
    title: &str,
    chart: &dyn Chart,
) -> Result<Slide, ChartError> {
    let size = ChartSize::new(SLIDE_SIZE.0, SLIDE_SIZE.1)?;
    Ok(Slide {
        file: format!("{number:02}-{}", words.name),
        title: title.replace('\u{a0}', " "),
        words,
        png: chart.draw(ChartFormat::Png, size)?,
        svg: chart.draw(ChartFormat::Svg, size)?,
    })
}

impl SlideWords {
    /// Firmness against heat time.
    pub(crate) const FIRMNESS: Self = Self {
        name: "what-heat-does",
        show: "At the start, while the block comes to its temperature.",
        ask: "Which line bends first, and what does a minute do at each temperature?",
    };
    /// Rates.
    pub(crate) const RATES: Self = Self {
        name: "hotter-is-faster",
        show: "After the first slide, before anybody sets a block.",
        ask: "How much faster is it ten degrees higher? Guess a factor, then read it off the line.",
    };
    /// Force per needle.
    pub(crate) const FORCE: Self = Self {
        name: "the-needle-decides",
        show: "With the needles in hand: let each be looked through first.",
        ask: "Through which of these does the same gel still go, and for how much longer?",
    };
    /// The window.
    pub(crate) const WINDOW: Self = Self {
        name: "a-window-not-a-minute",
        show: "Before the heat time of the exercise is named.",
        ask: "At which time would you stop if one syringe in twenty may be too firm? And one in a hundred?",
    };
    /// Contributions.
    pub(crate) const CONTRIBUTIONS: Self = Self {
        name: "what-we-do-not-know",
        show: "When somebody asks for one exact time.",
        ask: "What would you measure first to know better: another lot, the bore, or the block?",
    };
    /// Consequences.
    pub(crate) const CONSEQUENCES: Self = Self {
        name: "one-change-at-a-time",
        show: "Only after the second part of the sheet is filled in: it holds the answers.",
        ask: "Which guess was furthest off, and did it err towards too easy or too hard a push?",
    };
    /// Syringes.
    pub(crate) const SYRINGES: Self = Self {
        name: "a-larger-syringe-warms-slower",
        show: "Before a larger syringe goes into the same block for the same time.",
        ask: "How many minutes more does the larger one need, and where in it is the gel softest?",
    };
}
