//! The lure's usual apparent size, told now and then by cutting its outline anew.
//!
//! Following from frame to frame alone lets a lure of weak contrast shrink into its own clearest part.

use super::pose::Pose;
use super::start;
use super::start_box::StartBox;
use crate::Result;
use crate::media::Frame;

/// Frames in which it is cut anew: soon after the start, and then every so often.
const SOON: [usize; 4] = [2, 4, 7, 11];
const EVERY: usize = 15;
/// The box is so much larger than the lure is thought to be: soon after the start, and later.
const MARGIN_SOON: f64 = 1.6;
const MARGIN: f64 = 1.35;
/// A cut counts within these parts of the size so far …
const LIKE: [f64; 2] = [0.6, 1.75];
/// … this near, in lengths, …
const NEAR: f64 = 0.35;
/// … and with its axis within this of the lure's, degrees.
const ALIGNED_DEG: f64 = 25.0;
/// How far one cut moves the usual size: soon after the start, when the first outline may be of a part only, and
/// later.
const PACE_SOON: f64 = 0.6;
const PACE: f64 = 0.3;

/// Natural logs of the usual scales along and across, px.
#[derive(Debug, Clone, Copy)]
pub struct UsualSize {
    /// Along the body.
    pub along: f64,
    /// Across it.
    pub across: f64,
    /// Width over length of the first outline: what the scale across is told against.
    first_width: f64,
}

impl UsualSize {
    /// The size of the first outline, `width` times as wide as long.
    pub fn new(pose: &Pose, width: f64) -> UsualSize {
        UsualSize {
            along: pose.along_px.ln(),
            across: pose.across_px.ln(),
            first_width: width,
        }
    }

    /// Cuts the outline anew about `pose`, where the number of frames `seen` so far says so.
    pub fn cut_anew(&mut self, frame: &Frame, pose: &Pose, seen: usize) -> Result<()> {
        if !SOON.contains(&seen) && seen % EVERY != 0 {
            return Ok(());
        }
        let (margin, pace) = if SOON.contains(&seen) {
            (MARGIN_SOON, PACE_SOON)
        } else {
            (MARGIN, PACE)
        };
        let Some((cut, width)) = start::recut(frame, &self.box_about(pose, margin, frame.t_s))?
        else {
            return Ok(());
        };
        let (along, across) = (cut.along_px, cut.along_px * width / self.first_width);
        let like = |size: f64, usual: f64| (LIKE[0]..LIKE[1]).contains(&(size / usual.exp()));
        let away = (cut.x_px - pose.x_px).hypot(cut.y_px - pose.y_px);
        let turned = crate::units::wrap_deg(2.0 * (cut.axis_rad - pose.axis_rad).to_degrees());
        if like(along, self.along)
            && like(across, self.across)
            && away < NEAR * self.along.exp()
            && turned.abs() < 2.0 * ALIGNED_DEG
        {
            self.along += pace * (along.ln() - self.along);
            self.across += pace * (across.ln() - self.across);
        }
        Ok(())
    }

    /// A box about the lure at its usual size.
    fn box_about(&self, pose: &Pose, margin: f64, t_s: f64) -> StartBox {
        let (length, width) = (self.along.exp(), self.across.exp() * self.first_width);
        let (sin, cos) = (pose.axis_rad.sin().abs(), pose.axis_rad.cos().abs());
        let (w, h) = (
            margin * (sin * length + cos * width),
            margin * (cos * length + sin * width),
        );
        StartBox {
            x: pose.x_px - 0.5 * w,
            y: pose.y_px - 0.5 * h,
            w,
            h,
            t_s,
        }
    }
}
