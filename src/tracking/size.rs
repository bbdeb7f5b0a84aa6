//! The lure's usual apparent size, told now and then by cutting its outline anew.
//!
//! Following from frame to frame alone lets a lure of weak contrast shrink into its own clearest part.

use super::pose::Pose;
use super::start;
use super::start_box::StartBox;
use crate::Result;
use crate::media::Frame;

/// When it is cut anew: soon after the start, in these frames, and then every so often, s.
const SOON: [usize; 4] = [2, 4, 7, 11];
const EVERY_S: f64 = 0.5;
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
/// Later one cut makes the usual size smaller and larger by no more than these parts: a lure that comes near
/// soon looks large, and one that seems to shrink fast is cut in two.
const MOST_CHANGE: [f64; 2] = [0.06, 0.25];
/// What is followed lies within these parts of the usual size along.
const FITTING: [f64; 2] = [0.5, 2.5];

/// Natural logs of the usual scales along and across, px.
#[derive(Debug, Clone, Copy)]
pub struct UsualSize {
    /// Along the body.
    pub along: f64,
    /// Across it.
    pub across: f64,
    /// Width over length of the first outline: what the scale across is told against.
    first_width: f64,
    last_cut_s: f64,
}

impl UsualSize {
    /// The size of the first outline, `width` times as wide as long.
    pub fn new(pose: &Pose, width: f64) -> UsualSize {
        UsualSize {
            along: pose.along_px.ln(),
            across: pose.across_px.ln(),
            first_width: width,
            last_cut_s: f64::NEG_INFINITY,
        }
    }

    /// Cuts the outline anew about `pose`, where the number of frames `seen` so far says so.
    pub fn cut_anew(&mut self, frame: &Frame, pose: &Pose, seen: usize) -> Result<()> {
        let due = seen > SOON[3] && frame.t_s - self.last_cut_s > EVERY_S - 1e-3;
        if !SOON.contains(&seen) && !due {
            return Ok(());
        }
        self.last_cut_s = frame.t_s;
        let soon = SOON.contains(&seen);
        let (margin, pace, most) = if soon {
            (MARGIN_SOON, PACE_SOON, [f64::INFINITY; 2])
        } else {
            (MARGIN, PACE, MOST_CHANGE)
        };
        let about = self.box_about(pose, margin, frame.t_s);
        let recut = if soon {
            start::recut(frame, &about)?
        } else {
            start::recut_again(frame, &about)?
        };
        let Some((cut, width)) = recut else {
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
            self.along += (pace * (along.ln() - self.along)).clamp(-most[0], most[1]);
            self.across += (pace * (across.ln() - self.across)).clamp(-most[0], most[1]);
        }
        Ok(())
    }

    /// Whether something of this size may be the lure.
    pub fn fits(&self, pose: &Pose) -> bool {
        (FITTING[0]..FITTING[1]).contains(&(pose.along_px / self.along.exp()))
    }

    /// A box about the lure at its usual size.
    fn box_about(&self, pose: &Pose, margin: f64, t_s: f64) -> StartBox {
        let usual = Pose {
            along_px: self.along.exp(),
            across_px: self.across.exp(),
            ..*pose
        };
        usual.close_box(self.first_width, t_s).grown(margin)
    }
}
