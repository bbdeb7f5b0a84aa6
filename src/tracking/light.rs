//! How bright the light is: what the camera's exposure does from picture to picture.

use opencv::core::{Mat, MatTraitConst, MatTraitConstManual};

use crate::Result;

/// A change of brightness from one frame to the next that the camera's exposure makes, not the scene.
const LIGHT_STEP: f32 = 0.02;

/// Brightness of the picture against the first: exposure steps must not look like other colours. It is the
/// median over a coarse grid of how each spot has changed, for something bright may come into a part.
#[derive(Clone, Default)]
pub struct Light {
    last: Vec<u8>,
    gain: f32,
}

impl Light {
    /// Takes in the next picture; how much brighter it is than the first.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn gain(&mut self, luma: &Mat) -> Result<f32> {
        let every = (luma.cols().max(luma.rows()) / 60).max(2);
        let mut now = Vec::new();
        let mut row = every / 2;
        while row < luma.rows() {
            let line = luma.row(row)?;
            let line = line.data_typed::<u8>()?;
            now.extend(line.iter().step_by(every as usize));
            row += every;
        }
        if self.last.len() != now.len() {
            self.gain = 1.0;
        } else if let Some(change) = median_ratio(&now, &self.last) {
            // motion alone moves the median a little up and down: only a step counts
            if (change - 1.0).abs() > LIGHT_STEP {
                self.gain = (self.gain * change).clamp(0.3, 3.0);
            }
        }
        self.last = now;
        Ok(self.gain)
    }
}

/// Median of how much brighter each spot is now; `None` for no spots.
fn median_ratio(now: &[u8], last: &[u8]) -> Option<f32> {
    let mut ratios: Vec<f32> = now
        .iter()
        .zip(last)
        .map(|(n, l)| (f32::from(*n) + 4.0) / (f32::from(*l) + 4.0))
        .collect();
    let middle = ratios.len() / 2;
    (middle < ratios.len()).then(|| *ratios.select_nth_unstable_by(middle, f32::total_cmp).1)
}
