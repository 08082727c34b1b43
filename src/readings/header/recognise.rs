//! One header recognised: its role and its unit, or what is amiss with it.

use super::layout::Layout;
use super::roles::{KNOWN, Role};
use crate::units::{ColumnUnit, split_header};

/// Whether a header names a column of numbers that is understood.
#[cfg(feature = "tables")]
pub(crate) fn is_known_number(header: &str) -> bool {
    matches!(recognise(header), Recognised::Column(role, _) if role.limit().is_some())
}

pub(super) enum Recognised {
    Column(Role, Option<ColumnUnit>),
    NoUnit(Role),
    OtherUnit(Role, &'static str),
    Unknown,
}

pub(super) fn recognise(header: &str) -> Recognised {
    if let Some(known) = KNOWN.iter().find(|known| known.base == header) {
        return match known.dimension {
            None => Recognised::Column(known.role, None),
            Some(_) => Recognised::NoUnit(known.role),
        };
    }
    // Longer bases first by construction of the suffixes: `heat_temp_C` ends in one unit only.
    if let Some(parts) = split_header(header)
        && let Some(known) = KNOWN.iter().find(|known| known.base == parts.base)
        && let Some(dimension) = known.dimension
    {
        return if parts.unit.dimension() == dimension {
            Recognised::Column(known.role, Some(parts.unit))
        } else {
            Recognised::OtherUnit(known.role, parts.unit.symbol())
        };
    }
    Recognised::Unknown
}

/// ': is it "heat_temp_degC"?' where an unknown column begins like the missing one.
pub(super) fn near(headers: &[&str], layout: &Layout, roles: &[Role]) -> String {
    let plain = |text: &str| {
        text.to_lowercase()
            .replace([' ', '-', '(', ')', '.', '/'], "_")
    };
    layout
        .unknown
        .iter()
        .filter_map(|&index| headers.get(index))
        .find(|header| {
            KNOWN
                .iter()
                .any(|known| roles.contains(&known.role) && plain(header).starts_with(known.base))
        })
        .map_or_else(String::new, |header| {
            format!("; is it \"{}\"?", crate::units::quantity::excerpt(header))
        })
}

#[cfg(all(test, feature = "tables"))]
mod tests {
    use super::*;
    use crate::readings::template::{blank_bench_table, explained_columns};

    /// Columns of what was seen stand in a part of the blank table of their own.
    fn of_what_was_seen(name: &str) -> bool {
        blank_bench_table()
            .lines()
            .any(|line| line.starts_with("#   ") && line.split_whitespace().nth(1) == Some(name))
    }

    #[test]
    fn every_known_column_is_explained_and_every_explained_header_is_known() {
        for known in &KNOWN {
            assert!(
                explained_columns().iter().any(|explained| {
                    split_header(explained.column).map_or(explained.column, |parts| parts.base)
                        == known.base
                }) || of_what_was_seen(known.base),
                "{}",
                known.base
            );
        }
        for explained in explained_columns() {
            let also = explained.also.split(", ").filter(|name| !name.is_empty());
            for header in also.chain([explained.column]) {
                assert!(
                    matches!(recognise(header), Recognised::Column(..)),
                    "{header}"
                );
            }
        }
    }
}
