//! Whether the follower has strayed onto the bottom: what slides through the picture with it is no lure. Then it goes
//! back to what it knew of the lure before.

use std::collections::VecDeque;

use super::follow::Follower;
use super::trial::LIES;

/// What lies on the bottom is told once that has slid by this many lengths of the lure, and for so long, s: a hand sways
/// less.
const SLID: f64 = 1.0;
const LONG_ENOUGH_S: f64 = 0.2;
/// It is followed so far back, s.
const LOOKED_BACK_S: f64 = 1.5;
/// It strayed so long before it lay there, s, for it was drawn off the lure little by little.
const BEFORE_S: f64 = 0.1;
/// What is known of the lure is kept so often, s.
const KEPT_EVERY_S: f64 = 0.15;

/// Where it was seen, and what was known at times.
#[derive(Default)]
pub struct Astray {
    way: Way,
    known: VecDeque<(f64, Follower)>,
}

impl Astray {
    /// Takes in where the lure was seen, in the picture and on the background, px. Where it has lain on the bottom, the
    /// time from which on it had strayed, s, and the follower goes back to what it knew before.
    pub fn take(
        &mut self,
        t_s: f64,
        picture: [f64; 2],
        scene: [f64; 2],
        follower: &mut Follower,
    ) -> Option<f64> {
        self.way.go_on(Place {
            t_s,
            picture,
            scene,
        });
        if let Some(since_s) = self.way.lies_since(follower.scale()[0]) {
            let strayed_s = since_s - BEFORE_S;
            let before = self.known.iter().rposition(|known| known.0 <= strayed_s);
            self.known.truncate(before.unwrap_or(0) + 1);
            self.way = Way::default();
            *follower = self.known.back()?.1.clone();
            return Some(strayed_s);
        }
        let recent = |known: &(f64, Follower)| t_s - known.0 < KEPT_EVERY_S;
        if !self.known.back().is_some_and(recent) {
            self.known.push_back((t_s, follower.clone()));
        }
        // what was known just before the time looked back upon is kept: it may have strayed since then
        let old = |known: &(f64, Follower)| known.0 < t_s - LOOKED_BACK_S - BEFORE_S;
        while self.known.get(1).is_some_and(old) {
            self.known.pop_front();
        }
        None
    }
}

/// A place in the picture and on the background, px.
struct Place {
    t_s: f64,
    picture: [f64; 2],
    scene: [f64; 2],
}

/// The last places, oldest first.
#[derive(Default)]
struct Way(VecDeque<Place>);

impl Way {
    fn go_on(&mut self, place: Place) {
        let oldest_s = place.t_s - LOOKED_BACK_S;
        self.0.push_back(place);
        while self.0.front().is_some_and(|p| p.t_s < oldest_s) {
            self.0.pop_front();
        }
    }

    /// Since when it has lain on the bottom, s; `None` where it goes its own way or that cannot be told.
    fn lies_since(&self, length_px: f64) -> Option<f64> {
        let now = self.0.back()?;
        let mut since = None;
        for then in self.0.iter().rev().skip(1) {
            let way = |of: fn(&Place) -> [f64; 2]| [0, 1].map(|n| of(now)[n] - of(then)[n]);
            let (picture, scene) = (way(|p| p.picture), way(|p| p.scene));
            let slide = (scene[0] - picture[0]).hypot(scene[1] - picture[1]);
            let told = slide > SLID * length_px && now.t_s - then.t_s > LONG_ENOUGH_S;
            let lies = scene[0].hypot(scene[1]) < LIES * slide;
            match (told, lies) {
                (true, true) => since = Some(then.t_s),
                (true, false) => break,
                _ => (),
            }
        }
        since
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LENGTH_PX: f64 = 60.0;

    /// Since when something is found to lie that is `seen` in the picture, px, while the bottom slides by at `pace`, px/s.
    fn found(pace: f64, seen: impl Fn(f64) -> f64) -> Option<f64> {
        let mut way = Way::default();
        for frame in 0..60 {
            let t_s = f64::from(frame) / 30.0;
            let x = seen(t_s);
            way.go_on(Place {
                t_s,
                picture: [x, 100.0],
                scene: [x + pace * t_s, 100.0],
            });
        }
        way.lies_since(LENGTH_PX)
    }

    #[test]
    fn a_lure_that_is_towed_or_darts_does_not_lie_on_the_bottom() {
        assert_eq!(found(400.0, |_| 300.0), None);
        assert_eq!(found(400.0, |t| 300.0 + 60.0 * (9.0 * t).sin()), None);
        // before a camera that stands
        assert_eq!(found(0.0, |t| 20.0 + 300.0 * t), None);
    }

    #[test]
    fn a_stone_does_from_where_the_lure_was_left_for_it() {
        let left_s = 1.4;
        let since = found(400.0, |t| 300.0 - 400.0 * (t - left_s).max(0.0)).unwrap();
        assert!((1.0..=left_s).contains(&since), "{since}");
    }

    #[test]
    fn what_hangs_still_before_a_hand_that_sways_cannot_be_told_from_it() {
        assert_eq!(found(0.0, |t| 300.0 + 8.0 * (5.0 * t).sin()), None);
        assert_eq!(found(20.0, |t| 300.0 - 20.0 * t), None);
    }
}
