//! The verdict and the advice in words, and a target read back.

use super::layout::{Ink, TextStyle, beside, entry};
use super::numbers::{decimals, shown, shown_range};
use super::record_text::plain;
use crate::tuning::{
    Advice, Bend, CAUTIONS, CHECKS_BEFORE, Call, Judged, Measure, Target, Verdict,
};

/// The verdict, measure by measure, and what to do about the drift.
pub fn verdict_text(verdict: &Verdict, style: &TextStyle) -> String {
    let of = verdict
        .lure
        .as_ref()
        .map_or(String::new(), |lure| format!(" for {}", plain(lure)));
    let call = painted(verdict.overall, verdict.overall.word().len(), style);
    let heading = style.paint(Ink::Heading, &format!("Verdict{of}:"));
    let lines: String = verdict
        .measures
        .iter()
        .map(|judged| line(judged, style))
        .collect();
    format!(
        "\n{heading} {call}\n{lines}\n{}",
        advice(&verdict.advice, style)
    )
}

/// What a target wants, line by line.
pub fn target_text(target: &Target) -> String {
    let lure = target.lure.iter().map(|lure| entry("lure", &plain(lure)));
    let wanted = target
        .wanted
        .iter()
        .map(|(measure, range)| entry(measure.name(), &wanted(*measure, [range.lo, range.hi])));
    let lines: String = lure.chain(wanted).collect();
    match target.wanted.is_empty() {
        true => {
            format!("{lines}  It wants nothing yet: take the # away from the lines to judge by.\n")
        }
        false => lines,
    }
}

fn painted(call: Call, width: usize, style: &TextStyle) -> String {
    let ink = match call {
        Call::Inside => Ink::Good,
        Call::Outside => Ink::Bad,
        Call::NotSure => Ink::Unsure,
    };
    style.paint(ink, &format!("{:<width$}", call.word()))
}

fn line(judged: &Judged, style: &TextStyle) -> String {
    let head = format!(
        "  {:<14}{}",
        judged.measure.name(),
        painted(judged.call, 10, style)
    );
    let found = match (
        judged.found.is_measured(),
        judged.found.value,
        judged.found.ci95,
    ) {
        (true, Some(value), Some(ci)) => {
            let digits = decimals(Some(ci));
            format!("{} ({}), ", shown(value, digits), shown_range(ci, digits))
        }
        _ => String::new(),
    };
    let why = judged
        .why
        .as_ref()
        .map_or(String::new(), |why| format!("; {why}"));
    let text = format!(
        "{found}wanted {}{why}",
        wanted(judged.measure, [judged.wanted.lo, judged.wanted.hi])
    );
    beside(&head, 26, &text)
}

fn wanted(measure: Measure, ends: [f64; 2]) -> String {
    let side = match measure {
        Measure::Drift => ", + to its own right (your left as it comes to you)",
        Measure::List => ", + its own right side (your left as it comes to you) down",
        _ => "",
    };
    let digits = ends.iter().map(|end| digits_of(*end)).max().unwrap_or(0);
    format!(
        "{} to {} {}{side}",
        shown(ends[0], digits),
        shown(ends[1], digits),
        measure.unit()
    )
}

/// Decimals that a maker wrote, up to three.
fn digits_of(x: f64) -> usize {
    (0..3)
        .find(|digits| (x * 10f64.powi(*digits as i32)).fract().abs() < 1e-6)
        .unwrap_or(3)
}

fn advice(advice: &Advice, style: &TextStyle) -> String {
    let heading = |text: &str| style.paint(Ink::Heading, text);
    match advice {
        Advice::Bend(bend) => format!("{}\n{}", heading("What to do"), steps(bend)),
        Advice::Leave { why } => format!("{}\n{}", heading("What to do"), beside("  ", 2, why)),
        Advice::TestAgain { why } => format!("{}\n{}", heading("What to do"), beside("  ", 2, why)),
        Advice::NoAdvice { why } => {
            format!("{}\n{}", heading("No bend advice"), beside("  ", 2, why))
        }
    }
}

fn steps(bend: &Bend) -> String {
    let numbered = |n: usize, text: &str| beside(&format!("  {n}. "), 5, text);
    let first = bend.first.iter().map(|first| beside("     ", 5, first));
    let checks = CHECKS_BEFORE
        .iter()
        .map(|check| beside("     - ", 7, check));
    let cautions = CAUTIONS.iter().map(|caution| beside("  ! ", 4, caution));
    let steps = [
        numbered(2, &format!("{} {}", bend.what(), bend.how_far())),
        numbered(3, &bend.retest()),
        numbered(4, &bend.stop()),
    ];
    [numbered(
        1,
        "Check first; put right what is wrong, and test again before any bend:",
    )]
    .into_iter()
    .chain(first)
    .chain(checks)
    .chain(steps)
    .chain(cautions)
    .collect()
}
