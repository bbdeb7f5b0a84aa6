//! Depth as a maker reads it.

use super::swim_text::{figure, length, with_unit};
use crate::motion::Depth;
use crate::units::LengthUnit;
use crate::{Measured, Status};

/// Lines on the depth; none where nothing was given that could show it.
pub(super) fn depth_lines(depth: &Depth, unit: LengthUnit) -> Vec<(&'static str, String)> {
    if !depth.asked {
        return Vec::new();
    }
    let mut lines = vec![("depth", running(depth, unit))];
    if depth.mm.is_measured() || depth.dive_deg.is_measured() {
        lines.push(("dive", dive(depth)));
    }
    if depth.per_line_mm_m.is_measured() {
        lines.push(("line", line(depth, unit)));
    }
    lines
}

fn running(depth: &Depth, unit: LengthUnit) -> String {
    let words = figure(&depth.mm, |m| format!("runs at {}", length(m, unit)));
    match depth.deepest_mm.is_measured() && !depth.mm.is_measured() {
        true => format!("{words}; deepest seen {}", length(&depth.deepest_mm, unit)),
        false => words,
    }
}

fn dive(depth: &Depth) -> String {
    if depth.dive_deg.status != Status::Measured {
        return figure(&depth.dive_deg, |_| String::new());
    }
    let angle = with_unit(&depth.dive_deg, "° below level");
    match depth.time_to_depth_s.is_measured() {
        true => format!(
            "{angle}, down in {}",
            with_unit(&depth.time_to_depth_s, " s")
        ),
        false => angle,
    }
}

fn line(depth: &Depth, unit: LengthUnit) -> String {
    let per = match unit {
        LengthUnit::Millimetres => with_unit(&depth.per_line_mm_m, " mm per m let out"),
        LengthUnit::Inches => with_unit(&per_foot(&depth.per_line_mm_m), " in per foot let out"),
    };
    format!(
        "{per}, as a straight line {}",
        with_unit(&depth.line_deg, "° below level")
    )
}

/// mm per m as inches per foot.
fn per_foot(per_line: &Measured) -> Measured {
    per_line.scaled(12.0 / 1000.0)
}
