//! Clips whose stored picture has to be turned by the player.

use std::path::Path;

use crate::{Error, Result};

/// The picture as it is stored so that, turned clockwise by `rotation_deg`, it is upright again.
/// `width` and `height` are those of the upright picture; three bytes a pixel.
pub fn stored(rgb: &[u8], width: usize, height: usize, rotation_deg: u16) -> Vec<u8> {
    let mut out = vec![0u8; rgb.len()];
    let stored_width = if matches!(rotation_deg, 90 | 270) {
        height
    } else {
        width
    };
    for y in 0..height {
        for x in 0..width {
            let (sx, sy) = match rotation_deg {
                // A clockwise quarter turn takes stored (sx, sy) to (stored height − 1 − sy, sx).
                90 => (y, width - 1 - x),
                180 => (width - 1 - x, height - 1 - y),
                270 => (height - 1 - y, x),
                _ => (x, y),
            };
            let (from, to) = (3 * (y * width + x), 3 * (sy * stored_width + sx));
            out[to..to + 3].copy_from_slice(&rgb[from..from + 3]);
        }
    }
    out
}

/// Writes the turn into the track header of an mp4 or mov file (ISO/IEC 14496-12, `tkhd`: the
/// matrix stands right before width and height at its end). Done here because the option for it differs
/// between versions of `ffmpeg`.
///
/// # Errors
/// [`Error::File`] where the file cannot be read or written, [`Error::Unreadable`] without a header.
pub fn mark_turn(path: &Path, rotation_deg: u16) -> Result<()> {
    if rotation_deg == 0 {
        return Ok(());
    }
    let mut file = std::fs::read(path).map_err(|e| Error::file(path, e))?;
    let header = find(&file, 0..file.len(), &[b"moov", b"trak", b"tkhd"]).ok_or_else(|| {
        Error::unreadable(
            path,
            "no track header where the turn is kept",
            "write an .mp4 or .mov",
        )
    })?;
    let at = header.end - 8 - 36;
    let size = |k: usize| read_u32(&file, header.end - 8 + 4 * k);
    let (width, height) = (size(0), size(1));
    const ONE: u32 = 0x0001_0000;
    let minus = ONE.wrapping_neg();
    // A point (x, y) goes to (a x + c y + tx, b x + d y + ty); the shift brings it back into view.
    let (a, b, c, d, tx, ty) = match rotation_deg {
        90 => (0, ONE, minus, 0, height, 0),
        180 => (minus, 0, 0, minus, width, height),
        _ => (0, minus, ONE, 0, 0, width),
    };
    let matrix = [a, b, 0, c, d, 0, tx, ty, 0x4000_0000];
    for (k, value) in matrix.iter().enumerate() {
        file[at + 4 * k..at + 4 * k + 4].copy_from_slice(&value.to_be_bytes());
    }
    std::fs::write(path, file).map_err(|e| Error::file(path, e))
}

/// Where the body of the box at the end of `path` stands.
fn find(
    file: &[u8],
    within: std::ops::Range<usize>,
    path: &[&[u8; 4]],
) -> Option<std::ops::Range<usize>> {
    let mut at = within.start;
    while at + 8 <= within.end {
        let size = match read_u32(file, at) as usize {
            1 => usize::try_from(u64::from_be_bytes(
                file.get(at + 8..at + 16)?.try_into().ok()?,
            ))
            .ok()?,
            0 => within.end - at,
            n => n,
        };
        if size < 8 || at + size > within.end {
            return None;
        }
        if &file[at + 4..at + 8] == path[0] {
            let body = at + 8..at + size;
            return if path.len() == 1 {
                Some(body)
            } else {
                find(file, body, &path[1..])
            };
        }
        at += size;
    }
    None
}

fn read_u32(file: &[u8], at: usize) -> u32 {
    file.get(at..at + 4)
        .map_or(0, |b| u32::from_be_bytes([b[0], b[1], b[2], b[3]]))
}
