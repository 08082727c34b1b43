//! What a number of a bench table may be, and how large a table is read.

/// Files over this size are not read.
pub const LARGEST_FILE_BYTES: u64 = 200_000_000;
/// Tables with more rows are not read.
pub const LARGEST_ROWS: usize = 1_000_000;
/// Tables with more columns are not read.
pub(crate) const LARGEST_COLUMNS: usize = 1000;

/// 400 °C: hotter than any bench that this table is made for.
const HOTTEST_KELVIN: f64 = 673.15;

/// The check that a column's SI value has to pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Limit {
    /// Any finite number.
    Any,
    /// 0 K to 400 °C.
    Temperature,
    /// Zero or more.
    NotNegative,
    /// Above zero.
    Positive,
    /// 0 to 1.
    Fraction,
    /// A needle gauge: a whole number from 5 to 40.
    Gauge,
}

impl Limit {
    /// What is wrong with the SI value, in words that follow the number ('is negative').
    pub(crate) fn fault(self, value: f64) -> Option<&'static str> {
        if value.is_nan() {
            return Some("is not a number");
        }
        if value.is_infinite() {
            return Some("is not a finite number");
        }
        match self {
            Limit::Any => None,
            Limit::Temperature if value < 0.0 => Some("is below absolute zero"),
            // A hair of slack, for 400 °C written in °F.
            Limit::Temperature if value > HOTTEST_KELVIN + 1e-9 => Some("is over 400 °C"),
            Limit::NotNegative if value < 0.0 => Some("is negative"),
            Limit::Positive if value < 0.0 => Some("is negative"),
            Limit::Positive if value == 0.0 => Some("is not above zero"),
            Limit::Fraction if !(0.0..=1.0).contains(&value) => Some("is outside 0 to 1"),
            Limit::Gauge if value.fract() != 0.0 => Some("is not a whole gauge"),
            Limit::Gauge if !(5.0..=40.0).contains(&value) => Some("is no needle gauge (5 to 40)"),
            _ => None,
        }
    }
}
