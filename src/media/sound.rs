//! Sound: WAV files sample by sample into the low band and the loudness of the rattle band.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use hound::{SampleFormat, WavReader};

use super::decimate::{Decimator, PASSBAND, factor_for};
use super::recording::{Carrier, Recording, Source, Strip, Unit, file_name};
use super::sha256_of;
use crate::{Error, Result, Warning};

/// More channels than this are not looked at.
const MOST_CHANNELS: usize = 8;
/// Sample rates that a recorder has, Hz; others are a lying header.
const RATES_HZ: std::ops::RangeInclusive<u32> = 1_000..=400_000;
/// The rattle band, Hz: above speech hum and line noise, below what small microphones lose.
const RATTLE_HZ: [f64; 2] = [300.0, 4000.0];
/// From here on a sample counts as clipped.
const FULL: f64 = 0.999;
/// Clipped samples in a row that are a clipped wave and not one lone peak.
const IN_A_ROW: usize = 3;

/// Reads a WAV file in one pass with flat memory: 8 to 32 bit or float, any number of channels.
///
/// # Errors
/// [`Error::Unreadable`] where it is no WAV file, has no channel or no sample, or a sample rate that
/// cannot be meant; [`Error::File`] where it cannot be read.
pub fn read_wav(path: &Path) -> Result<Recording> {
    let file = File::open(path).map_err(|e| Error::file(path, e))?;
    let wav = WavReader::new(BufReader::new(file)).map_err(|e| refused(path, &e))?;
    let spec = wav.spec();
    let mut sound = Sound::new(path, spec.channels.into(), spec.sample_rate)?;
    let whole = wav.len() as usize;
    let (read, cut) = match spec.sample_format {
        SampleFormat::Float => pour(&mut sound, wav.into_samples::<f32>(), f64::from),
        SampleFormat::Int => {
            let full = 2f64.powi(i32::from(spec.bits_per_sample).max(1) - 1);
            pour(&mut sound, wav.into_samples::<i32>(), |v| {
                f64::from(v) / full
            })
        }
    };
    if cut {
        let text = format!(
            "the file ends early, after {read} of {whole} samples; figures hold for that part; copy it again"
        );
        sound.warnings.push(Warning::Other {
            code: "cut_short",
            text,
        });
    }
    sound.finish(path, Source::Wav)
}

/// Samples into `sound` until they end; how many, and whether they ended in a fault.
fn pour<S, E>(
    sound: &mut Sound,
    samples: impl Iterator<Item = std::result::Result<S, E>>,
    value: impl Fn(S) -> f64,
) -> (usize, bool) {
    let mut read = 0;
    for sample in samples {
        match sample {
            Ok(sample) => sound.push(value(sample)),
            Err(_) => return (read, true),
        }
        read += 1;
    }
    (read, false)
}

fn refused(path: &Path, e: &hound::Error) -> Error {
    let what = match e {
        hound::Error::IoError(_) => "the file ends before its first sample".to_string(),
        hound::Error::FormatError(what) => format!("not a WAV file that can be read ({what})"),
        hound::Error::Unsupported => "a kind of WAV file that is not plain samples".to_string(),
        other => other.to_string(),
    };
    Error::unreadable(
        path,
        what,
        "save it as WAV with 16 or 24 bits and try again",
    )
}

/// Sound being thinned as it comes.
pub(super) struct Sound {
    channels: usize,
    used: usize,
    next: usize,
    hz: f64,
    factor: usize,
    ears: Vec<Ear>,
    frames: usize,
    not_numbers: usize,
    pub warnings: Vec<Warning>,
}

/// One channel.
struct Ear {
    low: Decimator,
    band: [Biquad; 4],
    loudness: Decimator,
    strips: [Vec<f32>; 2],
    in_a_row: usize,
    clipped: usize,
}

impl Sound {
    /// Sound of `channels` channels at `hz` samples a second.
    pub fn new(path: &Path, channels: usize, hz: u32) -> Result<Sound> {
        if channels == 0 {
            return Err(Error::unreadable(
                path,
                "there is no channel in it",
                "record again",
            ));
        }
        if !RATES_HZ.contains(&hz) {
            return Err(Error::unreadable(
                path,
                format!("the header claims {hz} samples a second, which no recorder has"),
                "copy or save the recording again",
            ));
        }
        let rate = f64::from(hz);
        let used = channels.min(MOST_CHANNELS);
        let mut warnings = Vec::new();
        if used < channels {
            let text = format!("{channels} channels: only the first {used} were looked at");
            warnings.push(Warning::Other {
                code: "channels",
                text,
            });
        }
        Ok(Sound {
            channels,
            used,
            next: 0,
            hz: rate,
            factor: factor_for(rate),
            ears: (0..used).map(|_| Ear::new(rate)).collect(),
            frames: 0,
            not_numbers: 0,
            warnings,
        })
    }

    /// Takes the next sample, channel by channel in turn, as a part of full scale.
    pub fn push(&mut self, value: f64) {
        let number = value.is_finite() && value.abs() < 1e6;
        self.not_numbers += usize::from(!number);
        if let Some(ear) = self.ears.get_mut(self.next) {
            ear.push(if number { value } else { 0.0 });
        }
        self.next += 1;
        if self.next == self.channels {
            self.next = 0;
            self.frames += 1;
        }
    }

    /// The recording.
    pub fn finish(mut self, path: &Path, source: Source) -> Result<Recording> {
        if self.frames == 0 {
            return Err(Error::unreadable(
                path,
                "there is no sound in it",
                "record again",
            ));
        }
        let thinned_hz = self.hz / self.factor as f64;
        let first_s = self.ears.first().map_or(0, |e| e.low.delay()) as f64 / self.hz;
        let count = self
            .ears
            .iter()
            .flat_map(|e| &e.strips)
            .map(Vec::len)
            .min()
            .unwrap_or(0);
        let clipped: usize = self.ears.iter().map(|e| e.clipped).sum();
        if clipped > 0 {
            let text = format!(
                "the sound is clipped at full scale in {clipped} places, so the thump is stronger than told; turn the input down"
            );
            self.warnings.push(Warning::Other {
                code: "clipped",
                text,
            });
        }
        if self.not_numbers > 0 {
            let text = format!(
                "{} samples were no numbers and were taken as silence",
                self.not_numbers
            );
            self.warnings.push(Warning::Other {
                code: "not_numbers",
                text,
            });
        }
        let carriers = [Carrier::LowBand, Carrier::Rattle];
        let strips = self.ears.into_iter().enumerate().flat_map(|(i, ear)| {
            carriers
                .into_iter()
                .zip(ear.strips)
                .map(move |(carrier, mut values)| {
                    values.truncate(count);
                    Strip {
                        name: format!("channel {}", i + 1),
                        carrier,
                        values,
                    }
                })
        });
        let recording = Recording {
            file: file_name(path),
            sha256: sha256_of(path).ok(),
            source,
            rows: self.frames,
            recorded_hz: self.hz,
            passband_hz: PASSBAND * thinned_hz,
            clock_doubt: 0.0,
            start_doubt_s: 0.0,
            t_s: (0..count)
                .map(|i| first_s + i as f64 / thinned_hz)
                .collect(),
            strips: strips.collect(),
            unit: Unit::FullScale,
            unit_from: "sound has no unit: levels are relative to full scale",
            time_from: "the sample rate".into(),
            warnings: self.warnings,
        };
        debug_assert_eq!(recording.strips.len(), 2 * self.used);
        recording.check_long_enough(path)?;
        Ok(recording)
    }
}

impl Ear {
    fn new(hz: f64) -> Ear {
        let factor = factor_for(hz);
        let high = RATTLE_HZ[1].min(0.4 * hz);
        let low = RATTLE_HZ[0].min(0.5 * high);
        Ear {
            low: Decimator::new(factor),
            band: butterworth(low, high, hz),
            loudness: Decimator::new(factor),
            strips: Default::default(),
            in_a_row: 0,
            clipped: 0,
        }
    }

    fn push(&mut self, value: f64) {
        self.in_a_row = if value.abs() >= FULL {
            self.in_a_row + 1
        } else {
            0
        };
        self.clipped += usize::from(self.in_a_row == IN_A_ROW);
        let rattle = self.band.iter_mut().fold(value, |v, filter| filter.push(v));
        let given = [self.low.push(value), self.loudness.push(rattle.abs())];
        for (strip, value) in self.strips.iter_mut().zip(given) {
            strip.extend(value.map(|v| v as f32));
        }
    }
}

/// A second-order filter, direct form II transposed.
#[derive(Debug, Clone, Copy)]
struct Biquad {
    b: [f64; 3],
    a: [f64; 2],
    z: [f64; 2],
}

impl Biquad {
    fn push(&mut self, x: f64) -> f64 {
        let y = self.b[0] * x + self.z[0];
        self.z[0] = self.b[1] * x - self.a[0] * y + self.z[1];
        self.z[1] = self.b[2] * x - self.a[1] * y;
        y
    }
}

/// A fourth-order Butterworth high-pass at `low` followed by a low-pass at `high`, by the bilinear
/// transform with its corner put right (SciPy's `butter(4, …, output="sos")` is the check).
fn butterworth(low: f64, high: f64, hz: f64) -> [Biquad; 4] {
    // The two pole pairs of the fourth order have these quality factors: 1/(2 cos(π/8)), 1/(2 cos(3π/8)).
    let q = [0.541_196_100_146_197, 1.306_562_964_876_376_5];
    let k = |corner: f64| (std::f64::consts::PI * corner / hz).tan();
    let section = |k: f64, q: f64, high_pass: bool| {
        let norm = 1.0 / (1.0 + k / q + k * k);
        let a = [2.0 * (k * k - 1.0) * norm, (1.0 - k / q + k * k) * norm];
        let b = match high_pass {
            true => [norm, -2.0 * norm, norm],
            false => [k * k * norm, 2.0 * k * k * norm, k * k * norm],
        };
        Biquad { b, a, z: [0.0; 2] }
    };
    let (kl, kh) = (k(low), k(high));
    [
        section(kl, q[0], true),
        section(kl, q[1], true),
        section(kh, q[0], false),
        section(kh, q[1], false),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gain at `hz` by a long tone's RMS.
    fn gain(hz: f64) -> f64 {
        let mut filters = butterworth(300.0, 4000.0, 48_000.0);
        let tone =
            (0..96_000).map(|i| (std::f64::consts::TAU * hz * f64::from(i) / 48_000.0).sin());
        let out: Vec<f64> = tone
            .map(|x| filters.iter_mut().fold(x, |v, f| f.push(v)))
            .collect();
        (2.0 * out[48_000..].iter().map(|v| v * v).sum::<f64>() / 48_000.0).sqrt()
    }

    /// `scipy.signal.sosfreqz` of `butter(4, 300, "high")` times `butter(4, 4000)` at 48 kHz, as
    /// tests/reference/butterworth.py prints it.
    #[test]
    fn the_rattle_band_is_scipys() {
        let text = include_str!("../../tests/reference/butterworth.json");
        let points: Vec<(f64, f64)> = serde_json::from_str(text).unwrap();
        for (hz, expected) in points {
            assert!(
                (gain(hz) - expected).abs() < 2e-3,
                "{hz}: {} for {expected}",
                gain(hz)
            );
        }
    }
}
