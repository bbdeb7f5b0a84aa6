//! What lies behind the lure, told from an earlier picture carried along as the background slid.
//!
//! By their colours alone a stone or a patch of light may pass for the lure. But the background can be foretold, and
//! what was foretold is no lure.

use std::collections::VecDeque;

use opencv::core::{self, Mat, MatTraitConst, MatTraitConstManual, Size};
use opencv::imgproc;

use super::colours::{LOUDEST, Voice};
use super::pose::Pose;
use super::track::Affine;
use super::window::Window;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// Pictures are kept so far apart, s, from above and from ahead, where the lure leaves its place more slowly, and so many
/// of them: the oldest is carried along. Light and ripples change in that time, and the lure must have moved off what it
/// hid. Both spacings were set on the shared clips and on scenes drawn by chance.
const SPACING_S: f64 = 0.12;
const SPACING_AHEAD_S: f64 = 0.15;
const KEPT: usize = 2;
/// A picture younger than this tells nothing, s, nor does an older one than this.
const YOUNGEST_S: f64 = 0.06;
const OLDEST_S: f64 = 0.5;
/// Chance that what lies there was not foretold: uncovered just now, lit up, or a speck.
const SURPRISE: f32 = 0.3;
/// Mean error of what is foretold at the least, in steps of brightness and of colour difference: noise and coding.
const LEAST_ERROR: [f32; 3] = [1.5, 0.8, 0.8];
/// The lure hid what lies within this of its middle, in body coordinates, with lip and hooks.
const HID: [f64; 2] = [0.8, 0.35];
/// Side of the surround, in lengths.
const SURROUND: f64 = 1.5;
/// Samples along the longer side of a kept picture at most: beside a small lure, a large picture would take much memory.
const MOST_SAMPLES: f64 = 1280.0;
/// Every so many samples are asked how well the background is foretold.
const ASKED: usize = 5;

/// Keeps the earlier pictures.
pub struct Backdrop {
    /// how far apart, s; from behind and the side, where the background slides at many depths at once, none is kept
    spacing_s: Option<f64>,
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
}

/// Where the lure lay of late.
#[derive(Default)]
pub struct Lain(VecDeque<(f64, Pose)>);

impl Lain {
    /// At this time it lay so, or thereabouts where it was not seen.
    pub fn lay(&mut self, t_s: f64, lure: Pose) {
        self.0.push_back((t_s, lure));
        while self
            .0
            .front()
            .is_some_and(|(then_s, _)| t_s - then_s > OLDEST_S)
        {
            self.0.pop_front();
        }
    }

    /// It was not what was followed that was the lure: all that time it lay so.
    pub fn lay_all_along(&mut self, lure: Pose) {
        self.0.iter_mut().for_each(|lain| lain.1 = lure);
    }

    /// How it lay at this time; `None` where it was not looked for yet.
    fn at(&self, t_s: f64) -> Option<Pose> {
        let since = |lain: &&(f64, Pose)| lain.0 <= t_s + 1e-3;
        self.0.iter().rev().find(since).map(|(_, lure)| *lure)
    }
}

/// An earlier picture, laid under a later one.
pub struct Carried<'a> {
    earlier: &'a Earlier,
    /// later picture → earlier picture, px
    back: Affine,
    /// how the lure lay in the earlier one
    lure: Pose,
}

impl Backdrop {
    /// For what is seen from `view`.
    pub fn new(view: View) -> Backdrop {
        Backdrop {
            spacing_s: match view {
                View::Above => Some(SPACING_S),
                View::Ahead => Some(SPACING_AHEAD_S),
                View::Behind | View::Side => None,
            },
            kept: VecDeque::new(),
        }
    }

    /// Keeps a picture, `gain` times as bright as the first and looked at in steps of `step_px`, where the last one is old
    /// enough.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn keep(
        &mut self,
        frame: &Frame,
        gain: f32,
        to_scene: &Affine,
        step_px: f64,
    ) -> Result<()> {
        let Some(spacing_s) = self.spacing_s else {
            return Ok(());
        };
        let recent = |e: &Earlier| frame.t_s - e.t_s < spacing_s - 1e-3;
        if self.kept.back().is_some_and(recent) {
            return Ok(());
        }
        let size = [f64::from(frame.luma.cols()), f64::from(frame.luma.rows())];
        let (middle, longer) = (size.map(|s| s / 2.0), size[0].max(size[1]));
        let step_px = step_px.max(longer / MOST_SAMPLES);
        let Some(all) = Window::cut(frame, middle, longer, step_px)? else {
            return Ok(());
        };
        let plane = |of: &Vec<u8>| -> Result<Mat> {
            Ok(Mat::from_slice(of)?
                .reshape(1, all.rows as i32)?
                .try_clone()?)
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
        });
        if self.kept.len() > KEPT {
            self.kept.pop_front();
        }
        Ok(())
    }

    /// The oldest picture kept, laid under the one at `now_s` for a lure that has `lain` so; `None` while none is old enough.
    pub fn carried(&self, now_s: f64, to_scene: &Affine, lain: &Lain) -> Option<Carried<'_>> {
        let earlier = self.kept.front()?;
        let back = to_scene.then(&earlier.to_scene.inverse()?);
        let lure = lain.at(earlier.t_s)?;
        let tells = (YOUNGEST_S..OLDEST_S).contains(&(now_s - earlier.t_s));
        tells.then_some(Carried {
            earlier,
            back,
            lure,
        })
    }
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
    fn known(&self, window: &Window) -> Vec<bool> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use opencv::core::{CV_8UC1, MatTrait, Point, Rect, Scalar};

    const BODY: Rect = Rect {
        x: 68,
        y: 41,
        width: 24,
        height: 8,
    };
    /// Where a stone of the body's brightness lies on the bottom, px in the first picture.
    const STONE: Rect = Rect {
        x: 110,
        y: 60,
        width: 20,
        height: 12,
    };

    /// A speckled bottom with a stone that has slid by `slid` px, under a body that stays in the picture; the light
    /// `lit` times as strong.
    fn picture(slid: i32, lit: f64) -> Frame {
        let mut luma = Mat::new_rows_cols_with_default(90, 160, CV_8UC1, Scalar::all(0.0)).unwrap();
        for y in 0..90 {
            for x in 0..160 {
                let (here, bottom) = (Point::new(x, y), Point::new(x + slid, y));
                let value = match BODY.contains(here) || STONE.contains(bottom) {
                    true => 150,
                    false => 60 + ((x + slid) / 3 * 7919 + y / 3 * 104_729) % 37,
                };
                *luma.at_2d_mut::<u8>(y, x).unwrap() = (lit * f64::from(value)) as u8;
            }
        }
        let grey = Mat::new_rows_cols_with_default(45, 80, CV_8UC1, Scalar::all(128.0)).unwrap();
        let mut frame = Frame {
            t_s: f64::from(slid) / 120.0,
            ..Frame::default()
        };
        *frame.luma.writable().unwrap() = luma;
        *frame.cb.writable().unwrap() = grey.clone();
        *frame.cr.writable().unwrap() = grey;
        frame
    }

    fn body() -> Pose {
        Pose {
            x_px: 80.0,
            y_px: 45.0,
            axis_rad: 90f64.to_radians(),
            along_px: 24.0,
            across_px: 24.0,
        }
    }

    fn lain() -> Lain {
        let mut lain = Lain::default();
        lain.lay(0.0, body());
        lain
    }

    fn slid_by(px: i32) -> Affine {
        Affine([1.0, 0.0, f64::from(px), 0.0, 1.0, 0.0])
    }

    /// What the middle of the body and of the stone say after the bottom has slid by 30 px and the picture has become
    /// `lit` times as bright, which is known as its `gain`, by colours that cannot tell the two.
    fn say(lit: f64, gain: f32) -> [f32; 2] {
        let mut backdrop = Backdrop::new(View::Above);
        backdrop
            .keep(&picture(0, 1.0), 1.0, &slid_by(0), 1.0)
            .unwrap();
        let now = picture(30, lit);
        let carried = backdrop.carried(now.t_s, &slid_by(30), &lain()).unwrap();
        let window = Window::cut(&now, [80.0, 45.0], 80.0, 1.0).unwrap().unwrap();
        let voice = Voice {
            log_ratio: 1.0,
            log_water: -8.0,
            colour: [0.0; 3],
        };
        let mut voices = vec![voice; window.len()];
        carried.weigh(&window, gain, &mut voices).unwrap();
        let at = |x: i32, y: i32| {
            let near = |k: &usize| {
                let [px, py] = window.point(k % window.columns, k / window.columns);
                (px - f64::from(x)).abs() < 1.0 && (py - f64::from(y)).abs() < 1.0
            };
            voices[(0..window.len()).find(near).unwrap()].log_ratio
        };
        [at(80, 45), at(STONE.x - 30 + 10, STONE.y + 6)]
    }

    #[test]
    fn a_stone_of_the_lures_colour_that_slides_with_the_bottom_is_foretold() {
        // neither a light nor an exposure that changed as a whole is a surprise
        for (lit, gain) in [(1.0, 1.0), (1.15, 1.0), (1.4, 1.4)] {
            let [body, stone] = say(lit, gain);
            assert!(body > 0.9, "{body}");
            assert!(stone < -0.3, "{stone}");
        }
    }

    #[test]
    fn a_picture_of_just_now_or_of_long_ago_foretells_nothing() {
        let mut backdrop = Backdrop::new(View::Above);
        backdrop
            .keep(&picture(0, 1.0), 1.0, &slid_by(0), 1.0)
            .unwrap();
        assert!(backdrop.carried(0.05, &slid_by(6), &lain()).is_none());
        assert!(backdrop.carried(0.1, &slid_by(12), &lain()).is_some());
        assert!(backdrop.carried(2.0, &slid_by(240), &lain()).is_none());
    }

    #[test]
    fn what_was_not_looked_for_yet_is_not_told_from_a_picture_of_before() {
        let at = |x_px: f64| Pose { x_px, ..body() };
        let mut lain = Lain::default();
        lain.lay(1.0, at(10.0));
        lain.lay(1.1, at(20.0));
        let x = |lain: &Lain, t_s: f64| lain.at(t_s).map(|lure| lure.x_px);
        assert_eq!(
            [0.9, 1.0, 1.05, 1.1].map(|t_s| x(&lain, t_s)),
            [None, Some(10.0), Some(10.0), Some(20.0)]
        );
        lain.lay_all_along(at(70.0));
        assert_eq!(x(&lain, 1.0), Some(70.0));
        lain.lay(1.6, at(30.0));
        assert_eq!(x(&lain, 1.0), None);
    }

    #[test]
    fn a_lure_that_rests_is_not_foretold_by_itself() {
        let mut backdrop = Backdrop::new(View::Above);
        let still = picture(0, 1.0);
        backdrop.keep(&still, 1.0, &slid_by(0), 1.0).unwrap();
        let carried = backdrop.carried(0.1, &slid_by(0), &lain()).unwrap();
        let window = Window::cut(&still, [80.0, 45.0], 40.0, 1.0)
            .unwrap()
            .unwrap();
        let known = carried.known(&window);
        let of = |[x, y]: [f64; 2]| {
            let at = |k: &usize| {
                let [px, py] = window.point(k % window.columns, k / window.columns);
                (px - x).abs() < 1.0 && (py - y).abs() < 1.0
            };
            known[(0..window.len()).find(at).unwrap()]
        };
        assert!(!of([80.0, 45.0]) && !of([92.0, 45.0]) && of([80.0, 60.0]));
    }
}
