//! Lens and views fitted together, with an honest doubt.

use std::path::PathBuf;

use opencv::calib3d;
use opencv::core::{
    Mat, MatExprTraitConst, MatTraitConst, Point2f, Point3f, Size, TermCriteria,
    TermCriteria_COUNT, TermCriteria_EPS, Vector,
};

use super::LensPictures;
use crate::camera::{Board, Lens, LensFigures};
use crate::{Error, Result};

/// Fewer views settle no lens: three would do for noiseless corners (Zhang 2000), real ones want more.
const LEAST_VIEWS: usize = 6;
/// A view that fits this many times worse than the usual one, and worse than `LEAST_BAD_PX`, is left out.
const MUCH_WORSE: f64 = 3.0;
const LEAST_BAD_PX: f64 = 0.5;
/// A focal length known no better than this part of itself (one standard deviation) is not settled.
const WIDEST_FOCAL: f64 = 0.02;
/// Corners that miss the fitted board by more than this part of the picture's length are no flat board.
const WORST_FIT: f64 = 2e-3;
/// The sixth power of the radius is only let in where it stands out of its own doubt by this many standard
/// deviations: on few views it trades against the second and fourth.
const SURE: f64 = 3.0;

/// Views of one board.
#[derive(Debug, Clone, PartialEq)]
pub struct Views {
    /// The board.
    pub board: Board,
    /// Width and height of the pictures, px.
    pub size: [u32; 2],
    /// How far the stored pictures were turned clockwise to be shown.
    pub turned_deg: u16,
    /// The inner corners of each view row by row, px, the centre of the top-left pixel at 0.5, 0.5.
    pub corners: Vec<Vec<[f64; 2]>>,
}

impl Views {
    /// No views yet.
    pub(super) fn new(board: Board) -> Views {
        Views {
            board,
            size: [0, 0],
            turned_deg: 0,
            corners: Vec::new(),
        }
    }

    pub(super) fn size(&self) -> [u32; 2] {
        self.size
    }

    pub(super) fn set_size(&mut self, size: [u32; 2], turned_deg: u16) {
        self.size = size;
        self.turned_deg = turned_deg;
    }

    fn without(&self, left_out: &[usize]) -> Views {
        let kept = |(i, v): (usize, &Vec<[f64; 2]>)| (!left_out.contains(&i)).then(|| v.clone());
        Views {
            corners: self.corners.iter().enumerate().filter_map(kept).collect(),
            ..self.clone()
        }
    }

    /// How far out the corners reach: the 99 % point of their distance from the picture's middle over that
    /// of its corners.
    fn reach(&self) -> f64 {
        let [w, h] = self.size.map(|s| f64::from(s) / 2.0);
        let mut far: Vec<f64> = self
            .corners
            .iter()
            .flatten()
            .map(|p| (p[0] - w).hypot(p[1] - h) / w.hypot(h))
            .collect();
        far.sort_by(f64::total_cmp);
        far.get(far.len() * 99 / 100).copied().unwrap_or(0.0)
    }
}

/// What a fit may choose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Freedom {
    /// Both focal lengths are one.
    pub one_focal: bool,
    /// The sixth power of the radius is fitted too.
    pub sixth_power: bool,
}

/// One least-squares fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The lens.
    pub lens: LensFigures,
    /// Standard deviation of each figure, were the corners' errors independent.
    pub sd: LensFigures,
    /// Root mean square of the corners' misses, px.
    pub rms_px: f64,
    /// The same of each view.
    pub by_view_px: Vec<f64>,
}

/// Fits lens and views by OpenCV's `calibrateCamera`.
///
/// # Errors
/// [`Error::Video`] if OpenCV fails, as it does where the views do not settle the lens at all.
pub fn fit(views: &Views, freedom: Freedom) -> Result<Fit> {
    let grid: Vector<Point3f> = views
        .board
        .grid()
        .iter()
        .map(|[x, y]| Point3f::new(*x as f32, *y as f32, 0.0))
        .collect();
    let objects: Vector<Vector<Point3f>> = views.corners.iter().map(|_| grid.clone()).collect();
    let images: Vector<Vector<Point2f>> = views
        .corners
        .iter()
        .map(|view| {
            view.iter()
                .map(|[x, y]| Point2f::new((x - 0.5) as f32, (y - 0.5) as f32))
                .collect()
        })
        .collect();
    let [width, height] = views.size.map(|s| s as i32);
    let mut camera = Mat::eye(3, 3, opencv::core::CV_64F)?.to_mat()?;
    let mut distortion = Mat::zeros(5, 1, opencv::core::CV_64F)?.to_mat()?;
    let (mut turns, mut shifts) = (Mat::default(), Mat::default());
    let (mut sd, mut sd_views, mut by_view) = (Mat::default(), Mat::default(), Mat::default());
    let mut flags = 0;
    if freedom.one_focal {
        flags |= calib3d::CALIB_FIX_ASPECT_RATIO;
    }
    if !freedom.sixth_power {
        flags |= calib3d::CALIB_FIX_K3;
    }
    let enough = TermCriteria::new(TermCriteria_COUNT + TermCriteria_EPS, 100, 1e-12)?;
    let rms_px = calib3d::calibrate_camera_extended(
        &objects,
        &images,
        Size::new(width, height),
        &mut camera,
        &mut distortion,
        &mut turns,
        &mut shifts,
        &mut sd,
        &mut sd_views,
        &mut by_view,
        flags,
        enough,
    )?;
    let of = |m: &Mat, i: i32| -> Result<f64> { Ok(*m.at::<f64>(i)?) };
    let at = |row: i32, column: i32| -> Result<f64> { Ok(*camera.at_2d::<f64>(row, column)?) };
    Ok(Fit {
        lens: LensFigures {
            fx: at(0, 0)?,
            fy: at(1, 1)?,
            cx: at(0, 2)? + 0.5,
            cy: at(1, 2)? + 0.5,
            k1: of(&distortion, 0)?,
            k2: of(&distortion, 1)?,
            p1: of(&distortion, 2)?,
            p2: of(&distortion, 3)?,
            k3: of(&distortion, 4)?,
        },
        sd: LensFigures {
            fx: of(&sd, 0)?,
            fy: of(&sd, 1)?,
            cx: of(&sd, 2)?,
            cy: of(&sd, 3)?,
            k1: of(&sd, 4)?,
            k2: of(&sd, 5)?,
            p1: of(&sd, 6)?,
            p2: of(&sd, 7)?,
            k3: of(&sd, 8)?,
        },
        rms_px,
        by_view_px: (0..views.corners.len() as i32)
            .map(|i| of(&by_view, i))
            .collect::<Result<_>>()?,
    })
}

/// The lens of `views`, bad views left out and its doubt taken from what each view does to it.
pub(super) fn settled(views: &Views, pictures: &LensPictures) -> Result<Lens> {
    let file = pictures.files.first().cloned().unwrap_or_default();
    let fault = |what: String, remedy: &str| Error::unreadable(file.clone(), what, remedy);
    enough(views.corners.len(), &file)?;
    let no_fit = |_| {
        fault(
            "its views of the board do not settle the lens".into(),
            "show the board leaning to each side as well, near and far, in the middle and the corners",
        )
    };
    let first = fit(views, Freedom::default()).map_err(no_fit)?;
    let left_out = much_worse(&first.by_view_px);
    let kept = views.without(&left_out);
    enough(kept.corners.len(), &file)?;
    let with = Freedom {
        sixth_power: true,
        ..Freedom::default()
    };
    let plain = fit(&kept, Freedom::default()).map_err(no_fit)?;
    let freedom = match fit(&kept, with) {
        Ok(full) if full.lens.k3.abs() > SURE * full.sd.k3 => with,
        _ => Freedom::default(),
    };
    let best = if freedom == with {
        fit(&kept, with).map_err(no_fit)?
    } else {
        plain
    };
    let sd = doubt(&kept, freedom, &best).map_err(no_fit)?;
    let long = f64::from(views.size[0].max(views.size[1]));
    if best.rms_px > WORST_FIT * long {
        return Err(fault(
            format!("the corners miss a flat board by {:.1} px", best.rms_px),
            "glue the board to something flat, and hold phone and board still",
        ));
    }
    let [width, height] = views.size;
    let lens = Lens {
        width,
        height,
        turned_deg: views.turned_deg,
        under_water: pictures.under_water,
        rms_px: best.rms_px,
        views: kept.corners.len(),
        views_left_out: left_out.len(),
        seen_to: kept.reach(),
        lens: best.lens,
        sd,
    };
    if !(sd.fx < WIDEST_FOCAL * lens.lens.fx && sd.fy < WIDEST_FOCAL * lens.lens.fy) {
        return Err(no_fit(Error::Video(String::new())));
    }
    Ok(lens)
}

fn enough(views: usize, file: &PathBuf) -> Result<()> {
    if views >= LEAST_VIEWS {
        return Ok(());
    }
    Err(Error::unreadable(
        file,
        format!(
            "the board is seen whole in {views} {} that differ, and {LEAST_VIEWS} are the least",
            if views == 1 { "view" } else { "views" }
        ),
        "take a dozen or more, leaning to each side, near and far, in the middle and the corners",
    ))
}

/// Views that fit much worse than the usual one.
fn much_worse(by_view_px: &[f64]) -> Vec<usize> {
    let mut sorted = by_view_px.to_vec();
    sorted.sort_by(f64::total_cmp);
    let usual = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
    let limit = (MUCH_WORSE * usual).max(LEAST_BAD_PX);
    (0..by_view_px.len())
        .filter(|&i| by_view_px[i] > limit)
        .collect()
}

/// Standard deviations by leaving out each view in turn (the jackknife, Tukey 1958, from memory), at least
/// those of independent errors: a board that is not quite flat and corners that err together make the lens
/// less sure than its fit says.
fn doubt(views: &Views, freedom: Freedom, best: &Fit) -> Result<LensFigures> {
    let n = views.corners.len();
    let each: Vec<[f64; 9]> = (0..n)
        .map(|i| Ok(figures(&fit(&views.without(&[i]), freedom)?.lens)))
        .collect::<Result<_>>()?;
    let sd = |k: usize| {
        let mean = each.iter().map(|f| f[k]).sum::<f64>() / n as f64;
        let square: f64 = each.iter().map(|f| (f[k] - mean).powi(2)).sum();
        (square * (n as f64 - 1.0) / n as f64).sqrt()
    };
    let own = figures(&best.sd);
    let [fx, fy, cx, cy, k1, k2, p1, p2, k3]: [f64; 9] = std::array::from_fn(|k| sd(k).max(own[k]));
    Ok(LensFigures {
        fx,
        fy,
        cx,
        cy,
        k1,
        k2,
        p1,
        p2,
        k3,
    })
}

fn figures(f: &LensFigures) -> [f64; 9] {
    [f.fx, f.fy, f.cx, f.cy, f.k1, f.k2, f.p1, f.p2, f.k3]
}
