//! A lure that its follower cannot know again is looked for anew, as at the beginning of the clip.

use std::path::Path;
use std::process::Command;

use truerun::camera::{Setup, View};
use truerun::swim_test::{self, SwimOptions};
use truerun::tracking::TrackFrame;
use truerun::units::wrap_deg;

/// From this frame on the sample clip is upside down and its colours are their opposites.
const CHANGED: usize = 90;
/// In frames: its follower may see something for a moment. Then a second until the lure counts as lost, though something like
/// it shows now and then, and 1.5 s to find it.
const MOMENT: usize = 3;
const TO_FIND: usize = 75;

/// The sample clip, from its middle on upside down with other colours: another place and another look, drawn the same way.
fn changed_half_way(to: &Path) {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/hazel58-03.mp4");
    let halves = format!(
        "[0:v]split[a][b];[a]trim=end_frame={CHANGED}[first];\
        [b]trim=start_frame={CHANGED},setpts=PTS-STARTPTS,negate,vflip,hue=h=90[second];\
        [first][second]concat=n=2[whole]"
    );
    let done = Command::new("ffmpeg")
        .args(["-v", "error", "-nostdin", "-i"])
        .arg(from)
        .args(["-filter_complex", &halves, "-map", "[whole]", "-crf", "20"])
        .arg(to)
        .status()
        .unwrap();
    assert!(done.success());
}

#[test]
fn the_lure_is_found_anew_where_everything_changed() {
    let folder = tempfile::tempdir().unwrap();
    let clip = folder.path().join("changed.mp4");
    changed_half_way(&clip);
    let report = swim_test::run(
        &clip,
        SwimOptions {
            setup: Setup {
                length_mm: Some(58.0),
                ..Setup::new(View::Above)
            },
            start: None,
            real_fps: None,
            optics: Default::default(),
            progress: &mut |_, _| {},
        },
    )
    .unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/hazel58-03.json");
    let truth: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(sample).unwrap()).unwrap();
    let [gap, found] = [CHANGED + MOMENT, CHANGED + TO_FIND];
    // what lies between is followed back, through its dart
    is_followed(&report.track.frames[gap..found], &truth, 20.0);
    is_followed(&report.track.frames[found..], &truth, 15.0);
}

/// Whether the lure is seen in four frames of five, so near to where it is there, px, and with the nose at its own end.
fn is_followed(frames: &[TrackFrame], truth: &serde_json::Value, near_px: f64) {
    let seen: Vec<&TrackFrame> = frames.iter().filter(|f| f.is_seen()).collect();
    assert!(
        5 * seen.len() > 4 * frames.len(),
        "{} of {}",
        seen.len(),
        frames.len()
    );
    let height = 360.0;
    for frame in seen {
        let true_one = &truth["frames"][frame.frame];
        let number = |key: &str| true_one[key].as_f64().unwrap();
        let off = [
            number("cx") - frame.x_px,
            height - number("cy") - frame.y_px,
        ];
        assert!(off[0].hypot(off[1]) < near_px, "{} s: {off:?}", frame.t_s);
        let turned = wrap_deg(180.0 - number("axis_img_deg") - frame.axis_deg);
        assert!(turned.abs() < 45.0, "{} s: {turned}", frame.t_s);
    }
}
