//! The swim test as one call: a clip in, its figures out.

use std::path::Path;

use crate::camera::Setup;
use crate::media::ClipSummary;
use crate::motion::Swim;
use crate::tracking::Track;
use crate::{Error, Result};

/// Where the lure is at one moment of the clip, in pixels of the displayed picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StartBox {
    /// Left edge, px.
    pub x: f64,
    /// Upper edge, px.
    pub y: f64,
    /// Width, px.
    pub w: f64,
    /// Height, px.
    pub h: f64,
    /// At what time of the clip, s of real time.
    pub t_s: f64,
}

impl StartBox {
    /// Refuses a box that does not lie in a picture of this size.
    ///
    /// # Errors
    /// [`Error::Setting`] for `--box`.
    pub fn check_inside(&self, width: u32, height: u32) -> Result<()> {
        let (width, height) = (f64::from(width), f64::from(height));
        let inside =
            self.x >= 0.0 && self.y >= 0.0 && self.x + self.w <= width && self.y + self.h <= height;
        if inside {
            return Ok(());
        }
        Err(Error::setting(
            format!("--box {},{},{},{}", self.x, self.y, self.w, self.h),
            format!("reaches out of the picture, which is {width} × {height}"),
            "give x,y of its upper left corner, then width and height, in pixels of the picture as it \
             is shown",
        ))
    }
}

/// How a swim test is to be run.
pub struct SwimOptions<'a> {
    /// What the user told about the set-up.
    pub setup: Setup,
    /// Where the lure is; found unaided where `None`.
    pub start: Option<StartBox>,
    /// Frame rate at which a slow-motion clip was filmed.
    pub real_fps: Option<f64>,
    /// Called with the frames done, and how many there will be where the file says so.
    pub progress: &'a mut dyn FnMut(usize, Option<usize>),
}

/// What a swim test gives.
#[derive(Debug, Clone, PartialEq)]
pub struct SwimReport {
    /// The clip.
    pub clip: ClipSummary,
    /// The lure frame by frame.
    pub track: Track,
    /// The figures.
    pub swim: Swim,
    /// The set-up as used.
    pub setup: Setup,
}

/// Runs the swim test on a clip.
///
/// # Errors
/// [`Error::Unreadable`] or [`Error::File`] for a clip that cannot be read, [`Error::Setting`] for a
/// box outside the picture or a frame rate that cannot be meant. A clip without a lure is no error:
/// its [`Swim::found`] is false.
#[cfg(feature = "video")]
pub fn run(clip: &Path, options: SwimOptions) -> Result<SwimReport> {
    use crate::media::{Clip, ClipOptions};
    let clip_options = ClipOptions {
        real_fps: options.real_fps,
    };
    let clip = Clip::open(clip, &clip_options)?;
    if let Some(start) = options.start {
        start.check_inside(clip.info().width, clip.info().height)?;
    }
    Err(Error::Video("tracking is not wired in yet".into()))
}

/// Refuses: this build cannot read clips.
///
/// # Errors
/// Always [`Error::Setting`].
#[cfg(not(feature = "video"))]
pub fn run(_clip: &Path, _options: SwimOptions) -> Result<SwimReport> {
    Err(Error::setting(
        "swim",
        "this build of truerun cannot read clips",
        "build it with the feature `video`",
    ))
}
