//! What the rest of the program sees of a rod-tip log or a sound: thinned, in one unit, with its doubts.

use std::path::Path;

use super::{LogOptions, read_log, read_sound_track, read_wav};
use crate::{Error, Result, Warning};

/// Standard acceleration of gravity, m/s² (exact, CGPM 1901).
pub const STANDARD_GRAVITY: f64 = 9.80665;

/// Where a recording comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A logger's text file.
    Log,
    /// A WAV file.
    Wav,
    /// The sound track of a clip.
    SoundTrack,
}

impl Source {
    /// Stable word for files.
    pub fn word(self) -> &'static str {
        match self {
            Source::Log => "log",
            Source::Wav => "wav",
            Source::SoundTrack => "sound_track",
        }
    }
}

/// In which unit the values are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Acceleration, m/s².
    MetresPerSecond2,
    /// Sound as a part of full scale.
    FullScale,
    /// Acceleration in a unit that nothing tells.
    Unknown,
}

/// What a strip of values is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// One axis of an accelerometer.
    Axis,
    /// The low band of a sound, as it is.
    LowBand,
    /// The loudness of a sound's rattle band, which follows the wobble where the low band cannot.
    Rattle,
}

impl Carrier {
    /// Stable word for files.
    pub fn word(self) -> &'static str {
        match self {
            Carrier::Axis => "axis",
            Carrier::LowBand => "low_band",
            Carrier::Rattle => "rattle",
        }
    }
}

/// One quantity over the recording's time.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Name of the axis or number of the channel.
    pub name: String,
    /// What it is of.
    pub carrier: Carrier,
    /// Values in the recording's unit, one per time stamp.
    pub values: Vec<f32>,
}

/// A recording, thinned to what a wobble and its harmonics need.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Name of the file, without its folder.
    pub file: String,
    /// SHA-256 of the file; `None` if it could not be read again.
    pub sha256: Option<String>,
    /// Where it comes from.
    pub source: Source,
    /// Rows or samples per channel that were read.
    pub rows: usize,
    /// Samples a second as recorded.
    pub recorded_hz: f64,
    /// Rates up to here are whole after thinning, Hz.
    pub passband_hz: f64,
    /// Doubt of the time base: 95 % half-width as a part of any rate.
    pub clock_doubt: f64,
    /// How much earlier than told the first sample may lie on the clip's clock, s; 0 but for the sound
    /// of a clip that does not tell.
    pub start_doubt_s: f64,
    /// Time stamps, s from the recording's first row (of a clip's sound: on the clip's clock), rising.
    pub t_s: Vec<f64>,
    /// The quantities.
    pub strips: Vec<Strip>,
    /// The unit of the values.
    pub unit: Unit,
    /// What the unit rests on, in words.
    pub unit_from: &'static str,
    /// What the time stamps rest on, in words.
    pub time_from: String,
    /// What the user should know.
    pub warnings: Vec<Warning>,
}

impl Recording {
    /// From the first stamp to the last, s.
    pub fn duration_s(&self) -> f64 {
        match (self.t_s.first(), self.t_s.last()) {
            (Some(first), Some(last)) => last - first,
            _ => 0.0,
        }
    }

    /// Refuses a recording of too few rows a second to show any wobble, or of too few samples to hold the cycles that a rate needs.
    ///
    /// # Errors
    /// [`Error::Unreadable`] naming how much there is.
    pub fn check_long_enough(&self, path: &Path) -> Result<()> {
        if self.recorded_hz.is_nan() || self.recorded_hz < SLOWEST_ROWS_HZ {
            return Err(Error::unreadable(
                path,
                format!(
                    "{:.2} rows a second show no wobble, by {}",
                    self.recorded_hz, self.time_from
                ),
                "log at 50 or more, or give --rate where the time in it is wrong",
            ));
        }
        if self.t_s.len() >= FEWEST && self.duration_s() >= SHORTEST_S {
            return Ok(());
        }
        Err(Error::unreadable(
            path,
            format!(
                "too short to measure, {} rows over {:.2} s",
                self.rows,
                self.duration_s()
            ),
            "record at least two seconds of the pull",
        ))
    }
}

/// Half of this is the slowest wobble looked for, rows a second.
const SLOWEST_ROWS_HZ: f64 = 3.0;
/// Fewer samples than this tell no rate.
const FEWEST: usize = 32;
/// A shorter recording holds no few cycles of a slow wobble.
const SHORTEST_S: f64 = 1.0;

/// Reads a recording of any kind, told by its first bytes.
///
/// # Errors
/// [`Error::File`] or [`Error::Unreadable`] in one line; [`Error::Setting`] for an option that does
/// not fit the file.
pub fn read_recording(path: &Path, options: &LogOptions) -> Result<Recording> {
    let about = std::fs::metadata(path).map_err(|e| Error::file(path, e))?;
    if about.is_dir() {
        return Err(Error::unreadable(
            path,
            "this is a folder",
            "name one file in it",
        ));
    }
    match first_bytes(path)? {
        bytes if bytes.is_empty() => Err(Error::unreadable(
            path,
            "the file is empty",
            "copy the recording again",
        )),
        bytes if bytes.starts_with(b"RIFF") || bytes.starts_with(b"RF64") => read_wav(path),
        bytes if bytes.get(4..8) == Some(b"ftyp") => read_sound_track(path),
        _ => read_log(path, options),
    }
}

fn first_bytes(path: &Path) -> Result<Vec<u8>> {
    use std::io::Read;
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(16).read_to_end(&mut bytes))
        .map_err(|e| Error::file(path, e))?;
    Ok(bytes)
}

/// The file's own name, for reports.
pub(super) fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}
