//! How the lure lies at the start: its outline found by colour inside a box round it.

use opencv::core::{CV_8UC1, CV_8UC3, Mat, MatTrait, MatTraitConstManual, Rect, Scalar, Vec3b};
use opencv::imgproc;

use super::colours::Colours;
use super::pose::Pose;
use super::start_box::StartBox;
use super::window::Window;
use crate::Result;
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
const CUT_SEED: i32 = 1;
/// A cut that fills less of the box than this has missed the lure.
const LEAST_FILLED: f64 = 0.12;

/// Learns from the box which samples are lure and how it lies. `None` when the picture is too small.
///
/// The outline is cut by OpenCV's GrabCut (colour mixtures and a minimal cut); where nothing in the box
/// stands out, the ellipse that fills it is taken.
pub fn guess(frame: &Frame, start: &StartBox) -> Result<Option<FirstGuess>> {
    let (samples, rounds) = FIRST_CUT;
    let Some(window) = window_about(frame, start, samples)? else {
        return Ok(None);
    };
    let cut = grab(&window, start, rounds)?;
    let box_samples = start.w * start.h / (window.step_px[0] * window.step_px[1]);
    let filled = f64::from(cut.iter().sum::<f32>()) / box_samples;
    let share = if filled < LEAST_FILLED {
        ellipse_in_box(&window, start)
    } else {
        cut
    };
    let colours = Colours::learn(&window, &share, 1.0);
    Ok(moments(&window, &share).map(|(pose, width)| FirstGuess {
        pose,
        width,
        colours,
    }))
}

/// Place, axis and size of what stands out in the box, with its width over its length, cut anew. `None` where
/// nothing does.
pub fn recut(frame: &Frame, start: &StartBox) -> Result<Option<(Pose, f64)>> {
    let (samples, rounds) = LATER_CUT;
    let Some(window) = window_about(frame, start, samples)? else {
        return Ok(None);
    };
    let cut = grab(&window, start, rounds)?;
    Ok(moments(&window, &cut))
}

fn window_about(frame: &Frame, start: &StartBox, samples: f64) -> Result<Option<Window>> {
    let long = start.w.max(start.h);
    // a small lure is cut as finely as the picture shows it
    let step = (long / samples).min((long / FIRST_CUT.0).max(1.0)).max(0.5);
    Window::cut(frame, start.centre(), 1.3 * long, step)
}

/// Share of the lure per sample by GrabCut: certain water outside the box, likely lure inside.
fn grab(window: &Window, start: &StartBox, rounds: i32) -> Result<Vec<f32>> {
    let (rows, columns) = (window.rows as i32, window.columns as i32);
    let mut picture = Mat::new_rows_cols_with_default(rows, columns, CV_8UC3, Scalar::all(0.0))?;
    let mut mask = Mat::new_rows_cols_with_default(rows, columns, CV_8UC1, Scalar::all(0.0))?;
    for row in 0..window.rows {
        for column in 0..window.columns {
            let k = row * window.columns + column;
            *picture.at_2d_mut::<Vec3b>(row as i32, column as i32)? =
                Vec3b::from([window.luma[k], window.cb[k], window.cr[k]]);
            let [x, y] = window.point(column, row);
            if start.holds(x, y) {
                *mask.at_2d_mut::<u8>(row as i32, column as i32)? = imgproc::GC_PR_FGD as u8;
            }
        }
    }
    let marked = mask.data_typed::<u8>()?.iter().filter(|m| **m > 0).count();
    if marked == 0 || marked == window.len() {
        return Ok(vec![0.0; window.len()]);
    }
    // the cut begins with colours drawn by chance: the same picture must always be cut the same way
    opencv::core::set_rng_seed(CUT_SEED)?;
    let (mut water, mut lure) = (Mat::default(), Mat::default());
    imgproc::grab_cut(
        &picture,
        &mut mask,
        Rect::default(),
        &mut water,
        &mut lure,
        rounds,
        imgproc::GC_INIT_WITH_MASK,
    )?;
    let kept = mask.data_typed::<u8>()?;
    Ok(kept.iter().map(|m| f32::from(m & 1)).collect())
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
