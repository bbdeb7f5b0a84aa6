//! The lure's wobble-free way through the picture, thinned to what geometry needs.

use super::Series;
use super::robust::Line;
use super::smooth::{smooth, wobble_free};

/// Half the window, s, over which a moving camera's own way counts as travel; what is quicker is shake,
/// which turns the camera and moves lure and bottom alike. Somebody who walks or rows along changes
/// pace slowly, and hands sway for a second or two.
const TRAVEL_HALF_WINDOW_S: f64 = 3.0;

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
    /// Unit vector of the line in the picture where it was made out, else that of the pull.
    pub line: Vec<[f64; 2]>,
}

impl Sightings {
    /// The sightings of `series`. `cycles` is the wobble's phase (or empty), `travels` whether the
    /// camera moves along, `pull_deg` the pull direction and `line_seen` whether to follow the line
    /// from frame to frame.
    pub fn new(
        series: &Series,
        cycles: &[f64],
        travels: bool,
        pull_deg: f64,
        line_seen: bool,
    ) -> Sightings {
        let t = &series.t_s;
        let axis = |f: &dyn Fn(usize) -> f64| (0..t.len()).map(f).collect::<Vec<f64>>();
        let mut place: [Vec<f64>; 2] = Default::default();
        let mut wobbling: [Vec<f64>; 2] = Default::default();
        let mut travel: [Vec<f64>; 2] = Default::default();
        let mut turn: [Vec<f64>; 2] = Default::default();
        for k in 0..2 {
            let camera = axis(&|i| series.camera_px[i][k]);
            travel[k] =
                if travels { smooth(t, &camera, TRAVEL_HALF_WINDOW_S) } else { vec![0.0; t.len()] };
            turn[k] = axis(&|i| camera[i] - travel[k][i]);
            let steadied = axis(&|i| series.place_px[i][k] + turn[k][i]);
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
            line: lines(series, pull_deg, line_seen),
        }
    }

    /// How many sightings there are.
    pub fn len(&self) -> usize {
        self.t_s.len()
    }

    /// The sightings with the wobble left in the places.
    pub fn with_wobble(&self) -> Sightings {
        Sightings { place_px: self.wobbling_px.clone(), ..self.clone() }
    }

    /// Means over about `count` stretches of equal numbers of the samples kept by `keep`.
    pub fn thinned(&self, count: usize, keep: &[bool]) -> Sightings {
        let kept: Vec<usize> = (0..self.len()).filter(|&i| keep[i]).collect();
        let size = kept.len().div_ceil(count.max(1)).max(1);
        let mut thin = Sightings::default();
        for part in kept.chunks(size) {
            let n = part.len() as f64;
            let mean = |v: &[[f64; 2]]| {
                let sum = part.iter().fold([0.0; 2], |s, &i| [s[0] + v[i][0], s[1] + v[i][1]]);
                [sum[0] / n, sum[1] / n]
            };
            thin.t_s.push(part.iter().map(|&i| self.t_s[i]).sum::<f64>() / n);
            thin.place_px.push(mean(&self.place_px));
            thin.wobbling_px.push(mean(&self.wobbling_px));
            thin.turn_px.push(mean(&self.turn_px));
            thin.travel_px.push(mean(&self.travel_px));
            // The body keeps one frame's own length and slant: a mean over a wobble would shorten it.
            thin.body_px.push(self.body_px[part[part.len() / 2]]);
            thin.line.push(mean(&self.line));
        }
        thin
    }
}

/// Unit vector of an image angle, `[dx, dy]`.
pub fn direction(image_deg: f64) -> [f64; 2] {
    let (sin, cos) = image_deg.to_radians().sin_cos();
    [sin, -cos]
}

/// The line's direction at every sample: a straight trend through the frames in which it was made
/// out (it turns in the picture as the lure moves off the camera's axis), else the pull throughout.
fn lines(series: &Series, pull_deg: f64, line_seen: bool) -> Vec<[f64; 2]> {
    let seen: Vec<usize> = (0..series.len()).filter(|&i| series.line_deg[i].is_finite()).collect();
    if !line_seen || seen.len() < 8 {
        return vec![direction(pull_deg); series.len()];
    }
    let off = |i: &usize| crate::units::wrap_deg(series.line_deg[*i] - pull_deg);
    // Against the place where the lure is rather than against time: that is what turns it.
    let design = |i: usize| [1.0, series.place_px[i][0] * 1e-2, series.place_px[i][1] * 1e-2];
    let y: Vec<f64> = seen.iter().map(off).collect();
    let Some(fit) = plane_fit(&seen.iter().map(|&i| design(i)).collect::<Vec<_>>(), &y) else {
        let t: Vec<f64> = seen.iter().map(|&i| series.t_s[i]).collect();
        let line = Line::huber(&t, &y);
        return (0..series.len())
            .map(|i| direction(pull_deg + line.map_or(0.0, |l| l.at(series.t_s[i]))))
            .collect();
    };
    (0..series.len())
        .map(|i| {
            let d = design(i);
            direction(pull_deg + (0..3).map(|k| fit[k] * d[k]).sum::<f64>())
        })
        .collect()
}

/// Robust least squares of `y` on three columns (Huber weights); `None` where singular.
fn plane_fit(rows: &[[f64; 3]], y: &[f64]) -> Option<Vec<f64>> {
    let mut weights = vec![1.0; y.len()];
    let mut fit = vec![0.0; 3];
    let means: Vec<f64> =
        (0..3).map(|k| rows.iter().map(|r| r[k]).sum::<f64>() / rows.len() as f64).collect();
    for _ in 0..8 {
        let (mut a, mut b) = (vec![0.0; 9], vec![0.0; 3]);
        for ((r, y), w) in rows.iter().zip(y).zip(&weights) {
            let c = [1.0, r[1] - means[1], r[2] - means[2]];
            for p in 0..3 {
                for q in 0..3 {
                    a[p * 3 + q] += w * c[p] * c[q];
                }
                b[p] += w * c[p] * y;
            }
        }
        // A lure that stays in place says nothing about how the line turns: a ridge of 20 px keeps
        // the slopes near zero then.
        let ridge = 0.04 * a[0];
        a[4] += ridge;
        a[8] += ridge;
        let x = super::robust::solve(a, b)?;
        fit = vec![x[0] - x[1] * means[1] - x[2] * means[2], x[1], x[2]];
        let rest: Vec<f64> = rows
            .iter()
            .zip(y)
            .map(|(r, y)| y - (0..3).map(|k| fit[k] * r[k]).sum::<f64>())
            .collect();
        let limit = 1.345 * super::robust::spread(&rest);
        if limit <= 0.0 {
            break;
        }
        weights =
            rest.iter().map(|r| if r.abs() <= limit { 1.0 } else { limit / r.abs() }).collect();
    }
    Some(fit)
}
