//! Turning a plane by a quarter in one pass over its bytes. OpenCV's `rotate` takes two, a
//! transposition and a flip, which for an upright phone clip costs a third of decoding it.

/// A side of the blocks that are turned at once: eight rows of eight bytes.
const BLOCK: usize = 8;
/// Output columns that are finished before the next block row: one line of the cache.
const STRIP: usize = 64;

/// A plane of bytes whose rows begin `step` bytes apart.
#[derive(Clone, Copy)]
pub struct Rows<'a> {
    /// At least `step` × (height − 1) + width bytes.
    pub bytes: &'a [u8],
    /// Bytes from one row's start to the next one's.
    pub step: usize,
    /// Bytes in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
}

/// Writes `from` transposed, then mirrored, to `to`: `from.width` rows of `from.height` bytes
/// without gaps. Does nothing to bytes of `to` beyond these.
pub fn transpose(from: Rows, mirror_x: bool, mirror_y: bool, to: &mut [u8]) {
    let (rows, columns) = (from.width, from.height);
    // Where an output column and an output row lie in the source.
    let source_row = |column: usize| {
        if mirror_x {
            columns - 1 - column
        } else {
            column
        }
    };
    let source_column = |row: usize| if mirror_y { rows - 1 - row } else { row };
    let (whole_rows, whole_columns) = (rows - rows % BLOCK, columns - columns % BLOCK);

    for strip in (0..whole_columns).step_by(STRIP) {
        for row in (0..whole_rows).step_by(BLOCK) {
            let left = source_column(row).min(source_column(row + BLOCK - 1));
            for column in (strip..whole_columns.min(strip + STRIP)).step_by(BLOCK) {
                let mut block = [0u64; BLOCK];
                for (i, eight) in block.iter_mut().enumerate() {
                    *eight = eight_bytes(&from.bytes[source_row(column + i) * from.step + left..]);
                }
                transpose_block(&mut block);
                for (k, eight) in block.iter().enumerate() {
                    let row = if mirror_y {
                        row + BLOCK - 1 - k
                    } else {
                        row + k
                    };
                    let at = row * columns + column;
                    to[at..at + BLOCK].copy_from_slice(&eight.to_le_bytes());
                }
            }
        }
    }
    // The edges that no whole block covers.
    for row in 0..rows {
        let first = if row < whole_rows { whole_columns } else { 0 };
        for column in first..columns {
            to[row * columns + column] =
                from.bytes[source_row(column) * from.step + source_column(row)];
        }
    }
}

fn eight_bytes(bytes: &[u8]) -> u64 {
    let mut eight = [0; BLOCK];
    eight.copy_from_slice(&bytes[..BLOCK]);
    u64::from_le_bytes(eight)
}

/// Transposes eight rows of eight bytes: swaps the off-diagonal quarters of ever smaller squares.
#[inline(always)]
fn transpose_block(block: &mut [u64; BLOCK]) {
    swap_quarters::<4>(block, 32, 0x0000_0000_ffff_ffff);
    swap_quarters::<2>(block, 16, 0x0000_ffff_0000_ffff);
    swap_quarters::<1>(block, 8, 0x00ff_00ff_00ff_00ff);
}

/// Swaps, in each square of 2 × `APART` rows, the upper right quarter with the lower left.
#[inline(always)]
fn swap_quarters<const APART: usize>(block: &mut [u64; BLOCK], shift: u32, low: u64) {
    for i in (0..BLOCK).filter(|i| i & APART == 0) {
        let crossed = ((block[i] >> shift) ^ block[i + APART]) & low;
        block[i] ^= crossed << shift;
        block[i + APART] ^= crossed;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn fast_equals_slow(
            width in 1usize..90, height in 1usize..90, gap in 0usize..20,
            mirror_x: bool, mirror_y: bool, seed: u8,
        ) {
            let step = width + gap;
            let bytes: Vec<u8> =
                (0..step * height).map(|i| (i * 167 + i / 7 + seed as usize) as u8).collect();
            let from = Rows { bytes: &bytes[..step * (height - 1) + width], step, width, height };
            let mut to = vec![0; width * height];
            transpose(from, mirror_x, mirror_y, &mut to);
            for y in 0..height {
                for x in 0..width {
                    let column = if mirror_x { height - 1 - y } else { y };
                    let row = if mirror_y { width - 1 - x } else { x };
                    prop_assert_eq!(to[row * height + column], bytes[y * step + x]);
                }
            }
        }
    }
}
