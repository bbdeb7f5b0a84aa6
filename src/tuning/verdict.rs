//! Inside, outside or not sure: the interval decides, not the value.

use super::{Advice, Measure, Range, Target, advice, darts};
use crate::media::Unit;
use crate::motion::Swim;
use crate::motion::float::Float;
use crate::motion::thump::Thump;
use crate::{Measured, Status};

/// How a figure stands to what was wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Call {
    /// The whole 95 % interval lies in the range.
    Inside,
    /// The whole 95 % interval lies out of the range.
    Outside,
    /// The interval straddles an end, or there is no figure.
    NotSure,
}

impl Call {
    /// "inside", "outside" or "not sure".
    pub fn word(self) -> &'static str {
        match self {
            Call::Inside => "inside",
            Call::Outside => "outside",
            Call::NotSure => "not sure",
        }
    }
}

/// One measure held against its range.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Which measure.
    pub measure: Measure,
    /// What was wanted.
    pub wanted: Range,
    /// What was found.
    pub found: Measured,
    /// How it stands.
    pub call: Call,
    /// Why, where the figure and the range do not say it all.
    pub why: Option<String>,
}

/// A swim held against a target.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Name of the lure in the target.
    pub lure: Option<String>,
    /// Outside if any measure of the lure is; else not sure if any is (or the speed is another one);
    /// else inside.
    pub overall: Call,
    /// Each measure that the target speaks about.
    pub measures: Vec<Judged>,
    /// What to do about the drift.
    pub advice: Advice,
}

/// Holds `swim` against `target`. `seen_s` is the time over which the lure was seen
/// ([`darts::seen_seconds`]), `length_mm` its body length.
pub fn judge(target: &Target, swim: &Swim, seen_s: f64, length_mm: Option<f64>) -> Verdict {
    let mut measures: Vec<Judged> = target
        .wanted
        .iter()
        // A clip of a pull shows neither thump nor float: the same target file serves all tests.
        .filter(|(measure, _)| *measure != Measure::ThumpRms && !measure.is_of_float_test())
        .map(|(measure, wanted)| judge_one(*measure, *wanted, swim, seen_s))
        .collect();
    doubt_at_another_speed(&mut measures);
    let advice = advice::advise(
        measures.iter().find(|j| j.measure == Measure::Drift),
        swim,
        length_mm,
    );
    Verdict {
        lure: target.lure.clone(),
        overall: overall(&measures),
        measures,
        advice,
    }
}

/// Holds `thump` against what `target` wants of rate, thump and speed.
pub fn judge_thump(target: &Target, thump: &Thump) -> Verdict {
    let figure = |measure| match measure {
        Measure::Rate => Some(thump.hz.clone()),
        Measure::ThumpRms if thump.unit == Unit::FullScale => Some(Measured::unmeasurable(
            "sound has no m/s²; record an accelerometer",
        )),
        Measure::ThumpRms => Some(thump.rms.clone()),
        Measure::Speed => Some(match thump.speed_m_s {
            Some(speed) => Measured::new(speed, [speed, speed]),
            None => Measured::unmeasurable("give the retrieve speed with --speed"),
        }),
        _ => None,
    };
    let judged = |(measure, wanted): &(Measure, Range)| {
        let found = figure(*measure)?;
        let (call, why) = call(*measure, *wanted, &found);
        Some(Judged {
            measure: *measure,
            wanted: *wanted,
            found,
            call,
            why,
        })
    };
    let mut measures: Vec<Judged> = target.wanted.iter().filter_map(judged).collect();
    doubt_at_another_speed(&mut measures);
    Verdict {
        lure: target.lure.clone(),
        overall: overall(&measures),
        measures,
        advice: Advice::NoAdvice {
            why: "a rod-tip recording does not show to which side it runs; film it for that".into(),
        },
    }
}

/// Holds a float test against what `target` wants of it; `list` and all else that this view does not show
/// is left out, for a target serves both views.
pub fn judge_float(target: &Target, float: &Float) -> Verdict {
    let figure = |measure| match measure {
        Measure::FloatAngle => Some(&float.nose_down_deg),
        Measure::List => Some(&float.list_deg),
        Measure::WaterAtNose => Some(&float.water_over_nose_mm),
        Measure::WaterAtTail => Some(&float.water_over_tail_mm),
        Measure::PartAbove => Some(&float.part_above),
        Measure::Freeboard => Some(&float.freeboard_mm),
        Measure::RockingPeriod => Some(&float.rocking.period_s),
        Measure::RockingDamping => Some(&float.rocking.damping),
        Measure::Rise => Some(&float.rise_mm_s),
        _ => None,
    };
    let shown = |measure: Measure| match float.end_view {
        true => matches!(
            measure,
            Measure::List | Measure::RockingPeriod | Measure::RockingDamping
        ),
        false => measure != Measure::List,
    };
    let measures: Vec<Judged> = target
        .wanted
        .iter()
        .filter(|(measure, _)| shown(*measure))
        .filter_map(|(measure, wanted)| {
            let found = figure(*measure)?.clone();
            let (call, why) = match turns_with_the_nose(*measure) && !float.nose_given {
                true if found.is_measured() => (Call::NotSure, Some(NOSE_GUESSED.into())),
                _ => call(*measure, *wanted, &found),
            };
            Some(Judged {
                measure: *measure,
                wanted: *wanted,
                found,
                call,
                why,
            })
        })
        .collect();
    Verdict {
        lure: target.lure.clone(),
        overall: overall(&measures),
        measures,
        advice: Advice::NoAdvice {
            why: "a float test does not show how it runs; a list, a wrong angle or height is put right with ballast, not at the line tie"
                .into(),
        },
    }
}

/// Whether the figure changes its sign or its end where nose and tail are mistaken for each other.
fn turns_with_the_nose(measure: Measure) -> bool {
    matches!(
        measure,
        Measure::FloatAngle | Measure::WaterAtNose | Measure::WaterAtTail
    )
}

const NOSE_GUESSED: &str = "the fuller end was taken for the nose; say --nose left or --nose right";

fn judge_one(measure: Measure, wanted: Range, swim: &Swim, seen_s: f64) -> Judged {
    let found = figure(measure, swim, seen_s);
    let (call, why) = if measure == Measure::Width && swim.wobble.apparent && found.is_measured() {
        (
            Call::NotSure,
            Some("the width is as it looks from here, not the lure's own; give --tilt, or look down more steeply".to_string()),
        )
    } else {
        call(measure, wanted, &found)
    };
    Judged {
        measure,
        wanted,
        found,
        call,
        why,
    }
}

fn figure(measure: Measure, swim: &Swim, seen_s: f64) -> Measured {
    match measure {
        Measure::Rate => swim.wobble.hz.clone(),
        Measure::Width => swim.wobble.width_deg.clone(),
        Measure::TailSweep => swim.wobble.tail_sweep_mm.clone(),
        Measure::Roll => swim.roll.width_deg.clone(),
        Measure::Drift => swim.drift.deg.clone(),
        Measure::HuntsPerMinute => darts::darts_per_minute(swim, seen_s),
        Measure::HuntsPerMetre => darts::darts_per_metre(swim, seen_s),
        Measure::Pivot => swim.pivot.clone(),
        Measure::ThumpRms => Measured::unmeasurable("a clip does not show the thump"),
        Measure::Speed => swim.speed.clone(),
        _ => Measured::unmeasurable("a float test shows this, not a pull"),
    }
}

fn call(measure: Measure, wanted: Range, found: &Measured) -> (Call, Option<String>) {
    match (found.status, found.ci95) {
        (Status::Measured, Some(ci)) if ci.iter().all(|end| end.is_finite()) => {
            by_interval(measure, wanted, ci)
        }
        (Status::Measured, _) => (Call::NotSure, Some("the figure has no interval".into())),
        (Status::None, _) if is_motion(measure) => nothing_there(wanted, found),
        _ => (
            Call::NotSure,
            found.why.clone().or(Some("not measured".into())),
        ),
    }
}

fn by_interval(measure: Measure, wanted: Range, [lo, hi]: [f64; 2]) -> (Call, Option<String>) {
    if hi < wanted.lo || lo > wanted.hi {
        (Call::Outside, None)
    } else if wanted.holds(lo) && wanted.holds(hi) {
        (Call::Inside, None)
    } else if matches!(measure, Measure::HuntsPerMinute | Measure::HuntsPerMetre) {
        (
            Call::NotSure,
            Some("a count over so short a time can be chance; film longer".into()),
        )
    } else {
        (
            Call::NotSure,
            Some("its interval reaches over an end of the range; film longer or closer".into()),
        )
    }
}

/// Measures that are zero where there is no wobble.
fn is_motion(measure: Measure) -> bool {
    matches!(
        measure,
        Measure::Rate
            | Measure::Width
            | Measure::TailSweep
            | Measure::Roll
            | Measure::ThumpRms
            | Measure::Rise
    )
}

/// Looked, and there is no such motion: that is a figure of zero.
fn nothing_there(wanted: Range, found: &Measured) -> (Call, Option<String>) {
    let call = if wanted.holds(0.0) {
        Call::Inside
    } else {
        Call::Outside
    };
    (call, found.why.clone())
}

/// A target holds at its speed: rate, width, drift and darts all change with it. At a speed that is
/// surely another one, no other call stands.
fn doubt_at_another_speed(measures: &mut [Judged]) {
    let Some((speed, wanted)) = measures
        .iter()
        .find(|j| j.measure == Measure::Speed && j.call == Call::Outside)
        .and_then(|j| j.found.value.map(|v| (v, j.wanted)))
    else {
        return;
    };
    for judged in measures.iter_mut().filter(|j| j.measure != Measure::Speed) {
        if judged.call != Call::NotSure {
            judged.call = Call::NotSure;
            judged.why = Some(format!(
                "pulled at {speed:.2} m/s, but the target holds for {:.2} to {:.2} m/s",
                wanted.lo, wanted.hi
            ));
        }
    }
}

/// A wrong speed is the pull's fault and not the lure's: it leaves the verdict open.
fn overall(measures: &[Judged]) -> Call {
    let weighs = |j: &Judged| match (j.measure, j.call) {
        (Measure::Speed, Call::Outside) => Call::NotSure,
        (_, call) => call,
    };
    let any = |call| measures.iter().any(|j| weighs(j) == call);
    if any(Call::Outside) {
        Call::Outside
    } else if any(Call::NotSure) || measures.is_empty() {
        Call::NotSure
    } else {
        Call::Inside
    }
}
