//! The laws that are fitted, with their derivatives.

use crate::fit::Scale;
use crate::flow::{CarreauYasuda, FlowCurve, FlowError};

/// A law of shear stress over shear rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CurveModel {
    /// tau = eta g.
    Newtonian,
    /// tau = K g^n.
    PowerLaw,
    /// tau = tau_y + mu g.
    Bingham,
    /// tau = tau_y + K g^n.
    HerschelBulkley,
    /// eta = eta_inf + (eta_0 - eta_inf) [1 + (lambda g)^a]^((n-1)/a), eta_inf held.
    CarreauYasuda,
}

/// How readings scatter about the law.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShearErrors {
    /// (law - reading)/reading.
    Relative,
    /// ln law - ln reading.
    Log,
    /// law - reading.
    Absolute,
}

impl ShearErrors {
    /// The word on the command line and in the document.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Relative => "relative",
            Self::Log => "log",
            Self::Absolute => "absolute",
        }
    }
}

/// A parameter's name, unit and scale of search.
pub(super) struct ParameterKind {
    pub name: &'static str,
    pub unit: &'static str,
    pub scale: Scale,
}

const fn kind(name: &'static str, unit: &'static str, scale: Scale) -> ParameterKind {
    ParameterKind { name, unit, scale }
}

const CONSISTENCY: ParameterKind = kind("consistency", "Pa.s^n", Scale::Log);
const FLOW_INDEX: ParameterKind = kind("flow_index", "1", Scale::Linear);
const YIELD_STRESS: ParameterKind = kind("yield_stress", "Pa", Scale::Linear);
const NEWTONIAN: [ParameterKind; 1] = [kind("viscosity", "Pa.s", Scale::Log)];
const POWER_LAW: [ParameterKind; 2] = [CONSISTENCY, FLOW_INDEX];
const BINGHAM: [ParameterKind; 2] = [YIELD_STRESS, kind("plastic_viscosity", "Pa.s", Scale::Log)];
const HERSCHEL_BULKLEY: [ParameterKind; 3] = [YIELD_STRESS, CONSISTENCY, FLOW_INDEX];
const CARREAU_YASUDA: [ParameterKind; 4] = [
    kind("zero_shear_viscosity", "Pa.s", Scale::Log),
    kind("time_constant", "s", Scale::Log),
    FLOW_INDEX,
    kind("transition_index", "1", Scale::Log),
];

impl CurveModel {
    /// Every law, fewest unknowns first.
    pub const ALL: [Self; 5] = [
        Self::Newtonian,
        Self::PowerLaw,
        Self::Bingham,
        Self::HerschelBulkley,
        Self::CarreauYasuda,
    ];

    /// The word on the command line and in the document; the same as the option of
    /// `heatset flow` but for the power law.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Newtonian => "newtonian",
            Self::PowerLaw => "power-law",
            Self::Bingham => "bingham",
            Self::HerschelBulkley => "herschel-bulkley",
            Self::CarreauYasuda => "carreau",
        }
    }

    /// The name in a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Newtonian => "Newtonian",
            Self::PowerLaw => "power",
            Self::Bingham => "Bingham",
            Self::HerschelBulkley => "Herschel-Bulkley",
            Self::CarreauYasuda => "Carreau-Yasuda",
        }
    }

    pub(super) const fn what_helps(self) -> &'static str {
        match self {
            Self::Newtonian | Self::PowerLaw => "look for readings that are not of this gel",
            Self::Bingham | Self::HerschelBulkley => {
                "readings at lower shear rates, where the stress levels off; or a law without a yield stress, --model power-law"
            }
            Self::CarreauYasuda => {
                "readings at shear rates low enough for the viscosity to level off and high enough for it to fall; or --model power-law"
            }
        }
    }

    pub(super) const fn parameters(self) -> &'static [ParameterKind] {
        match self {
            Self::Newtonian => &NEWTONIAN,
            Self::PowerLaw => &POWER_LAW,
            Self::Bingham => &BINGHAM,
            Self::HerschelBulkley => &HERSCHEL_BULKLEY,
            Self::CarreauYasuda => &CARREAU_YASUDA,
        }
    }

    /// Number of unknowns.
    #[must_use]
    pub const fn parameter_count(self) -> usize {
        self.parameters().len()
    }

    /// Stress at a shear rate, and its derivatives by the searched parameters (logarithms where
    /// their scale says so).
    pub(super) fn stress(
        self,
        searched: &[f64],
        floor_pa_s: f64,
        rate_per_s: f64,
        derivatives: &mut [f64; 4],
    ) -> f64 {
        match (self, searched) {
            (Self::Newtonian, [ln_viscosity]) => {
                let stress = ln_viscosity.exp() * rate_per_s;
                derivatives[0] = stress;
                stress
            }
            (Self::PowerLaw, [ln_consistency, index]) => {
                let stress = (ln_consistency + index * rate_per_s.ln()).exp();
                derivatives[0] = stress;
                derivatives[1] = stress * rate_per_s.ln();
                stress
            }
            (Self::Bingham, [yield_stress, ln_viscosity]) => {
                let viscous = ln_viscosity.exp() * rate_per_s;
                derivatives[0] = 1.0;
                derivatives[1] = viscous;
                yield_stress + viscous
            }
            (Self::HerschelBulkley, [yield_stress, ln_consistency, index]) => {
                let viscous = (ln_consistency + index * rate_per_s.ln()).exp();
                derivatives[0] = 1.0;
                derivatives[1] = viscous;
                derivatives[2] = viscous * rate_per_s.ln();
                yield_stress + viscous
            }
            (Self::CarreauYasuda, [ln_rest, ln_time, index, ln_transition]) => {
                let transition = ln_transition.exp();
                let power = transition * (ln_time + rate_per_s.ln());
                let tail = (-power.abs()).exp();
                let ln_one_plus = power.max(0.0) + tail.ln_1p();
                let share = if power > 0.0 { 1.0 } else { tail } / (1.0 + tail);
                let thinning = ((index - 1.0) / transition * ln_one_plus).exp();
                let rest = ln_rest.exp();
                let thinned = rate_per_s * (rest - floor_pa_s) * thinning;
                derivatives[0] = rate_per_s * rest * thinning;
                derivatives[1] = thinned * (index - 1.0) * share;
                derivatives[2] = thinned * ln_one_plus / transition;
                derivatives[3] =
                    thinned * (index - 1.0) / transition * (share * power - ln_one_plus);
                rate_per_s * floor_pa_s + thinned
            }
            _ => f64::NAN,
        }
    }

    /// The curve with searched parameters, where they make one.
    pub(super) fn curve(self, searched: &[f64], floor_pa_s: f64) -> Result<FlowCurve, FlowError> {
        match (self, searched) {
            (Self::PowerLaw, [ln_consistency, index]) => {
                FlowCurve::power_law(ln_consistency.exp(), *index)
            }
            (Self::Bingham, [yield_stress, ln_viscosity]) => {
                FlowCurve::bingham(*yield_stress, ln_viscosity.exp())
            }
            (Self::HerschelBulkley, [yield_stress, ln_consistency, index]) => {
                FlowCurve::herschel_bulkley(*yield_stress, ln_consistency.exp(), *index)
            }
            (Self::CarreauYasuda, [ln_rest, ln_time, index, ln_transition]) => {
                FlowCurve::CarreauYasuda(CarreauYasuda {
                    zero_shear_viscosity_pa_s: ln_rest.exp(),
                    infinite_shear_viscosity_pa_s: floor_pa_s,
                    time_constant_s: ln_time.exp(),
                    flow_index: *index,
                    transition_index: ln_transition.exp(),
                })
                .checked()
            }
            (_, searched) => {
                FlowCurve::newtonian(searched.first().copied().map_or(f64::NAN, f64::exp))
            }
        }
    }
}
