//! The verdict and the advice as parts of the JSON object.

use serde::Serialize;

use super::json_parts::{interval, value};
use super::numbers::{stored, stored_pair};
use crate::camera::Side;
use crate::tuning::{self, Advice, Verdict};

/// The `verdict` object.
#[derive(Serialize)]
pub struct VerdictObject<'a> {
    lure: Option<&'a str>,
    overall: &'static str,
    measures: Vec<JudgedObject<'a>>,
    advice: AdviceObject<'a>,
}

#[derive(Serialize)]
struct JudgedObject<'a> {
    measure: &'static str,
    verdict: &'static str,
    wanted: Option<[f64; 2]>,
    value: Option<f64>,
    ci95: Option<[f64; 2]>,
    why: Option<&'a str>,
}

/// `action`: bend, leave, test_again or none.
#[derive(Serialize)]
struct AdviceObject<'a> {
    action: &'static str,
    why: Option<&'a str>,
    toward_own_side: Option<Side>,
    toward_angler_side: Option<Side>,
    step_mm: Option<f64>,
    off_deg: Option<f64>,
    first: Option<&'a str>,
    checks_before: &'static [&'static str],
    what: Option<String>,
    how_far: Option<String>,
    retest: Option<String>,
    stop: Option<String>,
    cautions: &'static [&'static str],
}

impl<'a> VerdictObject<'a> {
    /// The object of `verdict`.
    pub fn of(verdict: &'a Verdict) -> Self {
        VerdictObject {
            lure: verdict.lure.as_deref(),
            overall: verdict.overall.word(),
            measures: verdict
                .measures
                .iter()
                .map(|judged| JudgedObject {
                    measure: judged.measure.key(),
                    verdict: judged.call.word(),
                    wanted: stored_pair(Some([judged.wanted.lo, judged.wanted.hi])),
                    value: value(&judged.found),
                    ci95: interval(&judged.found),
                    why: judged.why.as_deref(),
                })
                .collect(),
            advice: AdviceObject::of(&verdict.advice),
        }
    }
}

impl<'a> AdviceObject<'a> {
    fn of(advice: &'a Advice) -> Self {
        match advice {
            Advice::Bend(bend) => AdviceObject {
                toward_own_side: Some(bend.toward),
                toward_angler_side: Some(bend.toward.to_angler()),
                step_mm: stored(Some(bend.step_mm)),
                off_deg: stored(Some(bend.off_deg)),
                first: bend.first.as_deref(),
                checks_before: &tuning::CHECKS_BEFORE,
                what: Some(bend.what()),
                how_far: Some(bend.how_far()),
                retest: Some(bend.retest()),
                stop: Some(bend.stop()),
                cautions: &tuning::CAUTIONS,
                ..AdviceObject::plain("bend", None)
            },
            Advice::Leave { why } => AdviceObject::plain("leave", Some(why)),
            Advice::TestAgain { why } => AdviceObject::plain("test_again", Some(why)),
            Advice::NoAdvice { why } => AdviceObject::plain("none", Some(why)),
        }
    }

    fn plain(action: &'static str, why: Option<&'a str>) -> Self {
        AdviceObject {
            action,
            why,
            toward_own_side: None,
            toward_angler_side: None,
            step_mm: None,
            off_deg: None,
            first: None,
            checks_before: &[],
            what: None,
            how_far: None,
            retest: None,
            stop: None,
            cautions: &[],
        }
    }
}
