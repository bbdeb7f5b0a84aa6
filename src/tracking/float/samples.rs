//! The whole picture at a workable size, read between its samples.

use crate::Result;
use crate::media::Frame;
use crate::tracking::window::Window;

/// Samples along the long side at most.
const MOST: f64 = 1280.0;

/// A colour: brightness and the two colour differences, 0–255.
pub type Colour = [f32; 3];

/// The whole picture. `None` where it is too small to hold anything.
pub fn whole(frame: &Frame) -> Result<Option<Window>> {
    use opencv::core::MatTraitConst;
    let (w, h) = (f64::from(frame.luma.cols()), f64::from(frame.luma.rows()));
    let step = (w.max(h) / MOST).max(1.0);
    Window::cut(frame, [w / 2.0, h / 2.0], w.max(h), step)
}

impl Window {
    /// Column and row of a picture point, with fractions; the middle of the first sample is (0, 0).
    pub(super) fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            (x - self.corner_px[0]) / self.step_px[0] - 0.5,
            (y - self.corner_px[1]) / self.step_px[1] - 0.5,
        ]
    }

    /// Number of the sample nearest to a picture point, if it lies in the window.
    pub(super) fn nearest(&self, point: [f64; 2]) -> Option<usize> {
        let [c, r] = self.place(point).map(f64::round);
        let inside = c >= 0.0 && r >= 0.0 && c < self.columns as f64 && r < self.rows as f64;
        inside.then(|| r as usize * self.columns + c as usize)
    }

    /// Colour at a picture point, between the samples; the border's beyond it.
    pub(super) fn read(&self, point: [f64; 2]) -> Colour {
        let [c, r] = self.place(point);
        let c = c.clamp(0.0, (self.columns - 1) as f64);
        let r = r.clamp(0.0, (self.rows - 1) as f64);
        let (i, j) = (
            (c as usize).min(self.columns - 2),
            (r as usize).min(self.rows - 2),
        );
        let (fc, fr) = ((c - i as f64) as f32, (r - j as f64) as f32);
        let k = j * self.columns + i;
        let at = |k: usize| self.colour(k, 1.0);
        let (a, b) = (at(k), at(k + 1));
        let (d, e) = (at(k + self.columns), at(k + self.columns + 1));
        std::array::from_fn(|n| {
            let top = a[n] + fc * (b[n] - a[n]);
            let low = d[n] + fc * (e[n] - d[n]);
            top + fr * (low - top)
        })
    }
}

/// Channel by channel.
pub fn minus(a: Colour, b: Colour) -> Colour {
    std::array::from_fn(|i| a[i] - b[i])
}

/// Scalar product.
pub fn dot(a: Colour, b: Colour) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
