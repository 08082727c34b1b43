//! Counts in Parquet page headers, checked before the decoder believes them.
//!
//! The decoder reserves room for as many values as a page header claims. In a damaged file that
//! may be more than any machine has, which ends the whole program instead of giving an error. So
//! every page's claims are held against what its column says first.
//!
//! # Source
//! Apache Parquet format, `parquet.thrift` (struct PageHeader), and the Thrift compact protocol
//! specification.

use std::ops::Range;

/// What a column chunk says of itself.
#[derive(Debug, Clone)]
pub(super) struct ChunkClaims {
    /// Where its pages lie in the file.
    pub(super) bytes: Range<u64>,
    /// Number of its values.
    pub(super) values: i64,
}

/// Largest size of an unpacked page that is believed.
const LARGEST_PAGE_BYTES: i64 = super::limits::LARGEST_FILE_BYTES as i64 * 4;

/// Whether the pages of a chunk lie inside it and claim no more values than it has.
pub(super) fn pages_are_plausible(file: &[u8], chunk: &ChunkClaims) -> bool {
    let range = |at: u64| usize::try_from(at).unwrap_or(usize::MAX);
    let Some(pages) = file.get(range(chunk.bytes.start)..range(chunk.bytes.end)) else {
        return false;
    };
    let mut rest = pages;
    while !rest.is_empty() {
        let mut reader = Compact {
            bytes: rest,
            depth: 0,
        };
        let Some(header) = reader.page_header() else {
            return false;
        };
        let sane = (0..=chunk.values).contains(&header.most_values)
            && (0..=LARGEST_PAGE_BYTES).contains(&header.unpacked_bytes);
        let packed = usize::try_from(header.packed_bytes).ok();
        let Some(next) = packed.and_then(|size| reader.bytes.get(size..)) else {
            return false;
        };
        if !sane {
            return false;
        }
        rest = next;
    }
    true
}

/// The claims of a page header.
struct PageHeader {
    unpacked_bytes: i64,
    packed_bytes: i64,
    /// Largest of its counts of values and rows.
    most_values: i64,
}

/// Reader of the Thrift compact protocol, as much of it as a page header needs.
struct Compact<'a> {
    bytes: &'a [u8],
    depth: usize,
}

impl Compact<'_> {
    fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.bytes.split_first()?;
        self.bytes = rest;
        Some(*first)
    }

    fn varint(&mut self) -> Option<u64> {
        let mut value = 0_u64;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            value |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return Some(value);
            }
        }
        None
    }

    fn integer(&mut self) -> Option<i64> {
        let value = self.varint()?;
        Some((value >> 1) as i64 ^ -((value & 1) as i64))
    }

    /// Next field's number and kind, or `None` inside `Some` at the end of the struct.
    fn field(&mut self, before: i64) -> Option<Option<(i64, u8)>> {
        let head = self.byte()?;
        let kind = head & 0x0f;
        if kind == 0 {
            return Some(None);
        }
        let number = match head >> 4 {
            0 => self.integer()?,
            step => before + i64::from(step),
        };
        Some(Some((number, kind)))
    }

    fn page_header(&mut self) -> Option<PageHeader> {
        let mut found = PageHeader {
            unpacked_bytes: -1,
            packed_bytes: -1,
            most_values: 0,
        };
        let mut number = 0;
        while let Some((next, kind)) = self.field(number)? {
            number = next;
            match (number, kind) {
                (2, 5) => found.unpacked_bytes = self.integer()?,
                (3, 5) => found.packed_bytes = self.integer()?,
                // Data, dictionary and data-version-2 headers: counts are their first fields.
                (5 | 7 | 8, 12) => {
                    let counts = self.counts(if number == 8 { 3 } else { 1 })?;
                    found.most_values = found.most_values.max(counts);
                }
                (_, kind) => self.skip(kind)?,
            }
        }
        Some(found)
    }

    /// Largest of the first `count` integer fields of a struct; -1 where one is negative.
    fn counts(&mut self, count: i64) -> Option<i64> {
        let mut largest = 0;
        let mut number = 0;
        while let Some((next, kind)) = self.field(number)? {
            number = next;
            if kind == 5 && number <= count {
                let value = self.integer()?;
                if value < 0 {
                    return Some(-1);
                }
                largest = largest.max(value);
            } else {
                self.skip(kind)?;
            }
        }
        Some(largest)
    }

    fn skip(&mut self, kind: u8) -> Option<()> {
        self.depth += 1;
        if self.depth > 16 {
            return None;
        }
        match kind {
            1 | 2 => {}
            3 => {
                self.byte()?;
            }
            4..=6 => {
                self.varint()?;
            }
            7 => self.bytes = self.bytes.get(8..)?,
            8 => {
                let size = usize::try_from(self.varint()?).ok()?;
                self.bytes = self.bytes.get(size..)?;
            }
            9 | 10 => {
                let head = self.byte()?;
                let size = match head >> 4 {
                    15 => self.varint()?,
                    short => u64::from(short),
                };
                for _ in 0..size {
                    self.skip(head & 0x0f)?;
                }
            }
            12 => {
                let mut number = 0;
                while let Some((next, kind)) = self.field(number)? {
                    number = next;
                    self.skip(kind)?;
                }
            }
            _ => return None,
        }
        self.depth -= 1;
        Some(())
    }
}
