//! WAV files of all forms, tones of known level, rattles, damage told in one line, a clip's sound.

use super::support::Dice;
use hound::{SampleFormat, WavSpec, WavWriter};
use std::f64::consts::TAU;
use std::path::Path;
use truerun::media::{Carrier, Recording, read_recording};
use truerun::motion::thump::{Thump, ThumpOptions, analyse};

fn spec(
    channels: u16,
    sample_rate: u32,
    bits_per_sample: u16,
    sample_format: SampleFormat,
) -> WavSpec {
    WavSpec {
        channels,
        sample_rate,
        bits_per_sample,
        sample_format,
    }
}

/// Writes `seconds` of `wave` (time to part of full scale) to every channel, the first half as loud.
fn write(path: &Path, spec: WavSpec, seconds: f64, mut wave: impl FnMut(f64) -> f64) {
    let mut wav = WavWriter::create(path, spec).unwrap();
    for i in 0..(seconds * f64::from(spec.sample_rate)) as usize {
        let value = wave(i as f64 / f64::from(spec.sample_rate));
        for channel in 0..spec.channels {
            let value = if channel + 1 < spec.channels {
                0.5 * value
            } else {
                value
            };
            match spec.sample_format {
                SampleFormat::Float => wav.write_sample(value as f32).unwrap(),
                SampleFormat::Int => {
                    let full = 2f64.powi(i32::from(spec.bits_per_sample) - 1) - 1.0;
                    wav.write_sample((value * full).round() as i32).unwrap();
                }
            }
        }
    }
    wav.finalize().unwrap();
}

fn measured(path: &Path) -> (Recording, Thump) {
    let recording = read_recording(path, &Default::default()).unwrap();
    let thump = analyse(&recording, &ThumpOptions::default()).unwrap().0;
    (recording, thump)
}

#[test]
fn tones_of_known_level_in_every_form() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    for (channels, hz, bits, format) in [
        (1, 8_000, 8, SampleFormat::Int),
        (1, 44_100, 16, SampleFormat::Int),
        (2, 48_000, 24, SampleFormat::Int),
        (1, 96_000, 32, SampleFormat::Int),
        (3, 16_000, 32, SampleFormat::Float),
        (1, 192_000, 16, SampleFormat::Int),
        (12, 8_000, 16, SampleFormat::Int),
    ] {
        let mut dice = Dice::new(4);
        // −20 dB zero-to-peak on the last channel is −23.01 dB RMS; the others are 6.02 dB below.
        write(&path, spec(channels, hz, bits, format), 10.0, |t| {
            0.1 * (TAU * 5.3 * t).sin() + 2e-3 * dice.normal()
        });
        let (recording, thump) = measured(&path);
        let name = format!("{channels} channels, {hz} Hz, {bits} bit");
        assert_eq!(
            thump.lead.carrier,
            Carrier::LowBand,
            "{name}: {}",
            thump.lead.why
        );
        assert!(
            (thump.hz.value.unwrap() / 5.3 - 1.0).abs() < 0.002,
            "{name}: {:?}",
            thump.hz
        );
        let db = 20.0 * thump.rms.value.unwrap().log10();
        let level = if thump.lead.names == [format!("channel {channels}")] {
            -23.01
        } else {
            -29.03
        };
        assert!(
            (db - level).abs() < 0.1,
            "{name}: {db} for {level} on {:?}",
            thump.lead.names
        );
        assert_eq!(
            recording.warnings.iter().any(|w| w.code() == "channels"),
            channels > 8
        );
    }
}

#[test]
fn a_rattle_is_heard_where_the_low_band_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    let mut dice = Dice::new(5);
    write(&path, spec(1, 16_000, 16, SampleFormat::Int), 12.0, |t| {
        let knock = (0.5 + 0.5 * (TAU * 4.6 * t).sin()).powi(8);
        0.1 * knock * dice.normal() + 0.002 * dice.normal()
    });
    let thump = measured(&path).1;
    assert_eq!(thump.lead.carrier, Carrier::Rattle, "{}", thump.lead.why);
    assert!(
        (thump.hz.value.unwrap() / 4.6 - 1.0).abs() < 0.002,
        "{:?}",
        thump.hz
    );
    assert!(thump.felt.value.is_none());
}

#[test]
fn noise_is_no_rattle() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    for number in 0..5 {
        let mut dice = Dice::new(60 + number);
        write(&path, spec(1, 8_000, 16, SampleFormat::Int), 10.0, |_| {
            0.05 * dice.normal()
        });
        let thump = measured(&path).1;
        assert!(!thump.found, "{:?}", thump.hz);
    }
}

#[test]
fn a_clipped_sound_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    write(&path, spec(1, 8_000, 16, SampleFormat::Int), 5.0, |t| {
        (2.0 * (TAU * 5.0 * t).sin()).clamp(-1.0, 1.0)
    });
    assert!(
        measured(&path)
            .0
            .warnings
            .iter()
            .any(|w| w.code() == "clipped")
    );
}

#[test]
fn cut_short_and_lying_headers() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    write(&path, spec(1, 8_000, 16, SampleFormat::Int), 10.0, |t| {
        0.1 * (TAU * 5.0 * t).sin()
    });
    let whole = std::fs::read(&path).unwrap();
    let told = |bytes: &[u8]| {
        std::fs::write(&path, bytes).unwrap();
        read_recording(&path, &Default::default())
    };
    let cut = told(&whole[..whole.len() / 2]).unwrap();
    assert!(
        cut.warnings.iter().any(|w| w.code() == "cut_short"),
        "{:?}",
        cut.warnings
    );
    assert!((cut.duration_s() - 5.0).abs() < 0.1);
    let with = |at: usize, bytes: &[u8]| {
        let mut lying = whole.clone();
        lying[at..at + bytes.len()].copy_from_slice(bytes);
        lying
    };
    for (name, bytes) in [
        ("no channel", with(22, &[0, 0])),
        ("no rate", with(24, &[0; 4])),
        ("mad rate", with(24, &[0xFF; 4])),
        ("no bits", with(34, &[0, 0])),
        ("no data", with(40, &[0; 4])),
        ("header only", whole[..44].to_vec()),
        ("half a header", whole[..20].to_vec()),
        ("RIFF of something else", with(8, b"AVI ")),
    ] {
        let fault = told(&bytes).expect_err(name).to_string();
        assert_eq!(fault.lines().count(), 1, "{name}: {fault}");
    }
}

/// The sound of a clip made by the `ffmpeg` program, where it is installed.
#[test]
fn the_sound_track_of_a_clip() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.mp4");
    let made = std::process::Command::new("ffmpeg")
        .args([
            "-v",
            "error",
            "-f",
            "lavfi",
            "-i",
            "testsrc=size=160x120:rate=30:duration=8",
        ])
        .args([
            "-f",
            "lavfi",
            "-i",
            "aevalsrc=(0.5+0.5*sin(2*PI*4.6*t))^8*(random(0)-0.5)*0.6:s=48000:d=8",
        ])
        .args(["-c:v", "mpeg4", "-c:a", "aac", "-b:a", "128k", "-shortest"])
        .arg(&path)
        .status();
    if !made.is_ok_and(|s| s.success()) {
        println!("skipped: there is no ffmpeg program here");
        return;
    }
    let (recording, thump) = measured(&path);
    assert_eq!(recording.source.word(), "sound_track");
    assert!(
        (recording.duration_s() - 8.0).abs() < 0.2,
        "{}",
        recording.duration_s()
    );
    assert_eq!(thump.lead.carrier, Carrier::Rattle);
    assert!(
        (thump.hz.value.unwrap() / 4.6 - 1.0).abs() < 0.003,
        "{:?}",
        thump.hz
    );
    // The first sample belongs to the encoder's lead-in: 1024 of them at 48 kHz, which the edit list
    // tells. What is given first lies half the thinning filter (8 × 192 samples) behind it.
    assert_eq!(recording.start_doubt_s, 0.0);
    let first_s = recording.t_s[0] - 8.0 * 192.0 / 48_000.0;
    assert!((first_s + 1024.0 / 48_000.0).abs() < 1e-4, "{first_s}");
    let cut = std::fs::read(&path).unwrap();
    // Without its edit list the clip leaves the start in doubt.
    let at = cut.windows(4).rposition(|w| w == b"elst").unwrap();
    let mut bare = cut.clone();
    bare[at..at + 4].copy_from_slice(b"free");
    std::fs::write(&path, &bare).unwrap();
    let doubt = measured(&path).0.start_doubt_s;
    assert!((doubt - 0.044).abs() < 1e-9, "{doubt}");
    std::fs::write(&path, &cut[..cut.len() / 2]).unwrap();
    assert!(read_recording(&path, &Default::default()).is_err());
}
