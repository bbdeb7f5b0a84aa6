//! Holds the lure by its line: where on the body that ends is learned, and tells where the lure hangs while its body hardly
//! stands out from the bottom.

use nalgebra::SVector;

use super::line::{LineEnd, Streak};
use super::pose::Pose;
use crate::Result;
use crate::media::Frame;
use crate::units::wrap_deg;

/// At first the line is taken to end at the tip of the silhouette, as if it had been seen there so often.
const FIRST_WEIGHT: usize = 15;
const TIP: f64 = 0.5;
/// What was learned changes no faster than as the mean of so many.
const LEARNED_OF: usize = 60;
/// An end farther than this from the middle of the body, in lengths, is not the lure's: its silhouette may have shrunk.
const FARTHEST: f64 = 1.3;
/// A line seen in a direction that far from that of the one followed, degrees, is another.
const APART_DEG: f64 = 15.0;
/// Not seen for so long, s, it is looked for anew; nor is a line one that goes on for so long without its lure.
const FORGOTTEN_S: f64 = 0.5;
/// The end is known no better than this along and across the line, in lengths of the lure.
const LEAST_SPREAD: [f64; 2] = [0.08, 0.04];

/// The end of the line in one picture, and where on the body it is as a rule.
#[derive(Debug, Clone, Copy)]
pub struct Hold {
    /// Body coordinates `[u, v]`.
    pub body: [f64; 2],
    /// The line in the picture.
    pub end: LineEnd,
    /// One standard deviation of its end along and across it, px.
    pub spread_px: [f64; 2],
}

impl Hold {
    /// A pose moved so that the line ends where it does.
    pub fn hung(&self, pose: Pose) -> Pose {
        let [x, y] = pose.picture_point(self.body);
        Pose {
            x_px: pose.x_px + self.end.at[0] - x,
            y_px: pose.y_px + self.end.at[1] - y,
            ..pose
        }
    }

    /// How far the line's end on a body that lies so is off the one seen, along and across the line, px, and how that
    /// changes with the pose (x, y, axis, ln along, ln across).
    pub fn off(&self, pose: &Pose) -> ([f64; 2], [SVector<f64, 5>; 2]) {
        let off = self.end.off(pose.picture_point(self.body));
        let (f, r) = (pose.forward(), pose.rightward());
        let (along, across) = (self.body[0] * pose.along_px, self.body[1] * pose.across_px);
        let changes = self.end.frame().map(|[i, j]| {
            let (ahead, aside) = (f[0] * i + f[1] * j, r[0] * i + r[1] * j);
            let turning = along * aside - across * ahead;
            SVector::from([i, j, turning, along * ahead, across * aside])
        });
        (off, changes)
    }
}

/// The line of a lure that is followed, once it was seen.
#[derive(Debug, Clone, Default)]
pub struct Tether(Option<Known>);

/// What is known of the line.
#[derive(Debug, Clone)]
struct Known {
    end: LineEnd,
    /// whether `end` was seen in this very frame
    seen_now: bool,
    /// when it and its lure were seen last, s
    seen_s: f64,
    lure_seen_s: f64,
    /// where on the body it ends
    body: [f64; 2],
    /// mean square distance from there along and across the line, in lengths
    scatter: [f64; 2],
    /// how many frames these means are of
    weight: usize,
}

impl Tether {
    /// Looks where the line has got to; for a lure so long, px.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn look(&mut self, frame: &Frame, along_px: f64) -> Result<()> {
        let Some(known) = &mut self.0 else {
            return Ok(());
        };
        let now = known.end.followed(&frame.luma, along_px)?;
        known.seen_now = now.is_some();
        if let Some(now) = now {
            known.end = now;
            known.seen_s = frame.t_s;
        }
        if frame.t_s - known.seen_s.min(known.lure_seen_s) > FORGOTTEN_S {
            self.0 = None;
        }
        Ok(())
    }

    /// What holds a lure of that length, px, in this picture, if the line is seen in it.
    pub fn hold(&self, along_px: f64) -> Option<Hold> {
        let known = self.0.as_ref().filter(|known| known.seen_now)?;
        let spread = |n: usize| known.scatter[n].sqrt().max(LEAST_SPREAD[n]) * along_px;
        Some(Hold {
            body: known.body,
            end: known.end,
            spread_px: [spread(0), spread(1)],
        })
    }

    /// The lure was seen.
    pub fn lure_seen(&mut self, t_s: f64) {
        if let Some(known) = &mut self.0 {
            known.lure_seen_s = t_s;
        }
    }

    /// Learns from a lure that surely lies so. `streak`: the line seen off its end `sense` (+1 or −1).
    pub fn learn(&mut self, t_s: f64, pose: &Pose, streak: Option<(f64, Streak)>) {
        let Some(known) = &mut self.0 else {
            self.0 = streak.map(|(sense, streak)| Known::first(t_s, pose, sense, streak));
            return;
        };
        let [u, v] = pose.body_point(known.end.at);
        let is_another = streak.is_some_and(|(sense, streak)| {
            let apart_deg = wrap_deg(streak.direction_deg - known.end.direction_deg).abs();
            sense * known.body[0] < 0.0 || apart_deg > APART_DEG
        });
        if is_another || known.seen_now && u.hypot(v) > FARTHEST {
            self.0 = None;
        } else if known.seen_now {
            known.learn(pose, [u, v]);
        }
    }
}

impl Known {
    fn first(t_s: f64, pose: &Pose, sense: f64, streak: Streak) -> Known {
        let body = [TIP * sense, 0.0];
        Known {
            end: LineEnd {
                at: pose.picture_point(body),
                direction_deg: streak.direction_deg,
            },
            seen_now: false,
            seen_s: t_s,
            lure_seen_s: t_s,
            body,
            scatter: LEAST_SPREAD.map(|n| n * n),
            weight: FIRST_WEIGHT,
        }
    }

    /// The line ends at `body` of a lure that lies so.
    fn learn(&mut self, pose: &Pose, body: [f64; 2]) {
        self.weight = (self.weight + 1).min(LEARNED_OF);
        let rate = 1.0 / self.weight as f64;
        let off_px = self.end.off(pose.picture_point(self.body));
        for n in 0..2 {
            let off = off_px[n] / pose.along_px;
            self.scatter[n] += rate * (off * off - self.scatter[n]);
            self.body[n] += rate * (body[n] - self.body[n]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use opencv::core::{CV_8U, Mat, Point, Scalar};
    use opencv::imgproc;

    const POSE: Pose = Pose {
        x_px: 100.0,
        y_px: 80.0,
        axis_rad: 0.3,
        along_px: 50.0,
        across_px: 40.0,
    };

    fn hold() -> Hold {
        Hold {
            body: [0.5, 0.1],
            end: LineEnd {
                at: [120.0, 50.0],
                direction_deg: 20.0,
            },
            spread_px: [4.0, 2.0],
        }
    }

    #[test]
    fn a_hung_lure_ends_at_its_line() {
        let ([along, across], _) = hold().off(&hold().hung(POSE));
        assert!(along.abs() < 1e-9 && across.abs() < 1e-9);
    }

    #[test]
    fn how_far_it_is_off_changes_with_the_pose_as_told() {
        let small = 1e-6;
        let (off, told) = hold().off(&POSE);
        let moved = [
            Pose {
                x_px: POSE.x_px + small,
                ..POSE
            },
            Pose {
                y_px: POSE.y_px + small,
                ..POSE
            },
            Pose {
                axis_rad: POSE.axis_rad + small,
                ..POSE
            },
            Pose {
                along_px: POSE.along_px * small.exp(),
                ..POSE
            },
            Pose {
                across_px: POSE.across_px * small.exp(),
                ..POSE
            },
        ];
        for (k, pose) in moved.iter().enumerate() {
            let (now, _) = hold().off(pose);
            for n in 0..2 {
                let change = (now[n] - off[n]) / small;
                assert!((change - told[n][k]).abs() < 1e-3, "{k} {n}: {change}");
            }
        }
    }

    const STREAK: Streak = Streak {
        direction_deg: 20.0,
        strength: 9.0,
    };

    #[test]
    fn where_the_line_ends_is_learned_and_off_the_other_end_it_is_another() {
        let mut tether = Tether::default();
        tether.learn(0.0, &POSE, Some((1.0, STREAK)));
        assert!(tether.hold(50.0).is_none(), "not seen in a frame yet");
        for _ in 0..300 {
            let known = tether.0.as_mut().unwrap();
            known.end.at = POSE.picture_point([0.6, 0.0]);
            known.seen_now = true;
            tether.learn(0.1, &POSE, None);
        }
        let hold = tether.hold(50.0).unwrap();
        assert!((hold.body[0] - 0.6).abs() < 0.01, "{hold:?}");
        let mut other = tether.clone();
        other.learn(0.2, &POSE, Some((-1.0, STREAK)));
        assert!(other.hold(50.0).is_none());
        // nor is an end the lure's that lies far off it
        tether.0.as_mut().unwrap().end.at = POSE.picture_point([1.5, 0.0]);
        tether.learn(0.2, &POSE, None);
        assert!(tether.hold(50.0).is_none());
    }

    /// A line that ends at the tip of the lure.
    fn picture(t_s: f64) -> Frame {
        let mut luma = Mat::new_rows_cols_with_default(200, 200, CV_8U, Scalar::all(90.0)).unwrap();
        let end = POSE.picture_point([TIP, 0.0]);
        let (sin, cos) = STREAK.direction_deg.to_radians().sin_cos();
        let far = [end[0] + 150.0 * sin, end[1] - 150.0 * cos];
        let [from, to] = [end, far].map(|p| Point::new(p[0] as i32, p[1] as i32));
        imgproc::line(&mut luma, from, to, Scalar::all(150.0), 2, 8, 0).unwrap();
        let mut frame = Frame {
            t_s,
            ..Frame::default()
        };
        *frame.luma.writable().unwrap() = luma;
        frame
    }

    #[test]
    fn a_line_that_goes_on_without_its_lure_holds_no_more() {
        let mut tether = Tether::default();
        tether.learn(0.0, &POSE, Some((1.0, STREAK)));
        for step in 1..60 {
            let t_s = f64::from(step) / 30.0;
            tether.look(&picture(t_s), POSE.along_px).unwrap();
            assert_eq!(
                tether.hold(50.0).is_some(),
                t_s < 1.0 + FORGOTTEN_S,
                "{t_s}"
            );
            if t_s < 1.0 {
                tether.lure_seen(t_s);
            }
        }
    }
}
