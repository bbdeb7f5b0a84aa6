//! Writes photos and clips with the `ffmpeg` program.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use super::paint::Painter;
use super::plan::FloatPlan;
use super::truth::{FloatTruth, frame_times};
use crate::{Error, Result};

/// Draws the lure at rest and writes it as a photo; the name's ending (`.jpg`, `.png`) tells the format.
///
/// # Errors
/// [`Error::Unreadable`] where `ffmpeg` is missing or refuses.
pub fn write_float_photo(plan: &FloatPlan, path: &Path) -> Result<FloatTruth> {
    let picture = Painter::new(plan).picture(0.0);
    let photo = ["-frames:v", "1", "-update", "1", "-q:v", "2"];
    encode(plan, path, &photo, std::iter::once(picture))?;
    Ok(FloatTruth::of(plan))
}

/// Draws the test and writes it as an H.264 clip.
///
/// # Errors
/// As [`write_float_photo`].
pub fn write_float_clip(plan: &FloatPlan, path: &Path) -> Result<FloatTruth> {
    let painter = Painter::new(plan);
    let crf = plan.crf.to_string();
    let clip = [
        "-c:v", "libx264", "-preset", "veryfast", "-crf", &crf, "-pix_fmt", "yuv420p",
    ];
    encode(
        plan,
        path,
        &clip,
        frame_times(plan).into_iter().map(|t| painter.picture(t)),
    )?;
    Ok(FloatTruth::of(plan))
}

fn encode(
    plan: &FloatPlan,
    path: &Path,
    how: &[&str],
    pictures: impl Iterator<Item = Vec<u8>>,
) -> Result<()> {
    let refused = |what: String| {
        Error::unreadable(
            path,
            what,
            "see that `ffmpeg` is installed and that the disk has room",
        )
    };
    let mut program = Command::new("ffmpeg")
        .args([
            "-v", "error", "-nostdin", "-y", "-f", "rawvideo", "-pix_fmt", "rgb24",
        ])
        .args(["-s", &format!("{}x{}", plan.width, plan.height)])
        .args(["-framerate", &plan.fps.to_string(), "-i", "pipe:0"])
        .args(how)
        .arg(path)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|e| refused(format!("the program ffmpeg does not start ({e})")))?;
    let mut pipe = program.stdin.take();
    let sent = pipe.as_mut().is_some_and(|pipe| {
        pictures
            .into_iter()
            .all(|picture| pipe.write_all(&picture).is_ok())
    });
    drop(pipe);
    let ended = program.wait().is_ok_and(|status| status.success());
    match sent && ended {
        true => Ok(()),
        false => Err(refused("ffmpeg could not write it".into())),
    }
}
