//! The needle of a row, and what its push needs.

use super::RowReader;
use crate::readings::header::Role;
use crate::readings::needs::{needed_by, what_needs};
use crate::readings::row::{Content, NeedleDetails};
use crate::reference::Wall;
use crate::units::quantity::excerpt;

impl RowReader<'_> {
    pub(super) fn needle(&mut self, row: usize, content: Content) -> Option<NeedleDetails> {
        let needle = NeedleDetails {
            // The limit of the column makes this a small whole number.
            gauge: self.number(Role::NeedleGauge, row).map(|gauge| gauge as u8),
            wall: self.wall(row),
            length_m: self.number(Role::NeedleLength, row),
            barrel_bore_m: self.number(Role::BarrelBore, row),
            flow_rate_m3_per_s: self.number(Role::Flow, row),
            friction_n: self.number(Role::Friction, row),
            bore_m: self.number(Role::NeedleBore, row),
            bore_sd_m: self.number(Role::NeedleBoreSd, row),
            dead_weight_kg: self.number(Role::DeadWeight, row),
            run_volume_m3: self.number(Role::RunVolume, row),
        };
        if needle.bore_sd_m.is_some() && needle.bore_m.is_none() {
            self.fault_of(
                row,
                Role::NeedleBoreSd,
                "a standard deviation without its bore",
                "give needle_bore_mm too, or empty the cell",
            );
        }
        // Of what was only seen, rows that were pushed too need their needle, the others none.
        let pushed = !self.layout.is_seen() || content != Content::Gel || self.has_reading(row);
        if let Some(kind) = self.layout.kind.filter(|_| pushed) {
            for &(role, _) in needed_by(kind) {
                let needed = match (content, role) {
                    // Without a needle there is no flow to speak of.
                    (Content::Empty, _) => matches!(role, Role::BarrelBore | Role::DeadWeight),
                    (_, Role::NeedleGauge | Role::NeedleWall) => needle.bore_m.is_none(),
                    _ => true,
                };
                if !needed {
                    continue;
                }
                match self.layout.column(role) {
                    Some(column) if self.is_empty_cell(column.index, row) => self.fault(
                        row,
                        column.index,
                        None,
                        "the cell is empty".to_string(),
                        Some(format!("{} needs it", what_needs(kind))),
                    ),
                    // Only where a measured bore let the header go without gauge and wall.
                    None if role == Role::NeedleGauge
                        && self.layout.column(Role::NeedleBore).is_some() =>
                    {
                        self.fault_of(
                            row,
                            Role::NeedleBore,
                            "the cell is empty",
                            "give the needle's bore, or add needle_gauge and needle_wall",
                        );
                    }
                    _ => {}
                }
            }
        }
        (needle != NeedleDetails::default()).then_some(needle)
    }

    fn wall(&mut self, row: usize) -> Option<String> {
        let text = self.text(Role::NeedleWall, row)?;
        let wall = text.to_lowercase().replace([' ', '_'], "-");
        if let Ok(wall) = wall.parse::<Wall>() {
            return Some(wall.to_string());
        }
        let column = self.layout.column(Role::NeedleWall)?;
        self.fault(
            row,
            column.index,
            Some(&text),
            format!("\"{}\" is no wall of a needle", excerpt(&text)),
            Some(format!("write {}", Wall::ALL.map(Wall::as_str).join(", "))),
        );
        None
    }
}
