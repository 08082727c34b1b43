//! The chain: each entry's hash covers the entry and the hash before it.

use super::rows::Cell;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;

/// What stands before the first entry.
pub const FIRST_LINK: [u8; 32] = [0; 32];

/// Hash of an entry, from that of the entry before and its cells in the order of the table.
///
/// # Equation
/// `hash_n = SHA-256(hash_(n-1) || text of entry n)`, `hash_0` 32 zero bytes. The text has a line a
/// column, `name=value` and a line feed: `-` for nothing, `i` and decimal digits for a whole number,
/// `r` and the 16 hexadecimal digits of the IEEE 754 double, `t`, length in bytes, `:` and the text.
///
/// # Source
/// NIST FIPS 180-4, Secure Hash Standard, doi:10.6028/NIST.FIPS.180-4.
///
/// # Example
/// ```
/// use heatset::batches::{FIRST_LINK, chain_hash};
/// // Without columns it is the hash of 32 zero bytes (sha256sum of coreutils).
/// let hash = chain_hash(&FIRST_LINK, std::iter::empty());
/// assert_eq!(hash[..4], [0x66, 0x68, 0x7a, 0xad]);
/// ```
pub fn chain_hash<'a>(
    before: &[u8; 32],
    cells: impl Iterator<Item = (&'a str, Cell<'a>)>,
) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(before);
    let mut line = String::with_capacity(96);
    for (name, cell) in cells {
        line.clear();
        let _ = match cell {
            Cell::Nothing => writeln!(line, "{name}=-"),
            Cell::Whole(number) => writeln!(line, "{name}=i{number}"),
            Cell::Real(value) => writeln!(line, "{name}=r{:016x}", value.to_bits()),
            Cell::Text(text) => writeln!(line, "{name}=t{}:{text}", text.len()),
        };
        hash.update(line.as_bytes());
    }
    hash.finalize().into()
}
