//! The lure's wobble-free way through the picture, thinned to what geometry needs.

use super::Series;
use super::hand::Hand;
use super::smooth::{smooth, wobble_free};
use crate::units::wrap_deg;

/// Half the window, s, over which the line's direction is smoothed.
const LINE_HALF_WINDOW_S: f64 = 0.3;

/// What the camera does while it films.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CameraWork {
    /// It moves along over the lure.
    TravelsAbove,
    /// It moves along and looks along the water.
    Travels,
    /// It stands over the lure, on a tripod or in the hand.
    StandsAbove,
    /// It stands and looks along the water.
    Stands,
}

/// The lure and the camera as the picture shows them, without wobble, at every sample of a [`Series`].
#[derive(Debug, Clone, Default)]
pub struct Sightings {
    /// Time stamp, s.
    pub t_s: Vec<f64>,
    /// Middle of the body in the picture, without the wobble, px.
    pub place_px: Vec<[f64; 2]>,
    /// The same with the wobble and jitter still in it, px.
    pub wobbling_px: Vec<[f64; 2]>,
    /// The camera's travel over the bottom since the first sample, px of the bottom; zero for a
    /// camera that stands.
    pub travel_px: Vec<[f64; 2]>,
    /// Vector from tail to nose, px.
    pub body_px: Vec<[f64; 2]>,
    /// How far the camera is turned since the first frame (by shake, or after the lure), px of the
    /// background at the lure: to the right and downward.
    pub turn_px: Vec<[f64; 2]>,
    /// How far the camera's course may be off at the end of its way, one standard deviation, px to the right
    /// and downward: light and ripples carry the background along.
    pub course_sd_px: [f64; 2],
    /// Direction of the line in the picture, or of the pull; NaN in frames where no line was made out.
    pub line: Vec<[f64; 2]>,
}

impl Sightings {
    /// The sightings of `series`. `cycles` is the wobble's phase (or empty), `camera_work` what
    /// the camera does, `pull_deg` the pull direction and `line_seen` whether to follow the line
    /// from frame to frame.
    pub fn new(
        series: &Series,
        cycles: &[f64],
        camera_work: CameraWork,
        pull_deg: f64,
        line_seen: bool,
    ) -> Sightings {
        let t = &series.t_s;
        let axis = |f: &dyn Fn(usize) -> f64| (0..t.len()).map(f).collect::<Vec<f64>>();
        let mut place: [Vec<f64>; 2] = Default::default();
        let mut wobbling: [Vec<f64>; 2] = Default::default();
        let mut travel: [Vec<f64>; 2] = Default::default();
        let mut turn: [Vec<f64>; 2] = Default::default();
        let mut course_sd_px = [0.0; 2];
        for k in 0..2 {
            let camera = axis(&|i| series.camera_px[i][k]);
            let raw = axis(&|i| series.place_px[i][k]);
            let hand = match camera_work {
                CameraWork::TravelsAbove => Hand::travelling(t, &raw, &camera),
                CameraWork::Travels => Hand::travelling_believed(t, &camera),
                CameraWork::StandsAbove => Hand::standing(t, &raw, &camera),
                CameraWork::Stands => Hand::believed(&camera),
            };
            course_sd_px[k] = hand.course_sd;
            (travel[k], turn[k]) = (hand.travel, hand.turn);
            let steadied = axis(&|i| raw[i] + turn[k][i]);
            let path = wobble_free(t, &steadied, cycles);
            wobbling[k] = axis(&|i| steadied[i] - turn[k][i]);
            place[k] = axis(&|i| path[i] - turn[k][i]);
        }
        let pair = |v: &[Vec<f64>; 2]| v[0].iter().zip(&v[1]).map(|(a, b)| [*a, *b]).collect();
        Sightings {
            t_s: t.clone(),
            place_px: pair(&place),
            wobbling_px: pair(&wobbling),
            travel_px: pair(&travel),
            body_px: (0..t.len())
                .map(|i| direction(series.image_axis_deg[i]).map(|d| d * series.length_px[i]))
                .collect(),
            turn_px: pair(&turn),
            course_sd_px,
            line: lines(series, pull_deg, line_seen),
        }
    }

    /// How many sightings there are.
    pub fn len(&self) -> usize {
        self.t_s.len()
    }

    /// The sightings with the wobble left in the places.
    pub fn with_wobble(&self) -> Sightings {
        Sightings {
            place_px: self.wobbling_px.clone(),
            ..self.clone()
        }
    }

    /// Means over about `count` stretches of equal numbers of the samples kept by `keep`.
    pub fn thinned(&self, count: usize, keep: &[bool]) -> Sightings {
        let kept: Vec<usize> = (0..self.len()).filter(|&i| keep[i]).collect();
        let size = kept.len().div_ceil(count.max(1)).max(1);
        let mut thin = Sightings::default();
        for part in kept.chunks(size) {
            let n = part.len() as f64;
            let mean = |v: &[[f64; 2]]| {
                let sum = part
                    .iter()
                    .fold([0.0; 2], |s, &i| [s[0] + v[i][0], s[1] + v[i][1]]);
                [sum[0] / n, sum[1] / n]
            };
            thin.t_s
                .push(part.iter().map(|&i| self.t_s[i]).sum::<f64>() / n);
            thin.place_px.push(mean(&self.place_px));
            thin.wobbling_px.push(mean(&self.wobbling_px));
            thin.turn_px.push(mean(&self.turn_px));
            thin.travel_px.push(mean(&self.travel_px));
            // The body keeps one frame's own length and slant: a mean over a wobble would shorten it.
            thin.body_px.push(self.body_px[part[part.len() / 2]]);
            let lines = part
                .iter()
                .map(|&i| self.line[i])
                .filter(|l| l[0].is_finite());
            let sum = lines.fold([0.0; 2], |s, l| [s[0] + l[0], s[1] + l[1]]);
            thin.line
                .push(if sum == [0.0; 2] { [f64::NAN; 2] } else { sum });
        }
        thin
    }
}

/// Unit vector of an image angle, `[dx, dy]`.
pub fn direction(image_deg: f64) -> [f64; 2] {
    let (sin, cos) = image_deg.to_radians().sin_cos();
    [sin, -cos]
}

/// The line's direction at every sample: smoothed through the frames in which it was made out (it
/// turns in the picture as the lure moves off the camera's axis), NaN far from any; or the pull
/// throughout.
fn lines(series: &Series, pull_deg: f64, line_seen: bool) -> Vec<[f64; 2]> {
    if !line_seen {
        return vec![direction(pull_deg); series.len()];
    }
    let seen: Vec<usize> = (0..series.len())
        .filter(|&i| series.line_deg[i].is_finite())
        .collect();
    let t: Vec<f64> = seen.iter().map(|&i| series.t_s[i]).collect();
    let off: Vec<f64> = seen
        .iter()
        .map(|&i| wrap_deg(series.line_deg[i] - pull_deg))
        .collect();
    let smoothed = smooth(&t, &off, LINE_HALF_WINDOW_S);
    let mut lines = vec![[f64::NAN; 2]; series.len()];
    for (k, &i) in seen.iter().enumerate() {
        lines[i] = direction(pull_deg + smoothed[k]);
    }
    lines
}
