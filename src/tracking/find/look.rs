//! A look at a frame: what stands out, moves or stays in it, and what lies behind.

use std::sync::Arc;

use rayon::prelude::*;

use super::super::backdrop::Backdrop;
use super::super::blobs::{self, OUTSTANDING};
use super::super::clear::Clear;
use super::super::line::{self, Fan};
use super::super::moving::{Moves, Moving};
use super::super::small::Small;
use super::super::standing::Standing;
use super::super::start_box::StartBox;
use super::super::staying::Staying;
use super::super::steady::Steady;
use super::super::track::Affine;
use super::super::trial::{Ground, Trial};
use super::super::whole::Part;
use crate::Result;
use crate::camera::View;
use crate::media::{Clip, Frame};

/// Spots looked at, and how many of them are followed: `BY_LINE` by a streak like a line and the rest by how clearly they
/// stand out; besides up to `MOVING` that are new before a camera that stands, and twice as many that move, by colour and by
/// brightness, some of them taken along by the camera.
pub const SPOTS: usize = 14;
pub const FOLLOWED: usize = 5;
const MOVING: usize = 3;
const ALONG: usize = 2;
const BY_LINE: usize = 3;
/// Parts of the picture that are looked at as moving, one after the other: a small lure moves less of it than light does.
const MOVED: [f64; 3] = [0.001, 0.004, 0.012];
/// Levels of the map of what is new (`standing.rs`) above which a spot may be passing by: its own units.
const PASSING: [f64; 3] = [1.0, 1.7, 2.8];
/// So close together frames tell nothing more, s: at 60 a second every second one is looked at.
const SPACING_S: f64 = 1.0 / 40.0;
/// Earlier pictures of the background are kept in steps of so many px.
const BACKDROP_STEP_PX: f64 = 1.0;

/// The frame that is looked at, and what is known of the background.
pub struct Look {
    /// The frame.
    pub frame: Frame,
    small: Option<Small>,
    clear: Clear,
    steady: Steady,
    /// What lies behind.
    pub ground: Ground,
    moving: Moving,
    staying: Staying,
    standing: Standing,
    /// The frame's time, s, and its width, px.
    pub looked_s: f64,
    pub width: f64,
}

impl Look {
    /// Before the first frame.
    pub fn new([width, height]: [f64; 2], view: View) -> Look {
        Look {
            frame: Frame::default(),
            small: None,
            clear: Clear::default(),
            steady: Steady::new(width as i32, height as i32, view),
            ground: Ground {
                to_scene: Affine::IDENTITY,
                backdrop: Backdrop::new(view),
            },
            moving: Moving::default(),
            staying: Staying::default(),
            standing: Standing::default(),
            looked_s: f64::NEG_INFINITY,
            width,
        }
    }

    /// Takes in a frame that was made clear already; `false` where it is too close to the last to tell anything.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn see(&mut self, frame: &Frame) -> Result<bool> {
        let tells = frame.t_s - self.looked_s >= SPACING_S;
        if tells {
            self.frame = frame.copy()?;
            self.take_in()?;
        }
        Ok(tells)
    }

    /// The next frame that is worth looking at; `false` at the clip's end.
    pub fn next(&mut self, clip: &mut Clip) -> Result<bool> {
        loop {
            if !clip.read(&mut self.frame)? {
                return Ok(false);
            }
            if self.frame.t_s - self.looked_s >= SPACING_S {
                break;
            }
        }
        self.clear.make(&mut self.frame)?;
        self.take_in()?;
        Ok(true)
    }

    /// Takes in what is told by the frame.
    fn take_in(&mut self) -> Result<()> {
        self.looked_s = self.frame.t_s;
        let to_scene = self.steady.next(&self.frame, None)?;
        let small = Small::of(&self.frame, &to_scene)?;
        self.moving.take(&small)?;
        self.standing.take(&small)?;
        self.small = Some(small);
        let backdrop = &mut self.ground.backdrop;
        backdrop.keep(&self.frame, 1.0, &to_scene, BACKDROP_STEP_PX)?;
        self.ground.to_scene = to_scene;
        self.staying.take(&self.frame)
    }

    /// Begins to follow spots of this frame.
    pub fn begin(&self, view: View, spots: Vec<StartBox>) -> Result<Vec<Trial>> {
        if spots.is_empty() {
            return Ok(Vec::new());
        }
        let first = Arc::new(self.frame.copy()?);
        let begun = spots
            .into_par_iter()
            .map(|place| Trial::begin(&first, view, place, &self.ground));
        Ok(begun
            .collect::<Result<Vec<_>>>()?
            .into_iter()
            .flatten()
            .collect())
    }

    /// Follows them into this frame.
    pub fn follow<'a>(&self, trials: impl Iterator<Item = &'a mut Trial>) -> Result<()> {
        let trials: Vec<&mut Trial> = trials.collect();
        trials
            .into_par_iter()
            .try_for_each(|trial| trial.follow(&self.frame, &self.ground))
    }

    fn moves(&self) -> Result<Option<Moves>> {
        match &self.small {
            Some(small) => self.moving.map(small),
            None => Ok(None),
        }
    }

    /// Holds the trials against what moves over the background; `false` while that is not known.
    pub fn hold_against(&self, trials: &mut [Trial]) -> Result<bool> {
        let Some(moves) = self.moves()? else {
            return Ok(false);
        };
        for trial in trials {
            trial.hold_against(&moves, &self.frame)?;
        }
        Ok(true)
    }

    /// Holds the trials to what stays in the picture.
    pub fn hold_to_picture(&self, trials: &mut [Trial]) -> Result<()> {
        if trials.is_empty() {
            return Ok(());
        }
        let map = self.staying.map()?;
        for trial in trials {
            trial.hold_to(map.as_ref(), &self.frame)?;
        }
        Ok(())
    }

    /// Spots that the camera takes along; `None` while that is not known.
    pub fn taken_along(&self) -> Result<Option<Vec<StartBox>>> {
        let Some(map) = self.staying.map()? else {
            return Ok(None);
        };
        let spots = blobs::of_map(&map, OUTSTANDING, &self.frame, ALONG)?;
        Ok(Some(spots.iter().map(|b| b.place).collect()))
    }

    /// Spots that are new where they are, before a camera that stands.
    fn passing_by(&self) -> Result<Vec<StartBox>> {
        let Some(map) = self.standing.map()? else {
            return Ok(Vec::new());
        };
        let spots = blobs::above(&map, PASSING, &self.frame, MOVING)?;
        Ok(spots.iter().map(|b| b.place).collect())
    }

    /// The most promising spots of the picture: those that are new before a camera that stands, that a moving one takes
    /// along, or that move, then by the line, then by how clearly they stand out.
    pub fn promising(&self) -> Result<Vec<StartBox>> {
        let blobs = blobs::find(&self.frame, SPOTS)?;
        let still = self.cut(blobs.iter().map(|blob| blob.place).collect())?;
        let mut by_line = Vec::new();
        for part in &still {
            by_line.push((self.streak(part)?, part));
        }
        by_line.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut places = self.passing_by()?;
        let most_moving = places.len() + 2 * MOVING;
        places.extend(self.taken_along()?.unwrap_or_default());
        if let Some(moves) = self.moves()? {
            for map in [&moves.by_colour, &moves.by_brightness] {
                let spots = blobs::of_map(map, MOVED, &self.frame, MOVING)?;
                places.extend(spots.iter().map(|b| b.place));
            }
        }
        let moving = self.cut(blobs::apart(places, most_moving, |place| place))?;
        let most = FOLLOWED + moving.len();
        let by_line = by_line.iter().take(BY_LINE).map(|b| b.1);
        let mut chosen: Vec<&Part> = Vec::new();
        for part in moving.iter().chain(by_line).chain(&still) {
            if chosen.len() < most && chosen.iter().all(|c| c.place != part.place) {
                chosen.push(part);
            }
        }
        let whole = chosen.par_iter().map(|part| part.whole(&self.frame, None));
        whole.collect()
    }

    /// What is cut out about spots.
    fn cut(&self, places: Vec<StartBox>) -> Result<Vec<Part>> {
        let parts = places.into_par_iter();
        parts.map(|place| Part::cut(&self.frame, place)).collect()
    }

    /// The strongest streak off either end of a spot.
    fn streak(&self, part: &Part) -> Result<f64> {
        let mut strength: f64 = 0.0;
        if let Some((pose, _)) = part.outline {
            for sense in [1.0, -1.0] {
                if let Some(streak) = line::strongest(&self.frame.luma, &pose, sense, Fan::WHOLE)? {
                    strength = strength.max(streak.strength);
                }
            }
        }
        Ok(strength)
    }
}
