//! A follower with what it is held against: the light it began in, and the background behind it.

use super::astray::Astray;
use super::backdrop::{Backdrop, Lain};
use super::follow::{Follower, Sighting};
use super::light::Light;
use super::pose::Pose;
use super::shape::Shape;
use super::start;
use super::start_box::StartBox;
use super::track::Affine;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// Followed for so long, s, its size is known.
const KNOWN_AFTER_S: f64 = 1.0;
/// So near the edge of the picture, in its lengths, it is about to leave.
const AT_EDGE: f64 = 0.65;
/// What was seen of late fades over this time, s. Seen in less than this part of the frames it is lost, as after a second
/// without it: a moment's sighting now and then may be of something else. Seen in more than that, it is found again.
const FADES_S: f64 = 0.8;
const LOST_BELOW: f64 = 0.3;
const FOUND_ABOVE: f64 = 0.5;

/// The lure being followed.
pub struct Following {
    view: View,
    follower: Follower,
    light: Light,
    backdrop: Backdrop,
    lain: Lain,
    astray: Astray,
    of_late: OfLate,
    /// pose in which it was last seen while it was seen in most frames
    last_seen: Pose,
}

impl Following {
    /// Begins with a box, and follows into its own picture; `None` where the picture ends there.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn begin(
        frame: &Frame,
        place: &StartBox,
        view: View,
        to_scene: &Affine,
    ) -> Result<Option<(Following, Sighting)>> {
        let Some(guess) = start::guess_with_care(frame, place, view)? else {
            return Ok(None);
        };
        let last_seen = guess.pose;
        let mut following = Following {
            view,
            follower: Follower::new(guess, view),
            // the colours are learned from this picture: brightness is told against it
            light: Light::default(),
            backdrop: Backdrop::new(view),
            lain: Lain::default(),
            astray: Astray::default(),
            of_late: OfLate::beginning(frame.t_s),
            last_seen,
        };
        let sighting = following.next(frame, to_scene)?;
        Ok(Some((following, sighting)))
    }

    /// One that knows as much of the lure and has it lie elsewhere, in another picture.
    pub fn elsewhere(&self, pose: Pose) -> Following {
        Following {
            view: self.view,
            follower: self.follower.elsewhere(pose, self.of_late.now_s),
            light: self.light.clone(),
            backdrop: Backdrop::new(self.view),
            lain: Lain::default(),
            astray: Astray::default(),
            of_late: OfLate::beginning(self.of_late.now_s),
            last_seen: pose,
        }
    }

    /// Looks for the lure in the next frame.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn next(&mut self, frame: &Frame, to_scene: &Affine) -> Result<Sighting> {
        let gain = self.light.gain(&frame.luma)?;
        let carried = self.backdrop.carried(frame.t_s, to_scene, &self.lain);
        let sighting = self.follower.next(frame, gain, carried.as_ref())?;
        self.lain.lay(frame.t_s, self.follower.lies());
        let step_px = self.follower.scale()[1];
        self.backdrop.keep(frame, gain, to_scene, step_px)?;
        self.of_late.count(sighting.pose.is_some(), frame.t_s);
        if let Some(pose) = sighting.pose.filter(|_| !self.of_late.is_doubtful()) {
            self.last_seen = pose;
        }
        Ok(sighting)
    }

    /// Since when what was seen at `pose` just now is of the bottom, onto which the follower has strayed, s: it has it look
    /// for the lure again. Along the water the bottom slides faster near than far, and what lies on it cannot be told.
    pub fn astray_since(&mut self, t_s: f64, pose: &Pose, to_scene: &Affine) -> Option<f64> {
        let here = [pose.x_px, pose.y_px];
        match self.view {
            View::Above => self
                .astray
                .take(t_s, here, to_scene.apply(here), &mut self.follower),
            View::Behind | View::Ahead | View::Side => None,
        }
    }

    /// What was seen in so many frames before was not the lure.
    pub fn take_back(&mut self, frames: usize) {
        self.follower.out_of_sight_for(frames);
        self.lain.lay_all_along(self.follower.lies());
    }

    /// Whether it was hardly seen of late.
    pub fn is_lost(&self) -> bool {
        self.of_late.is_lost
    }

    /// Whether it was last seen at the edge of a picture of this size, px, as one that leaves it; from above, for along the
    /// water the camera follows or turns after it.
    pub fn was_leaving(&self, size: [f64; 2]) -> bool {
        let last = self.last_seen;
        let place = [last.x_px, last.y_px];
        self.view == View::Above
            && (0..2).any(|n| place[n].min(size[n] - place[n]) < AT_EDGE * last.along_px)
    }

    /// Time of the last frame, s.
    pub fn now_s(&self) -> f64 {
        self.of_late.now_s
    }

    /// Until when it was surely seen, s.
    pub fn firm_until_s(&self) -> f64 {
        self.of_late.firm_until_s
    }

    /// Its length, px, if it was followed for long enough to be known.
    pub fn known_length(&self) -> Option<f64> {
        (self.of_late.seen_for_s >= KNOWN_AFTER_S).then(|| self.follower.lies().along_px)
    }

    /// Last known place and reach of the lure, px.
    pub fn whereabouts(&self) -> ([f64; 2], f64) {
        self.follower.whereabouts()
    }

    /// The silhouette as learned so far.
    pub fn shape(&self) -> &Shape {
        self.follower.shape()
    }
}

/// How much of the lure was seen of late.
struct OfLate {
    /// time of the last frame, s
    now_s: f64,
    /// part of the frames in which it was seen, earlier ones faded
    seen: f64,
    is_lost: bool,
    /// until when it was seen in most frames, s
    firm_until_s: f64,
    /// for how long it was seen in all, s
    seen_for_s: f64,
}

impl OfLate {
    fn beginning(now_s: f64) -> OfLate {
        OfLate {
            now_s,
            seen: 1.0,
            is_lost: false,
            firm_until_s: now_s,
            seen_for_s: 0.0,
        }
    }

    fn is_doubtful(&self) -> bool {
        self.seen <= FOUND_ABOVE
    }

    fn count(&mut self, seen: bool, now_s: f64) {
        let step_s = now_s - self.now_s;
        let now = if seen { 1.0 } else { 0.0 };
        self.now_s = now_s;
        self.seen_for_s += now * step_s;
        self.seen += (1.0 - (-step_s / FADES_S).exp()) * (now - self.seen);
        if !self.is_doubtful() {
            self.firm_until_s = now_s;
        }
        self.is_lost = match self.is_lost {
            true => self.seen < FOUND_ABOVE,
            false => self.seen < LOST_BELOW,
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_without_it_counts_as_lost_and_a_glimpse_does_not_change_that() {
        let mut of_late = OfLate::beginning(0.0);
        let mut frame = 0;
        let mut go_on = |of_late: &mut OfLate, frames: usize, seen: fn(usize) -> bool| {
            for _ in 0..frames {
                frame += 1;
                of_late.count(seen(frame), f64::from(frame as u32) / 30.0);
            }
        };
        go_on(&mut of_late, 60, |_| true);
        go_on(&mut of_late, 15, |_| false);
        assert!(!of_late.is_lost);
        go_on(&mut of_late, 25, |_| false);
        assert!(of_late.is_lost);
        go_on(&mut of_late, 60, |frame| frame % 4 == 0);
        assert!(of_late.is_lost);
        go_on(&mut of_late, 30, |_| true);
        assert!(!of_late.is_lost);
        assert!((of_late.seen_for_s - 3.5).abs() < 0.1);
    }
}
