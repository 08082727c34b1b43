//! The best readings of one lot, by exchanging settings one by one.

use super::information::Information;

/// Rounds of exchanges after which no further is tried.
const MOST_ROUNDS: usize = 20;
/// Share of the worth by which an exchange must be better to be made.
const BETTER: f64 = 1e-9;

/// How the cases of a belief are taken together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Aggregate {
    /// The case that fares worst.
    Worst,
    /// The mean of the cases.
    Mean,
}

impl Aggregate {
    /// The cases together.
    #[must_use]
    pub fn of(self, values: &[f64]) -> f64 {
        match self {
            Self::Worst => values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            Self::Mean => values.iter().sum::<f64>() / values.len().max(1) as f64,
        }
    }
}

/// What the candidates would tell in one case.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseReadings {
    /// Derivative of a reading by the parameters over its standard deviation, a candidate each; the
    /// parameters in units so wide that one unit of doubt is none.
    pub derivatives: Vec<Vec<f64>>,
    /// Gradients of the asked answers by the same parameters; none where only the parameters count.
    pub gradients: Vec<Vec<f64>>,
}

/// What a design is judged by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignWeights {
    /// Weight of all parameters together (D-optimal), 0 to 1; the rest is the answers' (c-optimal).
    ///
    /// The best readings for one answer alone may leave a parameter untold, so that nothing could be
    /// fitted: a small weight keeps the fit on its feet.
    pub parameters: f64,
    /// How the cases are taken together.
    pub aggregate: Aggregate,
}

/// The best settings of the candidates, one for each entry of `allowed`, which holds the candidates
/// that this reading may take; the same setting as often as it is worth. Places in the order of the
/// candidates.
///
/// # Equation
/// Smallest `(1 - w) A_s[mean_a ln(g_a^T C_s g_a)] + w mean_s ln det C_s / p` over the cases s and the
/// answers a, `A` their worst or mean, `C_s` the covariance of a lot's estimates.
///
/// # Valid for
/// Derivatives that are finite. The search ends in a design that no single exchange betters, which
/// need not be the best of all; it starts from readings added one by one.
///
/// # Source
/// V. Fedorov, Theory of Optimal Experiments, 1972, 3.3; R. Cook, C. Nachtsheim, Technometrics 22
/// (1980) 315, doi:10.1080/00401706.1980.10486162 (exchange); A. Atkinson, A. Donev, R. Tobias, Optimum
/// Experimental Designs, with SAS, 2007, chapter 21 (compound) (all from memory).
#[must_use]
pub fn best_settings(
    cases: &[CaseReadings],
    allowed: &[&[usize]],
    weights: DesignWeights,
) -> Vec<usize> {
    let mut search = Search::new(cases, weights);
    let mut places = Vec::with_capacity(allowed.len());
    for of_reading in allowed {
        let Some((place, _)) = search.best_addition(of_reading) else {
            return places;
        };
        search.add(place);
        places.push(place);
    }
    let mut worth = search.worth();
    for _ in 0..MOST_ROUNDS {
        let before = worth;
        for spot in 0..places.len() {
            let old = places[spot];
            search.take_away(old);
            if let Some((place, found)) = search.best_addition(allowed[spot])
                && found < worth - BETTER
            {
                places[spot] = place;
                worth = found;
            }
            search.add(places[spot]);
        }
        // Rounding gathers where readings are taken away by the hundred.
        search.again(&places);
        worth = search.worth();
        if worth >= before - BETTER {
            break;
        }
    }
    places.sort_unstable();
    places
}

/// What a design is worth by the sum of [`best_settings`], the smaller the better.
pub(super) fn worth_of(cases: &[CaseReadings], places: &[usize], weights: DesignWeights) -> f64 {
    let mut search = Search::new(cases, weights);
    search.again(places);
    search.worth()
}

/// The designs of all cases while settings are exchanged.
struct Search<'a> {
    cases: &'a [CaseReadings],
    weights: DesignWeights,
    now: Vec<Information>,
}

impl<'a> Search<'a> {
    fn new(cases: &'a [CaseReadings], weights: DesignWeights) -> Self {
        let mut search = Self {
            cases,
            weights,
            now: Vec::new(),
        };
        search.again(&[]);
        search
    }

    fn again(&mut self, places: &[usize]) {
        self.now = self
            .cases
            .iter()
            .map(|case| {
                let parameters = case.derivatives.first().map_or(0, Vec::len);
                Information::of_none(parameters)
            })
            .collect();
        for place in places {
            self.add(*place);
        }
    }

    fn add(&mut self, place: usize) {
        for (now, case) in self.now.iter_mut().zip(self.cases) {
            now.add(&case.derivatives[place]);
        }
    }

    fn take_away(&mut self, place: usize) {
        for (now, case) in self.now.iter_mut().zip(self.cases) {
            now.take_away(&case.derivatives[place]);
        }
    }

    /// Worth as it stands, the smaller the better.
    fn worth(&self) -> f64 {
        self.worth_by(
            |now, _, gradient| now.between(gradient, gradient),
            |_, _| 0.0,
        )
    }

    /// Worth with one more reading, without making it.
    fn worth_with(&self, place: usize) -> f64 {
        let leverage = |now: &Information, case: &CaseReadings| {
            let derivative = &case.derivatives[place];
            now.between(derivative, derivative)
        };
        self.worth_by(
            |now, case, gradient| {
                let common = now.between(gradient, &case.derivatives[place]);
                now.between(gradient, gradient) - common * common / (1.0 + leverage(now, case))
            },
            |now, case| -(1.0 + leverage(now, case)).ln(),
        )
    }

    fn worth_by(
        &self,
        variance: impl Fn(&Information, &CaseReadings, &[f64]) -> f64,
        ln_determinant: impl Fn(&Information, &CaseReadings) -> f64,
    ) -> f64 {
        let (mut answers, mut determinants) = (Vec::new(), 0.0);
        for (now, case) in self.now.iter().zip(self.cases) {
            let parameters = case.derivatives.first().map_or(1, Vec::len).max(1) as f64;
            determinants += (now.ln_determinant + ln_determinant(now, case)) / parameters;
            if !case.gradients.is_empty() {
                let sum: f64 = case
                    .gradients
                    .iter()
                    .map(|g| variance(now, case, g).max(f64::MIN_POSITIVE).ln())
                    .sum();
                answers.push(sum / case.gradients.len() as f64);
            }
        }
        let together = determinants / self.cases.len().max(1) as f64;
        if answers.is_empty() {
            return together;
        }
        let weight = self.weights.parameters;
        (1.0 - weight) * self.weights.aggregate.of(&answers) + weight * together
    }

    fn best_addition(&self, allowed: &[usize]) -> Option<(usize, f64)> {
        allowed
            .iter()
            .map(|place| (*place, self.worth_with(*place)))
            .filter(|(_, worth)| worth.is_finite())
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }
}
