//! Verdicts by interval, and the bend that follows.

use crate::sample;
use truerun::motion::Swim;
use truerun::tuning::{Advice, Call, Measure, Target, Verdict, judge};
use truerun::{Measured, Status, camera::Side};

fn verdict(swim: &Swim, target: &str, seen_s: f64) -> Verdict {
    judge(
        &Target::parse(target, "target").unwrap(),
        swim,
        seen_s,
        Some(58.0),
    )
}

fn call(swim: &Swim, target: &str, measure: Measure) -> Call {
    let verdict = verdict(swim, target, 8.0);
    verdict
        .measures
        .iter()
        .find(|j| j.measure == measure)
        .unwrap()
        .call
}

#[test]
fn the_interval_decides() {
    let swim = sample::swim(); // 4.59, 4.55 to 4.63
    for (target, expected) in [
        ("rate_hz = [4.5, 4.7]", Call::Inside),
        ("rate_hz = [4.55, 4.63]", Call::Inside),
        ("rate_hz = [4.6, 4.7]", Call::NotSure),
        ("rate_hz = [4.58, 4.60]", Call::NotSure),
        ("rate_hz = [4.7, 5]", Call::Outside),
        ("rate_hz = [4, 4.5]", Call::Outside),
    ] {
        assert_eq!(call(&swim, target, Measure::Rate), expected, "{target}");
    }
}

#[test]
fn the_worst_call_is_the_overall_one() {
    let swim = sample::swim();
    let overall = |target| verdict(&swim, target, 8.0).overall;
    assert_eq!(
        overall("rate_hz = [4, 5]\nwidth_deg = [15, 17]"),
        Call::Inside
    );
    assert_eq!(
        overall("rate_hz = [4, 5]\nroll_deg = [5, 9]"),
        Call::NotSure
    );
    assert_eq!(
        overall("rate_hz = [5, 6]\nroll_deg = [5, 9]"),
        Call::Outside
    );
    assert_eq!(overall(""), Call::NotSure);
}

#[test]
fn what_cannot_be_measured_is_not_sure_and_says_why() {
    let swim = sample::swim();
    let verdict = verdict(&swim, "roll_deg = [5, 9]", 8.0);
    assert_eq!(verdict.measures[0].call, Call::NotSure);
    assert_eq!(
        verdict.measures[0].why.as_deref(),
        Some("roll does not show from above")
    );
}

#[test]
fn no_wobble_is_outside_a_wanted_rate() {
    let mut swim = sample::swim();
    swim.wobble.hz = Measured::none("no wobble above the noise");
    swim.wobble.width_deg = Measured::none("no wobble above the noise");
    assert_eq!(
        call(&swim, "rate_hz = [4, 5]", Measure::Rate),
        Call::Outside
    );
    assert_eq!(
        call(&swim, "width_deg = [0, 5]", Measure::Width),
        Call::Inside
    );
}

#[test]
fn an_apparent_width_settles_nothing() {
    let mut swim = sample::swim();
    swim.wobble.apparent = true;
    assert_eq!(
        call(&swim, "width_deg = [15, 17]", Measure::Width),
        Call::NotSure
    );
    assert_eq!(
        call(&swim, "width_deg = [1, 2]", Measure::Width),
        Call::NotSure
    );
}

#[test]
fn an_aliased_rate_settles_nothing() {
    let mut swim = sample::swim();
    swim.wobble.hz = Measured {
        value: Some(4.59),
        ci95: Some([4.55, 4.63]),
        ..Measured::without(Status::Aliased, "the frame rate cannot tell")
    };
    assert_eq!(
        call(&swim, "rate_hz = [4, 5]", Measure::Rate),
        Call::NotSure
    );
}

/// One dart in 8 s: Garwood 0.0253 to 5.572 (tables, from memory), so 0.19 to 41.8 a minute.
#[test]
fn darts_need_time() {
    let swim = sample::swim();
    let target = "hunts_per_minute = [4, 20]";
    assert_eq!(verdict(&swim, target, 8.0).measures[0].call, Call::NotSure);
    let ci = verdict(&swim, target, 8.0).measures[0].found.ci95.unwrap();
    assert!(
        (ci[0] - 0.1899).abs() < 1e-3 && (ci[1] - 41.79).abs() < 1e-2,
        "{ci:?}"
    );
    // One dart in five minutes is surely fewer than four a minute.
    assert_eq!(
        verdict(&swim, target, 300.0).measures[0].call,
        Call::Outside
    );
    // None in five minutes, where up to one a minute is wanted.
    let mut calm = swim.clone();
    calm.hunts.events.clear();
    calm.hunts.status = Status::None;
    assert_eq!(
        verdict(&calm, "hunts_per_minute = [0, 1]", 300.0).measures[0].call,
        Call::Inside
    );
    assert_eq!(
        verdict(&calm, "hunts_per_minute = [0, 1]", 8.0).measures[0].call,
        Call::NotSure
    );
}

#[test]
fn darts_per_metre_need_the_speed() {
    let mut swim = sample::swim();
    let target = "hunts_per_metre = [0.5, 9]";
    // 1 dart in 300 s at 0.55 m/s.
    assert_eq!(
        verdict(&swim, target, 300.0).measures[0].call,
        Call::Outside
    );
    swim.speed = Measured::unmeasurable("no scale");
    assert_eq!(
        verdict(&swim, target, 300.0).measures[0].call,
        Call::NotSure
    );
}

#[test]
fn a_dart_that_does_not_come_back_is_no_dart() {
    let mut swim = sample::swim();
    swim.hunts.events[0].recovered = false;
    let found = verdict(&swim, "hunts_per_minute = [4, 20]", 60.0).measures[0]
        .found
        .clone();
    assert_eq!(found.value, Some(0.0));
}

#[test]
fn at_another_speed_no_call_stands() {
    let swim = sample::swim(); // 0.53 to 0.57 m/s
    let at = |speed: &str| {
        verdict(
            &swim,
            &format!("rate_hz = [4, 5]\nspeed_m_s = {speed}"),
            8.0,
        )
    };
    assert_eq!(at("[0.5, 0.6]").overall, Call::Inside);
    let other = at("[0.9, 1.1]");
    assert_eq!(other.measures[0].call, Call::NotSure);
    assert!(
        other.measures[0]
            .why
            .as_deref()
            .unwrap()
            .contains("0.90 to 1.10 m/s")
    );
}

fn toward(swim: &Swim, target: &str) -> Option<Side> {
    match verdict(swim, target, 8.0).advice {
        Advice::Bend(bend) => Some(bend.toward),
        _ => None,
    }
}

/// Common practice, several published how-tos: bend the tie to the side opposite to the run.
#[test]
fn the_bend_is_opposite_to_the_run() {
    let right = sample::swim();
    let left = sample::mirrored(&right);
    let straight = "drift_deg = { aim = 0, within = 2 }";
    assert_eq!(toward(&right, straight), Some(Side::Left));
    assert_eq!(toward(&left, straight), Some(Side::Right));
}

/// A lure wanted to run 6° to its own right that runs 3° to it must be bent further to run right.
#[test]
fn a_lure_detuned_on_purpose_is_bent_toward_its_aim() {
    let swim = sample::swim();
    assert_eq!(
        toward(&swim, "drift_deg = { aim = 6, within = 1 }"),
        Some(Side::Right)
    );
    assert_eq!(
        toward(
            &sample::mirrored(&swim),
            "drift_deg = { aim = -6, within = 1 }"
        ),
        Some(Side::Left)
    );
}

#[test]
fn no_bend_without_a_sure_reason() {
    let mut swim = sample::swim();
    let advice = |swim: &Swim, target: &str| verdict(swim, target, 8.0).advice;
    assert!(matches!(
        advice(&swim, "drift_deg = [2, 4]"),
        Advice::Leave { .. }
    ));
    assert!(matches!(
        advice(&swim, "drift_deg = [-3, 3]"),
        Advice::TestAgain { .. }
    ));
    assert!(matches!(
        advice(&swim, "rate_hz = [4, 5]"),
        Advice::NoAdvice { .. }
    ));
    assert!(matches!(
        advice(&swim, "drift_deg = [-2, 2]\nspeed_m_s = [1, 2]"),
        Advice::TestAgain { .. }
    ));
    swim.drift.deg = Measured::unmeasurable("the pull was taken along the path");
    assert!(matches!(
        advice(&swim, "drift_deg = [-2, 2]"),
        Advice::NoAdvice { .. }
    ));
}

#[test]
fn a_blow_out_is_said_before_the_bend() {
    let mut swim = sample::swim();
    swim.blow_out.status = Status::Measured;
    swim.blow_out.t_s = Some(5.2);
    match verdict(&swim, "drift_deg = [-2, 2]", 8.0).advice {
        Advice::Bend(bend) => assert!(bend.first.unwrap().contains("blew out")),
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_sample_target_is_in_order() {
    let path =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/hazel58-target.toml");
    let target = Target::read(&path).unwrap();
    assert_eq!(target.lure.as_deref(), Some("Hazel 58"));
    assert_eq!(target.wanted.len(), 5);
}

#[test]
fn a_name_in_a_target_file_gives_the_terminal_no_commands() {
    let target = Target::parse(
        "lure = \"Hazel\\u001b[31m 58\"\nrate_hz = [4, 5]\n",
        "target",
    )
    .unwrap();
    let text = truerun::report::target_text(&target);
    assert!(
        text.contains("Hazel") && !text.contains('\u{1b}'),
        "{text:?}"
    );
}
