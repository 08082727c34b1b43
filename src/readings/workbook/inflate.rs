//! DEFLATE, unpacked up to a limit. A workbook is unpacked here before its reader sees it, so that
//! no part can be larger than it says, and no figure in it is believed before it was looked at.
//!
//! # Source
//! P. Deutsch, *RFC 1951: DEFLATE Compressed Data Format Specification version 1.3*, 1996;
//! sections 3.2.2 (codes from their lengths), 3.2.5 (lengths and distances), 3.2.6 and 3.2.7 (blocks).

use std::sync::LazyLock;

/// Why bytes cannot be unpacked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum InflateFault {
    /// They come to more than the limit.
    TooLarge,
    /// They are no DEFLATE.
    Broken,
}

/// Longest code, in bits.
const LONGEST_CODE_BITS: usize = 15;
/// Blocks that yield nothing, beside one for every byte that was yielded: a writer that flushes leaves
/// one behind each piece, and nobody writes more of them than that.
const EMPTY_BLOCKS: usize = 1000;
/// Symbol that ends a block.
const END_OF_BLOCK: u16 = 256;

/// Least length and further bits of the symbols 257 to 285.
const LENGTHS: [(u16, u8); 29] = [
    (3, 0),
    (4, 0),
    (5, 0),
    (6, 0),
    (7, 0),
    (8, 0),
    (9, 0),
    (10, 0),
    (11, 1),
    (13, 1),
    (15, 1),
    (17, 1),
    (19, 2),
    (23, 2),
    (27, 2),
    (31, 2),
    (35, 3),
    (43, 3),
    (51, 3),
    (59, 3),
    (67, 4),
    (83, 4),
    (99, 4),
    (115, 4),
    (131, 5),
    (163, 5),
    (195, 5),
    (227, 5),
    (258, 0),
];

/// Least distance and further bits of the distance symbols 0 to 29.
const DISTANCES: [(u16, u8); 30] = [
    (1, 0),
    (2, 0),
    (3, 0),
    (4, 0),
    (5, 1),
    (7, 1),
    (9, 2),
    (13, 2),
    (17, 3),
    (25, 3),
    (33, 4),
    (49, 4),
    (65, 5),
    (97, 5),
    (129, 6),
    (193, 6),
    (257, 7),
    (385, 7),
    (513, 8),
    (769, 8),
    (1025, 9),
    (1537, 9),
    (2049, 10),
    (3073, 10),
    (4097, 11),
    (6145, 11),
    (8193, 12),
    (12289, 12),
    (16385, 13),
    (24577, 13),
];

/// The order in which the lengths of the codes of lengths are written.
const ORDER_OF_LENGTH_CODES: [usize; 19] = [
    16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15,
];

/// Unpacks a DEFLATE stream into at most `largest_bytes`.
pub(crate) fn inflate(packed: &[u8], largest_bytes: usize) -> Result<Vec<u8>, InflateFault> {
    let mut bits = Bits {
        bytes: packed,
        held: 0,
        count: 0,
    };
    let mut output = Output {
        bytes: Vec::new(),
        largest_bytes,
    };
    let mut empty_blocks = 0;
    loop {
        let last = bits.take(1)? == 1;
        let before = output.bytes.len();
        match bits.take(2)? {
            0 => stored(&mut bits, &mut output)?,
            1 => {
                let (literals, distances) = FIXED_CODES.as_ref().map_err(|fault| *fault)?;
                packed_block(&mut bits, &mut output, literals, distances)?;
            }
            2 => {
                let (literals, distances) = stated_codes(&mut bits)?;
                packed_block(&mut bits, &mut output, &literals, &distances)?;
            }
            _ => return Err(InflateFault::Broken),
        }
        if last {
            return Ok(output.bytes);
        }
        if output.bytes.len() == before {
            empty_blocks += 1;
        }
        if empty_blocks > EMPTY_BLOCKS + output.bytes.len() {
            return Err(InflateFault::Broken);
        }
    }
}

struct Output {
    bytes: Vec<u8>,
    largest_bytes: usize,
}

impl Output {
    fn room_for(&self, more: usize) -> Result<(), InflateFault> {
        if self.bytes.len() + more > self.largest_bytes {
            return Err(InflateFault::TooLarge);
        }
        Ok(())
    }

    /// Says again what stood `distance` bytes before; the two may overlap.
    fn repeat(&mut self, distance: usize, length: usize) -> Result<(), InflateFault> {
        self.room_for(length)?;
        let from = self
            .bytes
            .len()
            .checked_sub(distance)
            .ok_or(InflateFault::Broken)?;
        for place in from..from + length {
            let byte = *self.bytes.get(place).ok_or(InflateFault::Broken)?;
            self.bytes.push(byte);
        }
        Ok(())
    }
}

/// Bits, the lowest of a byte first.
struct Bits<'a> {
    bytes: &'a [u8],
    held: u32,
    count: u8,
}

impl Bits<'_> {
    /// The next bits as a number; at most 16.
    fn take(&mut self, wanted: u8) -> Result<u32, InflateFault> {
        while self.count < wanted {
            let (first, rest) = self.bytes.split_first().ok_or(InflateFault::Broken)?;
            self.held |= u32::from(*first) << self.count;
            self.bytes = rest;
            self.count += 8;
        }
        let number = self.held & ((1 << wanted) - 1);
        self.held >>= wanted;
        self.count -= wanted;
        Ok(number)
    }
}

/// A prefix code: how many codes there are of each length, and their symbols in order.
struct Codes {
    counts: [u16; LONGEST_CODE_BITS + 1],
    symbols: Vec<u16>,
}

impl Codes {
    /// The code that the lengths of its symbols' codes tell; 0 is a symbol without one.
    fn of_lengths(lengths: &[u8]) -> Result<Self, InflateFault> {
        let mut counts = [0_u16; LONGEST_CODE_BITS + 1];
        for length in lengths {
            let count = counts.get_mut(usize::from(*length));
            *count.ok_or(InflateFault::Broken)? += 1;
        }
        let mut left: i32 = 1;
        for count in counts.iter().skip(1) {
            left = 2 * left - i32::from(*count);
            if left < 0 {
                return Err(InflateFault::Broken);
            }
        }
        // By length, and by symbol within it: each goes behind those that are shorter.
        let mut next = [0_u16; LONGEST_CODE_BITS + 1];
        let mut shorter = 0;
        for (place, count) in next.iter_mut().zip(counts).skip(1) {
            *place = shorter;
            shorter += count;
        }
        let mut symbols = vec![0_u16; usize::from(shorter)];
        for (length, symbol) in lengths.iter().zip(0_u16..).filter(|(own, _)| **own > 0) {
            let place = next.get_mut(usize::from(*length));
            let place = place.ok_or(InflateFault::Broken)?;
            let free = symbols.get_mut(usize::from(*place));
            *free.ok_or(InflateFault::Broken)? = symbol;
            *place += 1;
        }
        Ok(Self { counts, symbols })
    }

    /// Codes of one length follow each other: the first of each length is found while reading.
    fn read(&self, bits: &mut Bits<'_>) -> Result<u16, InflateFault> {
        let (mut code, mut first, mut before) = (0_usize, 0_usize, 0_usize);
        for count in self.counts.iter().skip(1) {
            let count = usize::from(*count);
            code |= bits.take(1)? as usize;
            if let Some(place) = code.checked_sub(first).filter(|place| *place < count) {
                let symbol = self.symbols.get(before + place);
                return symbol.copied().ok_or(InflateFault::Broken);
            }
            before += count;
            first = (first + count) << 1;
            code <<= 1;
        }
        Err(InflateFault::Broken)
    }
}

/// A block that is not packed.
fn stored(bits: &mut Bits<'_>, output: &mut Output) -> Result<(), InflateFault> {
    // It begins on a whole byte; whole bytes are never held back.
    bits.held = 0;
    bits.count = 0;
    let (head, rest) = bits.bytes.split_at_checked(4).ok_or(InflateFault::Broken)?;
    let [low, high, not_low, not_high] = *head else {
        return Err(InflateFault::Broken);
    };
    let length = u16::from_le_bytes([low, high]);
    if length != !u16::from_le_bytes([not_low, not_high]) {
        return Err(InflateFault::Broken);
    }
    let (plain, rest) = rest
        .split_at_checked(usize::from(length))
        .ok_or(InflateFault::Broken)?;
    output.room_for(plain.len())?;
    output.bytes.extend_from_slice(plain);
    bits.bytes = rest;
    Ok(())
}

fn packed_block(
    bits: &mut Bits<'_>,
    output: &mut Output,
    literals: &Codes,
    distances: &Codes,
) -> Result<(), InflateFault> {
    loop {
        let symbol = literals.read(bits)?;
        if let Ok(byte) = u8::try_from(symbol) {
            output.room_for(1)?;
            output.bytes.push(byte);
        } else if symbol == END_OF_BLOCK {
            return Ok(());
        } else {
            let (least, further) = *LENGTHS
                .get(usize::from(symbol - END_OF_BLOCK - 1))
                .ok_or(InflateFault::Broken)?;
            let length = usize::from(least) + bits.take(further)? as usize;
            let (least, further) = *DISTANCES
                .get(usize::from(distances.read(bits)?))
                .ok_or(InflateFault::Broken)?;
            let distance = usize::from(least) + bits.take(further)? as usize;
            output.repeat(distance, length)?;
        }
    }
}

/// The codes that need not be written, of literals and of distances: a block can be ten bits long.
static FIXED_CODES: LazyLock<Result<(Codes, Codes), InflateFault>> = LazyLock::new(fixed_codes);

fn fixed_codes() -> Result<(Codes, Codes), InflateFault> {
    let mut lengths = [8_u8; 288];
    for (symbol, length) in lengths.iter_mut().enumerate() {
        *length = match symbol {
            144..=255 => 9,
            256..=279 => 7,
            _ => 8,
        };
    }
    Ok((Codes::of_lengths(&lengths)?, Codes::of_lengths(&[5; 30])?))
}

/// The codes written before a block.
fn stated_codes(bits: &mut Bits<'_>) -> Result<(Codes, Codes), InflateFault> {
    let literals = bits.take(5)? as usize + 257;
    let distances = bits.take(5)? as usize + 1;
    let of_lengths = bits.take(4)? as usize + 4;
    let mut lengths = [0_u8; 19];
    for place in ORDER_OF_LENGTH_CODES.iter().take(of_lengths) {
        if let Some(length) = lengths.get_mut(*place) {
            *length = bits.take(3)? as u8;
        }
    }
    let codes = Codes::of_lengths(&lengths)?;
    let mut lengths: Vec<u8> = Vec::with_capacity(literals + distances);
    while lengths.len() < literals + distances {
        let (length, times) = match codes.read(bits)? {
            symbol @ 0..=15 => (symbol as u8, 1),
            16 => {
                let before = *lengths.last().ok_or(InflateFault::Broken)?;
                (before, 3 + bits.take(2)?)
            }
            17 => (0, 3 + bits.take(3)?),
            _ => (0, 11 + bits.take(7)?),
        };
        lengths.extend(std::iter::repeat_n(length, times as usize));
    }
    if lengths.len() > literals + distances {
        return Err(InflateFault::Broken);
    }
    let (literal_lengths, distance_lengths) = lengths
        .split_at_checked(literals)
        .ok_or(InflateFault::Broken)?;
    Ok((
        Codes::of_lengths(literal_lengths)?,
        Codes::of_lengths(distance_lengths)?,
    ))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    // Python's zlib, zlib.compressobj(level, zlib.DEFLATED, -15, 9, strategy) of the text below: level 9
    // with Z_FIXED, and level 0. Codes of their own stand in every workbook of the tests.
    const TEXT: &[u8] = b"firmness firmness firmness, firm";
    const FIXED: [u8; 16] = [
        0x4b, 0xcb, 0x2c, 0xca, 0xcd, 0x4b, 0x2d, 0x2e, 0x56, 0x48, 0x43, 0x67, 0xe8, 0x80, 0x59,
        0x00,
    ];

    #[test]
    fn fixed_codes_and_stored_blocks_unpack_to_what_was_packed() {
        assert_eq!(inflate(&FIXED, 100).unwrap(), TEXT);
        let mut stored = vec![0x01, 0x20, 0x00, 0xdf, 0xff];
        stored.extend_from_slice(TEXT);
        assert_eq!(inflate(&stored, 100).unwrap(), TEXT);
    }

    #[test]
    fn the_limit_holds_to_the_byte() {
        assert_eq!(inflate(&FIXED, TEXT.len()).unwrap().len(), TEXT.len());
        assert_eq!(inflate(&FIXED, TEXT.len() - 1), Err(InflateFault::TooLarge));
    }

    /// RFC 1951, 3.2.3 and 3.2.6: a block is its last-block bit, two bits of its kind and its codes; with the
    /// fixed ones the end of a block is seven bits of 0. Packed one behind the other from the lowest bit.
    #[test]
    fn blocks_that_yield_nothing_come_to_an_end() {
        let of_blocks = |count: usize| {
            let mut bits: Vec<bool> = Vec::new();
            for number in 0..count {
                bits.extend([number + 1 == count, true, false]);
                bits.extend([false; 7]);
            }
            bits.chunks(8)
                .map(|eight| {
                    let bits = eight.iter().zip(0..);
                    bits.fold(0_u8, |byte, (bit, place)| byte | u8::from(*bit) << place)
                })
                .collect::<Vec<u8>>()
        };
        assert_eq!(inflate(&of_blocks(1), 0), Ok(Vec::new()));
        assert_eq!(inflate(&of_blocks(1000), 0), Ok(Vec::new()));
        assert_eq!(inflate(&of_blocks(1002), 100), Err(InflateFault::Broken));
    }

    #[test]
    fn cut_bytes_are_broken_and_nothing_panics() {
        for end in 0..FIXED.len() {
            assert_eq!(
                inflate(&FIXED[..end], 100),
                Err(InflateFault::Broken),
                "{end}"
            );
        }
        for place in 0..FIXED.len() {
            for mask in 1..=255 {
                let mut changed = FIXED;
                changed[place] ^= mask;
                let _ = inflate(&changed, 1000);
            }
        }
    }
}
