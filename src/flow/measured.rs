//! A flow curve as it was measured: a table of shear rates and stresses, and no law.

use super::error::FlowError;
use super::gauss::panel_integral;
use super::log_interpolant::LogInterpolant;
use super::pipe::WallState;
use super::rabinowitsch::{self, Wall, ln_wall_rate};
use super::root::{Sample, increasing_root};
use super::tube_curve::TubeCurve;

/// A panel of ln g no wider than this takes ten nodes to more than eleven digits.
const WIDEST_PANEL: f64 = 1.0;
/// A rate that leaves the table by less than this is rounding.
const ROUNDING_RATIO: f64 = 1e-9;

/// One measured pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShearPoint {
    /// Shear rate.
    pub shear_rate_per_s: f64,
    /// Shear stress.
    pub shear_stress_pa: f64,
}

/// A measured flow curve, and its flow through a tube by the general integral.
///
/// # Equation
/// ln tau over ln g by monotone piecewise cubics through the points; past either end the
/// power law through the last two of them. Tube:
/// G = Q/(pi R^3) = (1/3) [g_w - (1/tau_w^3) integral_0^g_w tau(g)^3 dg].
///
/// | symbol | field | unit |
/// |---|---|---|
/// | g | `shear_rate_per_s` | 1/s |
/// | tau | `shear_stress_pa` | Pa |
///
/// # Valid for
/// Points whose rates and stresses rise strictly. Inside the table it says what was
/// measured; past its ends it is a guess, which [`MeasuredCurve::leaves_table`] tells. A
/// table has no yield stress: what flows below its lowest rate is not known.
///
/// # Source
/// General integral: Weissenberg, Rabinowitsch, in Bird, Armstrong & Hassager, Dynamics of
/// Polymeric Liquids, vol. 1, 2nd ed., 1987, section 10.2. Interpolation: Fritsch & Carlson
/// 1980, doi 10.1137/0717021; Fritsch & Butland 1984, doi 10.1137/0905021 (from memory).
///
/// # Example
/// ```
/// use heatset::flow::{MeasuredCurve, ShearPoint, pipe::{Tube, pressure_drop_pa}};
/// // Chhabra & Richardson 2008, Example 3.1, its power law (3 Pa.s^0.5, n 0.5) as a table:
/// // 2500 kg/h of 1075 kg/m3 through 25 mm x 10 m: 110 kPa
/// let points = [1.0, 10.0, 100.0, 1000.0_f64]
///     .map(|rate| ShearPoint { shear_rate_per_s: rate, shear_stress_pa: 3.0 * rate.sqrt() });
/// let curve = MeasuredCurve::new(&points)?;
/// let tube = Tube { bore_m: 25e-3, length_m: 10.0 };
/// let pressure_pa = pressure_drop_pa(&curve, tube, 2500.0 / 3600.0 / 1075.0);
/// assert!((pressure_pa - 110e3).abs() < 0.5e3);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredCurve {
    points: Vec<ShearPoint>,
    curve: LogInterpolant,
    /// J of [`super::rabinowitsch`] at every knot.
    shares: Vec<f64>,
}

/// How a shear rate at the wall lies outside a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeavesTable {
    /// Shear rate at the wall.
    pub wall_shear_rate_per_s: f64,
    /// The end of the table that it lies past.
    pub table_end_per_s: f64,
    /// True where it lies above the highest rate, false where it lies under the lowest.
    pub is_above: bool,
}

impl LeavesTable {
    /// How many times the wall's rate is above the table's highest, or under its lowest.
    #[must_use]
    pub fn times_outside_ratio(&self) -> f64 {
        if self.is_above {
            self.wall_shear_rate_per_s / self.table_end_per_s
        } else {
            self.table_end_per_s / self.wall_shear_rate_per_s
        }
    }
}

impl MeasuredCurve {
    /// A curve through measured points.
    ///
    /// # Errors
    /// [`FlowError::TooFewPoints`] for fewer than two; [`FlowError::TableDoesNotRise`] names
    /// the first point, from 1, whose rate or stress is not finite, not above zero or not
    /// above that of the point before it.
    pub fn new(points: &[ShearPoint]) -> Result<Self, FlowError> {
        if points.len() < 2 {
            return Err(FlowError::TooFewPoints {
                points: points.len(),
            });
        }
        let (mut rate, mut stress) = (0.0, 0.0);
        for (number, point) in (1..).zip(points) {
            let rises = point.shear_rate_per_s > rate && point.shear_stress_pa > stress;
            if !rises || !point.shear_rate_per_s.is_finite() || !point.shear_stress_pa.is_finite() {
                return Err(FlowError::TableDoesNotRise {
                    point: number,
                    shear_rate_per_s: point.shear_rate_per_s,
                    shear_stress_pa: point.shear_stress_pa,
                });
            }
            (rate, stress) = (point.shear_rate_per_s, point.shear_stress_pa);
        }
        let curve = LogInterpolant::through(
            points
                .iter()
                .map(|point| (point.shear_rate_per_s, point.shear_stress_pa)),
        );
        let mut measured = Self {
            points: points.to_vec(),
            curve,
            shares: Vec::with_capacity(points.len()),
        };
        for number in 0..points.len() {
            if let Some(knot) = measured.curve.knots().get(number) {
                let share = measured.share_from_knot(number, knot.ln_rate);
                measured.shares.push(share);
            }
        }
        Ok(measured)
    }

    /// The points.
    #[must_use]
    pub fn points(&self) -> &[ShearPoint] {
        &self.points
    }

    /// Lowest and highest shear rate of the table.
    #[must_use]
    pub fn shear_rate_range_per_s(&self) -> (f64, f64) {
        let rate = |point: Option<&ShearPoint>| point.map_or(0.0, |p| p.shear_rate_per_s);
        (rate(self.points.first()), rate(self.points.last()))
    }

    /// Whether a shear rate at the wall lies outside what was measured, and how.
    #[must_use]
    pub fn leaves_table(&self, wall_shear_rate_per_s: f64) -> Option<LeavesTable> {
        let (lowest, highest) = self.shear_rate_range_per_s();
        let is_above = wall_shear_rate_per_s > highest * (1.0 + ROUNDING_RATIO);
        let is_below = wall_shear_rate_per_s < lowest * (1.0 - ROUNDING_RATIO);
        (is_above || is_below).then_some(LeavesTable {
            wall_shear_rate_per_s,
            table_end_per_s: if is_above { highest } else { lowest },
            is_above,
        })
    }

    /// J at a rate: what the knot under it has, and the panels from there.
    fn share(&self, ln_rate: f64) -> f64 {
        self.share_from_knot(self.curve.knots_up_to(ln_rate), ln_rate)
    }

    /// J at a rate at or above which stand `below` knots, the last of them the one to start at.
    fn share_from_knot(&self, below: usize, ln_rate: f64) -> f64 {
        let start = below
            .checked_sub(1)
            .and_then(|place| Some((self.curve.knots().get(place)?, self.shares.get(place)?)));
        let Some((knot, share)) = start else {
            // under the table the curve is a power law down to nothing
            let slope = self.curve.knots().first().map_or(1.0, |knot| knot.slope);
            return 1.0 / (3.0 * slope + 1.0);
        };
        if below == self.curve.knots().len() {
            // past the last point it is a power law, whose integral is closed
            let steepness = 3.0 * knot.slope + 1.0;
            let left = (-steepness * (ln_rate - knot.ln_rate)).exp();
            return share * left + (1.0 - left) / steepness;
        }
        let here = self.curve.at(ln_rate).ln_stress;
        let weight =
            |place: f64, ln_stress: f64| (3.0 * (ln_stress - here) + place - ln_rate).exp();
        let width = ln_rate - knot.ln_rate;
        let panels = (width / WIDEST_PANEL).ceil().clamp(1.0, 1e4);
        let step = width / panels;
        let between: f64 = (0..panels as u32)
            .map(|number| {
                let from = knot.ln_rate + f64::from(number) * step;
                panel_integral(from, from + step, |place| {
                    weight(place, self.curve.at(place).ln_stress)
                })
            })
            .sum();
        share * weight(knot.ln_rate, knot.ln_stress) + between
    }

    fn ln_rate_at_stress(&self, shear_stress_pa: f64) -> f64 {
        let ln_stress = shear_stress_pa.ln();
        let knots = self.curve.knots();
        let above = knots.partition_point(|knot| knot.ln_stress <= ln_stress);
        let left = above.checked_sub(1).and_then(|place| knots.get(place));
        match (left, knots.get(above)) {
            (Some(left), Some(right)) => {
                let share = (ln_stress - left.ln_stress) / (right.ln_stress - left.ln_stress);
                let start = left.ln_rate + share * (right.ln_rate - left.ln_rate);
                increasing_root(left.ln_rate, right.ln_rate, start, |place| {
                    let here = self.curve.at(place);
                    Sample {
                        value: here.ln_stress - ln_stress,
                        slope: here.slope,
                    }
                })
            }
            (Some(end), None) | (None, Some(end)) => {
                end.ln_rate + (ln_stress - end.ln_stress) / end.slope
            }
            (None, None) => ln_stress,
        }
    }
}

impl TubeCurve for MeasuredCurve {
    fn shear_stress_pa(&self, shear_rate_per_s: f64) -> f64 {
        self.curve.at(shear_rate_per_s.ln()).ln_stress.exp()
    }

    fn yield_stress_pa(&self) -> f64 {
        0.0
    }

    fn wall_at(&self, reduced_flow_per_s: f64) -> WallState {
        // G is at most g_w/3; the upper end is looked for
        let low = (3.0 * reduced_flow_per_s).ln();
        let start = low + (4.0_f64 / 3.0).ln();
        let mut high = start;
        for _ in 0..1000 {
            high += 30.0;
            let found = high + (-self.share(high)).ln_1p();
            if found >= low {
                break;
            }
        }
        let ln_rate = ln_wall_rate(reduced_flow_per_s, (low, high), start, |place| Wall {
            share: self.share(place),
            local_index: self.curve.at(place).slope,
        });
        WallState {
            shear_stress_pa: self.curve.at(ln_rate).ln_stress.exp(),
            shear_rate_per_s: ln_rate.exp(),
        }
    }

    fn reduced_flow_per_s(&self, wall_shear_stress_pa: f64) -> f64 {
        let ln_rate = self.ln_rate_at_stress(wall_shear_stress_pa);
        rabinowitsch::reduced_flow_per_s(ln_rate.exp(), self.share(ln_rate))
    }
}
