//! A box late in the clip is worth as much as an early one: what came before it is followed backwards.

use std::path::Path;

use truerun::camera::{Setup, Side, View};
use truerun::swim_test::{self, SwimOptions};
use truerun::tracking::StartBox;

#[test]
fn what_came_before_the_box_counts_too() {
    boxed_in(140);
}

/// So late that the lure is not known yet where the clip ends.
#[test]
fn and_so_it_does_where_hardly_anything_comes_after() {
    boxed_in(165);
}

/// The sample clip of 180 frames, whose one dart is over by frame 120.
fn boxed_in(boxed: usize) {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/hazel58-03.json");
    let truth: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(&sample).unwrap()).unwrap();
    let frames = truth["frames"].as_array().unwrap();
    let edge = |n: usize| frames[boxed]["bbox"][n].as_f64().unwrap();
    let mut told = Vec::new();
    let report = swim_test::run(
        &sample.with_extension("mp4"),
        SwimOptions {
            setup: Setup {
                length_mm: truth["lure_length_mm"].as_f64(),
                ..Setup::new(View::Above)
            },
            start: Some(StartBox {
                x: edge(0),
                y: edge(1),
                w: edge(2) - edge(0),
                h: edge(3) - edge(1),
                t_s: frames[boxed]["t"].as_f64().unwrap(),
            }),
            real_fps: None,
            optics: Default::default(),
            progress: &mut |done, _| told.push(done),
        },
    )
    .unwrap();
    let before = &report.track.frames[..boxed];
    let seen = before.iter().filter(|frame| frame.is_seen());
    for frame in seen.clone() {
        let number = |key: &str| frames[frame.frame][key].as_f64().unwrap();
        let off = [number("cx") - frame.x_px, number("cy") - frame.y_px];
        let length_px = 58.0 / number("mm_per_px");
        assert!(
            off[0].hypot(off[1]) < 0.25 * length_px,
            "{} s: {off:?}",
            frame.t_s
        );
    }
    let seen = seen.count();
    assert!(20 * seen >= 19 * boxed, "{seen} of {boxed}");
    // its one dart lies in that part, to its own left
    let hunts = &report.swim.hunts.events;
    assert_eq!(hunts.len(), 1, "{hunts:?}");
    let peak_s = truth["hunts"][0]["t_peak"].as_f64().unwrap();
    assert!((hunts[0].peak_s - peak_s).abs() < 0.3, "{hunts:?}");
    assert_eq!(hunts[0].side, Side::Left);
    assert!(told.is_sorted() && told.last() == Some(&frames.len()));
}
