//! Follows the end of the line, where the lure hangs: it shows where the body is hardly unlike the bottom.

use opencv::core::Mat;

use super::{FROM, Picture, TO, part_about, side, step};
use crate::Result;

/// From one look to the next the line turns no farther than this, degrees, and its end moves no farther than this
/// aside and along, in lengths of the lure.
const TURNS_DEG: f64 = 8.0;
const MOVES: f64 = 0.4;
/// Spacing of the search: degrees, and lengths of the lure.
const TURN_STEP_DEG: f64 = 1.0;
const MOVE_STEP: f64 = 0.025;
/// A streak this strong is the line, where that was seen just before.
const STILL_LINE: f64 = 4.0;
/// Of a point of the line so much of its usual contrast is left where the bottom is pale.
const LEAST_CONTRAST: f64 = 0.35;
/// A move along the line as far as it goes is laid as much as so many points of the line.
const RARELY_MOVES: f64 = 6.0;

/// The end of the line at the lure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineEnd {
    /// In the picture, px.
    pub at: [f64; 2],
    /// Direction of the line away from it, degrees clockwise from image-up.
    pub direction_deg: f64,
}

impl LineEnd {
    /// Unit vectors along the line, away from the lure, and to the right of that.
    pub fn frame(&self) -> [[f64; 2]; 2] {
        frame_of(self.direction_deg)
    }

    /// How far a point of the picture is off it along and across the line, px.
    pub fn off(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        self.frame()
            .map(|[i, j]| (x - self.at[0]) * i + (y - self.at[1]) * j)
    }

    /// Where it has got to since the last look, for a lure so long, px; `None` where no line is seen.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn followed(&self, luma: &Mat, along_px: f64) -> Result<Option<LineEnd>> {
        let reach = (TO - 0.5) * along_px;
        let far_end = |turn_deg: f64| along(self.at, self.direction_deg + turn_deg, reach);
        let reached = [-TURNS_DEG, 0.0, TURNS_DEG].map(far_end);
        let margin = (1.5 * MOVES + 0.1) * along_px + 4.0;
        let corners = reached.into_iter().chain([self.at]);
        let Some(part) = part_about(luma, corners, margin) else {
            return Ok(None);
        };
        let picture = Picture::cut(luma, part, along_px)?;
        let end = self.clearest(&picture, along_px).map(|beside| LineEnd {
            at: along(
                beside.at,
                beside.direction_deg,
                begins(&picture, &beside, along_px),
            ),
            ..beside
        });
        Ok(end)
    }

    /// The clearest streak from beside the end, if that is the line.
    fn clearest(&self, picture: &Picture, along_px: f64) -> Option<LineEnd> {
        let mut best = None;
        let mut most = STILL_LINE;
        for turn_deg in evenly(TURNS_DEG, TURN_STEP_DEG) {
            let direction_deg = self.direction_deg + turn_deg;
            let [ahead, across] = frame_of(direction_deg);
            for aside in evenly(MOVES, MOVE_STEP) {
                let aside_px = aside * along_px;
                let Some(strength) = picture.streak(self.at, ahead, aside_px, along_px) else {
                    continue;
                };
                // a long way from where it was, a streak must be the clearer
                let likely = strength - (turn_deg / TURNS_DEG).powi(2) - (aside / MOVES).powi(2);
                if likely > most {
                    most = likely;
                    best = Some(LineEnd {
                        at: [0, 1].map(|n| self.at[n] + aside_px * across[n]),
                        direction_deg,
                    });
                }
            }
        }
        best
    }
}

/// Where along a streak it begins, px from where it was looked for: what lies beyond that stands out as the streak does, and
/// what lies before it does not. It is the place after which the contrast sums up to the most.
fn begins(picture: &Picture, streak: &LineEnd, along_px: f64) -> f64 {
    let step = step(along_px);
    let [ahead, across] = streak.frame();
    let contrast_at = |r: f64| {
        let point = [0, 1].map(|n| streak.at[n] + r * ahead[n]);
        picture.contrast(point, across, side(along_px))
    };
    let most_px = MOVES * along_px;
    let steps = (((TO - 0.5) * along_px + most_px) / step) as usize;
    let points: Vec<(f64, f64)> = (0..steps)
        .map(|k| k as f64 * step - most_px)
        .filter_map(|r| Some((r, contrast_at(r)?)))
        .collect();
    let beyond = points.iter().filter(|(r, _)| *r > (FROM - 0.5) * along_px);
    let (count, sum) = beyond.fold((0.0, 0.0), |(n, sum), (_, c)| (n + 1.0, sum + c));
    let usual: f64 = sum / f64::max(count, 1.0);
    if usual == 0.0 {
        return 0.0;
    }
    let (mut sum, mut most, mut begins) = (0.0, f64::NEG_INFINITY, 0.0);
    for (r, contrast) in points.into_iter().rev() {
        // a clear spot counts no more than the line itself does
        sum += (contrast / usual).clamp(-1.0, 1.0) - LEAST_CONTRAST;
        let likely = sum - RARELY_MOVES * (r / most_px).powi(2);
        if r < most_px && likely > most {
            (most, begins) = (likely, r);
        }
    }
    begins
}

/// The point so far from another in a direction, degrees clockwise from image-up.
fn along([x, y]: [f64; 2], direction_deg: f64, way: f64) -> [f64; 2] {
    let [ahead, _] = frame_of(direction_deg);
    [x + way * ahead[0], y + way * ahead[1]]
}

/// Unit vectors along a direction, degrees clockwise from image-up, and to its right.
fn frame_of(direction_deg: f64) -> [[f64; 2]; 2] {
    let (sin, cos) = direction_deg.to_radians().sin_cos();
    [[sin, -cos], [cos, sin]]
}

/// From `-reach` to `reach` in even steps.
fn evenly(reach: f64, step: f64) -> impl Iterator<Item = f64> {
    let steps = (reach / step).round() as i32;
    (-steps..=steps).map(move |k| f64::from(k) * step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use opencv::core::{CV_8U, Mat, Point, Scalar};
    use opencv::imgproc;

    /// A line as bright as `value` from `end` upward, leaning to the right by `lean_deg`, over a mottled bottom.
    fn picture(end: [f64; 2], lean_deg: f64, value: f64) -> Mat {
        let mut picture =
            Mat::new_rows_cols_with_default(240, 240, CV_8U, Scalar::all(90.0)).unwrap();
        for k in 0..60 {
            let at = Point::new(k * 97 % 240, k * 61 % 240);
            let mottle = Scalar::all(84.0 + f64::from(k % 4) * 4.0);
            imgproc::circle(&mut picture, at, 9, mottle, -1, 8, 0).unwrap();
        }
        let [from, to] = [0.0, 200.0].map(|way| {
            let [x, y] = along(end, lean_deg, way);
            Point::new(x as i32, y as i32)
        });
        imgproc::line(&mut picture, from, to, Scalar::all(value), 2, 8, 0).unwrap();
        picture
    }

    #[test]
    fn the_end_is_followed_along_aside_and_as_the_line_turns() {
        let mirrored = |[x, y]: [f64; 2], mirror: bool| [if mirror { 240.0 - x } else { x }, y];
        let moves = [([110.0, 170.0], 5.0), ([128.0, 158.0], 13.0)];
        for (end, lean_deg) in moves {
            for (value, mirror) in [(140.0, false), (140.0, true), (30.0, false)] {
                let side = if mirror { -1.0 } else { 1.0 };
                let last = LineEnd {
                    at: mirrored([118.0, 168.0], mirror),
                    direction_deg: side * 8.0,
                };
                let end = mirrored(end, mirror);
                let picture = picture(end, side * lean_deg, value);
                let look = |last: LineEnd| last.followed(&picture, 50.0).unwrap().unwrap();
                // along the line it lags by a look
                let now = look(look(last));
                let off = (now.at[0] - end[0]).hypot(now.at[1] - end[1]);
                assert!(off < 4.0, "{now:?} for {end:?}");
                assert!((now.direction_deg - side * lean_deg).abs() < 2.0, "{now:?}");
            }
        }
    }

    #[test]
    fn the_end_of_a_line_that_stays_does_not_creep() {
        let picture = picture([110.0, 170.0], 5.0, 140.0);
        let mut end = LineEnd {
            at: [110.0, 170.0],
            direction_deg: 5.0,
        };
        for _ in 0..60 {
            end = end.followed(&picture, 50.0).unwrap().unwrap();
        }
        let off = end.off([110.0, 170.0]);
        assert!(off[0].hypot(off[1]) < 4.0, "{end:?}");
    }

    #[test]
    fn no_line_is_followed_where_there_is_none() {
        let bare = Mat::new_rows_cols_with_default(240, 240, CV_8U, Scalar::all(90.0)).unwrap();
        let last = LineEnd {
            at: [118.0, 168.0],
            direction_deg: 8.0,
        };
        assert_eq!(last.followed(&bare, 50.0).unwrap(), None);
    }
}
