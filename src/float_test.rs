//! The float test as one call: a photo or a clip in, its figures out.

use std::path::Path;

use crate::Result;
use crate::media::ClipSummary;
use crate::motion::float::{Float, FloatSetup, FloatTrace};
use crate::tracking::StartBox;

/// How a float test is to be run.
pub struct FloatOptions<'a> {
    /// What the user told about the set-up.
    pub setup: FloatSetup,
    /// Where the lure is; found unaided where `None`.
    pub start: Option<StartBox>,
    /// Frame rate at which a slow-motion clip was filmed.
    pub real_fps: Option<f64>,
    /// Called with the frames done, and how many there will be where the file says so.
    pub progress: &'a mut dyn FnMut(usize, Option<usize>),
}

/// What a float test gives.
#[derive(Debug, Clone, PartialEq)]
pub struct FloatReport {
    /// The file: a photo is a clip of one frame.
    pub clip: ClipSummary,
    /// Whether it is a photo.
    pub photo: bool,
    /// The figures.
    pub float: Float,
    /// Series and outline for the chart.
    pub trace: FloatTrace,
    /// The set-up as used.
    pub setup: FloatSetup,
}

/// Runs the float test on a photo (jpg, png, …) or a clip.
///
/// # Errors
/// [`Unreadable`](crate::Error::Unreadable) or [`File`](crate::Error::File) for a file that cannot be read,
/// [`Setting`](crate::Error::Setting) for a box outside the picture. A picture without a lure or without a
/// water surface is no error: its [`Float::found`] is false.
#[cfg(feature = "video")]
pub fn run(file: &Path, options: FloatOptions) -> Result<FloatReport> {
    use crate::camera::FloatView;
    use crate::media::{Clip, ClipOptions, is_photo, photo_summary, read_photo};
    use crate::motion::float::analyse;
    use crate::tracking::float::{Floating, clip, photo};
    let how = Floating {
        end: matches!(options.setup.view, FloatView::End { .. }),
        start: options.start,
        horizon_deg: options.setup.horizon_deg,
    };
    let check = |width, height| match &options.start {
        Some(start) => start.check_inside(width, height),
        None => Ok(()),
    };
    let (summary, track) = if is_photo(file) {
        let frame = read_photo(file)?;
        let summary = photo_summary(file, &frame);
        check(summary.width, summary.height)?;
        (summary, photo(&frame, &how)?)
    } else {
        let mut reader = Clip::open(
            file,
            &ClipOptions {
                real_fps: options.real_fps,
            },
        )?;
        check(reader.info().width, reader.info().height)?;
        let frames = reader.info().frames_claimed;
        let progress = options.progress;
        let track = clip(&mut reader, &how, &mut |done| progress(done, frames))?;
        (reader.summary(), track)
    };
    let photo = track.frames.len() <= 1;
    let (mut float, trace) = analyse(&track, &options.setup);
    let told = summary.warnings();
    float.warnings.extend(told);
    Ok(FloatReport {
        clip: summary,
        photo,
        float,
        trace,
        setup: options.setup,
    })
}

/// Refuses: this build cannot read pictures.
///
/// # Errors
/// Always [`Setting`](crate::Error::Setting).
#[cfg(not(feature = "video"))]
pub fn run(_file: &Path, _options: FloatOptions) -> Result<FloatReport> {
    Err(crate::Error::setting(
        "float",
        "this build of truerun cannot read photos and clips",
        "build it with the feature `video`",
    ))
}
