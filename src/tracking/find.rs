//! Finds the lure: whatever stands out or moves is followed for a moment, and what is drawn by a line over the
//! bottom, or is taken along by the camera for long enough, is the lure. A box from the user narrows the search
//! to itself.

use std::rc::Rc;

use super::backdrop::Backdrop;
use super::blobs::{self, OUTSTANDING};
use super::clear::Clear;
use super::line::{self, Fan};
use super::moving::{Moves, Moving};
use super::start_box::StartBox;
use super::staying::Staying;
use super::steady::Steady;
use super::track::Affine;
use super::trial::{DIFFERS, Ground, Trial};
use super::whole::Part;
use crate::Result;
use crate::camera::View;
use crate::media::{Clip, Frame};

/// Time of the first look, s, and how much later each further look is than the last.
const FIRST_LOOK_S: f64 = 0.1;
const LATER: f64 = 1.2;
const LONGEST_WAIT_S: f64 = 3.0;
/// Spots looked at, and how many of them are followed: so many by a streak like a line and the rest by how
/// clearly they stand out; besides twice so many that move, by colour and by brightness, some of them
/// taken along by the camera.
const SPOTS: usize = 14;
const FOLLOWED: usize = 5;
const MOVING: usize = 3;
const ALONG: usize = 2;
const BY_LINE: usize = 3;
/// Parts of the picture that are looked at as moving, one after the other: a small lure moves less of it than light does.
const MOVED: [f64; 3] = [0.001, 0.004, 0.012];
/// For how long they are followed before a line must have shown, s; after so long the hopeless are dropped.
const TRIAL_S: f64 = 0.45;
const HALF_TIME_S: f64 = 0.2;
/// Where the line is hard to tell from streaks of light, the spot must be taken along by the camera for so long, s,
/// and so many such spots are followed at a time.
const LONG_S: f64 = 2.4;
const LONG: usize = 2;
/// So close together frames tell nothing more, s: at 60 a second every second one is looked at.
const SPACING_S: f64 = 1.0 / 40.0;
/// Earlier pictures of the background are kept in steps of so many px.
const BACKDROP_STEP_PX: f64 = 1.0;
/// For so long after the box's own time a lure that could not be followed there is looked for, s.
const LOOKED_AGAIN_S: f64 = 1.5;
/// Where a spot stays in the picture as clearly as this, no other is the lure that stays so many times less clearly:
/// the line passes over stones.
const STAYS_AT_ALL: f64 = 1.0;
const CLEARER: f64 = 2.0;
/// What is found in the box or so is of its size to within these parts: light on the water may pass for a lure, but the
/// user saw how large it is.
const OF_BOX_SIZE: [f64; 2] = [0.4, 1.8];
/// The line off a spot in the user's box must be so much stronger than the line off the box as a whole.
const CLEARLY: f64 = 1.3;

/// Looks through `clip` until a lure is found; gives a box round it and its time. Without a line that shows there
/// is none: nothing else surely tells a lure from a fish, a leaf or glare that goes with the camera.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on.
pub fn lure(clip: &mut Clip, view: View) -> Result<Option<StartBox>> {
    search(
        &mut Look::new(clip, view),
        clip,
        view,
        [FIRST_LOOK_S, f64::INFINITY],
    )
}

/// Looks from one time to another, s.
fn search(
    look: &mut Look,
    clip: &mut Clip,
    view: View,
    [first_look, end_s]: [f64; 2],
) -> Result<Option<StartBox>> {
    let (mut trials, mut alone): (Vec<Trial>, Vec<Trial>) = (Vec::new(), Vec::new());
    let mut next_look = first_look;
    let mut began_s = f64::INFINITY;
    // at the first look nothing is known yet of what moves: such spots join in as soon as it is
    let mut joined = false;
    while look.looked_s < end_s && look.next(clip)? {
        let (now, width) = (look.looked_s, look.width);
        look.follow(trials.iter_mut().chain(&mut alone))?;
        look.hold_to_picture(&mut alone)?;
        alone.retain(|t| t.is_worth_following_on(now, width, false));
        let mut long = alone
            .iter()
            .filter(|t| now - t.began_s >= LONG_S && t.may_have_line());
        if let Some(found) = long.find(|t| t.surely_stays() || t.is_taken_along(now, width, true)) {
            return Ok(Some(found.whole(&look.frame)?));
        }
        if let Some(found) = with_faint_line(&alone, now, width)? {
            return Ok(Some(found.whole(&look.frame)?));
        }
        if now - began_s >= HALF_TIME_S {
            trials.retain(|t| t.part_seen() > 0.5);
        }
        let hopeless = now - began_s >= HALF_TIME_S && !trials.iter().any(Trial::is_hopeful);
        let over = now - began_s >= TRIAL_S || hopeless;
        let sure = trials
            .iter()
            .any(|t| t.surely_drawn_by_line() && !t.lies_on_bottom(now, width));
        if !over && !sure && !joined && began_s.is_finite() {
            let spots = look.taken_along()?;
            joined = spots.as_ref().is_some_and(|s| !s.is_empty());
            trials.extend(look.begin(view, spots.unwrap_or_default())?);
        }
        if over || sure {
            look.hold_to_picture(&mut trials)?;
        }
        let held = (over || sure) && look.hold_against(&mut trials)?;
        if over || held {
            let mut found = best_with_line(&trials, now, width)?;
            if over && found.is_none() {
                found = with_faint_line(&trials, now, width)?;
            }
            if let Some(found) = found {
                return Ok(Some(found.whole(&look.frame)?));
            }
        }
        if over {
            let room = LONG - alone.len().min(LONG);
            let onward = std::mem::take(&mut trials)
                .into_iter()
                .filter(|t| t.is_worth_following_on(now, width, true));
            alone.extend(onward.take(room));
            began_s = f64::INFINITY;
            next_look = now.max((LATER * next_look).min(next_look + LONGEST_WAIT_S));
        }
        if began_s.is_infinite() && now >= next_look {
            trials = look.begin(view, look.promising()?)?;
            began_s = now;
        }
    }
    // the clip ends in the middle of a trial
    best_with_line(&trials, look.looked_s, look.width)?
        .map(|found| found.whole(&look.frame))
        .transpose()
}

/// The lure in the user's box: the box as a whole or a spot in it, whichever is followed better. Where it cannot be
/// told there, as over a stone of its own colour, it is looked for soon after.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on.
pub fn in_box(clip: &mut Clip, view: View, given: &StartBox) -> Result<StartBox> {
    let mut look = Look::new(clip, view);
    let mut trials: Vec<Trial> = Vec::new();
    let mut began = false;
    while look.next(clip)? && look.frame.t_s < given.t_s + TRIAL_S {
        if look.frame.t_s + 1e-3 < given.t_s {
            continue;
        }
        if began {
            look.follow(trials.iter_mut())?;
        } else {
            began = true;
            let spots = blobs::find(&look.frame, SPOTS)?;
            let inside = spots.iter().map(|b| b.place).filter(|b| {
                let [x, y] = b.centre();
                given.holds(x, y) && is_of_size(b, given)
            });
            let first = Rc::new(look.frame.copy()?);
            trials.extend(Trial::of_box(&first, view, *given, &look.ground)?);
            trials.extend(look.begin(view, inside.take(FOLLOWED - 2).collect())?);
        }
    }
    // the box itself comes first: another spot must be followed clearly better
    let better = |best: &Trial, t: &Trial| match best.drawn_by_line() {
        true => t.drawn_by_line() && t.strength() > CLEARLY * best.strength(),
        false => t.drawn_by_line() || t.part_seen() > best.part_seen() + 0.2,
    };
    let best = trials
        .iter()
        .reduce(|best, t| if better(best, t) { t } else { best });
    let (now, width) = (look.looked_s, look.width);
    if best.is_none_or(|t| !t.drawn_by_line() && !t.goes_its_own_way(now, width)) {
        let found = search(&mut look, clip, view, [now, now + LOOKED_AGAIN_S])?;
        if let Some(found) = found.filter(|found| is_of_size(found, given)) {
            return Ok(found);
        }
    }
    Ok(best.map_or(*given, |t| StartBox {
        t_s: given.t_s,
        ..t.place
    }))
}

/// Whether what was found is about as large as the user's box.
fn is_of_size(found: &StartBox, given: &StartBox) -> bool {
    let part = found.w.max(found.h) / given.w.max(given.h);
    (OF_BOX_SIZE[0]..OF_BOX_SIZE[1]).contains(&part)
}

/// The frame that is looked at, and what is known of the background.
struct Look {
    frame: Frame,
    clear: Clear,
    steady: Steady,
    ground: Ground,
    moving: Moving,
    staying: Staying,
    /// its time, s, and its width, px
    looked_s: f64,
    width: f64,
}

impl Look {
    fn new(clip: &Clip, view: View) -> Look {
        Look {
            frame: Frame::default(),
            clear: Clear::default(),
            steady: Steady::new(clip.info().width as i32, clip.info().height as i32, view),
            ground: Ground {
                to_scene: Affine::IDENTITY,
                backdrop: Backdrop::new(view),
            },
            moving: Moving::default(),
            staying: Staying::default(),
            looked_s: f64::NEG_INFINITY,
            width: f64::from(clip.info().width),
        }
    }

    /// The next frame that is worth looking at; `false` at the clip's end.
    fn next(&mut self, clip: &mut Clip) -> Result<bool> {
        loop {
            if !clip.read(&mut self.frame)? {
                return Ok(false);
            }
            if self.frame.t_s - self.looked_s >= SPACING_S {
                break;
            }
        }
        self.looked_s = self.frame.t_s;
        self.clear.make(&mut self.frame)?;
        let to_scene = self.steady.next(&self.frame, None)?;
        self.moving.take(&self.frame, &to_scene)?;
        let backdrop = &mut self.ground.backdrop;
        backdrop.keep(&self.frame, 1.0, &to_scene, BACKDROP_STEP_PX)?;
        self.ground.to_scene = to_scene;
        self.staying.take(&self.frame)?;
        Ok(true)
    }

    fn begin(&self, view: View, spots: Vec<StartBox>) -> Result<Vec<Trial>> {
        let mut trials = Vec::new();
        if spots.is_empty() {
            return Ok(trials);
        }
        let first = Rc::new(self.frame.copy()?);
        for place in spots {
            trials.extend(Trial::begin(&first, view, place, &self.ground)?);
        }
        Ok(trials)
    }

    fn follow<'a>(&self, trials: impl Iterator<Item = &'a mut Trial>) -> Result<()> {
        for trial in trials {
            trial.follow(&self.frame, &self.ground)?;
        }
        Ok(())
    }

    fn moves(&self) -> Result<Option<Moves>> {
        self.moving.map(&self.frame, &self.ground.to_scene)
    }

    /// Holds the trials against what moves over the background; `false` while that is not known.
    fn hold_against(&self, trials: &mut [Trial]) -> Result<bool> {
        let Some(moves) = self.moves()? else {
            return Ok(false);
        };
        for trial in trials {
            trial.hold_against(&moves, &self.frame)?;
        }
        Ok(true)
    }

    /// Holds the trials to what stays in the picture.
    fn hold_to_picture(&self, trials: &mut [Trial]) -> Result<()> {
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
    fn taken_along(&self) -> Result<Option<Vec<StartBox>>> {
        let Some(map) = self.staying.map()? else {
            return Ok(None);
        };
        let spots = blobs::of_map(&map, OUTSTANDING, &self.frame, ALONG)?;
        Ok(Some(spots.iter().map(|b| b.place).collect()))
    }

    /// The most promising spots of the picture: those that move, then by the line, then by how clearly they
    /// stand out.
    fn promising(&self) -> Result<Vec<StartBox>> {
        let mut still = Vec::new();
        for blob in blobs::find(&self.frame, SPOTS)? {
            still.push(Part::cut(&self.frame, blob.place)?);
        }
        let mut by_line = Vec::new();
        for part in &still {
            by_line.push((self.streak(part)?, part));
        }
        by_line.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut places = self.taken_along()?.unwrap_or_default();
        if let Some(moves) = self.moves()? {
            for map in [&moves.by_colour, &moves.by_brightness] {
                let spots = blobs::of_map(map, MOVED, &self.frame, MOVING)?;
                places.extend(spots.iter().map(|b| b.place));
            }
        }
        let mut moving = Vec::new();
        for place in blobs::apart(places, 2 * MOVING, |place| place) {
            moving.push(Part::cut(&self.frame, place)?);
        }
        let most = FOLLOWED + moving.len();
        let by_line = by_line.iter().take(BY_LINE).map(|b| b.1);
        let mut chosen: Vec<&Part> = Vec::new();
        for part in moving.iter().chain(by_line).chain(&still) {
            if chosen.len() < most && chosen.iter().all(|c| c.place != part.place) {
                chosen.push(part);
            }
        }
        let whole = chosen.iter().map(|part| part.whole(&self.frame, None));
        whole.collect()
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

/// The spot with the strongest line among those that do not stand on the bottom.
fn best_with_line(trials: &[Trial], now_s: f64, picture_width: f64) -> Result<Option<&Trial>> {
    let steadied = is_steadied(trials);
    let best = trials.iter().filter(|t| t.may_have_line());
    let best = best.map(Trial::how_it_stays).fold(0.0, f64::max);
    let slides_by = |t: &&Trial| best >= STAYS_AT_ALL && t.how_it_stays() < best / CLEARER;
    let mut drawn: Vec<&Trial> = trials
        .iter()
        .filter(|t| !slides_by(t) && !t.rests(now_s, picture_width))
        .filter(|t| !t.lies_on_bottom(now_s, picture_width))
        .filter(|t| {
            let own_way = t.stays_over_ground(now_s, picture_width)
                || t.goes_its_own_way(now_s, picture_width);
            match steadied {
                true => {
                    t.travels_along_line(now_s, picture_width)
                        || t.drawn_by_line()
                            && (own_way || t.differs().is_some_and(|d| d >= DIFFERS))
                }
                // where the bottom slides by, what slides with it is no lure
                false => t.surely_drawn_by_line() || t.drawn_by_line() && own_way,
            }
        })
        .collect();
    drawn.sort_by(|a, b| b.strength().total_cmp(&a.strength()));
    for trial in drawn {
        if trial.is_one_sided()? {
            return Ok(Some(trial));
        }
    }
    Ok(None)
}

/// A spot with a faint line that surely moves over the bottom, or that the camera takes along: where what stays in the
/// picture can be told, it must stay.
fn with_faint_line(trials: &[Trial], now_s: f64, picture_width: f64) -> Result<Option<&Trial>> {
    for trial in trials {
        let moves = trial.differs().is_some_and(|d| d >= DIFFERS)
            && trial.goes_its_own_way(now_s, picture_width);
        let along = trial.is_taken_along(now_s, picture_width, true);
        let told = trial.stays().unwrap_or(moves || along);
        if told && trial.drawn_by_faint_line(now_s, picture_width)? {
            return Ok(Some(trial));
        }
    }
    Ok(None)
}

/// Whether the background is laid over itself rightly: then many spots do not differ from what was there before, though
/// half of them were chosen because they do.
fn is_steadied(trials: &[Trial]) -> bool {
    let mut differs: Vec<f64> = trials.iter().filter_map(Trial::differs).collect();
    differs.sort_by(f64::total_cmp);
    differs.get(differs.len() / 3).is_some_and(|&d| d < DIFFERS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_four_times_the_size_of_the_box_is_not_what_the_user_meant() {
        let sized = |w: f64, h: f64| StartBox {
            x: 10.0,
            y: 10.0,
            w,
            h,
            t_s: 0.0,
        };
        let given = sized(64.0, 12.0);
        assert!(is_of_size(&sized(30.0, 50.0), &given));
        assert!(is_of_size(&sized(90.0, 30.0), &given));
        assert!(!is_of_size(&sized(256.0, 120.0), &given));
        assert!(!is_of_size(&sized(12.0, 10.0), &given));
    }
}
