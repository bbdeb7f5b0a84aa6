//! A lens taken out of a whole swim: the sample clip's track, bent by a lens drawn here by its forward formula, must
//! give the same figures once the lens is taken out; and the lens file of a phone without distortion must change nothing.

use std::path::Path;

use truerun::camera::{FittedLens, Lens, LensFigures, Setup, Straightener, View};
use truerun::motion::{self, Swim};
use truerun::swim_test::{self, Optics, SwimOptions, SwimReport};
use truerun::tracking::{self, Track, TrackFrame};

const FOCAL: f64 = 560.0;

fn setup() -> Setup {
    Setup {
        length_mm: Some(58.0),
        ..Setup::new(View::Above)
    }
}

fn run(optics: Optics) -> SwimReport {
    let clip = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/hazel58-03.mp4");
    swim_test::run(
        &clip,
        SwimOptions {
            setup: setup(),
            start: None,
            real_fps: None,
            optics,
            progress: &mut |_, _| {},
        },
    )
    .unwrap()
}

fn lens(track: &Track, k1: f64) -> Lens {
    let (width, height) = (track.picture_width_px, track.picture_height_px);
    Lens {
        width: width as u32,
        height: height as u32,
        turned_deg: 0,
        under_water: false,
        rms_px: 0.2,
        views: 14,
        views_left_out: 0,
        seen_to: 1.0,
        lens: LensFigures {
            fx: FOCAL,
            fy: FOCAL,
            cx: width / 2.0,
            cy: height / 2.0,
            k1,
            ..LensFigures::default()
        },
        sd: LensFigures {
            fx: 1.0,
            fy: 1.0,
            ..LensFigures::default()
        },
    }
}

/// The track as a lens of radial distortion `k1` shows it.
fn bent(track: &Track, k1: f64) -> Track {
    let middle = [track.picture_width_px / 2.0, track.picture_height_px / 2.0];
    let through = |p: [f64; 2]| {
        let (x, y) = ((p[0] - middle[0]) / FOCAL, (p[1] - middle[1]) / FOCAL);
        let radial = 1.0 + k1 * (x * x + y * y);
        [
            middle[0] + FOCAL * x * radial,
            middle[1] + FOCAL * y * radial,
        ]
    };
    let frames = track
        .frames
        .iter()
        .map(|f| {
            let (sin, cos) = f.axis_deg.to_radians().sin_cos();
            let half = f.length_px / 2.0;
            let nose = through([f.x_px + half * sin, f.y_px - half * cos]);
            let tail = through([f.x_px - half * sin, f.y_px + half * cos]);
            let axis = [nose[0] - tail[0], nose[1] - tail[1]];
            TrackFrame {
                x_px: 0.5 * (nose[0] + tail[0]),
                y_px: 0.5 * (nose[1] + tail[1]),
                axis_deg: axis[0].atan2(-axis[1]).to_degrees(),
                length_px: axis[0].hypot(axis[1]),
                ..f.clone()
            }
        })
        .collect();
    Track {
        frames,
        // The bottom's own motion is left as it is on both sides: only the lure is bent here.
        ..track.clone()
    }
}

#[test]
fn the_same_figures_without_the_lens() {
    let report = run(Optics::default());
    let mut track = report.track.clone();
    for f in &mut track.frames {
        f.to_scene = tracking::Affine::IDENTITY;
    }
    track.camera_moves = false;
    let told = Setup {
        pull_deg: report.swim.pull_deg,
        ..setup()
    };
    let truth = motion::analyse(&track, &told);
    for k1 in [-0.3, 0.15] {
        let straightener = Straightener::new(
            FittedLens {
                lens: lens(&track, k1),
                scaled_by: 1.0,
                behind_port: false,
            },
            None,
        );
        let as_seen = bent(&track, k1);
        let straight = tracking::straighten(&as_seen, &straightener);
        let seen = truth.wobble.width_deg.value.unwrap();
        let back = motion::analyse(&straight, &told);
        close(&truth, &back);
        let spoilt = motion::analyse(&as_seen, &told);
        let off = (spoilt.mm_per_px.unwrap() / truth.mm_per_px.unwrap() - 1.0).abs();
        assert!(
            off > 0.002,
            "a lens that changes nothing tests nothing: {off} {seen}"
        );
    }
}

fn close(a: &Swim, b: &Swim) {
    let near = |name: &str, a: Option<f64>, b: Option<f64>, within: f64| {
        let (a, b) = (a.unwrap(), b.unwrap());
        assert!((a - b).abs() <= within, "{name}: {a} {b}");
    };
    near("rate", a.wobble.hz.value, b.wobble.hz.value, 1e-3);
    near(
        "width",
        a.wobble.width_deg.value,
        b.wobble.width_deg.value,
        0.05,
    );
    near("scale", a.mm_per_px, b.mm_per_px, 1e-3);
    near(
        "sweep",
        a.wobble.tail_sweep_mm.value,
        b.wobble.tail_sweep_mm.value,
        0.1,
    );
    if a.drift.deg.is_measured() {
        near("drift", a.drift.deg.value, b.drift.deg.value, 0.05);
    }
}

#[test]
fn a_lens_without_distortion_is_a_field_of_view() {
    let plain = run(Optics::default());
    let file = lens(&plain.track, 0.0);
    let report = run(Optics {
        lens: Some(("phone.toml".into(), file)),
        board: None,
    });
    // By their text: what was not seen is NaN.
    assert!(format!("{:?}", report.track) == format!("{:?}", plain.track));
    close(&plain.swim, &report.swim);
    let fov = report.setup.fov_deg.unwrap();
    let long = plain
        .track
        .picture_width_px
        .max(plain.track.picture_height_px);
    assert!((fov - 2.0 * (long / 2.0 / FOCAL).atan().to_degrees()).abs() < 1e-9);
}
