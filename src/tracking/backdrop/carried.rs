//! An earlier picture laid under the lure's window: what it foretold speaks against the lure.

use opencv::core::{self, Mat, MatTraitConst, MatTraitConstManual, Size};
use opencv::imgproc;

use super::super::colours::{LOUDEST, Voice};
use super::super::pose::Pose;
use super::super::track::Affine;
use super::super::window::Window;
use super::Earlier;
use crate::Result;

/// Chance that what lies there was not foretold: uncovered just now, lit up, or a speck.
const SURPRISE: f32 = 0.3;
/// Mean error of what is foretold at the least, in steps of brightness and of colour difference: noise and coding.
const LEAST_ERROR: [f32; 3] = [1.5, 0.8, 0.8];
/// The lure hid what lies within this of its middle, in body coordinates, with lip and hooks.
const HID: [f64; 2] = [0.8, 0.35];
/// Side of the surround, in lengths.
const SURROUND: f64 = 1.5;
/// Every so many samples are asked how well the background is foretold.
const ASKED: usize = 5;

/// An earlier picture, laid under a later one.
pub struct Carried<'a> {
    pub(super) earlier: &'a Earlier,
    /// later picture → earlier picture, px
    pub(super) back: Affine,
    /// how the lure lay in the earlier one
    pub(super) lure: Pose,
}

impl Carried<'_> {
    /// Lets each sample of a window, of a picture `gain` times as bright as the first, speak the less for the lure the
    /// better it was foretold.
    ///
    /// With f the density of what was foretold and w that of the surround's colours as a whole, the background's is
    /// (1 − s)·f + s·w, s being the chance of a surprise; the errors of f follow a Laplace distribution.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn weigh(&self, window: &Window, gain: f32, voices: &mut [Voice]) -> Result<()> {
        let known = self.known(window);
        let off = self.off(window, gain)?;
        let asked = (0..window.len()).step_by(ASKED).filter(|&k| known[k]);
        let asked: Vec<usize> = asked.collect();
        if asked.is_empty() {
            return Ok(());
        }
        let error: [f32; 3] = std::array::from_fn(|n| {
            let mut all: Vec<f32> = asked.iter().map(|&k| off[n][k].abs()).collect();
            let middle = all.len() / 2;
            // of a Laplace distribution the median distance is ln 2 times the mean one
            let median = *all.select_nth_unstable_by(middle, f32::total_cmp).1;
            (median / std::f32::consts::LN_2).max(LEAST_ERROR[n])
        });
        // of the brightness made even with the first picture's, as the colours are
        let log_norm: f32 = gain.ln() - error.iter().map(|e| (2.0 * e).ln()).sum::<f32>();
        for (k, voice) in voices.iter_mut().enumerate().filter(|(k, _)| known[*k]) {
            let far: f32 = (0..3).map(|n| off[n][k].abs() / error[n]).sum();
            let foretold = (log_norm - far - voice.log_water).exp();
            let against = (SURPRISE + (1.0 - SURPRISE) * foretold).ln().min(LOUDEST);
            voice.log_ratio = (voice.log_ratio - against).clamp(-LOUDEST, LOUDEST);
            voice.log_water += against;
        }
        Ok(())
    }

    /// How far off what was foretold was, sample for sample, in brightness and the two colour differences.
    fn off(&self, window: &Window, gain: f32) -> Result<[Vec<f32>; 3]> {
        let off = |n: usize, plane: &[u8], scale: f32| -> Result<Vec<f32>> {
            let laid = self.laid_under(window, &self.earlier.planes[n])?;
            let foretold = laid
                .data_typed::<u8>()?
                .iter()
                .map(|&f| scale * f32::from(f));
            let off_by = plane.iter().zip(foretold);
            let off_by = off_by.map(|(&is, foretold)| f32::from(is) - foretold);
            against_surround(off_by.collect(), window, SURROUND * self.lure.along_px)
        };
        Ok([
            off(0, &window.luma, gain / self.earlier.gain)?,
            off(1, &window.cb, 1.0)?,
            off(2, &window.cr, 1.0)?,
        ])
    }

    /// A plane of the earlier picture, sample for sample under the window.
    fn laid_under(&self, window: &Window, plane: &Mat) -> Result<Mat> {
        let [width, height] = self.earlier.size;
        let (across, down) = (
            f64::from(plane.cols()) / width,
            f64::from(plane.rows()) / height,
        );
        // the middle of the first sample lies half a step in
        let onto_samples = Affine([across, 0.0, -0.5, 0.0, down, -0.5]);
        let map = self.back_from(window).then(&onto_samples).0;
        let mut out = Mat::default();
        imgproc::warp_affine(
            plane,
            &mut out,
            &Mat::from_slice(&map)?.reshape(1, 2)?,
            Size::new(window.columns as i32, window.rows as i32),
            imgproc::INTER_LINEAR | imgproc::WARP_INVERSE_MAP,
            core::BORDER_REPLICATE,
            core::Scalar::default(),
        )?;
        Ok(out)
    }

    /// Column and row of a sample of the window → earlier picture, px.
    fn back_from(&self, window: &Window) -> Affine {
        let ([x, y], [dx, dy]) = (window.point(0, 0), window.step_px);
        Affine([dx, 0.0, x, 0.0, dy, y]).then(&self.back)
    }

    /// Of which samples the earlier picture shows what lies there: not outside it, nor behind the lure of then.
    pub(super) fn known(&self, window: &Window) -> Vec<bool> {
        let [width, height] = self.earlier.size;
        let back = self.back_from(window);
        let onto_body = back.then(&onto_body(&self.lure));
        let mut known = Vec::with_capacity(window.len());
        for row in 0..window.rows {
            for column in 0..window.columns {
                let at = [column as f64, row as f64];
                let [x, y] = back.apply(at);
                let inside = x > 0.0 && y > 0.0 && x < width && y < height;
                let [u, v] = onto_body.apply(at);
                let hidden = (u / HID[0]).powi(2) + (v / HID[1]).powi(2) < 1.0;
                known.push(inside && !hidden);
            }
        }
        known
    }
}

/// Picture px → body coordinates.
fn onto_body(lure: &Pose) -> Affine {
    let [u0, v0] = lure.body_point([0.0, 0.0]);
    let ([ux, vx], [uy, vy]) = (lure.body_point([1.0, 0.0]), lure.body_point([0.0, 1.0]));
    Affine([ux - u0, uy - u0, u0, vx - v0, vy - v0, v0])
}

/// Values against their mean over the surround, a square of so many px: light that comes and goes changes a whole
/// neighbourhood.
fn against_surround(values: Vec<f32>, window: &Window, side_px: f64) -> Result<Vec<f32>> {
    let here = Mat::from_slice(&values)?;
    let here = here.reshape(1, window.rows as i32)?;
    let [width, height] = window.step_px.map(|step| (side_px / step) as i32 | 1);
    let mut about = Mat::default();
    imgproc::blur_def(&here, &mut about, Size::new(width, height))?;
    let about = about.data_typed::<f32>()?;
    Ok(values.iter().zip(about).map(|(v, a)| v - a).collect())
}
