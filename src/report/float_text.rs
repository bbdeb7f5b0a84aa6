//! The float test as a maker reads it at the water.

use super::float_json::{end_up, side_down};
use super::layout::{Ink, TextStyle, beside, entry};
use super::numbers::shown;
use super::swim_text::{figure, length, with_unit};
use super::water_change_text::water_change_text;
use super::{FloatDocument, verdict_text};
use crate::Measured;
use crate::camera::{FloatView, Side};
use crate::motion::float::{Float, LevelFrom};
use crate::tracking::float::Missing;
use crate::units::{LengthUnit, MM_PER_INCH};

/// The result as lines of at most 80 columns. Brackets hold 95 % intervals.
pub fn float_text(document: &FloatDocument, style: &TextStyle) -> String {
    let report = document.report;
    let file = style.paint(Ink::Heading, &report.clip.file);
    let mut text = format!("{file}\n{}", beside("  ", 2, &float_set_up_line(document)));
    if !report.float.found {
        text.push_str(&format!(
            "\n{}",
            beside("  ", 2, &missing_words(report.float.missing))
        ));
        return text;
    }
    let entries: String = float_lines(document, style.unit)
        .iter()
        .map(|(label, words)| entry(label, words))
        .collect();
    text.push_str(&format!(
        "\n{entries}  In brackets: where the true figure lies, 19 times in 20.\n"
    ));
    text.extend(
        report
            .float
            .warnings
            .iter()
            .map(|w| beside("  Mind: ", 8, &w.text())),
    );
    if let Some(change) = document.change {
        text.push_str(&water_change_text(change, style));
    }
    match document.verdict {
        Some(verdict) => text.push_str(&verdict_text(verdict, style)),
        None => text.push_str(
            "\nGive --target FILE to have it judged; `truerun target new FILE` writes one.\n",
        ),
    }
    text
}

/// What was missing, and what to do.
pub fn missing_words(missing: Option<Missing>) -> String {
    match missing {
        Some(Missing::Water) => {
            "no water surface was found: hold the phone level at the height of the water, with the \
             surface running through the whole picture, or give --horizon"
        }
        Some(Missing::CutByFrame) => {
            "the lure reaches out of the picture: take it whole, with room at both ends"
        }
        _ => {
            "no lure was found: mark it with --box x,y,w,h, or go closer before a plain background"
        }
    }
    .into()
}

/// File, view and level in a line.
pub fn float_set_up_line(document: &FloatDocument) -> String {
    let report = document.report;
    let clip = &report.clip;
    let view = match report.setup.view {
        FloatView::Side { .. } => "from the side".to_string(),
        FloatView::End { from } => format!("from the {}", from.word()),
    };
    let level = match report.float.level_from {
        LevelFrom::Water => "level by the water",
        LevelFrom::Horizon => "level by the given horizon",
    };
    let kind = match report.photo {
        true => "photo".to_string(),
        false => format!("{:.2} s, {} frames", clip.duration_s, clip.frames),
    };
    format!(
        "{} × {}, {kind}; seen {view}, {level}",
        clip.width, clip.height
    )
}

/// Every figure with its label.
pub fn float_lines(document: &FloatDocument, unit: LengthUnit) -> Vec<(&'static str, String)> {
    let float = &document.report.float;
    vec![
        ("nose", figure(&float.nose_down_deg, |m| noted(nose(m), m))),
        ("list", figure(&float.list_deg, list)),
        ("waterline", waterline(float, unit)),
        (
            "above water",
            figure(&float.part_above, |m| {
                format!(
                    "{}, freeboard {}",
                    with_unit(&m.scaled(100.0), " % of the side"),
                    figure(&float.freeboard_mm, |m| length(m, unit))
                )
            }),
        ),
        ("rocking", rocking(float)),
        ("rise or sink", figure(&float.rise_mm_s, |m| rise(m, unit))),
    ]
}

pub(super) fn noted(words: String, m: &Measured) -> String {
    match &m.why {
        Some(why) => format!("{words}; {why}"),
        None => words,
    }
}

/// "3.1° up (2.9–3.3)".
fn nose(m: &Measured) -> String {
    match end_up(m) {
        Some("nose") => with_unit(&m.scaled(-1.0), "° up"),
        Some(_) => with_unit(m, "° down"),
        None => format!("level: {}", with_unit(m, "° down")),
    }
}

fn list(m: &Measured) -> String {
    let words = match side_down(m) {
        Some(side) => {
            let size = if side == Side::Left {
                m.scaled(-1.0)
            } else {
                m.clone()
            };
            format!(
                "{}, {} side down",
                with_unit(&size, "°"),
                side.both_frames()
            )
        }
        None => format!("upright: {}, + its own right side down", with_unit(m, "°")),
    };
    noted(words, m)
}

fn waterline(float: &Float, unit: LengthUnit) -> String {
    let at = |m: &Measured| match m.value {
        Some(v) if v < 0.0 => format!("{} under the axis", length(&m.scaled(-1.0), unit)),
        _ => format!("{} over the axis", length(m, unit)),
    };
    figure(&float.water_over_nose_mm, |nose| {
        format!(
            "at the nose {}, at the tail {}",
            at(nose),
            at(&float.water_over_tail_mm)
        )
    })
}

fn rocking(float: &Float) -> String {
    figure(&float.rocking.period_s, |period| {
        let damping = &float.rocking.damping;
        // amplitude after n swings: e^(−2π n ζ/√(1−ζ²))
        let half = damping.value.filter(|z| *z > 0.005 && *z < 0.9).map(|z| {
            let swings =
                std::f64::consts::LN_2 * (1.0 - z * z).sqrt() / (std::f64::consts::TAU * z);
            format!(", half of it gone after {} swings", shown(swings, 1))
        });
        format!(
            "one swing in {}, damping ratio {}{}",
            with_unit(period, " s"),
            with_unit(damping, ""),
            half.unwrap_or_default()
        )
    })
}

fn rise(m: &Measured, unit: LengthUnit) -> String {
    let (word, size) = match m.value {
        Some(v) if v < 0.0 => ("sinks", m.scaled(-1.0)),
        _ => ("rises", m.clone()),
    };
    match unit {
        LengthUnit::Millimetres => format!("{word} {}", with_unit(&size, " mm/s")),
        LengthUnit::Inches => format!(
            "{word} {}",
            with_unit(&size.scaled(1.0 / MM_PER_INCH), " in/s")
        ),
    }
}
