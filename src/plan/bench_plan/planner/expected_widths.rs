//! How well a heat time would be told by a design and a number of lots, in all cases together.

use super::{AskedCase, Planner};
use crate::plan::bench_plan::smallest::{AskedWidth, CaseWidths, ForWhom, WidthFloor};
use crate::plan::bench_plan::widths::{LotWidths, WidthParts, half_width_ratio, lot_widths};

/// Half-widths of a logarithm past this count as this: a factor of 150 either way tells nothing.
const WIDEST_LN: f64 = 5.0;

impl Planner<'_> {
    fn widths(&self, places: &[usize], lots: usize) -> Vec<Option<LotWidths>> {
        self.parts(places)
            .iter()
            .map(|parts| lot_widths(parts, lots))
            .collect()
    }

    fn parts(&self, places: &[usize]) -> Vec<WidthParts> {
        self.within_lot(places)
            .into_iter()
            .zip(&self.asked)
            .map(|(within_lot_variance, one)| WidthParts {
                within_lot_variance,
                between_lots_variance: one.between_lots_variance,
                syringe_variance: one.syringe_variance,
            })
            .collect()
    }

    pub(in crate::plan::bench_plan) fn expected_ln(&self, widths: &LotWidths) -> f64 {
        match self.question.for_whom {
            ForWhom::NewLot => widths.new_lot_ln,
            ForWhom::TypicalLot => widths.typical_lot_ln,
        }
    }

    pub(in crate::plan::bench_plan) fn careful_ln(&self, widths: &LotWidths) -> f64 {
        match self.question.for_whom {
            ForWhom::NewLot => widths.new_lot_nine_of_ten_ln,
            ForWhom::TypicalLot => widths.typical_lot_nine_of_ten_ln,
        }
    }

    /// Half-width as a share, in the cases taken together.
    pub(in crate::plan::bench_plan) fn ratio(
        &self,
        places: &[usize],
        lots: usize,
        ln: impl Fn(&LotWidths) -> f64,
    ) -> f64 {
        self.together(places, lots, |widths, _| {
            half_width_ratio(ln(widths).min(WIDEST_LN))
        })
    }

    /// Half-width in s, in the cases taken together.
    pub(in crate::plan::bench_plan) fn seconds(&self, places: &[usize], lots: usize) -> f64 {
        self.together(places, lots, |widths, one| {
            one.heat_time_s * half_width_ratio(self.expected_ln(widths).min(WIDEST_LN))
        })
    }

    fn together(
        &self,
        places: &[usize],
        lots: usize,
        value: impl Fn(&LotWidths, &AskedCase) -> f64,
    ) -> f64 {
        let values: Vec<f64> = self
            .widths(places, lots)
            .iter()
            .zip(&self.asked)
            .map(|(widths, one)| widths.as_ref().map_or(f64::INFINITY, |w| value(w, one)))
            .collect();
        self.question.aggregate.of(&values)
    }

    pub(in crate::plan::bench_plan) fn is_reached(&self, places: &[usize], lots: usize) -> bool {
        match self.question.width {
            AskedWidth::Ratio(asked) => self.ratio(places, lots, |w| self.expected_ln(w)) <= asked,
            AskedWidth::Seconds(asked) => self.seconds(places, lots) <= asked,
        }
    }

    /// What no number of readings goes below: for a new lot the spread between lots and what differs
    /// from syringe to syringe; for the typical lot nothing.
    pub(in crate::plan::bench_plan) fn floor(&self, places: &[usize]) -> WidthFloor {
        let least = |widths: &LotWidths| match self.question.for_whom {
            ForWhom::NewLot => widths.least_new_lot_ln,
            ForWhom::TypicalLot => 0.0,
        };
        let lots = self.question.limits.lots.max(2);
        WidthFloor {
            half_width_ratio: self.together(places, lots, |w, _| half_width_ratio(least(w))),
            half_width_s: self.together(places, lots, |w, one| {
                one.heat_time_s * half_width_ratio(least(w))
            }),
        }
    }

    pub(in crate::plan::bench_plan) fn case_widths(
        &self,
        places: &[usize],
        lots: usize,
    ) -> Vec<CaseWidths> {
        self.widths(places, lots)
            .into_iter()
            .zip(self.parts(places))
            .zip(&self.asked)
            .filter_map(|((widths, parts), one)| {
                let widths = widths?;
                Some(CaseWidths {
                    case: one.case,
                    heat_temp_k: one.heat_temp_k,
                    heat_time_s: one.heat_time_s,
                    new_lot_half_width_ratio: half_width_ratio(widths.new_lot_ln.min(WIDEST_LN)),
                    new_lot_half_width_ratio_nine_of_ten: half_width_ratio(
                        widths.new_lot_nine_of_ten_ln.min(WIDEST_LN),
                    ),
                    typical_lot_half_width_ratio: half_width_ratio(
                        widths.typical_lot_ln.min(WIDEST_LN),
                    ),
                    parts,
                })
            })
            .collect()
    }
}
