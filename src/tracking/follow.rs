//! Follows the lure from frame to frame: predict, look, fit, learn, or say that it is out of sight.

use opencv::core::MatTraitConst;

use super::colours::{Colours, Voice};
use super::ends;
use super::fit::{Evidence, Fit, Leash};
use super::line::{self, Streak};
use super::pose::Pose;
use super::shape::Shape;
use super::size::UsualSize;
use super::start::FirstGuess;
use super::window::Window;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// Samples along the lure in the window.
const SAMPLES_ALONG: f64 = 52.0;
/// So many samples tell as much as one that stood alone.
const SAMPLES_THAT_COUNT: f64 = 200.0;
/// Likeness of plain water.
const UNLIKE: f64 = 0.25;
/// A fit whose likeness (above that of water) falls below this part of the usual one is not the lure.
const LEAST_LIKENESS: f64 = 0.55;
/// Likeness in the first picture under which a spot is not told from the water.
const LEAST_TOLD: f64 = 0.58;
/// The same for taking it up again after it was out of sight.
const LEAST_LIKENESS_AGAIN: f64 = 0.75;
/// How far the axis is searched about where it was, and the spacing of the search, degrees.
const SEARCH_DEG: f64 = 54.0;
const SEARCH_STEP_DEG: f64 = 9.0;

/// Pace at which the expected apparent size follows the fitted one, per frame.
const SCALE_PACE: f64 = 0.2;
/// How far the apparent size swings about its mean where the wobble foreshortens the body (one standard
/// deviation of its natural log).
const SIZE_SWING: f64 = 0.15;
/// How strongly it is held to the usual size, per frame.
const SIZE_HOLD: f64 = 0.06;

/// What following says of one frame.
#[derive(Debug, Clone, Copy)]
pub struct Sighting {
    /// Pose of the body frame, where the lure was seen.
    pub pose: Option<Pose>,
    /// Agreement against the usual one, 0–1.
    pub confidence: f64,
    /// Mean brightness of the body, 0–1.
    pub brightness: f64,
    /// Strongest streak off the nose end and off the tail end of the body frame.
    pub streaks: [Option<Streak>; 2],
}

/// Follows one lure.
pub struct Follower {
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
    mean_along: f64,
    mean_across: f64,
    usual: f64,
    /// frames in which a line was seen off the positive and off the negative end
    lines: [usize; 2],
    seen: usize,
    unseen: usize,
}

impl Follower {
    /// Begins with a first guess.
    pub fn new(guess: FirstGuess, view: View) -> Follower {
        // from the side lip and belly hook hang to one side of the body
        let shape = Shape::spindle(guess.width, view != View::Side);
        Follower {
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
            mean_along: guess.pose.along_px.ln(),
            mean_across: guess.pose.across_px.ln(),
            usual: 0.0,
            lines: [0; 2],
            seen: 0,
            unseen: 0,
        }
    }

    /// The silhouette as learned so far.
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// Last known place and reach of the lure, px.
    pub fn whereabouts(&self) -> ([f64; 2], f64) {
        ([self.pose.x_px, self.pose.y_px], 0.8 * self.pose.along_px)
    }

    /// Looks for the lure in the next frame. `gain`: how much brighter the picture is than the first.
    pub fn next(&mut self, frame: &Frame, gain: f32) -> Result<Sighting> {
        let predicted = self.predicted();
        let reach = self.reach();
        let step = self.step();
        let centre = [predicted.x_px, predicted.y_px];
        let Some(window) = Window::cut(frame, centre, reach, step)? else {
            return Ok(self.missed(frame, predicted));
        };
        if self.seen == 0 {
            self.settle(&window, gain);
        }
        let voices = self.colours.speak(&window, gain);
        let fit = self.best_fit(&window, &voices, predicted);
        let share = self.shape.cast(&window, &fit.pose);
        let trust = self.trust(&fit, frame);
        if trust < self.least_trust() {
            return Ok(self.missed(frame, predicted));
        }
        self.accept(&fit, trust);
        if trust > 0.7 {
            self.usual_size.cut_anew(frame, &self.pose, self.seen)?;
        }
        self.learn(&window, &voices, &share, gain, trust);
        let streaks = [
            line::strongest(&frame.luma, &fit.pose, 1.0)?,
            line::strongest(&frame.luma, &fit.pose, -1.0)?,
        ];
        for (count, streak) in self.lines.iter_mut().zip(&streaks) {
            *count += usize::from(streak.is_some_and(|s| s.is_line()));
        }
        Ok(Sighting {
            pose: Some(fit.placed),
            confidence: trust.min(1.0),
            brightness: brightness(&window, &share),
            streaks,
        })
    }

    /// Picture px per sample.
    fn step(&self) -> f64 {
        (self.pose.along_px / SAMPLES_ALONG).max(0.75)
    }

    fn predicted(&self) -> Pose {
        Pose {
            x_px: self.pose.x_px + self.velocity[0],
            y_px: self.pose.y_px + self.velocity[1],
            along_px: self.mean_along.exp(),
            across_px: self.mean_across.exp(),
            ..self.pose
        }
    }

    /// Half-width of the window, px: it grows while the lure is out of sight.
    fn reach(&self) -> f64 {
        self.pose.along_px * (1.15 + 0.12 * self.unseen.min(16) as f64)
    }

    /// First frame: slides the first outline in place.
    fn settle(&mut self, window: &Window, gain: f32) {
        let voices = self.colours.speak(window, gain);
        let centre = [self.pose.x_px, self.pose.y_px];
        let evidence = Evidence::gather(window, &voices, centre, 0.9 * self.pose.along_px, 1);
        let fit = evidence.improve(&self.shape, self.pose, &self.leash(centre, 0.02), 8);
        self.pose = fit.pose;
        // the picture it was learned from agrees better than any other will; where even there the spot is
        // hardly told from the water, nothing is to be followed
        self.usual = if fit.likeness < LEAST_TOLD {
            f64::INFINITY
        } else {
            0.85 * fit.likeness
        };
        self.coarse = self.shape.blurred(0.06);
    }

    fn leash(&self, place: [f64; 2], spread: f64) -> Leash {
        let roam = (3.0 + 0.3 * self.pose.along_px) * (1.0 + 0.3 * self.unseen as f64);
        let step = self.step();
        let samples = self.shape.area() * self.pose.along_px * self.pose.across_px / (step * step);
        Leash {
            place: (place, roam),
            strength: (samples / SAMPLES_THAT_COUNT).clamp(0.2, 6.0),
            along: (self.mean_along, spread),
            across: (self.mean_across, 0.5 * spread),
        }
    }

    /// The best of many starts: axes about the last and the mean one, places about the predicted one.
    fn best_fit(&self, window: &Window, voices: &[Voice], predicted: Pose) -> Fit {
        let centre = [predicted.x_px, predicted.y_px];
        let stride = if self.unseen == 0 { 2 } else { 3 };
        let rough = Evidence::gather(window, voices, centre, self.reach(), stride);
        let mut places = self.places(predicted);
        places.push(rough.drawn_to(centre, 0.45 * predicted.along_px));
        let axes = self.axes();
        let mut starts: Vec<(f64, Pose)> = Vec::with_capacity(places.len() * axes.len());
        for [x_px, y_px] in places {
            for &axis_rad in &axes {
                let pose = Pose {
                    x_px,
                    y_px,
                    axis_rad,
                    ..predicted
                };
                starts.push((rough.agreement(&self.coarse, &pose), pose));
            }
        }
        starts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let leash = self.leash(centre, self.size_swing);
        let fine_radius = 0.95 * predicted.along_px.max(predicted.across_px);
        let fine = |pose: &Pose| {
            let near = [pose.x_px, pose.y_px];
            Evidence::gather(window, voices, near, fine_radius, 1)
        };
        let found = starts
            .iter()
            .take(2)
            .map(|(_, pose)| rough.improve(&self.coarse, *pose, &leash, 6).pose)
            .map(|pose| fine(&pose).improve(&self.shape, pose, &leash, 6))
            .max_by(|a, b| a.agreement.total_cmp(&b.agreement));
        let Some(found) = found else {
            return Fit {
                pose: predicted,
                placed: predicted,
                agreement: f64::NEG_INFINITY,
                likeness: 0.0,
            };
        };
        let placed = fine(&found.pose)
            .for_placing()
            .improve(&self.shape, found.pose, &leash, 6);
        Fit {
            placed: steadier(&found.pose, placed.pose),
            ..found
        }
    }

    fn axes(&self) -> Vec<f64> {
        let step = SEARCH_STEP_DEG * if self.unseen == 0 { 1.0 } else { 2.0 };
        let steps = (SEARCH_DEG / step) as i32;
        (-steps..=steps)
            .map(|k| self.mean_axis + (f64::from(k) * step).to_radians())
            .chain([self.pose.axis_rad])
            .collect()
    }

    /// Where to look: the predicted place, and a growing net about it while the lure is out of sight.
    fn places(&self, predicted: Pose) -> Vec<[f64; 2]> {
        let rings = self.unseen.min(10).div_ceil(4) as i32;
        let spacing = 0.33 * predicted.along_px;
        let mut places = Vec::new();
        for i in -rings..=rings {
            for j in -rings..=rings {
                places.push([
                    predicted.x_px + f64::from(i) * spacing,
                    predicted.y_px + f64::from(j) * spacing,
                ]);
            }
        }
        places
    }

    /// Likeness against the usual one; none for a lure that is cut by the edge of the picture.
    fn trust(&self, fit: &Fit, frame: &Frame) -> f64 {
        let (width, height) = (f64::from(frame.luma.cols()), f64::from(frame.luma.rows()));
        let whole = [0.45, -0.45].iter().all(|&u| {
            let [x, y] = fit.pose.picture_point([u, 0.0]);
            x > 1.0 && y > 1.0 && x < width - 1.0 && y < height - 1.0
        });
        if whole {
            (fit.likeness - UNLIKE) / (self.usual - UNLIKE).max(0.1)
        } else {
            0.0
        }
    }

    /// Trust that a fit must earn: more when the lure was out of sight, lest something else is taken up.
    fn least_trust(&self) -> f64 {
        if self.unseen < 4 {
            LEAST_LIKENESS
        } else {
            LEAST_LIKENESS_AGAIN
        }
    }

    fn accept(&mut self, fit: &Fit, trust: f64) {
        let was_hidden = self.unseen > 0;
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
        self.seen += 1;
        self.unseen = 0;
    }

    fn learn(&mut self, window: &Window, voices: &[Voice], share: &[f32], gain: f32, trust: f64) {
        if trust < 0.7 {
            return;
        }
        let early = self.seen < 15;
        if early || self.seen % 2 == 0 {
            self.shape.learn(window, voices, &self.pose, 0.01);
        }
        let lure_rate = if early { 0.1 } else { 0.03 };
        self.colours
            .adapt(window, &taught(share, voices), gain, lure_rate, 0.1);
        if !early && self.seen % 10 == 0 {
            self.leave_out_limbs();
        }
        if early || self.seen % 10 == 0 {
            self.coarse = self.shape.blurred(0.06);
        }
    }

    /// Keeps lip and hooks out of the fit once it is known at which end the nose is: the lip hangs below
    /// the body and swings to the side as the lure rolls, and would drag the axis with it.
    fn leave_out_limbs(&mut self) {
        let [ahead, behind] = self.lines;
        if ahead.max(behind) * 2 < self.seen || ahead == behind {
            return;
        }
        let sense = if ahead > behind { 1.0 } else { -1.0 };
        if let Some(ends) = ends::find(&self.shape, sense) {
            self.shape.keep_to_body(ends.tail[0], ends.nose[0]);
        }
    }

    fn missed(&mut self, frame: &Frame, predicted: Pose) -> Sighting {
        self.unseen += 1;
        // carry the place along for a while, inside the picture; axis and size stay as they were
        self.pose.x_px = predicted.x_px.clamp(0.0, f64::from(frame.luma.cols()));
        self.pose.y_px = predicted.y_px.clamp(0.0, f64::from(frame.luma.rows()));
        self.velocity = self.velocity.map(|v| 0.8 * v);
        Sighting {
            pose: None,
            confidence: 0.0,
            brightness: f64::NAN,
            streaks: [None, None],
        }
    }
}

/// The pose read from the look, unless it strays from where the colours found the lure.
fn steadier(found: &Pose, placed: Pose) -> Pose {
    let away = (placed.x_px - found.x_px).hypot(placed.y_px - found.y_px);
    let turned = (placed.axis_rad - found.axis_rad).abs().to_degrees();
    if away < 0.1 * found.along_px && turned < 8.0 {
        placed
    } else {
        *found
    }
}

/// How much each sample teaches of the lure's colours: a sample inside the silhouette that looks like
/// water teaches little, or the silhouette would swell into the water.
fn taught(share: &[f32], voices: &[Voice]) -> Vec<f32> {
    share
        .iter()
        .zip(voices)
        .map(|(s, v)| if *s > 0.7 { s * v.chance() } else { *s })
        .collect()
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
