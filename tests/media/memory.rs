//! One frame in memory, whatever the clip's length.

use crate::fixtures::*;
use opencv::prelude::*;
use std::process::Command;
use truerun::media::{Clip, ClipOptions, Frame};

#[test]
fn planes_that_must_be_worked_on_are_used_again() {
    let dir = folder();
    let wide: &[&str] = &[
        "-vf",
        "setsar=7/6",
        "-c:v",
        "libx264",
        "-pix_fmt",
        "yuv420p10le",
    ];
    let path = clip(&dir, "c.mp4", "96x64", "30", "1", wide);
    let mut clip = Clip::open(&path, &ClipOptions::default()).unwrap();
    let mut frame = Frame::default();
    assert!(clip.read(&mut frame).unwrap());
    let places = [&frame.luma, &frame.cb, &frame.cr].map(|plane| plane.data() as usize);
    while clip.read(&mut frame).unwrap() {
        assert_eq!(
            [&frame.luma, &frame.cb, &frame.cr].map(|plane| plane.data() as usize),
            places
        );
    }
}

#[test]
fn a_frame_outlives_its_clip_and_the_frames_after_it() {
    let dir = folder();
    let path = clip(&dir, "c.mp4", "96x64", "30", "1", H264);
    let whole = read(&path);
    let mut clip = Clip::open(&path, &ClipOptions::default()).unwrap();
    let mut kept = Vec::new();
    while let Some(frame) = clip.next_frame().unwrap() {
        kept.push(frame);
    }
    drop(clip);
    for (frame, planes) in kept.iter().zip(&whole.planes) {
        assert!(bytes(&frame.luma) == planes[0] && bytes(&frame.cr) == planes[2]);
    }
}

#[test]
fn drawing_on_a_frame_does_not_reach_the_frames_after_it() {
    let dir = folder();
    let path = clip(&dir, "c.mp4", "96x64", "30", "1", H264);
    let whole = read(&path);
    let mut clip = Clip::open(&path, &ClipOptions::default()).unwrap();
    let mut frame = Frame::default();
    while clip.read(&mut frame).unwrap() {
        // Later pictures are predicted from this one's memory.
        assert!(
            bytes(&frame.luma) == whole.planes[frame.index][0],
            "frame {}",
            frame.index
        );
        frame
            .luma
            .writable()
            .unwrap()
            .data_bytes_mut()
            .unwrap()
            .fill(0);
        assert!(bytes(&frame.luma).iter().all(|b| *b == 0));
    }
}

/// Peak memory of reading a clip is measured in a process of its own, since tests share one.
#[cfg(target_os = "linux")]
#[test]
fn a_longer_clip_takes_no_more_memory() {
    let dir = folder();
    let quick = ["-c:v", "libx264", "-preset", "ultrafast"];
    let peak_kb = |name: &str, seconds: &str| {
        let path = clip(&dir, name, "640x360", "30", seconds, &quick);
        let done = Command::new(std::env::current_exe().unwrap())
            .args([
                "--exact",
                "memory::peak_of_one_reading",
                "--ignored",
                "--nocapture",
            ])
            .env("TRUERUN_CLIP", &path)
            .output()
            .unwrap();
        let words = String::from_utf8_lossy(&done.stdout).into_owned();
        let at = words.find("VmHWM:").unwrap_or_else(|| panic!("{words}"));
        words[at + 6..]
            .split_whitespace()
            .next()
            .unwrap()
            .parse::<f64>()
            .unwrap()
    };
    let (short, long) = (peak_kb("short.mp4", "3"), peak_kb("long.mp4", "30"));
    // All frames of the long clip would be 311 MB.
    assert!(long < short + 8e3, "{short} kB for 3 s, {long} kB for 30 s");
}

#[cfg(target_os = "linux")]
#[test]
#[ignore = "run by a_longer_clip_takes_no_more_memory in a process of its own"]
fn peak_of_one_reading() {
    let Some(path) = std::env::var_os("TRUERUN_CLIP") else {
        return;
    };
    let mut clip = Clip::open(path.as_ref(), &ClipOptions::default()).unwrap();
    let mut frame = Frame::default();
    while clip.read(&mut frame).unwrap() {}
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    println!(
        "{}",
        status
            .lines()
            .find(|line| line.starts_with("VmHWM"))
            .unwrap()
    );
}
