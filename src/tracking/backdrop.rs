//! What lies behind the lure, told from an earlier picture carried along as the background slid.
//!
//! By their colours alone a stone or a patch of light may pass for the lure. But the background can be foretold, and
//! what was foretold is no lure.

use std::collections::VecDeque;

use opencv::core::{self, Mat, MatTraitConst, MatTraitConstManual, Size};
use opencv::imgproc;

use super::colours::Voice;
use super::pose::Pose;
use super::track::Affine;
use super::window::Window;
use crate::Result;
use crate::media::Frame;

/// Pictures are kept so far apart, s, and so many of them: the oldest is carried along. Light and ripples change in that
/// time, and the lure must have moved off what it hid.
const SPACING_S: f64 = 0.15;
const KEPT: usize = 2;
/// A picture younger than this tells nothing, s.
const YOUNGEST_S: f64 = 0.06;
/// Chance that what lies there was not foretold: uncovered just now, lit up, or a speck.
const SURPRISE: f32 = 0.3;
/// Mean error of what is foretold at the least, in steps of brightness and of colour difference: noise and coding.
const LEAST_ERROR: [f32; 3] = [1.5, 0.8, 0.8];
/// Loudest that it may speak against the lure (natural log).
const LOUDEST: f32 = 2.5;
/// The lure hid what lies within this of its middle, in body coordinates, with lip and hooks.
const HID: [f64; 2] = [0.8, 0.35];
/// Side of the surround, in lengths.
const SURROUND: f64 = 1.5;
/// Every so many samples are asked how well the background is foretold.
const ASKED: usize = 5;

/// Keeps the earlier pictures.
#[derive(Default)]
pub struct Backdrop {
    kept: VecDeque<Earlier>,
}

/// An earlier picture.
struct Earlier {
    t_s: f64,
    /// brightness and the two colour differences
    planes: [Mat; 3],
    size: [f64; 2],
    gain: f32,
    to_scene: Affine,
    /// how long the lure was, px
    along_px: f64,
    lure: Option<Pose>,
}

/// An earlier picture, laid under a later one.
pub struct Carried<'a> {
    earlier: &'a Earlier,
    /// later picture → earlier picture, px
    back: Affine,
}

impl Backdrop {
    /// Keeps a picture where the last one is old enough: `gain` times as bright as the first, the lure lying as given,
    /// to be looked at in steps of `step_px`.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn keep(
        &mut self,
        frame: &Frame,
        gain: f32,
        to_scene: &Affine,
        lure: Option<Pose>,
        [along_px, step_px]: [f64; 2],
    ) -> Result<()> {
        let recent = |e: &Earlier| frame.t_s - e.t_s < SPACING_S - 1e-3;
        if self.kept.back().is_some_and(recent) {
            return Ok(());
        }
        let size = [f64::from(frame.luma.cols()), f64::from(frame.luma.rows())];
        let middle = size.map(|s| s / 2.0);
        let Some(all) = Window::cut(frame, middle, size[0].max(size[1]), step_px)? else {
            return Ok(());
        };
        let plane = |of: &Vec<u8>| -> Result<Mat> {
            Ok(Mat::from_slice(of)?.reshape(1, all.rows as i32)?.try_clone()?)
        };
        self.kept.push_back(Earlier {
            t_s: frame.t_s,
            planes: [plane(&all.luma)?, plane(&all.cb)?, plane(&all.cr)?],
            size: [
                all.columns as f64 * all.step_px[0],
                all.rows as f64 * all.step_px[1],
            ],
            gain,
            to_scene: *to_scene,
            along_px,
            lure,
        });
        if self.kept.len() > KEPT {
            self.kept.pop_front();
        }
        Ok(())
    }

    /// The oldest picture kept, laid under the one at `now_s`; `None` while none is old enough.
    pub fn carried(&self, now_s: f64, to_scene: &Affine) -> Option<Carried<'_>> {
        let earlier = self.kept.front()?;
        let back = to_scene.then(&earlier.to_scene.inverse()?);
        (now_s - earlier.t_s > YOUNGEST_S).then_some(Carried { earlier, back })
    }
}

/// Values against their mean over the surround: light that comes and goes changes a whole neighbourhood.
fn against_surround(values: Vec<f32>, window: &Window, side_px: f64) -> Result<Vec<f32>> {
    let here = Mat::from_slice(&values)?;
    let here = here.reshape(1, window.rows as i32)?;
    let mut about = Mat::default();
    let size = Size::new(
        (side_px / window.step_px[0]) as i32 | 1,
        (side_px / window.step_px[1]) as i32 | 1,
    );
    imgproc::blur_def(&here, &mut about, size)?;
    let about = about.data_typed::<f32>()?;
    Ok(values.iter().zip(about).map(|(v, a)| v - a).collect())
}

impl Carried<'_> {
    /// Lets each sample of a window, of a picture `gain` times as bright as the first, speak the less for the lure the
    /// better it was foretold.
    ///
    /// With f the density of what was foretold and w that of the surround's colours as a whole, the background's is
    /// (1 − s)·f + s·w, s being the chance of a surprise.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn weigh(&self, window: &Window, gain: f32, voices: &mut [Voice]) -> Result<()> {
        let planes = [&window.luma, &window.cb, &window.cr];
        let scale = [gain / self.earlier.gain, 1.0, 1.0];
        let known = self.known(window);
        let mut off = Vec::with_capacity(3);
        for ((laid, plane), scale) in self.laid_under(window)?.iter().zip(planes).zip(scale) {
            let foretold = laid.data_typed::<u8>()?.iter().map(|&f| scale * f32::from(f));
            let off_by = plane.iter().zip(foretold).map(|(&is, foretold)| f32::from(is) - foretold);
            off.push(against_surround(off_by.collect(), window, SURROUND * self.earlier.along_px)?);
        }
        let off = |n: usize, k: usize| off[n][k].abs();
        let asked: Vec<usize> = (0..window.len()).step_by(ASKED).filter(|&k| known[k]).collect();
        if asked.is_empty() {
            return Ok(());
        }
        let error: [f32; 3] = std::array::from_fn(|n| {
            let mut all: Vec<f32> = asked.iter().map(|&k| off(n, k)).collect();
            let middle = all.len() / 2;
            // of a Laplace distribution the median distance is ln 2 times the mean one
            let median = *all.select_nth_unstable_by(middle, f32::total_cmp).1;
            (median / std::f32::consts::LN_2).max(LEAST_ERROR[n])
        });
        let log_norm: f32 = error.iter().map(|e| -(2.0 * e).ln()).sum();
        for (k, voice) in voices.iter_mut().enumerate().filter(|(k, _)| known[*k]) {
            let log_foretold = log_norm - (0..3).map(|n| off(n, k) / error[n]).sum::<f32>();
            let against = (SURPRISE + (1.0 - SURPRISE) * (log_foretold - voice.log_water).exp())
                .ln()
                .min(LOUDEST);
            voice.log_ratio = (voice.log_ratio - against).clamp(-LOUDEST, LOUDEST);
            voice.log_water += against;
        }
        Ok(())
    }

    /// The earlier picture's planes, sample for sample under the window.
    fn laid_under(&self, window: &Window) -> Result<[Mat; 3]> {
        let size = Size::new(window.columns as i32, window.rows as i32);
        let lay = |plane: &Mat| -> Result<Mat> {
            let step = [
                self.earlier.size[0] / f64::from(plane.cols()),
                self.earlier.size[1] / f64::from(plane.rows()),
            ];
            // from sample to sample: the middle of the first lies half a step in
            let onto_picture = Affine([
                window.step_px[0],
                0.0,
                window.corner_px[0] + 0.5 * window.step_px[0],
                0.0,
                window.step_px[1],
                window.corner_px[1] + 0.5 * window.step_px[1],
            ]);
            let onto_samples =
                Affine([1.0 / step[0], 0.0, -0.5, 0.0, 1.0 / step[1], -0.5]);
            let map = onto_picture.then(&self.back).then(&onto_samples).0;
            let map = Mat::from_slice(&map)?.reshape(1, 2)?.try_clone()?;
            let mut out = Mat::default();
            imgproc::warp_affine(
                plane,
                &mut out,
                &map,
                size,
                imgproc::INTER_LINEAR | imgproc::WARP_INVERSE_MAP,
                core::BORDER_REPLICATE,
                core::Scalar::default(),
            )?;
            Ok(out)
        };
        let [luma, cb, cr] = &self.earlier.planes;
        Ok([lay(luma)?, lay(cb)?, lay(cr)?])
    }

    /// Of which samples the earlier picture shows what lies there: not outside it, nor behind the lure of then.
    fn known(&self, window: &Window) -> Vec<bool> {
        let [width, height] = self.earlier.size;
        let mut known = Vec::with_capacity(window.len());
        for row in 0..window.rows {
            for column in 0..window.columns {
                let [x, y] = self.back.apply(window.point(column, row));
                let inside = x > 0.0 && y > 0.0 && x < width && y < height;
                let hidden = self.earlier.lure.is_some_and(|lure| {
                    let [u, v] = lure.body_point([x, y]);
                    (u / HID[0]).powi(2) + (v / HID[1]).powi(2) < 1.0
                });
                known.push(inside && !hidden);
            }
        }
        known
    }
}
