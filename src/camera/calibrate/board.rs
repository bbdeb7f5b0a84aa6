//! The inner corners of a board of squares in a picture.

use std::path::Path;

use opencv::core::{
    Mat, MatTraitConst, Point2f, Size, TermCriteria, TermCriteria_COUNT, TermCriteria_EPS, Vector,
};
use opencv::prelude::VectorToVec;
use opencv::{calib3d, imgproc};

use crate::camera::{Board, BoardSeen};
use crate::media::{Clip, ClipOptions, Frame};
use crate::{Error, Result};

/// A picture longer than this is first looked at in a smaller size, px.
const PREVIEW_PX: i32 = 1000;

/// Half the window in which a corner is refined, as a part of the way to the next corner. A wider one takes
/// in the next squares' edges. On OpenCV's public photographs 0.3 leaves corners 0.18 px RMS off the fitted
/// board; the sector-based search alone 0.25, the published calibration 0.39.
const WINDOW: f32 = 0.3;

/// The board in a grey picture (8 bit), or `None` where it is not seen whole. Corners in px, the centre of the
/// top-left pixel at 0.5, 0.5.
///
/// OpenCV's sector-based search finds the board, its older one where that fails; either way each corner is then
/// put on the saddle of brightness between its squares.
///
/// # Errors
/// [`Error::Video`] if OpenCV fails.
pub fn find_board(grey: &Mat, board: &Board) -> Result<Option<BoardSeen>> {
    let [along, down] = board.corners().map(|n| n as i32);
    let pattern = Size::new(along, down);
    if !in_preview(grey, pattern)? {
        return Ok(None);
    }
    let mut corners = Vector::<Point2f>::new();
    let thorough = calib3d::CALIB_CB_EXHAUSTIVE + calib3d::CALIB_CB_ACCURACY;
    let found = calib3d::find_chessboard_corners_sb(grey, pattern, &mut corners, thorough)?
        || by_quads(grey, pattern, &mut corners)?;
    if !found || corners.len() != (along * down) as usize {
        return Ok(None);
    }
    refine(grey, pattern, &mut corners)?;
    Ok(Some(BoardSeen {
        board: *board,
        corners: corners
            .iter()
            .map(|p| [f64::from(p.x) + 0.5, f64::from(p.y) + 0.5])
            .collect(),
    }))
}

/// Whether the board shows in the picture made smaller: a quick no.
fn in_preview(grey: &Mat, pattern: Size) -> Result<bool> {
    let long = grey.cols().max(grey.rows());
    if long <= PREVIEW_PX {
        return Ok(true);
    }
    let by = f64::from(PREVIEW_PX) / f64::from(long);
    let mut small = Mat::default();
    imgproc::resize(
        grey,
        &mut small,
        Size::new(0, 0),
        by,
        by,
        imgproc::INTER_AREA,
    )?;
    let mut corners = Vector::<Point2f>::new();
    let quick = calib3d::CALIB_CB_NORMALIZE_IMAGE;
    Ok(
        calib3d::find_chessboard_corners_sb(&small, pattern, &mut corners, quick)?
            || by_quads(&small, pattern, &mut corners)?,
    )
}

fn by_quads(grey: &Mat, pattern: Size, corners: &mut Vector<Point2f>) -> Result<bool> {
    let flags = calib3d::CALIB_CB_ADAPTIVE_THRESH
        + calib3d::CALIB_CB_NORMALIZE_IMAGE
        + calib3d::CALIB_CB_FAST_CHECK;
    Ok(calib3d::find_chessboard_corners(
        grey, pattern, corners, flags,
    )?)
}

/// Puts every corner on its saddle.
fn refine(grey: &Mat, pattern: Size, corners: &mut Vector<Point2f>) -> Result<()> {
    let half = (WINDOW * closest(corners, pattern.width as usize)).clamp(2.0, 30.0) as i32;
    let enough = TermCriteria::new(TermCriteria_COUNT + TermCriteria_EPS, 60, 1e-4)?;
    imgproc::corner_sub_pix(
        grey,
        corners,
        Size::new(half, half),
        Size::new(-1, -1),
        enough,
    )?;
    Ok(())
}

/// Shortest way from a corner to the next in its row or column, px.
fn closest(corners: &Vector<Point2f>, along: usize) -> f32 {
    let all = corners.to_vec();
    let way = |a: &Point2f, b: &Point2f| (b.x - a.x).hypot(b.y - a.y);
    let in_rows = all.chunks(along).flat_map(|row| row.windows(2));
    let across = all.iter().zip(all.iter().skip(along));
    in_rows
        .map(|p| way(&p[0], &p[1]))
        .chain(across.map(|(a, b)| way(a, b)))
        .fold(f32::INFINITY, f32::min)
}

/// The board in a clip's frame at `t_s`, or in one up to half a second later.
///
/// # Errors
/// Those of [`Clip::open`]; [`Error::Setting`] for `--board` where it is not seen whole then.
pub fn board_in_clip(
    path: &Path,
    options: &ClipOptions,
    board: &Board,
    t_s: f64,
) -> Result<BoardSeen> {
    const PATIENCE_S: f64 = 0.5;
    let mut clip = Clip::open(path, options)?;
    let mut frame = Frame::default();
    let mut over = true;
    while clip.read(&mut frame)? {
        if frame.t_s > t_s + PATIENCE_S {
            over = false;
            break;
        }
        if frame.t_s < t_s {
            continue;
        }
        over = false;
        // A copy, for the decoder's rows lie apart.
        let grey = frame.luma.try_clone()?;
        if let Some(seen) = find_board(&grey, board)? {
            return Ok(seen);
        }
    }
    let what = if over {
        format!("the clip is over before {t_s} s")
    } else {
        format!(
            "no board of {} × {} squares is seen whole at {t_s} s",
            board.columns, board.rows
        )
    };
    Err(Error::setting(
        "--board",
        what,
        "count the squares (not the corners), and give the second at which all of it is in the picture",
    ))
}
