//! The clip again with the lure's outline, axis, path and darts drawn in.
//!
//! A second pass over the clip: what is drawn is the track that was measured, on the very frames it
//! was measured on, so that a wrong track is seen at once.

mod canvas;
mod encoder;
mod marks;

use std::path::Path;

use super::OutFile;
use crate::media::{Clip, ClipOptions, Frame};
use crate::motion::Swim;
use crate::tracking::Track;
use crate::{Error, Result};

use canvas::Canvas;
use encoder::Encoder;
use marks::Marks;

/// Fastest rate at which the overlay plays, frames per second: a faster clip plays slower than life,
/// for nobody sees more.
const FASTEST_FPS: f64 = 60.0;

/// What an overlay is made from.
#[derive(Debug, Clone, Copy)]
pub struct Overlay<'a> {
    /// The clip that was measured.
    pub clip: &'a Path,
    /// The frame rate at which a slow-motion clip was filmed, as it was given.
    pub real_fps: Option<f64>,
    /// Median frames per second of real time.
    pub fps_median: Option<f64>,
    /// The track of that clip.
    pub track: &'a Track,
    /// The figures.
    pub swim: &'a Swim,
}

/// Writes the overlay as H.264 in MP4, each frame at its own time. `progress` is called with the
/// number of frames done.
///
/// # Errors
/// [`Error::Unreadable`] where the clip cannot be read again, [`Error::File`] where the overlay cannot
/// be written; nothing unfinished is left behind.
pub fn write_overlay(
    overlay: &Overlay,
    out: &OutFile,
    progress: &mut dyn FnMut(usize),
) -> Result<()> {
    out.write_with(|unfinished| {
        draw(overlay, unfinished, progress).map_err(|e| match e {
            Error::File { source, .. } => source,
            other => std::io::Error::other(other.to_string()),
        })
    })
}

fn draw(overlay: &Overlay, path: &Path, progress: &mut dyn FnMut(usize)) -> Result<()> {
    let options = ClipOptions {
        real_fps: overlay.real_fps,
    };
    let mut clip = Clip::open(overlay.clip, &options)?;
    let marks = Marks::new(overlay);
    let slower = overlay
        .fps_median
        .map_or(1.0, |fps| (fps / FASTEST_FPS).max(1.0));
    let info = clip.info().clone();
    let mut encoder = Encoder::new(path, [info.width, info.height], info.full_range)?;
    let mut frame = Frame::default();
    while clip.read(&mut frame)? {
        let mut canvas = Canvas::new(
            frame.luma.writable()?,
            frame.cb.writable()?,
            frame.cr.writable()?,
        );
        marks.draw(frame.index, &mut canvas)?;
        encoder.add(&frame, frame.t_s * slower)?;
        progress(frame.index + 1);
    }
    encoder.finish()
}
