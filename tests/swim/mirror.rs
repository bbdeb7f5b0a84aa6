//! Left and right on real pixels: the same scene is drawn twice, the second time with the whole world
//! mirrored. Everything that has a side must change it, everything else must stay.

use std::path::Path;

use truerun::camera::{Setup, Side, View};
use truerun::motion::Swim;
use truerun::scene::{ClipTruth, Quality, SceneDescription, write_clip};
use truerun::swim_test::{self, SwimOptions};
use truerun::tracking::StartBox;

/// Mirrored rates may differ by this much: noise and the encoder are not mirrored.
const RATE_HZ: f64 = 0.03;

/// A sample scene drawn quickly: the first `seconds` at `fps`.
fn scene(file: &str, seconds: f64, fps: f64) -> SceneDescription {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-data")
        .join(file);
    let mut scene = SceneDescription::read(&path).unwrap();
    scene.clip.seconds = seconds;
    scene.clip.quality = Quality::Quick;
    scene.clip.fps = fps;
    scene.file.preset = "veryfast".into();
    scene
}

/// Draws a scene and measures it from the box of the lure in its first whole frame.
fn swum(scene: &SceneDescription, view: View) -> Swim {
    let folder = tempfile::tempdir().unwrap();
    let clip = folder.path().join("a.mp4");
    let truth = write_clip(scene, &clip, |_, _| {}).unwrap();
    let report = swim_test::run(
        &clip,
        SwimOptions {
            setup: Setup {
                length_mm: Some(scene.lure.length_mm),
                tilt_deg: truth.camera.apparent_tilt_deg,
                fov_deg: Some(truth.camera.hfov_deg_long_side),
                speed_m_s: Some(scene.swim.speed_m_s),
                ..Setup::new(view)
            },
            start: Some(start(&truth)),
            real_fps: None,
            optics: Default::default(),
            progress: &mut |_, _| {},
        },
    )
    .unwrap();
    report.swim
}

fn start(truth: &ClipTruth) -> StartBox {
    truth
        .frames
        .iter()
        .find_map(|f| {
            let [x0, y0, x1, y1] = f.lure.as_ref()?.mask_bbox?.map(|side| side as f64);
            let (w, h) = (x1 - x0, y1 - y0);
            let whole = x0 > 2.0
                && y0 > 2.0
                && x1 + 2.0 < truth.width as f64
                && y1 + 2.0 < truth.height as f64;
            whole.then_some(StartBox {
                x: x0,
                y: y0,
                w,
                h,
                t_s: f.t,
            })
        })
        .expect("the lure comes into the picture")
}

fn sides(swim: &Swim) -> Vec<Side> {
    swim.hunts.events.iter().map(|dart| dart.side).collect()
}

/// The scene and its mirror image: drift and darts on the sides that the scene says, and changed over.
/// Where the geometry leaves the side open, the intervals must say so.
fn changes_sides(file: &str, seconds: f64, view: View, side_is_sure: bool) {
    let scene = scene(file, seconds, 30.0);
    let dart = Side::of(scene.swim.darts[0].mm).unwrap();
    let runs = [
        (swum(&scene, view), scene.swim.drift_deg, dart),
        (
            swum(&scene.mirror(), view),
            -scene.swim.drift_deg,
            dart.opposite(),
        ),
    ];
    for (swim, drift_deg, dart) in &runs {
        println!("{file}: drift {:?}, truth {drift_deg}", swim.drift.deg);
        println!("{:?}", swim.hunts.events);
        assert_eq!(sides(swim), [*dart]);
        // a camera that is turned or carried and looks along the water tells no drift
        let Some([lo, hi]) = swim.drift.deg.ci95 else {
            assert!(!side_is_sure, "the drift must be measured here");
            continue;
        };
        assert!(lo <= *drift_deg && *drift_deg <= hi);
        match swim.drift.sure_side() {
            Some(side) => assert_eq!(Some(side), Side::of(*drift_deg)),
            None => assert!(!side_is_sure, "the side must be sure here"),
        }
    }
    same_rate(&runs[0].0, &runs[1].0);
}

fn same_rate(one: &Swim, other: &Swim) {
    let rate = |swim: &Swim| swim.wobble.hz.value.expect("the rate is measured");
    assert!(
        (rate(one) - rate(other)).abs() < RATE_HZ,
        "{} {}",
        rate(one),
        rate(other)
    );
}

#[test]
fn above() {
    changes_sides("hazel58-03.toml", 5.0, View::Above, true);
}

#[test]
fn behind() {
    changes_sides("scenes/behind.toml", 4.5, View::Behind, false);
}

#[test]
fn ahead() {
    changes_sides("scenes/ahead.toml", 5.0, View::Ahead, false);
}

/// From the side no side shows, mirrored or not: drift and darts are never told.
#[test]
fn side() {
    let scene = scene("scenes/side.toml", 2.5, 60.0);
    let (as_drawn, mirrored) = (swum(&scene, View::Side), swum(&scene.mirror(), View::Side));
    for swim in [&as_drawn, &mirrored] {
        assert!(!swim.drift.deg.is_measured());
        assert!(swim.hunts.events.is_empty());
    }
    same_rate(&as_drawn, &mirrored);
}
