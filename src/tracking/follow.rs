//! Follows the lure from frame to frame: predict, look, fit, learn, or say that it is out of sight.

mod believe;
mod expect;
mod learn;

use super::backdrop::Carried;
use super::colours::{Colours, Voice};
use super::fit::Fit;
use super::line_watch::{LineLook, LineWatch};
use super::pose::Pose;
use super::regain::{self, Absence};
use super::search::{NET, Search};
use super::shape::Shape;
use super::size::UsualSize;
use super::start::FirstGuess;
use super::tether::Tether;
use super::window::Window;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// It must be seen so clearly that something may be learned from it.
const SURE: f64 = 0.7;
/// Frames out of sight after which what is seen is doubted.
const BRIEF: usize = 4;
/// Half-width of the window about a place, in lengths.
const BEYOND: f64 = 1.15;
/// Frames after which its look is known well enough to be gone by.
const SETTLED: usize = 20;

/// Pace at which the expected apparent size follows the fitted one, per frame.
const SCALE_PACE: f64 = 0.1;
/// How far the apparent size swings about its mean where the wobble foreshortens the body (one standard
/// deviation of its natural log).
const SIZE_SWING: f64 = 0.15;
/// From behind, where a faint lure shrinks into its own clearest spot, a fit is no farther from that mean than this
/// (natural log). Toward a dock it grows too fast for that; from above and the side it gained nothing.
const SIZE_REACH: f64 = 0.35;
/// How strongly it is held to the usual size, per frame.
const SIZE_HOLD: f64 = 0.08;

/// What following says of one frame.
#[derive(Debug, Clone, Copy)]
pub struct Sighting {
    /// Pose of the body frame, where the lure was seen.
    pub pose: Option<Pose>,
    /// Agreement against the usual one, 0–1.
    pub confidence: f64,
    /// Mean brightness of the body, 0–1.
    pub brightness: f64,
    /// What the look for the line gave.
    pub line: LineLook,
}

impl Sighting {
    /// Nothing seen.
    pub const NOTHING: Sighting = Sighting {
        pose: None,
        confidence: 0.0,
        brightness: f64::NAN,
        line: LineLook {
            streaks: [None; 2],
            telling: false,
        },
    };
}

/// A window of the picture with the best fit in it.
struct Look {
    window: Window,
    voices: Vec<Voice>,
    fit: Fit,
}

/// Follows one lure.
#[derive(Clone)]
pub struct Follower {
    view: View,
    shape: Shape,
    coarse: Shape,
    colours: Colours,
    pose: Pose,
    /// px per frame, smoothed
    velocity: [f64; 2],
    /// slow means of axis and log scales
    mean_axis: f64,
    usual_size: UsualSize,
    size_swing: f64,
    size_reach: f64,
    mean_along: f64,
    mean_across: f64,
    /// usual likeness and agreement of the fits
    usual: f64,
    usual_agreement: f64,
    watch: LineWatch,
    /// from behind; seen otherwise its line helped no more than it misled
    tether: Option<Tether>,
    /// telling looks, and those with a line off the positive and off the negative end
    looks: usize,
    lines: [usize; 2],
    seen: usize,
    seen_s: f64,
    absence: Absence,
}

impl Follower {
    /// Begins with a first guess.
    pub fn new(guess: FirstGuess, view: View) -> Follower {
        // from the side lip and belly hook hang to one side of the body
        let shape = Shape::spindle(guess.width, view != View::Side);
        Follower {
            view,
            coarse: shape.clone(),
            shape,
            colours: guess.colours,
            pose: guess.pose,
            velocity: [0.0; 2],
            mean_axis: guess.pose.axis_rad,
            usual_size: UsualSize::new(&guess.pose, guess.width),
            size_swing: if view == View::Above {
                0.08
            } else {
                SIZE_SWING
            },
            size_reach: match view {
                View::Behind => SIZE_REACH,
                View::Above | View::Ahead | View::Side => f64::INFINITY,
            },
            mean_along: guess.pose.along_px.ln(),
            mean_across: guess.pose.across_px.ln(),
            usual: 0.0,
            usual_agreement: 0.0,
            watch: LineWatch::default(),
            tether: (view == View::Behind).then(Tether::default),
            looks: 0,
            lines: [0; 2],
            seen: 0,
            seen_s: 0.0,
            absence: Absence::default(),
        }
    }

    /// Begins with a first guess that is yet to prove itself by its line, which is looked for all round in
    /// every frame.
    pub fn on_trial(guess: FirstGuess, view: View) -> Follower {
        Follower {
            watch: LineWatch::unceasing(),
            ..Follower::new(guess, view)
        }
    }

    /// One that knows as much of the lure, which now lies elsewhere.
    pub fn elsewhere(&self, pose: Pose, now_s: f64) -> Follower {
        Follower {
            pose,
            velocity: [0.0; 2],
            watch: LineWatch::default(),
            tether: self.tether.as_ref().map(|_| Tether::default()),
            seen_s: now_s,
            absence: Absence::default(),
            ..self.clone()
        }
    }

    /// It was not seen in so many frames.
    pub fn out_of_sight_for(&mut self, frames: usize) {
        self.velocity = [0.0; 2];
        for _ in 0..frames {
            self.absence.nothing_seen();
        }
    }

    /// How the lure lies, or lay when last seen.
    pub fn lies(&self) -> Pose {
        self.absence.doubted().unwrap_or(self.pose)
    }

    /// The silhouette as learned so far.
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// Last known place and reach of the lure, px.
    pub fn whereabouts(&self) -> ([f64; 2], f64) {
        ([self.pose.x_px, self.pose.y_px], 0.8 * self.pose.along_px)
    }

    /// Looks for the lure in the next frame, before the `backdrop` where that is known. `gain`: how much brighter the
    /// picture is than the first.
    pub fn next(
        &mut self,
        frame: &Frame,
        gain: f32,
        backdrop: Option<&Carried>,
    ) -> Result<Sighting> {
        if let Some(tether) = &mut self.tether {
            tether.look(frame, self.mean_along.exp())?;
        }
        let Some(look) = self.look(frame, gain, backdrop)? else {
            self.absence.nothing_seen();
            return Ok(Sighting::NOTHING);
        };
        let fit = &look.fit;
        let trust = self.trust(fit, frame);
        let was_hidden = self.absence.frames() > 0;
        if !self.believes(fit, trust, frame.t_s) {
            return Ok(Sighting::NOTHING);
        }
        self.accept(fit, trust, was_hidden);
        self.seen_s = frame.t_s;
        if trust > SURE {
            self.usual_size.cut_anew(frame, &self.pose, self.seen)?;
        }
        let share = self.shape.cast(&look.window, &fit.pose);
        self.learn(&look, &share, gain, trust);
        let line = self.watch.look(frame, &fit.pose)?;
        self.learn_line(frame.t_s, &line, trust);
        Ok(Sighting {
            pose: Some(fit.placed),
            confidence: trust.min(1.0),
            brightness: brightness(&look.window, &share),
            line,
        })
    }

    /// The best fit where the lure is expected and, where it is long gone, in the whole picture.
    fn look(
        &mut self,
        frame: &Frame,
        gain: f32,
        backdrop: Option<&Carried>,
    ) -> Result<Option<Look>> {
        let expected = self.hung(self.expected(frame));
        let mut best = self.look_about(frame, gain, backdrop, expected, self.rings())?;
        if self.absence.searches_all() {
            for [x_px, y_px] in
                regain::places(frame, &self.colours, gain, backdrop, expected.along_px)?
            {
                let there = Pose {
                    x_px,
                    y_px,
                    ..expected
                };
                let look = self.look_about(frame, gain, backdrop, there, 0)?;
                best = [best, look]
                    .into_iter()
                    .flatten()
                    .max_by(|a, b| a.fit.agreement.total_cmp(&b.fit.agreement));
            }
        }
        Ok(best)
    }

    fn look_about(
        &mut self,
        frame: &Frame,
        gain: f32,
        backdrop: Option<&Carried>,
        expected: Pose,
        rings: i32,
    ) -> Result<Option<Look>> {
        let centre = [expected.x_px, expected.y_px];
        let reach = expected.along_px * (BEYOND + NET * f64::from(rings));
        let Some(window) = Window::cut(frame, centre, reach, self.step())? else {
            return Ok(None);
        };
        if self.seen == 0 {
            self.settle(&window, gain);
        }
        let plain = self.colours.speak(&window, gain);
        let mut voices = plain.clone();
        if let Some(backdrop) = backdrop {
            backdrop.weigh(&window, gain, &mut voices)?;
        }
        let search = Search {
            shape: &self.shape,
            coarse: &self.coarse,
            expected,
            leash: self.leash(centre, self.size_swing),
            axes: self.axes(),
            rings,
            usual_agreement: (self.absence.frames() == 0 && self.seen > SETTLED)
                .then_some(self.usual_agreement)
                .filter(|usual| *usual > 0.0),
        };
        let fit = search.best_fit(&window, &voices, &plain);
        Ok(Some(Look {
            window,
            voices,
            fit,
        }))
    }

    fn accept(&mut self, fit: &Fit, trust: f64, was_hidden: bool) {
        let (dx, dy) = (
            fit.pose.x_px - self.pose.x_px,
            fit.pose.y_px - self.pose.y_px,
        );
        if self.seen == 0 || was_hidden {
            self.velocity = [0.0; 2];
        } else if trust > 0.8 {
            // a half-hidden lure seems to slide aside: its motion is not to be believed
            let rate = 0.4;
            self.velocity[0] += rate * (dx - self.velocity[0]);
            self.velocity[1] += rate * (dy - self.velocity[1]);
        }
        self.pose = fit.pose;
        let slow = if self.seen < 20 { 0.15 } else { 0.05 };
        self.mean_axis += slow * (fit.pose.axis_rad - self.mean_axis);
        for (mean, fitted, usual) in [
            (
                &mut self.mean_along,
                fit.pose.along_px,
                self.usual_size.along,
            ),
            (
                &mut self.mean_across,
                fit.pose.across_px,
                self.usual_size.across,
            ),
        ] {
            *mean += SCALE_PACE * (fitted.ln() - *mean) + SIZE_HOLD * (usual - *mean);
        }
        self.usual += slow * (fit.likeness - self.usual);
        self.usual_agreement += slow * (fit.agreement - self.usual_agreement);
        self.seen += 1;
    }
}

fn brightness(window: &Window, share: &[f32]) -> f64 {
    let (mut sum, mut weight) = (0.0, 0.0);
    for (&y, &s) in window.luma.iter().zip(share) {
        if s > 0.5 {
            sum += f64::from(s) * f64::from(y);
            weight += f64::from(s);
        }
    }
    if weight > 0.0 {
        sum / weight / 255.0
    } else {
        f64::NAN
    }
}
