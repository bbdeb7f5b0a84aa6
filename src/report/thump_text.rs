//! The thump as a maker reads it at the water.

use super::layout::{Ink, TextStyle, beside, entry};
use super::numbers::{decimals, shown, shown_range};
use super::swim_text::{figure, with_unit};
use super::thump_json::in_db;
use super::{ThumpDocument, verdict_text};
use crate::media::{Carrier, Recording, STANDARD_GRAVITY, Source, Unit};
use crate::motion::thump::{Thump, Together};
use crate::tuning::{BySpeed, Change};
use crate::{Measured, Status};

/// The result as lines of at most 80 columns. Brackets hold 95 % intervals.
pub fn thump_text(document: &ThumpDocument, style: &TextStyle) -> String {
    let file = style.paint(Ink::Heading, &document.recording.file);
    let mut text = format!(
        "{file}\n{}",
        beside("  ", 2, &recording_line(document.recording))
    );
    let lines = thump_lines(document);
    let entries: String = lines
        .iter()
        .map(|(label, words)| entry(label, words))
        .collect();
    text.push_str(&format!(
        "\n{entries}  In brackets: where the true figure lies, 19 times in 20.\n"
    ));
    let warnings = document.thump.warnings.iter();
    text.extend(warnings.map(|w| beside("  Mind: ", 8, &w.text())));
    match document.verdict {
        Some(verdict) => text.push_str(&verdict_text(verdict, style)),
        None if document.thump.found => text.push_str(
            "\nGive --target FILE to have it judged; `truerun target new FILE` writes one.\n",
        ),
        None => {}
    }
    text
}

/// What was read, in a line.
pub fn recording_line(recording: &Recording) -> String {
    let kind = match recording.source {
        Source::Log => "log",
        Source::Wav => "sound",
        Source::SoundTrack => "sound of a clip",
    };
    let unit = match recording.unit {
        Unit::MetresPerSecond2 => format!("acceleration, unit {}", recording.unit_from),
        _ => recording.unit_from.to_string(),
    };
    format!(
        "{kind}, {:.2} s, {} rows at {:.1} a second by {}; {unit}",
        recording.duration_s(),
        recording.rows,
        recording.recorded_hz,
        recording.time_from,
    )
}

/// Every figure with its label.
pub fn thump_lines(document: &ThumpDocument) -> Vec<(&'static str, String)> {
    let thump = document.thump;
    let mut lines = vec![
        ("wobble rate", rate(thump)),
        ("thump", strength(&thump.rms, thump.unit)),
        ("felt thump", felt(thump)),
        ("harmonics", harmonics(thump)),
        ("direction", direction(thump)),
        ("pulls", pulls(thump)),
        ("gusts", gusts(thump)),
    ];
    if thump.speed_m_s.is_some() {
        lines.push(("per speed", per_speed(thump)));
    }
    if let Some(by_speed) = document.by_speed {
        lines.push(("by speed", grows(by_speed)));
    }
    if let Some(together) = document.together {
        lines.push(("with the clip", with_clip(together)));
    }
    if let Some((since, change)) = document.change {
        lines.push(("since then", changed(since, change)));
    }
    lines
}

fn rate(thump: &Thump) -> String {
    let steadiness = match thump.unsteadiness {
        Some(share) => format!(", from second to second ± {} %", shown(100.0 * share, 1)),
        None => String::new(),
    };
    match thump.hz.status {
        Status::Aliased => format!(
            "cannot be told from so few rows a second: it could be {} Hz. Log faster.",
            thump
                .alias_candidates_hz
                .iter()
                .map(|hz| shown(*hz, 2))
                .collect::<Vec<_>>()
                .join(" or ")
        ),
        _ => figure(&thump.hz, |m| {
            format!("{}{steadiness}", with_unit(m, " Hz"))
        }),
    }
}

fn strength(rms: &Measured, unit: Unit) -> String {
    figure(rms, |m| match unit {
        Unit::FullScale => with_unit(&in_db(m, unit).scaled(-1.0), " dB below full scale"),
        _ => format!(
            "{} RMS, {}",
            with_unit(m, " m/s²"),
            with_unit(&m.scaled(1.0 / STANDARD_GRAVITY), " g")
        ),
    })
}

fn felt(thump: &Thump) -> String {
    figure(&thump.felt, |m| {
        format!(
            "{}, weighted by ISO 5349-1 Wh; no word on health",
            with_unit(m, " m/s²")
        )
    })
}

fn harmonics(thump: &Thump) -> String {
    let one = |h: &crate::motion::thump::Harmonic| {
        format!("{} % at {} Hz", shown(100.0 * h.share, 0), shown(h.hz, 1))
    };
    match thump.harmonics.is_empty() {
        true => "none".into(),
        false => thump
            .harmonics
            .iter()
            .filter(|h| h.share >= 0.005)
            .map(one)
            .collect::<Vec<_>>()
            .join(", "),
    }
}

fn direction(thump: &Thump) -> String {
    let lead = &thump.lead;
    if !thump.found {
        return "not known without a wobble".into();
    }
    match lead.carrier {
        Carrier::Axis if lead.direction.len() > 1 => {
            let parts: Vec<String> = lead
                .names
                .iter()
                .zip(&lead.direction)
                .map(|(n, d)| format!("{n} {}", shown(*d, 2)))
                .collect();
            format!("{} of the thump's direction", parts.join(", "))
        }
        Carrier::Axis => format!("{}, the only axis", lead.names.join(", ")),
        _ => format!("{}: {}", lead.names.join(", "), lead.why),
    }
}

fn pulls(thump: &Thump) -> String {
    let span = |p: &crate::motion::thump::Part| {
        format!("{} to {} s", shown(p.from_s, 1), shown(p.to_s, 1))
    };
    let pulls: Vec<String> = thump.parts.iter().filter(|p| p.pull).map(span).collect();
    match pulls.len() {
        0 => "none".into(),
        1..=6 => format!(
            "{}; the rate was followed for {:.1} s",
            pulls.join(", "),
            thump.followed_s
        ),
        n => format!("{n}, the rate was followed for {:.1} s", thump.followed_s),
    }
}

fn gusts(thump: &Thump) -> String {
    let one = |g: &crate::motion::thump::Gust| {
        format!("at {:.1} s ({:.0} times as strong)", g.from_s, g.times)
    };
    match thump.gusts.len() {
        0 => "none".into(),
        n => {
            let first: Vec<String> = thump.gusts.iter().take(5).map(one).collect();
            let more = if n > 5 {
                format!(" and {} more", n - 5)
            } else {
                String::new()
            };
            format!("{n}, left out of the figures: {}{more}", first.join(", "))
        }
    }
}

fn per_speed(thump: &Thump) -> String {
    let strength = match thump.unit {
        Unit::MetresPerSecond2 => format!(
            "{}, ",
            figure(&thump.rms_per_speed, |m| with_unit(m, " m/s² for each m/s"))
        ),
        _ => String::new(),
    };
    format!(
        "{strength}{} at {} m/s",
        figure(&thump.wobbles_per_m, |m| with_unit(m, " wobbles per metre")),
        shown(thump.speed_m_s.unwrap_or(f64::NAN), 2)
    )
}

fn grows(by_speed: &BySpeed) -> String {
    let word = |m: &Measured| match m.ci95 {
        Some([lo, _]) if lo > 0.0 => "grows with the speed",
        Some([_, hi]) if hi < 0.0 => "falls with the speed",
        _ => "no sure change with the speed",
    };
    let slope = |what: &str, unit: &str, m: &Measured| {
        let words = figure(m, |m| format!("{}, {}", word(m), with_unit(m, unit)));
        format!("{what}: {words}")
    };
    let [slowest, fastest] = by_speed.speeds_m_s;
    format!(
        "{} runs, {} to {} m/s; {}; {}",
        by_speed.runs,
        shown(slowest, 2),
        shown(fastest, 2),
        slope("rate", " Hz for each m/s", &by_speed.hz),
        slope("thump", " m/s² for each m/s", &by_speed.rms)
    )
}

fn with_clip(together: &Together) -> String {
    let rates = match (together.agree, together.resolved_hz) {
        (Some(_), Some(hz)) if !together.difference_hz.is_measured() => {
            format!("the recording settles its rate: {} Hz", shown(hz, 2))
        }
        (Some(true), _) => format!(
            "the rates agree ({} Hz apart)",
            apart(&together.difference_hz)
        ),
        (Some(false), _) if together.difference_hz.is_measured() => format!(
            "the rates do NOT agree ({} Hz apart)",
            apart(&together.difference_hz)
        ),
        (Some(false), _) => "none of the rates that the clip leaves open fits the recording".into(),
        (None, _) => figure(&together.difference_hz, |m| with_unit(m, " Hz")),
    };
    let offset = figure(&together.offset_s, |m| {
        format!(
            "the recording's clock is {} ahead of the clip's",
            with_unit(m, " s")
        )
    });
    format!("{}: {rates}; offset {offset}", together.clip)
}

fn apart(difference: &Measured) -> String {
    let digits = decimals(difference.ci95);
    let ends = difference
        .ci95
        .map_or(String::new(), |ci| format!(", {}", shown_range(ci, digits)));
    format!(
        "{}{ends}",
        shown(difference.value.unwrap_or(f64::NAN), digits)
    )
}

fn changed(since: &str, change: &Change) -> String {
    let sure = |m: &Measured, none: f64| m.ci95.is_some_and(|[lo, hi]| lo > none || hi < none);
    let word = |m: &Measured, none: f64| {
        if sure(m, none) {
            "surely another"
        } else {
            "no sure change"
        }
    };
    let rate = figure(&change.hz, |m| {
        format!("rate {}: {}", with_unit(m, " Hz"), word(m, 0.0))
    });
    let thump = figure(&change.rms_ratio, |m| {
        format!("thump {}: {}", with_unit(m, " times"), word(m, 1.0))
    });
    format!("{since}: {rate}; {thump}")
}
