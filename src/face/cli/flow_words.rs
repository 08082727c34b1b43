//! What `heatset flow` says of a push.

use super::CliError;
use super::flow::Answer;
use crate::flow::JOINT_STATEMENT;
use crate::reference::{BoreBasis, hands};
use crate::units::display;

/// What is tried on the bore where nobody gave its tolerance: 5 % less.
const TRIED_BORE_RATIO: f64 = 0.95;

impl Answer {
    /// The answer, then how sure, then the state at the wall.
    pub(super) fn lines(&self) -> Result<Vec<String>, CliError> {
        let mut lines = vec![self.headline()];
        lines.extend(self.range_words().map(indented));
        lines.extend(self.limit_words()?.into_iter().map(indented));
        lines.extend(self.yield_words().map(indented));
        lines.extend(self.state_words().into_iter().map(indented));
        Ok(lines)
    }

    /// What it takes; where the flow is not laminar, that this is not known.
    fn headline(&self) -> String {
        let force = about(self.push.plunger_force_n);
        let needle = self.needle_words();
        let rate = display::flow_rate(self.setup.flow_rate_m3_per_s);
        if self.push.laminar {
            let stands_on = match self.outside {
                Some(outside) => format!(
                    ", EXTRAPOLATED: the needle shears {} times as {} as the flow curve was measured",
                    display::at_most(outside.times_outside_ratio(), 2),
                    if outside.is_above { "fast" } else { "slow" }
                ),
                None => String::new(),
            };
            return format!(
                "It takes about {force} to push this through {needle} at {rate}{stands_on}."
            );
        }
        format!(
            "NOT LAMINAR: it takes more than {force} to push this through {needle} at {rate}, and how much more is not known here.\n  \
             The Reynolds number is {}, and the laws used here end at {}: the figures below are the laminar ones, and force and pressure are higher.",
            reynolds_words(self.push.reynolds),
            reynolds_words(self.push.critical_reynolds)
        )
    }

    fn needle_words(&self) -> String {
        let label = self.setup.needle.label();
        match self.setup.needle.gauge {
            Some(11 | 18) => format!("an {label} needle"),
            Some(_) => format!("a {label} needle"),
            None => format!("a needle of {label}"),
        }
    }

    /// What the bore leaves open.
    fn range_words(&self) -> Option<String> {
        let needle = &self.setup.needle;
        if let (Some([least_n, most_n]), Some(tolerance_m)) =
            (self.force_range_n, needle.bore_tolerance_m)
        {
            return Some(format!(
                "{} to {} over the tolerance of the bore (± {}).",
                display::at_most(least_n, 2),
                about(most_n),
                display::length_mm(tolerance_m)
            ));
        }
        if needle.bore_basis == Some(BoreBasis::Minimum) {
            return Some("Less through a real needle: this bore is the least allowed.".to_owned());
        }
        let tried_m = needle.bore_m * TRIED_BORE_RATIO;
        let narrower = self.with_bore(tried_m).ok()?;
        Some(format!(
            "The bore's tolerance was not given: 5 % less bore would make it {}.",
            about(narrower.plunger_force_n)
        ))
    }

    /// Whether the push stays under the force limit.
    fn limit_words(&self) -> Result<Vec<String>, CliError> {
        let limit_n = self.setup.force_limit_n;
        let published = hands()?.target_n == limit_n;
        let limit = format!(
            "the limit of {}{}",
            display::force(limit_n),
            if published {
                " (published target for hands)"
            } else {
                ""
            }
        );
        let [least_n, most_n] = self.force_range_n.unwrap_or([self.push.plunger_force_n; 2]);
        let helps =
            "What helps: a wider needle, a slower push, a smaller syringe or less heat.".to_owned();
        Ok(if least_n > limit_n {
            vec![format!("Over {limit}."), helps]
        } else if most_n > limit_n {
            let side = if self.push.plunger_force_n > limit_n {
                "Over"
            } else {
                "Under"
            };
            let other = if side == "Over" { "wide" } else { "narrow" };
            let turned = if side == "Over" { "under" } else { "over" };
            vec![
                format!("{side} {limit}, but {turned} it with a bore at the {other} end."),
                helps,
            ]
        } else if self.push.laminar {
            vec![format!("Under {limit}.")]
        } else {
            Vec::new()
        })
    }

    /// Pressure, wall, regime, ends.
    fn state_words(&self) -> Vec<String> {
        let push = &self.push;
        let elsewhere_pa = push.joint_pressure_pa - push.pressure_pa;
        let joint = if elsewhere_pa > 0.0 {
            format!(
                "Pressure at the joint {}, {} of it in the needle",
                display::pressure(push.joint_pressure_pa),
                display::pressure(push.pressure_pa)
            )
        } else {
            format!("Pressure {}", display::pressure(push.pressure_pa))
        };
        let regime = if push.laminar {
            "laminar"
        } else {
            "not laminar"
        };
        let ends_n = push.end_loss_pa * self.conditions.barrel_area_m2();
        let counted = if self.setup.include_end_losses {
            "counted."
        } else {
            "not counted (--end-losses counts it)."
        };
        vec![
            format!("{joint}: {JOINT_STATEMENT}."),
            format!(
                "At the needle's wall: shear rate {} /s, stress {}, viscosity {}.",
                display::at_most(push.wall_shear_rate_per_s, 3),
                display::pressure(push.wall_shear_stress_pa),
                display::viscosity(push.apparent_viscosity_pa_s)
            ),
            format!(
                "Reynolds number {}: {regime} (limit {}); developed {} behind the entrance.",
                reynolds_words(push.reynolds),
                reynolds_words(push.critical_reynolds),
                entrance_words(push.entrance_length_m)
            ),
            format!(
                "{} about {}, which is {}: {counted}",
                self.ends_words(),
                display::pressure_to(push.end_loss_pa, 2),
                about(ends_n)
            ),
        ]
    }

    /// What the losses outside the developed flow are made of.
    fn ends_words(&self) -> String {
        let losses = self.push.end_losses;
        let parts = [
            ("creeping in and out", losses.creeping_pa),
            ("kinetic energy", losses.kinetic_pa),
        ]
        .map(|(name, loss_pa)| format!("{name} {}", display::pressure_to(loss_pa, 2)))
        .join(", ");
        match self.hub {
            None => format!("Entrance and exit of the needle ({parts}) take"),
            Some(_) => format!(
                "Hub, entrance and exit of the needle ({parts}, hub {}) take",
                display::pressure_to(losses.hub_pa, 2)
            ),
        }
    }

    /// What holds before anything flows.
    fn yield_words(&self) -> Option<String> {
        let force_n = self.yield_force_n?;
        let inputs = self.conditions.inputs();
        let others = match (inputs.friction_n > 0.0, inputs.tissue_pressure_pa > 0.0) {
            (true, true) => ", stopper and tissue",
            (true, false) => " and stopper",
            (false, true) => " and tissue",
            (false, false) => "",
        };
        Some(format!(
            "Nothing flows below about {} ({} of this push): yield stress{others} hold that much, also when you pause.",
            about(force_n),
            display::percent((force_n / self.push.plunger_force_n).min(1.0))
        ).replace("yield stress hold", "the yield stress holds"))
    }
}

fn indented(line: impl AsRef<str>) -> String {
    format!("  {}", line.as_ref())
}

fn about(force_n: f64) -> String {
    format!("{} N", display::at_most(force_n, 2))
}

fn reynolds_words(reynolds: f64) -> String {
    if (100.0..1e6).contains(&reynolds) {
        format!("{reynolds:.0}")
    } else {
        display::at_most(reynolds, 2)
    }
}

/// An entrance length to a hundredth of a millimetre.
fn entrance_words(length_m: f64) -> String {
    if length_m < 0.1e-3 {
        "less than 0.1 mm".to_owned()
    } else {
        format!("{} mm", display::at_most(length_m * 1e3, 2))
    }
}
