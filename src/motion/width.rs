//! How wide the wobble is: yaw zero-to-peak and the sweep of the tail, at the phase found.

use super::Series;
use super::rate::{Channel, Parity, Phase, wave_at};
use super::smooth::smooth;
use super::thickness;
use super::wobble::Picture;
use crate::Measured;
use crate::camera::{Setup, View};
use crate::robust::median;

/// Part of the width by which outlines, exposure and roll leaking into the axis may be off (95 %).
const SYSTEMATIC: f64 = 0.04;
/// How well a tilt is known that was given by eye, degrees (95 %).
const TILT_DOUBT_DEG: f64 = 3.0;
/// A lure that dives swims nose down by so much, degrees, and how well that is known (95 %); common practice, no
/// published source. The camera looks the more along it from behind, and the less from ahead. With both and the body's
/// thickness the width came out 0.86 to 1.05 of the true one on ten rendered clips from behind whose lures dived by 2 to
/// 11 degrees (0.75 on one where hooks trailed far), and 0.97 to 1.05 on five from ahead, where it was 0.82 to 0.86 without.
const DIVES_DEG: f64 = 8.0;
const DIVE_DOUBT_DEG: f64 = 6.0;
/// Flatter than this nothing is read of a swing, degrees.
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
    let dive_deg = DIVES_DEG * setup.rise_share;
    let looks_down = tilt.map(|tilt| tilt + picture.below_middle_deg);
    let tilts = tilts_deg(series, looks_down.unwrap_or(90.0), picture.camera_stands);
    let axes = series.axis_deg.iter().zip(&tilts);
    let yaw: Vec<f64> = axes
        .map(|(&a, &tilt)| own_yaw(a, on_the_body(tilt, dive_deg, setup.view)))
        .collect();
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
        .map(|m| tilted(m, looks_down, setup))
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

/// How far the camera looks down on a body that dives by `dive_deg`, degrees, where it looks down on the water by
/// `tilt_deg`: in a view along the water the body turns away from it or toward it.
pub(super) fn on_the_body(tilt_deg: f64, dive_deg: f64, view: View) -> f64 {
    let turned = match view {
        View::Behind => tilt_deg.abs() - dive_deg,
        View::Ahead => tilt_deg.abs() + dive_deg,
        View::Above | View::Side => return tilt_deg,
    };
    turned.clamp(FLATTEST_DEG, 90.0).copysign(tilt_deg)
}

/// The body's own swing behind `width`, with the doubt in the tilt: yaw goes with its sine, so by cot(tilt) per radian.
fn tilted(width: Measured, tilt_deg: Option<f64>, setup: &Setup) -> Measured {
    let (Some(value), Some([low, high]), Some(tilt)) = (width.value, width.ci95, tilt_deg) else {
        return width;
    };
    let share = setup.rise_share;
    let tilt = on_the_body(tilt, DIVES_DEG * share, setup.view);
    let along = matches!(setup.view, View::Behind | View::Ahead);
    let dive_doubt_deg = if along { DIVE_DOUBT_DEG * share } else { 0.0 };
    let open = TILT_DOUBT_DEG.hypot(dive_doubt_deg).to_radians();
    let doubt = value * open / tilt.to_radians().tan();
    let axis = Measured::within(value, (0.5 * (high - low)).hypot(doubt));
    match along {
        true => thickness::behind_outline(axis, tilt),
        false => axis,
    }
}

/// How far the camera looks down on the lure at each sample, degrees, where it does so by `tilt_deg` on the whole. To
/// a camera that stands, a lure that comes nearer shows ever more from above: with the camera `h` over it and `d` away the
/// sine is `h/d`, and its foreshortened length goes with `h/d²`, so the sine goes with the root of the length.
fn tilts_deg(series: &Series, tilt_deg: f64, camera_stands: bool) -> Vec<f64> {
    let logs: Vec<f64> = series.length_px.iter().map(|px| px.max(1.0).ln()).collect();
    let usual = median(logs.iter().copied()).unwrap_or(0.0);
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
        let tilts = tilts_deg(&series, middle.asin().to_degrees(), true);
        for k in [40, 150, 260] {
            let sin = 1.0 / away(series.t_s[k]);
            assert_abs_diff_eq!(tilts[k].to_radians().sin(), sin, epsilon = 0.01);
        }
        let still = tilts_deg(&series, 40.0, false);
        assert!(still.iter().all(|&tilt| tilt == 40.0));
    }
}
