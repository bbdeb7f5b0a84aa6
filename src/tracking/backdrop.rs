//! What lies behind the lure, told from an earlier picture carried along as the background slid.
//!
//! By their colours alone a stone or a patch of light may pass for the lure. But the background can be foretold, and
//! what was foretold is no lure.

mod carried;

pub use carried::Carried;

use std::collections::VecDeque;

use opencv::core::{Mat, MatTraitConst};

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
/// Samples along the longer side of a kept picture at most: beside a small lure, a large picture would take much memory.
const MOST_SAMPLES: f64 = 1280.0;

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

#[cfg(test)]
mod tests {
    use super::super::colours::Voice;
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
