//! What becomes of each parameter in the search: held, searched, or solved for.

use super::rows::BenchRows;
use super::shape::{ErrorModel, Shape};
use crate::fit::parameter::ParameterName;
use crate::kinetics::FirmnessLaw;

/// What becomes of a parameter in the search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// Not part of this shape.
    Absent,
    /// At a stated value.
    Held,
    /// Enters linearly and is solved for.
    Projected(usize),
    /// Is searched.
    Searched(usize),
}

/// Role of each parameter, and how many are searched and projected.
pub(super) fn roles(
    rows: &BenchRows,
    shape: &Shape,
) -> ([Role; ParameterName::COUNT], usize, usize) {
    let relative = shape.errors == ErrorModel::Relative;
    let thins = !rows.ln_shear_ratios.is_empty();
    let yields = thins && shape.has(ParameterName::YieldSharePlateau);
    let read_apart = rows.read_temperatures.is_some();
    let linear_ends = match shape.law {
        FirmnessLaw::Log | FirmnessLaw::GelPoint => relative,
        FirmnessLaw::Linear => !relative && !thins && !read_apart,
    };
    let mut roles = [Role::Absent; ParameterName::COUNT];
    let (mut search_count, mut linear_count) = (0, 0);
    // The rate and the energy come first, so that the grid finds them at the same places.
    let order = [
        ParameterName::RateRef,
        ParameterName::ActivationEnergy,
        ParameterName::Order,
        ParameterName::DoseLag,
        ParameterName::WarmUp,
        ParameterName::GelConversion,
        ParameterName::Initial,
        ParameterName::Plateau,
        ParameterName::GelExponent,
        ParameterName::FlowIndexPlateau,
        ParameterName::FlowActivationEnergy,
        ParameterName::YieldSharePlateau,
    ];
    for name in order {
        let there = shape.has(name)
            && match name {
                ParameterName::FlowIndexPlateau | ParameterName::YieldSharePlateau => thins,
                ParameterName::FlowActivationEnergy => read_apart,
                _ => true,
            };
        let is_linear = match name {
            ParameterName::Initial => {
                linear_ends || (relative && shape.law == FirmnessLaw::GelPoint)
            }
            ParameterName::Plateau | ParameterName::GelExponent => linear_ends,
            // Beside a yield stress the power law is but one of two stresses.
            ParameterName::FlowIndexPlateau => relative && !yields,
            ParameterName::FlowActivationEnergy => relative,
            _ => false,
        };
        roles[name.index()] = if !there {
            Role::Absent
        } else if shape.holds(name) {
            Role::Held
        } else if is_linear {
            linear_count += 1;
            Role::Projected(linear_count - 1)
        } else {
            search_count += 1;
            Role::Searched(search_count - 1)
        };
    }
    (roles, search_count, linear_count)
}
