//! Views of a board: from photos, or from a clip thinned to frames in which it lies differently.

use std::path::{Path, PathBuf};

use opencv::core::MatTraitConst;

use super::fit::Views;
use super::{LensPictures, find_board};
use crate::media::{Clip, ClipOptions, Frame, is_photo, read_stored_grey};
use crate::{Error, Result};

/// A clip is looked at this often, s.
const STEP_S: f64 = 0.25;
/// A view of a clip counts where its corners lie, in the mean, this part of the picture's length from those of
/// every other.
const APART: f64 = 0.02;
/// More views than this tell no more and cost minutes.
const MOST_VIEWS: usize = 40;

/// What was seen.
pub(super) struct Looked {
    pub(super) views: Views,
    pub(super) pictures: usize,
    pub(super) whole: usize,
}

/// Looks for the board in every picture.
pub(super) fn look(pictures: &LensPictures, progress: &mut dyn FnMut(usize)) -> Result<Looked> {
    let looked = match &pictures.files[..] {
        [only] if !is_photo(only) => in_clip(only, pictures, progress)?,
        photos => in_photos(photos, pictures, progress)?,
    };
    let first = pictures.files.first().map_or(Path::new(""), |p| p);
    if looked.whole == 0 {
        let board = &pictures.board;
        return Err(Error::unreadable(
            first,
            format!(
                "no board of {} × {} squares is seen whole in {}",
                board.columns,
                board.rows,
                match looked.pictures {
                    1 => "it".to_string(),
                    n => format!("any of {n} pictures"),
                }
            ),
            "count the squares (not the corners) for --board, and keep all of it in the picture with a pale rim round it",
        ));
    }
    Ok(looked)
}

fn in_photos(
    photos: &[PathBuf],
    pictures: &LensPictures,
    progress: &mut dyn FnMut(usize),
) -> Result<Looked> {
    let mut looked = Looked {
        views: Views::new(pictures.board),
        pictures: 0,
        whole: 0,
    };
    for path in photos {
        // not turned by its orientation tag, as clips do not turn with it
        let grey = read_stored_grey(path)?;
        let size = [grey.cols() as u32, grey.rows() as u32];
        looked.pictures += 1;
        if let Some(seen) = find_board(&grey, &pictures.board)? {
            looked.whole += 1;
            if looked.views.size() != size && !looked.views.corners.is_empty() {
                let [width, height] = looked.views.size();
                return Err(Error::unreadable(
                    path,
                    format!(
                        "is of {} × {}, the photos before it of {width} × {height}",
                        size[0], size[1]
                    ),
                    "a lens file is of one mode: give photos of one size and zoom",
                ));
            }
            looked.views.set_size(size, 0);
            looked.views.corners.push(seen.corners);
        }
        progress(looked.pictures);
    }
    Ok(looked)
}

fn in_clip(
    path: &Path,
    pictures: &LensPictures,
    progress: &mut dyn FnMut(usize),
) -> Result<Looked> {
    let mut clip = Clip::open(path, &ClipOptions::default())?;
    let (width, height) = (clip.info().width, clip.info().height);
    let mut looked = Looked {
        views: Views::new(pictures.board),
        pictures: 0,
        whole: 0,
    };
    looked
        .views
        .set_size([width, height], clip.info().rotation_deg);
    let mut apart = APART * f64::from(width.max(height));
    let mut frame = Frame::default();
    let mut next_s = 0.0;
    while clip.read(&mut frame)? {
        if frame.t_s < next_s {
            continue;
        }
        next_s = frame.t_s + STEP_S;
        looked.pictures += 1;
        let grey = frame.luma.try_clone()?;
        if let Some(seen) = find_board(&grey, &pictures.board)? {
            looked.whole += 1;
            let views = &mut looked.views.corners;
            keep_if_new(views, seen.corners, apart);
            while views.len() > MOST_VIEWS {
                apart *= 1.3;
                let all = std::mem::take(views);
                all.into_iter().for_each(|v| keep_if_new(views, v, apart));
            }
        }
        progress(looked.pictures);
    }
    Ok(looked)
}

/// Keeps a view that lies `apart` px or more from every one kept.
fn keep_if_new(views: &mut Vec<Vec<[f64; 2]>>, view: Vec<[f64; 2]>, apart: f64) {
    if views.iter().all(|v| mean_apart(v, &view) > apart) {
        views.push(view);
    }
}

fn mean_apart(a: &[[f64; 2]], b: &[[f64; 2]]) -> f64 {
    let sum: f64 = a
        .iter()
        .zip(b)
        .map(|(p, q)| (p[0] - q[0]).hypot(p[1] - q[1]))
        .sum();
    sum / a.len().max(1) as f64
}
