//! What the bottom says of a dart where it gives no fixed ground.
//!
//! A hand that turns the camera moves lure and bottom alike through the picture. Where they did so just before and after a
//! dart, the bottom is followed well enough to tell what is the hand for so short a time: freed of it, a dart stays and the
//! hand's answer goes. Light that dances over the bottom moves otherwise than the lure does, and tells nothing.

use super::hand::confirmed;
use super::hunts::{self, Excursion};
use super::smooth::wobble_free;

/// Before and after a dart for so long, s, lure and bottom are compared …
const FLANK_S: f64 = 1.2;
/// … over so many samples at least …
const LEAST_SAMPLES: usize = 15;
/// … and must share this part of the bottom's movement.
const SHARED: f64 = 0.5;

/// Lure and bottom across the pull, in body lengths of the moment, a value for each time.
pub(super) struct Bottom<'a> {
    t_s: &'a [f64],
    /// The lure in the picture, without its wobble and with it.
    place: &'a [f64],
    raw: &'a [f64],
    /// How the camera has moved over the bottom since the first time.
    camera: Vec<f64>,
}

impl<'a> Bottom<'a> {
    /// `place` is without the wobble, `raw` with it, and `camera` as it was found.
    pub fn new(t_s: &'a [f64], place: &'a [f64], raw: &'a [f64], camera: &[f64]) -> Bottom<'a> {
        Bottom {
            t_s,
            place,
            raw,
            // as smooth as the place is
            camera: wobble_free(t_s, camera, &[]),
        }
    }

    /// Whether an excursion of the lure in the picture is its own, of more than `least` body lengths; `None` where the bottom
    /// does not tell. `length_mm` is the body length where known.
    pub fn bears_out(&self, dart: &Excursion, least: f64, length_mm: Option<f64>) -> Option<bool> {
        let [from, to] = [self.t_s[dart.start], self.t_s[dart.end]];
        let beside = |t: f64| (from - FLANK_S..from).contains(&t) || t > to && t <= to + FLANK_S;
        let which: Vec<usize> = (0..self.t_s.len())
            .filter(|&i| beside(self.t_s[i]))
            .collect();
        if which.len() < LEAST_SAMPLES {
            return None;
        }
        let share = confirmed(self.t_s, self.place, &self.camera, &which)?;
        if share < SHARED {
            return None;
        }
        let freed = |of: &[f64]| -> Vec<f64> {
            let both = of.iter().zip(&self.camera);
            both.map(|(place, camera)| place + share * camera).collect()
        };
        // nothing is known of the way forward: the course is drawn over time
        let darts = hunts::find(
            self.t_s,
            self.t_s,
            &freed(self.place),
            &freed(self.raw),
            length_mm,
        );
        let same = |own: &Excursion| {
            own.size * dart.size > 0.0 && own.start < dart.end && dart.start < own.end
        };
        Some(darts.iter().any(|own| same(own) && own.size.abs() > least))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bumps of ±1 body length, at a time, s.
    fn bump(t: f64, at: f64) -> f64 {
        (-((t - at) / 0.2).powi(2)).exp()
    }

    /// Six seconds of a lure that darts left at 3 s by `dart`, before a camera that shakes, turns after it as `answer` says, and
    /// whose bottom is found to move by `seen` of that.
    fn told(dart: f64, answer: f64, seen: f64) -> Vec<(f64, Option<bool>)> {
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
        let shown = hunts::find(&t, &t, &place, &place, Some(60.0));
        let told = shown
            .iter()
            .map(|d| (d.size, bottom.bears_out(d, 0.75, Some(60.0))));
        told.collect()
    }

    #[test]
    fn a_dart_is_borne_out_and_the_hand_that_answers_it_is_not() {
        let told = told(1.3, -1.2, 1.0);
        assert_eq!(told.len(), 2, "{told:?}");
        assert!(told[0].0 < -1.0 && told[0].1 == Some(true), "{told:?}");
        assert!(told[1].0 > 0.8 && told[1].1 == Some(false), "{told:?}");
    }

    #[test]
    fn a_turn_of_the_camera_is_no_dart() {
        let told = told(0.0, 1.2, 1.0);
        assert!(told.iter().any(|t| t.0 < -0.8), "{told:?}");
        assert!(told.iter().all(|t| t.1 == Some(false)), "{told:?}");
    }

    #[test]
    fn a_bottom_that_moves_otherwise_tells_nothing() {
        let told = told(1.3, -1.2, 0.0);
        assert!(
            !told.is_empty() && told.iter().all(|t| t.1.is_none()),
            "{told:?}"
        );
    }
}
