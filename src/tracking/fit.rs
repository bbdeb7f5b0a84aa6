//! Slides the silhouette over a picture until lure-coloured samples lie inside it and water outside.
//!
//! The measure is the log likelihood of the picture given the pose,
//! Σ ln(1 + S·(R − 1)), with S the silhouette's share at the sample and R the likelihood ratio
//! lure : surround of its colour. It is maximised by Gauss–Newton steps with Levenberg's damping, the
//! curvature taken from the outer product of the scores (Berndt, Hall, Hall & Hausman 1974).

use nalgebra::{SMatrix, SVector};

use super::colours::Voice;
use super::pose::Pose;
use super::shape::{Shape, Spot};
use super::window::Window;

/// How far each pose parameter may wander from its prediction (one standard deviation).
#[derive(Debug, Clone, Copy)]
pub struct Leash {
    /// Predicted place, px, and its standard deviation.
    pub place: ([f64; 2], f64),
    /// Predicted natural log of the scale along and its standard deviation.
    pub along: (f64, f64),
    /// The same across.
    pub across: (f64, f64),
    /// How many times over the picture counts itself, for neighbouring samples tell much the same; what
    /// is known of the scales beforehand is given the same weight.
    pub strength: f64,
}

/// A pose with how well the picture agrees.
#[derive(Debug, Clone, Copy)]
pub struct Fit {
    /// The pose by colours and look alike: what following and learning go by.
    pub pose: Pose,
    /// The pose read mainly from the look: what is reported.
    pub placed: Pose,
    /// Log likelihood above that of water alone, natural units.
    pub agreement: f64,
    /// How much of the silhouette looks like the lure, 0–1.
    pub likeness: f64,
}

/// Loudest that the look of a single sample may speak for or against the lure (natural log).
const LOUDEST: f32 = 2.5;

/// The samples of a window near the lure with what they say.
pub struct Evidence {
    samples: Vec<Sample>,
    /// how much of the say goes to the look of each spot once it is learned, 0–1
    trusting: f32,
}

/// Say of the look while the lure is looked for, and at last when its axis is read: colour in video is
/// coarse and lags, so it finds the lure more surely and the look places it more truly.
const TRUST_TO_FIND: f32 = 0.5;
const TRUST_TO_PLACE: f32 = 0.75;

struct Sample {
    x: f32,
    y: f32,
    /// log likelihood ratio lure : surround by colour alone
    log_ratio: f32,
    log_water: f32,
    colour: [f32; 3],
}

impl Sample {
    /// Likelihood ratio less one where the sample meets this spot of the lure, with its slopes along
    /// u and v: the lure's colours as a whole, and with weight `say` the look of this very spot.
    #[inline]
    fn excess(&self, spot: &Spot, say: f32) -> [f32; 3] {
        let Some([log_look, du, dv]) = spot.log_look else {
            return [self.log_ratio.exp() - 1.0, 0.0, 0.0];
        };
        let loud = log_look - self.log_water;
        let held = loud.clamp(-LOUDEST, LOUDEST);
        let ratio = ((1.0 - say) * self.log_ratio + say * held).exp();
        if loud.abs() >= LOUDEST {
            return [ratio - 1.0, 0.0, 0.0];
        }
        [ratio - 1.0, say * ratio * du, say * ratio * dv]
    }
}

impl Evidence {
    /// Gathers the samples within `radius_px` of `centre_px`, every `stride`-th column and row.
    pub fn gather(
        window: &Window,
        voices: &[Voice],
        centre_px: [f64; 2],
        radius_px: f64,
        stride: usize,
    ) -> Evidence {
        let mut samples = Vec::new();
        let reach = radius_px * radius_px;
        for row in (0..window.rows).step_by(stride) {
            for column in (0..window.columns).step_by(stride) {
                let p = window.point(column, row);
                let (dx, dy) = (p[0] - centre_px[0], p[1] - centre_px[1]);
                if dx * dx + dy * dy <= reach {
                    let voice = &voices[row * window.columns + column];
                    samples.push(Sample {
                        x: p[0] as f32,
                        y: p[1] as f32,
                        log_ratio: voice.log_ratio,
                        log_water: voice.log_water,
                        colour: voice.colour,
                    });
                }
            }
        }
        Evidence {
            samples,
            trusting: TRUST_TO_FIND,
        }
    }

    /// The same samples, listened to for the exact place.
    pub fn for_placing(mut self) -> Evidence {
        self.trusting = TRUST_TO_PLACE;
        self
    }

    /// Log likelihood of a pose above water alone.
    pub fn agreement(&self, shape: &Shape, pose: &Pose) -> f64 {
        let say = self.trusting * shape.look_weight();
        self.samples
            .iter()
            .map(|s| {
                let [u, v] = pose.body_point([f64::from(s.x), f64::from(s.y)]);
                let spot = shape.meets(u, v, &s.colour);
                f64::from((spot.share[0] * s.excess(&spot, say)[0]).ln_1p())
            })
            .sum()
    }

    /// Slides a round net of standard deviation `sigma_px` from `start` to where the lure's colours
    /// gather (mean shift).
    pub fn drawn_to(&self, start: [f64; 2], sigma_px: f64) -> [f64; 2] {
        let mut place = [start[0] as f32, start[1] as f32];
        let narrow = 0.5 / (sigma_px * sigma_px) as f32;
        for _ in 0..3 {
            let (mut weight, mut sum) = (1e-6f32, [0.0f32; 2]);
            for s in self.samples.iter().filter(|s| s.log_ratio > 0.5) {
                let (dx, dy) = (s.x - place[0], s.y - place[1]);
                let w = s.log_ratio * (-narrow * (dx * dx + dy * dy)).exp();
                weight += w;
                sum[0] += w * dx;
                sum[1] += w * dy;
            }
            place = [place[0] + sum[0] / weight, place[1] + sum[1] / weight];
        }
        [f64::from(place[0]), f64::from(place[1])]
    }

    /// Mean chance of lure over the silhouette, 0–1: how much of it looks like the lure.
    pub fn likeness(&self, shape: &Shape, pose: &Pose) -> f64 {
        let say = self.trusting * shape.look_weight();
        let (mut sum, mut weight) = (0.0, 1e-9);
        for s in &self.samples {
            let [u, v] = pose.body_point([f64::from(s.x), f64::from(s.y)]);
            let spot = shape.meets(u, v, &s.colour);
            let share = f64::from(spot.share[0]);
            if share > 0.0 {
                let ratio = f64::from(s.excess(&spot, say)[0]) + 1.0;
                sum += share * ratio / (1.0 + ratio);
                weight += share;
            }
        }
        sum / weight
    }

    /// Improves a pose; `steps` Gauss–Newton steps at most.
    pub fn improve(&self, shape: &Shape, start: Pose, leash: &Leash, steps: usize) -> Fit {
        let mut pose = start;
        let (mut value, mut slope, mut bend) = self.slopes(shape, &pose, leash);
        let mut damping = 1e-2;
        for _ in 0..steps {
            let mut matrix = bend;
            for k in 0..5 {
                matrix[(k, k)] += damping * bend[(k, k)] + 1e-9;
            }
            let Some(step) = matrix.cholesky().map(|c| c.solve(&slope)) else {
                break;
            };
            let step = limited(step, &pose);
            let next = moved(&pose, &step);
            let (next_value, next_slope, next_bend) = self.slopes(shape, &next, leash);
            if next_value > value {
                let gain = next_value - value;
                pose = next;
                (value, slope, bend) = (next_value, next_slope, next_bend);
                damping = (damping * 0.3).max(1e-4);
                if gain < 1e-3 {
                    break;
                }
            } else {
                damping = (damping * 8.0).max(1e-2);
                if damping > 1e3 {
                    break;
                }
            }
        }
        Fit {
            pose,
            placed: pose,
            agreement: value,
            likeness: self.likeness(shape, &pose),
        }
    }

    /// Value, gradient and curvature in (x, y, axis, ln along, ln across).
    fn slopes(
        &self,
        shape: &Shape,
        pose: &Pose,
        leash: &Leash,
    ) -> (f64, SVector<f64, 5>, SMatrix<f64, 5, 5>) {
        let say = self.trusting * shape.look_weight();
        let mut value = 0.0f64;
        let mut g = [0.0f32; 5];
        let mut h = [[0.0f32; 5]; 5];
        let (f, r) = (pose.forward(), pose.rightward());
        let (f, r) = ([f[0] as f32, f[1] as f32], [r[0] as f32, r[1] as f32]);
        let (x, y) = (pose.x_px as f32, pose.y_px as f32);
        let (a, c) = (1.0 / pose.along_px as f32, 1.0 / pose.across_px as f32);
        let stretch = (pose.across_px / pose.along_px) as f32;
        for s in &self.samples {
            let (dx, dy) = (s.x - x, s.y - y);
            let u = (dx * f[0] + dy * f[1]) * a;
            let v = (dx * r[0] + dy * r[1]) * c;
            let spot = shape.meets(f64::from(u), f64::from(v), &s.colour);
            let [share, share_du, share_dv] = spot.share;
            if share == 0.0 && share_du == 0.0 && share_dv == 0.0 {
                continue;
            }
            let [excess, excess_du, excess_dv] = s.excess(&spot, say);
            let odds = 1.0 + share * excess;
            value += f64::from(odds.ln());
            let du = (share_du * excess + share * excess_du) / odds;
            let dv = (share_dv * excess + share * excess_dv) / odds;
            if du == 0.0 && dv == 0.0 {
                continue;
            }
            // u and v change as the pose does: d(u,v)/d(x,y,axis,ln along,ln across)
            let j = [
                -du * f[0] * a - dv * r[0] * c,
                -du * f[1] * a - dv * r[1] * c,
                du * v * stretch - dv * u / stretch,
                -du * u,
                -dv * v,
            ];
            for m in 0..5 {
                g[m] += j[m];
                for n in 0..=m {
                    h[m][n] += j[m] * j[n];
                }
            }
        }
        let mut slope = SVector::<f64, 5>::from_fn(|m, _| f64::from(g[m]));
        let mut bend =
            SMatrix::<f64, 5, 5>::from_fn(|m, n| f64::from(if n <= m { h[m][n] } else { h[n][m] }));
        let ([aim_x, aim_y], roam) = leash.place;
        for (k, held, aim, weight) in [
            (0, pose.x_px, aim_x, 1.0 / (roam * roam)),
            (1, pose.y_px, aim_y, 1.0 / (roam * roam)),
            (
                3,
                pose.along_px.ln(),
                leash.along.0,
                leash.strength / leash.along.1.powi(2),
            ),
            (
                4,
                pose.across_px.ln(),
                leash.across.0,
                leash.strength / leash.across.1.powi(2),
            ),
        ] {
            value -= 0.5 * weight * (held - aim).powi(2);
            slope[k] -= weight * (held - aim);
            bend[(k, k)] += weight;
        }
        (value, slope, bend)
    }
}

/// A step no longer than a sixth of the lure, a third of a radian, a tenth in scale.
fn limited(step: SVector<f64, 5>, pose: &Pose) -> SVector<f64, 5> {
    let reach = pose.along_px / 6.0;
    let limits = [reach, reach, 0.3, 0.1, 0.1];
    let worst = (0..5)
        .map(|k| step[k].abs() / limits[k])
        .fold(1.0, f64::max);
    step / worst
}

fn moved(pose: &Pose, step: &SVector<f64, 5>) -> Pose {
    Pose {
        x_px: pose.x_px + step[0],
        y_px: pose.y_px + step[1],
        axis_rad: pose.axis_rad + step[2],
        along_px: pose.along_px * step[3].exp(),
        across_px: pose.across_px * step[4].exp(),
    }
}
