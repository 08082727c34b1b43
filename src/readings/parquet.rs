//! Parquet tables, through polars.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use polars::prelude::{DataFrame, ParquetReader, SerReader};

use super::columns::ColumnTable;
use super::error::{Counted, FaultList, ReadingsError};
use super::frame::cells_of;
use super::limits::LARGEST_ROWS;
use super::page_headers::{ChunkClaims, pages_are_plausible};

/// Key of the file's own metadata that says that the readings are invented.
pub(crate) const INVENTED_KEY: &str = "heatset.invented";

/// The first and last bytes of every Parquet file.
pub(crate) const MAGIC: &[u8] = b"PAR1";

/// Takes a Parquet table apart into columns; faults are told by row.
pub(crate) fn columns_of_parquet(
    file: &str,
    sha256: String,
    bytes: &[u8],
) -> Result<ColumnTable, ReadingsError> {
    // A damaged file can make the decoder panic: to the user that is a damaged file.
    let read = catch_unwind(AssertUnwindSafe(|| read_frame(file, bytes)));
    let (frame, invented) = read.unwrap_or_else(|_| {
        Err(ReadingsError::Damaged {
            file: file.to_string(),
            reason: "its parts do not fit together".to_string(),
        })
    })?;
    let damaged = |reason: String| ReadingsError::Damaged {
        file: file.to_string(),
        reason,
    };
    let names: Vec<String> = frame
        .get_column_names()
        .iter()
        .map(|name| name.trim().to_string())
        .collect();
    let cells = cells_of(&frame).map_err(damaged)?;
    Ok(ColumnTable {
        file: file.to_string(),
        sha256,
        header_line: None,
        columns: names.into_iter().zip(cells).collect(),
        lines: (1..=frame.height()).collect(),
        counted: Counted::Row,
        decimal_comma: false,
        invented,
        faults: FaultList::default(),
        sheet: None,
    })
}

fn read_frame(file: &str, bytes: &[u8]) -> Result<(DataFrame, bool), ReadingsError> {
    let damaged = |error: polars::prelude::PolarsError| ReadingsError::Damaged {
        file: file.to_string(),
        reason: error.to_string(),
    };
    let mut reader = ParquetReader::new(Cursor::new(bytes.to_vec()));
    if reader.num_rows().map_err(damaged)? > LARGEST_ROWS {
        return Err(ReadingsError::TooManyRows {
            file: file.to_string(),
            largest: LARGEST_ROWS,
        });
    }
    let invented = reader
        .get_metadata()
        .map_err(damaged)?
        .key_value_metadata()
        .as_ref()
        .is_some_and(|pairs| {
            pairs
                .iter()
                .any(|pair| pair.key == INVENTED_KEY && pair.value.as_deref() == Some("true"))
        });
    let plausible = reader
        .get_metadata()
        .map_err(damaged)?
        .row_groups
        .iter()
        .flat_map(|group| group.parquet_columns())
        .all(|column| {
            let claims = ChunkClaims {
                bytes: column.byte_range(),
                values: column.num_values(),
            };
            claims.values <= LARGEST_ROWS as i64 && pages_are_plausible(bytes, &claims)
        });
    if !plausible {
        return Err(ReadingsError::Damaged {
            file: file.to_string(),
            reason: "a page claims more than its column holds".to_string(),
        });
    }
    Ok((reader.finish().map_err(damaged)?, invented))
}
