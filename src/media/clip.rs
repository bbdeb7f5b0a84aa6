//! A clip, read frame by frame.

use super::decoder::{self, Decoder};
use super::printer::{self, Printer};
use super::{ClipSummary, Clock, Frame, Orientation, Rhythm, refusal, sha256_of};
use crate::{Error, Result};
use ffmpeg_next::frame::Video as Picture;
use std::path::{Path, PathBuf};

/// A file may claim this many seconds more than it shows before it counts as cut short:
/// the last frame's own time and the rounding of odd containers.
const CLAIM_SLACK_S: f64 = 0.5;

/// What the user told about how a clip plays.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ClipOptions {
    /// Frames per second at which a slow-motion clip was filmed, if it plays slower than life.
    pub real_fps: Option<f64>,
}

/// What a clip says of itself before it is read through.
#[derive(Debug, Clone, PartialEq)]
pub struct ClipInfo {
    /// Displayed width, px.
    pub width: u32,
    /// Displayed height, px.
    pub height: u32,
    /// How far the stored picture is turned clockwise to be displayed: 0, 90, 180 or 270.
    pub rotation_deg: u16,
    /// Whether the file asks for a mirrored picture.
    pub mirrored: bool,
    /// Width of a stored pixel over its height; frames have square ones.
    pub sample_aspect: f64,
    /// Frames that the container claims.
    pub frames_claimed: Option<usize>,
    /// Frames per second of real time that the container claims.
    pub fps_nominal: f64,
    /// Start of the picture on the container's clock, s: what to take off a sound's time to lay
    /// it beside the frames.
    pub start_s: f64,
    /// Short name of the codec, such as `h264`.
    pub codec: String,
    /// Whether brightness runs over 0–255 rather than video's 16–235.
    pub full_range: bool,
}

/// In H.264 with fewer bits than this for each pixel of each picture, what moves little is copied from picture to picture:
/// at 0.02 to 0.06 the wobble of two rendered clips of four came out 15 and 19 % too narrow, from 0.1 on of none. Newer codecs
/// do with this part of it.
const BITS_PER_PIXEL: f64 = 0.07;
const NEWER_SAVES: f64 = 0.6;

/// A frame as it was read: the stamp that the file gives it, in the container's ticks, and its time, s.
#[derive(Debug, Clone, Copy)]
struct Shown {
    ticks: Option<i64>,
    t_s: f64,
}

/// A clip being read, with one frame in memory.
///
/// ```no_run
/// # fn main() -> truerun::Result<()> {
/// use truerun::media::{Clip, ClipOptions, Frame};
/// let mut clip = Clip::open("hazel58-03.mp4".as_ref(), &ClipOptions::default())?;
/// let mut frame = Frame::default();
/// while clip.read(&mut frame)? {
///     println!("{} at {:.3} s", frame.index, frame.t_s);
/// }
/// println!("{}", clip.summary().duration_s);
/// # Ok(())
/// # }
/// ```
pub struct Clip {
    path: PathBuf,
    options: ClipOptions,
    decoder: Decoder,
    /// The decoded picture that the next `read` hands out.
    waiting: Option<Picture>,
    printer: Printer,
    clock: Clock,
    info: ClipInfo,
    /// The frames read so far.
    shown: Vec<Shown>,
    /// Number of the next one.
    next: usize,
    slow_down: f64,
    interlaced: bool,
}

impl Clip {
    /// Opens a clip and decodes its first frame, so that a file that opens also shows.
    ///
    /// # Errors
    /// [`Error::Unreadable`] or [`Error::File`] for bad input, [`Error::Setting`] for a frame
    /// rate that cannot be meant.
    pub fn open(path: &Path, options: &ClipOptions) -> Result<Self> {
        check_real_fps(options.real_fps)?;
        refusal::check_file(path)?;
        let mut decoder = Decoder::open(path)?;
        let mut first = Picture::empty();
        if !decoder.next(&mut first) {
            return Err(Error::unreadable(
                path,
                "not one frame in it can be decoded",
                "copy the clip from the phone again",
            ));
        }
        let facts = decoder.facts().clone();
        let slow_down = slow_down(path, options.real_fps, facts.tick_s, facts.fps)?;
        let orientation = facts
            .display_matrix
            .as_deref()
            .map(Orientation::from_side_data)
            .unwrap_or_default();
        let sample_aspect = decoder.sample_aspect(&mut first);
        let printer = Printer::new(&first, sample_aspect, orientation).map_err(|e| at(path, e))?;
        let [width, height] = printer.displayed_size();
        let info = ClipInfo {
            width: width as u32,
            height: height as u32,
            rotation_deg: orientation.rotation_deg(),
            mirrored: orientation.is_mirrored(),
            sample_aspect,
            frames_claimed: facts.frames,
            fps_nominal: facts.fps / slow_down,
            start_s: facts.start_s,
            codec: facts.codec,
            full_range: printer::is_full_range(&first),
        };
        Ok(Clip {
            path: path.to_path_buf(),
            options: *options,
            decoder,
            interlaced: first.is_interlaced(),
            waiting: Some(first),
            printer,
            clock: Clock::new(facts.tick_s, 1.0 / facts.fps, slow_down),
            info,
            shown: Vec::new(),
            next: 0,
            slow_down,
        })
    }

    /// Begins again with its first frame.
    ///
    /// # Errors
    /// As [`Clip::open`].
    pub fn rewind(&mut self) -> Result<()> {
        *self = Clip::open(&self.path, &self.options)?;
        Ok(())
    }

    /// The same clip opened a second time; what was read of it is known.
    ///
    /// # Errors
    /// As [`Clip::open`].
    pub(super) fn beside(&self) -> Result<Clip> {
        Ok(Clip {
            shown: self.shown.clone(),
            ..Clip::open(&self.path, &self.options)?
        })
    }

    /// Whether the stamps of the frames read so far tell one from another: they may be missing, or fall back.
    pub(super) fn has_rising_stamps(&self) -> bool {
        self.shown.iter().all(|shown| shown.ticks.is_some())
            && self.shown.is_sorted_by(|a, b| a.ticks < b.ticks)
    }

    /// Goes to a frame that was read before, which is the next then, by the file's own index and the frame's stamp; false
    /// where they do not lead there.
    pub(super) fn go_back_to(&mut self, index: usize) -> bool {
        let ticks = self.shown.get(index).and_then(|shown| shown.ticks);
        self.waiting = ticks.and_then(|ticks| self.decoder.go_to(ticks));
        self.next = index;
        self.waiting.is_some()
    }

    /// Goes to a frame that was read before from the clip's beginning.
    ///
    /// # Errors
    /// As [`Clip::open`].
    pub(super) fn go_from_first_to(&mut self, index: usize) -> Result<()> {
        self.decoder = Decoder::open(&self.path)?;
        self.waiting = None;
        for _ in 0..index {
            self.next_picture();
        }
        self.next = index;
        Ok(())
    }

    /// Reads the next frame, which was read before, in buffers of its own; `None` where it is not the same.
    ///
    /// # Errors
    /// As [`Clip::read`].
    pub(super) fn read_again(&mut self) -> Result<Option<Frame>> {
        let before = self.shown.get(self.next).map(|shown| shown.ticks);
        let now = self.next_picture();
        let same = now.as_ref().map(|picture| picture.timestamp()) == before;
        self.waiting = now;
        if same { self.next_frame() } else { Ok(None) }
    }

    /// What the clip says of itself.
    pub fn info(&self) -> &ClipInfo {
        &self.info
    }

    /// Reads the next frame into `frame`, whose buffers are used again; false at the end.
    ///
    /// # Errors
    /// [`Error::Unreadable`] if the picture changes its size midway.
    pub fn read(&mut self, frame: &mut Frame) -> Result<bool> {
        frame.give_back();
        let Some(picture) = self.next_picture() else {
            return Ok(false);
        };
        frame.t_s = self.count(&picture);
        frame.index = self.next - 1;
        self.printer
            .print(picture, frame)
            .map_err(|e| at(&self.path, e))?;
        Ok(true)
    }

    /// Counts the next picture; its time, s.
    fn count(&mut self, picture: &Picture) -> f64 {
        let read_before = self.shown.get(self.next).map(|shown| shown.t_s);
        self.next += 1;
        read_before.unwrap_or_else(|| {
            let ticks = picture.timestamp();
            let stamp_s = ticks.map(|ticks| ticks as f64 * self.decoder.facts().tick_s);
            let t_s = self.clock.next(stamp_s);
            self.shown.push(Shown { ticks, t_s });
            t_s
        })
    }

    /// The next frame in buffers of its own; `None` at the end. [`Clip::read`] costs less.
    ///
    /// # Errors
    /// As [`Clip::read`].
    pub fn next_frame(&mut self) -> Result<Option<Frame>> {
        let mut frame = Frame::default();
        Ok(self.read(&mut frame)?.then_some(frame))
    }

    /// What is reported of the clip, as far as it has been read. Reads the file once more for
    /// its checksum.
    pub fn summary(&self) -> ClipSummary {
        let rhythm = self.clock.rhythm();
        let name = self.path.file_name().unwrap_or(self.path.as_os_str());
        ClipSummary {
            file: name.to_string_lossy().into_owned(),
            sha256: sha256_of(&self.path).ok(),
            frames: self.shown.len(),
            duration_s: self.clock.last_s(),
            fps_median: rhythm.map(|r| r.fps()),
            vfr: rhythm.is_some_and(|r| r.vfr),
            rotation_deg: self.info.rotation_deg,
            width: self.info.width,
            height: self.info.height,
            gap_range_s: rhythm.map(|r| r.range_s),
            long_gaps: rhythm.map_or(0, |r| r.long_gaps),
            mended_stamps: self.clock.mended(),
            damaged: self.decoder.damaged(),
            cut_short: self.decoder.broken_off() || self.ends_before_its_claim(rhythm),
            interlaced: self.interlaced,
            mirrored: self.info.mirrored,
            starved: self.is_starved(),
        }
    }

    /// Whether the file has fewer bits for each pixel than its codec needs for fine motion.
    fn is_starved(&self) -> bool {
        let pixels =
            f64::from(self.info.width) * f64::from(self.info.height) * self.shown.len() as f64;
        let bits =
            std::fs::metadata(&self.path).map_or(f64::INFINITY, |file| 8.0 * file.len() as f64);
        let needed = if self.info.codec == "h264" {
            BITS_PER_PIXEL
        } else {
            NEWER_SAVES * BITS_PER_PIXEL
        };
        bits < needed * pixels
    }

    fn next_picture(&mut self) -> Option<Picture> {
        if let Some(first) = self.waiting.take() {
            return Some(first);
        }
        let mut picture = Picture::empty();
        self.decoder.next(&mut picture).then_some(picture)
    }

    fn ends_before_its_claim(&self, rhythm: Option<Rhythm>) -> bool {
        let shown_s = self.clock.last_s() + rhythm.map_or(0.0, |r| r.gap_s);
        let claimed_s = self.decoder.facts().duration_s.map(|s| s * self.slow_down);
        claimed_s.is_some_and(|claimed| claimed - shown_s > CLAIM_SLACK_S.max(0.05 * claimed))
    }
}

/// Seconds of real time in one second of the container: its frame rate over the real one.
fn slow_down(path: &Path, real_fps: Option<f64>, tick_s: f64, claimed_fps: f64) -> Result<f64> {
    let Some(real_fps) = real_fps else {
        return Ok(1.0);
    };
    let stamps = decoder::stamps(path)?;
    let gaps: Vec<f64> = stamps
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|g| *g > 0.0)
        .collect();
    let played_fps = match Rhythm::of(&gaps, tick_s) {
        // A claim that rounded stamps cannot tell from what they show is the better figure.
        Some(shown) if shown.vfr || !agree(shown.gap_s, 1.0 / claimed_fps, tick_s, gaps.len()) => {
            shown.fps()
        }
        _ => claimed_fps,
    };
    Ok(played_fps / real_fps)
}

/// Whether two gaps drift apart by less than the rounding of one stamp over `count` frames.
fn agree(gap_s: f64, other_s: f64, tick_s: f64, count: usize) -> bool {
    (gap_s - other_s).abs() * count as f64 <= tick_s
}

fn check_real_fps(real_fps: Option<f64>) -> Result<()> {
    const FASTEST: f64 = 100_000.0;
    match real_fps {
        Some(fps) if !(1.0..=FASTEST).contains(&fps) => Err(Error::setting(
            "--real-fps",
            format!("{fps} frames per second cannot be meant"),
            "give the rate at which the clip was filmed, such as 120 or 240",
        )),
        _ => Ok(()),
    }
}

/// The same error with the file's name, since a picture does not know from where it comes.
fn at(path: &Path, e: Error) -> Error {
    match e {
        Error::Video(what) => Error::unreadable(
            path,
            what,
            "save the clip anew, or copy it from the phone again",
        ),
        other => other,
    }
}
