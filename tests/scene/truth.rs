//! The renderer against itself and against the frames of the design: what is drawn is what the truth says.

use crate::support::{drawn_turn, line_difference, lure, moments, plain};
use truerun::scene::{Dart, Frame, Leaf, Quality, SceneDescription, Stage, Viewpoint};

#[test]
fn drawn_body_lies_where_the_truth_says() {
    for view in [Viewpoint::Above, Viewpoint::Behind, Viewpoint::Side] {
        let stage = Stage::new(&plain(view)).unwrap();
        for index in [0, 7, 13, 22] {
            let frame = stage.frame(index);
            let truth = lure(&frame);
            let (centroid, axis) = moments(&frame.body_cover, frame.width);
            let off = line_difference(axis, truth.axis_img_deg);
            assert!(
                off.abs() < 3.0,
                "{view:?} frame {index}: axis {off:.2}° off"
            );
            // The front is the fatter end: the centroid lies ahead of the middle, on the axis.
            let long = [truth.nose[0] - truth.tail[0], truth.nose[1] - truth.tail[1]];
            let length = long[0].hypot(long[1]);
            let d = [centroid[0] - truth.cx, centroid[1] - truth.cy];
            let ahead = (d[0] * long[0] + d[1] * long[1]) / length / length;
            assert!(
                (-0.02..0.12).contains(&ahead),
                "{view:?} frame {index}: {ahead:.3} ahead"
            );
        }
    }
}

#[test]
fn from_straight_above_axis_and_ends_agree_closely() {
    let stage = Stage::new(&plain(Viewpoint::Above)).unwrap();
    for index in [2, 11, 19] {
        let frame = stage.frame(index);
        let truth = lure(&frame);
        let (_, axis) = moments(&frame.body_cover, frame.width);
        assert!(line_difference(axis, truth.axis_img_deg).abs() < 0.6);
        let length = (truth.nose[0] - truth.tail[0]).hypot(truth.nose[1] - truth.tail[1]);
        let unit = [
            (truth.nose[0] - truth.tail[0]) / length,
            (truth.nose[1] - truth.tail[1]) / length,
        ];
        let places = frame
            .body_cover
            .iter()
            .enumerate()
            .filter(|(_, a)| **a > 0.5)
            .map(|(i, _)| {
                let (x, y) = (
                    (i % frame.width) as f64 + 0.5,
                    (i / frame.width) as f64 + 0.5,
                );
                (x - truth.tail[0]) * unit[0] + (y - truth.tail[1]) * unit[1]
            });
        let (lo, hi) = places.fold((f64::MAX, f64::MIN), |(lo, hi), p| (lo.min(p), hi.max(p)));
        assert!(
            lo.abs() < 2.0 && (hi - length).abs() < 2.0,
            "{lo:.2} to {hi:.2} of {length:.2}"
        );
        // Level and seen from above, its length is the lure's.
        let mm = length * truth.mm_per_px.unwrap();
        assert!((mm - 58.0).abs() < 0.6, "{mm}");
    }
}

#[test]
fn the_drawn_rate_is_the_rate_by_phase() {
    let mut d = plain(Viewpoint::Above);
    d.clip.fps = 60.0;
    d.clip.seconds = 2.0;
    d.swim.rate_wander = 0.04;
    let stage = Stage::new(&d).unwrap();
    let turns: Vec<(f64, f64)> = stage
        .frames()
        .map(|f| (f.truth.t, drawn_turn(&f)))
        .collect();
    let crossings: Vec<f64> = turns
        .windows(2)
        .filter(|w| w[0].1.signum() != w[1].1.signum())
        .map(|w| w[0].0 + (w[1].0 - w[0].0) * w[0].1 / (w[0].1 - w[1].1))
        .collect();
    let truth = stage.truth().swim.unwrap();
    assert_eq!(crossings.len(), truth.yaw_zero_cross_t.len());
    for (drawn, real) in crossings.iter().zip(&truth.yaw_zero_cross_t) {
        assert!((drawn - real).abs() < 0.003, "{drawn} against {real}");
    }
    let cycles = (crossings.len() - 1) as f64 / 2.0;
    let drawn = cycles / (crossings[crossings.len() - 1] - crossings[0]);
    let phase = |t| stage.moves().phase(t) / std::f64::consts::TAU;
    let (a, b) = (
        truth.yaw_zero_cross_t[0],
        truth.yaw_zero_cross_t[crossings.len() - 1],
    );
    assert!((drawn / ((phase(b) - phase(a)) / (b - a)) - 1.0).abs() < 0.002);
    assert!((truth.wobble_hz / drawn - 1.0).abs() < 0.03);
}

#[test]
fn the_same_description_gives_the_same_clip() {
    let mut d = plain(Viewpoint::Above);
    d.clip.noise = 2.0;
    d.water.ripples = 0.01;
    d.water.specks = 30;
    let (one, two) = (Stage::new(&d).unwrap(), Stage::new(&d).unwrap());
    let in_turn: Vec<Frame> = one.frames().take(4).collect();
    assert_eq!(in_turn[3].rgb, two.frame(3).rgb);
    assert_eq!(in_turn[3].truth, two.frame(3).truth);
    d.seed += 1;
    assert_ne!(in_turn[3].rgb, Stage::new(&d).unwrap().frame(3).rgb);
}

#[test]
fn no_lure_and_a_still_lure() {
    let mut d = plain(Viewpoint::Above);
    d.lure.present = false;
    let stage = Stage::new(&d).unwrap();
    let frame = stage.frame(5);
    assert!(frame.cover.iter().all(|a| *a == 0.0) && frame.truth.lure.is_none());
    let truth = stage.truth();
    assert!(!truth.has_lure && truth.swim.is_none());

    let mut d = plain(Viewpoint::Above);
    d.swim.wobble_hz = 0.0;
    let stage = Stage::new(&d).unwrap();
    let swim = stage.truth().swim.unwrap();
    assert_eq!(
        (swim.wobble_hz, swim.yaw_amp_deg, swim.tail_sweep_mm),
        (0.0, 0.0, 0.0)
    );
    assert!(swim.wobble_hz_1s.iter().all(Option::is_none) && swim.yaw_zero_cross_t.is_empty());
    let axes = [0, 10, 20].map(|i| moments(&stage.frame(i).body_cover, 320).1);
    assert!(
        axes.iter()
            .all(|a| line_difference(*a, axes[0]).abs() < 0.2),
        "{axes:?}"
    );
}

#[test]
fn a_leaf_hides_it_and_a_low_rate_is_noted() {
    let mut d = plain(Viewpoint::Above);
    d.clip.seconds = 2.0;
    d.extras.leaf = Some(Leaf {
        at_s: 1.0,
        size_mm: 150.0,
        past_m_s: 0.25,
    });
    let stage = Stage::new(&d).unwrap();
    let frames = stage.frames().map(|f| f.truth).collect();
    let swim = stage.clip_truth(frames).swim.unwrap();
    let [[from, to]] = swim.occlusions_s[..] else {
        panic!("hidden once: {:?}", swim.occlusions_s)
    };
    assert!(
        from < 1.0 && to > 1.0 && (0.2..0.8).contains(&(to - from)),
        "{from} to {to}"
    );
    assert!(swim.wobble_alias_note.is_none());

    let mut d = plain(Viewpoint::Above);
    d.clip.fps = 15.0;
    d.clip.seconds = 4.0;
    d.swim.wobble_hz = 9.2;
    let note = Stage::new(&d)
        .unwrap()
        .truth()
        .swim
        .unwrap()
        .wobble_alias_note;
    // 15 − 9.2 = 5.8 Hz.
    assert!(note.unwrap().contains("looks like 5.80 Hz"));
}

#[test]
fn uneven_stamps_rise_on_whole_milliseconds() {
    let mut d = plain(Viewpoint::Above);
    d.clip.seconds = 6.0;
    d.clip.gap_jitter = 0.12;
    d.clip.dropped = 0.05;
    let stage = Stage::new(&d).unwrap();
    let t = stage.stamps();
    assert!(t.iter().all(|t| (t * 1e3 - (t * 1e3).round()).abs() < 1e-9));
    let gaps: Vec<f64> = t.windows(2).map(|w| w[1] - w[0]).collect();
    assert!(gaps.iter().all(|g| *g > 0.02 && *g < 0.08));
    assert!(gaps.iter().any(|g| *g > 0.055) && t.len() < 180);
}

#[test]
fn every_sample_description_can_be_drawn() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data");
    let mut count = 0;
    let scenes = std::fs::read_dir(folder.join("scenes"))
        .unwrap()
        .map(|e| e.unwrap().path());
    for path in scenes.chain([folder.join("hazel58-03.toml")]) {
        let mut d = SceneDescription::read(&path).unwrap_or_else(|e| panic!("{path:?}: {e}"));
        d.clip.quality = Quality::Quick;
        let truth = Stage::new(&d).unwrap().truth();
        let seen = truth.frames.iter().filter(|f| f.visible).count();
        assert!(
            seen * 10 >= truth.n_frames * 6 || !truth.has_lure,
            "{path:?}: {seen} frames"
        );
        count += 1;
    }
    assert!(count >= 9);
}

#[test]
fn the_committed_truth_is_that_of_its_description() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data");
    let scene = SceneDescription::read(&folder.join("hazel58-03.toml")).unwrap();
    let text = std::fs::read_to_string(folder.join("hazel58-03.json")).unwrap();
    let committed: serde_json::Value = serde_json::from_str(&text).unwrap();
    // The geometry does not depend on how finely it is drawn.
    let mut quick = scene.clone();
    quick.clip.quality = Quality::Quick;
    let now = serde_json::to_value(Stage::new(&quick).unwrap().truth()).unwrap();
    for key in [
        "wobble_hz",
        "yaw_amp_deg",
        "drift_deg",
        "hunts",
        "n_frames",
        "camera",
    ] {
        assert_eq!(committed[key], now[key], "{key}: draw the sample clip anew");
    }
    for i in [0, 77, 179] {
        for key in [
            "t",
            "nose",
            "tail",
            "axis_img_deg",
            "retr_img_deg",
            "yaw_deg",
            "lat_mm",
        ] {
            assert_eq!(
                committed["frames"][i][key], now["frames"][i][key],
                "frame {i} {key}"
            );
        }
    }
}

#[test]
fn truth_has_the_keys_of_the_shared_clips() {
    let shared = std::env::var_os("TRUERUN_SHARED").map_or_else(
        || std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared"),
        std::path::PathBuf::from,
    );
    let path = shared.join("clips/d08_over_vfr_occl.json");
    let Ok(text) = std::fs::read_to_string(&path) else {
        println!("skipped: no shared clips beside the crate");
        return;
    };
    let theirs: serde_json::Value = serde_json::from_str(&text).unwrap();
    let ours = serde_json::to_value(Stage::new(&plain(Viewpoint::Above)).unwrap().truth()).unwrap();
    let missing = |a: &serde_json::Value, b: &serde_json::Value| -> Vec<String> {
        let b = b.as_object().unwrap();
        a.as_object()
            .unwrap()
            .keys()
            .filter(|k| !b.contains_key(*k))
            .cloned()
            .collect()
    };
    assert_eq!(missing(&theirs, &ours), Vec::<String>::new());
    assert_eq!(
        missing(&theirs["frames"][0], &ours["frames"][0]),
        Vec::<String>::new()
    );
    assert_eq!(
        missing(&theirs["hunts"][0], &{
            let mut d = plain(Viewpoint::Above);
            d.swim.darts = vec![Dart {
                start_s: 0.1,
                peak_s: 0.4,
                end_s: 0.8,
                mm: 40.0,
            }];
            serde_json::to_value(&Stage::new(&d).unwrap().truth().swim.unwrap().hunts[0]).unwrap()
        }),
        Vec::<String>::new()
    );
}
