//! The zip archive that a workbook is: its parts, unpacked within limits and packed anew, so that
//! the reader behind sees only what was looked at here.
//!
//! # Source
//! PKWARE, *.ZIP File Format Specification* (APPNOTE), version 6.3.10, sections 4.3.7 (local header),
//! 4.3.12 (central directory), 4.3.16 (end of it) and 4.5.3 (sizes of 64 bits).

use super::inflate::{InflateFault, inflate};

/// Bytes of all parts together, unpacked.
pub(crate) const LARGEST_UNPACKED_BYTES: usize = 200_000_000;
/// Parts of an archive.
const LARGEST_PARTS: usize = 10_000;

const LOCAL: &[u8] = b"PK\x03\x04";
const CENTRAL: &[u8] = b"PK\x01\x02";
const END: &[u8] = b"PK\x05\x06";
const END_BYTES: usize = 22;

/// Why an archive cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ArchiveFault {
    /// Its parts come to more than is unpacked.
    TooLarge,
    /// It has more parts than a workbook can have.
    TooManyParts,
    /// It is cut or damaged; what does not fit, in words.
    Broken(&'static str),
    /// Its parts are locked with a password.
    Locked,
}

/// One part: its name and its bytes; of pictures and the like the name alone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Part {
    pub name: String,
    pub bytes: Vec<u8>,
}

/// Unpacks the parts that are text; their checksums are held against the archive's own.
pub(crate) fn unpack(archive: &[u8]) -> Result<Vec<Part>, ArchiveFault> {
    let broken = ArchiveFault::Broken;
    let end = find_end(archive).ok_or(broken("its end is missing; was it copied whole?"))?;
    let count = usize::from(u16_at(end, 10).unwrap_or(0));
    let at = u32_at(end, 16).unwrap_or(u32::MAX) as usize;
    if count > LARGEST_PARTS {
        return Err(ArchiveFault::TooManyParts);
    }
    let mut directory = archive
        .get(at..)
        .ok_or(broken("its table of contents is missing"))?;
    let mut parts = Vec::with_capacity(count);
    let mut packed_bytes = 0_usize;
    let mut room = LARGEST_UNPACKED_BYTES;
    for _ in 0..count {
        let (entry, rest) =
            Entry::read(directory).ok_or(broken("its table of contents does not read"))?;
        directory = rest;
        // Each has bytes of its own: many names for the same few would be unpacked once for each name.
        packed_bytes = packed_bytes.saturating_add(entry.packed_bytes);
        if packed_bytes > archive.len() {
            return Err(broken("its parts lie one over the other"));
        }
        let wanted = entry.name.ends_with(".xml") || entry.name.ends_with(".rels");
        // The first part of an OpenDocument archive says what it is.
        if !wanted && entry.name != "mimetype" {
            parts.push(Part {
                name: entry.name,
                bytes: Vec::new(),
            });
            continue;
        }
        if entry.locked {
            return Err(ArchiveFault::Locked);
        }
        let bytes = entry.unpacked(archive, room)?;
        room -= bytes.len();
        parts.push(Part {
            name: entry.name,
            bytes,
        });
    }
    Ok(parts)
}

/// The record that ends an archive; a comment may follow it.
fn find_end(archive: &[u8]) -> Option<&[u8]> {
    let last = archive.len().checked_sub(END_BYTES)?;
    let earliest = last.saturating_sub(usize::from(u16::MAX));
    (earliest..=last).rev().find_map(|place| {
        let end = archive.get(place..)?;
        let comment = usize::from(u16_at(end, 20)?);
        (end.starts_with(END) && end.len() == END_BYTES + comment).then_some(end)
    })
}

struct Entry {
    name: String,
    locked: bool,
    method: u16,
    checksum: u32,
    packed_bytes: usize,
    unpacked_bytes: usize,
    header_at: usize,
}

impl Entry {
    /// The entry that the directory begins with, and what follows it.
    fn read(directory: &[u8]) -> Option<(Self, &[u8])> {
        if !directory.starts_with(CENTRAL) {
            return None;
        }
        let name_bytes = usize::from(u16_at(directory, 28)?);
        let further_bytes = usize::from(u16_at(directory, 30)?);
        let comment_bytes = usize::from(u16_at(directory, 32)?);
        let rest = directory.get(46..)?;
        let name = rest.get(..name_bytes)?;
        let rest = rest.get(name_bytes..)?;
        let further = rest.get(..further_bytes)?;
        let rest = rest.get(further_bytes + comment_bytes..)?;
        let mut sizes = [
            u64::from(u32_at(directory, 24)?),
            u64::from(u32_at(directory, 20)?),
            u64::from(u32_at(directory, 42)?),
        ];
        if sizes.contains(&u64::from(u32::MAX)) {
            let mut long = long_sizes(further)?;
            for size in &mut sizes {
                if *size == u64::from(u32::MAX) {
                    let (eight, behind) = long.split_first_chunk::<8>()?;
                    *size = u64::from_le_bytes(*eight);
                    long = behind;
                }
            }
        }
        let [unpacked_bytes, packed_bytes, header_at] = sizes;
        let entry = Self {
            name: String::from_utf8_lossy(name).into_owned(),
            locked: u16_at(directory, 8)? & 1 == 1,
            method: u16_at(directory, 10)?,
            checksum: u32_at(directory, 16)?,
            packed_bytes: usize::try_from(packed_bytes).ok()?,
            unpacked_bytes: usize::try_from(unpacked_bytes).ok()?,
            header_at: usize::try_from(header_at).ok()?,
        };
        Some((entry, rest))
    }

    fn unpacked(&self, archive: &[u8], room: usize) -> Result<Vec<u8>, ArchiveFault> {
        if self.unpacked_bytes > room {
            return Err(ArchiveFault::TooLarge);
        }
        let packed = self
            .packed(archive)
            .ok_or(ArchiveFault::Broken("a part of it is missing"))?;
        let bytes = match self.method {
            0 => packed.to_vec(),
            8 => inflate(packed, self.unpacked_bytes).map_err(|fault| match fault {
                InflateFault::TooLarge => {
                    ArchiveFault::Broken("a part of it is larger than it says")
                }
                InflateFault::Broken => ArchiveFault::Broken("a part of it does not unpack"),
            })?,
            _ => {
                return Err(ArchiveFault::Broken(
                    "a part of it is packed in a way that workbooks are not",
                ));
            }
        };
        if bytes.len() != self.unpacked_bytes || checksum(&bytes) != self.checksum {
            return Err(ArchiveFault::Broken(
                "a part of it is not what its checksum says",
            ));
        }
        Ok(bytes)
    }

    fn packed<'a>(&self, archive: &'a [u8]) -> Option<&'a [u8]> {
        let local = archive.get(self.header_at..)?;
        if !local.starts_with(LOCAL) {
            return None;
        }
        let before = 30 + usize::from(u16_at(local, 26)?) + usize::from(u16_at(local, 28)?);
        local.get(before..)?.get(..self.packed_bytes)
    }
}

/// The further field that holds sizes of 64 bits.
fn long_sizes(mut further: &[u8]) -> Option<&[u8]> {
    loop {
        let kind = u16_at(further, 0)?;
        let length = usize::from(u16_at(further, 2)?);
        let field = further.get(4..4 + length)?;
        if kind == 1 {
            return Some(field);
        }
        further = further.get(4 + length..)?;
    }
}

/// An archive of those parts, none of them packed.
pub(crate) fn pack(parts: &[Part]) -> Vec<u8> {
    let mut archive = Vec::new();
    let mut directory = Vec::new();
    let mut count = 0_u16;
    for part in parts.iter().filter(|part| !part.bytes.is_empty()) {
        // Every figure fits: parts come to less than LARGEST_UNPACKED_BYTES, names from 16 bits.
        let header_at = archive.len() as u32;
        let size = (part.bytes.len() as u32).to_le_bytes();
        let mut common = vec![20, 0, 0, 8, 0, 0, 0, 0, 0x21, 0];
        common.extend(checksum(&part.bytes).to_le_bytes());
        common.extend(size);
        common.extend(size);
        common.extend((part.name.len() as u16).to_le_bytes());
        common.extend([0, 0]);
        archive.extend_from_slice(LOCAL);
        archive.extend_from_slice(&common);
        archive.extend_from_slice(part.name.as_bytes());
        archive.extend_from_slice(&part.bytes);
        directory.extend_from_slice(CENTRAL);
        directory.extend([20, 0]);
        directory.extend_from_slice(&common);
        directory.extend([0; 10]);
        directory.extend(header_at.to_le_bytes());
        directory.extend_from_slice(part.name.as_bytes());
        count += 1;
    }
    let (at, size) = (archive.len() as u32, directory.len() as u32);
    archive.extend(directory);
    archive.extend_from_slice(END);
    archive.extend([0; 4]);
    archive.extend(count.to_le_bytes());
    archive.extend(count.to_le_bytes());
    archive.extend(size.to_le_bytes());
    archive.extend(at.to_le_bytes());
    archive.extend([0; 2]);
    archive
}

/// CRC-32 as zip has it: polynomial 0xEDB88320, begun and ended by turning every bit.
fn checksum(bytes: &[u8]) -> u32 {
    let mut table = [0_u32; 256];
    for (entry, start) in table.iter_mut().zip(0_u32..) {
        *entry = (0..8).fold(start, |rest, _| (rest >> 1) ^ (0xedb8_8320 * (rest & 1)));
    }
    !bytes.iter().fold(u32::MAX, |rest, byte| {
        let place = usize::from(*byte ^ rest.to_le_bytes()[0]);
        (rest >> 8) ^ table.get(place).copied().unwrap_or(0)
    })
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_that_of_the_published_check_value() {
        // Catalogue of parametrised CRC algorithms (G. Cook), CRC-32/ISO-HDLC: check 0xcbf43926.
        assert_eq!(checksum(b"123456789"), 0xcbf4_3926);
    }

    #[test]
    fn what_was_packed_unpacks_to_the_same_parts() {
        let parts = vec![
            Part {
                name: "a.xml".to_string(),
                bytes: b"<a/>".to_vec(),
            },
            Part {
                name: "b/c.rels".to_string(),
                bytes: vec![7; 1000],
            },
        ];
        assert_eq!(unpack(&pack(&parts)).unwrap(), parts);
    }

    /// As `pack` has it, all entries of the directory at the one part that is there.
    #[test]
    fn many_names_for_the_same_bytes_are_refused() {
        let part = Part {
            name: "a.xml".to_string(),
            bytes: vec![b' '; 100_000],
        };
        let one = pack(&[part]);
        let end = one.len() - END_BYTES;
        let directory_at = u32_at(&one[end..], 16).unwrap() as usize;
        let entry = one[directory_at..end].to_vec();
        let mut archive = one[..directory_at].to_vec();
        let count = 9_000_u16;
        for _ in 0..count {
            archive.extend_from_slice(&entry);
        }
        archive.extend_from_slice(END);
        archive.extend([0; 4]);
        archive.extend(count.to_le_bytes());
        archive.extend(count.to_le_bytes());
        archive.extend((entry.len() as u32 * u32::from(count)).to_le_bytes());
        archive.extend((directory_at as u32).to_le_bytes());
        archive.extend([0; 2]);
        let begun = std::time::Instant::now();
        assert_eq!(
            unpack(&archive),
            Err(ArchiveFault::Broken("its parts lie one over the other"))
        );
        assert!(begun.elapsed().as_secs_f64() < 1.0);
        assert_eq!(unpack(&one).unwrap().len(), 1);
    }

    #[test]
    fn a_changed_byte_of_a_part_is_found_by_its_checksum() {
        let part = Part {
            name: "a.xml".to_string(),
            bytes: b"<a>1.5</a>".to_vec(),
        };
        let mut archive = pack(&[part]);
        let place = archive
            .windows(3)
            .position(|bytes| bytes == b"1.5")
            .unwrap();
        archive[place] = b'7';
        assert!(matches!(unpack(&archive), Err(ArchiveFault::Broken(_))));
    }
}
