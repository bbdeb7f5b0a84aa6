//! Whether the follower has strayed onto the bottom: what slides through the picture with it is no lure. Then it goes
//! back to what it knew of the lure before.

use std::collections::VecDeque;

use super::follow::Follower;

/// What lies on the bottom moves over it by no more than this part of the bottom's slide through the picture …
const LIES: f64 = 0.3;
/// … once that has slid by this many lengths of the lure, and for so long, s: a hand sways less.
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
    way: VecDeque<Place>,
    known: VecDeque<(f64, Follower)>,
}

/// A place in the picture and on the background, px.
struct Place {
    t_s: f64,
    picture: [f64; 2],
    scene: [f64; 2],
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
        self.way.push_back(Place {
            t_s,
            picture,
            scene,
        });
        while self
            .way
            .front()
            .is_some_and(|p| p.t_s < t_s - LOOKED_BACK_S)
        {
            self.way.pop_front();
        }
        if let Some(since_s) = self.lies_since(follower.scale()[0]) {
            let strayed_s = since_s - BEFORE_S;
            let before = self
                .known
                .iter()
                .rposition(|(known_s, _)| *known_s <= strayed_s);
            self.known.truncate(before.unwrap_or(0) + 1);
            self.way.clear();
            *follower = self.known.back()?.1.clone();
            return Some(strayed_s);
        }
        let recent = |(known_s, _): &(f64, Follower)| t_s - known_s < KEPT_EVERY_S;
        if !self.known.back().is_some_and(recent) {
            self.known.push_back((t_s, follower.clone()));
        }
        // the first is kept for good: what was known at the start may be all there is
        while self
            .known
            .get(1)
            .is_some_and(|(known_s, _)| *known_s < t_s - LOOKED_BACK_S)
        {
            self.known.remove(1);
        }
        None
    }

    /// Since when it has lain on the bottom, s; `None` where it goes its own way or that cannot be told.
    fn lies_since(&self, length_px: f64) -> Option<f64> {
        let now = self.way.back()?;
        let mut since = None;
        for then in self.way.iter().rev().skip(1) {
            let way = |of: fn(&Place) -> [f64; 2]| [0, 1].map(|n| of(now)[n] - of(then)[n]);
            let (picture, scene) = (way(|p| p.picture), way(|p| p.scene));
            let slide = (scene[0] - picture[0]).hypot(scene[1] - picture[1]);
            let lies = scene[0].hypot(scene[1]) < LIES * slide;
            let told = slide > SLID * length_px && now.t_s - then.t_s > LONG_ENOUGH_S;
            match (lies, told) {
                (true, true) => since = Some(then.t_s),
                (false, true) => break,
                _ => (),
            }
        }
        since
    }
}
