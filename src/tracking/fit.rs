//! Slides the silhouette over a picture until lure-coloured samples lie inside it and water outside.
//!
//! The log likelihood of the picture given the pose (see [`super::evidence`]) is maximised by Gauss–Newton
//! steps with Levenberg's damping, the curvature taken from the outer product of the scores (Berndt, Hall,
//! Hall & Hausman 1974).

use nalgebra::{SMatrix, SVector};

use super::evidence::{Evidence, LogSum};
use super::pose::Pose;
use super::shape::Shape;
use super::tether::Hold;

/// How far each pose parameter may wander from its prediction (one standard deviation).
#[derive(Debug, Clone, Copy)]
pub struct Leash {
    /// Predicted place, px, and its standard deviation.
    pub place: ([f64; 2], f64),
    /// Predicted natural log of the scale along and its standard deviation.
    pub along: (f64, f64),
    /// The same across.
    pub across: (f64, f64),
    /// Neither scale leaves its prediction by more than this (natural log).
    pub size_reach: f64,
    /// How many times over the picture counts itself, for neighbouring samples tell much the same; what
    /// is known of the scales beforehand is given the same weight.
    pub strength: f64,
    /// Where the line holds it; weighed as the scales are.
    pub hold: Option<Hold>,
}

impl Leash {
    fn within_reach(&self, pose: Pose) -> Pose {
        let held = |scale: f64, predicted: f64| {
            let [least, most] = [-1.0, 1.0].map(|way| (predicted + way * self.size_reach).exp());
            scale.clamp(least, most)
        };
        Pose {
            along_px: held(pose.along_px, self.along.0),
            across_px: held(pose.across_px, self.across.0),
            ..pose
        }
    }
}

/// A pose that cannot be bettered, with how well the picture agrees.
#[derive(Debug, Clone, Copy)]
pub struct Climbed {
    /// The pose.
    pub pose: Pose,
    /// Log likelihood above that of water alone, natural units.
    pub agreement: f64,
}

/// What was found of the lure.
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

/// Log likelihood that a further step must gain: less moves the pose by a small part of its own doubt.
const LEAST_GAIN: f64 = 0.02;

impl Evidence<'_> {
    /// Improves a pose; `steps` Gauss–Newton steps at most.
    pub fn improve(&self, shape: &Shape, start: Pose, leash: &Leash, steps: usize) -> Climbed {
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
            let next = leash.within_reach(moved(&pose, &step));
            let (next_value, next_slope, next_bend) = self.slopes(shape, &next, leash);
            if next_value > value {
                let gain = next_value - value;
                pose = next;
                (value, slope, bend) = (next_value, next_slope, next_bend);
                damping = (damping * 0.3).max(1e-4);
                if gain < LEAST_GAIN {
                    break;
                }
            } else {
                damping = (damping * 8.0).max(1e-2);
                if damping > 1e3 {
                    break;
                }
            }
        }
        Climbed {
            pose,
            agreement: value,
        }
    }

    /// Value, gradient and curvature in (x, y, axis, ln along, ln across).
    fn slopes(
        &self,
        shape: &Shape,
        pose: &Pose,
        leash: &Leash,
    ) -> (f64, SVector<f64, 5>, SMatrix<f64, 5, 5>) {
        let mut sum = LogSum::default();
        // the last three stay nought: processors reckon with four at a time
        let mut g = [0.0f32; 8];
        let mut h = [[0.0f32; 8]; 5];
        let (f, r) = (pose.forward(), pose.rightward());
        let (f, r) = ([f[0] as f32, f[1] as f32], [r[0] as f32, r[1] as f32]);
        let (a, c) = (1.0 / pose.along_px as f32, 1.0 / pose.across_px as f32);
        let stretch = (pose.across_px / pose.along_px) as f32;
        self.under(shape, pose, |sample| {
            let odds = sample.odds();
            sum.add(odds);
            let (share, excess, [u, v]) = (&sample.share, &sample.excess, sample.body);
            let du = (share[1] * excess[0] + share[0] * excess[1]) / odds;
            let dv = (share[2] * excess[0] + share[0] * excess[2]) / odds;
            if du == 0.0 && dv == 0.0 {
                return;
            }
            // u and v change as the pose does: d(u,v)/d(x,y,axis,ln along,ln across)
            let j = [
                -du * f[0] * a - dv * r[0] * c,
                -du * f[1] * a - dv * r[1] * c,
                du * v * stretch - dv * u / stretch,
                -du * u,
                -dv * v,
                0.0,
                0.0,
                0.0,
            ];
            for n in 0..8 {
                g[n] += j[n];
            }
            for m in 0..5 {
                for n in 0..8 {
                    h[m][n] += j[m] * j[n];
                }
            }
        });
        let mut value = sum.total();
        let mut slope = SVector::<f64, 5>::from_fn(|m, _| f64::from(g[m]));
        let mut bend = SMatrix::<f64, 5, 5>::from_fn(|m, n| f64::from(h[m][n]));
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
        if let Some(hold) = &leash.hold {
            let (off, changes) = hold.off(pose);
            for n in 0..2 {
                let weight = leash.strength / hold.spread_px[n].powi(2);
                value -= 0.5 * weight * off[n] * off[n];
                slope -= weight * off[n] * changes[n];
                bend += weight * changes[n] * changes[n].transpose();
            }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_goes_to_the_end_of_its_reach_and_no_farther() {
        let held = |along_px: f64, size_reach: f64| {
            let leash = Leash {
                place: ([0.0; 2], 1.0),
                along: (50f64.ln(), 0.1),
                across: (50f64.ln(), 0.1),
                size_reach,
                strength: 1.0,
                hold: None,
            };
            let pose = Pose {
                x_px: 7.0,
                y_px: 8.0,
                axis_rad: 0.1,
                along_px,
                across_px: 50.0,
            };
            leash.within_reach(pose)
        };
        assert!((held(20.0, 0.35).along_px - 50.0 / 0.35f64.exp()).abs() < 1e-9);
        assert!((held(90.0, 0.35).along_px - 50.0 * 0.35f64.exp()).abs() < 1e-9);
        assert_eq!(held(60.0, 0.35), held(60.0, f64::INFINITY));
        assert_eq!(held(20.0, f64::INFINITY).along_px, 20.0);
    }
}
