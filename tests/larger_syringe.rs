//! Common practice, no source: in a block at 90 °C a 1 mL syringe is heated about 6 min for a 30G
//! needle and 8 to 10 min for 27G; a syringe of up to 5 mL, for a 25G needle, about 15 min. One gel
//! that meets the first two must, through conduction alone, meet the third.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use heatset::flow::{PushConditions, PushInputs, viscosity_for_force};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, ReactionOrder, SettingModel};
use heatset::reference::{plasma, polypropylene};
use heatset::thermal::{DeclaredSyringe, StatedWarmUp, WarmUp};

const SET_KELVIN: f64 = 363.15;
const ROOM_KELVIN: f64 = 295.15;
const INITIAL_PA_S: f64 = 1.6e-3;
/// Shear rate at which a viscosity holds, in 1/s.
const READ_PER_S: f64 = 10.0;

fn syringe(bore_mm: f64, wall_mm: f64, contact: f64) -> WarmUp {
    let syringe = DeclaredSyringe {
        name: format!("{bore_mm} mm barrel"),
        bore_m: bore_mm * 1e-3,
        wall_thickness_m: wall_mm * 1e-3,
        gel: plasma().unwrap().into(),
        wall: polypropylene().unwrap().into(),
        contact_w_per_m2_kelvin: contact,
        air_w_per_m2_kelvin: 30.0,
        length: None,
    };
    StatedWarmUp::Syringe(syringe)
        .history(ROOM_KELVIN, None)
        .unwrap()
}

struct Push {
    bore_mm: f64,
    length_mm: f64,
    barrel_mm: f64,
    flow_ml_per_min: f64,
    friction_n: f64,
    force_n: f64,
}

impl Push {
    /// Viscosity at the bench's shear rate at which the push takes the force, in Pa s.
    fn viscosity_pa_s(&self, flow_index: f64) -> f64 {
        let conditions = PushConditions::new(PushInputs {
            bore_m: self.bore_mm * 1e-3,
            length_m: self.length_mm * 1e-3,
            barrel_bore_m: self.barrel_mm * 1e-3,
            flow_rate_m3_per_s: self.flow_ml_per_min * 1e-6 / 60.0,
            friction_n: self.friction_n,
            tissue_pressure_pa: 0.0,
            density_kg_per_m3: 1025.0,
            include_end_losses: false,
        })
        .unwrap();
        viscosity_for_force(&conditions, flow_index, READ_PER_S, self.force_n).unwrap()
    }
}

/// A gel of the log law.
fn gel(rate_per_s: f64, energy_kj: f64, plateau: f64, warm_up: &WarmUp) -> SettingModel {
    SettingModel {
        firmness: FirmnessCurve::Log {
            initial: INITIAL_PA_S,
            plateau,
        },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: rate_per_s,
            activation_energy_j_per_mol: energy_kj * 1e3,
            reference_kelvin: SET_KELVIN,
        },
        dose_lag_s: 0.0,
        warm_up: warm_up.clone(),
    }
}

/// The gel that reads the two viscosities after 6 and 9 min: the ratio of both conversions gives
/// the rate, either of them the plateau.
fn calibrated(viscosities: [f64; 2], energy_kj: f64, warm_up: &WarmUp) -> SettingModel {
    let ln = viscosities.map(|v| (v / INITIAL_PA_S).ln());
    let fractions = |rate: f64| {
        let gel = gel(rate, energy_kj, 1.0, warm_up);
        [360.0, 540.0].map(|time_s| gel.conversion(SET_KELVIN, time_s))
    };
    // The ratio falls from far above to 1 as the rate rises.
    let (mut low, mut high) = (1e-6_f64, 1.0_f64);
    for _ in 0..80 {
        let middle = (low * high).sqrt();
        let [early, late] = fractions(middle);
        if late / early > ln[1] / ln[0] {
            low = middle;
        } else {
            high = middle;
        }
    }
    let [early, late] = fractions(low);
    assert!(
        (late / early - ln[1] / ln[0]).abs() < 1e-6,
        "no rate meets both facts"
    );
    gel(
        low,
        energy_kj,
        INITIAL_PA_S * (ln[0] / early).exp(),
        warm_up,
    )
}

/// Minutes in the 5 mL syringe: with conduction; for the same gel at temperature from the first
/// moment; and for a gel that was calibrated so too. `None` where the plateau lies under the limit.
fn minutes(index: f64, energy_kj: f64, contact: f64, force_n: f64, flow: f64) -> Option<[f64; 3]> {
    let small = |bore_mm: f64| Push {
        bore_mm,
        length_mm: 13.0,
        barrel_mm: 4.7,
        flow_ml_per_min: 1.0,
        friction_n: 2.0,
        force_n: 15.0,
    };
    let viscosities = [0.159, 0.21].map(|bore| small(bore).viscosity_pa_s(index));
    let large = Push {
        bore_mm: 0.26,
        length_mm: 16.0,
        barrel_mm: 12.0,
        flow_ml_per_min: flow,
        friction_n: 4.0,
        force_n,
    };
    let wanted = large.viscosity_pa_s(index);
    let time_min = |gel: &SettingModel, warm_up: WarmUp| {
        let gel = SettingModel {
            warm_up,
            ..gel.clone()
        };
        let fraction = gel.firmness.conversion_at_reading(wanted);
        (fraction < 1.0).then(|| gel.clock_time_for_conversion_s(SET_KELVIN, fraction) / 60.0)
    };
    let conducting = calibrated(viscosities, energy_kj, &syringe(4.7, 0.9, contact));
    let even = calibrated(viscosities, energy_kj, &WarmUp::None);
    Some([
        time_min(&conducting, syringe(12.0, 1.0, contact))?,
        time_min(&conducting, WarmUp::None)?,
        time_min(&even, WarmUp::None)?,
    ])
}

#[test]
fn conduction_alone_puts_the_larger_syringe_where_practice_has_it() {
    let mut found = Vec::new();
    let mut unreached = 0;
    for index in [0.3, 0.6, 1.0] {
        for energy_kj in [250.0, 400.0] {
            for contact in [100.0, 200.0] {
                for (force_n, flow) in [(15.0, 1.0), (15.0, 0.5), (30.0, 1.0), (30.0, 0.5)] {
                    match minutes(index, energy_kj, contact, force_n, flow) {
                        Some(times) => {
                            let [with, same, even] = times;
                            println!(
                                "n {index} E {energy_kj} h {contact} {force_n} N {flow} mL/min: {with:.2} min; the gel at temperature at once {same:.2}; without conduction throughout {even:.2}"
                            );
                            found.push(times);
                        }
                        None => unreached += 1,
                    }
                }
            }
        }
    }
    // The hardest and slowest push of the thickest gel: its plateau lies under the limit.
    assert_eq!((found.len(), unreached), (47, 1));
    for [with, same, even] in &found {
        assert!((9.5..=19.0).contains(with), "{with}");
        assert!((3.5..=9.7).contains(even), "{even}");
        assert!(with / same >= 1.7, "{with} against {same}");
        assert!(with / even >= 1.6, "{with} against {even}");
    }
}
