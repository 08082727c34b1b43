//! What an air bubble that stays put in a barrel proves: inequalities, never a value.
//!
//! [`long`] says whether a bubble that fills the bore would move even in water, [`small`]
//! what holds one that is smaller than the bore, and [`bubble_check`] puts both together.

pub mod long;
pub mod small;

use serde::Serialize;

use super::error::{FlowError, FlowQuantity};
use long::{LongBubble, bond_number, critical_bore_m, long_bubble};
use small::{
    LARGEST_WALL_RATIO, held_yield_stress_pa, hiding_viscosity_pa_s, slug_yield_stress_pa,
    wall_slowing_ratio,
};

/// What the check is made with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BubbleInputs {
    /// Bore of the barrel.
    pub bore_m: f64,
    /// Diameter of a sphere with the bubble's volume; none for a bubble that fills the bore.
    pub bubble_diameter_m: Option<f64>,
    /// Least and greatest surface tension that the gel's liquid may have.
    pub surface_tension_n_per_m: (f64, f64),
    /// Density of the gel.
    pub density_kg_per_m3: f64,
    /// Viscosity of the liquid before anything has set.
    pub unset_viscosity_pa_s: f64,
    /// How long was looked on.
    pub watched_s: f64,
    /// Least travel that the eye would have seen.
    pub seen_travel_m: f64,
}

impl BubbleInputs {
    /// Whether the bubble fills the bore, or is so wide that the walls make it as good as that.
    #[must_use]
    pub fn fills_bore(&self) -> bool {
        self.bubble_diameter_m
            .is_none_or(|diameter_m| diameter_m > LARGEST_WALL_RATIO * self.bore_m)
    }
}

/// How much a held bubble says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proves {
    /// A bubble that fills this bore stays put in water.
    Nothing,
    /// Over the range of surface tensions it may stay put in water, or creep unseen.
    Little,
    /// In water it would be seen to move.
    Something,
}

/// What a held bubble proves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BubbleAnswer {
    /// How much.
    pub proves: Proves,
    /// rho g r^2/gamma at the greatest and the least surface tension.
    pub bond_number: (f64, f64),
    /// Bore up to which a long bubble is stuck in any liquid, at the least and the greatest
    /// surface tension.
    pub critical_bore_m: (f64, f64),
    /// A bubble that fills the bore, in the liquid before it sets, at the greatest and the
    /// least surface tension.
    pub long_bubble: (LongBubble, LongBubble),
    /// What a bubble smaller than the bore shows; none for one that fills it, and where the
    /// check proves nothing.
    pub held: Option<HeldBubble>,
    /// Yield stress that holds a bubble of any length in this bore.
    pub slug_yield_stress_pa: f64,
}

/// What holds a bubble that is smaller than the bore: one of the two, at least.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldBubble {
    /// Yield stress at least, by the lower and the higher published criterion.
    pub yield_stress_at_least_pa: (f64, f64),
    /// Or a viscosity at least, that hides the motion while it is looked at: with the walls
    /// and a stiff bubble surface; the least that does.
    pub viscosity_at_least_pa_s: f64,
    /// The same in a wide vessel with a clean bubble surface.
    pub wide_vessel_viscosity_pa_s: f64,
    /// Speed beside the walls over that in a wide vessel.
    pub wall_slowing_ratio: f64,
}

/// What a bubble that was seen to stay put proves.
///
/// # Equation
/// Nothing where the bore is under [`critical_bore_m`] at every surface tension of the range.
/// Little where it is so at some of them, or where a bubble that fills the bore creeps in the
/// unset liquid by less than the eye sees. Else, for a bubble smaller than the bore: a yield
/// stress of at least [`held_yield_stress_pa`], or a viscosity of at least
/// [`hiding_viscosity_pa_s`] at the speed `seen_travel_m`/`watched_s`.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | D | `bore_m` | m |
/// | gamma | `surface_tension_n_per_m` | N/m |
/// | rho | `density_kg_per_m3` | kg/m3 |
///
/// # Valid for
/// An upright, sealed barrel and a bubble that hangs free. A bubble at the wall of a tilted
/// barrel may stick there: then it proves less than this says. A bubble wider than three
/// fifths of the bore is taken to fill it.
///
/// # Errors
/// [`FlowError`] for an input that is not finite and above zero.
///
/// # Source
/// Bretherton 1961; Tsamopoulos et al. 2008; Sikorski et al. 2009; as cited in [`long`] and
/// [`small`].
///
/// # Example
/// ```
/// use heatset::flow::bubble::{BubbleInputs, Proves, bubble_check};
/// let inputs = BubbleInputs {
///     bore_m: 12e-3,
///     bubble_diameter_m: Some(2e-3),
///     surface_tension_n_per_m: (50e-3, 56e-3),
///     density_kg_per_m3: 1025.0,
///     unset_viscosity_pa_s: 1.3e-3,
///     watched_s: 10.0,
///     seen_travel_m: 1e-3,
/// };
/// let answer = bubble_check(&inputs)?;
/// // Tsamopoulos et al. 2008: 0.143 rho g R_b = 0.143 x 1025 x 9.80665 x 1 mm = 1.437 Pa
/// let least_pa = answer.held.map_or(0.0, |held| held.yield_stress_at_least_pa.0);
/// assert!((least_pa - 1.437).abs() < 0.001);
/// // 4 mm is under the critical bore of every tension from 50 mN/m on: it proves nothing
/// let narrow = bubble_check(&BubbleInputs { bore_m: 4e-3, ..inputs })?;
/// assert_eq!(narrow.proves, Proves::Nothing);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
pub fn bubble_check(inputs: &BubbleInputs) -> Result<BubbleAnswer, FlowError> {
    let bore_m = FlowQuantity::BarrelBore.positive(inputs.bore_m)?;
    let density = FlowQuantity::Density.positive(inputs.density_kg_per_m3)?;
    let least = FlowQuantity::SurfaceTension.positive(inputs.surface_tension_n_per_m.0)?;
    let greatest = FlowQuantity::SurfaceTension.positive(inputs.surface_tension_n_per_m.1)?;
    let (least, greatest) = (least.min(greatest), least.max(greatest));
    let unset_pa_s = FlowQuantity::Viscosity.positive(inputs.unset_viscosity_pa_s)?;
    let watched_s = FlowQuantity::Watched.positive(inputs.watched_s)?;
    let travel_m = FlowQuantity::SeenTravel.positive(inputs.seen_travel_m)?;
    let diameter_m = match inputs.bubble_diameter_m {
        Some(diameter_m) => Some(FlowQuantity::BubbleDiameter.positive(diameter_m)?),
        None => None,
    };
    let seen_m_per_s = travel_m / watched_s;
    let critical = (
        critical_bore_m(density, least),
        critical_bore_m(density, greatest),
    );
    let creep = |tension| long_bubble(bore_m, density, tension, unset_pa_s);
    let long = (creep(greatest), creep(least));
    let small = diameter_m.filter(|_| !inputs.fills_bore());
    let proves = if bore_m < critical.0 {
        Proves::Nothing
    } else if bore_m < critical.1 || (small.is_none() && long.0.speed_m_per_s() < seen_m_per_s) {
        Proves::Little
    } else {
        Proves::Something
    };
    let held = small
        .filter(|_| proves != Proves::Nothing)
        .map(|diameter_m| {
            let radius_m = 0.5 * diameter_m;
            let walls = wall_slowing_ratio(diameter_m / bore_m);
            let [stiff, clean] = hiding_viscosity_pa_s(radius_m, density, seen_m_per_s);
            HeldBubble {
                yield_stress_at_least_pa: held_yield_stress_pa(radius_m, density),
                viscosity_at_least_pa_s: stiff * walls,
                wide_vessel_viscosity_pa_s: clean,
                wall_slowing_ratio: walls,
            }
        });
    Ok(BubbleAnswer {
        proves,
        bond_number: (
            bond_number(bore_m, density, greatest),
            bond_number(bore_m, density, least),
        ),
        critical_bore_m: critical,
        long_bubble: long,
        held,
        slug_yield_stress_pa: slug_yield_stress_pa(bore_m, density),
    })
}
