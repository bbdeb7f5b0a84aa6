//! A clip read backwards shows what it shows forwards, whatever the container and however far apart its key pictures are.

use crate::fixtures::*;
use std::path::Path;
use truerun::media::{Backwards, Clip, ClipOptions};

/// Room for ten pictures of 96 × 64, fewer than there are between two key pictures.
const ROOM: usize = 10 * 96 * 64 * 3 / 2;

/// What is read before the frame `index`, the latest first: number, time, planes.
fn backwards(path: &Path, index: usize) -> Vec<(usize, f64, [Vec<u8>; 3])> {
    let mut clip = Clip::open(path, &ClipOptions::default()).unwrap();
    while clip.next_frame().unwrap().is_some() {}
    let mut before = Backwards::before(&clip, index, ROOM).unwrap();
    let mut frames = Vec::new();
    while let Some(frame) = before.next_frame().unwrap() {
        let planes = [&frame.luma, &frame.cb, &frame.cr].map(|plane| bytes(plane));
        frames.push((frame.index, frame.t_s, planes));
    }
    frames
}

#[test]
fn it_shows_the_same_frames_at_the_same_times() {
    let dir = folder();
    let and = |more: &[&'static str]| [H264, more].concat();
    let closed = and(&["-g", "12"]);
    let open = and(&["-g", "12", "-x264-params", "open-gop=1"]);
    let varying = [
        &["-vf", "select='not(eq(mod(n,5),3))'", "-vsync", "vfr"],
        &closed[..],
    ]
    .concat();
    let hevc = [
        "-c:v",
        "libx265",
        "-x265-params",
        "keyint=12:log-level=none",
    ];
    let mpeg4 = ["-c:v", "mpeg4", "-bf", "2", "-g", "12"];
    for (name, encode) in [
        ("closed.mp4", &closed[..]),
        ("open.mp4", &open),
        ("open.mkv", &open),
        ("one.mov", H264),
        ("varying.mp4", &varying),
        ("hevc.mp4", &hevc),
        ("without_stamps.avi", &closed),
        ("mpeg4.avi", &mpeg4),
    ] {
        let path = clip(&dir, name, "96x64", "30", "2", encode);
        let forwards = read(&path);
        let index = forwards.times.len() - 7;
        let backwards = backwards(&path, index);
        assert_eq!(backwards.len(), index, "{name}");
        for ((number, t_s, planes), want) in backwards.iter().zip((0..index).rev()) {
            assert_eq!((*number, *t_s), (want, forwards.times[want]), "{name}");
            assert!(*planes == forwards.planes[want], "{name}: frame {want}");
        }
    }
}

#[test]
fn stamps_that_begin_again_name_no_frame_twice() {
    let dir = folder();
    let closed = [H264, &["-g", "12"]].concat();
    let half = std::fs::read(clip(&dir, "half.ts", "96x64", "30", "1", &closed)).unwrap();
    let twice = dir.path().join("twice.ts");
    std::fs::write(&twice, [&half[..], &half].concat()).unwrap();
    let forwards = read(&twice);
    let index = forwards.times.len() - 1;
    for (number, t_s, planes) in backwards(&twice, index) {
        assert_eq!(t_s, forwards.times[number]);
        assert!(planes == forwards.planes[number], "frame {number}");
    }
}

#[test]
fn before_the_first_frame_there_is_none() {
    let dir = folder();
    let path = clip(&dir, "short.mp4", "96x64", "30", "0.2", H264);
    assert!(backwards(&path, 0).is_empty());
    assert_eq!(backwards(&path, 1).len(), 1);
}
