//! A photo as a frame.

use opencv::core::{CV_8UC1, Mat, MatTraitConst, Size, Vector};
use opencv::{core, imgcodecs, imgproc};
use std::path::Path;

use super::{ClipSummary, Frame, refusal, sha256_of};
use crate::{Error, Result};

/// Endings of the photos that can be read.
const ENDINGS: [&str; 7] = ["jpg", "jpeg", "png", "webp", "bmp", "tif", "tiff"];

/// Whether a file is a photo by its name.
pub fn is_photo(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| ENDINGS.contains(&e.to_string_lossy().to_lowercase().as_str()))
}

/// Reads a photo, upright as it is shown (its rotation flag is followed).
///
/// # Errors
/// [`Error::Unreadable`] for a file that is missing, empty or no photo.
pub fn read_photo(path: &Path) -> Result<Frame> {
    refusal::check_file(path)?;
    let bytes = std::fs::read(path).map_err(|e| Error::file(path, e))?;
    let bytes: Vector<u8> = bytes.into_iter().collect();
    let picture = imgcodecs::imdecode(&bytes, imgcodecs::IMREAD_COLOR).unwrap_or_default();
    if picture.cols() < 32 || picture.rows() < 32 {
        return Err(Error::unreadable(
            path,
            "this is not a photo",
            "give a jpg or png photo, or a clip (mp4, mov, mkv, avi)",
        ));
    }
    let mut converted = Mat::default();
    imgproc::cvt_color_def(&picture, &mut converted, imgproc::COLOR_BGR2YCrCb)?;
    let mut planes = Vector::<Mat>::new();
    core::split(&converted, &mut planes)?;
    let mut frame = Frame::default();
    *frame.luma.own() = planes.get(0)?;
    let half = Size::new((picture.cols() + 1) / 2, (picture.rows() + 1) / 2);
    for (plane, to) in [(2, &mut frame.cb), (1, &mut frame.cr)] {
        imgproc::resize(
            &planes.get(plane)?,
            to.own(),
            half,
            0.0,
            0.0,
            imgproc::INTER_AREA,
        )?;
    }
    debug_assert_eq!(frame.luma.typ(), CV_8UC1);
    Ok(frame)
}

/// What is reported of a photo: a clip of one frame.
pub fn photo_summary(path: &Path, frame: &Frame) -> ClipSummary {
    let name = path.file_name().unwrap_or(path.as_os_str());
    ClipSummary {
        file: name.to_string_lossy().into_owned(),
        sha256: sha256_of(path).ok(),
        frames: 1,
        duration_s: 0.0,
        fps_median: None,
        vfr: false,
        rotation_deg: 0,
        width: frame.luma.cols() as u32,
        height: frame.luma.rows() as u32,
        gap_range_s: None,
        long_gaps: 0,
        mended_stamps: 0,
        damaged: 0,
        cut_short: false,
        interlaced: false,
        mirrored: false,
    }
}
