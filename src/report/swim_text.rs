//! The swim test as a maker reads it at the water.

use super::depth_text::depth_lines;
use super::layout::{Ink, TextStyle, beside, entry};
use super::numbers::{decimals, shown, shown_range};
use super::{SwimDocument, verdict_text};
use crate::camera::View;
use crate::motion::{Hunt, Swim, Wobble};
use crate::units::{LengthUnit, MM_PER_INCH};
use crate::{Measured, Status};

/// The result as lines of at most 80 columns. Brackets hold 95 % intervals.
pub fn swim_text(document: &SwimDocument, style: &TextStyle) -> String {
    let mut text = heading(document, style);
    if document.swim.found {
        text.push_str(&figures(document.swim, style));
    } else {
        text.push_str(
            "\n  No lure was found. Put --box x,y,w,h@seconds close round it at a time when it\n  shows clearly, or film closer.\n",
        );
    }
    text.push_str(&warnings(document.swim));
    match document.verdict {
        Some(verdict) => text.push_str(&verdict_text(verdict, style)),
        None if document.swim.found => text.push_str(
            "\nGive --target FILE to have it judged; `truerun target new FILE` writes one.\n",
        ),
        None => {}
    }
    text
}

fn heading(document: &SwimDocument, style: &TextStyle) -> String {
    let file = style.paint(Ink::Heading, &document.clip.file);
    format!("{file}\n{}", beside("  ", 2, &set_up_line(document)))
}

/// The clip, the view and how much of the lure was seen, in a line.
pub fn set_up_line(document: &SwimDocument) -> String {
    let clip = document.clip;
    let rate = match clip.fps_median {
        Some(fps) if clip.vfr => format!(" at about {fps:.1} a second (uneven)"),
        Some(fps) => format!(" at {fps:.1} a second"),
        None => String::new(),
    };
    let view = match document.setup.view {
        View::Side => "the side",
        view => view.word(),
    };
    format!(
        "{} × {}, {:.2} s, {} frames{rate}; seen from {view}, lure followed {:.0} % of the time",
        clip.width,
        clip.height,
        clip.duration_s,
        clip.frames,
        document.swim.tracked_fraction * 100.0,
    )
}

fn figures(swim: &Swim, style: &TextStyle) -> String {
    let lines: String = figure_lines(swim, style.unit)
        .iter()
        .map(|(label, text)| entry(label, text))
        .collect();
    format!("\n{lines}  In brackets: where the true figure lies, 19 times in 20.\n")
}

/// Every figure with its label.
pub fn figure_lines(swim: &Swim, unit: LengthUnit) -> Vec<(&'static str, String)> {
    let mut lines = vec![
        ("wobble rate", rate(&swim.wobble)),
        ("wobble width", width(&swim.wobble)),
        (
            "tail sweep",
            figure(&swim.wobble.tail_sweep_mm, |m| length(m, unit)),
        ),
        (
            "roll",
            figure(&swim.roll.width_deg, |m| with_unit(m, "° to each side")),
        ),
        ("drift", figure(&swim.drift.deg, |m| drift(swim, m, unit))),
        ("darts", darts(swim, unit)),
        ("blow-out", blow_out(swim)),
        ("pivot", figure(&swim.pivot, pivot)),
        ("speed", figure(&swim.speed, |m| speed(m, unit))),
        ("Strouhal no.", figure(&swim.strouhal, |m| with_unit(m, ""))),
    ];
    lines.extend(depth_lines(&swim.depth, unit));
    lines
}

/// A measured figure in words, or why there is none.
pub fn figure(m: &Measured, words: impl Fn(&Measured) -> String) -> String {
    match (m.status, m.value) {
        (Status::Measured, Some(_)) => words(m),
        (Status::None, _) => reasoned("none", &m.why),
        _ => reasoned("not measured", &m.why),
    }
}

fn reasoned(what: &str, why: &Option<String>) -> String {
    match why {
        Some(why) => format!("{what}: {why}"),
        None => what.to_string(),
    }
}

/// "3.0° (2.6–3.4)": `unit` sticks to the value.
pub fn with_unit(m: &Measured, unit: &str) -> String {
    let digits = decimals(m.ci95);
    let value = shown(m.value.unwrap_or(f64::NAN), digits);
    match m.ci95 {
        Some(ci) => format!("{value}{unit} ({})", shown_range(ci, digits)),
        None => format!("{value}{unit}"),
    }
}

fn rate(wobble: &Wobble) -> String {
    match wobble.hz.status {
        Status::Aliased => format!(
            "cannot be told from this frame rate: it could be {} Hz. Film at a higher frame rate.",
            wobble
                .alias_candidates_hz
                .iter()
                .map(|hz| shown(*hz, 2))
                .collect::<Vec<_>>()
                .join(" or ")
        ),
        _ => figure(&wobble.hz, |m| with_unit(m, " Hz")),
    }
}

fn width(wobble: &Wobble) -> String {
    let mut text = figure(&wobble.width_deg, |m| with_unit(m, "° to each side"));
    if wobble.apparent && wobble.width_deg.is_measured() {
        text.push_str(
            ", as it looks from here, not the lure's own; give --tilt, or look down more steeply",
        );
    }
    text
}

/// A length in the unit to be shown.
pub fn length(mm: &Measured, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetres => with_unit(mm, " mm"),
        LengthUnit::Inches => with_unit(&mm.scaled(1.0 / MM_PER_INCH), " in"),
    }
}

fn drift(swim: &Swim, deg: &Measured, unit: LengthUnit) -> String {
    let per_way = swim.drift.mm_per_m.map_or(String::new(), |mm| match unit {
        LengthUnit::Millimetres => format!(", {} mm per metre", shown(mm.abs(), 0)),
        LengthUnit::Inches => format!(", {} in per foot", shown(mm.abs() * 12e-3, 1)),
    });
    match swim.drift.sure_side() {
        Some(side) => {
            let size = Measured {
                value: deg.value.map(f64::abs),
                ci95: deg
                    .ci95
                    .map(|[a, b]| [a.abs().min(b.abs()), a.abs().max(b.abs())]),
                ..deg.clone()
            };
            format!(
                "runs {} to {}{per_way}",
                with_unit(&size, "°"),
                side.both_frames()
            )
        }
        None => format!(
            "no sure side: {}, + to its own right (your left as it comes to you)",
            with_unit(deg, "°")
        ),
    }
}

fn darts(swim: &Swim, unit: LengthUnit) -> String {
    match swim.hunts.status {
        Status::Measured if !swim.hunts.events.is_empty() => {
            let each: Vec<String> = swim
                .hunts
                .events
                .iter()
                .map(|hunt| dart(hunt, unit))
                .collect();
            format!("{}: {}", each.len(), each.join("; "))
        }
        Status::Measured | Status::None => reasoned("none", &swim.hunts.why),
        _ => reasoned("not measured", &swim.hunts.why),
    }
}

fn dart(hunt: &Hunt, unit: LengthUnit) -> String {
    let size = hunt
        .mm
        .zip(hunt.mm_ci95)
        .map_or(String::new(), |(mm, ci95)| {
            format!("{} ", length(&Measured::new(mm, ci95), unit))
        });
    let back = if hunt.recovered {
        ""
    } else {
        ", did not come back"
    };
    format!(
        "at {:.1} s, {size}to {}{back}",
        hunt.peak_s,
        hunt.side.both_frames()
    )
}

fn blow_out(swim: &Swim) -> String {
    match (swim.blow_out.status, swim.blow_out.t_s) {
        (Status::Measured, Some(t)) => reasoned(&format!("at {t:.1} s"), &swim.blow_out.why),
        (Status::Measured, None) => reasoned("yes", &swim.blow_out.why),
        (Status::None, _) => "none".into(),
        _ => reasoned("cannot be told", &swim.blow_out.why),
    }
}

fn pivot(from_nose: &Measured) -> String {
    let percent = from_nose.scaled(100.0);
    format!(
        "{} of the body length back from the nose",
        with_unit(&percent, " %")
    )
}

fn speed(m_s: &Measured, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetres => with_unit(m_s, " m/s"),
        LengthUnit::Inches => with_unit(&m_s.scaled(1e3 / MM_PER_INCH / 12.0), " ft/s"),
    }
}

fn warnings(swim: &Swim) -> String {
    swim.warnings
        .iter()
        .map(|warning| beside("\n  Mind: ", 8, &warning.text()))
        .collect::<String>()
        .replace("\n\n", "\n")
}
