//! What the bottom says of a dart where it gives no fixed ground.
//!
//! A hand that turns the camera moves lure and bottom alike through the picture. Where they did so just before and after a
//! dart, the bottom is followed well enough to tell what is the hand for so short a time: freed of it, a dart stays and the
//! hand's answer goes. Light that dances over the bottom moves otherwise than the lure does, and tells nothing.

use super::hand::confirmed;
use super::hunts::{self, Excursion};
use super::robust::spread;
use super::smooth::wobble_free;

/// Before and after a dart for so long, s, lure and bottom are compared …
const FLANK_S: f64 = 1.2;
/// … over so many samples at least …
const LEAST_SAMPLES: usize = 15;
/// … in which the camera moves by this, body lengths (one standard deviation) …
const LEAST_MOVED: f64 = 0.03;
/// … and must share this part of the bottom's movement, there and over the whole time.
const SHARED: f64 = 0.5;

/// Lure and bottom across the pull, in body lengths of the moment, a value for each time.
pub(super) struct Bottom<'a> {
    t_s: &'a [f64],
    /// The lure in the picture, without its wobble and with it.
    place: &'a [f64],
    raw: &'a [f64],
    /// How the camera has moved over the bottom since the first time, as smooth as the place, and as it was found.
    camera: Vec<f64>,
    raw_camera: &'a [f64],
    /// What part of that the lure shares over the whole time.
    share: f64,
}

impl<'a> Bottom<'a> {
    /// `place` is without the wobble, `raw` with it, and `camera` as it was found.
    pub fn new(t_s: &'a [f64], place: &'a [f64], raw: &'a [f64], camera: &'a [f64]) -> Bottom<'a> {
        let smooth = wobble_free(t_s, camera, &[]);
        Bottom {
            share: confirmed(t_s, place, &smooth, |_| true).unwrap_or(0.0),
            t_s,
            place,
            raw,
            camera: smooth,
            raw_camera: camera,
        }
    }

    /// The excursions of more than `least` body lengths that are left when the hand is taken away, where the bottom tells
    /// that. `length_mm` is the body length where known.
    pub fn darts(&self, least: f64, length_mm: Option<f64>) -> Vec<Excursion> {
        // the share comes out too small where the bottom is found badly: a rest of the hand's own way shows in one of the two
        let by_share = self.freed(self.share, length_mm);
        let wholly = self.freed(1.0, length_mm);
        let told = by_share.into_iter().filter(|dart| {
            let stays = wholly
                .iter()
                .any(|other| other.size * dart.size > 0.0 && other.overlaps(dart));
            dart.size.abs() > least && stays && self.tells(dart)
        });
        told.collect()
    }

    /// The excursions that are left when such a share of the camera's movement is taken away.
    fn freed(&self, share: f64, length_mm: Option<f64>) -> Vec<Excursion> {
        let freed = |of: &[f64], camera: &[f64]| -> Vec<f64> {
            let both = of.iter().zip(camera);
            both.map(|(place, camera)| place + share * camera).collect()
        };
        let place = freed(self.place, &self.camera);
        let raw = freed(self.raw, self.raw_camera);
        // nothing is known of the way forward: the course is drawn over time
        hunts::find(self.t_s, self.t_s, &place, &raw, length_mm)
    }

    /// Whether the bottom tells what is the hand about the time of an excursion.
    pub fn tells(&self, of: &Excursion) -> bool {
        let [from, to] = [self.t_s[of.start], self.t_s[of.end]];
        let beside = |t: f64| (from - FLANK_S..from).contains(&t) || t > to && t <= to + FLANK_S;
        let both = self.t_s.iter().zip(&self.camera);
        let camera: Vec<f64> = both
            .filter(|(t, _)| beside(**t))
            .map(|(_, camera)| *camera)
            .collect();
        let shares = || confirmed(self.t_s, self.place, &self.camera, beside);
        self.share >= SHARED
            && camera.len() >= LEAST_SAMPLES
            && spread(&camera) > LEAST_MOVED
            && shares().is_some_and(|share| share >= SHARED)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bumps of ±1 body length, at a time, s.
    fn bump(t: f64, at: f64) -> f64 {
        (-((t - at) / 0.2).powi(2)).exp()
    }

    /// The darts told, by time and size, and whether the bottom tells at 3 s: six seconds of a lure that darts left at 3 s by
    /// `dart`, before a camera that shakes, turns after it as `answer` says, and whose bottom is found to move by `seen` of
    /// that.
    fn told(dart: f64, answer: f64, seen: f64) -> (Vec<[f64; 2]>, bool) {
        let t: Vec<f64> = (0..180).map(|i| f64::from(i) / 30.0).collect();
        let turned = |t: f64| 0.1 * (4.0 * t).sin() + answer * bump(t, 3.5);
        let camera: Vec<f64> = t
            .iter()
            .map(|&t| seen * turned(t) + (1.0 - seen) * 0.3 * (7.3 * t).cos())
            .collect();
        let place: Vec<f64> = t
            .iter()
            .map(|&t| -dart * bump(t, 3.0) - turned(t))
            .collect();
        let bottom = Bottom::new(&t, &place, &place, &camera);
        let darts = bottom.darts(0.75, Some(60.0));
        let at_3_s = Excursion {
            start: 80,
            peak: 90,
            end: 100,
            size: -1.0,
            sd: 0.1,
            recovered: true,
        };
        (
            darts.iter().map(|d| [t[d.peak], d.size]).collect(),
            bottom.tells(&at_3_s),
        )
    }

    #[test]
    fn a_dart_to_either_side_is_told_and_the_hand_that_answers_it_is_not() {
        for (side, answer) in [1.0, -1.0]
            .into_iter()
            .flat_map(|side| [0.0, 0.8, 1.2, 1.6].map(|answer| (side, answer)))
        {
            let (darts, tells) = told(side * 1.3, side * -answer, 1.0);
            assert!(tells);
            let [[at_s, size]] = darts[..] else {
                panic!("{side} {answer}: {darts:?}");
            };
            let own_side = side * -size;
            assert!(
                (at_s - 3.0).abs() < 0.1 && (1.1..1.7).contains(&own_side),
                "{side} {answer}: {darts:?}"
            );
        }
    }

    #[test]
    fn a_turn_of_the_camera_is_no_dart() {
        assert_eq!(told(0.0, 1.2, 1.0), (vec![], true));
    }

    #[test]
    fn a_bottom_that_moves_otherwise_tells_nothing() {
        assert_eq!(told(1.3, -1.2, 0.0), (vec![], false));
    }
}
