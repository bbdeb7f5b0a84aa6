//! Spots followed in rounds, each for a moment, until one is the lure.

use super::super::start_box::StartBox;
use super::super::trial::{DIFFERS, Trial};
use super::look::Look;
use crate::Result;
use crate::camera::View;

/// So long after the search begins the first round does, s.
const FIRST_LOOK_S: f64 = 0.1;
/// By how much longer each further round is waited for than the last, and for how long at most, s.
const LATER: f64 = 1.2;
const LONGEST_WAIT_S: f64 = 3.0;
/// For how long the spots are followed before a line must have shown, s; after so long the hopeless are dropped.
pub const TRIAL_S: f64 = 0.45;
const HALF_TIME_S: f64 = 0.2;
/// Where the line is hard to tell from streaks of light, the spot must be taken along by the camera for so long, s,
/// and so many such spots are followed at a time.
const LONG_S: f64 = 2.4;
const LONG: usize = 2;
/// What has not told what it is after so long, s, never will.
const TOO_LONG_S: f64 = 12.0;
/// Where a spot stays in the picture as clearly as this, no other is the lure that stays so many times less clearly:
/// the line passes over stones.
const STAYS_AT_ALL: f64 = 1.0;
const CLEARER: f64 = 2.0;

/// The spots that are followed.
pub struct Rounds {
    view: View,
    /// those of this round
    trials: Vec<Trial>,
    /// those of earlier rounds that are worth following on
    alone: Vec<Trial>,
    /// when the search began, and this round, infinite between two, and when the next is to begin, s
    since_s: f64,
    began_s: f64,
    next_s: f64,
    /// whether what the camera takes along has joined in: at the first look nothing is known of it yet
    joined: bool,
}

/// A lure that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Where it was when its round began.
    pub then: StartBox,
    /// Where it is in the frame that is looked at.
    pub now: StartBox,
}

impl Found {
    fn of(trial: &Trial, look: &Look) -> Result<Option<Found>> {
        Ok(Some(Found {
            then: trial.whole(&look.frame)?,
            now: trial.whole_now(&look.frame)?,
        }))
    }
}

/// How far a round is.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    Open,
    /// One spot is so clearly drawn by a line that it need not go on.
    Sure,
    Over,
}

impl Rounds {
    /// Before the first round, a little after `since_s`.
    pub fn from(since_s: f64, view: View) -> Rounds {
        Rounds {
            since_s,
            view,
            trials: Vec::new(),
            alone: Vec::new(),
            began_s: f64::INFINITY,
            next_s: since_s + FIRST_LOOK_S,
            joined: false,
        }
    }

    /// Goes on into the frame that is looked at; the lure once it is found.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on.
    pub fn go_on(&mut self, look: &Look) -> Result<Option<Found>> {
        look.follow(self.trials.iter_mut().chain(&mut self.alone))?;
        if let Some(found) = self.found_alone(look)? {
            return Found::of(found, look);
        }
        if look.looked_s - self.began_s >= HALF_TIME_S {
            self.trials.retain(|t| t.part_seen() > 0.5);
        }
        let stage = self.stage(look);
        if stage == Stage::Open {
            self.let_join(look)?;
        } else if let Some(found) = self.found_in_round(look, stage)? {
            return Found::of(found, look);
        }
        if stage == Stage::Over {
            self.end(look);
        }
        if self.began_s.is_infinite() && look.looked_s >= self.next_s {
            self.trials = look.begin(self.view, look.promising()?)?;
            self.began_s = look.looked_s;
        }
        Ok(None)
    }

    /// The lure among the spots of this round as far as it went.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on.
    pub fn best(&self, look: &Look) -> Result<Option<Found>> {
        match best_with_line(&self.trials, look.looked_s, look.width)? {
            Some(best) => Found::of(best, look),
            None => Ok(None),
        }
    }

    /// Drops all spots: what was found is not what is looked for. The next round begins with others.
    pub fn drop_all(&mut self, now_s: f64) {
        *self = Rounds::from(now_s, self.view);
    }

    /// The lure among those that are followed on, of which the hopeless are dropped.
    fn found_alone(&mut self, look: &Look) -> Result<Option<&Trial>> {
        let (now, width) = (look.looked_s, look.width);
        look.hold_to_picture(&mut self.alone)?;
        self.alone
            .retain(|t| t.is_worth_following_on(now, width, false) && now - t.began_s < TOO_LONG_S);
        let mut long = self
            .alone
            .iter()
            .filter(|t| now - t.began_s >= LONG_S && t.may_have_line());
        let tells = |t: &Trial| {
            t.surely_stays() || t.is_taken_along(now, width, true) || t.hangs(now, width)
        };
        match long.find(|t| tells(t)) {
            Some(found) => Ok(Some(found)),
            None => with_faint_line(&self.alone, now, width),
        }
    }

    fn stage(&self, look: &Look) -> Stage {
        let (now, width) = (look.looked_s, look.width);
        let hopeless =
            now - self.began_s >= HALF_TIME_S && !self.trials.iter().any(Trial::is_hopeful);
        let is_sure = |t: &Trial| {
            t.surely_drawn_by_line() && !t.lies_on_bottom(now, width) && !t.keeps_still(now, width)
        };
        if now - self.began_s >= TRIAL_S || hopeless {
            Stage::Over
        } else if self.trials.iter().any(is_sure) {
            Stage::Sure
        } else {
            Stage::Open
        }
    }

    /// Lets what the camera takes along join in as soon as it is known.
    fn let_join(&mut self, look: &Look) -> Result<()> {
        if self.joined || self.began_s.is_infinite() {
            return Ok(());
        }
        let spots = look.taken_along()?;
        self.joined = spots.as_ref().is_some_and(|s| !s.is_empty());
        let joining = look.begin(self.view, spots.unwrap_or_default())?;
        self.trials.extend(joining);
        Ok(())
    }

    /// The lure among the spots of a round that is over or sure; before its end only where it is known what moves.
    fn found_in_round(&mut self, look: &Look, stage: Stage) -> Result<Option<&Trial>> {
        look.hold_to_picture(&mut self.trials)?;
        let held = look.hold_against(&mut self.trials)?;
        if stage == Stage::Sure && !held {
            return Ok(None);
        }
        let (now, width) = (look.looked_s, look.width);
        match best_with_line(&self.trials, now, width)? {
            None if stage == Stage::Over => with_faint_line(&self.trials, now, width),
            found => Ok(found),
        }
    }

    /// Ends the round: what is worth it is followed on.
    fn end(&mut self, look: &Look) {
        let (now, width) = (look.looked_s, look.width);
        let onward = std::mem::take(&mut self.trials)
            .into_iter()
            .filter(|t| t.is_worth_following_on(now, width, true));
        let (hanging, going): (Vec<Trial>, Vec<Trial>) = onward.partition(|t| t.hangs(now, width));
        // many a stone seems to hang: one of them waits, and not in the place of what goes
        self.alone
            .retain(|t| going.is_empty() || !t.hangs(now, width));
        let room = LONG - self.alone.len().min(LONG);
        self.alone.extend(going.into_iter().take(room));
        if self.alone.is_empty() {
            self.alone.extend(hanging.into_iter().take(1));
        }
        self.began_s = f64::INFINITY;
        let waited_s = self.next_s - self.since_s;
        self.next_s = now.max(self.since_s + (LATER * waited_s).min(waited_s + LONGEST_WAIT_S));
    }
}

/// The spot with the strongest line among those that do not stand on the bottom, nor keep still before a camera that stands:
/// before the lure swims in, its line lies over many a stone.
fn best_with_line(trials: &[Trial], now_s: f64, picture_width: f64) -> Result<Option<&Trial>> {
    let steadied = is_steadied(trials);
    let best = trials.iter().filter(|t| t.may_have_line());
    let best = best.map(Trial::how_it_stays).fold(0.0, f64::max);
    let slides_by = |t: &&Trial| best >= STAYS_AT_ALL && t.how_it_stays() < best / CLEARER;
    let mut drawn: Vec<&Trial> = trials
        .iter()
        .filter(|t| !slides_by(t) && !t.keeps_still(now_s, picture_width))
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
