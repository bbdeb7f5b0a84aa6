//! A small piece of the picture round the lure, in brightness and colour, at a workable size.

use opencv::core::{Mat, MatTraitConst, MatTraitConstManual, Rect, Size};

use super::reduce::{halvable, reduced};
use crate::Result;
use crate::media::Frame;

/// A piece of the picture, resampled so that the lure is some sixty samples long.
///
/// Sample `(i, j)` (column, row) stands for the picture point [`Window::point`].
pub struct Window {
    /// Left and upper edge in the picture, px.
    pub corner_px: [f64; 2],
    /// Picture px per sample, across and down.
    pub step_px: [f64; 2],
    /// Columns and rows.
    pub columns: usize,
    /// See `columns`.
    pub rows: usize,
    /// Brightness and the two colour differences, 0–255, row by row.
    pub luma: Vec<u8>,
    /// Blue difference.
    pub cb: Vec<u8>,
    /// Red difference.
    pub cr: Vec<u8>,
}

impl Window {
    /// Cuts the square of half-width `half_px` about `centre_px` (clipped to the picture) with about
    /// `step_px` picture px per sample. `None` when less than a few px of it lie in the picture.
    pub fn cut(
        frame: &Frame,
        centre_px: [f64; 2],
        half_px: f64,
        step_px: f64,
    ) -> Result<Option<Window>> {
        let (width, height) = (frame.luma.cols(), frame.luma.rows());
        // even edges keep the half-size colour planes aligned with the brightness plane
        let even = |v: f64, top: i32| ((v.max(0.0) as i32).min(top)) & !1;
        let left = even(centre_px[0] - half_px, width);
        let top = even(centre_px[1] - half_px, height);
        let right = even(centre_px[0] + half_px + 1.0, width);
        let bottom = even(centre_px[1] + half_px + 1.0, height);
        let (w, h) = (halvable(right - left), halvable(bottom - top));
        if w < 8 || h < 8 {
            return Ok(None);
        }
        let size = Size::new(
            ((w as f64 / step_px).round() as i32).max(4),
            ((h as f64 / step_px).round() as i32).max(4),
        );
        let luma = resampled(&frame.luma, Rect::new(left, top, w, h), size)?;
        let half = Rect::new(left / 2, top / 2, w / 2, h / 2);
        let cb = resampled(&frame.cb, half, size)?;
        let cr = resampled(&frame.cr, half, size)?;
        Ok(Some(Window {
            corner_px: [left as f64, top as f64],
            step_px: [w as f64 / size.width as f64, h as f64 / size.height as f64],
            columns: size.width as usize,
            rows: size.height as usize,
            luma,
            cb,
            cr,
        }))
    }

    /// Picture point of the middle of sample `(column, row)`.
    pub fn point(&self, column: usize, row: usize) -> [f64; 2] {
        [
            self.corner_px[0] + (column as f64 + 0.5) * self.step_px[0],
            self.corner_px[1] + (row as f64 + 0.5) * self.step_px[1],
        ]
    }

    /// Brightness times `scale`, and the colour differences, of sample `k`.
    pub fn colour(&self, k: usize, scale: f32) -> [f32; 3] {
        [
            f32::from(self.luma[k]) * scale,
            f32::from(self.cb[k]),
            f32::from(self.cr[k]),
        ]
    }

    /// How many samples there are.
    pub fn len(&self) -> usize {
        self.columns * self.rows
    }
}

fn resampled(plane: &Mat, part: Rect, size: Size) -> Result<Vec<u8>> {
    let inside = part & Rect::new(0, 0, plane.cols(), plane.rows());
    let out = reduced(&Mat::roi(plane, inside)?, size)?;
    Ok(out.data_typed::<u8>()?.to_vec())
}
