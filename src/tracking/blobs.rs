//! Spots of a picture that stand out from what lies round them: where a lure might be.

use opencv::core::{self, Mat, MatTraitConst, MatTraitConstManual, Scalar, Size, Vector};
use opencv::imgproc;

use super::start_box::StartBox;
use crate::Result;
use crate::media::Frame;

/// Long side of the reduced picture, px.
const LONG_SIDE: f64 = 320.0;
/// The surround of a spot, in parts of the long side.
const SURROUND: f64 = 0.16;
/// Parts of the picture that are looked at as standing out, one after the other.
pub const OUTSTANDING: [f64; 3] = [0.004, 0.012, 0.035];
/// Shortest and longest spot, in parts of the long side.
const SPAN: [f64; 2] = [0.02, 0.3];

/// A spot with how clearly it stands out.
#[derive(Debug, Clone, Copy)]
pub struct Blob {
    /// Box round it in the full picture.
    pub place: StartBox,
    /// Sum of its contrast, in spreads of the picture.
    pub weight: f64,
}

/// The clearest spots, most outstanding first, at most `most`.
pub fn find(frame: &Frame, most: usize) -> Result<Vec<Blob>> {
    let scale = reduction(&frame.luma);
    let luma = contrast(&frame.luma, &frame.luma)?;
    let cb = contrast(&frame.cb, &frame.luma)?;
    let cr = contrast(&frame.cr, &frame.luma)?;
    let mut dark = Mat::default();
    core::subtract_def(&Scalar::all(0.0), &luma, &mut dark)?;
    let colour = length(&cb, &cr)?;
    let mut blobs = Vec::new();
    for map in [&luma, &dark, &colour] {
        for part in OUTSTANDING {
            collect(map, part, scale, frame.t_s, &mut blobs)?;
        }
    }
    Ok(clearest(blobs, most))
}

/// The clearest spots of a map of the reduced picture among its most outstanding `parts`, most outstanding first, at most
/// `most`.
pub fn of_map(map: &Mat, parts: [f64; 3], frame: &Frame, most: usize) -> Result<Vec<Blob>> {
    let scale = reduction(&frame.luma);
    let mut blobs = Vec::new();
    for part in parts {
        collect(map, part, scale, frame.t_s, &mut blobs)?;
    }
    Ok(clearest(blobs, most))
}

/// Reduced over full px.
pub fn reduction(luma: &Mat) -> f64 {
    (LONG_SIDE / f64::from(luma.cols().max(luma.rows()))).min(1.0)
}

/// The reduced picture.
pub fn reduced(luma: &Mat) -> Result<Mat> {
    reduced_as(luma, luma)
}

/// A plane made as large as the reduced picture.
pub fn reduced_as(plane: &Mat, luma: &Mat) -> Result<Mat> {
    let mut small = Mat::default();
    let size = reduced_size(luma);
    imgproc::resize(plane, &mut small, size, 0.0, 0.0, imgproc::INTER_AREA)?;
    Ok(small)
}

fn reduced_size(luma: &Mat) -> Size {
    let scale = reduction(luma);
    Size::new(
        (f64::from(luma.cols()) * scale).round() as i32,
        (f64::from(luma.rows()) * scale).round() as i32,
    )
}

/// A plane less its surround, in spreads.
fn contrast(plane: &Mat, luma: &Mat) -> Result<Mat> {
    let mut float = Mat::default();
    reduced_as(plane, luma)?.convert_to(&mut float, core::CV_32F, 1.0, 0.0)?;
    let side = (SURROUND * LONG_SIDE) as i32 | 1;
    let mut surround = Mat::default();
    imgproc::blur_def(&float, &mut surround, Size::new(side, side))?;
    let mut away = Mat::default();
    core::subtract_def(&float, &surround, &mut away)?;
    let mut sizes: Vec<f32> = away.data_typed::<f32>()?.iter().map(|v| v.abs()).collect();
    sizes.sort_by(f32::total_cmp);
    let spread = f64::from(sizes[sizes.len() / 2]).max(0.5);
    let mut out = Mat::default();
    away.convert_to(&mut out, core::CV_32F, 1.0 / spread, 0.0)?;
    Ok(out)
}

fn length(a: &Mat, b: &Mat) -> Result<Mat> {
    let mut out = Mat::default();
    core::magnitude(a, b, &mut out)?;
    Ok(out)
}

/// The most outstanding first, at most `most`, none of them twice.
fn clearest(mut blobs: Vec<Blob>, most: usize) -> Vec<Blob> {
    blobs.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    apart(blobs, most, |blob| &blob.place)
}

/// The clearest spots of a map of the reduced picture that lie above one of its levels, most outstanding first, at most
/// `most`.
///
/// # Errors
/// [`crate::Error::Video`] when the map cannot be worked on.
pub fn above(map: &Mat, levels: [f64; 3], frame: &Frame, most: usize) -> Result<Vec<Blob>> {
    let scale = reduction(&frame.luma);
    let mut blobs = Vec::new();
    for level in levels {
        collect_above(map, level, scale, frame.t_s, &mut blobs)?;
    }
    Ok(clearest(blobs, most))
}

/// Adds the pieces of the map's most outstanding `part`.
fn collect(map: &Mat, part: f64, scale: f64, t_s: f64, blobs: &mut Vec<Blob>) -> Result<()> {
    let values = map.data_typed::<f32>()?;
    let mut sorted = values.to_vec();
    sorted.sort_by(f32::total_cmp);
    let level = sorted[sorted.len() - 1 - (part * sorted.len() as f64) as usize];
    if level < 1.5 {
        return Ok(());
    }
    collect_above(map, f64::from(level), scale, t_s, blobs)
}

/// Adds the pieces of the map that lie above a level.
fn collect_above(map: &Mat, level: f64, scale: f64, t_s: f64, blobs: &mut Vec<Blob>) -> Result<()> {
    let mut mask = Mat::default();
    core::compare(map, &Scalar::all(level), &mut mask, core::CMP_GT)?;
    let mut pieces = Vector::<Vector<core::Point>>::new();
    imgproc::find_contours_def(
        &mask,
        &mut pieces,
        imgproc::RETR_EXTERNAL,
        imgproc::CHAIN_APPROX_NONE,
    )?;
    for piece in pieces {
        let area = imgproc::contour_area_def(&piece)?;
        let tight = imgproc::min_area_rect(&piece)?.size;
        let (long, short) = (
            f64::from(tight.width.max(tight.height)),
            f64::from(tight.width.min(tight.height)),
        );
        let (within, filled) = (
            long / f64::from(map.cols().max(map.rows())),
            area / (long * short).max(1.0),
        );
        if !(SPAN[0]..SPAN[1]).contains(&within)
            || filled < 0.45
            || short < 2.0
            || long > 9.0 * short
        {
            continue;
        }
        let around = imgproc::bounding_rect(&piece)?;
        let sum = core::sum_elems(&Mat::roi(map, around)?)?[0].abs();
        let margin = 0.12 * long;
        blobs.push(Blob {
            place: StartBox {
                x: (f64::from(around.x) - margin) / scale,
                y: (f64::from(around.y) - margin) / scale,
                w: (f64::from(around.width) + 2.0 * margin) / scale,
                h: (f64::from(around.height) + 2.0 * margin) / scale,
                t_s,
            },
            // a big patch of light weighs no more than a compact lure
            weight: sum / area.max(4.0).sqrt(),
        });
    }
    Ok(())
}

/// Drops what lies mostly on something of like size before it, and keeps at most `most`.
pub fn apart<T>(things: Vec<T>, most: usize, place: impl Fn(&T) -> &StartBox) -> Vec<T> {
    let mut kept: Vec<T> = Vec::new();
    for thing in things {
        let new = |k: &T| overlap(place(k), place(&thing)) < 0.5;
        if kept.iter().all(new) {
            kept.push(thing);
        }
        if kept.len() == most {
            break;
        }
    }
    kept
}

/// Common area over joint area of two boxes, 0–1.
fn overlap(a: &StartBox, b: &StartBox) -> f64 {
    let w = ((a.x + a.w).min(b.x + b.w) - a.x.max(b.x)).max(0.0);
    let h = ((a.y + a.h).min(b.y + b.h) - a.y.max(b.y)).max(0.0);
    let common = w * h;
    common / (a.w * a.h + b.w * b.h - common).max(1.0)
}
