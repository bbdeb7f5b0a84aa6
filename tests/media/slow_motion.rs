//! Clips that play slower than life, with `--real-fps`.

use crate::fixtures::*;
use truerun::media::ClipOptions;

#[test]
fn frame_i_of_a_constant_rate_happened_at_i_over_the_real_rate() {
    let dir = folder();
    for name in ["slow.mp4", "slow.mkv"] {
        let path = clip(&dir, name, "96x64", "30", "4", H264);
        let ours = read_with(
            &path,
            &ClipOptions {
                real_fps: Some(240.0),
            },
        );
        let want: Vec<f64> = (0..120).map(|i| f64::from(i) / 240.0).collect();
        // Matroska rounds to 1 ms of the slow time, an eighth of it in real time.
        assert_times(
            &ours.times,
            &want,
            if name.ends_with("mkv") {
                0.5e-3 / 8.0 + 1e-5
            } else {
                1e-6
            },
        );
        assert!((ours.summary.fps_median.unwrap() - 240.0).abs() < 0.1);
        assert!(!ours.summary.vfr && !ours.summary.cut_short);
    }
}

#[test]
fn the_gaps_of_a_variable_rate_shrink_in_proportion() {
    let dir = folder();
    let dropped: &[&str] = &[
        "-vf",
        "select='not(eq(mod(n,5),3))'",
        "-vsync",
        "vfr",
        "-c:v",
        "libx264",
    ];
    let path = clip(&dir, "slow.mp4", "96x64", "30", "2", dropped);
    let ours = read_with(
        &path,
        &ClipOptions {
            real_fps: Some(120.0),
        },
    );
    // The median gap is one frame of 30 a second: 120 frames a second pass four times as fast.
    let want: Vec<f64> = (0..60)
        .filter(|n| n % 5 != 3)
        .map(|n| f64::from(n) / 120.0)
        .collect();
    assert_times(&ours.times, &want, 1e-4);
    assert!(ours.summary.vfr);
}

#[test]
fn a_rate_that_cannot_be_meant_is_refused() {
    let dir = folder();
    let path = clip(&dir, "c.mp4", "96x64", "30", "0.2", H264);
    for fps in [0.0, -240.0, f64::NAN, f64::INFINITY, 1e9] {
        let refused = truerun::media::Clip::open(
            &path,
            &ClipOptions {
                real_fps: Some(fps),
            },
        );
        let error = refused.err().expect("a refusal");
        assert_eq!(error.exit_status(), 2);
        assert!(error.to_string().starts_with("--real-fps: "), "{error}");
    }
}
