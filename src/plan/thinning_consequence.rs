//! What an assumed or stated flow index does to an answer, in newtons.

use super::gel::{FlowIndexSource, Gel};
use crate::flow::PushConditions;
use crate::kinetics::{FlowIndexCourse, ShearThinning};
use serde::Serialize;

/// Flow index of the set gel that is shown beside an answer without one: a gel that thins
/// markedly, as an example and no estimate.
///
/// Source: soft protein and polymer gels that were fitted by Herschel-Bulkley have 0.5 to 0.65
/// (the curves of Dinkgreve et al. 2015, fig. 2, as in tests/data/flow_carbomer.csv and
/// flow_protein_emulsion.csv).
pub const EXAMPLE_FLOW_INDEX: f64 = 0.5;

/// The push that a flow index means.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ThinningConsequence {
    /// Flow index of the set gel.
    pub flow_index: f64,
    /// Plunger force at the estimates, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: f64,
    /// Whether the answer stands on this one.
    pub answered_with: bool,
}

/// The same push without thinning and with it: the stated index, or where none was stated
/// [`EXAMPLE_FLOW_INDEX`]. Nothing where the index was fitted, or where the bench's shear rate is
/// not known and none was stated.
#[must_use]
pub fn thinning_consequences(
    gel: &Gel,
    conditions: &PushConditions,
    fraction: f64,
    reference_shear_rate_per_s: Option<f64>,
) -> Vec<ThinningConsequence> {
    let with = |flow_index: f64, course: FlowIndexCourse, reference_shear_rate_per_s: f64| {
        let other = Gel {
            thinning: ShearThinning {
                flow_index_plateau: flow_index,
                reference_shear_rate_per_s,
                course,
                yield_share_plateau: 0.0,
            },
            ..gel.clone()
        };
        other.push(conditions, fraction).plunger_force_n
    };
    let own = gel.thinning.flow_index_plateau;
    let (other, course) = match gel.index_source {
        FlowIndexSource::Fitted => return Vec::new(),
        FlowIndexSource::Stated if own != 1.0 => (own, gel.thinning.course),
        FlowIndexSource::Stated | FlowIndexSource::Assumed => {
            (EXAMPLE_FLOW_INDEX, FlowIndexCourse::WithSetting)
        }
    };
    let Some(reference) = reference_shear_rate_per_s else {
        return Vec::new();
    };
    [
        (1.0, with(1.0, FlowIndexCourse::Constant, 1.0)),
        (other, with(other, course, reference)),
    ]
    .into_iter()
    .map(|(flow_index, plunger_force_n)| ThinningConsequence {
        flow_index,
        plunger_force_n,
        answered_with: flow_index == own,
    })
    .collect()
}
