//! A photo as a frame.

use opencv::core::{CV_8UC1, Mat, MatTraitConst, Size, Vector};
use opencv::{core, imgcodecs, imgproc};
use std::path::Path;

use super::cut_short::is_cut_short;
use super::{ClipSummary, Frame, refusal, sha256_of};
use crate::{Error, Result};

/// Endings of photos, those that can be read first.
const ENDINGS: [&str; 9] = [
    "jpg", "jpeg", "png", "webp", "bmp", "tif", "tiff", "heic", "heif",
];
/// Shortest side of a photo that can show anything, px.
const SHORTEST_SIDE: i32 = 32;

/// Whether a file is a photo: by its name, or where that tells nothing by its first bytes.
pub fn is_photo(path: &Path) -> bool {
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    ENDINGS.contains(&ending.to_lowercase().as_str())
        || (path.is_file() && imgcodecs::have_image_reader(path).unwrap_or(false))
}

/// Reads a photo, upright as it is shown (its rotation flag is followed).
///
/// # Errors
/// [`Error::Unreadable`] for a file that is missing, empty, cut short or no photo.
pub fn read_photo(path: &Path) -> Result<Frame> {
    let picture = decoded(path, imgcodecs::IMREAD_COLOR)?;
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

/// Reads a photo in grey as the phone stored it: not turned by its rotation flag.
///
/// # Errors
/// As for [`read_photo`].
pub fn read_stored_grey(path: &Path) -> Result<Mat> {
    let flags = imgcodecs::IMREAD_GRAYSCALE | imgcodecs::IMREAD_IGNORE_ORIENTATION;
    decoded(path, flags)
}

fn decoded(path: &Path, flags: i32) -> Result<Mat> {
    refusal::check_file(path)?;
    let bytes = std::fs::read(path).map_err(|e| Error::file(path, e))?;
    if refusal::is_heic(&bytes) {
        return Err(Error::unreadable(
            path,
            "this is a HEIC photo, which cannot be read here",
            "save it as JPEG on the phone or computer, and give that",
        ));
    }
    if is_cut_short(&bytes) {
        return Err(Error::unreadable(
            path,
            "the photo is cut short, its end is missing",
            "copy it from the phone again",
        ));
    }
    let bytes: Vector<u8> = bytes.into_iter().collect();
    let picture = imgcodecs::imdecode(&bytes, flags).unwrap_or_default();
    if picture.cols().min(picture.rows()) < SHORTEST_SIDE {
        return Err(Error::unreadable(
            path,
            "this is not a photo",
            "give a jpg or png photo, or a clip (mp4, mov, mkv, avi)",
        ));
    }
    Ok(picture)
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
        starved: false,
    }
}
