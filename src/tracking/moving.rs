//! What moves over the bottom: the picture against two earlier ones laid over it as the background slid.
//!
//! Against one earlier picture a thing that moved shows twice, where it is and where it was; what differs
//! from both earlier pictures is where it is now.

use std::collections::VecDeque;

use opencv::core::{self, BORDER_CONSTANT, Mat, MatTraitConst, MatTraitConstManual, Scalar, Size};
use opencv::imgproc;

use super::pose::Pose;
use super::small::{Small, laid};
use super::track::Affine;
use crate::Result;

/// How far the earlier pictures lie back, s: at least so long, and so much longer the older one.
const AGE_S: f64 = 0.15;
const SPACING_S: f64 = 0.18;
/// An edge may lie this many reduced px off: ripples bend the picture, and no fit is perfect.
const GIVE_PX: i32 = 2;
/// Difference that noise and coding leave, in steps of 255: in brightness and its slopes, and in a colour at the brightness
/// it is told at.
pub(super) const FLOOR: f64 = 2.0;
const COLOUR_FLOOR: f64 = 1.0;
/// More than any brightness or colour is.
const ANYTHING: f64 = 1e4;
/// Ripples and dancing light make the surround differ too: it counts so many times over.
const RESTLESS: f64 = 2.0;
/// The surround, in parts of the long side.
const SURROUND: f64 = 0.4;

/// Keeps what is needed of the earlier pictures.
#[derive(Default)]
pub struct Moving {
    kept: VecDeque<Earlier>,
    background_known: bool,
}

/// An earlier picture, reduced: the least and the most about each spot.
struct Earlier {
    t_s: f64,
    /// of brightness and of the two colours
    about: [[Mat; 2]; 3],
    to_scene: Affine,
}

/// How clearly each spot of the reduced picture moves over the background, about 0 where it does not.
pub struct Moves {
    /// By its brightness.
    pub by_brightness: Mat,
    /// By its colour: light that dances over the bottom hardly shows here.
    pub by_colour: Mat,
}

impl Moving {
    /// Takes in a frame; keeps it where the last kept one is old enough.
    pub fn take(&mut self, now: &Small) -> Result<()> {
        self.background_known |= now.to_scene != Affine::IDENTITY;
        let recent = |e: &Earlier| now.t_s - e.t_s < SPACING_S;
        if self.kept.back().is_some_and(recent) {
            return Ok(());
        }
        let side = 2 * GIVE_PX + 1;
        let near = Mat::new_rows_cols_with_default(side, side, core::CV_8U, Scalar::all(1.0))?;
        let mut about: [[Mat; 2]; 3] = Default::default();
        for (plane, [least, most]) in now.planes.iter().zip(&mut about) {
            imgproc::erode_def(plane, least, &near)?;
            imgproc::dilate_def(plane, most, &near)?;
        }
        self.kept.push_back(Earlier {
            t_s: now.t_s,
            about,
            to_scene: now.to_scene,
        });
        let old = now.t_s - AGE_S - 2.5 * SPACING_S;
        while self.kept.len() > 3 && self.kept.front().is_some_and(|e| e.t_s < old) {
            self.kept.pop_front();
        }
        Ok(())
    }

    /// What moves over the background; `None` while there are not yet two earlier pictures, or nothing is known of the
    /// background.
    pub fn map(&self, now: &Small) -> Result<Option<Moves>> {
        let Some([late, early]) = self.two_before(now.t_s) else {
            return Ok(None);
        };
        if !self.background_known {
            return Ok(None);
        }
        let mut by: [Mat; 3] = Default::default();
        for (n, by) in by.iter_mut().enumerate() {
            let (Some(a), Some(b)) = (late.differs(n, now)?, early.differs(n, now)?) else {
                return Ok(None);
            };
            let mut both = Mat::default();
            core::min(&a, &b, &mut both)?;
            let floor = if n == 0 { FLOOR } else { COLOUR_FLOOR };
            *by = against_surround(&both, floor)?;
        }
        let [by_brightness, blue, red] = by;
        let mut by_colour = Mat::default();
        core::max(&blue, &red, &mut by_colour)?;
        Ok(Some(Moves {
            by_brightness,
            by_colour,
        }))
    }

    /// The last two pictures that lie far enough back, the later one first.
    fn two_before(&self, now_s: f64) -> Option<[&Earlier; 2]> {
        let old_enough = |e: &&Earlier| now_s - e.t_s >= AGE_S;
        let mut earlier = self.kept.iter().rev().filter(old_enough);
        Some([earlier.next()?, earlier.next()?])
    }
}

impl Earlier {
    /// By how much each spot of a plane is more or less than everything near its place in the earlier picture; `None`
    /// where that picture cannot be laid over this one.
    fn differs(&self, plane: usize, now: &Small) -> Result<Option<Mat>> {
        let Some(back) = self.to_scene.inverse() else {
            return Ok(None);
        };
        let place = now.to_scene.then(&back);
        let now = (&now.planes[plane], now.scale);
        // outside the earlier picture anything may have been
        let [least, most] = &self.about[plane];
        let laid = |about: &Mat, outside: f64| laid(about, &place, now.1, BORDER_CONSTANT, outside);
        let (least, most) = (laid(least, -ANYTHING)?, laid(most, ANYTHING)?);
        let (mut above, mut below) = (Mat::default(), Mat::default());
        core::subtract_def(now.0, &most, &mut above)?;
        core::subtract_def(&least, now.0, &mut below)?;
        let (mut off, mut out) = (Mat::default(), Mat::default());
        core::max(&above, &below, &mut off)?;
        core::max(&off, &Scalar::all(0.0), &mut out)?;
        Ok(Some(out))
    }
}

/// A difference against how restless the picture is round about, `floor` being what noise leaves.
pub(super) fn against_surround(differs: &Mat, floor: f64) -> Result<Mat> {
    let mut float = Mat::default();
    differs.convert_to(&mut float, core::CV_32F, 1.0, 0.0)?;
    let side = (SURROUND * f64::from(float.cols().max(float.rows()))) as i32 | 1;
    let mut surround = Mat::default();
    imgproc::blur_def(&float, &mut surround, Size::new(side, side))?;
    let mut usual = Mat::default();
    surround.convert_to(&mut usual, core::CV_32F, RESTLESS, floor)?;
    let mut out = Mat::default();
    core::divide2_def(&float, &usual, &mut out)?;
    Ok(out)
}

/// Mean of a map over the body of a lure that lies so, `scale` being reduced over full px; 0 outside the picture.
pub fn mean_over(map: &Mat, pose: &Pose, width: f64, scale: f64) -> Result<f64> {
    let values = map.data_typed::<f32>()?;
    let (columns, rows) = (map.cols(), map.rows());
    let (mut sum, mut count) = (0.0, 0.0);
    for i in -4..=4 {
        for j in -2..=2 {
            let (u, v) = (0.1 * f64::from(i), 0.18 * width * f64::from(j));
            let [x, y] = pose.picture_point([u, v]);
            let (column, row) = ((x * scale) as i32, (y * scale) as i32);
            if (0..columns).contains(&column) && (0..rows).contains(&row) {
                sum += f64::from(values[(row * columns + column) as usize]);
                count += 1.0;
            }
        }
    }
    Ok(if count > 0.0 { sum / count } else { 0.0 })
}

#[cfg(test)]
mod tests {
    use super::super::small::BLACK;
    use super::*;
    use crate::media::Frame;
    use opencv::core::{CV_8UC1, MatTrait};

    /// A speckled bottom 320 × 180 px under light that dances, with a body 24 × 8 px of another colour, as bright as the
    /// bottom, `at` px from the left.
    fn picture(t_s: f64, at: i32) -> Frame {
        let plane = |rows, columns, value: f64| {
            Mat::new_rows_cols_with_default(rows, columns, CV_8UC1, Scalar::all(value)).unwrap()
        };
        let (mut luma, mut cb) = (plane(180, 320, 0.0), plane(90, 160, 0.0));
        for y in 0..180 {
            for x in 0..320 {
                let speck = f64::from((x / 3 * 7919 + y / 3 * 104_729) % 23);
                let dances = (f64::from(x) / 9.0 + 40.0 * t_s).sin() * (f64::from(y) / 7.0).cos();
                let bright = (60.0 + speck) * (1.0 + 0.5 * dances);
                let body = (at..at + 24).contains(&x) && (90..98).contains(&y);
                // a colour goes with the brightness
                let blue = if body { 0.1 } else { -0.2 } * bright;
                *luma.at_2d_mut::<u8>(y, x).unwrap() = (BLACK + bright) as u8;
                *cb.at_2d_mut::<u8>(y / 2, x / 2).unwrap() = (128.0 + blue) as u8;
            }
        }
        let mut frame = Frame {
            t_s,
            ..Frame::default()
        };
        *frame.luma.writable().unwrap() = luma;
        *frame.cb.writable().unwrap() = cb;
        *frame.cr.writable().unwrap() = plane(90, 160, 128.0);
        frame
    }

    #[test]
    fn what_moves_under_dancing_light_is_told_by_its_colour() {
        // a hand that sways by a hundredth of a px: the background is known
        let here = Affine([1.0, 0.0, 0.01, 0.0, 1.0, 0.0]);
        let mut moving = Moving::default();
        let way = |t_s: f64| 40 + (150.0 * t_s) as i32;
        for frame in 0..20 {
            let t_s = f64::from(frame) / 30.0;
            let now = Small::of(&picture(t_s, way(t_s)), &here).unwrap();
            moving.take(&now).unwrap();
        }
        let now = Small::of(&picture(0.65, way(0.65)), &here).unwrap();
        let moves = moving.map(&now).unwrap().expect("enough is known");
        let clearest_is_body = |map: &Mat| {
            let values = map.data_typed::<f32>().unwrap();
            let most = (0..values.len()).max_by(|a, b| values[*a].total_cmp(&values[*b]));
            let (x, y) = (most.unwrap() as i32 % 320, most.unwrap() as i32 / 320);
            (way(0.65) - 2..way(0.65) + 26).contains(&x) && (88..100).contains(&y)
        };
        assert!(clearest_is_body(&moves.by_colour));
        assert!(!clearest_is_body(&moves.by_brightness));
    }
}
