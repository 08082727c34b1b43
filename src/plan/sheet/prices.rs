//! The user's price list: read whole, or every fault named.

use super::cost::SheetItem;
use crate::readings::{FaultList, Problem, ReadingsError};
use crate::units;
use std::path::Path;

/// A price list longer than this is another file.
const LARGEST_BYTES: u64 = 1024 * 1024;
const COLUMNS: [&str; 4] = ["item", "unit_price", "currency", "per"];

/// What a price is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PricePer {
    /// So many pieces.
    Pieces(f64),
    /// A volume, in m³.
    VolumeM3(f64),
    /// The session.
    Session,
}

/// One line of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// Item, as it is written.
    pub name: String,
    /// The item of the sheet; none where the sheet counts nothing of that name.
    pub item: Option<SheetItem>,
    /// Price, in the list's currency.
    pub price: f64,
    /// What it is for.
    pub per: PricePer,
}

/// A price list in one currency.
#[derive(Debug, Clone, PartialEq)]
pub struct PriceList {
    /// The file as it was named.
    pub file: String,
    /// Currency, as it is written.
    pub currency: String,
    /// The lines.
    pub prices: Vec<Price>,
}

/// Reads a price list from a file.
///
/// # Errors
/// As [`parse_prices`]; a file that cannot be opened, is too large or is not UTF-8.
pub fn read_prices(path: &Path) -> Result<PriceList, ReadingsError> {
    let file = path.display().to_string();
    let whole = |message: String, remedy: &str| one_fault(&file, message, remedy);
    let size = std::fs::metadata(path).map(|m| m.len());
    if size.is_ok_and(|bytes| bytes > LARGEST_BYTES) {
        return Err(whole(
            "the file is larger than 1 MB".to_owned(),
            "is it the price list?",
        ));
    }
    let bytes =
        std::fs::read(path).map_err(|e| whole(e.to_string(), "the path of a price list in CSV"))?;
    let text = String::from_utf8(bytes).map_err(|_| {
        whole(
            "a byte stands here that is no letter of UTF-8".to_owned(),
            "save the file as CSV, UTF-8",
        )
    })?;
    parse_prices(&file, &text)
}

/// Reads a price list from its text; `file` names it in messages.
///
/// Columns `item`, `unit_price`, `currency`, `per`, in any order; comma, semicolon or tab separate,
/// with the latter two the decimal mark may be a comma. `#` begins a comment line. `per` is `piece`,
/// `10 pieces`, a volume such as `mL` or `5mL`, or `session`.
///
/// # Errors
/// [`ReadingsError::Faults`] with every fault: missing columns, text where a number belongs, a price
/// below zero, several currencies, a `per` that does not fit the item, an item twice, no rows.
pub fn parse_prices(file: &str, text: &str) -> Result<PriceList, ReadingsError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut faults = FaultList::default();
    let mut lines = (1..)
        .zip(text.lines())
        .filter(|(_, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'));
    let Some((header_line, header)) = lines.next() else {
        return Err(one_fault(
            file,
            "the list is empty".to_owned(),
            "a header item,unit_price,currency,per, and one line an item",
        ));
    };
    let separator = ['\t', ';', ',']
        .into_iter()
        .find(|separator| header.contains(*separator))
        .unwrap_or(',');
    let names = split(header, separator);
    let places: Vec<Option<usize>> = COLUMNS
        .iter()
        .map(|column| {
            let place = names.iter().position(|name| name == column);
            if place.is_none() {
                faults.push(Problem {
                    line: Some(header_line),
                    message: format!("the column {column} is missing"),
                    remedy: Some(format!("the header is {}", COLUMNS.join(","))),
                    ..Problem::default()
                });
            }
            place
        })
        .collect();
    let mut currency: Option<String> = None;
    let mut prices: Vec<Price> = Vec::new();
    if faults.is_empty() {
        for (line, row) in lines {
            let cells = split(row, separator);
            if cells.len() != names.len() {
                faults.push(Problem {
                    line: Some(line),
                    message: format!(
                        "{} values where the header names {}",
                        cells.len(),
                        names.len()
                    ),
                    remedy: Some(
                        "with decimal commas separate the values with semicolons".to_owned(),
                    ),
                    ..Problem::default()
                });
                continue;
            }
            let cell = |column: usize| {
                places
                    .get(column)
                    .copied()
                    .flatten()
                    .and_then(|place| cells.get(place))
                    .map_or("", String::as_str)
            };
            match price(cell(0), cell(1), cell(3), separator != ',') {
                Ok(price) => {
                    if prices.iter().any(|p| p.name == price.name) {
                        faults.push(fault(
                            line,
                            0,
                            cell(0),
                            "this item stands here twice",
                            "one line an item",
                        ));
                    }
                    prices.push(price);
                }
                Err((column, message, remedy)) => {
                    faults.push(fault(line, column, cell(column), &message, &remedy));
                }
            }
            let stated = cell(2);
            match &currency {
                _ if stated.is_empty() => faults.push(fault(
                    line,
                    2,
                    stated,
                    "the currency is missing",
                    "its code, such as EUR",
                )),
                None => currency = Some(stated.to_owned()),
                Some(first) if first != stated => faults.push(fault(
                    line,
                    2,
                    stated,
                    &format!("another currency than {first}"),
                    "one currency a list: sums of two mean nothing",
                )),
                Some(_) => {}
            }
        }
        if prices.is_empty() && faults.is_empty() {
            return Err(one_fault(
                file,
                "there is no line under the header".to_owned(),
                "one line an item: syringe,0.30,EUR,piece",
            ));
        }
    }
    if !faults.is_empty() {
        return Err(ReadingsError::Faults {
            file: file.to_owned(),
            faults,
        });
    }
    Ok(PriceList {
        file: file.to_owned(),
        currency: currency.unwrap_or_default(),
        prices,
    })
}

fn one_fault(file: &str, message: String, remedy: &str) -> ReadingsError {
    let mut faults = FaultList::default();
    faults.push(Problem {
        message,
        remedy: Some(remedy.to_owned()),
        ..Problem::default()
    });
    ReadingsError::Faults {
        file: file.to_owned(),
        faults,
    }
}

fn fault(line: usize, column: usize, found: &str, message: &str, remedy: &str) -> Problem {
    let found: String = found.chars().take(40).collect();
    let quoted = if found.is_empty() {
        String::new()
    } else {
        format!("\"{found}\": ")
    };
    Problem {
        line: Some(line),
        column: COLUMNS.get(column).map(|name| (*name).to_owned()),
        message: format!("{quoted}{message}"),
        remedy: Some(remedy.to_owned()),
        ..Problem::default()
    }
}

/// One line, or the column that is wrong, what is wrong and how to mend it.
fn price(
    name: &str,
    number: &str,
    per: &str,
    decimal_comma: bool,
) -> Result<Price, (usize, String, String)> {
    if name.is_empty() {
        return Err((0, "the item is missing".to_owned(), SheetItem::names()));
    }
    let plain = match decimal_comma && number.matches(',').count() == 1 && !number.contains('.') {
        true => number.replace(',', "."),
        false => number.to_owned(),
    };
    let digits = plain.chars().any(|c| c.is_ascii_digit());
    let price = plain
        .parse::<f64>()
        .ok()
        .filter(|price| digits && price.is_finite() && *price >= 0.0)
        .ok_or_else(|| {
            (
                1,
                "is no price".to_owned(),
                "a number of 0 or more, decimal point, no currency sign".to_owned(),
            )
        })?;
    let item = SheetItem::of(name);
    let per_parsed = price_per(per).ok_or_else(|| {
        (
            3,
            "is nothing that a price is for".to_owned(),
            "piece, 10 pieces, mL, 5mL or session".to_owned(),
        )
    })?;
    let fits = item.is_none_or(|item| match per_parsed {
        PricePer::Pieces(_) => !item.is_volume(),
        PricePer::VolumeM3(_) => item.is_volume(),
        PricePer::Session => true,
    });
    if !fits {
        return Err((
            3,
            format!("{name} is not counted so"),
            if item.is_some_and(SheetItem::is_volume) {
                "a volume: mL or 5mL; or session".to_owned()
            } else {
                "piece or 10 pieces; or session".to_owned()
            },
        ));
    }
    Ok(Price {
        name: name.to_owned(),
        item,
        price,
        per: per_parsed,
    })
}

fn price_per(text: &str) -> Option<PricePer> {
    let text = text.trim();
    if text == "session" {
        return Some(PricePer::Session);
    }
    if let Some(count) = text
        .strip_suffix("pieces")
        .or_else(|| text.strip_suffix("piece"))
    {
        let count = count.trim();
        let pieces = if count.is_empty() {
            Some(1)
        } else {
            count.parse::<u32>().ok()
        };
        return pieces
            .filter(|n| *n > 0)
            .map(|n| PricePer::Pieces(f64::from(n)));
    }
    let with_number = if text.starts_with(|c: char| c.is_ascii_digit()) {
        text.to_owned()
    } else {
        format!("1{text}")
    };
    units::volume_m3(&with_number).ok().map(PricePer::VolumeM3)
}

/// The cells of one line; a separator between quotation marks separates nothing.
fn split(line: &str, separator: char) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        if letter == '"' {
            quoted = !quoted;
        } else if letter == separator && !quoted {
            cells.push(String::new());
        } else if let Some(cell) = cells.last_mut() {
            cell.push(letter);
        }
    }
    cells.iter().map(|cell| cell.trim().to_owned()).collect()
}
