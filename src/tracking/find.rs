//! Finds the lure: whatever stands out or moves is followed for a moment, and what is drawn by a line over the
//! bottom, or is taken along by the camera for long enough, is the lure. A box from the user narrows the search
//! to itself.

mod again;
mod look;
mod rounds;

use std::sync::Arc;

pub use self::again::Again;
use self::look::{FOLLOWED, Look, SPOTS};
use self::rounds::{Found, Rounds, TRIAL_S};
use super::blobs;
use super::start_box::StartBox;
use super::trial::Trial;
use crate::Result;
use crate::camera::View;
use crate::media::Clip;

/// For so long after the box's own time a lure that could not be followed there is looked for, s.
const LOOKED_AGAIN_S: f64 = 1.5;
/// What is found in the box or so is of its size to within these parts: light on the water may pass for a lure, but the
/// user saw how large it is.
const OF_BOX_SIZE: [f64; 2] = [0.4, 1.8];
/// The line off a spot in the user's box must be so much stronger than the line off the box as a whole.
const CLEARLY: f64 = 1.3;

/// Looks through `clip` until a lure is found; gives boxes round it with their times: when it was first followed, and when
/// it was known, for at first it may just have come in by its lip. Without a line that shows there is none: nothing else
/// surely tells a lure from a fish, a leaf or glare that goes with the camera.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on.
pub fn lure(clip: &mut Clip, view: View) -> Result<Vec<StartBox>> {
    let rounds = Rounds::from(0.0, view);
    let mut look = Look::new(size(clip), view);
    let found = search(&mut look, clip, rounds, f64::INFINITY)?;
    Ok(found.into_iter().flat_map(|f| [f.then, f.now]).collect())
}

/// Looks until a time, s.
fn search(
    look: &mut Look,
    clip: &mut Clip,
    mut rounds: Rounds,
    end_s: f64,
) -> Result<Option<Found>> {
    while look.looked_s < end_s && look.next(clip)? {
        if let Some(found) = rounds.go_on(look)? {
            return Ok(Some(found));
        }
    }
    // the clip ends in the middle of a round
    rounds.best(look)
}

/// Size of the picture, px.
fn size(clip: &Clip) -> [f64; 2] {
    [clip.info().width, clip.info().height].map(f64::from)
}

/// Where the lure in the user's box may be, the likeliest first: the box as a whole or a spot in it, whichever is followed
/// better, and then the box itself. Where it cannot be told there, as over a stone of its own colour, it is looked for soon
/// after.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on.
pub fn in_box(clip: &mut Clip, view: View, given: &StartBox) -> Result<Vec<StartBox>> {
    let mut look = Look::new(size(clip), view);
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
            let first = Arc::new(look.frame.copy()?);
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
        let found = search(
            &mut look,
            clip,
            Rounds::from(now, view),
            now + LOOKED_AGAIN_S,
        )?;
        let found = found.map(|found| found.then);
        if let Some(found) = found.filter(|found| is_of_size(found, given)) {
            return Ok(vec![found, *given]);
        }
    }
    let spot = best.map(|t| StartBox {
        t_s: given.t_s,
        ..t.place
    });
    let spot = spot.filter(|spot| spot != given);
    Ok(spot.into_iter().chain([*given]).collect())
}

/// Whether what was found is about as large as the user's box.
fn is_of_size(found: &StartBox, given: &StartBox) -> bool {
    let part = found.w.max(found.h) / given.w.max(given.h);
    (OF_BOX_SIZE[0]..OF_BOX_SIZE[1]).contains(&part)
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
