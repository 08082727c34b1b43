//! What a session costs, by the user's own price list: no price stands in the program.

use super::prices::{PriceList, PricePer};
use serde::Serialize;

/// What a sheet counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SheetItem {
    /// One for each syringe on the sheet.
    Syringe,
    /// One for each.
    Needle,
    /// One for each.
    Cap,
    /// One for each.
    Label,
    /// Solution of hyaluronic acid.
    HaSolution,
    /// Buffer that is added.
    Buffer,
    /// Anticoagulant in the tubes.
    Anticoagulant,
    /// Plasma.
    Plasma,
}

impl SheetItem {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Syringe,
        Self::Needle,
        Self::Cap,
        Self::Label,
        Self::HaSolution,
        Self::Buffer,
        Self::Anticoagulant,
        Self::Plasma,
    ];

    /// Its name in a price list.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Syringe => "syringe",
            Self::Needle => "needle",
            Self::Cap => "cap",
            Self::Label => "label",
            Self::HaSolution => "ha_solution",
            Self::Buffer => "buffer",
            Self::Anticoagulant => "anticoagulant",
            Self::Plasma => "plasma",
        }
    }

    /// Whether it is counted by its volume rather than in pieces.
    #[must_use]
    pub fn is_volume(self) -> bool {
        matches!(
            self,
            Self::HaSolution | Self::Buffer | Self::Anticoagulant | Self::Plasma
        )
    }

    /// The item of that name.
    #[must_use]
    pub fn of(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|item| item.name() == name)
    }

    /// The names, for messages.
    #[must_use]
    pub fn names() -> String {
        let names: Vec<&str> = Self::ALL.iter().map(|item| item.name()).collect();
        format!("counted are {}", names.join(", "))
    }
}

/// What a session uses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Used {
    /// Syringes, and as many needles, caps and labels.
    pub syringes: usize,
    /// Solution of hyaluronic acid, in m³.
    pub ha_solution_m3: f64,
    /// Buffer, in m³.
    pub buffer_m3: f64,
    /// Anticoagulant, in m³; none where the sheet knows of none.
    pub anticoagulant_m3: Option<f64>,
    /// Plasma, in m³.
    pub plasma_m3: f64,
}

/// One line of the cost.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CostLine {
    /// Item, as the list writes it.
    pub item: String,
    /// How many pieces, of those counted in pieces.
    pub pieces: Option<usize>,
    /// How much, of those counted by volume, in m³.
    pub volume_m3: Option<f64>,
    /// Cost, in the list's currency.
    pub cost: f64,
}

/// The cost of a session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cost {
    /// The list.
    pub file: String,
    /// Its currency.
    pub currency: String,
    /// The lines that are counted.
    pub lines: Vec<CostLine>,
    /// Their sum.
    pub total: f64,
    /// The same for one syringe.
    pub each_syringe: f64,
    /// Items of the list of which the sheet counts nothing; not in the sum.
    pub not_counted: Vec<String>,
}

/// What a session costs by a list.
///
/// # Equation
/// C = sum of amount/per x price
///
/// # Valid for
/// Shares of packs: a box of ten of which eight are used counts as eight tenths.
///
/// # Source
/// Arithmetic.
#[must_use]
pub fn cost(list: &PriceList, used: &Used) -> Cost {
    let mut lines = Vec::new();
    let mut not_counted = Vec::new();
    for price in &list.prices {
        let volume = price.item.and_then(|item| match item {
            SheetItem::HaSolution => Some(used.ha_solution_m3),
            SheetItem::Buffer => Some(used.buffer_m3),
            SheetItem::Anticoagulant => used.anticoagulant_m3,
            SheetItem::Plasma => Some(used.plasma_m3),
            SheetItem::Syringe | SheetItem::Needle | SheetItem::Cap | SheetItem::Label => None,
        });
        let pieces = price
            .item
            .filter(|item| !item.is_volume())
            .map(|_| used.syringes);
        let amount = match price.per {
            PricePer::Session => Some(1.0),
            PricePer::Pieces(each) => pieces.map(|n| n as f64 / each),
            PricePer::VolumeM3(each_m3) => volume.map(|v| v / each_m3),
        };
        match amount {
            Some(amount) => lines.push(CostLine {
                item: price.name.clone(),
                pieces,
                volume_m3: volume,
                cost: amount * price.price,
            }),
            None => not_counted.push(price.name.clone()),
        }
    }
    let total = lines.iter().map(|line| line.cost).sum::<f64>();
    Cost {
        file: list.file.clone(),
        currency: list.currency.clone(),
        lines,
        total,
        each_syringe: total / used.syringes.max(1) as f64,
        not_counted,
    }
}
