//! Columns of a polars data frame to cells of text or numbers.

use polars::prelude::{Column, DataFrame, DataType};

use super::columns::CellColumn;

/// The name of a text column while polars holds it; the headers are kept beside.
pub(crate) fn column_name(index: usize) -> String {
    format!("column_{index}")
}

/// Every column's cells, in order.
pub(crate) fn cells_of(frame: &DataFrame) -> Result<Vec<CellColumn>, String> {
    frame
        .columns()
        .iter()
        .map(|column| cells(column).map_err(|error| error.to_string()))
        .collect()
}

fn cells(column: &Column) -> polars::prelude::PolarsResult<CellColumn> {
    Ok(match column.dtype() {
        DataType::String => CellColumn::Text(
            column
                .str()?
                .iter()
                .map(|cell| cell.map(str::to_string))
                .collect(),
        ),
        DataType::Boolean => CellColumn::Text(
            column
                .bool()?
                .iter()
                .map(|cell| cell.map(|yes| if yes { "yes" } else { "no" }.to_string()))
                .collect(),
        ),
        DataType::Null => CellColumn::Text(vec![None; column.len()]),
        kind if kind.is_primitive_numeric() => {
            let numbers = column.cast(&DataType::Float64)?;
            CellColumn::Number(numbers.f64()?.iter().collect())
        }
        _ => {
            let text = column.cast(&DataType::String)?;
            CellColumn::Text(
                text.str()?
                    .iter()
                    .map(|cell| cell.map(str::to_string))
                    .collect(),
            )
        }
    })
}
