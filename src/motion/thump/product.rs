//! The product of the thump test: every figure with its status and interval. Plain values.

use crate::media::{Carrier, Unit};
use crate::motion::SecondRate;
use crate::{Measured, Warning};

/// A stretch of the recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// First moment, s.
    pub from_s: f64,
    /// Last moment, s.
    pub to_s: f64,
    /// Whether the lure was pulled.
    pub pull: bool,
}

/// A bite, weed or a snag: far stronger than the thump around it, left out of the figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gust {
    /// First moment, s.
    pub from_s: f64,
    /// Last moment, s.
    pub to_s: f64,
    /// How many times as strong as the usual thump.
    pub times: f64,
}

/// The wobble rate or a multiple of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Harmonic {
    /// 1 for the rate itself, 2 for twice the rate …
    pub number: u32,
    /// Rate, Hz.
    pub hz: f64,
    /// RMS in the recording's unit.
    pub rms: f64,
    /// Share of the thump's power, 0–1.
    pub share: f64,
}

/// Level in one third of an octave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandLevel {
    /// Exact midband rate, Hz (IEC 61260-1).
    pub mid_hz: f64,
    /// RMS in the recording's unit.
    pub rms: f64,
}

/// What the figures were taken from.
#[derive(Debug, Clone, PartialEq)]
pub struct Lead {
    /// Axis, low band or rattle band.
    pub carrier: Carrier,
    /// Names of the axes or the channel.
    pub names: Vec<String>,
    /// Direction along the axes, a unit vector; `[1.0]` for a channel or a single axis.
    pub direction: Vec<f64>,
    /// How it was chosen, in words.
    pub why: String,
}

/// The thump test's result.
#[derive(Debug, Clone, PartialEq)]
pub struct Thump {
    /// Whether there was a wobble to measure.
    pub found: bool,
    /// Rate, Hz: cycles counted by phase over the pulls, gusts left out.
    pub hz: Measured,
    /// Half the sampling rate, Hz.
    pub nyquist_hz: f64,
    /// Where aliased: the rates that would look the same, Hz, ascending.
    pub alias_candidates_hz: Vec<f64>,
    /// The rate second by second.
    pub by_second: Vec<SecondRate>,
    /// Standard deviation of the rate by second over its mean.
    pub unsteadiness: Option<f64>,
    /// Unit of the strengths.
    pub unit: Unit,
    /// RMS at the rate and its harmonics, in `unit`.
    pub rms: Measured,
    /// The same weighted by ISO 5349-1 Wh; acceleration only.
    pub felt: Measured,
    /// The rate and its multiples.
    pub harmonics: Vec<Harmonic>,
    /// One-third-octave levels of all that moves in the pulls.
    pub bands: Vec<BandLevel>,
    /// Direction or channel.
    pub lead: Lead,
    /// Pulls and rests.
    pub parts: Vec<Part>,
    /// Bites, weed, snags.
    pub gusts: Vec<Gust>,
    /// Time over which the rate was followed, s.
    pub followed_s: f64,
    /// Retrieve speed as given, m/s.
    pub speed_m_s: Option<f64>,
    /// RMS per retrieve speed, `unit` per m/s.
    pub rms_per_speed: Measured,
    /// Wobbles per metre of retrieve.
    pub wobbles_per_m: Measured,
    /// What the user should know.
    pub warnings: Vec<Warning>,
}

/// The curves behind the figures, for charts.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ThumpTrace {
    /// Time stamps, s.
    pub t_s: Vec<f64>,
    /// Acceleration along the direction (or the channel), slow way taken out.
    pub values: Vec<f32>,
    /// Rate (Hz) and RMS density (unit/√Hz) over the pulls.
    pub spectrum: Vec<(f64, f64)>,
    /// Spectra over time, at a few hundred places of the whole recording.
    pub over_time: super::welch::Spectrogram,
}
