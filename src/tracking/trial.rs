//! A spot followed for a moment: does it keep its looks, does a line draw it, does it go its own way?

mod extent;
mod motion;
mod streaks;

use std::sync::Arc;

use opencv::core::Mat;

use super::averaged::Averaged;
use super::backdrop::{Backdrop, Lain};
use super::blobs::reduction;
use super::follow::Follower;
use super::line::Streak;
use super::moving::{Moves, mean_over};
use super::pose::Pose;
use super::start::{self, FirstGuess};
use super::start_box::StartBox;
use super::track::Affine;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;
use crate::units::wrap_deg;
pub use motion::LIES;
use motion::{KEEPS_PLACE, KEEPS_PLACE_LONG, Motion};
use streaks::{Line, OffAnEnd, clearest};

/// It must be seen for this part of its frames, and its line for this part; for this part where it is to be sure
/// before its time; and for this part where it also travels along the line.
const SEEN: f64 = 0.8;
const WITH_LINE: f64 = 0.5;
const SURELY_WITH_LINE: f64 = 0.85;
const ALONG_LINE: f64 = 0.35;
const HOPEFUL: f64 = 0.2;
const FRAMES_TO_BE_SURE: usize = 8;
/// In fewer frames than this nothing is shown: a spot may join late.
const FEWEST_FRAMES: usize = 5;
/// A line too faint to be seen in single frames stands out so clearly in their average where nothing stands out off the
/// other end; and a line seen in single frames stands out so many times as clearly as what is off the other end.
const FAINT_LINE: f64 = 8.0;
const NOTHING: f64 = 5.5;
const ONE_SIDED: f64 = 1.25;
/// Wider for its length than this it may be a part of the lure only, its lip.
const WIDE: f64 = 0.6;
const WIDE_FORESHORTENED: f64 = 0.85;
/// What is drawn goes where the line goes, to within this, degrees: drift and the camera's tilt turn it a little.
const ALONG_DEG: f64 = 20.0;
/// What goes its own way differs from the earlier pictures by this much against its surround.
pub const DIFFERS: f64 = 0.8;
/// What stays in the picture stands out of the average by this much against its surround.
const STAYS: f64 = 1.3;
/// Pace at which that is smoothed, per look: light that passes behind a lure hides its edges for a moment.
const STAYS_PACE: f64 = 0.1;

/// What lies behind the spots.
pub struct Ground {
    /// How the picture lies on it.
    pub to_scene: Affine,
    /// Earlier pictures of it.
    pub backdrop: Backdrop,
}

/// A spot being followed.
pub struct Trial {
    /// Where it was at the start.
    pub place: StartBox,
    /// When it began, s.
    pub began_s: f64,
    first: Arc<Frame>,
    view: View,
    follower: Follower,
    lain: Lain,
    width: f64,
    frames: usize,
    seen: usize,
    streaks: Vec<OffAnEnd>,
    /// where it was found in the first picture, and now
    first_pose: Pose,
    pose: Pose,
    /// how clearly it moves over the background, and stays in the picture, where that is known
    differs: Option<f64>,
    stays: Option<f64>,
    /// place in the picture and on the background, at the start and now, px
    began: [[f64; 2]; 2],
    now: [[f64; 2]; 2],
    /// what lies off either end, averaged
    averages: [Averaged; 2],
}

impl Trial {
    /// Starts following a spot; `None` where the picture ends.
    pub fn begin(
        frame: &Arc<Frame>,
        view: View,
        place: StartBox,
        ground: &Ground,
    ) -> Result<Option<Trial>> {
        let guess = start::guess(frame, &place)?;
        guess
            .map(|guess| Trial::of(guess, frame, view, place, ground))
            .transpose()
    }

    /// The same for the user's box, cut with more care.
    pub fn of_box(
        frame: &Arc<Frame>,
        view: View,
        place: StartBox,
        ground: &Ground,
    ) -> Result<Option<Trial>> {
        let guess = start::guess_with_care(frame, &place, view)?;
        guess
            .map(|guess| Trial::of(guess, frame, view, place, ground))
            .transpose()
    }

    fn of(
        guess: FirstGuess,
        frame: &Arc<Frame>,
        view: View,
        place: StartBox,
        ground: &Ground,
    ) -> Result<Trial> {
        let here = [guess.pose.x_px, guess.pose.y_px];
        let places = [here, ground.to_scene.apply(here)];
        let mut trial = Trial {
            place,
            began_s: frame.t_s,
            first: frame.clone(),
            view,
            first_pose: guess.pose,
            pose: guess.pose,
            averages: [
                Averaged::new(&guess.pose, 1.0)?,
                Averaged::new(&guess.pose, -1.0)?,
            ],
            width: guess.width,
            lain: Lain::default(),
            follower: Follower::on_trial(guess, view),
            frames: 0,
            seen: 0,
            streaks: Vec::new(),
            differs: None,
            stays: None,
            began: places,
            now: places,
        };
        trial.follow(frame, ground)?;
        Ok(trial)
    }

    /// Follows it into the next frame, before the ground as it lies there.
    pub fn follow(&mut self, frame: &Frame, ground: &Ground) -> Result<()> {
        self.frames += 1;
        let carried = ground
            .backdrop
            .carried(frame.t_s, &ground.to_scene, &self.lain);
        let sighting = self.follower.next(frame, 1.0, carried.as_ref())?;
        self.lain.lay(frame.t_s, self.follower.lies());
        let Some(pose) = sighting.pose else {
            return Ok(());
        };
        self.seen += 1;
        self.pose = pose;
        if self.frames == 1 {
            self.first_pose = pose;
        }
        for average in &mut self.averages {
            average.take(&frame.luma, &pose)?;
        }
        let here = [pose.x_px, pose.y_px];
        self.now = [here, ground.to_scene.apply(here)];
        let streaks = sighting
            .line
            .streaks
            .iter()
            .flatten()
            .filter(|s| s.is_line());
        self.streaks.extend(streaks.map(|s| OffAnEnd {
            frame: self.frames,
            direction_deg: s.direction_deg,
            strength: s.strength,
        }));
        Ok(())
    }

    /// Takes in what moves over the background.
    pub fn hold_against(&mut self, moves: &Moves, frame: &Frame) -> Result<()> {
        for map in [&moves.by_brightness, &moves.by_colour] {
            let differs = mean_over(map, &self.pose, self.width, reduction(&frame.luma))?;
            self.differs = Some(differs.max(self.differs.unwrap_or(0.0)));
        }
        Ok(())
    }

    /// Takes in how sharp the average is where it lies; what was known before fades where nothing is known now.
    pub fn hold_to(&mut self, stays: Option<&Mat>, frame: &Frame) -> Result<()> {
        let over = |map| mean_over(map, &self.pose, self.width, reduction(&frame.luma));
        match (stays.map(over).transpose()?, &mut self.stays) {
            (now, Some(usual)) => *usual += STAYS_PACE * (now.unwrap_or(0.0) - *usual),
            (now, none) => *none = now,
        }
        Ok(())
    }

    /// Whether it stays in the picture while the bottom slides by; `None` where that cannot be told.
    pub fn stays(&self) -> Option<bool> {
        self.stays.map(|s| s >= STAYS)
    }

    /// How clearly it does; 0 where that cannot be told.
    pub fn how_it_stays(&self) -> f64 {
        self.stays.unwrap_or(0.0)
    }

    /// Whether that is known, and so.
    pub fn surely_stays(&self) -> bool {
        self.stays() == Some(true)
    }

    /// Whether it does, and the ground does not seem to stand: light that dances over a dull bottom fades too.
    pub fn stays_over_ground(&self, now_s: f64, picture_width: f64) -> bool {
        self.surely_stays() && !self.motion(now_s, picture_width).camera_stands()
    }

    /// Part of its frames in which it was seen.
    pub fn part_seen(&self) -> f64 {
        self.seen as f64 / self.frames.max(1) as f64
    }

    /// How clearly it moves over the background, where that is known.
    pub fn differs(&self) -> Option<f64> {
        self.differs
    }

    /// Whether it was followed with a line off one end.
    pub fn drawn_by_line(&self) -> bool {
        let line = self.line();
        self.frames >= FEWEST_FRAMES
            && self.part_seen() >= SEEN
            && self.part(line.frames) - self.part(line.opposite) >= WITH_LINE
    }

    /// Whether a line too faint for single frames shows off one end in their average, and points where the spot goes if
    /// it does not surely stay in the picture.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the average cannot be worked on.
    pub fn drawn_by_faint_line(&self, now_s: f64, picture_width: f64) -> Result<bool> {
        if self.frames < FEWEST_FRAMES || self.part_seen() < SEEN || !self.is_slim() {
            return Ok(false);
        }
        let [clearer, other] = self.averaged_streaks()?;
        let points =
            self.surely_stays() || self.goes_toward(clearer.direction_deg, now_s, picture_width);
        Ok(points && clearer.strength > FAINT_LINE && other.strength < NOTHING)
    }

    /// Whether the average, in which streaks of light and edges of stones fade, shows something, and more off one end than
    /// off the other.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the average cannot be worked on.
    pub fn is_one_sided(&self) -> Result<bool> {
        let [clearer, other] = self.averaged_streaks()?;
        Ok(clearer.strength > NOTHING.max(ONE_SIDED * other.strength))
    }

    /// What shows in the average off the end where it is clearer, and off the other.
    fn averaged_streaks(&self) -> Result<[Streak; 2]> {
        let mut streaks = [Streak::NONE; 2];
        for (streak, average) in streaks.iter_mut().zip(&self.averages) {
            *streak = average.streak()?.unwrap_or(Streak::NONE);
        }
        streaks.sort_by(|a, b| b.strength.total_cmp(&a.strength));
        Ok(streaks)
    }

    /// Whether that is so clear that nothing more is to be waited for.
    pub fn surely_drawn_by_line(&self) -> bool {
        let line = self.line();
        self.frames >= FRAMES_TO_BE_SURE
            && self.seen == self.frames
            && self.is_slim()
            && self.part(line.frames) - self.part(line.opposite) >= SURELY_WITH_LINE
    }

    /// Whether it travels over the bottom where a line points that shows now and then: over stones a thin line
    /// is seen in patches.
    pub fn travels_along_line(&self, now_s: f64, picture_width: f64) -> bool {
        let line = self.line();
        self.part_seen() >= SEEN
            && self.is_slim()
            && self.part(line.frames) >= ALONG_LINE
            && self.goes_its_own_way(now_s, picture_width)
            && self.goes_toward(line.direction_deg, now_s, picture_width)
    }

    /// Whether it goes over the bottom where a direction in the picture points, degrees.
    fn goes_toward(&self, direction_deg: f64, now_s: f64, picture_width: f64) -> bool {
        let course_deg = self.motion(now_s, picture_width).course_deg();
        wrap_deg(direction_deg - course_deg).abs() < ALONG_DEG
    }

    /// Whether it keeps its place before a camera that stands: a stone under the line does, and a lure that hangs in a current,
    /// which stirs.
    pub fn keeps_still(&self, now_s: f64, picture_width: f64) -> bool {
        let motion = self.motion(now_s, picture_width);
        matches!(self.view, View::Above | View::Side)
            && self.stays.is_none()
            && self.differs.is_some()
            && motion.camera_stands()
            && !motion.travels()
    }

    /// Whether it is seen to stir there.
    pub fn hangs(&self, now_s: f64, picture_width: f64) -> bool {
        self.keeps_still(now_s, picture_width)
            && self.may_have_line()
            && self.differs.is_some_and(|d| d >= DIFFERS)
    }

    /// Whether it slides through the picture with the bottom, as a stone does, and nothing shows that it stays.
    pub fn lies_on_bottom(&self, now_s: f64, picture_width: f64) -> bool {
        !self.surely_stays() && self.motion(now_s, picture_width).lies_on_bottom()
    }

    /// Whether a line shows off it most of the time, be it one that streaks of light hide.
    pub fn may_have_line(&self) -> bool {
        self.is_slim() && self.part_seen() >= SEEN && self.part(self.line().frames) >= WITH_LINE
    }

    /// Whether longer following may tell: the camera takes along, `closely` or more or less, what may have a line; or before a
    /// camera that stands it surely goes its own way, and its line may be faint, or it hangs there.
    pub fn is_worth_following_on(&self, now_s: f64, picture_width: f64, closely: bool) -> bool {
        let along = self.surely_stays() || self.is_taken_along(now_s, picture_width, closely);
        let own_way = self.part_seen() >= SEEN
            && self.is_slim()
            && self.differs.is_some_and(|d| d >= DIFFERS)
            && self.motion(now_s, picture_width).crosses();
        self.may_have_line() && along || own_way || self.hangs(now_s, picture_width)
    }

    /// Whether it is as slim as a whole lure looks in this view.
    fn is_slim(&self) -> bool {
        let wide = match self.view {
            View::Above | View::Side => WIDE,
            View::Behind | View::Ahead => WIDE_FORESHORTENED,
        };
        self.width < wide
    }

    /// Whether a line has shown at all, or it moves as a slim whole: then the line may be faint.
    pub fn is_hopeful(&self) -> bool {
        let moves = self.differs.is_some_and(|d| d >= DIFFERS);
        self.part(self.line().frames) >= HOPEFUL
            || moves && self.is_slim() && self.part_seen() >= SEEN
    }

    /// Sum of the strengths of its line.
    pub fn strength(&self) -> f64 {
        self.line().strength
    }

    fn line(&self) -> Line {
        clearest(&self.streaks)
    }

    fn part(&self, frames: usize) -> f64 {
        frames as f64 / self.frames.max(1) as f64
    }

    /// Whether it moves over the background and, where that slides by, keeps its place in the picture:
    /// near stones slide by faster than the rest of the bottom, the lure does not.
    pub fn goes_its_own_way(&self, now_s: f64, picture_width: f64) -> bool {
        let motion = self.motion(now_s, picture_width);
        motion.travels() && (motion.camera_stands() || motion.keeps_place(KEEPS_PLACE))
    }

    /// Whether it is taken along by a moving camera, `closely` or more or less.
    pub fn is_taken_along(&self, now_s: f64, picture_width: f64, closely: bool) -> bool {
        let motion = self.motion(now_s, picture_width);
        let part = if closely {
            KEEPS_PLACE_LONG
        } else {
            KEEPS_PLACE
        };
        motion.travels() && !motion.camera_stands() && motion.keeps_place(part)
    }

    fn motion(&self, now_s: f64, picture_width: f64) -> Motion {
        let way = |of: usize| [0, 1].map(|n| self.now[of][n] - self.began[of][n]);
        Motion {
            picture: way(0),
            scene: way(1),
            since_s: (now_s - self.began_s).max(0.1),
            picture_width,
        }
    }
}
