//! A plane of bytes made smaller by any factor: every new pixel is the mean of the area that it stands for.
//!
//! It gives the same bytes as OpenCV's `resize` with `INTER_AREA`, which adds each pixel to a sum in memory and waits
//! for the last one to arrive there; here some rows at once are added up, pixel by pixel in the same order.

use opencv::core::{CV_8UC1, Mat, MatTraitConst, Size};
use opencv::prelude::{MatTraitConstManual, MatTraitManual};

use crate::Result;

/// A pixel that reaches into a new one by less than this part of itself does not count.
const LEAST_PART: f64 = 1e-3;

/// So many rows are narrowed at once: what one instruction works on.
const AT_ONCE: usize = 4;

/// `plane` at a `size` that is not larger than its own.
///
/// # Errors
/// [`crate::Error::Video`] when the plane is not of single bytes, or there is no memory.
pub fn shrunk(plane: &impl MatTraitConstManual, size: Size) -> Result<Mat> {
    let rows = Parts::of(plane.rows(), size.height);
    let mut narrowed = Narrowed::new(plane, size.width);
    // SAFETY: every row is written to in full before anybody reads it.
    let mut out = unsafe { Mat::new_rows_cols(size.height, size.width, CV_8UC1)? };
    let mut sum = vec![0.0; size.width as usize];
    for row in 0..size.height {
        sum.fill(0.0);
        for (from, part) in rows.of_new(row as usize) {
            for (sum, narrow) in sum.iter_mut().zip(narrowed.row(from)?) {
                *sum += part * narrow;
            }
        }
        for (byte, sum) in out.at_row_mut::<u8>(row)?.iter_mut().zip(&sum) {
            *byte = nearest_byte(*sum);
        }
    }
    Ok(out)
}

/// The nearest whole number of one from 0 to 255, the even one halfway: so far up floats lie one apart, and the low bits
/// count.
#[inline]
fn nearest_byte(value: f32) -> u8 {
    const FAR_UP: f32 = 12_582_912.0;
    (value + FAR_UP).to_bits() as u8
}

/// The rows of a plane at another width, made some at a time as they are asked for.
struct Narrowed<'a, P> {
    plane: &'a P,
    columns: Parts,
    /// which rows `rows` are: so many times [`AT_ONCE`]
    group: Option<usize>,
    rows: [Vec<f32>; AT_ONCE],
    /// the rows of the group as they lie in the plane, pixel beside pixel
    bytes: Vec<[u8; AT_ONCE]>,
    wide: Vec<[f32; AT_ONCE]>,
}

impl<'a, P: MatTraitConst + MatTraitConstManual> Narrowed<'a, P> {
    fn new(plane: &'a P, width: i32) -> Self {
        let wide = plane.cols() as usize;
        Narrowed {
            plane,
            columns: Parts::of(plane.cols(), width),
            group: None,
            rows: std::array::from_fn(|_| vec![0.0; width as usize]),
            bytes: vec![[0; AT_ONCE]; wide],
            wide: vec![[0.0; AT_ONCE]; wide],
        }
    }

    fn row(&mut self, row: usize) -> Result<&[f32]> {
        let group = row / AT_ONCE;
        if self.group != Some(group) {
            self.take(group)?;
            self.group = Some(group);
        }
        Ok(&self.rows[row % AT_ONCE])
    }

    fn take(&mut self, group: usize) -> Result<()> {
        let last = self.plane.rows() - 1;
        let row = |k: usize| {
            let row = (AT_ONCE * group + k) as i32;
            self.plane.at_row::<u8>(row.min(last))
        };
        let (a, b, c, d) = (row(0)?, row(1)?, row(2)?, row(3)?);
        let lines = a.iter().zip(b).zip(c).zip(d);
        for (bytes, (((a, b), c), d)) in self.bytes.iter_mut().zip(lines) {
            *bytes = [*a, *b, *c, *d];
        }
        let floats = self.wide.as_flattened_mut();
        for (float, byte) in floats.iter_mut().zip(self.bytes.as_flattened()) {
            *float = f32::from(*byte);
        }
        self.columns.narrow(&self.wide, &mut self.rows);
        Ok(())
    }
}

/// Which pixels along one side make up each new one, and with what weight.
struct Parts {
    /// where the pixels of each new one begin
    first: Vec<u32>,
    /// `most` weights for each new one, those that it does not need at nought
    weights: Vec<f32>,
    most: usize,
}

impl Parts {
    fn of(from: i32, to: i32) -> Parts {
        // the inverse of the inverse, as OpenCV has it: the last bit counts
        let scale = 1.0 / (f64::from(to) / f64::from(from));
        let most = (scale as usize + 2).min(from as usize);
        let mut parts = Parts {
            first: Vec::with_capacity(to as usize),
            weights: vec![0.0; most * to as usize],
            most,
        };
        for (k, weights) in parts.weights.chunks_exact_mut(most).enumerate() {
            parts.first.push(weigh(k, scale, from, weights));
        }
        parts
    }

    /// The pixels of one new one with their weights.
    fn of_new(&self, k: usize) -> impl Iterator<Item = (usize, f32)> + '_ {
        let weights = &self.weights[k * self.most..][..self.most];
        let from = (self.first[k] as usize..).zip(weights.iter().copied());
        from.filter(|(_, weight)| *weight != 0.0)
    }

    /// The weighted sums over rows that lie pixel beside pixel.
    fn narrow(&self, wide: &[[f32; AT_ONCE]], narrow: &mut [Vec<f32>; AT_ONCE]) {
        let [a, b, c, d] = narrow;
        let new = a.iter_mut().zip(b).zip(c).zip(d);
        let parts = self.first.iter().zip(self.weights.chunks_exact(self.most));
        for ((((a, b), c), d), (first, weights)) in new.zip(parts) {
            let mut sum = [0.0; AT_ONCE];
            for (pixels, weight) in wide[*first as usize..].iter().zip(weights) {
                for (sum, pixel) in sum.iter_mut().zip(pixels) {
                    *sum += pixel * weight;
                }
            }
            [*a, *b, *c, *d] = sum;
        }
    }
}

/// Fills in the weights of the pixels that make up new pixel `k`; gives the one with which they begin.
fn weigh(k: usize, scale: f64, from: i32, weights: &mut [f32]) -> u32 {
    let start = k as f64 * scale;
    let end = start + scale;
    let whole = scale.min(f64::from(from) - start);
    let last = (end as i32).min(from - 1);
    let first = (start as i32 + i32::from(start.fract() > 0.0)).min(last);
    let (before, after) = (f64::from(first) - start, end - f64::from(last));
    let cut = before > LEAST_PART;
    let begin = first - i32::from(cut);
    // pixels that are not needed must lie in the plane all the same
    let shift = (begin + weights.len() as i32 - from).max(0);
    let weights = &mut weights[shift as usize..];
    if cut {
        weights[0] = (before / whole) as f32;
    }
    weights[usize::from(cut)..][..(last - first) as usize].fill((1.0 / whole) as f32);
    if after > LEAST_PART {
        weights[(last - begin) as usize] = (after.min(1.0).min(whole) / whole) as f32;
    }
    (begin - shift) as u32
}

#[cfg(test)]
mod tests {
    use super::shrunk;
    use opencv::core::{self, CV_8UC1, Mat, Rect, Scalar, Size};
    use opencv::imgproc;
    use opencv::prelude::MatTraitConstManual;

    #[test]
    fn it_gives_the_same_bytes_as_opencv() {
        let mut noise =
            Mat::new_rows_cols_with_default(97, 173, CV_8UC1, Scalar::all(0.0)).unwrap();
        core::randu(&mut noise, &Scalar::all(0.0), &Scalar::all(256.0)).unwrap();
        for (part, size) in [
            (Rect::new(0, 0, 173, 97), Size::new(144, 81)),
            (Rect::new(0, 0, 173, 97), Size::new(173, 96)),
            (Rect::new(3, 5, 124, 64), Size::new(101, 53)),
            (Rect::new(13, 1, 157, 90), Size::new(58, 33)),
            (Rect::new(0, 0, 170, 95), Size::new(34, 18)),
            (Rect::new(9, 9, 160, 81), Size::new(11, 4)),
            (Rect::new(40, 7, 9, 5), Size::new(4, 4)),
        ] {
            let plane = Mat::roi(&noise, part).unwrap();
            let ours = shrunk(&plane, size).unwrap();
            let mut theirs = Mat::default();
            imgproc::resize(&plane, &mut theirs, size, 0.0, 0.0, imgproc::INTER_AREA).unwrap();
            for row in 0..size.height {
                let [ours, theirs] = [&ours, &theirs].map(|m| m.at_row::<u8>(row).unwrap());
                assert_eq!(ours, theirs, "row {row} of {part:?} at {size:?}");
            }
        }
    }
}
