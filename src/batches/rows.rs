//! An entry as cells of the table, and back.

use super::entry::{Codes, Entry, Heated, NeedlePush, NewEntry, Reading};
use super::prediction::Prediction;
use crate::reference::Wall;
use rusqlite::types::{FromSqlError, ToSqlOutput, Type, ValueRef};
use rusqlite::{Row, ToSql};

/// One cell of an entry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell<'a> {
    /// Nothing.
    Nothing,
    /// A whole number.
    Whole(i64),
    /// A number.
    Real(f64),
    /// A text.
    Text(&'a str),
}

impl ToSql for Cell<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match self {
            Self::Nothing => ValueRef::Null,
            Self::Whole(number) => ValueRef::Integer(*number),
            Self::Real(value) => ValueRef::Real(*value),
            Self::Text(text) => ValueRef::Text(text.as_bytes()),
        }))
    }
}

impl<'a> Cell<'a> {
    /// A cell as it stands in the file; bytes that are no text are one that no entry has.
    pub(super) fn of_file(value: ValueRef<'a>) -> Self {
        match value {
            ValueRef::Null => Self::Nothing,
            ValueRef::Integer(number) => Self::Whole(number),
            ValueRef::Real(real) => Self::Real(real),
            ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
                Self::Text(std::str::from_utf8(bytes).unwrap_or("\u{fffd}"))
            }
        }
    }

    fn text(text: Option<&'a String>) -> Self {
        text.map_or(Self::Nothing, |text| Self::Text(text))
    }

    fn real(value: Option<f64>) -> Self {
        value.map_or(Self::Nothing, Self::Real)
    }

    fn whole(number: Option<u64>) -> Self {
        number.map_or(Self::Nothing, |n| Self::Whole(n.cast_signed()))
    }

    fn yes(yes: bool) -> Self {
        Self::Whole(i64::from(yes))
    }
}

/// The cells of an entry, in the order of the table.
pub(super) fn cells(number: u64, entry: &NewEntry) -> [Cell<'_>; 39] {
    let push = match &entry.reading {
        Reading::PlungerForce { push, .. } => Some(push),
        _ => None,
    };
    let (mut force, mut viscosity, mut shear_rate, mut held) =
        (Cell::Nothing, Cell::Nothing, Cell::Nothing, Cell::Nothing);
    match &entry.reading {
        Reading::PlungerForce { force_n, .. } => force = Cell::Real(*force_n),
        Reading::Viscosity {
            viscosity_pa_s,
            shear_rate_per_s,
        } => {
            viscosity = Cell::Real(*viscosity_pa_s);
            shear_rate = Cell::real(*shear_rate_per_s);
        }
        Reading::Bubble { held: yes } => held = Cell::yes(*yes),
    }
    let predicted = entry.prediction.as_ref();
    let of_push = |pick: fn(&NeedlePush) -> f64| Cell::real(push.map(pick));
    let of_prediction = |pick: fn(&Prediction) -> f64| Cell::real(predicted.map(pick));
    [
        Cell::whole(Some(number)),
        Cell::Text(&entry.time),
        Cell::Text(&entry.codes.lot),
        Cell::text(entry.codes.operator.as_ref()),
        Cell::text(entry.codes.block.as_ref()),
        Cell::text(entry.codes.place.as_ref()),
        Cell::text(entry.codes.session.as_ref()),
        Cell::Text(&entry.blend),
        Cell::real(entry.ha_fraction),
        Cell::Real(entry.heated.set_kelvin),
        Cell::Real(entry.heated.heat_time_s),
        Cell::Text(&entry.heated.warm_up),
        Cell::Text(entry.reading.kind()),
        force,
        viscosity,
        shear_rate,
        held,
        Cell::real(entry.gel_kelvin),
        Cell::whole(push.and_then(|p| p.gauge).map(u64::from)),
        push.and_then(|p| p.wall)
            .map_or(Cell::Nothing, |wall| Cell::Text(wall.as_str())),
        of_push(|p| p.bore_m),
        of_push(|p| p.length_m),
        Cell::text(push.and_then(|p| p.syringe.as_ref())),
        of_push(|p| p.barrel_bore_m),
        of_push(|p| p.flow_rate_m3_per_s),
        of_push(|p| p.friction_n),
        of_prediction(|p| p.median_in_unit),
        of_prediction(|p| p.interval95_in_unit[0]),
        of_prediction(|p| p.interval95_in_unit[1]),
        Cell::whole(predicted.map(|p| p.draws)),
        of_prediction(|p| p.z_sd),
        of_prediction(|p| p.ln_ratio),
        predicted.map_or(Cell::Nothing, |p| Cell::yes(p.inside)),
        Cell::Text(&entry.calibration_sha256),
        Cell::Text(&entry.version),
        Cell::yes(entry.invented),
        Cell::yes(entry.extrapolated),
        Cell::yes(entry.accepted),
        Cell::whole(entry.corrects),
    ]
}

/// An entry from its row: the columns of the hash, then the hash.
pub(super) fn entry(row: &Row) -> rusqlite::Result<Entry> {
    let text = |place: usize| row.get::<_, String>(place);
    let maybe_text = |place: usize| row.get::<_, Option<String>>(place);
    let real = |place: usize| row.get::<_, f64>(place);
    let maybe_real = |place: usize| row.get::<_, Option<f64>>(place);
    let whole = |place: usize| row.get::<_, i64>(place).map(i64::cast_unsigned);
    let yes = |place: usize| row.get::<_, bool>(place);
    let reading = match row.get_ref(12)?.as_str()? {
        "force" => Reading::PlungerForce {
            force_n: real(13)?,
            push: NeedlePush {
                gauge: row.get(18)?,
                wall: maybe_text(19)?
                    .map(|name| name.parse::<Wall>().map_err(|_| no_value(19, Type::Text)))
                    .transpose()?,
                bore_m: real(20)?,
                length_m: real(21)?,
                syringe: maybe_text(22)?,
                barrel_bore_m: real(23)?,
                flow_rate_m3_per_s: real(24)?,
                friction_n: real(25)?,
            },
        },
        "viscosity" => Reading::Viscosity {
            viscosity_pa_s: real(14)?,
            shear_rate_per_s: maybe_real(15)?,
        },
        "bubble" => Reading::Bubble { held: yes(16)? },
        _ => return Err(no_value(12, Type::Text)),
    };
    let prediction = maybe_real(30)?
        .map(|z_sd| {
            Ok::<_, rusqlite::Error>(Prediction {
                median_in_unit: real(26)?,
                interval95_in_unit: [real(27)?, real(28)?],
                draws: whole(29)?,
                z_sd,
                ln_ratio: real(31)?,
                inside: yes(32)?,
            })
        })
        .transpose()?;
    Ok(Entry {
        number: whole(0)?,
        entered: NewEntry {
            time: text(1)?,
            codes: Codes {
                lot: text(2)?,
                operator: maybe_text(3)?,
                block: maybe_text(4)?,
                place: maybe_text(5)?,
                session: maybe_text(6)?,
            },
            blend: text(7)?,
            ha_fraction: maybe_real(8)?,
            heated: Heated {
                set_kelvin: real(9)?,
                heat_time_s: real(10)?,
                warm_up: text(11)?,
            },
            reading,
            gel_kelvin: maybe_real(17)?,
            prediction,
            calibration_sha256: text(33)?,
            version: text(34)?,
            invented: yes(35)?,
            extrapolated: yes(36)?,
            accepted: yes(37)?,
            corrects: row.get::<_, Option<i64>>(38)?.map(i64::cast_unsigned),
        },
        corrected_by: None,
        hash: hash(row)?,
    })
}

/// The hash of a row, which stands behind the columns that it covers.
pub(super) fn hash(row: &Row) -> rusqlite::Result<[u8; 32]> {
    row.get::<_, [u8; 32]>(super::schema::COLUMNS.len())
}

fn no_value(place: usize, kind: Type) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(place, kind, Box::new(FromSqlError::InvalidType))
}
