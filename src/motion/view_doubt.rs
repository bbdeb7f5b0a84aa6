//! Whether the clip looks as it must from where it is said to have been filmed.
//!
//! A wrong view makes width, drift and every side wrong. What tells is how the body lies in the picture, whether it
//! grows, and how its length goes with its swing: from above it only turns; along the water a body turned aside is
//! foreshortened less; from the side it shortens at twice the rate and hardly turns.

use std::f64::consts::{FRAC_1_SQRT_2, TAU};

use super::analyse::Swum;
use super::robust::{median, solve};
use super::smooth::smooth;
use super::swim::{BlowOut, Hunts, Swim};
use crate::camera::View;
use crate::units::wrap_deg;
use crate::{Measured, Status, Warning};

/// From behind or ahead the body points up or down the picture, from the side across it, to within these, degrees: the
/// camera stands aside, or the lure dives.
const ALONG_DEG: f64 = 65.0;
const ACROSS_DEG: f64 = 50.0;
/// Looked at along its length a body is too stout for its outline to tell how it lies, length over width.
const SLENDER: f64 = 2.5;
/// From the side the axis tips by a few degrees at the wobble (pitch, roll); a swing beyond this,
/// degrees zero-to-peak, is yaw as it shows from above.
const SIDE_SWING_DEG: f64 = 10.0;
/// From above lure and bottom keep their sizes. The lure comes nearer where it grows by so much from the first third of
/// its frames to the last, the camera where the bottom does over the clip (natural logs; 0.2 from above on rendered
/// clips, 0.6 and more from behind and from a dock).
const BOTTOM_GROWS: f64 = 0.5;
const GROWS: f64 = 0.4;
/// Squared foreshortening of the view: 1 from straight above; below this (57 degrees) it is seen along the water.
/// It is told from a body that lies within this of the picture's upright and swings this far, degrees.
const FORESHORTENED: f64 = 0.7;
const UPRIGHT_DEG: f64 = 45.0;
const LEAST_SWING_DEG: f64 = 6.0;
/// The yaw that a shortening at twice the rate would make, over the swing that is seen: about 1 or nothing from above,
/// 4 and more from the side; and the least shortening, which must also be so much larger than those at rates beside it.
const SHORTENS: f64 = 3.5;
const LEAST_SHORTENING: f64 = 0.006;
const OVER_NOISE: f64 = 3.0;
/// Half the window that parts the wobble from what is slower, s.
const SLOW_S: f64 = 0.3;
/// Errors of neighbouring frames go together over about this long, s.
const MEMORY_S: f64 = 0.1;

impl Swum<'_> {
    /// Why the view contradicts the clip, where it does so clearly that no angle or side can be told.
    pub(super) fn view_refuted(&self, cycles: &[f64]) -> Option<String> {
        let series = &self.series;
        if series.len() < 20 {
            return None;
        }
        let wobbles = cycles.len() == series.len();
        match self.setup.view {
            View::Behind | View::Ahead => self.lies_across(),
            View::Side => self.lies_upright(),
            View::Above if self.setup.tilt_deg.is_some() || !wobbles => None,
            View::Above if self.is_seen_along_the_water() => Some(
                "the lure is foreshortened or comes nearer, so it was not filmed from straight above: \
                 try --view behind or ahead, or give --tilt"
                    .into(),
            ),
            View::Above if self.shortens_as_from_the_side(cycles) => Some(
                "the lure shortens with the wobble and hardly swings, as it does from the side: try --view side".into(),
            ),
            View::Above => None,
        }
    }

    /// How far the body lies off the picture's upright, 0 to 90 degrees, whichever end the nose is.
    fn off_upright_deg(&self) -> f64 {
        let doubled = self
            .series
            .image_axis_deg
            .iter()
            .map(|a| (2.0 * a).to_radians().sin_cos());
        let (sin, cos) = doubled.fold((0.0, 0.0), |(s, c), (sin, cos)| (s + sin, c + cos));
        (sin.atan2(cos).to_degrees() / 2.0).abs()
    }

    fn lies_across(&self) -> Option<String> {
        let stoutness = self.series.width_px.iter().zip(&self.series.length_px);
        let slender = 1.0 / median(stoutness.map(|(w, l)| w / l))? > SLENDER;
        (slender && self.off_upright_deg() > ALONG_DEG).then(|| {
            format!(
                "the lure lies across the picture, which a view from {} cannot show: try --view above or side",
                self.setup.view.word()
            )
        })
    }

    fn lies_upright(&self) -> Option<String> {
        (self.off_upright_deg() < 90.0 - ACROSS_DEG).then(|| {
            "the lure points up or down the picture, which a view from the side cannot show: try --view above".into()
        })
    }

    /// Whether a view told as from above looks along the water: surely by its foreshortening, or by two signs of three.
    /// The outline of a faint lure may grow by itself, and a background that is hard to follow may too.
    fn is_seen_along_the_water(&self) -> bool {
        if self.off_upright_deg() > UPRIGHT_DEG || self.swing_deg() < LEAST_SWING_DEG {
            return false;
        }
        let flat = self.foreshortening();
        let surely = |sds: f64| flat.is_some_and(|[k, sd]| k + sds * sd < FORESHORTENED);
        let signs = [
            surely(1.0),
            self.grows().abs() > GROWS,
            self.bottom_grows().abs() > BOTTOM_GROWS,
        ];
        surely(2.0) || signs.iter().filter(|sign| **sign).count() >= 2
    }

    /// Growth from the first third of its frames to the last, natural log.
    pub(super) fn grows(&self) -> f64 {
        let lengths = &self.series.length_px;
        let third = lengths.len() / 3;
        let size = |part: &[f64]| median(part.iter().copied()).unwrap_or(1.0);
        (size(&lengths[lengths.len() - third..]) / size(&lengths[..third])).ln()
    }

    /// The same of the bottom over the whole clip: a camera that goes forward comes nearer to what it looks at.
    pub(super) fn bottom_grows(&self) -> f64 {
        let zoom = self.track.frames.last().map(|f| {
            let [x, y] = f.to_scene.turn([1.0, 0.0]);
            x.hypot(y).ln()
        });
        zoom.filter(|z| z.is_finite()).unwrap_or(0.0)
    }

    /// Squared foreshortening of the picture's upright, and its standard deviation. The end of a body that swings runs
    /// on a flat ellipse, from above on a circle: with x across the picture and y up it, y² = c − k·x² + b·x·y, where b
    /// takes up what the lip shows on one side only.
    fn foreshortening(&self) -> Option<[f64; 2]> {
        let series = &self.series;
        let slow = smooth(&series.t_s, &logs(&series.length_px), SLOW_S);
        let ends = series
            .image_axis_deg
            .iter()
            .zip(&series.length_px)
            .zip(&slow);
        let rows: Vec<([f64; 3], f64)> = ends
            .map(|((axis, length), slow)| {
                let (sin, cos) = axis.to_radians().sin_cos();
                let (x, y) = (length / slow.exp() * sin, length / slow.exp() * cos);
                ([1.0, -x * x, x * y], y * y)
            })
            .collect();
        let independent = (series.duration_s() / MEMORY_S).min(series.len() as f64);
        slope(&rows, independent)
    }

    fn shortens_as_from_the_side(&self, cycles: &[f64]) -> bool {
        let series = &self.series;
        let quick = |y: &[f64]| -> Vec<f64> {
            let slow = smooth(&series.t_s, y, SLOW_S);
            y.iter().zip(slow).map(|(y, slow)| y - slow).collect()
        };
        let (length, axis) = (quick(&logs(&series.length_px)), quick(&series.axis_deg));
        let twice = amplitude(&length, cycles, 2.0);
        let beside = [1.5, 1.7, 2.3, 2.5].map(|times| amplitude(&length, cycles, times));
        let noise = beside.iter().sum::<f64>() / beside.len() as f64;
        // a body turned by ψ looks shorter by ψ²/2, which beats by ψ₀²/4 at twice the rate
        let yaw_deg = (4.0 * twice).sqrt().to_degrees();
        twice > LEAST_SHORTENING.max(OVER_NOISE * noise)
            && yaw_deg > SHORTENS * amplitude(&axis, cycles, 1.0)
    }

    /// How far the axis swings at the wobble, degrees zero-to-peak.
    fn swing_deg(&self) -> f64 {
        let slow = smooth(&self.series.t_s, &self.series.axis_deg, SLOW_S);
        let quick = self.series.axis_deg.iter().zip(&slow);
        // a sine lies within 0.71 of its peak half the time
        median(quick.map(|(a, s)| wrap_deg(a - s).abs())).unwrap_or(0.0) / FRAC_1_SQRT_2
    }

    /// Why the swing of the axis contradicts a side view, where it does.
    pub(super) fn swings_too_far(&self, swim: &Swim) -> Option<String> {
        let wobbles = matches!(swim.wobble.hz.status, Status::Measured | Status::Aliased);
        let swing_deg = self.swing_deg();
        (self.setup.view == View::Side && wobbles && swing_deg > SIDE_SWING_DEG).then(|| {
            format!(
                "the body swings by {swing_deg:.0} degrees, as it does from above, not from the side: try --view above"
            )
        })
    }
}

/// Takes back every angle, way and side: they hang on the view. A rate does not; that nothing wobbles does.
pub(super) fn withhold(swim: &mut Swim, why: String) {
    const HANGS: &str = "the view that was given contradicts the clip";
    let nothing = || Measured::unmeasurable(HANGS);
    if swim.wobble.hz.status == Status::None {
        swim.wobble.hz = nothing();
    }
    swim.wobble.width_deg = nothing();
    swim.wobble.tail_sweep_mm = nothing();
    swim.wobble.apparent = false;
    swim.roll.width_deg = nothing();
    swim.drift.deg = nothing();
    swim.drift.mm_per_m = None;
    swim.hunts = Hunts {
        status: Status::Unmeasurable,
        why: Some(HANGS.into()),
        events: Vec::new(),
    };
    swim.blow_out = BlowOut {
        status: Status::Unmeasurable,
        t_s: None,
        why: Some(HANGS.into()),
    };
    swim.pivot = nothing();
    swim.depth.withhold(HANGS);
    swim.speed = nothing();
    swim.strouhal = nothing();
    swim.warnings.push(Warning::ViewDoubtful { why });
}

fn logs(values: &[f64]) -> Vec<f64> {
    values.iter().map(|v| v.ln()).collect()
}

/// Amplitude of `y` at so many times the wobble's rate.
fn amplitude(y: &[f64], cycles: &[f64], times: f64) -> f64 {
    let waves = y.iter().zip(cycles).map(|(y, c)| {
        let (sin, cos) = (TAU * times * c).sin_cos();
        (y * sin, y * cos)
    });
    let (s, c) = waves.fold((0.0, 0.0), |(s, c), (a, b)| (s + a, c + b));
    2.0 * s.hypot(c) / y.len().max(1) as f64
}

/// What is known, and what is to be told from it.
type Row = ([f64; 3], f64);

/// The second coefficient of a least-squares fit of three, and its standard deviation where only so many rows are
/// independent.
fn slope(rows: &[Row], independent: f64) -> Option<[f64; 2]> {
    let sum = |f: &dyn Fn(&Row) -> f64| rows.iter().map(f).sum::<f64>();
    let matrix: Vec<f64> = (0..9).map(|n| sum(&|(x, _)| x[n / 3] * x[n % 3])).collect();
    let fit = solve(
        matrix.clone(),
        (0..3).map(|n| sum(&|(x, y)| x[n] * y)).collect(),
    )?;
    let inverse = solve(matrix, vec![0.0, 1.0, 0.0])?;
    let left = sum(&|(x, y)| (y - (0..3).map(|n| x[n] * fit[n]).sum::<f64>()).powi(2));
    let variance = left / independent.max(1.0) * inverse[1];
    Some([fit[1], variance.max(0.0).sqrt()])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refuted_view_takes_back_that_nothing_wobbles_and_leaves_a_rate() {
        let swim = |hz: Measured| {
            let mut swim = Swim::not_found("not looked at yet");
            swim.wobble.hz = hz;
            swim.depth.mm = Measured::new(600.0, [550.0, 650.0]);
            withhold(&mut swim, "try another".into());
            assert_eq!(swim.depth.mm.status, Status::Unmeasurable);
            swim.wobble.hz.status
        };
        assert_eq!(swim(Measured::none("nothing beats")), Status::Unmeasurable);
        assert_eq!(swim(Measured::new(4.0, [3.9, 4.1])), Status::Measured);
    }
}
