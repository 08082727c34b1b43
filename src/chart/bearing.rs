//! Where a letter's ink begins, read from the embedded font.
//!
//! The pixel backend sets every letter with its leftmost ink at its origin, so that a J, whose
//! hook reaches back under the letter before, stands off by itself. The canvas therefore places
//! letters one by one, each moved by its left side bearing.
//!
//! Tables `head`, `hhea`, `hmtx` and `cmap` (format 4) as in ISO/IEC 14496-22, Open Font Format.

use super::scene::Weight;

/// From the letter's origin to the left edge of its ink, in font sizes; negative where the ink
/// reaches back. `None` where the font does not say.
pub(super) fn left_side_bearing(letter: char, weight: Weight) -> Option<f64> {
    let font = match weight {
        Weight::Regular => dejavu::sans::regular(),
        Weight::Bold => dejavu::sans::bold(),
    };
    let units_an_em = unsigned(font, table(font, b"head")? + 18)?;
    let glyph = glyph_of(font, u16::try_from(u32::from(letter)).ok()?)?;
    let full_records = unsigned(font, table(font, b"hhea")? + 34)?;
    let metrics = table(font, b"hmtx")?;
    // A record is an advance and a bearing; past the last record only bearings follow.
    let at = if glyph < full_records {
        metrics + 4 * glyph + 2
    } else {
        metrics + 4 * full_records + 2 * (glyph - full_records)
    };
    let bearing = i16::from_be_bytes([*font.get(at)?, *font.get(at + 1)?]);
    Some(f64::from(bearing) / units_an_em as f64)
}

/// A 16-bit number, the high byte first.
fn unsigned(font: &[u8], at: usize) -> Option<usize> {
    let high = font.get(at)?;
    let low = font.get(at + 1)?;
    Some(usize::from(*high) * 256 + usize::from(*low))
}

fn long(font: &[u8], at: usize) -> Option<usize> {
    Some(unsigned(font, at)? * 0x1_0000 + unsigned(font, at + 2)?)
}

/// Where a table begins.
fn table(font: &[u8], name: &[u8; 4]) -> Option<usize> {
    let count = unsigned(font, 4)?;
    (0..count)
        .map(|index| 12 + 16 * index)
        .find(|at| font.get(*at..*at + 4) == Some(name.as_slice()))
        .and_then(|at| long(font, at + 8))
}

/// Number of a letter's glyph in the segments of a format 4 character map.
fn glyph_of(font: &[u8], letter: u16) -> Option<usize> {
    let letter = usize::from(letter);
    let maps = table(font, b"cmap")?;
    let map = (0..unsigned(font, maps + 2)?)
        .filter_map(|index| long(font, maps + 4 + 8 * index + 4))
        .map(|offset| maps + offset)
        .find(|map| unsigned(font, *map) == Some(4))?;
    let doubled_count = unsigned(font, map + 6)?;
    let (ends, starts) = (map + 14, map + 16 + doubled_count);
    let segment = (0..doubled_count / 2)
        .map(|index| 2 * index)
        .find(|step| unsigned(font, ends + step).is_some_and(|end| end >= letter))?;
    let start = unsigned(font, starts + segment)?;
    if letter < start {
        return None;
    }
    let delta = unsigned(font, starts + doubled_count + segment)?;
    let range_at = starts + 2 * doubled_count + segment;
    let range = unsigned(font, range_at)?;
    if range == 0 {
        return Some((letter + delta) % 0x1_0000);
    }
    match unsigned(font, range_at + range + 2 * (letter - start))? {
        0 => None,
        glyph => Some((glyph + delta) % 0x1_0000),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Read from the DejaVu Sans 2.37 font files with fontTools (PyPI), table hmtx, of 2048
    /// units an em.
    #[test]
    fn bearings_are_those_that_fonttools_reads() {
        for (letter, weight, units) in BEARINGS {
            let found = left_side_bearing(*letter, *weight).unwrap();
            assert_eq!(found * 2048.0, *units, "{letter}");
        }
    }

    #[test]
    fn a_letter_that_the_font_lacks_has_no_bearing() {
        assert_eq!(left_side_bearing('\u{E000}', Weight::Regular), None);
        assert_eq!(left_side_bearing('\u{1F600}', Weight::Regular), None);
    }

    const BEARINGS: &[(char, Weight, f64)] = &[
        ('A', Weight::Regular, 16.0),
        ('J', Weight::Regular, -106.0),
        ('j', Weight::Regular, -37.0),
        ('n', Weight::Regular, 186.0),
        ('1', Weight::Regular, 225.0),
        ('°', Weight::Regular, 195.0),
        ('×', Weight::Regular, 281.0),
        ('−', Weight::Regular, 217.0),
        ('⁻', Weight::Regular, 137.0),
        ('²', Weight::Regular, 94.0),
        ('ä', Weight::Regular, 123.0),
        (' ', Weight::Regular, 0.0),
        ('Ω', Weight::Regular, 78.0),
        ('A', Weight::Bold, 10.0),
        ('J', Weight::Bold, -115.0),
        ('j', Weight::Bold, -68.0),
        ('n', Weight::Bold, 172.0),
        ('1', Weight::Bold, 231.0),
        ('°', Weight::Bold, 178.0),
        ('×', Weight::Bold, 256.0),
        ('−', Weight::Bold, 217.0),
        ('⁻', Weight::Bold, 137.0),
        ('²', Weight::Bold, 109.0),
        ('ä', Weight::Bold, 88.0),
        (' ', Weight::Bold, 0.0),
        ('Ω', Weight::Bold, 55.0),
    ];
}
