//! Cuts the lure out of a box round it by OpenCV's GrabCut (colour mixtures and a minimal cut).

use opencv::core::{
    self, CV_8UC1, CV_8UC3, Mat, MatTrait, MatTraitConst, MatTraitConstManual, Rect, Scalar, Size,
    Vec3b,
};
use opencv::imgproc;

use super::clear::grain;
use super::start_box::StartBox;
use super::window::Window;
use crate::Result;

/// The same picture must always be cut the same way: GrabCut begins with colours drawn by chance.
const CHANCE_SEED: i32 = 1;
/// Noise above this, in steps of 255, is smoothed out over so many samples before the cut.
const NOISY: f64 = 5.0;
const SMOOTHED: f64 = 1.5;
/// Where the whole box is too much water to begin with, slim bodies are tried in its stead: at so many axes, so far
/// aside of the box's middle (parts of its width across), and as long as this part of what the box holds.
const AXES: usize = 6;
const ASIDE: [f64; 3] = [-0.2, 0.0, 0.2];
const SEED_LENGTH: f64 = 0.9;
const SEED_WIDTH: f64 = 0.28;

/// A picture to be cut, with the box in it.
pub struct Cut<'a> {
    window: &'a Window,
    picture: Mat,
    given: &'a StartBox,
}

impl<'a> Cut<'a> {
    /// Makes the window's picture ready.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when it cannot be worked on.
    pub fn new(window: &'a Window, given: &'a StartBox) -> Result<Cut<'a>> {
        let (rows, columns) = (window.rows as i32, window.columns as i32);
        let mut picture =
            Mat::new_rows_cols_with_default(rows, columns, CV_8UC3, Scalar::all(0.0))?;
        for row in 0..window.rows {
            for column in 0..window.columns {
                let k = row * window.columns + column;
                *picture.at_2d_mut::<Vec3b>(row as i32, column as i32)? =
                    Vec3b::from([window.luma[k], window.cb[k], window.cr[k]]);
            }
        }
        if grain(window.luma.chunks(window.columns)) > NOISY {
            let noisy = picture.try_clone()?;
            imgproc::gaussian_blur_def(&noisy, &mut picture, Size::new(0, 0), SMOOTHED)?;
        }
        Ok(Cut {
            window,
            picture,
            given,
        })
    }

    /// The lure's samples (1, else 0), the whole box being likely lure to begin with.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when it cannot be worked on.
    pub fn beginning_with_all(&self, rounds: i32) -> Result<Vec<f32>> {
        self.beginning_with(rounds, |_| true)
    }

    /// One cut for each slim body that the box may hold, that body being likely lure to begin with.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when it cannot be worked on.
    pub fn beginning_with_slim_bodies(&self, rounds: i32) -> Result<Vec<Vec<f32>>> {
        let ([x, y], [w, h]) = (self.given.centre(), [self.given.w, self.given.h]);
        let mut cuts = Vec::new();
        for k in 0..AXES {
            let (sin, cos) = (k as f64 / AXES as f64 * std::f64::consts::PI).sin_cos();
            let along = (w / sin.abs()).min(h / cos.abs());
            let across = (w / cos.abs()).min(h / sin.abs());
            let half = [0.5 * SEED_LENGTH * along, 0.5 * SEED_WIDTH * along];
            for aside in ASIDE {
                let middle = [x + aside * across * cos, y + aside * across * sin];
                cuts.push(self.beginning_with(rounds, |[px, py]| {
                    let (dx, dy) = (px - middle[0], py - middle[1]);
                    let (u, v) = (dx * sin - dy * cos, dx * cos + dy * sin);
                    (u / half[0]).hypot(v / half[1]) < 1.0
                })?);
            }
        }
        Ok(cuts)
    }

    /// Certain water outside the box; inside, likely lure where `seed` says so, else likely water.
    fn beginning_with(&self, rounds: i32, seed: impl Fn([f64; 2]) -> bool) -> Result<Vec<f32>> {
        let window = self.window;
        let mut mask = Mat::new_rows_cols_with_default(
            self.picture.rows(),
            self.picture.cols(),
            CV_8UC1,
            Scalar::all(f64::from(imgproc::GC_BGD)),
        )?;
        let mut seeds = 0;
        for row in 0..window.rows {
            for column in 0..window.columns {
                let [x, y] = window.point(column, row);
                if self.given.holds(x, y) {
                    let lure = seed([x, y]);
                    seeds += usize::from(lure);
                    let likely = if lure {
                        imgproc::GC_PR_FGD
                    } else {
                        imgproc::GC_PR_BGD
                    };
                    *mask.at_2d_mut::<u8>(row as i32, column as i32)? = likely as u8;
                }
            }
        }
        if seeds == 0 || seeds == window.len() {
            return Ok(vec![0.0; window.len()]);
        }
        core::set_rng_seed(CHANCE_SEED)?;
        let (mut water, mut lure) = (Mat::default(), Mat::default());
        imgproc::grab_cut(
            &self.picture,
            &mut mask,
            Rect::default(),
            &mut water,
            &mut lure,
            rounds,
            imgproc::GC_INIT_WITH_MASK,
        )?;
        let kept = mask.data_typed::<u8>()?;
        Ok(kept.iter().map(|m| f32::from(m & 1)).collect())
    }
}
