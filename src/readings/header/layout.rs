//! The header, understood: which place holds what.

use super::roles::Role;
use crate::readings::kind::ReadingKind;
use crate::units::ColumnUnit;

/// A column that means something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct KnownColumn {
    /// Its place in the table, from 0.
    pub index: usize,
    pub role: Role,
    pub unit: Option<ColumnUnit>,
}

/// The header, understood.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Layout {
    pub known: Vec<KnownColumn>,
    /// Places of the columns that mean nothing here.
    pub unknown: Vec<usize>,
    pub kind: Option<ReadingKind>,
}

impl Layout {
    pub(crate) fn column(&self, role: Role) -> Option<KnownColumn> {
        self.known
            .iter()
            .copied()
            .find(|column| column.role == role)
    }

    pub(crate) fn reading(&self) -> Option<KnownColumn> {
        self.known
            .iter()
            .copied()
            .find(|column| matches!(column.role, Role::Reading(_)))
    }

    /// Whether the table says what was seen in place of readings.
    pub(crate) fn is_seen(&self) -> bool {
        self.column(Role::Seen).is_some()
    }

    /// Beside readings, columns of what was seen mean nothing: their text is kept as a note.
    pub(super) fn leave_seen_columns_aside(&mut self) {
        if self.is_seen() {
            return;
        }
        let aside = |column: &KnownColumn| matches!(column.role, Role::Criterion | Role::Syringe);
        let columns = self.known.iter().copied().filter(aside);
        self.unknown.extend(columns.map(|column| column.index));
        self.unknown.sort_unstable();
        self.known.retain(|column| !aside(column));
    }
}
