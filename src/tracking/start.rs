//! How the lure lies at the start: its outline found by colour inside a box round it.

use super::colours::Colours;
use super::cut::Cut;
use super::pose::Pose;
use super::start_box::StartBox;
use super::window::Window;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// A first guess of the lure: its pose (1 unit = its length), and how wide it is for its length.
pub struct FirstGuess {
    /// The pose.
    pub pose: Pose,
    /// Width over length.
    pub width: f64,
    /// Colours of lure and water.
    pub colours: Colours,
}

/// How finely and in how many rounds an outline is cut: samples per side of the box, rounds.
const FIRST_CUT: (f64, i32) = (60.0, 6);
const LATER_CUT: (f64, i32) = (45.0, 2);
/// A box shorter than this, px, is always cut as finely as at first: there a sample is the mean of a few pixels only.
const SMALL_BOX_PX: f64 = 160.0;
/// How far from the middle of a box its water is looked at, in parts of its long side; and round a large one, later.
const REACH: f64 = 1.3;
const LATER_REACH: f64 = 0.9;
/// A cut that fills less of the box than this has missed the lure.
const LEAST_FILLED: f64 = 0.12;
/// … unless it is slim and as long as the lure in the box must be, which lip and hooks make larger than the body: no
/// wider for its length than this, foreshortened or not, and this part of the box's long side.
const LEAST_FILLED_BY_SLIM: f64 = 0.04;
const SLIM: f64 = 0.42;
const SLIM_FORESHORTENED: f64 = 0.85;
const LEAST_OF_BOX: f64 = 0.45;

/// Learns from a spot which samples are lure and how it lies. `None` when the picture is too small. Where nothing in
/// it stands out, the ellipse that fills it is taken.
///
/// # Errors
/// [`crate::Error::Video`] when the picture cannot be worked on.
pub fn guess(frame: &Frame, spot: &StartBox) -> Result<Option<FirstGuess>> {
    let (samples, rounds) = FIRST_CUT;
    let Some(window) = window_about(frame, spot, REACH, finest(spot, samples))? else {
        return Ok(None);
    };
    let cut = Cut::new(&window, spot)?.beginning_with_all(rounds)?;
    Ok(learned(&window, filling(&window, spot, cut)))
}

/// The same with more care, for a box that holds a lure. Where little of the box is lure, a cut of the whole of it finds
/// nothing, a part only, or the bottom; then the longest of many cuts that begin with a slim body is taken.
///
/// # Errors
/// [`crate::Error::Video`] when the picture cannot be worked on.
pub fn guess_with_care(frame: &Frame, given: &StartBox, view: View) -> Result<Option<FirstGuess>> {
    let (samples, rounds) = FIRST_CUT;
    let Some(window) = window_about(frame, given, REACH, finest(given, samples))? else {
        return Ok(None);
    };
    let cut = Cut::new(&window, given)?;
    let whole = cut.beginning_with_all(rounds)?;
    if may_be_lure(&window, given, view, &whole) {
        return Ok(learned(&window, whole));
    }
    let slim = cut.beginning_with_slim_bodies(LATER_CUT.1)?;
    let best = slim
        .into_iter()
        .filter(|c| may_be_lure(&window, given, view, c))
        .max_by(|a, b| length(&window, a).total_cmp(&length(&window, b)));
    let share = best.unwrap_or_else(|| filling(&window, given, whole));
    Ok(learned(&window, share))
}

fn learned(window: &Window, share: Vec<f32>) -> Option<FirstGuess> {
    let (pose, width) = moments(window, &share)?;
    Some(FirstGuess {
        pose,
        width,
        colours: Colours::learn(window, &share, 1.0),
    })
}

/// The cut, or the ellipse in the box where that is all but empty.
fn filling(window: &Window, given: &StartBox, cut: Vec<f32>) -> Vec<f32> {
    if filled(window, given, &cut) < LEAST_FILLED {
        ellipse_in_box(window, given)
    } else {
        cut
    }
}

/// Whether what was cut reaches over much of the box and is as slim as the view allows.
fn may_be_lure(window: &Window, given: &StartBox, view: View, share: &[f32]) -> bool {
    let Some((pose, width)) = moments(window, share) else {
        return false;
    };
    let slim = match view {
        View::Above | View::Side => SLIM,
        View::Behind | View::Ahead => SLIM_FORESHORTENED,
    };
    filled(window, given, share) >= LEAST_FILLED_BY_SLIM
        && width <= slim
        && pose.along_px >= LEAST_OF_BOX * given.w.max(given.h)
}

/// Part of the box that was cut out.
fn filled(window: &Window, given: &StartBox, share: &[f32]) -> f64 {
    let samples = given.w * given.h / (window.step_px[0] * window.step_px[1]);
    f64::from(share.iter().sum::<f32>()) / samples
}

fn length(window: &Window, share: &[f32]) -> f64 {
    moments(window, share).map_or(0.0, |(pose, _)| pose.along_px)
}

/// Place, axis and size of what stands out in the box, with its width over its length, cut anew. `None` where
/// nothing does.
///
/// # Errors
/// [`crate::Error::Video`] when the picture cannot be worked on.
pub fn recut(frame: &Frame, about: &StartBox) -> Result<Option<(Pose, f64)>> {
    recut_by(frame, about, REACH, finest(about, LATER_CUT.0))
}

/// The same for a lure that has been followed for a while: a large one is cut less finely and with less water round it,
/// in a quarter of the samples.
///
/// # Errors
/// [`crate::Error::Video`] when the picture cannot be worked on.
pub fn recut_again(frame: &Frame, about: &StartBox) -> Result<Option<(Pose, f64)>> {
    let long = about.w.max(about.h);
    if long < SMALL_BOX_PX {
        return recut(frame, about);
    }
    recut_by(frame, about, LATER_REACH, long / LATER_CUT.0)
}

fn recut_by(
    frame: &Frame,
    about: &StartBox,
    reach: f64,
    step_px: f64,
) -> Result<Option<(Pose, f64)>> {
    let Some(window) = window_about(frame, about, reach, step_px)? else {
        return Ok(None);
    };
    let cut = Cut::new(&window, about)?.beginning_with_all(LATER_CUT.1)?;
    Ok(moments(&window, &cut))
}

fn window_about(
    frame: &Frame,
    about: &StartBox,
    reach: f64,
    step_px: f64,
) -> Result<Option<Window>> {
    let long = about.w.max(about.h);
    Window::cut(frame, about.centre(), reach * long, step_px)
}

/// Picture px per sample: a small lure is cut as finely as the picture shows it.
fn finest(about: &StartBox, samples: f64) -> f64 {
    let long = about.w.max(about.h);
    (long / samples).min((long / FIRST_CUT.0).max(1.0)).max(0.5)
}

fn ellipse_in_box(window: &Window, start: &StartBox) -> Vec<f32> {
    let [cx, cy] = start.centre();
    let mut out = Vec::with_capacity(window.len());
    for row in 0..window.rows {
        for column in 0..window.columns {
            let [x, y] = window.point(column, row);
            let r = ((x - cx) / (start.w / 2.0)).hypot((y - cy) / (start.h / 2.0));
            out.push(if r < 0.9 { 1.0 } else { 0.0 });
        }
    }
    out
}

/// Place, axis and size by first and second moments of the samples that are lure.
fn moments(window: &Window, share: &[f32]) -> Option<(Pose, f64)> {
    let mut m = [0.0f64; 6];
    for row in 0..window.rows {
        for column in 0..window.columns {
            let s = f64::from(share[row * window.columns + column]);
            if s < 0.55 {
                continue;
            }
            let [x, y] = window.point(column, row);
            for (sum, value) in m.iter_mut().zip([1.0, x, y, x * x, x * y, y * y]) {
                *sum += s * value;
            }
        }
    }
    if m[0] < 8.0 {
        return None;
    }
    let (x, y) = (m[1] / m[0], m[2] / m[0]);
    let (xx, xy, yy) = (
        m[3] / m[0] - x * x,
        m[4] / m[0] - x * y,
        m[5] / m[0] - y * y,
    );
    let middle = (xx + yy) / 2.0;
    let half = ((xx - yy) / 2.0).hypot(xy);
    let (long, short) = ((middle + half).sqrt(), (middle - half).max(0.1).sqrt());
    // direction of the long axis, as an image angle (clockwise from up)
    let along = 0.5 * (2.0 * xy).atan2(xx - yy);
    let axis_rad = std::f64::consts::FRAC_PI_2 + along;
    // a filled ellipse has a standard deviation of a quarter of its length
    let length = 4.0 * long;
    let pose = Pose {
        x_px: x,
        y_px: y,
        axis_rad,
        along_px: length,
        across_px: length,
    };
    Some((pose, (short / long).clamp(0.12, 0.9)))
}
