//! What the clip and the user leave open about the geometry, drawn many times and weighed by how well
//! each draw agrees with the clip: the spread of the draws goes into every interval.

use statrs::distribution::{ContinuousCDF, Normal};

use super::robust::{Line, median_direction_deg, spread, weighted_quantile};
use super::sightings::Sightings;
use super::stance::{Stance, Way};
use crate::camera::{Setup, View, focal_px};

/// How many stances are drawn.
const DRAWS: usize = 1500;

/// Into how many stretches the sightings are thinned for the draws.
const STRETCHES: usize = 48;

/// Disagreement between thirds of the clip that counts as one standard deviation: body length (ln),
/// pull azimuth (degrees), speed of a standing camera's lure (ln).
const BODY_SD: f64 = 0.03;
const AZIMUTH_SD_DEG: f64 = 0.7;
const PACE_SD: f64 = 0.2;

/// A camera that follows or leads travels along the pull within this standard deviation, degrees.
const COURSE_SD_DEG: f64 = 2.0;

/// Standard deviation of the body length found in the picture (outline, pitch, lip), ln.
const LENGTH_SD: f64 = 0.015;

/// How far lures that dive swim nose down, degrees (common practice; no published source).
pub(super) const DIVES_DEG: f64 = 8.0;

/// Focal length of a usual lens, in long sides of the picture, and the standard deviation of its natural log: fields of view
/// of 20 to 75 degrees (95 %).
pub(super) const USUAL_FOCAL: f64 = 1.36;
pub(super) const USUAL_FOCAL_SD: f64 = 0.37;

/// A normal prior: mean and standard deviation.
type Normally = (f64, f64);

/// What is known beforehand of a [`Stance`].
#[derive(Debug, Clone, Copy)]
pub struct Prior {
    tilt_deg: Normally,
    /// Degrees outside which a tilt is not drawn.
    tilt_range_deg: [f64; 2],
    ln_focal_px: Option<Normally>,
    ln_depth_ratio: Normally,
    pitch_deg: Normally,
    line_rise_deg: Normally,
    /// How far the camera was turned down from the clip's start to its middle, px.
    turned_down_px: f64,
}

impl Prior {
    /// From the set-up; `travels` says whether the camera moves along.
    ///
    /// Where nothing is given: a camera that follows or waits looks down by 35 ± 12 or 30 ± 12
    /// degrees; the lens sees 20–75 degrees along the long side (95 %); a camera that moves along has
    /// the bottom 1.0–2.2 times as far away as the lure (95 %; rendered clips measured 1.5–2.3);
    /// lures that dive swim 8 ± 4 degrees nose down, the line rises by 0 ± 5 degrees. No published source.
    ///
    /// The tilt holds for the middle of the clip. A camera turned to keep the lure in the picture
    /// began with another one.
    pub fn new(setup: &Setup, travels: bool, picture_px: [f64; 2], seen: &Sightings) -> Prior {
        let oblique = matches!(setup.view, View::Behind | View::Ahead);
        let tilt_deg = match (setup.view, setup.tilt_deg) {
            (View::Side, _) | (View::Above, None) => (90.0, 0.0),
            (_, Some(tilt)) => (tilt, 2.0),
            (View::Behind, None) => (35.0, 12.0),
            (View::Ahead, None) => (30.0, 12.0),
        };
        let ln_focal_px = match setup.fov_deg {
            _ if setup.view == View::Side => None,
            _ if setup.view == View::Above && setup.tilt_deg.is_none_or(|t| t.abs() > 85.0) => None,
            Some(fov) => Some((
                focal_px(fov, picture_px).ln(),
                setup.focal_sd.unwrap_or(0.02),
            )),
            None => Some((
                (USUAL_FOCAL * picture_px[0].max(picture_px[1])).ln(),
                USUAL_FOCAL_SD,
            )),
        };
        let ln_depth_ratio = match (travels, setup.view) {
            (false, _) => (0.0, 0.0),
            // Whatever lies behind the lure in a side view may be near or far.
            (true, View::Side) => (1.5_f64.ln(), 0.3),
            (true, _) => (1.5_f64.ln(), 0.2),
        };
        let sign = if tilt_deg.0 < 0.0 { -1.0 } else { 1.0 };
        Prior {
            tilt_deg,
            tilt_range_deg: if sign > 0.0 {
                [8.0, 90.0]
            } else {
                [-90.0, -8.0]
            },
            ln_focal_px,
            ln_depth_ratio,
            pitch_deg: if oblique {
                (DIVES_DEG * sign * setup.rise_share, 4.0 * setup.rise_share)
            } else {
                (0.0, 0.0)
            },
            line_rise_deg: if oblique {
                (0.0, 5.0 * setup.rise_share)
            } else {
                (0.0, 0.0)
            },
            turned_down_px: super::robust::median(seen.turn_px.iter().map(|t| t[1])).unwrap_or(0.0),
        }
    }

    /// The stance at `z`, five standard normal deviates.
    fn stance(&self, z: [f64; 5]) -> Stance {
        let at = |(mean, sd): Normally, z: f64| mean + sd * z;
        let [low, high] = self.tilt_range_deg;
        let focal_px = self.ln_focal_px.map(|p| at(p, z[1]).exp());
        let turned = focal_px.map_or(0.0, |f| (self.turned_down_px / f).to_degrees());
        Stance {
            tilt_deg: (at(self.tilt_deg, z[0]) - turned).clamp(low, high),
            focal_px,
            depth_ratio: at(self.ln_depth_ratio, z[2]).exp(),
            pitch_deg: at(self.pitch_deg, z[3]),
            line_rise_deg: at(self.line_rise_deg, z[4]),
        }
    }

    /// The stance in the middle of the prior.
    pub fn middle(&self) -> Stance {
        self.stance([0.0; 5])
    }
}

/// One draw's answers.
#[derive(Debug, Clone, Copy)]
struct Draw {
    stance: Stance,
    /// Sideways over forward.
    drift: f64,
    /// Body lengths per second.
    pace: f64,
    /// Body length, px of the plane.
    body_px: f64,
    /// Body length where the lure usually is, px.
    body_at_lure_px: f64,
    /// Spread of the yaw, degrees.
    yaw_deg: f64,
    weight: f64,
}

/// The weighed draws.
#[derive(Debug, Clone)]
pub struct Ground {
    draws: Vec<Draw>,
}

impl Ground {
    /// Draws stances from `prior` and weighs them by `seen` (darts left out). `speed_bl_s`, where
    /// given, is the known speed in body lengths per second: it settles the bottom's depth.
    /// `None` where no stance fits.
    pub fn new(
        prior: &Prior,
        seen: &Sightings,
        picture_px: [f64; 2],
        speed_bl_s: Option<f64>,
    ) -> Option<Ground> {
        let keep = vec![true; seen.len()];
        let thin = seen.thinned(STRETCHES, &keep);
        let mut draws: Vec<(Draw, f64)> = (0..DRAWS)
            .filter_map(|k| {
                let stance = prior.stance(deviates(k + 1)?);
                draw(prior, stance, &thin, picture_px, speed_bl_s)
            })
            .collect();
        let best = draws.iter().map(|d| d.1).fold(f64::NEG_INFINITY, f64::max);
        for (d, log) in &mut draws {
            d.weight = (*log - best).exp();
        }
        (!draws.is_empty()).then(|| Ground {
            draws: draws.into_iter().map(|d| d.0).collect(),
        })
    }

    /// The weighed middle of the draws, parameter by parameter.
    pub fn best(&self) -> Stance {
        let total: f64 = self.draws.iter().map(|d| d.weight).sum();
        let mean = |f: &dyn Fn(&Stance) -> f64| {
            self.draws
                .iter()
                .map(|d| d.weight * f(&d.stance))
                .sum::<f64>()
                / total
        };
        let focal = self.draws.iter().any(|d| d.stance.focal_px.is_some());
        Stance {
            tilt_deg: mean(&|s| s.tilt_deg),
            focal_px: focal.then(|| mean(&|s| s.focal_px.unwrap_or(1.0).ln()).exp()),
            depth_ratio: mean(&|s| s.depth_ratio.ln()).exp(),
            pitch_deg: mean(&|s| s.pitch_deg),
            line_rise_deg: mean(&|s| s.line_rise_deg),
        }
    }

    /// Middle and half the spread (one standard deviation's worth, from the 2.5 and 97.5 % points,
    /// each side) of the drift's tangent over the draws.
    pub fn drift(&self) -> Spread {
        self.spread(|d| d.drift)
    }

    /// The same for the pace, body lengths per second.
    pub fn pace(&self) -> Spread {
        self.spread(|d| d.pace)
    }

    /// The same for the body length in px of the plane, outline errors included.
    pub fn body_px(&self) -> Spread {
        let s = self.spread(|d| d.body_px);
        let own = LENGTH_SD * s.middle;
        Spread {
            middle: s.middle,
            below: s.below.hypot(own),
            above: s.above.hypot(own),
        }
    }

    /// The same for the body length at the lure's usual place, px.
    pub fn body_at_lure_px(&self) -> Spread {
        self.spread(|d| d.body_at_lure_px)
    }

    /// The same for how far the yaw swings, degrees: its ratio to the middle tells how well the
    /// geometry knows angles.
    pub fn yaw_deg(&self) -> Spread {
        self.spread(|d| d.yaw_deg)
    }

    /// The same for the tilt, degrees.
    pub fn tilt_deg(&self) -> Spread {
        self.spread(|d| d.stance.tilt_deg)
    }

    fn spread(&self, pick: impl Fn(&Draw) -> f64) -> Spread {
        let values: Vec<f64> = self.draws.iter().map(pick).collect();
        let weights: Vec<f64> = self.draws.iter().map(|d| d.weight).collect();
        let at = |q| weighted_quantile(&values, &weights, q).unwrap_or(f64::NAN);
        let middle = at(0.5);
        Spread {
            middle,
            below: (middle - at(0.025)) / 1.96,
            above: (at(0.975) - middle) / 1.96,
        }
    }
}

/// A lopsided spread: the middle, and what counts as one standard deviation below and above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Median.
    pub middle: f64,
    /// One standard deviation downward.
    pub below: f64,
    /// One standard deviation upward.
    pub above: f64,
}

impl Spread {
    /// Spread below and above as parts of the middle.
    pub fn relative(&self) -> [f64; 2] {
        [
            self.below / self.middle.abs(),
            self.above / self.middle.abs(),
        ]
    }
}

/// Answers and log-likelihood of one stance.
fn draw(
    prior: &Prior,
    mut stance: Stance,
    thin: &Sightings,
    picture_px: [f64; 2],
    speed_bl_s: Option<f64>,
) -> Option<(Draw, f64)> {
    let mut way = stance.way(thin, picture_px)?;
    let duration = thin.t_s.last()? - thin.t_s.first()?;
    if let (Some(speed), true) = (speed_bl_s, prior.ln_depth_ratio.1 > 0.0) {
        let own = way.forward.last()? - way.forward.first()? - way.camera_forward;
        let wanted = speed * duration - own;
        if way.camera_forward > 0.0 && wanted > 0.0 {
            stance.depth_ratio *= wanted / way.camera_forward;
            way = stance.way(thin, picture_px)?;
        }
    }
    // Plain least squares will do: the sightings are smoothed and free of darts.
    let even = vec![1.0; thin.len()];
    let pace = Line::least_squares(&thin.t_s, &way.forward, &even)?.slope;
    let drift = Line::least_squares(&way.forward, &way.sideways, &even)?.slope;
    if !(pace.is_finite() && drift.is_finite() && way.body_px.is_finite()) {
        return None;
    }
    let stands = prior.ln_depth_ratio.1 == 0.0;
    let log = agreement(&way, &thin.t_s, stands);
    let draw = Draw {
        stance,
        drift,
        pace,
        body_px: way.body_px,
        body_at_lure_px: way.body_at_lure_px,
        yaw_deg: spread(&way.yaw_deg),
        weight: 0.0,
    };
    Some((draw, log))
}

/// Log-likelihood: the body keeps its length, the pull its direction, the lure its pace.
fn agreement(way: &Way, t_s: &[f64], stands: bool) -> f64 {
    let body: Vec<f64> = way.body_ratio.iter().map(|b| b.ln()).collect();
    let first = median_direction_deg(&way.pull_deg).unwrap_or(0.0);
    let pull: Vec<f64> = way
        .pull_deg
        .iter()
        .map(|p| crate::units::wrap_deg(p - first))
        .collect();
    let mut log = -0.5 * (between_thirds(&body) / BODY_SD).powi(2)
        - 0.5 * (between_thirds(&pull) / AZIMUTH_SD_DEG).powi(2);
    if !stands {
        let off = crate::units::wrap_deg(
            way.course_deg - median_direction_deg(&way.pull_deg).unwrap_or(0.0),
        );
        log -= 0.5 * (off / COURSE_SD_DEG).powi(2);
    } else {
        let pace: Vec<f64> = t_s
            .chunks(t_s.len().div_ceil(3).max(1))
            .zip(way.forward.chunks(t_s.len().div_ceil(3).max(1)))
            .filter_map(|(t, z)| Line::least_squares(t, z, &vec![1.0; t.len()]))
            .map(|l| l.slope.max(1e-6).ln())
            .collect();
        log -= 0.5 * (between_thirds(&pace) / PACE_SD).powi(2);
    }
    log
}

/// Root of the summed squares of the thirds' medians about their mean.
fn between_thirds(values: &[f64]) -> f64 {
    let size = values.len().div_ceil(3).max(1);
    let middles: Vec<f64> = values
        .chunks(size)
        .filter_map(|c| super::robust::median(c.iter().copied()))
        .collect();
    if middles.len() < 2 {
        return 0.0;
    }
    let mean = middles.iter().sum::<f64>() / middles.len() as f64;
    middles
        .iter()
        .map(|m| (m - mean).powi(2))
        .sum::<f64>()
        .sqrt()
}

/// Five evenly spread standard normal deviates: Halton's sequence (bases 2, 3, 5, 7, 11) through the
/// normal quantile. The same for every run, so that a clip always gives the same figures.
fn deviates(index: usize) -> Option<[f64; 5]> {
    let normal = Normal::new(0.0, 1.0).ok()?;
    Some([2, 3, 5, 7, 11].map(|base| {
        let (mut left, mut part, mut u) = (index, 1.0, 0.0);
        while left > 0 {
            part /= base as f64;
            u += part * (left % base) as f64;
            left /= base;
        }
        normal.inverse_cdf(u)
    }))
}
