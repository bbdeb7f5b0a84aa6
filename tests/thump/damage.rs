//! Damaged files: whatever is in them, figures or one line, never a panic.
//!
//! Runs for two seconds, or for as many as `TRUERUN_DAMAGE_S` says, from the number in
//! `TRUERUN_DAMAGE_FROM` on (each damaged file follows from its number alone).

use super::made::Pull;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::time::{Duration, Instant};
use truerun::media::read_recording;
use truerun::motion::thump::{ThumpOptions, analyse};

fn from_environment(name: &str, otherwise: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|v| v.parse().ok())
        .unwrap_or(otherwise)
}

#[test]
fn damaged_files_never_panic() {
    let until = Instant::now() + Duration::from_secs(from_environment("TRUERUN_DAMAGE_S", 2));
    let first = from_environment("TRUERUN_DAMAGE_FROM", 0);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a");
    let whole = files();
    let (mut number, mut read, mut refused) = (first, 0u64, 0u64);
    while Instant::now() < until {
        let mut dice = ChaCha8Rng::seed_from_u64(number);
        let mut bytes = whole[dice.random_range(0..whole.len())].clone();
        damage(&mut bytes, &mut dice);
        std::fs::write(&path, &bytes).unwrap();
        let outcome = std::panic::catch_unwind(|| {
            read_recording(&path, &Default::default())
                .and_then(|r| analyse(&r, &ThumpOptions::default()))
        });
        match outcome {
            Ok(Ok(_)) => read += 1,
            Ok(Err(e)) => {
                assert_eq!(e.to_string().lines().count(), 1, "number {number}: {e}");
                refused += 1;
            }
            Err(_) => panic!("damaged file number {number} (TRUERUN_DAMAGE_FROM={number})"),
        }
        number += 1;
    }
    println!(
        "{} damaged files: {read} read, {refused} refused",
        number - first
    );
    assert!(read > 0 && refused > 0);
}

/// Whole files to damage.
fn files() -> Vec<Vec<u8>> {
    let csv = Pull {
        seconds: 3.0,
        ..Pull::default()
    }
    .csv();
    let sensors: String = csv
        .lines()
        .skip(1)
        .map(|l| format!("Accelerometer;{}\n", l.replace(',', ";").replace('.', ",")))
        .collect();
    let coarse: String = Pull {
        seconds: 4.0,
        ..Pull::default()
    }
    .rows()
    .iter()
    .map(|(t, [x, y, z])| format!("{t:.0}, {x:.2}, {y:.2}, {z:.2}\r\n"))
    .collect();
    let clock: String = Pull {
        seconds: 3.0,
        ..Pull::default()
    }
    .rows()
    .iter()
    .map(|(t, [x, ..])| format!("2026-05-01T06:30:{t:06.3}+02:00\t{x:.2}\n"))
    .collect();
    let texts = [
        csv,
        format!("sensor;time_s;x;y;z\n{sensors}"),
        format!("seconds, accX, accY, accZ\r\n{coarse}"),
        format!("time\tvalue\n{clock}"),
    ];
    let mut files: Vec<Vec<u8>> = texts.into_iter().map(String::into_bytes).collect();
    for (channels, bits) in [(1, 16), (2, 24)] {
        let spec = hound::WavSpec {
            channels,
            sample_rate: 8000,
            bits_per_sample: bits,
            sample_format: hound::SampleFormat::Int,
        };
        let mut bytes = std::io::Cursor::new(Vec::new());
        let mut wav = hound::WavWriter::new(&mut bytes, spec).unwrap();
        for i in 0..12_000 * i32::from(channels) {
            wav.write_sample((i * 37) % 20_000).unwrap();
        }
        wav.finalize().unwrap();
        files.push(bytes.into_inner());
    }
    files
}

/// A few random changes: bytes, cuts, doublings, pieces of text that readers trip over.
fn damage(bytes: &mut Vec<u8>, dice: &mut ChaCha8Rng) {
    const TRAPS: [&[u8]; 14] = [
        b"\n",
        b"\r",
        b"\"",
        b";",
        b",",
        b"\0\0\0\0",
        b"NaN",
        b"-inf",
        b"1e308",
        b"-9e99",
        b"\xFF\xFE",
        b"99:99:99",
        b"\xC3",
        b"0000-00-00T00:00:00",
    ];
    for _ in 0..dice.random_range(1..12) {
        if bytes.is_empty() {
            return;
        }
        let head = dice.random_bool(0.4);
        let most = if head {
            bytes.len().min(64)
        } else {
            bytes.len()
        };
        let at = dice.random_range(0..most);
        match dice.random_range(0..6) {
            0 => bytes[at] = dice.random(),
            1 => bytes[at] ^= 1 << dice.random_range(0..8),
            2 if dice.random_bool(0.2) => bytes.truncate(at),
            2 => drop(bytes.drain(at..(at + dice.random_range(1..40)).min(bytes.len()))),
            3 => {
                let to = (at + dice.random_range(1..400)).min(bytes.len());
                let piece = bytes[at..to].to_vec();
                bytes.splice(at..at, piece);
            }
            _ => {
                let trap = TRAPS[dice.random_range(0..TRAPS.len())];
                bytes.splice(at..at, trap.iter().copied());
            }
        }
    }
}
