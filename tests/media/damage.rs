//! Files damaged on the way: reading goes on, says so, and never panics.

use crate::fixtures::*;
use rand::{Rng, SeedableRng};
use truerun::media::{Clip, ClipOptions, Frame};

#[test]
fn damage_in_the_middle_is_read_over_and_told() {
    let dir = folder();
    let path = clip(
        &dir,
        "whole.mkv",
        "320x240",
        "30",
        "4",
        &[H264, &["-g", "15"]].concat(),
    );
    let mut bytes = std::fs::read(&path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 2000].fill(0x5a);
    let damaged = dir.path().join("damaged.mkv");
    std::fs::write(&damaged, bytes).unwrap();
    let ours = read(&damaged);
    assert!(ours.times.len() > 60, "{} of 120 frames", ours.times.len());
    assert!(ours.times.windows(2).all(|w| w[1] > w[0]), "times rise");
    assert!(*ours.times.last().unwrap() > 3.8, "goes on to the end");
    // Which of the two depends on what the damage hit: a picture, or the frame about it.
    let told = |code| ours.summary.warnings().iter().any(|w| w.code() == code);
    assert!(told("damaged") || told("frame_gaps"), "{:?}", ours.summary);
}

#[test]
fn a_file_that_ends_early_is_measured_as_far_as_it_goes() {
    let dir = folder();
    let front: Vec<&str> = [H264, &["-movflags", "+faststart"]].concat();
    for name in ["whole.mp4", "whole.avi", "whole.mkv"] {
        let encode = if name.ends_with("mp4") {
            &front[..]
        } else {
            H264
        };
        let bytes = std::fs::read(clip(&dir, name, "320x240", "30", "4", encode)).unwrap();
        let cut = dir.path().join(format!("cut_{name}"));
        std::fs::write(&cut, &bytes[..bytes.len() * 6 / 10]).unwrap();
        let ours = read(&cut);
        assert!(
            (20..110).contains(&ours.times.len()),
            "{name}: {}",
            ours.times.len()
        );
        let codes: Vec<&str> = ours.summary.warnings().iter().map(|w| w.code()).collect();
        assert!(codes.contains(&"cut_short"), "{name}: {codes:?}");
    }
}

#[test]
fn nonsense_anywhere_in_a_file_never_panics() {
    let dir = folder();
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(58);
    for name in ["a.mp4", "a.mkv", "a.avi", "a.ts"] {
        let path = clip(&dir, name, "64x48", "30", "0.3", H264);
        let whole = std::fs::read(&path).unwrap();
        for round in 0..60 {
            let mut bytes = whole.clone();
            for _ in 0..rng.random_range(1..40) {
                let at = rng.random_range(0..bytes.len());
                bytes[at] = rng.random();
            }
            if round % 3 == 0 {
                bytes.truncate(rng.random_range(1..bytes.len()));
            }
            let nonsense = dir.path().join(format!("x_{name}"));
            std::fs::write(&nonsense, &bytes).unwrap();
            read_gently(&nonsense);
        }
    }
}

/// Reads a file that may be anything: either it opens and its times rise, or one line says why not.
fn read_gently(path: &std::path::Path) {
    let options = ClipOptions {
        real_fps: Some(120.0),
    };
    let mut clip = match Clip::open(path, &options) {
        Ok(clip) => clip,
        Err(e) => return assert!(!e.to_string().contains('\n')),
    };
    let (mut frame, mut last) = (Frame::default(), -1.0);
    loop {
        match clip.read(&mut frame) {
            Ok(true) => assert!(frame.t_s > last && frame.t_s.is_finite()),
            Ok(false) => break,
            Err(e) => return assert!(!e.to_string().contains('\n')),
        }
        last = frame.t_s;
    }
    clip.summary();
}
