//! What the control charts come to, in one word and the rule that says so.

use super::control::{
    Cusum, CusumPoint, Ewma, EwmaPoint, ShewhartLimits, moving_range_sigma, two_of_three,
};
use super::entry::Entry;
use serde::Serialize;

/// What is charted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Standardised deviations from the prediction: centre 0, standard deviation 1.
    #[default]
    Z,
    /// Natural logarithm of the reading over the predicted median: centre 0, standard deviation from
    /// the moving ranges.
    LnRatio,
}

/// Rules and their numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControlSettings {
    /// What is charted.
    pub basis: Basis,
    /// Half the width of Shewhart's limits, in standard deviations.
    pub shewhart_width_sigmas: f64,
    /// Whether two of three beyond two thirds of the width signal too.
    pub two_of_three: bool,
    /// Allowance k of the cumulative sum, in standard deviations.
    pub cusum_allowance_sigmas: f64,
    /// Decision value h of the cumulative sum, in standard deviations.
    pub cusum_decision_sigmas: f64,
    /// Weight of the newest value in the moving average.
    pub ewma_weight_ratio: f64,
    /// Half the width of its limits, in its standard deviations.
    pub ewma_width_sigmas: f64,
}

impl Default for ControlSettings {
    /// Shewhart at 3; k 0.5 and h 5 (465 batches to a false alarm); weight 0.2 and L 2.962 (500), as
    /// Montgomery and Lucas and Saccucci list them (from memory).
    fn default() -> Self {
        Self {
            basis: Basis::Z,
            shewhart_width_sigmas: 3.0,
            two_of_three: false,
            cusum_allowance_sigmas: 0.5,
            cusum_decision_sigmas: 5.0,
            ewma_weight_ratio: 0.2,
            ewma_width_sigmas: 2.962,
        }
    }
}

/// A rule that can signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// Outside its own 95 % prediction interval.
    Interval,
    /// Beyond Shewhart's limits.
    Shewhart,
    /// Two of three in a row beyond two thirds of them, on one side.
    TwoOfThree,
    /// The cumulative sum.
    Cusum,
    /// The moving average.
    Ewma,
}

/// On which side of the prediction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Firmer than predicted.
    Above,
    /// Softer than predicted.
    Below,
}

/// A signal of a rule.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RuleSaid {
    /// The rule.
    pub rule: Rule,
    /// The entry at which it signalled first.
    pub entry: u64,
    /// On which side.
    pub side: Side,
    /// Whether it signals at the newest entry still.
    pub lasting: bool,
    /// Mean number of batches to a false alarm of this rule.
    pub false_alarm_every_batches: f64,
}

/// The verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Verdict {
    /// Nothing speaks against the calibration.
    #[serde(rename = "in line")]
    InLine,
    /// One batch, or a drift that is over, to be looked at.
    #[serde(rename = "look")]
    Look,
    /// The readings have drifted away from the calibration.
    #[serde(rename = "calibrate again")]
    CalibrateAgain,
}

impl Verdict {
    /// The words for it.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::InLine => "in line",
            Self::Look => "look",
            Self::CalibrateAgain => "calibrate again",
        }
    }
}

/// Where the standard deviation of a chart comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FoundBy {
    /// From the prediction's own draws.
    Prediction,
    /// From the moving ranges of the readings.
    MovingRange,
}

/// One charted entry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charted {
    /// Number of the entry.
    pub entry: u64,
    /// What is charted of it, in the chart's unit.
    pub value_in_unit: f64,
    /// Whether the reading lies inside its prediction interval.
    pub inside: bool,
}

/// The charts over the entries of one calibration, and what they come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// SHA-256 of the calibration; none where the log holds nothing to judge.
    pub calibration_sha256: Option<String>,
    /// The entries, the oldest first.
    pub charted: Vec<Charted>,
    /// Where sigma comes from.
    pub sigma_found_by: FoundBy,
    /// Shewhart's limits; none where there are too few entries for a standard deviation.
    pub shewhart: Option<ShewhartLimits>,
    /// The sums after each entry.
    pub cusum: Vec<CusumPoint>,
    /// Decision value of the sums, in the chart's unit.
    pub cusum_decision_in_unit: f64,
    /// The moving average after each entry.
    pub ewma: Vec<EwmaPoint>,
    /// Every signal, the oldest first.
    pub signals: Vec<RuleSaid>,
    /// The verdict; none where nothing is judged.
    pub verdict: Option<Verdict>,
    /// The signals that it stands on.
    pub because: Vec<RuleSaid>,
    /// Most entries of one lot among those charted: beyond one they are not independent.
    pub most_of_a_lot: usize,
}

/// Judges the entries that were held against one calibration: that of the newest entry, where none is
/// named. A new calibration starts every chart afresh.
///
/// # Valid for
/// One reading a lot, and a calibration that is exact. The z of readings of one lot share what is
/// peculiar to it, and those of all lots share the error of the calibration: both make alarms more
/// frequent than the rules say.
#[must_use]
pub fn judge(
    entries: &[Entry],
    settings: &ControlSettings,
    calibration_sha256: Option<&str>,
) -> Judged {
    let numbers = |entry: &&Entry| entry.stands() && entry.entered.prediction.is_some();
    let calibration = calibration_sha256
        .or_else(|| {
            let newest = entries.iter().rfind(numbers)?;
            Some(newest.entered.calibration_sha256.as_str())
        })
        .map(str::to_owned);
    let mut of_lots: std::collections::HashMap<&str, usize> = std::collections::HashMap::new();
    let charted: Vec<Charted> = entries
        .iter()
        .filter(numbers)
        .filter(|entry| Some(&entry.entered.calibration_sha256) == calibration.as_ref())
        .filter_map(|entry| {
            let held = entry.entered.prediction?;
            *of_lots.entry(&entry.entered.codes.lot).or_default() += 1;
            Some(Charted {
                entry: entry.number,
                value_in_unit: match settings.basis {
                    Basis::Z => held.z_sd,
                    Basis::LnRatio => held.ln_ratio,
                },
                inside: held.inside,
            })
        })
        .collect();
    let values: Vec<f64> = charted.iter().map(|c| c.value_in_unit).collect();
    let (sigma, sigma_found_by) = match settings.basis {
        Basis::Z => (Some(1.0), FoundBy::Prediction),
        Basis::LnRatio => (
            moving_range_sigma(&values).filter(|sigma| *sigma > 0.0),
            FoundBy::MovingRange,
        ),
    };
    let mut judged = Judged {
        calibration_sha256: calibration,
        sigma_found_by,
        shewhart: None,
        cusum: Vec::new(),
        cusum_decision_in_unit: 0.0,
        ewma: Vec::new(),
        signals: Vec::new(),
        verdict: None,
        because: Vec::new(),
        most_of_a_lot: of_lots.values().copied().max().unwrap_or(0),
        charted,
    };
    if let Some(sigma_in_unit) = sigma
        && !values.is_empty()
    {
        judged.chart(settings, sigma_in_unit, &values);
    }
    judged
}

impl Judged {
    /// Draws the three charts about 0, and gathers their signals.
    fn chart(&mut self, settings: &ControlSettings, sigma_in_unit: f64, values: &[f64]) {
        let shewhart = ShewhartLimits {
            centre_in_unit: 0.0,
            sigma_in_unit,
            width_sigmas: settings.shewhart_width_sigmas,
        };
        let cusum = Cusum {
            target_in_unit: 0.0,
            allowance_in_unit: settings.cusum_allowance_sigmas * sigma_in_unit,
            decision_in_unit: settings.cusum_decision_sigmas * sigma_in_unit,
        };
        let ewma = Ewma {
            centre_in_unit: 0.0,
            sigma_in_unit,
            weight_ratio: settings.ewma_weight_ratio,
            width_sigmas: settings.ewma_width_sigmas,
        };
        self.shewhart = Some(shewhart);
        self.cusum_decision_in_unit = cusum.decision_in_unit;
        self.cusum = cusum.course(values);
        self.ewma = ewma.course(values);
        let side_of = |value: &f64| (*value > 0.0, *value < 0.0);
        let only = |(above, below): (bool, bool), so: bool| (above && so, below && so);
        let beyond: Vec<_> = values
            .iter()
            .map(|v| only(side_of(v), shewhart.is_beyond(*v)))
            .collect();
        // The warning lines stand at two thirds of the limits.
        let warning_sigma = sigma_in_unit * settings.shewhart_width_sigmas / 3.0;
        let pairs: Vec<_> = two_of_three(values, 0.0, warning_sigma)
            .into_iter()
            .zip(values)
            .map(|(so, v)| only(side_of(v), so))
            .collect();
        let sums: Vec<_> = self
            .cusum
            .iter()
            .map(|point| (point.signals_above, point.signals_below))
            .collect();
        let averages: Vec<_> = self
            .ewma
            .iter()
            .map(|point| (point.signals_above(), point.signals_below()))
            .collect();
        let every = |rule: Rule| rule.false_alarm_every_batches(settings);
        self.note(Rule::Shewhart, &beyond, every(Rule::Shewhart));
        if settings.two_of_three {
            self.note(Rule::TwoOfThree, &pairs, every(Rule::TwoOfThree));
        }
        self.note(Rule::Cusum, &sums, every(Rule::Cusum));
        self.note(Rule::Ewma, &averages, every(Rule::Ewma));
        self.signals.sort_by_key(|signal| signal.entry);
        self.conclude(every(Rule::Interval));
    }

    /// Adds the signals of a rule: a sum or an average once a stretch, the others at each entry.
    fn note(&mut self, rule: Rule, at: &[(bool, bool)], every_batches: f64) {
        let lasts = matches!(rule, Rule::Cusum | Rule::Ewma);
        for (side, pick) in [
            (
                Side::Above,
                (|s: &(bool, bool)| s.0) as fn(&(bool, bool)) -> bool,
            ),
            (Side::Below, |s| s.1),
        ] {
            let now = at.last().is_some_and(pick);
            let mut before = false;
            let mut own: Vec<RuleSaid> = Vec::new();
            for (charted, so) in self.charted.iter().zip(at.iter().map(pick)) {
                if so && !(lasts && before) {
                    own.push(RuleSaid {
                        rule,
                        entry: charted.entry,
                        side,
                        lasting: false,
                        false_alarm_every_batches: every_batches,
                    });
                }
                before = so;
            }
            if let (true, Some(newest)) = (now, own.last_mut()) {
                newest.lasting = true;
            }
            self.signals.extend(own);
        }
    }

    /// The verdict: a drift that lasts, over more than one batch, asks for a new calibration; all else
    /// that signals now, or a drift that is over, for a look.
    fn conclude(&mut self, interval_every_batches: f64) {
        let drifts = |signal: &&RuleSaid| matches!(signal.rule, Rule::Cusum | Rule::Ewma);
        let lasting: Vec<RuleSaid> = self.signals.iter().filter(|s| s.lasting).copied().collect();
        let drifting: Vec<RuleSaid> = lasting.iter().filter(drifts).copied().collect();
        if !drifting.is_empty() && self.charted.len() > 1 {
            self.verdict = Some(Verdict::CalibrateAgain);
            self.because = drifting;
            return;
        }
        let mut because = lasting;
        if let Some(newest) = self.charted.last()
            && !newest.inside
        {
            because.push(RuleSaid {
                rule: Rule::Interval,
                entry: newest.entry,
                side: if newest.value_in_unit > 0.0 {
                    Side::Above
                } else {
                    Side::Below
                },
                lasting: true,
                false_alarm_every_batches: interval_every_batches,
            });
        }
        if because.is_empty() {
            because.extend(self.signals.iter().rfind(drifts).copied());
        }
        self.verdict = Some(if because.is_empty() {
            Verdict::InLine
        } else {
            Verdict::Look
        });
        self.because = because;
    }
}

impl Rule {
    /// Mean number of batches to a false alarm of the rule by itself (of two of three: together with
    /// the limits).
    ///
    /// # Valid for
    /// Independent normal values about a target that is known; see the run lengths of each chart.
    #[must_use]
    pub fn false_alarm_every_batches(self, settings: &ControlSettings) -> f64 {
        let width = settings.shewhart_width_sigmas;
        match self {
            Self::Interval => 20.0,
            Self::Shewhart => ShewhartLimits::run_length_batches(width, 0.0),
            Self::TwoOfThree => ShewhartLimits::run_length_with_two_of_three_batches(width, 0.0),
            Self::Cusum => Cusum::run_length_batches(
                settings.cusum_allowance_sigmas,
                settings.cusum_decision_sigmas,
                0.0,
            ),
            Self::Ewma => Ewma::run_length_batches(
                settings.ewma_weight_ratio,
                settings.ewma_width_sigmas,
                0.0,
            ),
        }
    }
}
