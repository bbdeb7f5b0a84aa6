//! Finds the lure again after it was out of sight: where it may be, and how long it is doubted.

use opencv::core::{self, Mat, MatTraitConst, Point, Scalar, Size};
use opencv::imgproc;

use super::backdrop::Carried;
use super::colours::Colours;
use super::pose::Pose;
use super::window::Window;
use crate::Result;
use crate::media::Frame;

/// From one frame to the next a doubted lure moves no farther than this, in lengths, and turns no
/// farther than this, degrees.
const LEAP: f64 = 0.5;
const TURN_DEG: f64 = 40.0;
/// The whole picture is searched after so many frames, and then every so often: soon, and later.
const SEARCHED_AFTER: usize = 8;
const SEARCHED_EVERY: usize = 4;
const SOON: usize = 60;
const SEARCHED_LATER: usize = 16;
/// Places looked at in a search of the whole picture.
const PLACES: usize = 4;
/// Samples along the lure in such a search.
const SAMPLES_ALONG: f64 = 10.0;

/// A lure that is out of sight.
#[derive(Debug, Clone, Default)]
pub struct Absence {
    frames: usize,
    doubted: Option<(Pose, usize)>,
}

impl Absence {
    /// For how many frames it has not been seen; 0 while it is.
    pub fn frames(&self) -> usize {
        self.frames
    }

    /// Pose of something that may be the lure, since the last frame.
    pub fn doubted(&self) -> Option<Pose> {
        self.doubted.map(|(pose, _)| pose)
    }

    /// Whether this frame is one in which the whole picture is searched.
    pub fn searches_all(&self) -> bool {
        let every = if self.frames < SOON {
            SEARCHED_EVERY
        } else {
            SEARCHED_LATER
        };
        self.doubted.is_none() && self.frames >= SEARCHED_AFTER && self.frames % every == 0
    }

    /// Nothing was seen in this frame.
    pub fn nothing_seen(&mut self) {
        self.frames += 1;
        self.doubted = None;
    }

    /// Something like it was seen; whether that is believed to be the lure, having been seen in `enough` frames
    /// in a row without a leap.
    pub fn seen(&mut self, pose: &Pose, enough: usize) -> bool {
        let frames = match &self.doubted {
            Some((last, frames)) if follows(last, pose) => frames + 1,
            _ => 1,
        };
        let believed = frames >= enough;
        if believed {
            *self = Absence::default();
        } else {
            self.frames += 1;
            self.doubted = Some((*pose, frames));
        }
        believed
    }

    /// It is seen again, and there is no doubt.
    pub fn end(&mut self) {
        *self = Absence::default();
    }
}

/// Whether a lure may lie so in the frame after it lay thus.
fn follows(last: &Pose, now: &Pose) -> bool {
    let away = (now.x_px - last.x_px).hypot(now.y_px - last.y_px);
    let turned = (now.axis_rad - last.axis_rad).to_degrees();
    away < LEAP * last.along_px && turned.abs() < TURN_DEG
}

/// The places of the whole picture where most of the lure's colours gather, best first, for a lure
/// `along_px` long.
///
/// # Errors
/// [`crate::Error::Video`] when the picture cannot be worked on.
pub fn places(
    frame: &Frame,
    colours: &Colours,
    gain: f32,
    backdrop: Option<&Carried>,
    along_px: f64,
) -> Result<Vec<[f64; 2]>> {
    let (width, height) = (f64::from(frame.luma.cols()), f64::from(frame.luma.rows()));
    let step = (along_px / SAMPLES_ALONG).max(1.0);
    let centre = [width / 2.0, height / 2.0];
    let Some(window) = Window::cut(frame, centre, width.max(height) / 2.0, step)? else {
        return Ok(Vec::new());
    };
    let mut voices = colours.speak(&window, gain);
    if let Some(backdrop) = backdrop {
        backdrop.weigh(&window, gain, &mut voices)?;
    }
    let says: Vec<f32> = voices.iter().map(|voice| voice.log_ratio).collect();
    let says = Mat::from_slice(&says)?;
    let says = says.reshape(1, window.rows as i32)?;
    let mut gathered = Mat::default();
    let side = SAMPLES_ALONG as i32 / 2 + 1;
    imgproc::blur_def(&says, &mut gathered, Size::new(side, side))?;
    let mut places = Vec::new();
    while places.len() < PLACES {
        let (mut most, mut at) = (0.0, Point::default());
        core::min_max_loc(
            &gathered,
            None,
            Some(&mut most),
            None,
            Some(&mut at),
            &core::no_array(),
        )?;
        if most <= 0.0 {
            break;
        }
        places.push(window.point(at.x as usize, at.y as usize));
        let taken = Scalar::all(-1e3);
        imgproc::circle(
            &mut gathered,
            at,
            (0.6 * SAMPLES_ALONG) as i32,
            taken,
            imgproc::FILLED,
            imgproc::LINE_8,
            0,
        )?;
    }
    Ok(places)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x_px: f64, axis_deg: f64) -> Pose {
        Pose {
            x_px,
            y_px: 100.0,
            axis_rad: axis_deg.to_radians(),
            along_px: 60.0,
            across_px: 60.0,
        }
    }

    #[test]
    fn what_is_seen_again_is_believed_once_it_moves_as_a_lure_does() {
        let mut absence = Absence::default();
        for _ in 0..10 {
            absence.nothing_seen();
        }
        assert!(!absence.seen(&at(100.0, 90.0), 3));
        assert!(!absence.seen(&at(110.0, 95.0), 3));
        assert!(absence.seen(&at(118.0, 88.0), 3));
        assert_eq!(absence.frames(), 0);
    }

    #[test]
    fn what_leaps_or_spins_is_doubted_on() {
        for (x, axis) in [(180.0, 90.0), (100.0, 150.0)] {
            let mut absence = Absence::default();
            absence.nothing_seen();
            assert!(!absence.seen(&at(100.0, 90.0), 3));
            assert!(!absence.seen(&at(100.0, 90.0), 3));
            assert!(!absence.seen(&at(x, axis), 3), "{x} {axis}");
            assert_eq!(absence.frames(), 4);
        }
    }

    #[test]
    fn the_whole_picture_is_searched_only_now_and_then_and_not_while_something_is_in_doubt() {
        let mut absence = Absence::default();
        let mut searches = 0;
        for _ in 0..40 {
            searches += usize::from(absence.searches_all());
            absence.nothing_seen();
        }
        assert_eq!(searches, 8);
        absence.seen(&at(100.0, 90.0), 3);
        assert!(!absence.searches_all());
    }
}
