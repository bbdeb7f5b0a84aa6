//! Writes a scene as a clip, with the `ffmpeg` program, and its truth beside it.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};

use super::description::{Codec, FilePlan, SceneDescription};
use super::matroska;
use super::rotate::{mark_turn, stored};
use super::stage::Stage;
use super::stamps::is_variable;
use super::truth::ClipTruth;
use crate::{Error, Result};

/// A container, from the clip's file name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Container {
    Mp4,
    Mov,
    Mkv,
    Avi,
}

impl Container {
    fn of(path: &Path) -> Result<Container> {
        let ending = path
            .extension()
            .unwrap_or_default()
            .to_string_lossy()
            .to_lowercase();
        match ending.as_str() {
            "mp4" => Ok(Container::Mp4),
            "mov" => Ok(Container::Mov),
            "mkv" => Ok(Container::Mkv),
            "avi" => Ok(Container::Avi),
            _ => Err(Error::setting(
                path.display().to_string(),
                "the name does not say which kind of clip",
                "end it in .mp4, .mov, .mkv or .avi",
            )),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Container::Mp4 => "mp4",
            Container::Mov => "mov",
            Container::Mkv => "matroska",
            Container::Avi => "avi",
        }
    }

    fn can_hold(self, plan: &FilePlan, variable: bool) -> Result<()> {
        let no = |option, what, remedy| Err(Error::setting(option, what, remedy));
        match self {
            Container::Mkv | Container::Avi if plan.rotation_deg != 0 => no(
                "file.rotation_deg",
                "only mp4 and mov hold it here",
                "write an .mp4 or .mov",
            ),
            Container::Avi if variable => no(
                "clip.gap_jitter",
                "avi has no uneven time stamps",
                "write an .mp4, .mov or .mkv",
            ),
            Container::Avi if plan.codec == Codec::Hevc => no(
                "file.codec",
                "avi cannot hold HEVC",
                "write an .mp4, .mov or .mkv",
            ),
            _ => Ok(()),
        }
    }
}

/// Draws a scene and writes it as the clip `path`, with its truth as JSON beside it (same name, `.json`).
/// `progress` hears the number of each finished frame and how many there are.
///
/// Nothing is left behind when it fails.
///
/// # Errors
/// [`Error::Setting`] for what cannot be drawn or held by the container; [`Error::Unreadable`] when
/// `ffmpeg` is missing or refuses; [`Error::File`] where a file cannot be written.
pub fn write_clip(
    scene: &SceneDescription,
    path: &Path,
    mut progress: impl FnMut(usize, usize),
) -> Result<ClipTruth> {
    let container = Container::of(path)?;
    container.can_hold(&scene.file, is_variable(&scene.clip))?;
    let stage = Stage::new(scene)?;
    let half_done = Scrap::beside(path);
    let mut encoder = Encoder::start(scene, container, &half_done.0, path)?;
    let count = stage.stamps().len();
    let mut truths = Vec::with_capacity(count);
    for frame in stage.frames() {
        encoder.add(&frame.rgb, frame.truth.t)?;
        progress(frame.index + 1, count);
        truths.push(frame.truth);
    }
    encoder.finish()?;
    mark_turn(&half_done.0, scene.file.rotation_deg)?;
    let truth = stage.clip_truth(truths);
    let truth_path = path.with_extension("json");
    let truth_draft = draft_truth(&truth, &truth_path)?;
    half_done.becomes(path)?;
    truth_draft.becomes(&truth_path)?;
    Ok(truth)
}

/// Writes the truth as JSON, whole or not at all.
///
/// # Errors
/// [`Error::File`] where it cannot be written.
pub fn write_truth(truth: &ClipTruth, path: &Path) -> Result<()> {
    draft_truth(truth, path)?.becomes(path)
}

fn draft_truth(truth: &ClipTruth, path: &Path) -> Result<Scrap> {
    let draft = Scrap::beside(path);
    let mut text =
        serde_json::to_string(truth).map_err(|e| Error::file(path, std::io::Error::other(e)))?;
    // One frame a line reads and compares well.
    text = text.replace("{\"t\":", "\n{\"t\":");
    text.push('\n');
    std::fs::write(&draft.0, text).map_err(|e| Error::file(path, e))?;
    Ok(draft)
}

/// A file in the making, gone when dropped unless it was renamed.
struct Scrap(PathBuf);

impl Scrap {
    fn beside(path: &Path) -> Scrap {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        Scrap(path.with_file_name(format!(".{name}.{}.part", std::process::id())))
    }
}

impl Scrap {
    /// Takes its final name.
    fn becomes(self, path: &Path) -> Result<()> {
        std::fs::rename(&self.0, path).map_err(|e| Error::file(path, e))
    }
}

impl Drop for Scrap {
    fn drop(&mut self) {
        // Already renamed, or never made: then there is nothing to remove.
        let _ = std::fs::remove_file(&self.0);
    }
}

struct Encoder {
    program: Child,
    pipe: Option<ChildStdin>,
    rotation_deg: u16,
    width: usize,
    height: usize,
    /// Clip time over real time, and whether each picture carries its own stamp.
    stretch: f64,
    stamped: bool,
    path: PathBuf,
}

impl Encoder {
    fn start(
        scene: &SceneDescription,
        container: Container,
        to: &Path,
        clip_path: &Path,
    ) -> Result<Encoder> {
        let (clip, file) = (&scene.clip, &scene.file);
        let turned = matches!(file.rotation_deg, 90 | 270);
        let (w, h) = if turned {
            (clip.height, clip.width)
        } else {
            (clip.width, clip.height)
        };
        let play_fps = file.play_fps.unwrap_or(clip.fps);
        let stamped = is_variable(clip);
        let mut ffmpeg = Command::new("ffmpeg");
        ffmpeg.args(["-v", "error", "-nostdin", "-y"]);
        if stamped {
            ffmpeg.args(["-f", "matroska", "-i", "pipe:0", "-enc_time_base", "1:1000"]);
            // Every picture keeps its own stamp; the option's name has changed.
            ffmpeg.args([
                if knows_fps_mode() {
                    "-fps_mode"
                } else {
                    "-vsync"
                },
                "passthrough",
            ]);
        } else {
            ffmpeg.args(["-f", "rawvideo", "-pix_fmt", "rgb24"]);
            ffmpeg.args([
                "-s",
                &format!("{w}x{h}"),
                "-framerate",
                &play_fps.to_string(),
            ]);
            ffmpeg.args(["-i", "pipe:0"]);
        }
        // Said outright, so that every player reads the colours alike.
        ffmpeg.args([
            "-vf",
            "scale=out_color_matrix=bt709:out_range=tv,format=yuv420p",
        ]);
        ffmpeg.args([
            "-colorspace",
            "bt709",
            "-color_primaries",
            "bt709",
            "-color_trc",
            "bt709",
        ]);
        match file.codec {
            Codec::H264 => ffmpeg.args(["-c:v", "libx264"]),
            Codec::Hevc => ffmpeg.args(["-c:v", "libx265", "-x265-params", "log-level=error"]),
        };
        if file.codec == Codec::Hevc && matches!(container, Container::Mp4 | Container::Mov) {
            ffmpeg.args(["-tag:v", "hvc1"]);
        }
        ffmpeg.args(["-crf", &file.crf.to_string(), "-preset", &file.preset]);
        if matches!(container, Container::Mp4 | Container::Mov) {
            ffmpeg.args(["-video_track_timescale", "90000", "-movflags", "+faststart"]);
        }
        ffmpeg.args(["-f", container.word()]).arg(to);
        let mut program = ffmpeg
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|e| no_ffmpeg(clip_path, &e))?;
        let pipe = program.stdin.take();
        let mut encoder = Encoder {
            program,
            pipe,
            rotation_deg: file.rotation_deg,
            width: clip.width,
            height: clip.height,
            stretch: clip.fps / play_fps,
            stamped,
            path: clip_path.to_path_buf(),
        };
        if stamped {
            encoder.send(|out| matroska::head(out, w, h))?;
        }
        Ok(encoder)
    }

    /// Adds an upright picture taken at `t`, s of real time.
    fn add(&mut self, rgb: &[u8], t: f64) -> Result<()> {
        let picture = stored(rgb, self.width, self.height, self.rotation_deg);
        let ms = (t * self.stretch * 1e3).round() as u64;
        match self.stamped {
            true => self.send(|out| matroska::picture(out, ms, &picture)),
            false => self.send(|out| out.write_all(&picture)),
        }
    }

    fn send(&mut self, write: impl FnOnce(&mut ChildStdin) -> std::io::Result<()>) -> Result<()> {
        let sent = self.pipe.as_mut().is_some_and(|pipe| write(pipe).is_ok());
        if sent { Ok(()) } else { Err(self.complaint()) }
    }

    /// Closes the pipe and waits for `ffmpeg` to end.
    fn finish(&mut self) -> Result<()> {
        self.pipe = None;
        match self.program.wait() {
            Ok(status) if status.success() => Ok(()),
            _ => Err(self.complaint()),
        }
    }

    /// What `ffmpeg` said, as our error.
    fn complaint(&mut self) -> Error {
        self.pipe = None;
        let mut said = String::new();
        if let Some(mut out) = self.program.stderr.take() {
            // What could be read is shown; nothing more can be done with a failure to read it.
            let _ = out.read_to_string(&mut said);
        }
        let last = said
            .lines()
            .rev()
            .find(|l| !l.trim().is_empty())
            .unwrap_or("it said nothing")
            .trim();
        Error::unreadable(
            &self.path,
            format!("ffmpeg could not write the clip ({last})"),
            "check the disk's free space, and that `ffmpeg -encoders` lists libx264 and libx265",
        )
    }
}

impl Drop for Encoder {
    fn drop(&mut self) {
        // After a failure elsewhere the program must not linger; after success both calls do nothing.
        self.pipe = None;
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

/// Whether this `ffmpeg` has `-fps_mode` (5.1 and later) in place of `-vsync`.
fn knows_fps_mode() -> bool {
    let told = Command::new("ffmpeg")
        .arg("-version")
        .output()
        .map(|o| o.stdout)
        .unwrap_or_default();
    let told = String::from_utf8_lossy(&told).into_owned();
    let version = told
        .split_whitespace()
        .nth(2)
        .unwrap_or_default()
        .trim_start_matches('n');
    let mut parts = version
        .split(|c: char| !c.is_ascii_digit())
        .map(str::parse::<u32>);
    match (parts.next(), parts.next()) {
        (Some(Ok(major)), Some(Ok(minor))) => (major, minor) >= (5, 1),
        // Built from the development sources: new.
        _ => true,
    }
}

fn no_ffmpeg(path: &Path, e: &std::io::Error) -> Error {
    let what = match e.kind() {
        std::io::ErrorKind::NotFound => "the program ffmpeg is not installed".to_owned(),
        _ => format!("the program ffmpeg does not start ({e})"),
    };
    Error::unreadable(
        path,
        what,
        "install it (Debian, Ubuntu: apt install ffmpeg)",
    )
}
