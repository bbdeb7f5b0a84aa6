//! How wide the wobble is: yaw zero-to-peak and the sweep of the tail, at the phase found.

use super::Series;
use super::rate::{Channel, Parity, Phase, wave_at};
use super::smooth::smooth;
use super::thickness;
use super::wobble::{Body, Picture};
use crate::Measured;
use crate::camera::{Setup, View};
use crate::robust::median;

/// Part of the width by which outlines, exposure and roll leaking into the axis may be off (95 %).
const SYSTEMATIC: f64 = 0.04;
/// How well a tilt is known that was given by eye, degrees (95 %).
const TILT_DOUBT_DEG: f64 = 3.0;
/// A body seen flatter than this, degrees, is taken to be seen so.
const FLATTEST_DEG: f64 = 8.0;
/// Half the window over which a lure is seen to come nearer, s: longer than a wobble.
const APPROACH_S: f64 = 0.6;
/// The least of it, degrees …
const SYSTEMATIC_DEG: f64 = 0.4;
/// … and how far aside the coding of the clip may draw either end in step with the wobble, px (95 %). In a
/// small lure that turns the axis more.
const END_PX: f64 = 0.5;

/// Width and tail sweep.
pub(super) struct Width {
    /// Yaw zero-to-peak, degrees (apparent where so).
    pub deg: Measured,
    /// Whether `deg` is as it looks rather than the lure's own yaw.
    pub apparent: bool,
    /// Sweep of the tail peak-to-peak, mm.
    pub tail_sweep_mm: Measured,
}

/// Measures the wobble's width at `phase`, darts left out.
pub(super) fn measure(series: &Series, setup: &Setup, picture: &Picture, phase: &Phase) -> Width {
    if setup.view == View::Side {
        let hidden = "from the side the yaw only shortens the body; film from above for the width";
        return Width {
            deg: Measured::unmeasurable(hidden),
            apparent: false,
            tail_sweep_mm: Measured::unmeasurable(hidden),
        };
    }
    let tilt = if setup.view == View::Above {
        Some(setup.tilt_deg.unwrap_or(90.0))
    } else {
        setup.tilt_deg
    };
    let body = picture.body.filter(|_| tilt.is_some());
    let tilts = tilts_deg(series, tilt.unwrap_or(90.0), body, picture.camera_stands);
    let axes = series.axis_deg.iter().zip(&tilts);
    let yaw: Vec<f64> = axes.map(|(&a, &tilt)| own_yaw(a, tilt)).collect();
    let deg = if setup.is_level() {
        Measured::unmeasurable("a camera level with the lure cannot show its yaw; look down on it")
    } else {
        swing(
            series,
            picture,
            phase,
            &yaw,
            &[1, 3],
            least_doubt_deg(series),
        )
        .map(|m| tilted(m, tilt, body))
        .unwrap_or_else(|| {
            Measured::unmeasurable("too few frames outside darts to measure the width")
        })
    };
    Width {
        deg,
        apparent: tilt.is_none(),
        tail_sweep_mm: sweep(series, picture, phase),
    }
}

/// The least doubt of a swing of the axis, degrees (95 %): both ends drawn aside, opposite ways.
fn least_doubt_deg(series: &Series) -> f64 {
    let length_px = median(series.length_px.iter().copied())
        .unwrap_or(1.0)
        .max(1.0);
    SYSTEMATIC_DEG.max((2.0 * END_PX / length_px).to_degrees())
}

impl Body {
    /// Tilt at which the body is seen, degrees, for a camera whose middle looks down by `tilt_deg`.
    fn tilt_deg(&self, tilt_deg: f64) -> f64 {
        self.turned(tilt_deg + self.below_middle_deg[0])
    }

    /// The same where the camera looks down on the lure by `tilt_deg`.
    pub(super) fn turned(&self, tilt_deg: f64) -> f64 {
        let seen_deg = tilt_deg + self.turned_deg[0];
        seen_deg.abs().clamp(FLATTEST_DEG, 90.0).copysign(seen_deg)
    }
}

/// The body's own swing behind `width`, with the doubt in the tilt: yaw goes with its sine, so by cot(tilt) per radian.
fn tilted(width: Measured, tilt_deg: Option<f64>, body: Option<Body>) -> Measured {
    let (Some(value), Some([low, high]), Some(tilt)) = (width.value, width.ci95, tilt_deg) else {
        return width;
    };
    let tilt = body.map_or(tilt, |body| body.tilt_deg(tilt));
    let open_deg = body.map_or(TILT_DOUBT_DEG, |body| {
        TILT_DOUBT_DEG
            .hypot(body.below_middle_deg[1])
            .hypot(body.turned_deg[1])
    });
    let doubt = value * open_deg.to_radians() / tilt.to_radians().tan();
    let axis = Measured::within(value, (0.5 * (high - low)).hypot(doubt));
    match body {
        Some(body) if body.of_outline => thickness::behind_outline(axis, tilt),
        _ => axis,
    }
}

/// Tilt at which the body is seen at each sample, degrees, where the camera looks down by `tilt_deg` on the whole. To
/// a camera that stands, a lure that comes nearer shows ever more from above: with the camera `h` over it and `d` away the
/// sine is `h/d`, and its foreshortened length goes with `h/d²`, so the sine goes with the root of the length.
fn tilts_deg(series: &Series, tilt_deg: f64, body: Option<Body>, camera_stands: bool) -> Vec<f64> {
    let logs: Vec<f64> = series.length_px.iter().map(|px| px.max(1.0).ln()).collect();
    let usual = median(logs.iter().copied()).unwrap_or(0.0);
    let tilt_deg = tilt_deg + body.map_or(0.0, |body| body.below_middle_deg[0]);
    let sin = tilt_deg.to_radians().sin();
    smooth(&series.t_s, &logs, APPROACH_S)
        .iter()
        .map(|log| match camera_stands {
            true => (sin * (0.5 * (log - usual)).exp())
                .min(1.0)
                .asin()
                .to_degrees(),
            false => tilt_deg,
        })
        .map(|tilt_deg| body.map_or(tilt_deg, |body| body.turned(tilt_deg)))
        .collect()
}

/// The yaw behind an image angle, degrees, for a camera looking down by `tilt_deg`:
/// tan(image) = tan(yaw)/sin(tilt). An image angle beyond ±90° stays beyond.
pub(super) fn own_yaw(image_deg: f64, tilt_deg: f64) -> f64 {
    let (sin, cos) = image_deg.to_radians().sin_cos();
    (sin * tilt_deg.to_radians().sin()).atan2(cos).to_degrees()
}

/// The tail's place across the pull: middle − half the apparent length × sin(axis), which a tilted
/// camera leaves as it is.
fn sweep(series: &Series, picture: &Picture, phase: &Phase) -> Measured {
    let Some(mm_per_px) = picture.mm_per_px else {
        return Measured::unmeasurable("no scale; give --length");
    };
    let tail = |i: usize| {
        series.sideways_px[i] - 0.5 * series.length_px[i] * series.axis_deg[i].to_radians().sin()
    };
    let tail_px: Vec<f64> = (0..series.t_s.len()).map(tail).collect();
    swing(series, picture, phase, &tail_px, &[1], END_PX)
        .map(|m| m.scaled(2.0 * mm_per_px))
        .unwrap_or_else(|| {
            Measured::unmeasurable("too few frames outside darts to measure the sweep")
        })
}

/// Zero-to-peak swing of `values` at `phase` over the calm samples, with its interval.
fn swing(
    series: &Series,
    picture: &Picture,
    phase: &Phase,
    values: &[f64],
    harmonics: &[u32],
    least: f64,
) -> Option<Measured> {
    let calm = |i: &usize| picture.calm.get(*i).copied().unwrap_or(true);
    let kept: Vec<usize> = (0..values.len()).filter(calm).collect();
    let t: Vec<f64> = kept.iter().map(|&i| series.t_s[i]).collect();
    let y: Vec<f64> = kept.iter().map(|&i| values[i]).collect();
    let wave = wave_at(
        &Channel::new("swing", &t, &y, Parity::Odd),
        phase,
        harmonics,
    )?;
    let systematic = (SYSTEMATIC * wave.peak).max(least);
    Some(Measured::within(
        wave.peak,
        (2.0 * wave.sd).hypot(systematic),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// A camera 1 m over the lure's way, straight above it at the end: the sines are 1/d.
    #[test]
    fn a_lure_that_comes_near_is_looked_down_on_ever_more() {
        let t_s: Vec<f64> = (0..300).map(|k| f64::from(k) / 30.0).collect();
        let away = |t: f64| (1.0 + (4.0 - 0.3 * t).powi(2)).sqrt();
        let series = Series {
            length_px: t_s.iter().map(|&t| 500.0 / away(t).powi(2)).collect(),
            t_s,
            ..Series::default()
        };
        let middle = 1.0 / away(5.0);
        let tilts = tilts_deg(&series, middle.asin().to_degrees(), None, true);
        for k in [40, 150, 260] {
            let sin = 1.0 / away(series.t_s[k]);
            assert_abs_diff_eq!(tilts[k].to_radians().sin(), sin, epsilon = 0.01);
        }
        let still = tilts_deg(&series, 40.0, None, false);
        assert!(still.iter().all(|&tilt| tilt == 40.0));
    }
}
