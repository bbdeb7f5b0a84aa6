//! The bend advice of a build's own history, in words.

use super::layout::{Ink, TextStyle, beside, entry};
use super::numbers::{decimals, shown, shown_range};
use super::record_text::{drift_words, plain};
use crate::camera::Side;
use crate::record::DriftHistory;
use crate::tuning::{Bend, BlowOutMargin, CAUTIONS, CHECKS_BEFORE, Learned, NextBend, Range};

/// Bends of one tie after which its wire is worth a look. Our own choice; wire in use differs.
const MANY_BENDS: usize = 5;

/// What the advice is made from.
#[derive(Debug, Clone, Copy)]
pub struct BendAdvice<'a> {
    /// Name of the build.
    pub build: &'a str,
    /// The drift wanted, degrees.
    pub wanted: Range,
    /// The drift over its life.
    pub history: &'a DriftHistory,
    /// What that says.
    pub learned: &'a Learned,
    /// How much faster it may be pulled.
    pub margin: &'a BlowOutMargin,
}

/// "tie bent 0.3 mm to its own left (your right as it comes to you), 0.2 mm up".
pub fn bend_words(sideways: Option<(Side, f64)>, upright: Option<(bool, f64)>) -> String {
    let side = sideways.map(|(side, mm)| format!("{mm} mm to {}", side.both_frames()));
    let height = upright.map(|(up, mm)| format!("{mm} mm {}", if up { "up" } else { "down" }));
    let parts: Vec<String> = [side, height].into_iter().flatten().collect();
    format!("tie bent {}", parts.join(", "))
}

/// The advice.
pub fn bend_text(advice: &BendAdvice, style: &TextStyle) -> String {
    let learned = advice.learned;
    let mut text = style.paint(Ink::Heading, &plain(advice.build));
    text.push('\n');
    if let Some((value, ci)) = learned.drift.as_ref().and_then(|d| d.value.zip(d.ci95)) {
        text += &entry("now", &drift_words(value, ci));
    }
    text += &entry("wanted", &wanted_words(advice.wanted));
    text += &entry("its answer", &answer_words(learned));
    text += &entry("faster pulls", &margin_words(advice.margin));
    text += &left_out(advice.history);
    text.push('\n');
    text += &what_to_do(advice, style);
    text
}

fn wanted_words(wanted: Range) -> String {
    let within = (wanted.hi - wanted.lo) / 2.0;
    let aim = wanted.middle();
    match Side::of(aim) {
        None => format!("straight, within {} degrees", shown(within, 1)),
        Some(side) => format!(
            "{} degrees to {}, within {}",
            shown(aim.abs(), 1),
            side.both_frames(),
            shown(within, 1)
        ),
    }
}

fn answer_words(learned: &Learned) -> String {
    let figures = learned.response.value.zip(learned.response.ci95);
    match (learned.bends_tested, figures) {
        (0, _) | (_, None) => {
            "no bend with a test before and after it yet: a guess is used, and a small first step"
                .into()
        }
        (n, Some((value, ci))) => {
            let digits = decimals(Some(ci)).min(1);
            format!(
                "{} degrees of drift per mm at the eye ({}), from {n} tested {}",
                shown(value, digits),
                shown_range(ci, digits),
                if n == 1 { "bend" } else { "bends" }
            )
        }
    }
}

fn margin_words(margin: &BlowOutMargin) -> String {
    match margin.margin.value.zip(margin.margin.ci95) {
        Some((times, ci)) => {
            let m_s = margin
                .limit_m_s
                .value
                .map_or(String::new(), |v| format!(", at {} m/s", shown(v, 2)));
            format!(
                "blow-out expected at {} times the fastest so far ({}){m_s}: {}",
                shown(times, 1),
                shown_range(ci, 1),
                margin.margin.why.as_deref().unwrap_or("from the model"),
            )
        }
        None => format!(
            "cannot be told: {}",
            margin.margin.why.as_deref().unwrap_or("no data")
        ),
    }
}

fn left_out(history: &DriftHistory) -> String {
    let tests = |n: usize| {
        if n == 1 {
            "1 test was".into()
        } else {
            format!("{n} tests were")
        }
    };
    let mut text = String::new();
    if history.other_speed > 0 {
        let why = format!(
            "{} left out: pulled at another speed than the last, and drift grows with speed",
            tests(history.other_speed)
        );
        text += &entry("left out", &why);
    }
    if history.without_drift > 0 {
        let why = format!("{} left out: no drift in it", tests(history.without_drift));
        text += &entry("left out", &why);
    }
    text
}

fn what_to_do(advice: &BendAdvice, style: &TextStyle) -> String {
    let say = |text: &str| {
        format!(
            "{}\n{}",
            style.paint(Ink::Heading, "What to do"),
            beside("  ", 2, text)
        )
    };
    match &advice.learned.next {
        NextBend::TestFirst => say(
            "Test it first: no drift is known of it as it is now (`truerun swim CLIP … --save BUILD`).",
        ),
        NextBend::Leave => say("Its drift is as wanted: leave the tie alone."),
        NextBend::TestAgain => say(
            "Do not bend on this. Pull it again as it is, as fast as before, and save the test: the \
             drift it has now is not sure.",
        ),
        NextBend::Stop => say(
            "Stop bending: two bends in a row did not help. Look at lip, hooks, ballast and hangers \
             again. A drift that changes side with speed, or a body that lists at rest, is not the tie.",
        ),
        NextBend::Bend { mm, expected } => {
            format!(
                "{}\n{}",
                style.paint(Ink::Heading, "What to do"),
                steps(advice, *mm, expected.value.zip(expected.ci95))
            )
        }
    }
}

fn steps(advice: &BendAdvice, mm: f64, expected: Option<(f64, [f64; 2])>) -> String {
    let numbered = |n: usize, text: &str| beside(&format!("  {n}. "), 5, text);
    // A bend that is not zero has a side.
    let toward = Side::of(mm).unwrap_or(Side::Left);
    let bend = Bend {
        toward,
        off_deg: advice
            .learned
            .drift
            .as_ref()
            .and_then(|d| d.value)
            .unwrap_or(0.0)
            - advice.wanted.middle(),
        step_mm: mm.abs(),
        first: None,
    };
    let expect = expected.map_or(String::new(), |(value, ci)| {
        format!(" Expect after it: {}.", drift_words(value, ci))
    });
    let many = match advice.learned.bends >= MANY_BENDS {
        true => format!(
            " This tie was bent {} times: look for cracks.",
            advice.learned.bends
        ),
        false => String::new(),
    };
    let checks: String = CHECKS_BEFORE
        .iter()
        .map(|c| beside("     - ", 7, c))
        .collect();
    let cautions: String = CAUTIONS.iter().map(|c| beside("  ! ", 4, c)).collect();
    [
        numbered(
            1,
            "Check first; put right what is wrong, and test again before any bend:",
        ),
        checks,
        numbered(
            2,
            &format!(
                "{} Move its eye {} mm, no more.{expect}{many}",
                bend.what(),
                shown(mm.abs(), 2)
            ),
        ),
        numbered(
            3,
            &format!(
                "Log it: `truerun bend {} --{} {}`. {}",
                plain(advice.build),
                toward.word(),
                shown(mm.abs(), 2),
                bend.retest()
            ),
        ),
        numbered(4, &bend.stop()),
        cautions,
    ]
    .concat()
}
