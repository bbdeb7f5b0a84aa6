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

/// The lure being followed.
pub struct Following {
    view: View,
    follower: Follower,
    light: Light,
    backdrop: Backdrop,
    lain: Lain,
    astray: Astray,
    /// time of the last frame, and when it was last seen, s
    now_s: f64,
    seen_s: f64,
    /// for how long it was seen in all, s
    seen_for_s: f64,
}

/// Followed for so long, s, its size is known.
const KNOWN_AFTER_S: f64 = 1.0;

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
        let mut following = Following {
            view,
            follower: Follower::new(guess, view),
            // the colours are learned from this picture: brightness is told against it
            light: Light::default(),
            backdrop: Backdrop::new(view),
            lain: Lain::default(),
            astray: Astray::default(),
            now_s: frame.t_s,
            seen_s: frame.t_s,
            seen_for_s: 0.0,
        };
        let sighting = following.next(frame, to_scene)?;
        Ok(Some((following, sighting)))
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
        if sighting.pose.is_some() {
            self.seen_s = frame.t_s;
            self.seen_for_s += frame.t_s - self.now_s;
        }
        self.now_s = frame.t_s;
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

    /// What was seen since `since_s`, in so many frames, was not the lure.
    pub fn take_back(&mut self, since_s: f64, frames: usize) {
        self.seen_s = since_s;
        self.follower.out_of_sight_for(frames);
        self.lain.lay_all_along(self.follower.lies());
    }

    /// When the lure was last seen, s.
    pub fn last_seen_s(&self) -> f64 {
        self.seen_s
    }

    /// How it lies, or lay when last seen, if it was followed for long enough to be known.
    pub fn known(&self) -> Option<Pose> {
        (self.seen_for_s >= KNOWN_AFTER_S).then(|| self.follower.lies())
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
