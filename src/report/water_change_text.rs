//! The floating lure in another water, as a maker reads it: how it would float there, and what ballast keeps its float.

use super::float_text::noted;
use super::layout::{Ink, TextStyle, beside, entry};
use super::numbers::{decimals, shown, shown_range};
use super::swim_text::{figure, length, with_unit};
use crate::Measured;
use crate::tuning::{Hanging, WaterChange};
use crate::water::Water;

/// Shown wherever ballast is spoken of.
const LEAD_CAUTIONS: [&str; 3] = [
    "Lead: ventilate, wear gloves, no water near the melt, no dry sweeping, wash hands; children and pregnant \
     people stay away. Lead-free ballast where it can be; some waters forbid lead.",
    "Hooks covered or off while the lure is handled in the tank; weights of the same mass in their place keep the trim.",
    "Local rules and the safety sheets of your materials come first.",
];

/// An interval narrower than this is none: the number was given.
const NO_INTERVAL: f64 = 1e-6;
const DISAGREE: &str = "the volume and mass given do not agree with the height at which it floats: weigh again, and see that it holds no air or water";

/// A label and what stands beside it.
type Line = (&'static str, String);

/// The change as lines of at most 80 columns, cautions last.
pub fn water_change_text(change: &WaterChange, style: &TextStyle) -> String {
    let waters = [&change.told.from, &change.told.to].map(water_words);
    let heading = style.paint(
        Ink::Heading,
        &format!("From {} to {}", waters[0], waters[1]),
    );
    let mut lines = floating_lines(change, style);
    lines.extend(ballast_lines(change));
    lines.extend(stand_in_lines(change, style));
    if change.disagree {
        lines.push(("Mind", DISAGREE.into()));
    }
    let entries: String = lines
        .iter()
        .map(|(label, words)| entry(label, words))
        .collect();
    let cautions: String = LEAD_CAUTIONS.iter().map(|c| beside("  ! ", 4, c)).collect();
    format!("\n{heading}\n{entries}{cautions}")
}

/// How it floats there with nothing changed.
fn floating_lines(change: &WaterChange, style: &TextStyle) -> Vec<Line> {
    let volume = figure(&change.volume_cm3, |m| {
        let range = match m.ci95 {
            Some([lo, hi]) if hi - lo > NO_INTERVAL => format!(" ({})", shown_range([lo, hi], 1)),
            _ => String::new(),
        };
        let cm3 = shown(m.value.unwrap_or(f64::NAN), 1);
        noted(format!("{cm3} cm³{range}"), m)
    });
    let above = figure(&change.above_to, |to| {
        let sinks = to.ci95.is_some_and(|[least, _]| least <= 0.0);
        let lead = if sinks {
            "it sinks there, or may: "
        } else {
            ""
        };
        format!(
            "{lead}{} of its volume, {} before",
            with_unit(&to.scaled(100.0), " %"),
            with_unit(&change.above_from.scaled(100.0), " %")
        )
    });
    let floats = figure(&change.higher_mm, |m| higher_or_lower(m, style));
    vec![
        ("volume", volume),
        ("above water", above),
        ("floats", floats),
    ]
}

/// What keeps it floating as before: let into the body, or on the outside.
fn ballast_lines(change: &WaterChange) -> Vec<Line> {
    let within = figure(&change.within_g, |m| {
        let grams = more_or_less_grams(m);
        format!("to float as before: {grams} let into the body, of any metal")
    });
    let mut lines = vec![("ballast", within)];
    for ballast in &change.outside {
        let metal = ballast.material.word();
        let outside = figure(&ballast.outside_g, |m| {
            let grams = more_or_less_grams(m);
            format!("or {grams} of {metal} on the outside, under water")
        });
        lines.push(("", outside));
    }
    lines
}

/// What hung in place of the hooks in the test, and what would rightly.
fn stand_in_lines(change: &WaterChange, style: &TextStyle) -> Vec<Line> {
    let mut lines = Vec::new();
    let swapped = |h: &Hanging| h.stand_in.map(|s| (h.hooks_g, s));
    if let Some((hooks_g, stand_in)) = change.told.hanging.as_ref().and_then(swapped) {
        let was = format!(
            "{} g of {} hung in place of {} g of hooks",
            shown(stand_in.mass_g, 2),
            stand_in.material.word(),
            shown(hooks_g, 2)
        );
        let with_hooks = figure(&change.hooks_higher_mm, |m| {
            let raised = higher_or_lower(m, style);
            format!("{was}; with the hooks on it floats {raised} than in the test")
        });
        lines.push(("stand-ins", with_hooks));
    }
    if !change.stand_ins.is_empty() {
        let each = change.stand_ins.iter();
        let each: Vec<String> = each
            .map(|(m, g)| format!("{} g of {}", shown(*g, 2), m.word()))
            .collect();
        let each = each.join(", ");
        lines.push((
            "",
            format!("pulls down under water as the hooks do: {each}"),
        ));
    }
    lines
}

/// Grams to add or, below zero, to take off.
fn more_or_less_grams(m: &Measured) -> String {
    let v = m.value.unwrap_or(0.0);
    let digits = decimals(m.ci95.filter(|[lo, hi]| hi - lo > NO_INTERVAL)).max(2);
    let range = match m.ci95 {
        Some(ci) if ci[1] - ci[0] > 0.005 => {
            let ci = if v < 0.0 { [-ci[1], -ci[0]] } else { ci };
            format!(" ({})", shown_range(ci, digits))
        }
        _ => String::new(),
    };
    let way = if v < 0.0 { "take off" } else { "add" };
    format!("{way} {} g{range}", shown(v.abs(), digits))
}

fn water_words(water: &Water) -> String {
    let kind = match water.salinity == 0.0 {
        true => "fresh".to_string(),
        false => format!("salinity {}", shown(water.salinity, 0)),
    };
    format!("{kind}, {} °C", shown(water.temperature_c, 0))
}

/// A change of height with its way.
fn higher_or_lower(higher: &Measured, style: &TextStyle) -> String {
    match higher.value.is_some_and(|mm| mm < 0.0) {
        true => format!("{} lower", length(&higher.scaled(-1.0), style.unit)),
        false => format!("{} higher", length(higher, style.unit)),
    }
}
