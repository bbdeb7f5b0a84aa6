//! What of the background's movement is the hand that holds the camera, and what is light and ripples.
//!
//! A hand that shakes or turns moves lure and background alike through the picture, so that the lure's way
//! over ground is freed of it by adding the background's movement. Caustics and ripples carry the background
//! along and leave the lure where it is: adding those would make a straight path crooked, and a slip of them a
//! dart. The lure tells the two apart.

use super::robust::Line;
use super::smooth::smooth;

/// Half the window, s, over which a moving camera's own way counts as travel; what is quicker is shake.
/// Somebody who walks or rows along changes pace slowly, and hands sway for a second or two.
const SLOW_HALF_WINDOW_S: f64 = 3.0;
/// Errors that add up from step to step (a random walk) leave a course off by this many times their RMS about
/// their own straight line, over the whole way: √(6/5·N) against √(N/15) steps.
const WALK_COURSE: f64 = 4.24;
/// A ramp goes this many times its RMS from end to end: √12.
const RAMP_COURSE: f64 = 3.46;

/// One coordinate of the background's movement, judged by the lure. Lengths in px.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Hand {
    /// The camera's way without shake; zero for one that stands.
    pub travel: Vec<f64>,
    /// Its turns and shake.
    pub turn: Vec<f64>,
    /// How far the course may be off at the end of the way, one standard deviation.
    pub course_sd: f64,
}

impl Hand {
    /// Of a camera that travels along with a lure at `place`, with the background's movement `camera`.
    pub fn travelling(t_s: &[f64], place: &[f64], camera: &[f64]) -> Hand {
        let travel = smooth(t_s, camera, SLOW_HALF_WINDOW_S);
        let quick = less(camera, &travel);
        let share = share_of_all(t_s, place, camera);
        let even = vec![1.0; camera.len()];
        let about_line = Line::least_squares(t_s, camera, &even).map_or(0.0, |line| {
            let off: Vec<f64> = t_s.iter().map(|&t| line.at(t)).collect();
            rms(&less(camera, &off))
        });
        Hand {
            travel,
            turn: quick.iter().map(|q| share * q).collect(),
            course_sd: WALK_COURSE * (1.0 - share).sqrt() * about_line,
        }
    }

    /// Of a camera that stands, on a tripod or in the hand. Errors of the background do not add up here; slow
    /// ones are taken to be as large as the quick ones that the lure denies.
    pub fn standing(t_s: &[f64], place: &[f64], camera: &[f64]) -> Hand {
        let slow = smooth(t_s, camera, SLOW_HALF_WINDOW_S);
        let quick = less(camera, &slow);
        let share = share_of_all(t_s, place, camera);
        let error = (1.0 - share).sqrt() * rms(&quick);
        let middle = slow.iter().sum::<f64>() / slow.len().max(1) as f64;
        let sway: Vec<f64> = slow.iter().map(|s| s - middle).collect();
        let beyond = 1.0 - (error / rms(&sway).max(1e-9)).powi(2);
        let slow_share = beyond.max(0.0).max(share);
        Hand {
            travel: vec![0.0; camera.len()],
            turn: (0..camera.len())
                .map(|i| share * quick[i] + slow_share * sway[i])
                .collect(),
            course_sd: RAMP_COURSE * error * slow_share.sqrt(),
        }
    }

    /// Of a camera that travels and looks along the water, believed whole: the perspective bends the lure's
    /// place against the background there, which would pass for a hand.
    pub fn travelling_believed(t_s: &[f64], camera: &[f64]) -> Hand {
        let travel = smooth(t_s, camera, SLOW_HALF_WINDOW_S);
        Hand {
            turn: less(camera, &travel),
            travel,
            course_sd: 0.0,
        }
    }

    /// Of a camera that stands, believed whole.
    pub fn believed(camera: &[f64]) -> Hand {
        Hand {
            travel: vec![0.0; camera.len()],
            turn: camera.to_vec(),
            course_sd: 0.0,
        }
    }
}

/// How much of the background's quick movement the lure confirms, 0–1, over all samples; 1 where that cannot be told.
fn share_of_all(t_s: &[f64], place: &[f64], camera: &[f64]) -> f64 {
    confirmed(t_s, place, camera, |_| true).unwrap_or(1.0)
}

/// How much of the background's quick movement `camera` the lure confirms at the times `when`, 0–1, by moving through the
/// picture the other way: the share that leaves it the straightest path (a Huber line of its place, without what is slow,
/// against the background). `None` where that cannot be told.
pub(super) fn confirmed(
    t_s: &[f64],
    place: &[f64],
    camera: &[f64],
    when: impl Fn(f64) -> bool,
) -> Option<f64> {
    let quick = |of: &[f64]| -> Vec<f64> {
        let quick = less(of, &smooth(t_s, of, SLOW_HALF_WINDOW_S));
        let all = t_s.iter().zip(quick);
        all.filter(|(t, _)| when(**t)).map(|(_, q)| q).collect()
    };
    let line = Line::huber(&quick(camera), &quick(place))?;
    Some((-line.slope).clamp(0.0, 1.0))
}

fn less(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

fn rms(values: &[f64]) -> f64 {
    let squares: f64 = values.iter().map(|v| v * v).sum();
    (squares / values.len().max(1) as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn clock() -> Vec<f64> {
        (0..180).map(|i| f64::from(i) / 30.0).collect()
    }

    /// Evenly spread noise of one standard deviation, the same every time.
    fn noise(count: usize, from: u64) -> Vec<f64> {
        let mut state = from;
        (0..count)
            .map(|_| {
                state = state.wrapping_mul(6364136223846793005).wrapping_add(1);
                (state >> 33) as f64 / f64::from(1_u32 << 31) * 12_f64.sqrt() - 3_f64.sqrt()
            })
            .collect()
    }

    fn walk(steps: &[f64]) -> Vec<f64> {
        steps
            .iter()
            .scan(0.0, |sum, step| {
                *sum += step;
                Some(*sum)
            })
            .collect()
    }

    #[test]
    fn shake_that_the_lure_confirms_is_kept() {
        let t = clock();
        let shake: Vec<f64> = t.iter().map(|t| 5.0 * (9.0 * t).sin()).collect();
        let camera: Vec<f64> = t.iter().zip(&shake).map(|(t, s)| 300.0 * t + s).collect();
        let place: Vec<f64> = t.iter().zip(&shake).map(|(t, s)| 8.0 * t - s).collect();
        let hand = Hand::travelling(&t, &place, &camera);
        for (turn, shake) in hand.turn.iter().zip(&shake).take(150).skip(30) {
            assert_abs_diff_eq!(turn, shake, epsilon = 0.5);
        }
    }

    #[test]
    fn a_background_that_slips_while_the_lure_keeps_still_is_no_shake() {
        let t = clock();
        let camera: Vec<f64> = walk(&noise(t.len(), 7)).iter().map(|w| 2.0 * w).collect();
        let place = noise(t.len(), 11);
        let hand = Hand::travelling(&t, &place, &camera);
        assert!(rms(&hand.turn) < 0.2 * rms(&camera));
        assert!(hand.course_sd > 0.0);
    }

    #[test]
    fn a_slip_on_a_tripod_is_left_out_and_a_hand_that_sinks_is_kept() {
        let t = clock();
        let place: Vec<f64> = t.iter().map(|t| 40.0 * t).collect();
        let ripples = noise(t.len(), 3);
        assert!(rms(&Hand::standing(&t, &place, &ripples).turn) < 0.2);
        let sinks: Vec<f64> = t.iter().zip(&ripples).map(|(t, r)| 10.0 * t + r).collect();
        let hand = Hand::standing(&t, &place, &sinks);
        let [first, last] = [hand.turn[0], hand.turn[t.len() - 1]];
        assert_abs_diff_eq!(last - first, 60.0, epsilon = 6.0);
    }

    /// Over 500 random walks of the background the course is off by as much as is said, and as often.
    #[test]
    fn the_course_is_as_sure_as_it_says() {
        let t = clock();
        let off_by = |from: u64| {
            let camera = walk(&noise(t.len(), 1 + 97 * from));
            let hand = Hand::travelling(&t, &noise(t.len(), 5 + 89 * from), &camera);
            let line = Line::least_squares(&t, &camera, &vec![1.0; t.len()]).unwrap();
            line.slope.abs() * 6.0 / hand.course_sd
        };
        let held = (0..500).filter(|&from| off_by(from) < 1.96).count();
        assert!((425..=500).contains(&held), "{held} of 500");
    }
}
