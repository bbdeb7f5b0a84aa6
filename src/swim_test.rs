//! The swim test as one call: a clip in, its figures out.

#[cfg(feature = "video")]
mod optics;

use std::path::{Path, PathBuf};

use crate::Result;
use crate::camera::{Board, Lens, Setup};
use crate::media::ClipSummary;
use crate::motion::Swim;
use crate::tracking::{StartBox, Track};

/// How a swim test is to be run.
pub struct SwimOptions<'a> {
    /// What the user told about the set-up.
    pub setup: Setup,
    /// Where the lure is; found unaided where `None`.
    pub start: Option<StartBox>,
    /// Frame rate at which a slow-motion clip was filmed.
    pub real_fps: Option<f64>,
    /// The lens, and a board to be looked for in the picture.
    pub optics: Optics,
    /// Called with the frames done, and how many there will be where the file says so.
    pub progress: &'a mut dyn FnMut(usize, Option<usize>),
}

/// What is known of how the picture came about.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Optics {
    /// The lens and the file that it was read from.
    pub lens: Option<(PathBuf, Lens)>,
    /// A board of squares that lies in the picture beside the lure's way.
    pub board: Option<BoardAt>,
}

/// A board of squares to be looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoardAt {
    /// How it is ruled; its squares have a size.
    pub board: Board,
    /// At what time of the clip it is seen whole, s of real time.
    pub t_s: f64,
}

/// What a swim test gives.
#[derive(Debug, Clone, PartialEq)]
pub struct SwimReport {
    /// The clip.
    pub clip: ClipSummary,
    /// The lure frame by frame, in the picture as it is shown.
    pub track: Track,
    /// The same without the lens, where a lens was given: what the figures are measured from.
    pub straight: Option<Track>,
    /// The figures.
    pub swim: Swim,
    /// The set-up as used.
    pub setup: Setup,
}

impl SwimReport {
    /// The track that the figures are measured from.
    pub fn measured_track(&self) -> &Track {
        self.straight.as_ref().unwrap_or(&self.track)
    }
}

/// Runs the swim test on a clip.
///
/// # Errors
/// [`Unreadable`](crate::Error::Unreadable) or [`File`](crate::Error::File) for a clip that cannot be
/// read, [`Setting`](crate::Error::Setting) for a box or a mark outside the picture or the clip, a frame rate
/// that cannot be meant, or a lens file of another mode. A clip without a lure is no error: its [`Swim::found`] is false.
#[cfg(feature = "video")]
pub fn run(clip: &Path, options: SwimOptions) -> Result<SwimReport> {
    use crate::media::{Clip, ClipOptions};
    use crate::{motion, tracking};
    // the pieces worked on are small: threads of OpenCV's own cost more than they bring
    opencv::core::set_num_threads(1).map_err(crate::Error::from)?;
    let clip_options = ClipOptions {
        real_fps: options.real_fps,
    };
    let path = clip;
    let mut clip = Clip::open(path, &clip_options)?;
    let frames = clip.info().frames_claimed;
    let mut first_look = Clip::open(path, &clip_options)?;
    let mut sight = optics::Sight::new(path, &clip, &options)?;
    let view = options.setup.view;
    let starts = match options.start {
        Some(given) => {
            given.check_inside(clip.info().width, clip.info().height)?;
            tracking::in_box(&mut first_look, view, &given)?
        }
        None => tracking::find(&mut first_look, view)?,
    };
    // its decoder holds a dozen pictures
    drop(first_look);
    let progress = options.progress;
    let mut track = tracking::follow(&mut clip, &options.setup, &starts, &mut |done| {
        progress(done, frames);
    })?;
    read_to_the_end(&mut clip)?;
    let summary = clip.summary();
    summary.check_long_enough()?;
    if let Some(late) = options.start.filter(|s| s.t_s > summary.duration_s) {
        return Err(box_after_the_end(&late, summary.duration_s));
    }
    if let Some(track) = track.as_mut().filter(|_| summary.starved) {
        track.doubts = track.doubts.of_a_starved_clip();
    }
    let (straight, setup) = match &track {
        Some(track) => sight.settle(track),
        None => (None, options.setup),
    };
    let mut swim = match &track {
        Some(track) => motion::analyse(straight.as_ref().unwrap_or(track), &setup),
        None => Swim::not_found("no lure was found"),
    };
    swim.warnings.append(&mut sight.warnings);
    // What the whole file says of its frames counts more than what the lure's track says.
    let told = summary.warnings();
    swim.warnings
        .retain(|w| told.iter().all(|t| t.code() != w.code()));
    swim.warnings.extend(told);
    Ok(SwimReport {
        clip: summary,
        track: track.unwrap_or_default(),
        straight,
        swim,
        setup,
    })
}

#[cfg(feature = "video")]
fn box_after_the_end(start: &StartBox, duration_s: f64) -> crate::Error {
    crate::Error::setting(
        format!("--box … @{}", start.t_s),
        format!("the clip is over by then, at {duration_s:.1} s"),
        "give the second of the clip at which the lure lies in the box",
    )
}

/// What was not looked at counts all the same: how many frames there are, and whether they are sound.
#[cfg(feature = "video")]
fn read_to_the_end(clip: &mut crate::media::Clip) -> Result<()> {
    let mut frame = crate::media::Frame::default();
    while clip.read(&mut frame)? {}
    Ok(())
}

/// Refuses: this build cannot read clips.
///
/// # Errors
/// Always [`Setting`](crate::Error::Setting).
#[cfg(not(feature = "video"))]
pub fn run(_clip: &Path, _options: SwimOptions) -> Result<SwimReport> {
    Err(crate::Error::setting(
        "swim",
        "this build of truerun cannot read clips",
        "build it with the feature `video`",
    ))
}
