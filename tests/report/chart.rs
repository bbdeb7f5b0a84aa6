//! The chart sheet: drawn for every result, with the figures' words in it, never half a file.

use crate::{sample, truth::Truth};
use truerun::camera::View;
use truerun::motion::Swim;
use truerun::report::{Chart, OutFile, SwimDocument, SwimTrace, TextStyle, chart_svg, write_chart};
use truerun::tuning::{Target, judge, seen_seconds};
use truerun::{Measured, Status};

fn with_chart<T>(swim: &Swim, view: View, then: impl Fn(&Chart) -> T) -> T {
    let track = sample::track();
    let seen_s = seen_seconds(&track, swim);
    let target = Target::parse("drift_deg = [-2, 2]\nrate_hz = [4, 5]", "target").unwrap();
    let verdict = judge(&target, swim, seen_s, Some(58.0));
    let setup = truerun::camera::Setup {
        view,
        ..sample::setup()
    };
    let trace = SwimTrace::of(&track, &setup, swim);
    let document = SwimDocument {
        clip: &sample::clip(),
        setup: &setup,
        swim,
        seen_s,
        verdict: Some(&verdict),
    };
    then(&Chart {
        document: &document,
        trace: &trace,
        style: TextStyle::default(),
    })
}

#[test]
fn the_sheet_names_rate_sides_and_units() {
    let svg = with_chart(&sample::swim(), View::Above, |chart| {
        chart_svg(chart).unwrap()
    });
    for words in [
        "hazel58-03.mp4",
        "wobble 4.59 Hz",
        "dart 1: own left (your right)",
        "to its own right (your left as it comes to you)",
        "time, s",
        "rate, Hz",
        "way along the pull, mm",
        "outside (wobble rate inside, drift outside)",
    ] {
        assert!(svg.contains(words), "{words}");
    }
    assert!(!svg.contains("NaN"));
}

#[test]
fn the_fitted_wobble_follows_what_was_seen_but_not_over_the_gap() {
    let swim = sample::swim();
    with_chart(&swim, View::Above, |chart| {
        let trace = chart.trace;
        assert_eq!(trace.t_s.len(), 225); // 240 frames, 15 hidden
        let near = |t: f64| {
            let i = trace.fitted.partition_point(|p| p.0 < t);
            (trace.fitted[i].0 - t).abs() < 0.02
        };
        assert!(near(3.0) && near(7.5));
        let peak = trace
            .spectrum
            .iter()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap();
        // What the sample track was made with.
        assert!(
            (peak.0 - 4.59).abs() < 0.05 && (peak.1 - 16.1).abs() < 0.3,
            "{peak:?}"
        );
    });
}

#[test]
fn own_left_is_up_in_the_path_and_own_right_is_plus_in_the_trace() {
    let swim = sample::swim();
    with_chart(&swim, View::Above, |chart| {
        let path = chart.trace.path.as_ref().unwrap();
        // The sample runs 3° to its own right: 52.4 mm per metre over 4.38 m (at 0.55 m/s in 7.97 s).
        assert!(
            (path.along.last().unwrap() - 4382.0).abs() < 5.0,
            "{:?}",
            path.along.last()
        );
        assert!((path.sideways_mm.last().unwrap() - 229.6).abs() < 2.0);
    });
}

#[test]
fn every_kind_of_result_can_be_drawn() {
    let mut aliased = sample::swim();
    aliased.wobble.hz = Measured::without(Status::Aliased, "the frame rate cannot tell");
    aliased.wobble.alias_candidates_hz = vec![3.2, 11.8];
    let mut unscaled = sample::swim();
    unscaled.mm_per_px = None;
    unscaled.hunts.events.clear();
    for swim in [aliased, unscaled, sample::mirrored(&sample::swim())] {
        for view in [View::Above, View::Behind, View::Ahead, View::Side] {
            let svg = with_chart(&swim, view, |chart| chart_svg(chart).unwrap());
            assert!(
                svg.ends_with("</svg>\n") && !svg.contains("NaN"),
                "{view:?}"
            );
        }
    }
}

#[test]
fn a_track_without_a_lure_can_be_drawn() {
    let track = truerun::tracking::Track {
        frames: vec![],
        ..sample::track()
    };
    let swim = sample::nothing();
    let setup = sample::setup();
    let trace = SwimTrace::of(&track, &setup, &swim);
    let document = SwimDocument {
        clip: &sample::clip(),
        setup: &setup,
        swim: &swim,
        seen_s: 0.0,
        verdict: None,
    };
    let chart = Chart {
        document: &document,
        trace: &trace,
        style: TextStyle::default(),
    };
    assert!(chart_svg(&chart).unwrap().contains("none was found"));
}

#[test]
fn png_and_svg_are_written_whole() {
    let folder = tempfile::tempdir().unwrap();
    with_chart(&sample::swim(), View::Above, |chart| {
        for (name, start) in [("a.svg", &b"<svg"[..]), ("a.png", &b"\x89PNG"[..])] {
            let path = folder.path().join(name);
            write_chart(chart, &OutFile::new("--chart", &path, &[]).unwrap()).unwrap();
            assert!(std::fs::read(&path).unwrap().starts_with(start), "{name}");
        }
    });
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    // To look at them: TRUERUN_KEEP=FOLDER cargo test --test report chart
    if let Some(keep) = std::env::var_os("TRUERUN_KEEP") {
        for name in ["a.svg", "a.png"] {
            std::fs::copy(
                folder.path().join(name),
                std::path::Path::new(&keep).join(name),
            )
            .unwrap();
        }
    }
}

#[test]
fn a_long_clip_is_broken_into_rows() {
    let mut track = sample::track();
    for frame in &mut track.frames {
        frame.t_s *= 4.0;
    }
    let height = |track: &truerun::tracking::Track| {
        let (swim, setup) = (sample::swim(), sample::setup());
        let trace = SwimTrace::of(track, &setup, &swim);
        let document = SwimDocument {
            clip: &sample::clip(),
            setup: &setup,
            swim: &swim,
            seen_s: 8.0,
            verdict: None,
        };
        let style = TextStyle::default();
        let svg = chart_svg(&Chart {
            document: &document,
            trace: &trace,
            style,
        })
        .unwrap();
        let from = svg.find("height=\"").unwrap() + 8;
        svg[from..]
            .split('"')
            .next()
            .unwrap()
            .parse::<u32>()
            .unwrap()
    };
    assert_eq!(height(&track), height(&sample::track()) + 2 * 390);
}

/// Every shared clip, with the track that its truth gives: what real results look like.
#[test]
fn the_shared_clips_can_be_drawn() {
    use rand::SeedableRng;
    let keep = std::env::var_os("TRUERUN_KEEP");
    for name in [
        "d01_over_follow",
        "d02_over_fixed",
        "d03_chase60",
        "d04_dock_headon",
        "d05_side60",
        "d06_dead_still",
        "d09_alias15",
    ] {
        let Some(truth) = Truth::load(name) else {
            return println!("skipped: the shared clips are not in reach");
        };
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(1);
        let (track, setup) = (truth.track(1.3, &mut rng), truth.setup());
        let swim = truerun::motion::analyse(&track, &setup);
        let trace = SwimTrace::of(&track, &setup, &swim);
        let document = SwimDocument {
            clip: &sample::clip(),
            setup: &setup,
            swim: &swim,
            seen_s: seen_seconds(&track, &swim),
            verdict: None,
        };
        let chart = Chart {
            document: &document,
            trace: &trace,
            style: TextStyle::default(),
        };
        let svg = chart_svg(&chart).unwrap();
        assert!(svg.ends_with("</svg>\n") && !svg.contains("NaN"), "{name}");
        let text = truerun::report::swim_text(&document, &TextStyle::default());
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
        if let Some(keep) = &keep {
            std::fs::write(std::path::Path::new(keep).join(format!("{name}.svg")), svg).unwrap();
            println!("{text}");
        }
    }
}
