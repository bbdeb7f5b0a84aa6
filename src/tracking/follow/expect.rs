//! Where the follower expects the lure in the next frame, and how far about it looks.

use opencv::core::MatTraitConst;

use super::super::fit::Leash;
use super::super::pose::Pose;
use super::super::tether::Hold;
use super::{BRIEF, Follower};
use crate::media::Frame;

/// Samples along the lure in the window.
const SAMPLES_ALONG: f64 = 44.0;
/// So many samples tell as much as one that stood alone.
const SAMPLES_THAT_COUNT: f64 = 200.0;
/// Rings of places about the expected one at most.
const MOST_RINGS: usize = 2;
/// How far the axis is searched about where it was, and the spacing of the search, degrees.
const SEARCH_DEG: f64 = 54.0;
const SEARCH_STEP_DEG: f64 = 9.0;

impl Follower {
    /// Length of the lure, px, and picture px per sample.
    pub fn scale(&self) -> [f64; 2] {
        [self.pose.along_px, self.step()]
    }

    /// Picture px per sample.
    pub(super) fn step(&self) -> f64 {
        (self.pose.along_px / SAMPLES_ALONG).max(0.75)
    }

    /// Where the lure should lie in this frame, inside the picture.
    pub(super) fn expected(&self, frame: &Frame) -> Pose {
        let last = self.absence.doubted().unwrap_or_else(|| {
            let [x_px, y_px] = self.advanced();
            Pose {
                x_px,
                y_px,
                ..self.pose
            }
        });
        Pose {
            x_px: last.x_px.clamp(0.0, f64::from(frame.luma.cols())),
            y_px: last.y_px.clamp(0.0, f64::from(frame.luma.rows())),
            along_px: self.mean_along.exp(),
            across_px: self.mean_across.exp(),
            ..last
        }
    }

    /// The same, but out of sight it hangs on its line where that is seen.
    pub(super) fn hung(&self, expected: Pose) -> Pose {
        match &self.hold() {
            Some(hold) if self.absence.frames() > 0 && self.absence.doubted().is_none() => {
                hold.hung(expected)
            }
            _ => expected,
        }
    }

    /// What holds it by its line.
    pub(super) fn hold(&self) -> Option<Hold> {
        self.tether.as_ref()?.hold(self.mean_along.exp())
    }

    /// Where the lure has got to: out of sight it is carried along a little, for its motion is less and less
    /// to be believed.
    pub(super) fn advanced(&self) -> [f64; 2] {
        const SLOWING: f64 = 0.8;
        let steps = (1.0 - SLOWING.powi(self.absence.frames() as i32 + 1)) / (1.0 - SLOWING);
        [
            self.pose.x_px + steps * self.velocity[0],
            self.pose.y_px + steps * self.velocity[1],
        ]
    }

    /// Rings of the net of places that is cast about the expected one: wider while it is out of sight.
    pub(super) fn rings(&self) -> i32 {
        if self.absence.doubted().is_some() {
            return 0;
        }
        self.absence
            .frames()
            .min(MOST_RINGS * BRIEF)
            .div_ceil(BRIEF) as i32
    }

    pub(super) fn leash(&self, place: [f64; 2], spread: f64) -> Leash {
        let roam =
            (3.0 + 0.3 * self.pose.along_px) * (1.0 + 0.3 * self.absence.frames().min(8) as f64);
        let step = self.step();
        let samples = self.shape.area() * self.pose.along_px * self.pose.across_px / (step * step);
        Leash {
            place: (place, roam),
            strength: (samples / SAMPLES_THAT_COUNT).clamp(0.2, 6.0),
            along: (self.mean_along, spread),
            across: (self.mean_across, 0.5 * spread),
            size_reach: self.size_reach,
            hold: self.hold(),
        }
    }

    pub(super) fn axes(&self) -> Vec<f64> {
        let step = SEARCH_STEP_DEG * if self.absence.frames() == 0 { 1.0 } else { 2.0 };
        let steps = (SEARCH_DEG / step) as i32;
        (-steps..=steps)
            .map(|k| self.mean_axis + (f64::from(k) * step).to_radians())
            .chain([self.pose.axis_rad])
            .collect()
    }
}
