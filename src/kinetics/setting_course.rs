//! How a gel sets place by place in a syringe.

use super::setting::SettingModel;
use crate::thermal::{ByPart, GelDoses, share_under_half_of_mean, volume_mean};

/// Conversion in a syringe by place and time, and what a needle that mixes the column reads.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingCourse {
    /// Conversion at r = 0 by time, mean over the length.
    pub core_fractions: Vec<f64>,
    /// Conversion at the wall by time, mean over the length.
    pub edge_fractions: Vec<f64>,
    /// Volume mean of the conversion by time.
    pub mean_fractions: Vec<f64>,
    /// Least conversion of any part of the gel at the end.
    pub least_at_end_fraction: f64,
    /// Greatest conversion of any part of the gel at the end.
    pub greatest_at_end_fraction: f64,
    /// Share of the volume whose conversion is under half of the mean.
    pub unset_fraction: f64,
    /// Reading at the end, in the reading's unit; nothing where a part of it has none (past a gel
    /// point) or none above zero.
    pub reading_at_end: Option<f64>,
}

impl SettingModel {
    /// Conversion by place and time from the heat doses in a syringe, which must be counted with
    /// this model's activation energy and reference temperature.
    ///
    /// # Equation
    /// `a = conversion(k_ref max(0, theta - theta_lag))` in every cell;
    /// `ln P = volume mean of ln law(a)`
    ///
    /// # Valid for
    /// A gel that does not flow while it is heated and is mixed in the needle.
    ///
    /// # Source
    /// The mixing rule is common practice, no source: the logarithm of a mixture's viscosity is near
    /// the mean of its parts' logarithms.
    #[must_use]
    pub fn course(&self, doses: &GelDoses) -> SettingCourse {
        let set = |doses: &ByPart| doses.map(|dose_s| self.conversion_at_dose(dose_s));
        let (core, edge, gel) = (set(&doses.core_s), set(&doses.edge_s), set(&doses.gel_s));
        let readings: Vec<f64> = gel
            .last_parts()
            .iter()
            .map(|fraction| self.reading_at_conversion(*fraction))
            .collect();
        let has_logarithm = |reading: &f64| reading.is_finite() && *reading > 0.0;
        let reading_at_end = readings.iter().all(has_logarithm).then(|| {
            let logarithms: Vec<f64> = readings.iter().map(|reading| reading.ln()).collect();
            volume_mean(gel.fractions(), &logarithms).exp()
        });
        let all = || {
            [&core, &edge, &gel]
                .into_iter()
                .flat_map(ByPart::last_parts)
                .copied()
        };
        SettingCourse {
            core_fractions: core.means(),
            edge_fractions: edge.means(),
            mean_fractions: gel.means(),
            least_at_end_fraction: all().fold(1.0, f64::min),
            greatest_at_end_fraction: all().fold(0.0, f64::max),
            unset_fraction: share_under_half_of_mean(gel.fractions(), gel.last_parts()),
            reading_at_end,
        }
    }
}
