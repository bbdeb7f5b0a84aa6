//! Clips: rocking with its period and damping, rising and sinking, and a lure that does neither.

use truerun::Status;
use truerun::scene::float::{FloatPlan, Push, write_float_clip};

use super::drawn::{Folder, clear, measured};

fn small(seed: u64, end_view: bool) -> FloatPlan {
    let plan = clear(seed, end_view);
    FloatPlan {
        width: 320,
        height: 192,
        px_per_mm: plan.px_per_mm * 320.0 / 480.0,
        seconds: 2.8,
        ..plan
    }
}

#[test]
fn rocking_after_a_push_from_both_views() {
    let folder = Folder::new();
    let push = |period_s, damping| Push {
        t_s: 0.6,
        swing_deg: 9.0,
        period_s,
        damping,
    };
    for (seed, end_view, push) in [(11, false, push(0.55, 0.06)), (12, true, push(0.38, 0.11))] {
        let plan = FloatPlan {
            push: Some(push),
            pitch_deg: -3.0,
            list_deg: 0.0,
            ..small(seed, end_view)
        };
        let path = folder.file("push.mp4");
        let truth = write_float_clip(&plan, &path).unwrap();
        let float = measured(&plan, &path).float;
        let rocking = &float.rocking;
        let holds = |m: &truerun::Measured, t: f64| {
            let [lo, hi] = m.ci95.unwrap_or_else(|| panic!("{m:?}"));
            assert!((lo..=hi).contains(&t), "{m:?} {t}");
        };
        holds(&rocking.period_s, truth.period_s.unwrap());
        holds(&rocking.damping, truth.damping.unwrap());
        assert!((rocking.period_s.value.unwrap() / push.period_s - 1.0).abs() < 0.02);
        assert!((rocking.damping.value.unwrap() - push.damping).abs() < 0.015);
        let (rest, want) = match end_view {
            true => (&float.list_deg, plan.list_deg),
            false => (&float.nose_down_deg, plan.pitch_deg),
        };
        assert!((rest.value.unwrap() - want).abs() < 0.4, "{rest:?} {want}");
        assert_eq!(float.seen_fraction, 1.0);
    }
}

#[test]
fn sinking_rising_and_neither() {
    let folder = Folder::new();
    for rate in [-14.0, 9.0] {
        let plan = FloatPlan {
            above_mm: if rate < 0.0 { 0.0 } else { -20.0 },
            pitch_deg: -4.0,
            climb: Some([0.4, rate]),
            px_per_mm: 2.6,
            ..small(13, false)
        };
        let path = folder.file("climb.mp4");
        write_float_clip(&plan, &path).unwrap();
        let rise = measured(&plan, &path).float.rise_mm_s;
        let [lo, hi] = rise.ci95.unwrap_or_else(|| panic!("{rise:?}"));
        assert!((lo..=hi).contains(&rate), "{rise:?}");
        assert!((rise.value.unwrap() / rate - 1.0).abs() < 0.05, "{rise:?}");
    }
    let plan = FloatPlan {
        seconds: 1.6,
        ..small(14, false)
    };
    let path = folder.file("still.mp4");
    write_float_clip(&plan, &path).unwrap();
    let float = measured(&plan, &path).float;
    assert_eq!(float.rise_mm_s.status, Status::None);
    assert_eq!(float.rocking.period_s.status, Status::None);
    assert!((float.nose_down_deg.value.unwrap() - plan.pitch_deg).abs() < 0.3);
}
